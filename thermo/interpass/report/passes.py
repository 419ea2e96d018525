"""Tables of passes, waits and their doubt.

The table of passes: waits, temperatures at arc on and off, and the total time.

How far waits and temperatures may be off, as text and as data.
"""

from collections.abc import Iterable, Iterator

from ..doubt.bands import Band, Bands, DoubtShare, PassBand
from ..heat.body import ZONE
from ..heat.history import (
    History,
    JointTemperature,
    PassResult,
    planned_time,
    planned_wait,
    total_time,
)
from ..joint.case import Case
from ..joint.places import measuring_place
from ..rules.limits import FAIL, PASS, interpass_of, margin
from ..text.kinds import UnitSystem
from ..text.layout import NOTHING, columns, paragraph
from ..text.times import clock, shop_time, spelled

ENDS = ("hottest", "mean")


def pass_lines(case: Case, history: History, units: UnitSystem) -> list[str]:
    """Set out waits and temperatures, one row per pass, and what the columns mean."""
    if not history.passes:
        return ["Passes: none was finished."]
    spots = _spots(history)
    first, last = 4, 4 + len(spots)
    unit = units.temperature_unit
    heads = ["pass", "wait\nexact\ns", "wait in\nthe shop\nmin:s", "arc on\nfor\ns"]
    heads += [f"\n{spot.split('_')[0]}" for spot in (*spots, "read", *ENDS)]
    table = columns(
        [*heads, f"against\nlimit, {unit}"],
        [_row(case, done, spots, units) for done in history.passes],
        left=[len(heads)],
        groups=[
            (f"at arc on, {unit}", first, last),
            (f"at arc off, {unit}", last + 1, last + len(ENDS)),
        ],
    )
    notes = " ".join(pass_notes(case, history, units))
    return [*table, *paragraph(notes), *paragraph(_total(case, history))]


def _spots(history: History) -> tuple[str, ...]:
    """Where in the joint the temperature at arc on is shown."""
    if history.model == "ring":
        return ("hottest", "start_point", "mean", "coldest")
    return ENDS


def _row(
    case: Case, done: PassResult, spots: Iterable[str], units: UnitSystem
) -> list[str]:
    return [
        *_times(done),
        *_degrees(done.at_arc_on, spots, units),
        f"{units.value('temperature', done.expect_reading):.0f}",
        *_degrees(done.at_arc_off, ENDS, units),
        _against_limit(case, done, units),
    ]


def _times(done: PassResult) -> list[str]:
    """Pass, wait as computed and as a shop times it, arc on for."""
    exact = f"{done.wait:.1f}" if done.number > 1 else NOTHING
    shop = clock(planned_wait(done)) if done.number > 1 else NOTHING
    return [str(done.number), exact, shop, f"{done.arc_off - done.arc_on:.1f}"]


def _degrees(
    joint: JointTemperature, spots: Iterable[str], units: UnitSystem
) -> list[str]:
    return [f"{units.value('temperature', getattr(joint, s)):.0f}" for s in spots]


def _against_limit(case: Case, done: PassResult, units: UnitSystem) -> str:
    """Verdict of one pass, in a few words."""
    if done.number == 1:
        return NOTHING
    check = interpass_of(done, case)
    inside = margin(check)
    if abs(inside) < 0.5 and check.verdict == PASS:
        return "at limit"
    size = units.value("temperature difference", abs(inside))
    shown = f"{size:.0f}" if size >= 1 else f"{size:.1f}"
    return f"{shown} OVER" if check.verdict == FAIL else f"{shown} under"


def pass_notes(case: Case, history: History, units: UnitSystem) -> Iterator[str]:
    """Say what the columns of the table mean."""
    yield (
        "Hottest, mean: deposited metal and parent metal within "
        f"{_rough(ZONE, units)} of a toe, through the thickness."
    )
    place = measuring_place(case)
    yield (
        f"Read: what to expect on the {case.measure.on}, "
        f"{_rough(place.from_toe, units)} from the toe."
    )
    if any(done.wait_is_auto for done in history.passes):
        yield "Waits of the shop are rounded up to 5 s; temperatures are at the exact wait."
    if history.model == "ring":
        yield "Start: where the next arc strikes. Hottest at arc off is the pool."
    else:
        yield (
            "Averaged round the ring: where the arc stopped the real joint is hotter, and "
            "a wait under a minute comes out too short."
        )


def _rough(length: float, units: UnitSystem) -> str:
    """Length as one sees it on a rule."""
    return units.length(length, 0 if units.length_unit == "mm" else 1)


def _total(case: Case, history: History) -> str:
    total, planned = total_time(history), planned_time(history)
    rounded = ""
    if planned > total + 0.5:
        rounded = f", {spelled(planned)} with the waits of the shop"
    part = "" if len(history.passes) == len(case.passes) else " (passes run so far)"
    return (
        f"Total time{part}: {spelled(total)} from first arc on to last arc off{rounded}."
    )


FRACTIONS = (  # of all doubt: from here on it is called so
    (0.90, "nearly all"),
    (0.71, "three quarters"),
    (0.58, "two thirds"),
    (0.42, "about half"),
    (0.29, "a third"),
    (0.22, "a quarter"),
    (0.15, "a fifth"),
    (0.08, "a tenth"),
)


NAMED = 3  # numbers named


def doubt_lines(bands: Bands, units: UnitSystem) -> list[str]:
    """Set out the waits to allow and the bands, and what makes them so wide."""
    rows = [row for row in bands.passes if row.number > 1]
    if not rows:
        return []
    table = columns(
        ["pass", "best\nmin:s", "allow\nmin:s", "\nbetween, s", "\nhottest", "\nread"],
        [_band_row(row, units) for row in rows],
        groups=[
            ("9 in 10 need", 3, 3),
            (f"9 in 10 show at arc on, {units.temperature_unit}", 4, 5),
        ],
    )
    words = (
        "Allow: a wait that holds the limit for 9 in 10 of the plausible joints. Shown "
        "at arc on: after the best wait. "
    )
    if bands.shares:
        words += f"{doubt_words(bands.shares)} "
    words += f"By {bands.how}; one reading narrows them: interpass fit, interpass review."
    return ["How far this may be off", *table, *paragraph(words)]


def _band_row(row: PassBand, units: UnitSystem) -> list[str]:
    times = [NOTHING] * 3
    if row.wait and row.allow is not None:
        between = f"{row.wait.low:.0f} to {row.wait.high:.0f}"
        times = [clock(shop_time(row.wait.best)), clock(shop_time(row.allow)), between]
    return [
        str(row.number),
        *times,
        *(_span(b, units) for b in (row.hottest, row.reading)),
    ]


def _span(band: Band, units: UnitSystem) -> str:
    low, high = (units.value("temperature", T) for T in (band.low, band.high))
    return f"{low:.0f} to {high:.0f}"


def doubt_words(shares: tuple[DoubtShare, ...]) -> str:
    """Say in words what the doubt comes from.

    Examples
    --------
    >>> doubt_words((DoubtShare("", "arc efficiency", 0.66), DoubtShare("", "film", 0.05)))
    'Two thirds of the doubt is arc efficiency.'
    """
    named = [
        (fraction, row.words)
        for row in shares[:NAMED]
        if (fraction := _fraction(row.share)) is not None
    ]
    if not named:
        return "No one number makes most of the doubt."
    (first, what), *rest = named
    more = "".join(f", {fraction} {words}" for fraction, words in rest)
    return f"{first[0].upper()}{first[1:]} of the doubt is {what}{more}."


def _fraction(share: float) -> str | None:
    return next((words for least, words in FRACTIONS if share >= least), None)
