"""A log, the weld as it was done: its CSV file, and what it says as plain data in SI units.

A line of the file is one burn of the arc, one reading, or a burn with what was read just before it.
The columns, in any order:

pass            number of the pass
arc_on, arc_off of a burn: clocks ("14:05:30") or seconds since the first arc on; over a
                night on which clocks are changed with their zone, as ISO 8601 writes it
                ("2026-03-29T01:58:00+01:00", "2026-03-29 00:58:00Z")
amps, volts     of that burn; planned values where they were not noted
start, end      angles of that burn, from where pass 1 starts
interpass       temperature read just before that arc on (before pass 1: the piece)
time            of a reading, in the same way as arc_on
seconds         of a reading: since the arc of its pass went out
temperature ..  what was read and where; see `readings/file`

Several burns of one pass stand in several lines. Passes not welded yet are left out.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from ..readings.file import PLACE_COLUMNS, TEMPERATURES, duration, pass_of, reading_of
from ..readings.reading import Reading
from ..text.cells import temperature_range
from ..text.files import csv_text
from ..text.sheets import Column, Row, Sheet, heads_of, parse_csv, plain, quoted
from ..text.times import (
    DAY,
    FORWARD,
    HALF_DAY,
    Clock,
    changed_between,
    clock,
    clock_words,
    moved,
    zone_words,
)
from .burns import LoggedPass, put_together, read_burns
from .clocks import (
    LONGEST_PAUSE,
    TOO_LATE,
    ZONE,
    clash_of,
    is_sure,
    of_zone,
    told_time,
)


@dataclass(frozen=True)
class Log:
    """What a log says, checked to fit together."""

    file: str
    passes: tuple[LoggedPass, ...]
    readings: tuple[Reading, ...]  # after a pass, in the order of time
    at_start: Reading | None  # of the piece before pass 1
    clock: Clock | None  # of the first arc on; None where times are seconds
    last_east: float | None = None  # zone of the last arc, s ahead of UTC
    remarks: tuple[str, ...] = ()  # what cannot be told from its times alone

    @property
    def last_off(self) -> float:
        """When the last arc went out [s since the first arc on]."""
        return self.passes[-1].burns[-1].off

    def shown(self, since: float) -> str:
        """Time so many seconds after the first arc on: by its clock where there is one.

        A log in which the zone changes is told in the zone of the first arc, and says so.
        """
        if self.clock is None:
            return clock(since)
        east = self.clock.east
        is_one = east is None or east == self.last_east
        zone = "" if is_one else zone_words(east or 0.0)
        return clock_words(self.clock.seconds + since) + zone


def since_first(log: Log, told: Clock | float) -> float | None:
    """Seconds since the first arc on; None when clock meets seconds, or a zone none.

    A clock within half a day before the first arc is before it, else after it. One without
    zone is of the zone of a log that keeps to one.
    """
    if not isinstance(told, Clock) or log.clock is None:
        return told if log.clock is None and not isinstance(told, Clock) else None
    told = of_zone(told, log.clock, log.last_east)
    if clash_of(log.clock, told):
        return None
    gone = told.seconds - log.clock.seconds
    if told.east is not None and log.clock.east is not None:
        gone += log.clock.east - told.east
    if told.day is not None and log.clock.day is not None:
        return gone + DAY * (told.day - log.clock.day)
    gone %= DAY
    return gone - DAY if gone > log.last_off + HALF_DAY else gone


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


def has_arcs(text: str) -> bool:
    r"""Whether a CSV text is a log: its header has a column of arcs on.

    Examples
    --------
    >>> has_arcs("# a log\npass; Arc On; arc off\n"), has_arcs("pass,seconds,arc_off\n")
    (True, False)
    """
    names = ("arc_on", *COLUMNS["arc_on"].names)  # "arc_on_s" and the like too
    return any(plain(head).startswith(names) for head in heads_of(text)[1])


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
    clock, last_east, burned = read_burns(sheet, burns, passes)
    sheet.stop_if_wrong()
    logged = put_together(sheet, burned)
    sheet.stop_if_wrong()
    log = Log(file, logged, (), None, clock, last_east)
    readings = [_timed(sheet, row, log, passes) for row in reads]
    before = [_before(sheet, row, log) for row in burns if "interpass" in row.cells]
    sheet.stop_if_wrong()
    log = replace(log, remarks=tuple(sheet.remarks.values()))
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
    at = _sure_time(sheet, row, log, told)
    return None if at is None else _placed(sheet, row, log, reading, at)


def _sure_time(sheet: Sheet, row: Row, log: Log, told: Clock | float) -> float | None:
    """Seconds since the first arc on of the time of a reading; None when refused."""
    at = since_first(log, told)
    if at is None:
        first: Clock | float = 0.0 if log.clock is None else log.clock
        problem, remedy = clash_of(first, told) or ("", "")
        sheet.refuse(row.line, f"time: {quoted(row.cells['time'])} {problem}", remedy)
        return None
    before = 0.0 if log.clock is None else moved(log.clock, _last_off_before(log, at))
    return at if is_sure(sheet, row, "time", before, told) else None


def doubt_of(log: Log, now: Clock) -> str:
    """Say that clocks may have been put forward since the last arc off; "" when they cannot."""
    off = None if log.clock is None else moved(log.clock, log.last_off)
    if off is None or changed_between(off, now) != FORWARD:
        return ""
    return f"it is an hour earlier if clocks were put forward that night; {ZONE}"


def _last_off_before(log: Log, at: float) -> float:
    """When an arc went out before a time; the first arc on where none did [s]."""
    return max((b.off for p in log.passes for b in p.burns if b.off <= at), default=0.0)


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
    since = at - after.burns[-1].off
    if since > LONGEST_PAUSE:
        problem = f"read {since / DAY:.0f} days after the arc of pass {after.number}"
        sheet.refuse(row.line, problem, TOO_LATE)
        return None
    return replace(reading, after_pass=after.number, since=since)


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

    For `readings.file.read_readings`.
    """

    def since(sheet: Sheet, row: Row, number: int) -> float | None:
        told = told_time(sheet, row, "time")
        if log.clock is None:
            remedy = "write the seconds since the arc of that pass went out"
            sheet.refuse(row.line, f"{log.file} has no clock to go by", remedy)
            return None
        at = None if told is None else _sure_time(sheet, row, log, told)
        if at is None:
            return None
        gone = at - log.passes[number - 1].burns[-1].off
        if gone < 0:
            problem = f"read {-gone:.0f} s before the arc of pass {number} went out"
            sheet.refuse(row.line, problem, "check the time and the pass")
            return None
        return gone

    return since
