"""Report of a fit: numbers, readings and waits, before and after."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import degrees

from ..case_file.keys import kind_of
from ..doubt.bands import Band, Bands
from ..joint.case import Case
from ..readings.file import shown_reading
from ..readings.fit import Fit, FittedNumber
from ..readings.flags import ReadingCheck
from ..readings.reading import Reading
from ..rules.judge import checks
from ..rules.limits import FAIL
from ..text.kinds import SI, UnitSystem
from ..text.layout import NOTHING, WIDTH, Block, Table, Words, lines_of, paragraph
from ..text.times import clock, shop_time
from .block import LEAST_LEARNT, block_text, shown_band, shown_number, used
from .passes import first_table
from .strike import (
    SAFE,
    Strike,
    band_of,
    most_text,
    place_text,
    strikes,
    wait_of,
    wait_words,
    why_below,
)
from .verdicts import verdict_text


def text(
    case: Case,
    found: Fit,
    units: UnitSystem = SI,
    *,
    used_log: bool = False,
    width: int = WIDTH,
) -> str:
    """Report of a fit, statistics and all; ends with the verdict and a newline.

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
    width : int
        Characters of a line.
    """
    taught = used(found) > 0
    parts: list[list[Block]] = [
        [*map(Words, opening_words(case, found, used_log=used_log))],
        [
            reading_table(case, found.readings, units),
            *flag_words(found.readings),
            *hot_words_of(found, units),
        ],
    ]
    if taught:
        parts += [[number_table(found, units)], _not_identified(found)]
        waits = wait_table(found.before, found.after)
        if waits.rows and not found.stopped_by:
            parts.append([waits])
    written = "\n\n".join("\n".join(lines_of(part, width)) for part in parts)
    lines = f"\n\n{block_text(found, width)}" if taught else ""
    verdict = "\n".join(
        paragraph(f"Verdict: {fit_verdict_text(found, units)}", width=width)
    )
    return f"{written}{lines}\n\n{verdict}\n"


def first_screen(
    case: Case,
    found: Fit,
    units: UnitSystem = SI,
    *,
    used_log: bool = False,
    width: int = WIDTH,
) -> str:
    """Return what a welder needs of a fit: the new waits, what was learnt, the verdict.

    Parameters
    ----------
    case, found, units, used_log
        As `text` takes them.
    width : int
        Characters of a line.
    """
    head = [*map(Words, opening_words(case, found, used_log=used_log))]
    head += flag_words(found.readings) + hot_words_of(found, units)
    blocks: list[Block] = [*head]
    goes = used(found) > 0 and not found.stopped_by
    if goes:
        told = strikes(case, found.history, found.after)
        blocks.append(new_waits(told, found.before, units))
        place = f"Place marked: {place_text(case, units)}."
        blocks.append(Words(f"{place} {why_below(case, told, units)}"))
        blocks.append(Words(learnt_words(found, units)))
    file = case.file or "CASE"
    blocks += [
        Words(f"Next: interpass card {file}; --full shows the statistics and the lines."),
        Words(f"Verdict: {fit_verdict_text(found, units)}"),
    ]
    return "\n".join(lines_of(blocks, width)) + "\n"


def new_waits(told: Sequence[Strike], before: Bands, units: UnitSystem) -> Table:
    """Return the first table of a plan, with the safe waits before the readings."""
    table = first_table(told, units)
    old = []
    for strike in told:
        band = band_of(before, strike.number)
        old.append(clock(shop_time(band.allow)) if band and band.allow else NOTHING)
    rows = tuple((*row, wait) for row, wait in zip(table.rows, old, strict=True))
    return replace(table, heads=(*table.heads, "safe wait before, min:s"), rows=rows)


def fit_verdict_text(found: Fit, units: UnitSystem = SI) -> str:
    """Verdict of a fit: the new wait before each pass, or why there is none."""
    stopped = found.stopped_by
    if stopped is not None:
        return f"NO GO-AHEAD. {_hot_text(found, stopped, units)}"
    if not used(found):
        return "no reading could be used; the waits stay as planned."
    if not found.history.complete:
        why = found.history.stopped_because or "the run stopped early"
        return f"NO PLAN with the fitted numbers. {why}"
    judged = checks(found.case, found.history)
    if any(check.verdict == FAIL for check in judged):
        return verdict_text(judged, found.history, units, found.after)
    told = []
    for done in found.history.passes[1:]:
        wait, kind = wait_of(done, band_of(found.after, done.number))
        old = band_of(found.before, done.number)
        was = ""
        if kind == SAFE and old and old.allow:
            was = f" (planned {clock(shop_time(old.allow))})"
        told.append(f"{wait_words(wait, kind)} before pass {done.number}{was}")
    return f"wait {', '.join(told)}." if told else "one pass, no wait."


def learnt_words(found: Fit, units: UnitSystem) -> str:
    """Name the numbers that the readings said something of."""
    told = []
    for number in found.numbers:
        if number.learnt < LEAST_LEARNT:
            continue
        new, old = (
            shown_number(number.key, band.best, units)
            for band in (number.after, number.before)
        )
        was = f"was {old}" if new != old else "as it was, surer now"
        unit = units.unit(kind_of(number.key))
        told.append(f"{number.words} {f'{new} {unit}'.strip()} ({was})")
    if not told:
        return "The readings taught next to nothing of this joint."
    return f"Learnt: {', '.join(told)}."


def opening_words(case: Case, found: Fit, *, used_log: bool) -> list[str]:
    """Title, and how many readings there are and were used."""
    kept, count = used(found), len(found.readings)
    told = f"{count} reading{'s' if count != 1 else ''}"
    if kept < count:
        told += f", {kept or 'none'} of them used: see the flags"
    if not kept:
        told += ". Nothing was fitted"
    lines = [f"{case.title}: fitted to readings", f"{told}."]
    late = any(one.reading.after_pass > 1 for one in found.readings)
    if late and not used_log and any(p.wait is None for p in case.passes):
        lines.append(
            "Readings after the second pass and later are compared with a joint that "
            "waited as planned; if it waited otherwise, give its log with --log."
        )
    return lines


def reading_table(
    case: Case, readings: Sequence[ReadingCheck], units: UnitSystem
) -> Table:
    """Set out the readings beside what was expected."""
    unit = units.temperature_unit
    heads = ("line", "after pass", "at, min:s", "place", f"read, {unit}", "before",
             "after", "")  # fmt: skip
    note = (
        "At: since the arc of that pass went out. Expected: before and after the fit, "
        "with one standard deviation (the instrument not counted)."
    )
    rows = tuple(tuple(_reading_row(case, one, units)) for one in readings)
    groups = ((f"expected, {unit}", 5, 6),)
    return Table("Readings", heads, rows, (note,), (3, 7), groups)


def flag_words(readings: Sequence[ReadingCheck]) -> list[Words]:
    """Say why any reading is left out."""
    told = []
    for one in readings:
        if one.is_flagged:
            where = f"line {one.reading.line}" if one.reading.line else "one reading"
            words = f"{where} is left out: {one.why}."
            told.append(Words(words, "  FLAG ", " " * 7))
    return told


def hot_words_of(found: Fit, units: UnitSystem) -> list[Words]:
    """Stop the go-ahead for every reading hotter than the joint can be."""
    return [Words(_hot_text(found, one, units), "  STOP ", " " * 7) for one in found.hot]


def _hot_text(found: Fit, one: ReadingCheck, units: UnitSystem) -> str:
    passes = found.before.passes[one.reading.after_pass :]
    return hot_words(one.reading, passes[0].strike_at if passes else None, units)


def hot_words(reading: Reading, strike_at: float | None, units: UnitSystem) -> str:
    """Say what to do about a reading hotter than the joint can be."""
    where = f"Line {reading.line}: " if reading.line else ""
    until = "no arc"
    if strike_at is not None:
        until = f"wait until it reads {most_text(strike_at, units)}"
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


def number_table(found: Fit, units: UnitSystem) -> Table:
    """Set out the doubtful numbers before and after."""
    rows = tuple(tuple(_number_row(number, units)) for number in found.numbers)
    heads = ("number", "best", "9 in 10", "best", "9 in 10", "learnt, %")
    note = (
        "Learnt: share of the doubt (of its variance) about a number that the readings "
        "took away. Where it is little, the number merely goes along with the others."
    )
    groups = (("before", 1, 2), ("after", 3, 4))
    return Table("Numbers of the joint", heads, rows, (note,), (0,), groups)


def _number_row(number: FittedNumber, units: UnitSystem) -> list[str]:
    unit = units.unit(kind_of(number.key))
    return [
        number.words + (f", {unit}" if unit else ""),
        *shown_band(number.key, number.before, units),
        *shown_band(number.key, number.after, units),
        f"{max(100 * number.learnt, 0.0):.0f}",
    ]


def _not_identified(found: Fit) -> list[Block]:
    """Say what the readings cannot tell, and whether two ways of fitting agree."""
    told = [f"{one[0].upper()}{one[1:]}." for one in found.not_identified]
    told.append(f"Fitted in two ways: {found.agreement}.")
    title = "What the readings cannot tell" if found.not_identified else "Two ways"
    return [Words(title), *(Words(one, "- ") for one in told)]


def wait_table(before: Bands, after: Bands) -> Table:
    """Set out the waits that are planned, before and after the readings."""
    rows = tuple(tuple(row) for row in _wait_rows(before, after))
    heads = ("pass", *("safe, min:s", "typical, min:s", "9 in 10 need, s") * 2)
    note = (
        "The safe wait holds the limit for 9 in 10 of the joints that are still plausible; "
        "waits are rounded up to 5 s."
    )
    groups = (("before", 1, 3), ("after", 4, 6))
    return Table("Waits", heads, rows, (note,), groups=groups)


def _wait_rows(before: Bands, after: Bands) -> Iterator[list[str]]:
    for old, new in zip(before.passes, after.passes, strict=False):
        if old.wait and new.wait:
            cells = [*_waits(old.wait, old.allow), *_waits(new.wait, new.allow)]
            yield [str(old.number), *cells]


def _waits(wait: Band, allow: float | None) -> tuple[str, str, str]:
    shown = NOTHING if allow is None else clock(shop_time(allow))
    return shown, clock(shop_time(wait.best)), f"{wait.low:.0f} to {wait.high:.0f}"
