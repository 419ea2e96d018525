"""Report of a shop: what is common to several joints, what each had, and the next one."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from ..case_file.keys import kind_of
from ..doubt.bands import Band
from ..doubt.priors import words_of
from ..joint.case import Case
from ..readings.fit import Fit
from ..readings.shop import ReadJoint, ShopFit, ShopNumber
from ..text.kinds import SI, UnitSystem
from ..text.layout import NOTHING, WIDTH, Block, Table, Words, lines_of, paragraph
from .block import LEAST_LEARNT, block_text, shown_band, used
from .fit import (
    fit_verdict_text,
    flag_words,
    hot_words_of,
    learnt_words,
    new_waits,
    number_table,
    reading_table,
    wait_table,
)
from .strike import place_text, strikes, why_below

DIFFERS = (
    0.5  # from here on it is told that joints differ in a number; 0.27 before readings
)


def first_screen(
    case: Case, found: ShopFit, units: UnitSystem = SI, *, width: int = WIDTH
) -> str:
    """Return what a shop needs: the waits of its next joint, what was learnt, the verdict."""
    blocks: list[Block] = [*_opening(case, found), *_flags(found, units)]
    if used(found.next) and not found.next.hot:
        told = strikes(case, found.next.history, found.next.after)
        blocks.append(new_waits(told, found.next.before, units))
        place = f"Place marked: {place_text(case, units)}."
        blocks.append(Words(f"{place} {why_below(case, told, units)}"))
        blocks.append(Words(learnt_words(found.next, units)))
        blocks += [Words(words, "- ") for words in _differing(found)]
    file = case.file or "CASE"
    blocks += [
        Words(
            "Next: --full shows shop, joints and the lines for the case file; with them "
            f"in it, interpass card {file}."
        ),
        Words(f"Verdict: {verdict_of_shop(found, units)}"),
    ]
    return "\n".join(lines_of(blocks, width)) + "\n"


def text(
    case: Case, found: ShopFit, units: UnitSystem = SI, *, width: int = WIDTH
) -> str:
    """Report of a shop, statistics and all; ends with the verdict and a newline.

    Parameters
    ----------
    case : Case
        The kind of joint, as planned.
    found : ShopFit
        What its joints said.
    units : UnitSystem
        The units to speak in.
    width : int
        Characters of a line.
    """
    parts: list[Sequence[Block]] = [
        _opening(case, found),
        *([one] for one in _reading_tables(case, found, units)),
        _flags(found, units),
    ]
    taught = used(found.next) > 0
    if taught:
        parts += [
            [shop_table(found, units), *(Words(one, "- ") for one in _differing(found))],
            list(_thermometer_table(found, units)),
            [joint_table(found, units)],
            [split_table(found)],
            [replace(number_table(found.next, units), title=NEXT)],
            [Words(f"How it was fitted: {found.next.agreement}.")],
        ]
        if not found.next.hot:
            parts.append([wait_table(found.next.before, found.next.after)])
    written = ["\n".join(lines_of(part, width)) for part in parts if part]
    if taught:
        written.append(block_text(found.next, width))
    words = f"Verdict: {verdict_of_shop(found, units)}"
    return "\n\n".join([*written, "\n".join(paragraph(words, width=width))]) + "\n"


NEXT = "Numbers of the next joint"


def verdict_of_shop(found: ShopFit, units: UnitSystem = SI) -> str:
    """Verdict: the wait of the next joint of this kind, or why there is none."""
    hot = found.next.hot
    if hot:
        many = f"{len(hot)} readings were" if len(hot) > 1 else "A reading was"
        return (
            f"NO GO-AHEAD. {many} hotter than this joint can be by the model: find out "
            "why before a wait of this shop is believed."
        )
    return f"next joint of this kind: {fit_verdict_text(found.next, units)}"


def _opening(case: Case, found: ShopFit) -> list[Block]:
    """Title, joints, and how many readings were used."""
    count, kept = len(found.next.readings), used(found.next)
    told = f"{len(found.joints)} joints, {count} readings"
    if kept < count:
        told += f", {kept or 'none'} of them used: see the flags"
    planned = [
        joint.file
        for joint in found.joints
        if not joint.is_logged and any(r.after_pass > 1 for r in joint.readings)
    ]
    blocks: list[Block] = [
        Words(f"{case.title}: fitted to joints of one shop"),
        Words(f"{told}."),
    ]
    given = [words_of(doubt.key) for doubt in case.doubt]
    if given:
        blocks.append(
            Words(
                f"The case gives bands of its own for {', '.join(given)}: where they come "
                "from a fit of these joints, take them out first, or the joints count twice."
            )
        )
    if planned:
        blocks.append(
            Words(
                f"{', '.join(planned)}: readings without a log are compared with a joint "
                "that waited as planned; give its log where it waited otherwise."
            )
        )
    return blocks


def _flags(found: ShopFit, units: UnitSystem) -> list[Block]:
    """Say which readings are left out, and which are too hot, file by file."""
    blocks: list[Block] = []
    for joint in found.joints:
        own = _of(found, joint)
        words = [
            *flag_words(own.readings),
            *hot_words_of(own, units),
        ]
        blocks += [replace(one, text=f"{joint.file}: {one.text}") for one in words]
    return blocks


def _of(found: ShopFit, joint: ReadJoint) -> Fit:
    """Return the fit with the readings of one joint alone."""
    first = 0
    for one in found.joints:
        last = first + len(one.readings)
        if one is joint:
            return replace(found.next, readings=found.next.readings[first:last])
        first = last
    return found.next


def _reading_tables(case: Case, found: ShopFit, units: UnitSystem) -> Iterator[Table]:
    """Set out the readings of every joint beside what was expected."""
    for n, joint in enumerate(found.joints):
        table = reading_table(case, _of(found, joint).readings, units)
        notes = table.notes if n == len(found.joints) - 1 else ()
        title = f"Readings of joint {n + 1}, {joint.file}"
        yield replace(table, title=title, notes=notes)


def shop_table(found: ShopFit, units: UnitSystem) -> Table:
    """Set out what the shop has in common, before and after."""
    rows = tuple(
        (
            one.words + _unit(one, units),
            f"{100 * one.share:.0f}",
            *shown_band(one.key, one.before, units),
            *shown_band(one.key, one.after, units),
            f"{100 * max(one.learnt, 0.0):.0f}",
        )
        for one in found.numbers
        if one.share
    )
    heads = ("number", "common, %", *("best", "9 in 10") * 2, "learnt, %")
    note = (
        "Common: share of the doubt (of its variance) that all joints of the shop may have "
        "alike, by the table; the rest is of each joint. Learnt: share of the common part's "
        "doubt that the readings took away."
    )
    groups = (("before", 2, 3), ("after", 4, 5))
    return Table("Numbers of the shop", heads, rows, (note,), (0,), groups)


def _unit(one: ShopNumber, units: UnitSystem) -> str:
    unit = units.unit(kind_of(one.key))
    return f", {unit}" if unit else ""


def _differing(found: ShopFit) -> Iterator[str]:
    """Say of which numbers the joints differ more than the table has it."""
    for one in found.numbers:
        if one.share and one.differs >= DIFFERS:
            yield (
                f"{one.words}: the joints differ by more than one shop should "
                f"({100 * one.differs:.0f} % likely that it has nothing in common there), "
                "so less of it is carried over"
            )


def _thermometer_table(found: ShopFit, units: UnitSystem) -> Iterator[Table]:
    """Set out what each instrument reads too high."""

    def shown(band: Band) -> tuple[str, str]:
        low, best, high = (
            f"{units.value('temperature difference', T):+.1f}"
            for T in (band.low, band.best, band.high)
        )
        return best, f"{low} to {high}"

    rows = tuple(
        (one.instrument or "not named", shown(one.before)[1], *shown(one.after))
        for one in found.thermometers
    )
    unit = units.unit("temperature difference")
    note = "A number of the shop too, but none of the joint: the case file has no place for it."
    heads = ("instrument", "before, 9 in 10", "best", "9 in 10")
    groups = ((f"reads too high, {unit}", 1, 3),)
    if rows:
        yield Table("Thermometers", heads, rows, (note,), (0,), groups)


def joint_table(found: ShopFit, units: UnitSystem) -> Table:
    """Set out what every joint had, number by number, where something was learnt."""
    rows = []
    for one in found.numbers:
        if max(one.learnt, _learnt_of_next(found, one.key)) < LEAST_LEARNT:
            continue
        for n, band in enumerate(one.joints, start=1):
            cells = shown_band(one.key, band, units) if band else (NOTHING, NOTHING)
            rows.append((one.words + _unit(one, units) if n == 1 else "", f"{n}", *cells))
    files = ", ".join(f"{n} {j.file}" for n, j in enumerate(found.joints, start=1))
    heads = ("number", "joint", "best", "9 in 10")
    return Table(
        "Numbers of each joint", heads, tuple(rows), (f"Joints: {files}.",), (0,)
    )


def _learnt_of_next(found: ShopFit, key: str) -> float:
    return next((n.learnt for n in found.next.numbers if n.key == key), 0.0)


def split_table(found: ShopFit) -> Table:
    """Set out how the doubt is split, and who says so."""
    rows = tuple(
        (one.words, f"{100 * one.share:.0f}", one.source, one.standing)
        for one in found.numbers
    )
    heads = ("number", "common, %", "because", "standing")
    note = (
        "The split is in doubt too: half of every share, none, and each number in turn as one "
        "that has nothing in common count as much as the readings speak for them. "
        "All rows: interpass tables shop."
    )
    return Table("What is common, and who says so", heads, rows, (note,), (0, 2, 3))
