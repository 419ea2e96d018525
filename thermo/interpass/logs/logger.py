r"""A logger's file: time, and thermocouples at given places, a column for each.

The header says where each sits and in which unit it is: ``T1 pipe 5 mm 90 deg [degC]`` is on
the pipe, 5 mm from the toe of the finished weld along the surface, at 90 deg from where
pass 1 starts; ``fitting`` and ``bore`` are the other places (``bore -3 mm`` is 3 mm past the toe,
under the weld). A column may bear the name of a probe of the case instead. The time is a
clock, or seconds: since the first arc on, or since a moment that is told ("began").

    time_s, T1 pipe 5 mm [degC], T2 pipe 20 mm 180 deg [degC], T3 bore 0 mm [degC]
    0,      20.4,                20.1,                         20.3
"""

import re
from dataclasses import dataclass, replace
from math import isfinite, radians
from pathlib import Path

import numpy as np

from ..joint.case import Case, Measure, Probe
from ..joint.places import measuring_place
from ..text.arrays import Array
from ..text.cells import RANGES
from ..text.files import alone, csv_text
from ..text.sheets import (
    Column,
    Row,
    Sheet,
    heads_of,
    parse_csv,
    plain,
    quoted,
    unit_named,
)
from ..text.times import Clock, spelled
from ..text.units import parse
from .clocks import clash_of, later, told_time
from .log import Log, has_arcs, since_first

MOST_SAMPLES = 20000
MOST_CHANNELS = 24
LONGEST_GAP, STEPS_OF_A_GAP = 60.0, 10.0  # s, and times the usual step between samples
COLD = 40.0  # K below the air: no metal of the joint
ON = {"pipe": "pipe", "fitting": "fitting", "socket": "fitting", "bore": "bore"}
TIME_COLUMN = Column(
    "time", ("clock", "at", "elapsed", "elapsed_time", "date_time", "timestamp")
)
EXAMPLE_HEAD = "T1 pipe 5 mm 90 deg [degC]"

_PLACE = re.compile(
    r"(?P<name>.*?)(?<![a-z])(?P<on>pipe|fitting|socket|bore)(?![a-z])[\s,_]*"
    r"(?P<distance>[-+]?[0-9]*[.,]?[0-9]+)[\s_]*(?P<unit>mm|cm|in)(?![a-z])[\s,_]*"
    r"(?:(?P<angle>[-+]?[0-9]*[.,]?[0-9]+)[\s_]*(?:deg|°))?[\s,_]*(?P<rest>.*)",
    re.IGNORECASE,
)


@dataclass(frozen=True, eq=False)
class Channel:
    """One thermocouple and what it showed."""

    name: str
    probe: Probe  # where it sits
    place: Measure | None  # the same from the toe; None for a probe of the case
    time: Array  # (n,) s since the first arc on
    temperature: Array  # (n,) K


@dataclass(frozen=True, eq=False)
class Logger:
    """A logger's file, read beside the log of the same weld."""

    file: str
    channels: tuple[Channel, ...]
    remarks: tuple[str, ...] = ()

    @property
    def end(self) -> float:
        """Time of the last sample [s since the first arc on]."""
        return max(float(channel.time[-1]) for channel in self.channels)


@dataclass(frozen=True)
class _Head:
    """What the header says of one channel."""

    column: str
    name: str
    unit: str
    probe: Probe
    place: Measure | None


def read_logger(
    path: str | Path, case: Case, log: Log, began: Clock | float | None = None
) -> Logger:
    """Read a logger's file.

    Parameters
    ----------
    path : str or Path
        The CSV file.
    case : Case
        The joint; gives places their radius, and names of probes.
    log : Log
        Of the same weld, for its arcs and its clock.
    began : Clock or float, optional
        When the logger's time was 0, as the log tells time; for a logger that counts from a
        moment of its own.

    Raises
    ------
    CaseError
        With every mistake of the file, each with its line.
    """
    return parse_logger(csv_text(path), case, log, str(path), began)


def parse_logger(
    text: str,
    case: Case,
    log: Log,
    file: str = "logger.csv",
    began: Clock | float | None = None,
) -> Logger:
    r"""Read a logger's file from its text; see `read_logger`."""
    line, cells = heads_of(text)
    if has_arcs(text):
        remedy = "give it as LOG.csv, and the thermocouples with --logger"
        raise alone(file, "this is a log, with arcs on and off", remedy)
    sheet, cells = Sheet(file, line), [cell for cell in cells if not _is_time(cell)]
    heads = [head for cell in cells if (head := _head(sheet, cell, case))]
    sheet.stop_if_wrong()
    columns = {head.column: Column("temperature", (), head.unit) for head in heads}
    others = {plain(cell): Column() for cell in cells if plain(cell) not in columns}
    sheet = parse_csv(
        text, file, {"time": TIME_COLUMN, **columns, **others}, MOST_SAMPLES
    )
    if others:
        unused = ", ".join(cell for cell in cells if plain(cell) in others)
        remark = "not used, for want of a place and a unit of temperature"
        sheet.remark(f"columns {remark}: {unused}", "unused")
    _need_columns(sheet, heads)
    rows, since = _times(sheet, log, began)
    sheet.stop_if_wrong()
    channels = [_channel(sheet, head, rows, since, case) for head in heads]
    _refuse_gaps(sheet, rows, since)
    sheet.stop_if_wrong()
    return Logger(file, tuple(channels), tuple(sheet.remarks.values()))


def is_of_logger(text: str) -> bool:
    r"""Whether a CSV text is a logger's file: a head says where a thermocouple sits.

    Examples
    --------
    >>> is_of_logger("time_s,T1 pipe 5 mm [degC]\n"), is_of_logger("pass,on,from_toe\n")
    (True, False)
    """
    return any(_PLACE.fullmatch(cell) for cell in heads_of(text)[1])


def _is_time(cell: str) -> bool:
    """Whether a head is that of the times, with or without a unit; so is an empty one."""
    base = plain(re.split(r"[\[(]", cell)[0])
    names = ("", "time", *TIME_COLUMN.names)
    return base in names or base.rpartition("_")[0] in names[1:]


def _head(sheet: Sheet, cell: str, case: Case) -> _Head | None:
    """Understand the head of one column; None where it is of no thermocouple, or refused."""
    found = _PLACE.fullmatch(cell)
    unit = _unit_at_end(found["rest"] if found else cell)
    if found and not unit:
        remedy = f"write it behind the place, like {EXAMPLE_HEAD}"
        sheet.refuse(
            sheet.header_line, f"column {quoted(cell)} has no unit of temperature", remedy
        )
        return None
    if found:
        far, turned = ((found[n] or "0").replace(",", ".") for n in ("distance", "angle"))
        distance = parse(f"{far} {found['unit'].lower()}", "length")
        place = Measure(ON[found["on"].lower()], distance, radians(float(turned)))
        shown = f"{place.on} {far} {found['unit'].lower()}"
        name = found["name"].strip(" ,_:-(") or shown
        return _placed(sheet, cell, (name, unit, place), case)
    return _of_probe(sheet, cell, unit, case)


def _unit_at_end(text: str) -> str:
    """Return the unit of temperature that ends a head; "" when there is none."""
    last = re.split(r"[\s_,\[(]+", text.strip(" ])"))[-1]
    unit = unit_named(last)
    return unit if unit in ("degC", "degF", "K") else ""


def _placed(
    sheet: Sheet, cell: str, told: tuple[str, str, Measure], case: Case
) -> _Head | None:
    """Head of a channel at a place from the toe; refused off the metal."""
    name, unit, place = told
    distance = place.from_toe or 0.0
    spot = measuring_place(replace(case, measure=place))
    longest = case.fitting.length if place.on == "fitting" else case.pipe.length
    if (distance < 0 and place.on != "bore") or distance > longest or distance < -longest:
        problem = f"column {quoted(cell)}: there is no metal so far from the toe"
        remedy = (
            f"the {place.on} is {1e3 * longest:.0f} mm long; distances are from the toe"
        )
        sheet.refuse(
            sheet.header_line, problem, f"{remedy}, past it in the bore alone below 0"
        )
        return None
    probe = Probe(name, spot.r, spot.z, place.angle)
    return _Head(plain(cell), name, unit, probe, place)


def _of_probe(sheet: Sheet, cell: str, unit: str, case: Case) -> _Head | None:
    """Head of a channel that is named as a probe of the case."""
    names = {plain(probe.name): probe for probe in case.probes}
    bare = re.sub(r"[\s_,]*[\[(].*?[\])]\s*$", "", cell)
    bare = bare if plain(bare) in names else re.sub(r"[\s_]+\S+$", "", bare)
    probe = names.get(plain(bare))
    if probe is None and not unit:
        return None
    if probe is None or not unit:
        problem = f"column {quoted(cell)} does not say where the thermocouple sits"
        if probe is not None:
            problem = f"column {quoted(cell)} has no unit of temperature"
        remedy = f"write it like {EXAMPLE_HEAD}, or name a [[probe]] of the case"
        sheet.refuse(sheet.header_line, problem, remedy)
        return None
    return _Head(plain(cell), probe.name, unit, probe, None)


def _need_columns(sheet: Sheet, heads: list[_Head]) -> None:
    """Refuse a file without a time, without a channel, or with too many of them."""
    line = sheet.header_line
    if "time" not in sheet.columns:
        remedy = "name it time, for clocks like 14:05:30, or time_s, for seconds"
        sheet.refuse(line, "no column of times", remedy)
    if not heads:
        sheet.refuse(line, "no column of a thermocouple", f"head it like {EXAMPLE_HEAD}")
    if len(heads) > MOST_CHANNELS:
        problem = f"{len(heads)} thermocouples; {MOST_CHANNELS} at most"
        sheet.refuse(line, problem, "leave some columns out")
    if not sheet.rows:
        sheet.refuse(line, "there is no sample in it", "one line for each time")
    sheet.stop_if_wrong()


def _times(
    sheet: Sheet, log: Log, began: Clock | float | None
) -> tuple[list[Row], Array]:
    """Rows that have a time, and their seconds since the first arc on, never falling."""
    rows: list[Row] = []
    since: list[float] = []
    last: tuple[Clock | float, float] | None = None
    first: float | None = None
    for row in sheet.rows:
        if "time" not in row.cells:
            sheet.refuse(row.line, "no time", "every line has one")
            continue
        told = told_time(sheet, row, "time")
        if told is None:
            continue
        if first is None and (first := _first(sheet, row, told, log, began)) is None:
            break
        gone = later(sheet, row, "time", told, last)
        if gone is None:
            continue
        last = (told, gone)
        rows.append(row)
        since.append(first + gone)
    return rows, np.array(since)


def _first(
    sheet: Sheet, row: Row, told: Clock | float, log: Log, began: Clock | float | None
) -> float | None:
    """Seconds since the first arc on of the first sample; None when that cannot be said."""
    own = began is not None and not isinstance(told, Clock)
    if began is not None and not own:
        sheet.remark("--began is not used: its times are clocks already", "began")
    start = since_first(log, began if own and began is not None else told)
    if start is None and isinstance(began, Clock) and own:
        _refuse_began(sheet, row, began, log)
    elif start is None:
        _refuse_sort(sheet, row, told, log)
    if start is None:
        return None
    return start + float(told) if own and not isinstance(told, Clock) else start


def _refuse_began(sheet: Sheet, row: Row, began: Clock, log: Log) -> None:
    """Refuse a beginning by the clock that the log's times cannot be set against."""
    if log.clock is None:
        problem = f"--began is a clock, but the log {log.file} counts in seconds"
        sheet.refuse(row.line, problem, "give seconds since its first arc on, like 90 s")
        return
    clash = clash_of(log.clock, began) or ("is of another sort than the log", "")
    sheet.refuse(row.line, f"--began {clash[0]}", clash[1])


def _refuse_sort(sheet: Sheet, row: Row, told: Clock | float, log: Log) -> None:
    """Refuse times of another sort than those of the log."""
    if isinstance(told, Clock) and log.clock is None:
        problem = f"times are clocks, but the log {log.file} counts in seconds"
        remedy = "write the log by the clock too, or the logger in seconds since the first arc on"
    elif log.clock is not None and isinstance(told, Clock):
        clash = clash_of(log.clock, told) or ("is of another sort than the log", "")
        problem, remedy = f"time: {quoted(row.cells['time'])} {clash[0]}", clash[1]
    else:
        problem = f"times are seconds, but the log {log.file} goes by the clock"
        remedy = "say when the logger's time was 0, like --began 14:01:50"
    sheet.refuse(row.line, problem, remedy)


def _refuse_gaps(sheet: Sheet, rows: list[Row], since: Array) -> None:
    """Refuse pauses of the logger: what happened in them is not known."""
    if since.size < 3:
        return
    steps = np.diff(since)
    longest = max(LONGEST_GAP, STEPS_OF_A_GAP * float(np.median(steps)))
    for n in np.flatnonzero(steps > longest):
        problem = f"no sample for {spelled(float(steps[n]))} before this line"
        remedy = "give the part before it or behind it, in a file of its own"
        sheet.refuse(rows[n + 1].line, problem, remedy)


def _channel(
    sheet: Sheet, head: _Head, rows: list[Row], since: Array, case: Case
) -> Channel:
    """Read the samples of one channel; cells that are empty are passed over."""
    cells = [(row.line, row.cells[head.column], t) for row, t in
             zip(rows, since, strict=True) if head.column in row.cells]  # fmt: skip
    values = np.array([_number(sheet, cell) for _, cell, _ in cells])
    zero, one = (parse(f"{n} {head.unit}", "temperature") for n in (0, 1))
    T = zero + (one - zero) * values
    low, high = (parse(end, "temperature") for end in RANGES["temperature"])
    low = max(low, case.surroundings.air - COLD)
    wrong = np.flatnonzero(~((low <= T) & (high >= T)))
    if not cells:
        remedy = "leave the column out"
        sheet.refuse(sheet.header_line, f"{head.name}: there is no value in it", remedy)
    elif wrong.size:
        line, cell, _ = cells[wrong[0]]
        problem = (
            f"{head.name}: {wrong.size} of {len(cells)} values are no temperature of this "
            f"joint, the first is {quoted(cell)}"
        )
        remedy = (
            "an open thermocouple, or a channel without one: leave the column out, or "
            "empty those cells"
        )
        sheet.refuse(line, problem, remedy)
    time = np.array([t for _, _, t in cells])
    return Channel(head.name, head.probe, head.place, time, T)


def _number(sheet: Sheet, cell: str) -> float:
    """Return the number of a cell; nan for anything else."""
    text = cell.replace(",", ".") if sheet.has_decimal_comma else cell
    try:
        value = float(text)
    except ValueError:
        return float("nan")
    return value if isfinite(value) else float("nan")
