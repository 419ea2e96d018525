"""The sheet for a trial in words: places, times, what to note, cautions, an empty log."""

from math import degrees

from ..joint.case import Case
from ..logs.trial import (
    AFTER_LAST_ARC,
    BEFORE_FIRST_ARC,
    CHANGES_FAST,
    FAST,
    SLOW,
    TYPE_K,
    Trial,
    TrialPlace,
)
from ..rules.judge import checks
from ..text.files import MADE_BY
from ..text.kinds import SI, UnitSystem
from ..text.layout import WIDTH, Block, Table, Words, lines_of
from ..text.records import csv_text
from ..text.times import clock
from .cautions import cautions
from .joint import hold_words, short_joint_words
from .strike import moment_text
from .verdicts import verdict_text

TO_NOTE = (
    (
        "Clocks of logger, log and watch set alike, to the second; the time of every arc on and "
        "off, also of stops in between."
    ),
    "Amps and volts of every pass while it burns, volts at the torch and not at the machine.",
    "Wire: how much was fed, or its speed. Legs of the fillet after every pass.",
    "Air temperature at the joint; the temperature of the piece before the first arc.",
    "What holds the piece, where, and how tight; what it lies on; fan, doors, draught.",
    "End gap as scribed and after tacking; on which side the pipe touches the socket.",
    "Surface: mill finish, brushed, tinted; brushed between passes or not.",
    "Purge and its flow; heat numbers; thermocouples, logger and when they were calibrated.",
)
"""What moves a wait and cannot be found out afterwards."""

FIXING = (
    (
        "Scribe the places before welding, from the socket face; the toe is where the finished "
        "fillet will end. Fix the hot junction to bright metal and lead the wire along a line of "
        "equal temperature, round the pipe, before it leaves the surface."
    ),
    (
        "Spot-welded or attached thermocouples mark the metal: on a trial piece, or where the "
        "procedure and the owner of a pressure part allow it; dress and examine the spots afterwards."
    ),
    (
        "Take the logger off the work while the arc starts by high frequency, or use insulated "
        "junctions: the start can destroy it. Never strike on a thermocouple."
    ),
    "Weld as always: a trial that is welded with more care says nothing of the next joint.",
)
"""How thermocouples are put on; common practice, no source."""

PLACE_HEADS = (
    "no.",
    "on",
    "from toe",
    "from face",
    "angle, deg",
    "hottest",
    "1 mm is",
    "why",
)


def place_table(trial: Trial, units: UnitSystem) -> Table:
    """Set out where the thermocouples go."""
    length, T = units.unit("length"), units.temperature_unit
    under = ("", "", f", {length}", f", {length}", "", f", {T}", f", {T}", "")
    heads = tuple(h + u for h, u in zip(PLACE_HEADS, under, strict=True))
    rows = tuple(_place_row(place, units) for place in trial.places)
    note = (
        "From toe: along the surface, from the toe of the finished fillet. From face: along "
        "the axis from the socket face, pipe side below 0. Angle: from where pass 1 starts, "
        "counter-clockwise seen from the fitting. 1 mm is: what a millimetre of "
        "misplacing is worth half-way through the first wait."
    )
    return Table("Where the thermocouples go", heads, rows, (note,), (0, 1, 7))


def _place_row(place: TrialPlace, units: UnitSystem) -> tuple[str, ...]:
    m, finest = place.measure, 1 if units.length_unit == "mm" else 2
    along, axial = (
        f"{units.value('length', x):.{finest}f}"
        for x in (m.from_toe or 0.0, place.from_face)
    )
    return (
        place.name,
        m.on,
        along,
        axial,
        f"{degrees(m.angle):.0f}",
        f"{units.value('temperature', place.hottest):.0f}",
        f"{units.value('temperature difference', place.per_mm):.0f}",
        place.why,
    )


def which_words(trial: Trial, units: UnitSystem) -> list[str]:
    """Say how many are needed and which wire stands it."""
    hot = [place.name for place in trial.places if place.hottest > TYPE_K]
    told = [
        (
            "The first three are enough to tell whether the program holds for your joint; each "
            "further one tells more of why it does not."
        )
    ]
    limit = units.temperature(TYPE_K)
    if hot:
        told.append(
            f"{', '.join(hot)}: hotter than the {limit} that sheathed type K lasts at: use type "
            "N or S, or leave it out."
        )
    else:
        told.append(f"Type K stands it all: every place stays below {limit}.")
    return told


def when_words(trial: Trial) -> list[str]:
    """Say how often and how long to log, and when to read by hand."""
    told = [
        (
            f"Log from {clock(BEFORE_FIRST_ARC)} before the first arc to {clock(AFTER_LAST_ARC)} after the last, "
            f"without a pause: every {FAST:g} s while an arc burns and for {CHANGES_FAST:.0f} s after "
            f"it, every {SLOW:g} s otherwise (or {FAST:g} s throughout)."
        )
    ]
    read = [
        f"about {moment_text(since)} after the arc of pass {n} went out"
        for n, since in trial.moments
    ]
    if read:
        told.append(
            f"Read by hand at the place marked, beside T1: {', '.join(read)}, and just before "
            "every arc; it tells whether thermometer and thermocouple agree."
        )
    else:
        told.append("Read by hand at the place marked, beside T1, just before every arc.")
    return told


def next_words(case: Case) -> list[str]:
    """Say what to type when the trial is done."""
    file, stem = case.file or "CASE", case.stem
    return [
        (
            f"interpass review {file} {stem}.trial-log.csv --logger LOGGER.csv --out DIR sets "
            "measured against computed; interpass fit with the same files tells which numbers "
            "of the case would explain the difference."
        ),
    ]


def trial_verdict(trial: Trial, units: UnitSystem) -> str:
    """Return the verdict on the plan that the trial is welded by, as a sentence."""
    found = checks(trial.case, trial.planned)
    return verdict_text(found, trial.planned, units, trial.bands)


def trial_text(trial: Trial, units: UnitSystem = SI, *, width: int = WIDTH) -> str:
    """Return the sheet for a terminal; ends with a newline."""
    case = trial.case
    blocks: list[Block] = [
        Words(f"{case.title}: how to measure a joint of your own"),
        Words(short_joint_words(case, units)),
        Words(f"Computed for a piece {hold_words(case, units)}."),
        place_table(trial, units),
        *(Words(one, "- ") for one in which_words(trial, units)),
        Words(""),
        Words("Putting them on"),
        *(Words(one, "- ") for one in FIXING),
        Words("When"),
        *(Words(one, "- ") for one in when_words(trial)),
        Words("Write down"),
        *(Words(one, "- ") for one in TO_NOTE),
        Words(
            "Header of the logger's file, in degC or with another unit in the brackets:"
        ),
        Words(trial.head, "  "),
        Words("Cautions"),
        *(Words(one, "- ") for one in cautions(case, trial.planned, units)),
        Words("Then"),
        *(Words(one, "- ") for one in next_words(case)),
        Words(f"Verdict: {trial_verdict(trial, units)}"),
    ]
    return "\n".join(lines_of(blocks, width)) + "\n"


def log_heads(units: UnitSystem) -> tuple[str, ...]:
    """Columns of an empty log, as `logs/log` reads them back."""
    unit = units.temperature_unit
    return ("pass", "arc_on", "arc_off", "amps", "volts", f"interpass_{unit}", "time",
            f"temperature_{unit}", "note")  # fmt: skip


def empty_log(trial: Trial, units: UnitSystem) -> bytes:
    """Return an empty log: a line for every arc, and one to copy for every reading."""
    heads = log_heads(units)
    rows = [[str(p.number), *[""] * (len(heads) - 1)] for p in trial.case.passes]
    says = (
        f"# {MADE_BY}: an empty log, a line for each arc; readings in lines of their own",
        "# (time and temperature). Times by the clock, like 14:05:30, the same as the logger's.",
        f"# Header of the logger's file: {trial.head}",
    )
    return ("\n".join(says) + "\n" + csv_text([list(heads), *rows])).encode()
