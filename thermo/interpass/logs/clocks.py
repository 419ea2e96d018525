"""Times of a log, as its cells have them: clocks with or without zone, or seconds.

Two times can be set against each other when both are clocks of one sort or both are seconds.
Where clocks may have been changed between two of them, a date says so well enough to refuse
the pair (the weld would seem an hour colder than it was); without one it is remarked.
"""

from dataclasses import replace

from ..text.cells import number_of
from ..text.sheets import Row, Sheet, quoted
from ..text.times import (
    BACK,
    DAY,
    FORWARD,
    HOUR,
    Clock,
    changed_between,
    clock_words,
    elapsed,
    moved,
    parse_clock,
    spelled,
)

TOO_LATE = "check the date; a joint left so long is cold: begin a log of its own"
LONGEST_PAUSE = 4 * DAY  # s between two times; a long weekend
ZONE = "write times with date and zone, like 2026-03-29T03:02:00+02:00"


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
            "write the clock in full, like 14:05:00, its zone as +01:00, or seconds since "
            "the first arc on"
        )
        sheet.refuse(row.line, f"{name}: {quoted(cell)} is no time of day", remedy)
        return None
    return number_of(sheet, row, name, cell)


def later(
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
    if clash := clash_of(before, told):
        problem = f"{name}: {quoted(row.cells[name])} {clash[0]}"
        sheet.refuse(row.line, problem, clash[1])
        return None
    gone = _gone(before, told)
    if gone is None:
        _refuse_earlier(sheet, row, name, told, before)
        return None
    if gone > LONGEST_PAUSE:
        problem = (
            f"{name} {row.cells[name]} is {gone / DAY:.0f} days after the time above it"
        )
        sheet.refuse(row.line, problem, TOO_LATE)
        return None
    if not is_sure(sheet, row, name, before, told):
        return None
    return since + gone


def _gone(before: Clock | float, told: Clock | float) -> float | None:
    """Seconds between two times of one sort; None when the second is not later."""
    if isinstance(before, Clock) and isinstance(told, Clock):
        return elapsed(before, told)
    if isinstance(before, Clock) or isinstance(told, Clock) or told < before:
        return None
    return told - before


def clash_of(before: Clock | float, told: Clock | float) -> tuple[str, str] | None:
    """Problem and remedy of two times that are of different sorts; None when they are not."""
    if isinstance(before, Clock) != isinstance(told, Clock):
        return (
            "beside times of the other sort",
            "write all by the clock, or all in seconds",
        )
    if not isinstance(before, Clock) or not isinstance(told, Clock):
        return None
    if (before.east is None) != (told.east is None):
        has, others = ("no", "one") if told.east is None else ("a", "none")
        return f"has {has} zone, beside times that have {others}", ZONE
    return None


def _refuse_earlier(
    sheet: Sheet, row: Row, name: str, told: Clock | float, before: Clock | float
) -> None:
    """Refuse a time that stands before the one above it; clocks put back are one cause."""
    shown = clock_words(before.seconds) if isinstance(before, Clock) else f"{before:g} s"
    problem = f"{name} {row.cells[name]} is before {shown}, the time above it"
    remedy = "put the lines in the order of time, and check this one"
    if (
        isinstance(told, Clock)
        and told.east is None
        and _gone(before, moved(told, HOUR)) is not None
    ):
        remedy += f"; if clocks were put back in between, {ZONE}"
    sheet.refuse(row.line, problem, remedy)


def is_sure(
    sheet: Sheet, row: Row, name: str, before: Clock | float, told: Clock | float
) -> bool:
    """Whether no clock can have been changed in between; refused or remarked when it can."""
    if not isinstance(before, Clock) or not isinstance(told, Clock):
        return True
    way, gone = changed_between(before, told), elapsed(before, told)
    if way is None or gone is None:
        return True
    is_dated = before.day is not None and told.day is not None
    other = spelled(gone - HOUR if way == FORWARD else gone + HOUR)
    words = (
        f"{name} {row.cells[name]} is {spelled(gone)} after the time before it, or {other} "
        f"if clocks were put {way} that night"
    )
    if is_dated and way == FORWARD:
        sheet.refuse(row.line, words, ZONE)
        return False
    why = "colder" if way == BACK else "hotter"
    sheet.remark(f"line {row.line}: {words}, and the joint {why} than said; {ZONE}", way)
    return True


def of_zone(told: Clock, first: Clock, last_east: float | None) -> Clock:
    """Time of a log that keeps to one zone, in that zone where it says none."""
    if told.east is None and first.east is not None and first.east == last_east:
        return replace(told, east=first.east)
    return told
