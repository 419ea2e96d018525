"""What was done otherwise than planned, by enough to matter."""

from collections.abc import Iterator

from ..heat.history import planned_wait
from ..logs.as_welded import noted
from ..logs.review import Review, ReviewedPass
from ..text.kinds import SI, UnitSystem
from ..text.times import spelled

SHORTER = 5.0  # s of a wait that count as a difference
CURRENT, VOLTAGE, TIME, ENERGY = 0.05, 0.10, 0.10, 0.05  # shares that count


def deviations(found: Review, units: UnitSystem = SI) -> Iterator[str]:
    """Sentences on what differs from the plan by enough to matter."""
    start = found.log.at_start
    if start is not None and start.low == start.high:
        planned = found.case.surroundings.start
        if abs(start.low - planned) > 2:
            yield (
                f"before pass 1 the piece was at {units.temperature(start.low)}, planned "
                f"{units.temperature(planned)}; the prediction starts from what was read"
            )
    for one in found.passes:
        yield from _pass_deviations(found, one)


def _pass_deviations(found: Review, one: ReviewedPass) -> Iterator[str]:
    number, planned = one.logged.number, one.planned
    name = f"pass {number}"
    if planned is not None and number > 1:
        short = planned_wait(planned) - one.done.wait  # as the table has it
        if abs(short) > SHORTER:
            way = "shorter" if short > 0 else "longer"
            yield (
                f"{name}: waited {spelled(one.done.wait)}, {spelled(abs(short))} {way} "
                f"than planned"
            )
    asked, done = (c.passes[number - 1] for c in (found.case, found.welded))
    if asked.has_current:
        if abs(done.current / asked.current - 1) > CURRENT:
            yield f"{name}: {done.current:.0f} A, planned {asked.current:.0f} A"
        if abs(done.voltage / asked.voltage - 1) > VOLTAGE:
            yield f"{name}: {done.voltage:.1f} V, planned {asked.voltage:.1f} V"
    elif any(noted(one.logged)):
        yield f"{name}: the case gives a net power, so amps and volts of the log are not used"
    if abs(done.arc_time / asked.arc_time - 1) > TIME:
        yield (
            f"{name}: once round in {spelled(done.arc_time)}, planned "
            f"{spelled(asked.arc_time)}"
        )
