"""A CSV file of readings: what somebody read on the joint, when and where.

One reading to a line. The columns, in any order, all but ``pass``, a time and a
temperature optional:

pass            after which pass it was read
seconds, time   since the arc of that pass went out ("40 s", "1:20"), or the clock
                ("14:05:30") where it is known when the arc went out
arc_off         clock when the arc of that pass went out, for a time by the clock
temperature     "195 degC", "383 F"; "melted 150 degC" and "not melted 200 degC" by crayon
melted          highest crayon that melted
not_melted      lowest crayon that did not
on, from_toe    "pipe" or "fitting", and the distance along the surface from the toe of the
                weld; without them the measuring place of the case
angle           round the ring, from where pass 1 starts
error           standard deviation of the instrument
instrument      what it was read with
note            anything

A number alone takes the unit of its header: ``temperature_degC``, ``from_toe_mm``.

What it computes: ``thermo/MODEL.md``, section 9.
"""

from collections.abc import Callable
from dataclasses import replace
from math import inf, isfinite
from pathlib import Path

from ..doubt.priors import READING_ERROR
from ..text.cells import count, number_of, quantity, temperature_range, word
from ..text.files import csv_text
from ..text.kinds import to_degC
from ..text.sheets import Column, Row, Sheet, parse_csv, quoted
from ..text.times import (
    FORWARD,
    changed_between,
    clock_words,
    elapsed,
    parse_clock,
    parse_minutes,
)
from .reading import Reading

INSTRUMENT_ERRORS = (  # K, standard deviation; common practice, no source
    ("crayon", 3.0),  # makers claim 1 % of the degrees Celsius; the eye adds its own
    ("infrared", 15.0),  # bright metal radiates less than the instrument is set for
    ("thermocouple", 3.0),
)

PARTS = {"pipe": "pipe", "fitting": "fitting", "socket": "fitting"}

PLACE_COLUMNS = {
    "temperature": Column("temperature", ("temp", "reading", "read", "t")),
    "melted": Column("temperature", ("above", "crayon_melted")),
    "not_melted": Column("temperature", ("below", "did_not_melt", "crayon_not_melted")),
    "on": Column("", ("place", "part")),
    "from_toe": Column("length", ("distance", "toe_distance")),
    "angle": Column("angle"),
    "error": Column("temperature difference", ("instrument_error",)),
    "instrument": Column("", ("read_with",)),
    "note": Column("", ("notes", "remark", "remarks", "comment")),
}

COLUMNS = {
    "pass": Column("", ("after_pass", "run")),
    "seconds": Column("time", ("since", "after", "since_arc_off"), "s"),
    "time": Column("time", ("clock", "at")),
    "arc_off": Column("time", ("arc_off_at",)),
    **PLACE_COLUMNS,
}

TEMPERATURES = ("temperature", "melted", "not_melted")
Since = Callable[[Sheet, Row, int], float | None]  # time by the clock to s since arc off


def read_readings(
    path: str | Path, passes: int, by_clock: Since | None = None
) -> tuple[Reading, ...]:
    """Read a file of readings.

    Parameters
    ----------
    path : str or Path
        The CSV file.
    passes : int
        Passes the case has, or the log where there is one.
    by_clock : callable, optional
        Of a log: turns the ``time`` of a row that is a clock into seconds since the arc of a pass
        went out; without it the row has to say itself when that was.

    Raises
    ------
    CaseError
        With every mistake of the file, each with its line.
    """
    return parse_readings(csv_text(path), passes, str(path), by_clock)


def parse_readings(
    text: str, passes: int, file: str = "readings.csv", by_clock: Since | None = None
) -> tuple[Reading, ...]:
    r"""Read readings from a text; see `read_readings`.

    Examples
    --------
    >>> text = "pass,seconds,temperature_degC\n1,40,195\n1,2:00,melted 120\n"
    >>> [(r.since, r.low - 273.15, r.high) for r in parse_readings(text, 2)]
    [(40.0, 195.0, 468.15), (120.0, 120.0, inf)]
    """
    sheet = parse_csv(text, file, COLUMNS)
    _need_columns(sheet)
    found = [_reading(sheet, row, passes, by_clock) for row in sheet.rows]
    if not sheet.rows:
        sheet.refuse(
            sheet.header_line, "there is no reading in it", "write one to a line"
        )
    sheet.stop_if_wrong()
    return tuple(reading for reading in found if reading)


def _need_columns(sheet: Sheet) -> None:
    """Refuse a file that cannot say what, or when."""
    missing = []
    if "pass" not in sheet.columns:
        missing.append("pass")
    if not {"seconds", "time"} & set(sheet.columns):
        missing.append("seconds")
    if not set(TEMPERATURES) & set(sheet.columns):
        missing.append("temperature_degC")
    if missing:
        remedy = f"columns known here: {', '.join(COLUMNS)}"
        sheet.refuse(
            sheet.header_line, f"no column {' and none for '.join(missing)}", remedy
        )
        sheet.stop_if_wrong()


def _reading(
    sheet: Sheet, row: Row, passes: int, by_clock: Since | None
) -> Reading | None:
    whose = "the log" if by_clock else "the case"
    number = pass_of(sheet, row, passes, whose)
    since = since_of(sheet, row, number, by_clock)
    reading = reading_of(sheet, row)
    if row.line in sheet.bad or number is None or since is None or reading is None:
        return None
    return replace(reading, after_pass=number, since=since)


def pass_of(sheet: Sheet, row: Row, passes: int, whose: str = "the case") -> int | None:
    """Pass of a row, of as many as there are; None when refused."""
    number = count(sheet, row, "pass")
    if number is None and row.line not in sheet.bad:
        sheet.refuse(row.line, "no pass", "say after which pass it was read")
    if number is not None and number > passes:
        count_of = f"{passes} pass{'es' if passes > 1 else ''}"
        problem = f"pass {number}, but {whose} has {count_of}"
        sheet.refuse(row.line, problem, "give the right one, or the right pass")
        return None
    return number


def since_of(
    sheet: Sheet, row: Row, number: int | None, by_clock: Since | None = None
) -> float | None:
    """Seconds since the arc of the pass went out; None when refused."""
    given = [name for name in ("seconds", "time") if name in row.cells]
    if len(given) != 1:
        problem = "two times, seconds and time" if given else "no time"
        remedy = "keep one of them" if given else 'say when it was read, like "40 s"'
        sheet.refuse(row.line, problem, remedy)
        return None
    cell = row.cells[given[0]]
    if parse_clock(cell) is None or given[0] == "seconds":
        return duration(sheet, row, given[0])
    if "arc_off" in row.cells:
        return _since_own(sheet, row)
    if by_clock is not None:
        return None if number is None else by_clock(sheet, row, number)
    problem = f"time: {quoted(cell)} by the clock, but not when the arc went out"
    remedy = "write the seconds since then, a column arc_off, or give the log with --log"
    sheet.refuse(row.line, problem, remedy)
    return None


def _since_own(sheet: Sheet, row: Row) -> float | None:
    """Seconds between the two clocks of a row."""
    off, now = parse_clock(row.cells["arc_off"]), parse_clock(row.cells["time"])
    if off is None or now is None:
        problem = f"arc_off: {quoted(row.cells['arc_off'])} is no time of day"
        sheet.refuse(row.line, problem, "write it like 14:05:30")
        return None
    if (off.east is None) != (now.east is None):
        problem = "time and arc_off, but only one of them with its zone"
        sheet.refuse(row.line, problem, "write both with their zone, or neither")
        return None
    if off.day is not None and changed_between(off, now) == FORWARD:
        problem = "clocks may have been put forward between arc_off and time"
        sheet.refuse(row.line, problem, "write both with their zone, like 01:58:00+01:00")
        return None
    gone = elapsed(off, now)
    if gone is None:
        problem = f"read at {clock_words(now.seconds)}, before the arc went out at "
        sheet.refuse(row.line, problem + clock_words(off.seconds), "check both times")
    return gone


def duration(sheet: Sheet, row: Row, name: str) -> float | None:
    """Seconds of a cell like "40 s" or "1:20"; None when refused."""
    cell = row.cells[name]
    if ":" in cell:
        seconds = parse_minutes(cell)
        if seconds is None:
            remedy = "write 1:20 for minutes and seconds, or 80 s"
            sheet.refuse(row.line, f"{name}: {quoted(cell)} is no time", remedy)
        return seconds
    return number_of(sheet, row, name, cell)


def reading_of(
    sheet: Sheet, row: Row, interval: tuple[float, float] | None = None
) -> Reading | None:
    """Return the reading of a row, its pass and time left at 0; None when refused.

    ``interval`` [K] is what was read, where another column than these says it.
    """
    interval = interval or _interval(sheet, row)
    on = word(sheet, row, "on", PARTS) or "pipe"
    from_toe, angle = quantity(sheet, row, "from_toe"), quantity(sheet, row, "angle")
    error = quantity(sheet, row, "error")
    if interval is None or row.line in sheet.bad:
        return None
    low, high = interval
    return Reading(
        after_pass=0,
        since=0.0,
        low=low,
        high=high,
        on=on,
        from_toe=from_toe,
        angle=angle,
        error=error or _usual_error(row, low, high),
        file=sheet.file,
        line=row.line,
        instrument=row.cells.get("instrument", ""),
    )


def _interval(sheet: Sheet, row: Row) -> tuple[float, float] | None:
    """Tell what a row says of the temperature [K]; None when refused."""
    given = [name for name in TEMPERATURES if name in row.cells]
    if not given:
        sheet.refuse(row.line, "no temperature", 'write it like "195 degC"')
        return None
    if "temperature" in given and len(given) > 1:
        problem = f"temperature and {given[1]} in one line"
        sheet.refuse(row.line, problem, "write two lines, one for each instrument")
        return None
    if given == ["temperature"]:
        return temperature_range(sheet, row, "temperature")
    low = quantity(sheet, row, "melted") if "melted" in given else -inf
    high = quantity(sheet, row, "not_melted") if "not_melted" in given else inf
    if low is None or high is None:
        return None
    if low >= high:
        problem = (
            f"the crayon of {to_degC(low):.0f} degC melted and that of "
            f"{to_degC(high):.0f} degC did not"
        )
        sheet.refuse(row.line, problem, "melted is the lower of the two")
        return None
    return low, high


def _usual_error(row: Row, low: float, high: float) -> float:
    """Error of an instrument that is not given [K]."""
    named = row.cells.get("instrument", "").lower()
    if low != high and not named:
        named = "crayon"
    found = (error for name, error in INSTRUMENT_ERRORS if name in named)
    return next(found, READING_ERROR)


def shown_reading(reading: Reading, show: Callable[[float], str]) -> str:
    """Say a reading in words; ``show`` writes a temperature given in K.

    Examples
    --------
    >>> shown_reading(Reading(1, 40.0, 423.15, inf), lambda T: f"{T - 273.15:.0f} degC")
    'melted 150 degC'
    """
    parts = []
    if reading.low == reading.high:
        return show(reading.low)
    if isfinite(reading.low):
        parts.append(f"melted {show(reading.low)}")
    if isfinite(reading.high):
        parts.append(f"not {show(reading.high)}" if parts else
                     f"not melted {show(reading.high)}")  # fmt: skip
    return ", ".join(parts)
