"""What a review says in words, the same in its text and in its data."""

from collections.abc import Iterator
from math import isfinite

from .as_welded import noted
from .check_words import shown_required, shown_value
from .checks import FAIL
from .clock_times import clock_words
from .layout import clock, shop_time, spelled
from .review import Review, ReviewedPass
from .units import SI, UnitSystem

SHORTER = 5.0  # s of a wait that count as a difference
CURRENT, VOLTAGE, TIME, ENERGY = 0.05, 0.10, 0.10, 0.05  # shares that count


def arc_on_words(found: Review, since: float) -> str:
    """Say when, by the clock, or since the first arc on."""
    start = found.log.clock
    return clock(since) if start is None else clock_words(start.seconds + since)


def burned(one: ReviewedPass) -> float:
    """How long the arc burned in a pass, pauses not counted [s]."""
    return sum(burn.off - burn.on for burn in one.logged.burns)


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
        short = planned.wait - one.done.wait
        if abs(short) > SHORTER:
            way = "shorter" if short > 0 else "longer"
            yield (
                f"{name}: waited {spelled(one.done.wait)}, {spelled(abs(short))} {way} "
                f"than planned"
            )
    asked, done = (c.passes[number - 1] for c in (found.case, found.welded))
    if isfinite(asked.current):
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


def since_off(found: Review) -> float:
    """Seconds from the last arc off until now; 0 when now is not known."""
    return 0.0 if found.now is None else found.now - found.log.last_off


def verdict_text(found: Review, units: UnitSystem = SI) -> str:
    """Verdict as a sentence: what was not met, and what to do next."""
    failed = [check for check in found.checks if check.verdict == FAIL]
    told = [
        f"{c.rule}: {shown_value(c, units)}"
        + (f", must be {c.sense} {shown_required(c, units)}" if c.sense else "")
        for c in failed
    ]
    head = f"NOT MET. {'; '.join(told)}." if told else "every limit was held."
    following = found.next
    if following is None or following.best is None:
        return head
    best = spelled(shop_time(following.best))
    if following.allow is None:
        return f"{head} Next: wait {best} from arc off before pass {following.number}."
    allow = spelled(shop_time(following.allow))
    return (
        f"{head} Next: wait {best} from arc off before pass {following.number}, {allow} "
        "to be safe."
    )
