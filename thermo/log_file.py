"""A CSV log of the weld as it was done: arcs on and off, amps, volts, readings.

A line is one burn of the arc, one reading, or a burn with what was read just before it.
The columns, in any order:

pass            number of the pass
arc_on, arc_off of a burn: clocks ("14:05:30") or seconds since the first arc on
amps, volts     of that burn; planned values where they were not noted
start, end      angles of that burn, from where pass 1 starts
interpass       temperature read just before that arc on (before pass 1: the piece)
time            of a reading, in the same way as arc_on
seconds         of a reading: since the arc of its pass went out
temperature ..  what was read and where; see `reading_file`

Several burns of one pass stand in several lines. Passes not welded yet are left out.
"""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from .csv_cells import temperature_range
from .csv_lines import Column, Row, Sheet, parse_csv, quoted
from .csv_text import csv_text
from .log_arcs import put_together, read_burns, told_time
from .reading_file import PLACE_COLUMNS, TEMPERATURES, duration, pass_of, reading_of
from .readings import Reading
from .weld_log import Log, since_first

COLUMNS = {
    "pass": Column("", ("run",)),
    "arc_on": Column("time", ("on_at", "start_time")),
    "arc_off": Column("time", ("off_at", "stop_time")),
    "amps": Column("current", ("current", "amperage"), "A"),
    "volts": Column("voltage", ("voltage",), "V"),
    "start": Column("angle", ("start_angle",)),
    "end": Column("angle", ("end_angle",)),
    "interpass": Column("temperature", ("interpass_temperature",)),
    "time": Column("time", ("clock", "at", "read_at")),
    "seconds": Column("time", ("since", "after", "since_arc_off"), "s"),
    **PLACE_COLUMNS,
}


def read_log(path: str | Path, passes: int) -> Log:
    """Read a log.

    Parameters
    ----------
    path : str or Path
        The CSV file.
    passes : int
        Passes the case has.

    Raises
    ------
    CaseError
        With every mistake of the file, each with its line.
    """
    return parse_log(csv_text(path), passes, str(path))


def parse_log(text: str, passes: int, file: str = "log.csv") -> Log:
    r"""Read a log from its text; see `read_log`.

    Examples
    --------
    >>> log = parse_log("pass,arc_on,arc_off,amps\n"
    ...                 "1,23:59:00,00:00:30,80\n2,00:06:00,00:07:30,85\n", 2)
    >>> [(b.on, b.off, b.current) for p in log.passes for b in p.burns]
    [(0.0, 90.0, 80.0), (420.0, 510.0, 85.0)]
    """
    sheet = parse_csv(text, file, COLUMNS)
    _check_columns(sheet)
    burns, reads = _sorted_rows(sheet)
    clock, burned = read_burns(sheet, burns, passes)
    sheet.stop_if_wrong()
    logged = put_together(sheet, burned)
    sheet.stop_if_wrong()
    log = Log(file, logged, (), None, clock)
    readings = [_timed(sheet, row, log, passes) for row in reads]
    before = [_before(sheet, row, log) for row in burns if "interpass" in row.cells]
    sheet.stop_if_wrong()
    return _with_readings(log, [r for r in (*readings, *before) if r])


def _check_columns(sheet: Sheet) -> None:
    """Refuse a log that cannot say when an arc burned."""
    missing = [n for n in ("pass", "arc_on", "arc_off") if n not in sheet.columns]
    if missing:
        remedy = f"columns known here: {', '.join(COLUMNS)}"
        sheet.refuse(
            sheet.header_line, f"no column {' and none for '.join(missing)}", remedy
        )
        sheet.stop_if_wrong()


def _sorted_rows(sheet: Sheet) -> tuple[list[Row], list[Row]]:
    """Rows with an arc, and rows with a reading; the others are refused."""
    burns, reads = [], []
    for row in sheet.rows:
        is_burn = bool({"arc_on", "arc_off"} & set(row.cells))
        is_read = bool(set(TEMPERATURES) & set(row.cells))
        if is_burn:
            burns.append(row)
        if is_read:
            reads.append(row)
        if "interpass" in row.cells and not is_burn:
            problem = "interpass without the arc it was read before"
            sheet.refuse(row.line, problem, "give arc_on and arc_off, or use temperature")
        elif not is_burn and not is_read and set(row.cells) - {"note", "pass"}:
            remedy = "give arc_on and arc_off, or time and temperature"
            sheet.refuse(row.line, "neither an arc nor a reading", remedy)
    if not burns:
        sheet.refuse(
            sheet.header_line,
            "no arc in it",
            "give arc_on and arc_off of at least one pass",
        )
    return burns, reads


def _timed(sheet: Sheet, row: Row, log: Log, passes: int) -> Reading | None:
    """Return the reading of a row with a time of its own; None when refused."""
    reading = reading_of(sheet, row)
    given = [name for name in ("time", "seconds") if name in row.cells]
    if len(given) != 1:
        problem = "two times, time and seconds" if given else "no time"
        remedy = "keep one of them" if given else (
            "say when it was read; what was read just before an arc belongs under interpass"
        )  # fmt: skip
        sheet.refuse(row.line, problem, remedy)
        return None
    if given == ["seconds"]:
        return _after_own_pass(sheet, row, log, reading, passes)
    told = told_time(sheet, row, "time")
    if told is None or reading is None:
        return None
    at = since_first(log, told)
    if at is None:
        problem = f"time: {quoted(row.cells['time'])} beside arcs of the other sort"
        sheet.refuse(row.line, problem, "write all by the clock, or all in seconds")
        return None
    return _placed(sheet, row, log, reading, at)


def _after_own_pass(
    sheet: Sheet, row: Row, log: Log, reading: Reading | None, passes: int
) -> Reading | None:
    """Return a reading so many seconds after the arc of its pass."""
    number = pass_of(sheet, row, passes)
    since = duration(sheet, row, "seconds")
    if number is None or since is None or reading is None:
        return None
    if number > len(log.passes):
        problem = f"read after pass {number}, which the log does not have"
        sheet.refuse(row.line, problem, "give its arc_on and arc_off too")
        return None
    return _placed(sheet, row, log, reading, log.passes[number - 1].burns[-1].off + since)


def _placed(
    sheet: Sheet, row: Row, log: Log, reading: Reading, at: float
) -> Reading | None:
    """Return a reading at a time since the first arc on, put after its pass."""
    if at < 0:
        return replace(reading, after_pass=0, since=at)
    for one in log.passes:
        first, last = one.burns[0].on, one.burns[-1].off
        if first < at < last:
            problem = f"read while pass {one.number} was being welded"
            remedy = "readings are taken between passes; check the time"
            sheet.refuse(row.line, problem, remedy)
            return None
    after = max((p for p in log.passes if p.burns[-1].off <= at), default=None,
                key=lambda p: p.number)  # fmt: skip
    if after is None:
        return replace(reading, after_pass=0, since=0.0)
    stated = row.cells.get("pass", "")
    if stated.isdecimal() and int(stated) != after.number and "arc_on" not in row.cells:
        problem = (
            f"the line says pass {stated}, but its time is after pass {after.number}"
        )
        remedy = "leave the pass out, or check the time"
        sheet.refuse(row.line, problem, remedy)
        return None
    return replace(reading, after_pass=after.number, since=at - after.burns[-1].off)


def _before(sheet: Sheet, row: Row, log: Log) -> Reading | None:
    """Return what was read just before the arc of a row; None when refused."""
    interval = temperature_range(sheet, row, "interpass")
    if interval is None:
        return None
    reading = reading_of(sheet, row, interval)
    one, burn = next((p, b) for p in log.passes for b in p.burns if b.line == row.line)
    if burn != one.burns[0]:
        problem = f"interpass before an arc that goes on with pass {one.number}"
        sheet.refuse(row.line, problem, "it belongs to the first arc of a pass")
        return None
    if reading is None or one.number == 1:
        return reading
    wait = burn.on - log.passes[one.number - 2].burns[-1].off
    return replace(reading, after_pass=one.number - 1, since=wait)


def _with_readings(log: Log, readings: list[Reading]) -> Log:
    """Log with its readings in the order of time."""
    later = [r for r in readings if r.after_pass > 0]
    first = [r for r in readings if r.after_pass == 0]
    ordered = tuple(sorted(later, key=lambda r: (r.after_pass, r.since)))
    return replace(log, readings=ordered, at_start=first[-1] if first else None)


def by_clock(log: Log) -> Callable[[Sheet, Row, int], float | None]:
    """Turn the clock of a reading into seconds since the arc of its pass went out.

    For `reading_file.read_readings`.
    """

    def since(sheet: Sheet, row: Row, number: int) -> float | None:
        told = told_time(sheet, row, "time")
        at = None if told is None else since_first(log, told)
        if at is None:
            remedy = "write the seconds since the arc of that pass went out"
            sheet.refuse(row.line, f"{log.file} has no clock to go by", remedy)
            return None
        gone = at - log.passes[number - 1].burns[-1].off
        if gone < 0:
            problem = f"read {-gone:.0f} s before the arc of pass {number} went out"
            sheet.refuse(row.line, problem, "check the time and the pass")
            return None
        return gone

    return since
