"""What stands on a shop card: settings, waits, place, limit and cautions, as data.

Gathered once, so that the sheet for the booth and the page for the phone say the same.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import degrees, isfinite, pi

from ..doubt.bands import Band, Bands, PassBand
from ..doubt.families import Family
from ..heat.history import History, PassResult, planned_time, planned_wait
from ..joint.beads import fillets
from ..joint.case import Case, Pass
from ..joint.places import measuring_place
from ..report.cautions import short_cautions
from ..report.verdicts import verdict_text
from ..rules.judge import checks
from ..rules.limits import GIVEN, verdict
from ..text.kinds import UnitSystem
from ..text.times import clock, shop_time

FULL_TURN = 2 * pi


SETTING_HEADS = ("pass", "amps", "volts", "travel", "once round", "wire")


@dataclass(frozen=True)
class CardWait:
    """One wait, as the shop times it."""

    number: int  # of the pass it comes before
    is_given: bool  # in the case, instead of planned
    exact: float  # s
    best: float  # s, as a shop times it
    allow: float | None  # s, holds the limit for 9 in 10 plausible joints; None: no bands
    reading: float  # K, to expect at the measuring place at the end of the exact wait
    reading_band: Band | None  # K
    family: Family | None  # cooling curves a reading picks from


@dataclass(frozen=True)
class Card:
    """Everything a card says; SI."""

    case: Case
    history: History
    waits: tuple[CardWait, ...]  # of the passes the run reached
    total: float  # s, first arc on to last arc off, with the waits of the shop
    verdict: str  # "pass" or "fail"
    has_bands: bool


def card_of(case: Case, history: History, bands: Bands | None = None) -> Card:
    """Gather the card of a run, with its doubt where that was computed.

    Parameters
    ----------
    case : Case
        What was asked.
    history : History
        What the run left behind; may have stopped before the last pass.
    bands : Bands, optional
        Doubt about the same plan; without it there is no "allow" and no family.
    """
    doubt = {band.number: band for band in bands.passes} if bands else {}
    families = {family.number: family for family in bands.families} if bands else {}
    waits = tuple(
        _wait(done, doubt.get(done.number), families.get(done.number))
        for done in history.passes[1:]
    )
    outcome = verdict(checks(case, history), history)
    return Card(case, history, waits, planned_time(history), outcome, bands is not None)


def _wait(done: PassResult, band: PassBand | None, family: Family | None) -> CardWait:
    best = planned_wait(done)
    known = band is not None and band.allow is not None and isfinite(band.allow)
    return CardWait(
        number=done.number,
        is_given=not done.wait_is_auto,
        exact=done.wait,
        best=best,
        allow=max(shop_time(band.allow or 0.0), best) if band and known else None,
        reading=done.expect_reading,
        reading_band=band.reading if band else None,
        family=family if done.wait_is_auto else None,
    )


def joint_words(card: Card, units: UnitSystem) -> str:
    """Say what is welded, in one line or two."""
    case, length = card.case, units.length
    pipe, fitting = case.pipe, case.fitting
    size = f"{pipe.size} Sch {pipe.schedule}" if pipe.size else ""
    size = size or f"{length(pipe.outside_diameter)} x {length(pipe.wall)}"
    rating = f" class {fitting.pressure_class}" if fitting.pressure_class else ""
    return (
        f"Pipe {size}, {pipe.material.name}; {fitting.kind}{rating}, "
        f"{fitting.material.name}; filler {case.filler_name}; {case.process}, "
        f"{case.position}"
    )


def setting_heads(units: UnitSystem) -> tuple[str, ...]:
    """Heads of the settings table, units in the second line."""
    under = ("", "A", "V", units.unit("speed"), "min:s", "")
    heads = zip(SETTING_HEADS, under, strict=True)
    return tuple(f"{head}\n{unit}" for head, unit in heads)


def setting_rows(card: Card, units: UnitSystem) -> list[tuple[str, ...]]:
    """Return the settings of every pass: number, amps, volts, travel, time once round, wire."""
    return [_settings(card.case, p, units) for p in card.case.passes]


def _settings(case: Case, p: Pass, units: UnitSystem) -> tuple[str, ...]:
    known = isfinite(p.current)
    amps = f"{p.current:.0f}" if known else f"{p.net_power:.0f} W net"
    return (
        str(p.number),
        amps,
        f"{p.voltage:.1f}" if known else "",
        units.speed(p.travel).split()[0],
        clock(p.arc_time),
        _metal(case, p, units),
    )


def _metal(case: Case, p: Pass, units: UnitSystem) -> str:
    """Say how much metal a pass lays: by wire, or by the leg it is to reach."""
    if p.wire is not None:
        feed, finest = units.speed(p.wire.feed), 1 if units.length_unit == "mm" else 3
        return f"{units.length(p.wire.diameter, finest)} at {feed}"
    if case.metal_in_place:
        return "metal in place"
    before, after = fillets(case)[p.number - 1 : p.number + 1]
    if after.area <= before.area:
        return "none"
    finest = 1 if units.length_unit == "mm" else 2
    return f"fill to leg {units.length(after.leg_pipe, finest)}"


def start_words(card: Card) -> str:
    """Say where passes start and how they go round, where that is not the plain way."""
    return " ".join(_starts(card.case))


def _starts(case: Case) -> Iterator[str]:
    pause = max((s.pause for p in case.passes for s in p.segments[1:]), default=0.0)
    if any(p.segments for p in case.passes):
        rest = f", {pause:.0f} s between them" if pause else ""
        halves = {len(p.segments) for p in case.passes if p.segments}
        parts = "two halves" if halves == {2} else "stretches"
        yield f"Weld in {parts}{rest}."
    for p in case.passes:
        if angle := round(degrees(p.start_angle)) % 360:
            yield f"Pass {p.number} starts {angle} deg from the start of pass 1."
    if any(p.direction < 0 for p in case.passes):
        back = [str(p.number) for p in case.passes if p.direction < 0]
        yield f"Clockwise, seen from the fitting: pass {', '.join(back)}."


def limit_words(card: Card, units: UnitSystem) -> tuple[str, str]:
    """Return the limit in large words, and in small ones who says so and what else."""
    limits = card.case.limits
    large = f"{units.temperature(limits.interpass_max)} or less"
    small = f"hottest point at arc on; {limits.interpass_max_source or GIVEN}"
    least = units.temperature(limits.preheat_min)
    also = f". At least {least} before pass 1"
    if limits.interpass_min is not None:
        also += f", {units.temperature(limits.interpass_min)} before the others"
    return large, f"{small}{also}."


def place_words(card: Card, units: UnitSystem, *, marked: bool = False) -> str:
    """Say where the pyrometer goes; ``marked`` when a drawing beside it shows it."""
    place, measure = measuring_place(card.case), card.case.measure
    finest = 0 if units.length_unit == "mm" else 2
    rule = " (ISO 13916)" if measure.from_toe is None else ""
    turn = round(degrees(measure.angle) % 360)
    where = "where pass 1 starts" if turn == 0 else f"{turn} deg from the start of pass 1"
    shown = "at the triangle:" if marked else "on the"
    return (
        f"Measure {shown} {measure.on}, {units.length(place.from_toe, finest)} from "
        f"the toe{rule}, {where}."
    )


def verdict_words(card: Card, units: UnitSystem) -> str:
    """Return the verdict as a sentence."""
    found = checks(card.case, card.history)
    return verdict_text(found, card.history, units)


def model_words(card: Card) -> str:
    """Say what the numbers rest on."""
    words = "Waits: best as computed, rounded up to 5 s"
    if card.has_bands:
        words += "; allow holds the limit for 9 in 10 plausible joints"
    else:
        words += "; the doubt about them was not computed"
    if card.history.model != "ring":
        words += ". Arc averaged round the ring: waits under a minute come out too short"
    return f"{words}. Computed, not measured on your joint."


def caution_words(card: Card, units: UnitSystem) -> list[str]:
    """Return the cautions, short."""
    return short_cautions(card.case, card.history, units)


def summary(card: Card, units: UnitSystem) -> str:
    """Return the waits in lines for the terminal, the verdict last."""
    lines = [_line(wait, units) for wait in card.waits]
    sentence = verdict_words(card, units)
    return "\n".join([*lines, f"Verdict: {sentence}"]) + "\n"


def _line(wait: CardWait, units: UnitSystem) -> str:
    how = "given" if wait.is_given else "best"
    allow = f", allow {clock(wait.allow)}" if wait.allow is not None else ""
    return (
        f"Before pass {wait.number}: wait {how} {clock(wait.best)}{allow} min:s; expect "
        f"to read {reading_words(wait, units)}"
    )


def reading_words(wait: CardWait, units: UnitSystem) -> str:
    """Say what the pyrometer should show at the end of the wait.

    With doubt, the range of 9 in 10 plausible joints is added.
    """
    if wait.reading_band is None:
        return units.temperature(wait.reading)
    low, high = (
        f"{units.value('temperature', T):.0f}"
        for T in (wait.reading_band.low, wait.reading_band.high)
    )
    return f"{units.temperature(wait.reading)} ({low} to {high})"
