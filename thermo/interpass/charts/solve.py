"""Look for the setting that keeps every wait under a given time, joint by joint.

Every value tried is a real run. Waits grow with current, voltage, arc time and air
temperature and shrink with travel, fan, limit and length, so there is one root; the
value is then taken to a step that a shop can set, on the safe side, and run once more.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import ceil, floor

from ..case_file.change import ChartError, Where, find_key
from ..heat.waits import plan
from ..rules.of_joint import table_currents
from ..text.errors import RunError, ThermoError, about
from ..text.times import spelled
from ..text.units import parse
from .axes import Span, read_span
from .joints import DONE, IMPOSSIBLE, Cell, ChartRow, Settings, case_of, reason_of, row_of

TIME = "time"  # look for the shortest total time instead

HOTTER = {
    "current": "20 A..200 A/1 A",
    "voltage": "7 V..20 V/0.1 V",
    "arc_time": "5 s..600 s/1 s",
    "air": "-20 degC..50 degC/1 K",
}
"""Settings that make waits longer, with the range looked through unless given."""

COOLER = {
    "travel": "20 mm/min..300 mm/min/1 mm/min",
    "turn": "0.1 rev/min..5 rev/min/0.01 rev/min",
    "fan": "0 m/s..10 m/s/0.1 m/s",
    "interpass_max": "50 degC..500 degC/1 K",
    "length": "20 mm..1000 mm/1 mm",
}
"""Settings that make waits shorter."""

NEVER = 1e5  # s, of a wait that does not end
FINE = 0.05  # of a step: how closely the root is found
NO_WAIT = "no pass waits for the limit", 'give a pass wait = "auto", or no wait'

NO_CURRENT = (
    "the shortest time needs the current of every pass, for travel to go with it",
    "give current in place of net_power",
)


@dataclass(frozen=True)
class Search:
    """What is looked for."""

    name: str  # as the user called it
    key: str  # dotted
    span: Span
    is_hotter: bool  # whether a larger value makes waits longer
    wait_max: float | None  # s; None when only the total time counts
    shortest: bool = False  # the shortest total time, travel going with the current

    def words(self) -> str:
        """Say what is looked for."""
        under = (
            f" with every wait at most {spelled(self.wait_max)}" if self.wait_max else ""
        )
        if self.shortest:
            return (
                "the current of the shortest total time, travel going with it so that "
                f"the arc energy per length stays{under}"
            )
        return f"the {'highest' if self.is_hotter else 'lowest'} {self.name}{under}"


def make_search(name: str, wait_max: str | None, between: str | None) -> Search:
    """Put together what is looked for.

    Parameters
    ----------
    name : str
        "current" or another setting that makes waits longer or shorter, or "time": the
        shortest total time, where travel goes with the current so that the arc energy
        per length stays.
    wait_max : str, optional
        The longest a wait may be, "2 min".
    between : str, optional
        "60 A..140 A/5 A", instead of the usual range.

    Raises
    ------
    ChartError
        What is asked for cannot be looked for.
    """
    shortest = name.strip() == TIME
    where = find_key("current" if shortest else name)
    usual = (HOTTER | COOLER).get(_last(where))
    if usual is None:
        msg = f"nothing is solved for {name}"
        raise ChartError(msg, f"known are {', '.join((*HOTTER, *COOLER, TIME))}")
    if wait_max is None and not shortest:
        msg = f"solve-for {name} needs the longest wait"
        raise ChartError(msg, 'give wait-max, like "2 min"')
    span = read_span(between or usual, where.holds.kind, where.name)
    if not (span.high > span.low and span.step > 0):
        msg = f"between {between!r} leads nowhere"
        raise ChartError(msg, f"write from..to/step, like {usual!r}")
    longest = None if wait_max is None else _seconds(wait_max)
    return Search(where.name, where.key, span, _last(where) in HOTTER, longest, shortest)


def _last(where: Where) -> str:
    return where.key.rsplit(".", 1)[-1]


def _seconds(text: str) -> float:
    try:
        return parse(text, "time")
    except ThermoError as error:
        raise ChartError(*about("wait-max", error)) from None


def solve_cell(work: tuple[Cell, Search]) -> ChartRow:
    """Find the setting of one joint; what makes it impossible becomes part of the row."""
    cell, search = work
    try:
        _refuse_no_wait(cell)
        _refuse_no_current(cell, search)
        asked = search
        search = _within_tables(cell, asked)
        highest = _furthest(cell, search)
        if isinstance(highest, ChartRow):
            return highest
        value = _shortest(cell, search, highest) if search.shortest else highest
        note = _bound(asked.span, search.span, value)
        return replace(_try(cell, search, value), note=note)
    except Exception as error:  # noqa: BLE001 - the other joints have their answers
        return ChartRow(cell.number, IMPOSSIBLE, reason_of(error))


def _refuse_no_wait(cell: Cell) -> None:
    if all(p.wait is not None for p in case_of(cell).passes[1:]):
        raise ChartError(*NO_WAIT)


def _refuse_no_current(cell: Cell, search: Search) -> None:
    if search.shortest and not all(p.has_current for p in case_of(cell).passes):
        raise ChartError(*NO_CURRENT)


def _within_tables(cell: Cell, search: Search) -> Search:
    """Look for a current only where the printed tables have one for this pipe.

    Raises
    ------
    ChartError
        They have none in the range that is looked through.
    """
    case = case_of(cell)
    found = table_currents(case, case.passes[0]) if _is_current(search) else None
    if found is None:
        return search
    span, (least, most) = search.span, found
    low = max(span.low, _steps(span, least or 0.0, ceil))
    high = min(span.high, _steps(span, most, floor))
    if low > high:
        msg = (
            f"the printed tables give {least or 0:.0f} to {most:.0f} A for this pipe, and "
            f"nothing from {span.value(span.low)} to {span.value(span.high)}"
        )
        raise ChartError(msg)
    return replace(search, span=replace(span, low=low, high=high))


def _is_current(search: Search) -> bool:
    return search.key.rsplit(".", 1)[-1] == "current"


def _steps(span: Span, ampere: float, to_whole: Callable[[float], int]) -> float:
    """Return the whole step of a range next to a current."""
    value = (ampere - span.zero) / span.one
    return span.low + span.step * to_whole(round((value - span.low) / span.step, 6))


def _bound(asked: Span, span: Span, value: float) -> str:
    """Say which bound holds, where one does."""
    if value not in (span.low, span.high):
        return ""
    for word, end, own in (
        ("least", span.low, asked.low),
        ("most", span.high, asked.high),
    ):
        if value == end != own:
            return f"the {word} current that the printed tables give for this pipe"
    return "the end of the range looked through"


def _try(cell: Cell, search: Search, value: float) -> ChartRow:
    """Run a joint with a value set.

    Raises
    ------
    ThermoError
        There is no such joint, or its run failed.
    """
    case = case_of(cell, _settings(cell, search, value))
    return replace(row_of(cell, case, plan(case)), solved=search.span.si(value))


def _settings(cell: Cell, search: Search, value: float) -> Settings:
    """Return the settings a value stands for."""
    given: Settings = ((search.key, search.span.value(value)),)
    if not search.shortest:
        return given
    ampere = search.span.si(value)
    travel = tuple(
        (f"pass.{p.number}.travel", f"{6e4 * p.travel * ampere / p.current:.9g} mm/min")
        for p in case_of(cell).passes
    )
    return given + travel


def _longest(cell: Cell, search: Search, value: float) -> float:
    """Longest wait that ends by itself [s]; a run that melts down never ends."""
    try:
        row = _try(replace(cell, allow=False), search, value)
    except RunError:
        return NEVER
    if row.state != DONE:
        return NEVER
    return max(w for w, auto in zip(row.waits, row.is_auto, strict=True) if auto)


def _furthest(cell: Cell, search: Search) -> float | ChartRow:
    """Find the value that goes furthest with every wait short enough.

    Returns
    -------
    float or ChartRow
        The value in its unit, or a row that says why there is none.
    """
    from scipy.optimize import brentq  # noqa: PLC0415 - slow to import, rarely needed

    span, wait_max = search.span, search.wait_max
    cool, hot = (span.low, span.high) if search.is_hotter else (span.high, span.low)
    if wait_max is None:
        return hot

    def over(value: float) -> float:
        return _longest(cell, search, value) - wait_max

    if over(hot) <= 0:
        return hot
    if (excess := over(cool)) > 0:
        return _none(cell, search, cool, excess + wait_max)
    root = brentq(over, cool, hot, xtol=FINE * span.step, rtol=1e-6)
    return _on_step(span, root, cool, over)


def _none(cell: Cell, search: Search, cool: float, wait: float) -> ChartRow:
    """Row of a joint that nothing helps."""
    takes = "does not end" if wait >= NEVER else f"takes {spelled(wait)}"
    reason = f"even at {search.span.value(cool)} a wait {takes}"
    if _is_current(search):
        reason += "; the range and the printed tables have no lower current"
    return ChartRow(cell.number, IMPOSSIBLE, reason)


def _on_step(
    span: Span, root: float, cool: float, over: Callable[[float], float]
) -> float:
    """Take a root to the last whole step on the safe side of it, by real runs."""
    sign = 1 if root >= cool else -1
    steps = floor(sign * (root - cool) / span.step + FINE)
    while steps > 0 and over(cool + sign * steps * span.step) > 0:
        steps -= 1
    return cool + sign * steps * span.step


def _shortest(cell: Cell, search: Search, highest: float) -> float:
    """Find the value of the shortest total time, up to the highest allowed."""
    from scipy.optimize import minimize_scalar  # noqa: PLC0415 - as above

    span = search.span

    def total(value: float) -> float:
        try:
            found = _try(replace(cell, allow=False), search, value).total
        except RunError:
            return NEVER
        return NEVER if found is None else found

    found = minimize_scalar(
        total, bounds=(span.low, highest), method="bounded",
        options={"xatol": 0.5 * span.step},
    )  # fmt: skip
    steps = (float(found.x) - span.low) / span.step
    near = {span.low, highest}
    near |= {span.low + n * span.step for n in (floor(steps), ceil(steps))}
    return min((v for v in sorted(near) if v <= highest), key=total)
