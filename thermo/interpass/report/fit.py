"""Report of a fit, and the block for the case file.

What readings taught, as text and as data: numbers, readings and waits, before and after.

What readings taught, as lines for the case file.
"""

from collections.abc import Iterator, Sequence
from math import degrees

from ..doubt.bands import Band, Bands
from ..doubt.priors import best_value
from ..joint.case import Case, Doubt
from ..readings.file import shown_reading
from ..readings.fit import Fit, FittedNumber
from ..readings.flags import ReadingCheck
from ..readings.reading import Reading
from ..text.kinds import SI, UnitSystem
from ..text.layout import NOTHING, columns, paragraph
from ..text.times import clock, shop_time
from .strike import at_most

KIND_OF = {  # by the last word of a key; the others have no unit
    "voltage": "voltage",
    "current": "current",
    "net_power": "power",
    "travel": "speed",
    "end_gap": "length",
    "air": "temperature",
}


PER_AREA = ("clearance_conductance", "film_coefficient", "conductance")  # W/m²/K


MORE_DIGITS = {"travel": 1, "voltage": 1}  # a band is narrower than what is usually shown


LONGEST_INSTRUMENT = 18


def text(
    case: Case, found: Fit, units: UnitSystem = SI, *, used_log: bool = False
) -> str:
    """Report of a fit; ends with the block for the case file and a newline.

    Parameters
    ----------
    case : Case
        As it was fitted.
    found : Fit
        What the readings said.
    units : UnitSystem
        The units to speak in.
    used_log : bool
        Whether the waits are those of a log, instead of planned ones.
    """
    parts = [
        _opening(case, found, used_log=used_log),
        reading_lines(case, found.readings, units),
        hot_lines(found, units),
        number_lines(found, units) if used(found) else [],
        _not_identified(found) if used(found) else [],
        wait_lines(found.before, found.after)
        if used(found) and not found.stopped_by
        else [],
        _no_plan_lines(found),
        _block_lines(found) if used(found) else [],
    ]
    return "\n\n".join("\n".join(part) for part in parts if part) + "\n"


def _no_plan_lines(found: Fit) -> list[str]:
    """Say that the fitted joint has no plan, where a limit is out of its reach."""
    if found.history.complete:
        return []
    why = found.history.stopped_because or "the run stopped early"
    return paragraph(f"NO PLAN with the fitted numbers. {why}")


def _opening(case: Case, found: Fit, *, used_log: bool) -> list[str]:
    """Title, and how many readings there are and were used."""
    kept, count = used(found), len(found.readings)
    told = f"{count} reading{'s' if count != 1 else ''}"
    if kept < count:
        told += f", {kept or 'none'} of them used: see the flags"
    if not kept:
        told += ". Nothing was fitted"
    lines = [*paragraph(f"{case.title}: fitted to readings"), *paragraph(f"{told}.")]
    late = any(one.reading.after_pass > 1 for one in found.readings)
    if late and not used_log and any(p.wait is None for p in case.passes):
        lines += paragraph(
            "Readings after the second pass and later are compared with a joint that "
            "waited as planned; if it waited otherwise, give its log with --log."
        )
    return lines


def reading_lines(
    case: Case, readings: Sequence[ReadingCheck], units: UnitSystem
) -> list[str]:
    """Set out the readings beside what was expected, and say why any is flagged."""
    heads = ("line", "after\npass", "at\nmin:s", "place", "read", "before", "after", "")
    unit = units.temperature_unit
    table = columns(
        [f"\n{h}" if "\n" not in h else h for h in heads],
        [_reading_row(case, one, units) for one in readings],
        left=(3, len(heads) - 1),
        groups=[(f"expected, {unit}", 5, 6)],
    )
    lines = ["Readings", *table]
    lines += paragraph(
        "At: since the arc of that pass went out. Expected: before and after the fit, "
        "with one standard deviation (the instrument not counted)."
    )
    for one in readings:
        if one.is_flagged:
            where = f"line {one.reading.line}" if one.reading.line else "one reading"
            lines += paragraph(f"{where} is left out: {one.why}.", "  FLAG ", " " * 7)
    return lines


def hot_lines(found: Fit, units: UnitSystem) -> list[str]:
    """Stop the go-ahead for every reading hotter than the joint can be."""
    lines = []
    for one in found.hot:
        passes = found.before.passes[one.reading.after_pass :]
        words = hot_words(one.reading, passes[0].strike_at if passes else None, units)
        lines += paragraph(words, "  STOP ", " " * 7)
    return lines


def hot_words(reading: Reading, strike_at: float | None, units: UnitSystem) -> str:
    """Say what to do about a reading hotter than the joint can be."""
    where = f"Line {reading.line}: " if reading.line else ""
    until = "no arc"
    if strike_at is not None:
        until = f"wait until it reads {at_most(strike_at, units)}"
    return (
        f"{where}{reading_words(reading, units)} {units.temperature_unit} is hotter than "
        f"this joint can be by the model: {until}, and find out why."
    )


def _reading_row(case: Case, one: ReadingCheck, units: UnitSystem) -> list[str]:
    r = one.reading
    return [
        str(r.line) if r.line else NOTHING,
        str(r.after_pass),
        clock(r.since),
        place_words(case, r, units),
        reading_words(r, units),
        _with_error(one.before, one.before_error, units),
        _with_error(one.after, one.after_error, units),
        "FLAG" if one.is_flagged else "",
    ]


def place_words(case: Case, reading: Reading, units: UnitSystem) -> str:
    """Where a reading was taken, in few words."""
    words = reading.on
    if reading.from_toe is not None:
        finest = 0 if units.length_unit == "mm" else 2
        words += f", {units.length(reading.from_toe, finest)}"
    if reading.angle is not None and reading.angle != case.measure.angle:
        words += f", {degrees(reading.angle):.0f} deg"
    return words


def reading_words(reading: Reading, units: UnitSystem) -> str:
    """Say what was read, without its unit where it is a number."""
    if reading.low == reading.high:
        return f"{units.value('temperature', reading.low):.0f}"
    return shown_reading(reading, lambda T: f"{units.value('temperature', T):.0f}")


def _with_error(T: float, error: float, units: UnitSystem) -> str:
    size = units.value("temperature difference", error)
    return f"{units.value('temperature', T):.0f} +- {size:.0f}"


def number_lines(found: Fit, units: UnitSystem) -> list[str]:
    """Set out the doubtful numbers before and after."""
    rows = [_number_row(number, units) for number in found.numbers]
    table = columns(
        ["\nnumber", "\nbest", "\n9 in 10", "\nbest", "\n9 in 10", "learnt\n%"],
        rows,
        left=(0,),
        groups=[("before", 1, 2), ("after", 3, 4)],
    )
    words = (
        "Learnt: share of the doubt (of its variance) about a number that the readings "
        "took away. Where it is little, the number merely goes along with the others."
    )
    return ["Numbers of the joint", *table, *paragraph(words)]


def _number_row(number: FittedNumber, units: UnitSystem) -> list[str]:
    unit = unit_of(number.key, units)
    return [
        number.words + (f", {unit}" if unit else ""),
        *_shown_band(number.key, number.before, units),
        *_shown_band(number.key, number.after, units),
        f"{max(100 * number.learnt, 0.0):.0f}",
    ]


def _shown_band(key: str, band: Band, units: UnitSystem) -> tuple[str, str]:
    """Best estimate, and lowest to highest, in the unit of the number."""
    low, best, high = (_shown(key, v, units) for v in (band.low, band.best, band.high))
    return best, f"{low} to {high}"


def _shown(key: str, value: float, units: UnitSystem) -> str:
    name = key.rpartition(".")[2]
    if name not in KIND_OF:
        return f"{value:.0f}" if name in PER_AREA else f"{value:.2f}"
    kind = KIND_OF[name]
    digits = units.units[kind][1] + MORE_DIGITS.get(name, 0)
    return f"{units.value(kind, value):.{digits}f}"


def _not_identified(found: Fit) -> list[str]:
    """Say what the readings cannot tell, and whether two ways of fitting agree."""
    lines = ["What the readings cannot tell"] if found.not_identified else ["Two ways"]
    for sentence in found.not_identified:
        lines += paragraph(f"{sentence[0].upper()}{sentence[1:]}.", "- ")
    return lines + paragraph(f"Fitted in two ways: {found.agreement}.", "- ")


def wait_lines(before: Bands, after: Bands) -> list[str]:
    """Set out the waits that are planned, before and after the readings."""
    rows = list(_wait_rows(before, after))
    if not rows:
        return []
    table = columns(
        ["\npass", *["\nbest\nmin:s", "\nallow\nmin:s", "\n9 in 10 need\ns"] * 2],
        rows,
        groups=[("before", 1, 3), ("after", 4, 6)],
    )
    words = (
        "Allow holds the limit for 9 in 10 of the joints that are still plausible; waits "
        "are rounded up to 5 s."
    )
    return ["Waits", *table, *paragraph(words)]


def _wait_rows(before: Bands, after: Bands) -> Iterator[list[str]]:
    for old, new in zip(before.passes, after.passes, strict=False):
        if old.wait and new.wait:
            cells = [*_waits(old.wait, old.allow), *_waits(new.wait, new.allow)]
            yield [str(old.number), *cells]


def _waits(wait: Band, allow: float | None) -> tuple[str, str, str]:
    shown = NOTHING if allow is None else clock(shop_time(allow))
    return clock(shop_time(wait.best)), shown, f"{wait.low:.0f} to {wait.high:.0f}"


def _block_lines(found: Fit) -> list[str]:
    """Lines for the case file."""
    words = (
        "For the case file: what the readings taught, for the next joint like this one. "
        "Put each line into its table, in place of what stands there."
    )
    return [*paragraph(words), "", *block(found.case).split("\n")]


OF_THE_DAY = ("travel", "air", "end_gap")


UNITS = {  # of the last word of a key: unit in the file, SI value of one
    "voltage": ("V", 1.0),
    "current": ("A", 1.0),
    "net_power": ("W", 1.0),
    "end_gap": ("mm", 1e-3),
    "clearance_conductance": ("W/m^2/K", 1.0),
    "film_coefficient": ("W/m^2/K", 1.0),
    "conductance": ("W/m^2/K", 1.0),
}


def block(case: Case) -> str:
    """Lines that give a case what a fit left of its doubt.

    Travel, air and end gap are left out: they are those of one joint, not of the next.

    Parameters
    ----------
    case : Case
        As a fit returns it, with its bands in ``doubt``.
    """
    tables: dict[str, list[str]] = {}
    for doubt in case.doubt:
        table, _, key = doubt.key.rpartition(".")
        if not table.startswith("pass") and key not in OF_THE_DAY:
            tables.setdefault(table, []).append(_line(case, doubt, key))
    return "\n\n".join(
        "\n".join([f"[{table}]", *lines]) for table, lines in tables.items()
    )


def _line(case: Case, doubt: Doubt, key: str) -> str:
    """One band in the form of the file."""
    values = (best_value(case, doubt.key), doubt.low, doubt.high)
    best, low, high = (_text(key, value) for value in values)
    return f"{key} = {{ best = {best}, low = {low}, high = {high} }}"


def _text(key: str, value: float) -> str:
    if key == "air":
        return f'"{value - 273.15:.4g} degC"'
    if key in UNITS:
        unit, one = UNITS[key]
        return f'"{value / one:.4g} {unit}"'
    return f"{value:.4g}"


def used(found: Fit) -> int:
    """Count the readings that were used."""
    return sum(not one.is_flagged for one in found.readings)


def unit_of(key: str, units: UnitSystem) -> str:
    """Return the unit a number is shown in; "" where it has none."""
    name = key.rpartition(".")[2]
    if name in PER_AREA:
        return "W/m^2/K"
    return units.unit(KIND_OF[name]) if name in KIND_OF else ""
