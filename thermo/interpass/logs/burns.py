"""The arcs of a log: burns in the order of time, and the passes they make up."""

from dataclasses import dataclass, replace

from ..readings.file import pass_of
from ..text.cells import quantity
from ..text.sheets import Row, Sheet
from ..text.times import Clock
from .clocks import later, told_time

LONGEST_BURN = 7200.0  # s
SHORTEST_BURN = 1.0


@dataclass(frozen=True)
class Burn:
    """The arc from on to off; times in s since the first arc on."""

    line: int  # of the file
    on: float
    off: float
    current: float | None  # A; None: not noted
    voltage: float | None  # V
    start_angle: float | None  # rad
    end_angle: float | None


@dataclass(frozen=True)
class LoggedPass:
    """One pass as it was welded."""

    number: int
    burns: tuple[Burn, ...]
    notes: tuple[str, ...] = ()


def read_burns(
    sheet: Sheet, rows: list[Row], passes: int
) -> tuple[Clock | None, float | None, list[tuple[int, Burn, str]]]:
    """First clock, last zone, and burns in the order of the file with pass and note."""
    found: list[tuple[int, Burn, str]] = []
    first: Clock | float | None = None
    last: tuple[Clock | float, float] | None = None  # as written, and since the first
    for row in rows:
        number = pass_of(sheet, row, passes)
        ends: list[float] = []
        for name in ("arc_on", "arc_off"):
            told = told_time(sheet, row, name)
            if told is None:
                break
            first = told if first is None else first
            since = later(sheet, row, name, told, last)
            if since is None:
                break
            last = (told, since)
            ends.append(since)
        values = [
            quantity(sheet, row, name) for name in ("amps", "volts", "start", "end")
        ]
        is_one = len(ends) == 2 and _is_burn(sheet, row, *ends)
        if is_one and _goes_on(sheet, row, *values[2:]) and number is not None:
            burn = Burn(row.line, ends[0], ends[1], *values)
            found.append((number, burn, row.cells.get("note", "")))
    clock = first if isinstance(first, Clock) else None
    return clock, last[0].east if last and isinstance(last[0], Clock) else None, found


def _is_burn(sheet: Sheet, row: Row, on: float, off: float) -> bool:
    """Whether an arc may have burned so long; refused when not."""
    if SHORTEST_BURN <= off - on <= LONGEST_BURN:
        return True
    problem = f"the arc burns for {off - on:.0f} s"
    sheet.refuse(row.line, problem, "check arc_on and arc_off")
    return False


def _goes_on(sheet: Sheet, row: Row, start: float | None, end: float | None) -> bool:
    """Whether a burn went somewhere; refused when not."""
    if start is None or end is None or start != end:
        return True
    problem = "the arc starts where it ends"
    sheet.refuse(row.line, problem, "once round is start 0 deg, end 360 deg")
    return False


def put_together(
    sheet: Sheet, burned: list[tuple[int, Burn, str]]
) -> tuple[LoggedPass, ...]:
    """Burns put together pass by pass, from the first on without a gap."""
    passes: list[LoggedPass] = []
    for number, burn, note in burned:
        if passes and number == passes[-1].number:
            one = passes[-1]
            notes = (*one.notes, note) if note else one.notes
            passes[-1] = replace(one, burns=(*one.burns, burn), notes=notes)
        elif number == len(passes) + 1:
            passes.append(LoggedPass(number, (burn,), (note,) if note else ()))
        else:
            problem = f"pass {number} where pass {len(passes) + 1} should come"
            remedy = "give every pass from 1 on, in the order welded"
            sheet.refuse(burn.line, problem, remedy)
            break
    return tuple(passes)
