"""What stands on a shop card: settings, waits, place, limit and cautions, as data.

Gathered once, so that the sheet for the booth and the page for the phone say the same.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import degrees

from ..doubt.bands import Band, Bands
from ..doubt.families import Family
from ..heat.history import History, PassResult, planned_time
from ..joint.beads import fillets
from ..joint.case import Case, Pass
from ..joint.places import measuring_place
from ..report import joint
from ..report.cautions import short_cautions
from ..report.strike import (
    GIVEN,
    SAFE,
    Strike,
    least_text,
    limit_text,
    reading_text,
    strike_line,
    strikes,
    when_words,
    why_below,
)
from ..report.verdicts import verdict_text
from ..rules.judge import checks
from ..rules.limits import GIVEN as GIVEN_LIMIT
from ..rules.limits import verdict
from ..text.kinds import UnitSystem
from ..text.layout import WIDTH, Words, lines_of
from ..text.times import clock

SETTING_HEADS = ("pass", "amps", "volts", "travel", "once round", "wire")


@dataclass(frozen=True)
class CardWait:
    """One wait as the shop times it, and what is read at its end."""

    strike: Strike  # the wait, what kind of wait it is, and the reading that decides
    reading: float  # K, to expect at the measuring place at the end of the typical wait
    reading_band: Band | None  # K
    family: Family | None  # cooling curves a reading picks from
    warms_until: float  # s after arc off: before, the place marked may still warm up

    @property
    def number(self) -> int:
        """Number of the pass it comes before."""
        return self.strike.number


@dataclass(frozen=True)
class Card:
    """Everything a card says; SI."""

    case: Case
    history: History
    first: Strike | None  # of pass 1: its preheat; None when no pass was run
    waits: tuple[CardWait, ...]  # of the passes the run reached
    total: float  # s, first arc on to last arc off, with the typical waits of the shop
    verdict: str  # "pass" or "fail"
    bands: Bands | None

    @property
    def strikes(self) -> tuple[Strike, ...]:
        """What to do before every pass, pass 1 too."""
        first = (self.first,) if self.first else ()
        return first + tuple(wait.strike for wait in self.waits)


def card_of(case: Case, history: History, bands: Bands | None = None) -> Card:
    """Gather the card of a run, with its doubt where that was computed.

    Parameters
    ----------
    case : Case
        What was asked.
    history : History
        What the run left behind; may have stopped before the last pass.
    bands : Bands, optional
        Doubt about the same plan; without it there is no safe wait and no family.
    """
    found = strikes(case, history, bands)
    waits = tuple(
        _wait(strike, done, history, bands)
        for strike, done in zip(found[1:], history.passes[1:], strict=True)
    )
    outcome = verdict(checks(case, history), history)
    first = found[0] if found else None
    return Card(case, history, first, waits, planned_time(history), outcome, bands)


def _wait(
    strike: Strike, done: PassResult, history: History, bands: Bands | None
) -> CardWait:
    doubt = {row.number: row for row in bands.passes} if bands else {}
    families = {row.number: row for row in bands.families} if bands else {}
    family = families.get(strike.number) if strike.kind != GIVEN else None
    band = doubt.get(strike.number)
    return CardWait(
        strike=strike,
        reading=done.expect_reading,
        reading_band=band.reading if band else None,
        family=family,
        warms_until=_warms_until(done, history, family),
    )


def _warms_until(done: PassResult, history: History, family: Family | None) -> float:
    """Time after arc off from which the measuring place of every joint cools [s].

    The heat of the weld takes a while to get there: a reading before that may be low
    while the weld is hot.
    """
    off = done.arc_on - done.wait
    waiting = (history.time >= off) & (history.time <= done.arc_on)
    trace = history.traces[-1].temperature[waiting]
    latest = float(history.time[waiting][trace.argmax()]) - off if trace.size else 0.0
    if family is not None:
        latest = max(latest, float(family.time[family.reading.argmax(axis=1)].max()))
    return latest


def setting_heads(units: UnitSystem) -> tuple[str, ...]:
    """Heads of the settings table, units in the second line."""
    under = ("", "A", "V", units.unit("speed"), "min:s", "")
    heads = zip(SETTING_HEADS, under, strict=True)
    return tuple(f"{head}\n{unit}" for head, unit in heads)


def setting_rows(card: Card, units: UnitSystem) -> list[tuple[str, ...]]:
    """Return the settings of every pass: number, amps, volts, travel, time once round, wire."""
    return [_settings(card.case, p, units) for p in card.case.passes]


def _settings(case: Case, p: Pass, units: UnitSystem) -> tuple[str, ...]:
    known = p.has_current
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


def limit_words(card: Card, units: UnitSystem) -> str:
    """Say what the procedure's limit is, who says so, and what must hold besides."""
    limits = card.case.limits
    most = limit_text(card.case, units)
    least = least_text(limits.preheat_min, units)
    also = f"at least {least} before pass 1"
    if limits.interpass_min is not None:
        also += f", {least_text(limits.interpass_min, units)} before the others"
    return (
        f"Interpass limit {most} ({limits.interpass_max_source or GIVEN_LIMIT}); {also}."
    )


def why_words(card: Card, units: UnitSystem) -> str:
    """Say in one sentence why the readings to strike by are below the limit."""
    return why_below(card.case, list(card.strikes), units)


def measure_words(card: Card, units: UnitSystem, *, marked: bool = False) -> str:
    """Say where the pyrometer goes; ``marked`` when a drawing beside it shows it."""
    place, measure = measuring_place(card.case), card.case.measure
    finest = 0 if units.length_unit == "mm" else 2
    turn = round(degrees(measure.angle) % 360)
    where = "where pass 1 starts" if turn == 0 else f"{turn} deg from the start of pass 1"
    shown = "at the triangle:" if marked else "on the"
    return (
        f"Measure {shown} {measure.on}, {units.length(place.from_toe, finest)} from "
        f"the toe, {where}. {when_words(card.case, card.bands)}"
    ).strip()


def held_words(card: Card, units: UnitSystem) -> str:
    """Say what the waits take for granted about holding, fan and bore."""
    around = card.case.surroundings
    fan = ""
    if around.fan > 0:
        when = " during the waits" if around.fan_during == "waits" else ""
        fan = f", a fan across the joint{when}"
    air = units.temperature(around.air)
    held = joint.hold_words(card.case, units)
    return f"Assumed: air {air}, {around.bore} in the bore, {held}{fan}."


def verdict_words(card: Card, units: UnitSystem) -> str:
    """Return the verdict as a sentence."""
    found = checks(card.case, card.history)
    return verdict_text(found, card.history, units, card.bands)


def basis_words(card: Card) -> str:
    """Say what the numbers rest on."""
    if card.bands is not None:
        words = "The safe wait holds the limit for 9 in 10 plausible joints, the typical "
        words += "one only for every second"
    else:
        words = "Typical waits; the doubt about them was not computed, so every second "
        words += "joint needs longer"
    if card.history.model != "ring":
        words += ". Arc averaged round the ring: waits under a minute come out too short"
    return f"{words}. Computed, not measured on this joint: the reading decides."


def caution_words(card: Card, units: UnitSystem) -> list[str]:
    """Return the cautions, short."""
    return short_cautions(card.case, card.history, units)


def note_words(card: Card, units: UnitSystem) -> list[str]:
    """Lines for each pass: what the welder sets and the heat does not need."""
    return [line for p in card.case.passes if (line := _notes(p, units))]


def _notes(p: Pass, units: UnitSystem) -> str:
    told = ", ".join(joint.settings_words(p, units))
    return f"Pass {p.number}: {told}." if told else ""


def summary(card: Card, units: UnitSystem, width: int = WIDTH) -> str:
    """Return what to do before each pass in lines for the terminal, the verdict last."""
    told = [Words(_line(wait, units), rest="  ") for wait in card.waits]
    told.append(Words(f"Verdict: {verdict_words(card, units)}"))
    return "\n".join(lines_of(told, width)) + "\n"


def _line(wait: CardWait, units: UnitSystem) -> str:
    """Say the line to strike by, and the typical wait where it is not the one told."""
    typical = ""
    if wait.strike.kind == SAFE and wait.strike.typical is not None:
        typical = f" (typical wait {clock(wait.strike.typical)})"
    return f"Before pass {wait.number}: {strike_line(wait.strike, units)}{typical}"


def strike_words(strike: Strike, units: UnitSystem) -> tuple[str, str]:
    """Return the reading to strike by in large words, and what is behind it."""
    number, unit, *rest = reading_text(strike, units).split(" ")
    return f"{number} {unit}", " ".join(rest)
