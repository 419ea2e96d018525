"""Tables of passes, waits and their doubt, each made once for terminal and page."""

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from ..heat.body import ZONE
from ..heat.history import (
    History,
    JointTemperature,
    PassResult,
    planned_time,
    total_time,
)
from ..joint.case import Case
from ..rules.limits import FAIL, PASS, interpass_of, margin
from ..text.kinds import UnitSystem
from ..text.layout import NOTHING, Table
from ..text.times import clock, spelled
from .strike import (
    SAFE,
    Strike,
    band_of,
    place_text,
    reading_text,
    strikes,
    wait_text,
)

if TYPE_CHECKING:
    from ..doubt.bands import Band, Bands, DoubtShare

ENDS = ("hottest", "mean")
SPOTS = {"start_point": "start"}  # names of places that have a shorter one


def first_table(found: Sequence[Strike], units: UnitSystem) -> Table:
    """One line per pass: wait, then strike only if the place marked reads that."""
    is_safe = any(strike.kind == SAFE for strike in found)
    heads = [
        "pass",
        "safe wait, min:s" if is_safe else "wait, min:s",
        "then strike only if the place marked reads",
        "arc on for, min:s",
    ]
    rows = [
        [str(s.number), wait_text(s), reading_text(s, units), clock(s.arc_time)]
        for s in found
    ]
    if is_safe:
        heads.insert(3, "typical wait, min:s")
        for row, strike in zip(rows, found, strict=True):
            row.insert(3, _typical(strike))
    return Table("", tuple(heads), tuple(map(tuple, rows)), left=(2,))


def _typical(strike: Strike) -> str:
    return NOTHING if strike.typical is None else clock(strike.typical)


def waits_table(
    case: Case, history: History, units: UnitSystem, bands: "Bands | None" = None
) -> Table:
    """Set out the waits before each pass after the first, and what to read before it."""
    unit = units.temperature_unit
    heads = ["before pass", "safe wait, min:s" if bands else "wait, min:s",
             "strike if it reads", "typical wait, min:s", "typical, computed, s",
             f"read then, {unit}"]  # fmt: skip
    if bands:
        heads += ["wait, s", f"hottest, {unit}", f"read, {unit}"]
    rows = [
        _wait_row(strike, done, bands, units)
        for strike, done in zip(
            strikes(case, history, bands)[1:], history.passes[1:], strict=True
        )
    ]
    groups = (("9 in 10 joints, typical wait", 6, 8),) if bands else ()
    notes = tuple(_wait_notes(case, history, units, bands))
    return Table("Waits", tuple(heads), tuple(rows), notes, (2,), groups)


def _wait_row(
    strike: Strike, done: PassResult, bands: "Bands | None", units: UnitSystem
) -> tuple[str, ...]:
    cells = [
        str(strike.number),
        wait_text(strike),
        reading_text(strike, units),
        _typical(strike),
        f"{done.wait:.1f}",
        _degrees(done.expect_reading, units),
    ]
    if bands is None:
        return tuple(cells)
    band = band_of(bands, strike.number)
    wait = NOTHING
    if band and band.wait:
        wait = f"{band.wait.low:.0f} to {band.wait.high:.0f}"
    both = (band.hottest, band.reading) if band else ()
    return (*cells, wait, *(span(one, units) for one in both))


def _wait_notes(
    case: Case, history: History, units: UnitSystem, bands: "Bands | None"
) -> Iterator[str]:
    if bands:
        yield "The safe wait holds the limit for 9 in 10 of the plausible joints."
    yield (
        f"The place marked is {place_text(case, units)}; what it reads decides, the waits "
        "tell when."
    )
    if any(done.wait_is_auto for done in history.passes):
        yield "Waits are rounded up to 5 s; what is read then is at the computed wait."
    if bands:
        yield doubt_words(bands.shares)
        yield f"By {bands.how}; one reading narrows them: interpass fit, interpass review."


def span(band: "Band | None", units: UnitSystem) -> str:
    """Return the ends of a band of temperature in the user's unit, without its name."""
    if band is None:
        return NOTHING
    return f"{_degrees(band.low, units)} to {_degrees(band.high, units)}"


def _degrees(T: float, units: UnitSystem) -> str:
    return f"{units.value('temperature', T):.0f}"


def passes_table(case: Case, history: History, units: UnitSystem) -> Table:
    """Set out the times of each pass, and the joint at its arc on and arc off."""
    spots: tuple[str, ...] = ENDS
    if history.model == "ring":
        spots = ("hottest", "start_point", "mean", "coldest")
    unit, last = units.temperature_unit, 3 + len(spots)
    heads = ("pass", "arc on at, s", "arc off at, s", "arc on for, s",
             *(SPOTS.get(spot, spot) for spot in spots), *ENDS,
             f"against limit, {unit}")  # fmt: skip
    groups = (
        (f"at arc on, {unit}", 4, last),
        (f"at arc off, {unit}", last + 1, last + len(ENDS)),
    )
    rows = tuple(_row(case, done, spots, units) for done in history.passes)
    notes = (" ".join(pass_notes(history, units)), _total(case, history))
    return Table("Passes", heads, rows, notes, (len(heads) - 1,), groups)


def _row(
    case: Case, done: PassResult, spots: Iterable[str], units: UnitSystem
) -> tuple[str, ...]:
    times = (done.arc_on, done.arc_off, done.arc_off - done.arc_on)
    return (
        str(done.number),
        *(f"{t:.1f}" for t in times),
        *_at(done.at_arc_on, spots, units),
        *_at(done.at_arc_off, ENDS, units),
        _against_limit(case, done, units),
    )


def _at(
    joint: JointTemperature, spots: Iterable[str], units: UnitSystem
) -> Iterator[str]:
    return (_degrees(getattr(joint, spot), units) for spot in spots)


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


def pass_notes(history: History, units: UnitSystem) -> Iterator[str]:
    """Say what the columns of the table mean."""
    finest = 0 if units.length_unit == "mm" else 1
    yield (
        "At the computed waits. Hottest, mean: deposited metal and parent metal within "
        f"{units.length(ZONE, finest)} of a toe, through the thickness."
    )
    if history.model == "ring":
        yield "Start: where the next arc strikes. Hottest at arc off is the pool."
    else:
        yield (
            "Averaged round the ring: where the arc stopped the real joint is hotter, and "
            "a wait under a minute comes out too short."
        )


def _total(case: Case, history: History) -> str:
    total, planned = total_time(history), planned_time(history)
    rounded = ""
    if planned > total + 0.5:
        rounded = f", {spelled(planned)} with waits rounded up"
    part = "" if len(history.passes) == len(case.passes) else " (passes run so far)"
    return (
        f"Total time{part}, with the typical waits: {spelled(total)} from first arc on to "
        f"last arc off{rounded}."
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


def doubt_words(shares: "tuple[DoubtShare, ...]") -> str:
    """Say in words what the doubt comes from.

    Examples
    --------
    >>> from interpass.doubt.bands import DoubtShare
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


def shares_table(bands: "Bands") -> Table:
    """Which numbers of the case bring in the doubt."""
    rows = tuple((row.words, row.key, f"{100 * row.share:.0f}") for row in bands.shares)
    note = f"By {bands.how}; {bands.samples} samples, seed {bands.seed}."
    heads = ("number in doubt", "key of the case file", "% of the doubt")
    return Table("What the doubt comes from", heads, rows, (note,), (0, 1))
