"""The arcs of a log: their times one after another, and the passes they make up."""

from dataclasses import replace

from .clock_times import Clock, clock_words, elapsed, parse_clock
from .csv_cells import number_of, quantity
from .csv_lines import Row, Sheet, quoted
from .reading_file import pass_of
from .weld_log import Burn, LoggedPass

LONGEST_BURN = 7200.0  # s
SHORTEST_BURN = 1.0


def read_burns(
    sheet: Sheet, rows: list[Row], passes: int
) -> tuple[Clock | None, list[tuple[int, Burn, str]]]:
    """Burns of the file in its order, each with its pass and note; the first clock."""
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
            since = _later(sheet, row, name, told, last)
            if since is None:
                break
            last = (told, since)
            ends.append(since)
        values = [
            quantity(sheet, row, name) for name in ("amps", "volts", "start", "end")
        ]
        if len(ends) == 2 and number is not None and _is_burn(sheet, row, *ends):
            burn = Burn(row.line, ends[0], ends[1], *values)
            found.append((number, burn, row.cells.get("note", "")))
    return (first if isinstance(first, Clock) else None), found


def told_time(sheet: Sheet, row: Row, name: str) -> Clock | float | None:
    """Clock, or seconds, as a cell has it; None when refused."""
    cell = row.cells.get(name)
    if cell is None:
        sheet.refuse(row.line, f"no {name}", "an arc has both, arc_on and arc_off")
        return None
    found = parse_clock(cell)
    if found is not None:
        return found
    if ":" in cell:
        remedy = (
            "write the clock in full, like 14:05:00, or seconds since the first arc on"
        )
        sheet.refuse(row.line, f"{name}: {quoted(cell)} is no time of day", remedy)
        return None
    return number_of(sheet, row, name, cell)


def _later(
    sheet: Sheet,
    row: Row,
    name: str,
    told: Clock | float,
    last: tuple[Clock | float, float] | None,
) -> float | None:
    """Seconds since the first arc on of a time that must come after the last one."""
    if last is None:
        return 0.0
    before, since = last
    if isinstance(told, Clock) and isinstance(before, Clock):
        gone, shown = elapsed(before, told), clock_words(before.seconds)
    elif isinstance(told, Clock) or isinstance(before, Clock):
        problem = f"{name}: {quoted(row.cells[name])} beside times of the other sort"
        sheet.refuse(row.line, problem, "write all by the clock, or all in seconds")
        return None
    else:
        gone, shown = (told - before if told >= before else None), f"{before:g} s"
    if gone is None:
        problem = f"{name} {row.cells[name]} is before {shown}, the time above it"
        remedy = "put the lines in the order of time, and check this one"
        sheet.refuse(row.line, problem, remedy)
        return None
    return since + gone


def _is_burn(sheet: Sheet, row: Row, on: float, off: float) -> bool:
    """Whether an arc may have burned so long; refused when not."""
    if SHORTEST_BURN <= off - on <= LONGEST_BURN:
        return True
    problem = f"the arc burns for {off - on:.0f} s"
    sheet.refuse(row.line, problem, "check arc_on and arc_off")
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
