"""One number to strike by: wait, then strike only if the place marked reads X or less.

Every medium says it with these words and this number: terminal, card, phone page, report.
The waits are estimates of when X will be reached; X decides.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor
from typing import TYPE_CHECKING

from ..heat.history import History, PassResult, planned_wait
from ..joint.case import Case
from ..joint.places import measuring_place
from ..text.kinds import UnitSystem
from ..text.layout import NOTHING
from ..text.times import clock, shop_time

if TYPE_CHECKING:
    from ..doubt.bands import Bands, PassBand

SAFE, TYPICAL, GIVEN = "safe", "typical", "given"  # what a wait is

READ_TO = 5.0  # s: moments to read at are told to so much
HARDLY = 10.0  # K above the air: a place no warmer tells nothing of the joint
NEARLY = 1e-3  # of a degree: what is so near the next whole one is that one


@dataclass(frozen=True)
class Strike:
    """What to do before one pass."""

    number: int
    wait: (
        float  # s, as a shop times it: safe where there are bands, else typical; or given
    )
    kind: str  # "safe", "typical" or "given"
    typical: float | None  # s, the best estimate; None where the wait is given
    reading: float  # K at the place marked: at most, for pass 1 at least
    arc_time: float  # s from arc on to arc off


def strikes(case: Case, history: History, bands: "Bands | None" = None) -> list[Strike]:
    """Say what to do before every pass that was run, with its doubt where it is known."""
    return [_strike(case, done, band_of(bands, done.number)) for done in history.passes]


def band_of(bands: "Bands | None", number: int) -> "PassBand | None":
    """Doubt about one pass, where it is known."""
    rows = bands.passes if bands else ()
    return next((row for row in rows if row.number == number), None)


def wait_of(done: PassResult, band: "PassBand | None" = None) -> tuple[float, str]:
    """Return the wait to tell before a pass [s], as a shop times it, and what it is."""
    best = planned_wait(done)
    if done.number == 1 or not done.wait_is_auto:
        return best, GIVEN
    if band is None or band.allow is None:
        return best, TYPICAL
    return max(shop_time(band.allow), best), SAFE


def _strike(case: Case, done: PassResult, band: "PassBand | None") -> Strike:
    wait, kind = wait_of(done, band)
    return Strike(
        number=done.number,
        wait=wait,
        kind=kind,
        typical=None if kind == GIVEN else planned_wait(done),
        reading=strike_at(case, done, band),
        arc_time=done.arc_off - done.arc_on,
    )


def strike_at(case: Case, done: PassResult, band: "PassBand | None" = None) -> float:
    """Highest reading at the place marked at which a pass may be struck [K].

    The lowest one for pass 1, which needs its preheat. Without bands it is the reading
    that the best estimate has when the hottest metal is at the limit.
    """
    limits = case.limits
    if done.number == 1:
        return limits.preheat_min
    if is_of_reading(case):
        return limits.interpass_max
    if band is not None and (known := getattr(band, "strike_at", None)) is not None:
        return float(known)
    above = done.at_arc_on.hottest - done.expect_reading
    return min(limits.interpass_max - above, limits.interpass_max)


def is_of_reading(case: Case) -> bool:
    """Whether the procedure's limit is meant for what is read at the place marked."""
    return getattr(case.limits, "applies_to", "") == "reading"


def most_text(T: float, units: UnitSystem) -> str:
    """Text of a highest temperature [K], in whole degrees and never above it.

    Examples
    --------
    >>> from interpass.text.kinds import SI
    >>> most_text(424.0, SI), least_text(424.0, SI)
    ('150 degC', '151 degC')
    """
    whole = floor(units.value("temperature", T) + NEARLY)
    return f"{whole:.0f} {units.temperature_unit}"


def least_text(T: float, units: UnitSystem) -> str:
    """Text of a lowest temperature [K], in whole degrees and never below it."""
    whole = ceil(units.value("temperature", T) - NEARLY)
    return f"{whole:.0f} {units.temperature_unit}"


def limit_text(case: Case, units: UnitSystem) -> str:
    """Text of the interpass maximum, rounded as every reading to strike by: never up."""
    return most_text(case.limits.interpass_max, units)


def reading_text(strike: Strike, units: UnitSystem) -> str:
    """Return the reading to strike by, in words: "150 degC or less"."""
    if strike.number == 1:
        return f"{least_text(strike.reading, units)} or more"
    return f"{most_text(strike.reading, units)} or less"


def wait_text(strike: Strike) -> str:
    """Return the wait as min:s, and what it is where it is not the safe one."""
    return wait_words(strike.wait, strike.kind) if strike.number > 1 else NOTHING


def wait_words(wait: float, kind: str) -> str:
    """Wait [s] as min:s; what is not the safe wait says so.

    Examples
    --------
    >>> wait_words(440.0, SAFE), wait_words(385.0, TYPICAL)
    ('7:20', '6:25 (typical)')
    """
    return clock(wait) + ("" if kind == SAFE else f" ({kind})")


def strike_line(strike: Strike, units: UnitSystem) -> str:
    """Return the sentence to strike by, the same on every medium; no full stop.

    Examples
    --------
    >>> from interpass.text.kinds import SI
    >>> strike_line(Strike(2, 440.0, SAFE, 385.0, 423.15, 91.5), SI)
    'wait 7:20, then strike only if the place marked reads 150 degC or less'
    """
    reads = f"strike only if the place marked reads {reading_text(strike, units)}"
    if strike.number == 1:
        return reads
    return f"wait {wait_text(strike)}, then {reads}"


def place_text(case: Case, units: UnitSystem) -> str:
    """Where the place marked is: "on the pipe, 5 mm from the toe"."""
    finest = 0 if units.length_unit == "mm" else 2
    away = units.length(measuring_place(case).from_toe, finest)
    return f"on the {case.measure.on}, {away} from the toe"


def moment_text(since: float) -> str:
    """Moment to read at [s since arc off] as min:s, in whole steps of ``READ_TO``.

    Examples
    --------
    >>> moment_text(176.4), moment_text(1.0)
    ('2:55', '0:05')
    """
    return clock(READ_TO * max(round(since / READ_TO), 1))


def when_words(case: Case, bands: "Bands | None") -> str:
    """Say when, and where else, a reading tells most of the waits; "" without bands."""
    rows = [row for row in bands.passes if row.read_after] if bands else []
    if not rows:
        return ""
    moments = ", ".join(
        f"{moment_text(row.read_after or 0.0)}"
        f"{f' (before pass {row.number})' if len(rows) > 1 else ''}"
        for row in rows
    )
    held, place = case.surroundings.holding, ""
    if held is not None and (held.on, case.measure.on) == ("fitting", "pipe"):
        place = ", and more on the fitting, which is held"
    return f"A reading tells most at about {moments} after arc off{place}."


def why_below(case: Case, found: Sequence[Strike], units: UnitSystem) -> str:
    """Say in one sentence why the readings lie below the procedure's limit; "" if not."""
    limit = limit_text(case, units)
    later = [strike for strike in found if strike.number > 1]
    if not later or all(s.reading >= case.limits.interpass_max for s in later):
        return ""
    doubt = ""
    if any(strike.kind == SAFE for strike in later):
        doubt = ", and by how much is in doubt"
    return (
        f"It reads less than the hottest metal, which the limit of {limit} is for{doubt}."
        f"{_cold_words(case, later)}"
    )


def is_told(case: Case, strike: Strike) -> bool:
    """Whether the place marked tells of the joint by then; hardly warmer than air it does not."""
    return strike.number == 1 or strike.reading >= case.surroundings.air + HARDLY


def short_arc_words(number: int, burnt: float, planned: float) -> str:
    """Say of a pass whose arc was on for a part of its time [s] what that may mean.

    Examples
    --------
    >>> short_arc_words(1, 3.0, 92.0)
    'The arc of pass 1 was on for 0:03 of 1:32. If the pass is not done, go on with it: Arc on again'
    """
    return (
        f"The arc of pass {number} was on for {clock(burnt)} of {clock(planned)}. If the "
        "pass is not done, go on with it: Arc on again"
    )


def by_weld_words(case: Case, units: UnitSystem) -> str:
    """Say what to strike by where the place marked tells nothing: the weld itself.

    An interpass temperature is that of the weld and the metal beside it (ISO 13916, 3.2).
    """
    return (
        "The place marked hardly warms and tells nothing of the joint. To strike all the "
        "same: once the weld itself, where the arc went out, reads "
        f"{limit_text(case, units)} or less"
    )


def _cold_words(case: Case, later: Sequence[Strike]) -> str:
    """Say where the place marked is too far off to tell of the joint; "" if it is not."""
    cold = [strike.number for strike in later if not is_told(case, strike)]
    if not cold:
        return ""
    passes = " and ".join(map(str, cold))
    return (
        f" BEFORE PASS {passes} THE PLACE MARKED HARDLY WARMS, and may never read so "
        "little: measure nearer the toe."
    )
