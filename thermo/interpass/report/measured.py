"""Report of a logger's file: measured against computed, and what to do about it."""

from collections.abc import Iterator
from math import degrees

import numpy as np

from ..logs.measured import STUCK, THERMOCOUPLE, ChannelCheck, Measured
from ..text.kinds import UnitSystem
from ..text.layout import NOTHING, Block, Table, Words
from ..text.times import clock

LARGE = 2 * THERMOCOUPLE  # K: a bias that one thermocouple does not have by itself
ODD = 3 * THERMOCOUPLE  # K off the other channels
MOSTLY_WITHIN = 0.8  # share of the samples within the band from which it is said to hold
ALIKE = 3.0  # s between lags of one clock
LAG_TOLD = 2.0  # s
LIKELY_MISPLACED = 5.0e-3  # m: a place so far off is a likely mistake of the hand


def measured_blocks(found: Measured, units: UnitSystem) -> list[Block]:
    """Set the channels out, and say what to do about what differs."""
    return [
        measured_table(found, units),
        *(Words(one, "- ") for one in advice(found, units)),
    ]


def measured_table(found: Measured, units: UnitSystem) -> Table:
    """One line per channel: where, how far off while cooling, how late."""
    unit = units.unit("temperature difference")
    rows = tuple(tuple(_row(one, units)) for one in found.channels)
    heads = ("channel", "place", "mean", "rms", "worst", "at, min:s", "late, s",
             "in band, %")  # fmt: skip
    note = (
        "Measured less computed, while no arc burns; at: since the first arc on. Band: 9 in "
        "10 plausible joints as welded, the error of a thermocouple counted."
    )
    groups = ((f"while cooling, {unit}", 2, 5),)
    return Table("Measured against computed", heads, rows, (note,), (0, 1), groups)


def _row(one: ChannelCheck, units: UnitSystem) -> Iterator[str]:
    yield one.channel.name
    yield channel_place(one, units)
    if np.isfinite(one.rms):
        yield _signed(one.bias, units)
        yield _signed(one.rms, units)[1:]
        yield _signed(one.worst, units)
        yield clock(one.worst_at)
    else:
        yield from (NOTHING,) * 4
    yield NOTHING if one.lag is None else f"{one.lag:+.0f}"
    yield f"{100 * one.inside:.0f}" if np.isfinite(one.rms) else NOTHING


def _signed(T: float, units: UnitSystem) -> str:
    return f"{units.value('temperature difference', T):+.0f}"


def channel_place(one: ChannelCheck, units: UnitSystem) -> str:
    """Where a thermocouple sits, in few words."""
    place = one.channel.place
    if place is None or place.from_toe is None:
        return "probe of the case"
    finest = 0 if units.length_unit == "mm" else 2
    angle = f", {degrees(place.angle):.0f} deg" if place.angle else ""
    return f"{place.on}, {units.length(place.from_toe, finest)}{angle}"


def advice(found: Measured, units: UnitSystem) -> Iterator[str]:
    """Say what differs by more than it should, and what to do about it."""
    yield from _dead(found, units)
    moving = [
        one for one in found.channels if one.moved >= STUCK and np.isfinite(one.rms)
    ]
    late = [one.lag for one in moving if one.lag is not None]
    common = float(np.median(late)) if late else 0.0
    if len(late) > len(moving) / 2 and abs(common) >= LAG_TOLD and np.ptp(late) <= ALIKE:
        way = "late" if common > 0 else "early"
        yield (
            f"all channels are {abs(common):.0f} s {way}: set the logger's clock by that of "
            "the log, or correct --began"
        )
    yield from _odd_ones(moving, units)
    middle = float(np.median([one.bias for one in moving])) if moving else 0.0
    if abs(middle) > LARGE:
        way = "hotter" if middle > 0 else "colder"
        yield (
            f"the joint was {way} than computed, by {_signed(abs(middle), units)[1:]} "
            f"{units.unit('temperature difference')}: more or less heat came in or left than "
            "the case says; interpass fit with the same --logger tells which numbers say so"
        )
    held = [one.inside for one in moving]
    if held and min(held) >= MOSTLY_WITHIN:
        yield "measured and computed agree within the doubt that the program states"
    elif held and float(np.mean(held)) < MOSTLY_WITHIN:
        yield (
            f"only {100 * float(np.mean(held)):.0f} % of the samples lie within the band: do "
            "not rely on the waits for this joint before it is found out why"
        )


def _dead(found: Measured, units: UnitSystem) -> Iterator[str]:
    """Name channels that say nothing of the weld."""
    for one in found.channels:
        if not np.isfinite(one.rms):
            yield f"{one.channel.name}: no sample while the joint cools; log on after the arc"
        elif one.moved < STUCK:
            moved = units.value("temperature difference", one.moved)
            unit = units.unit("temperature difference")
            yield (
                f"{one.channel.name} moves by {moved:.1f} {unit} in all: is it on the metal, "
                "and its channel on?"
            )


def _odd_ones(moving: list[ChannelCheck], units: UnitSystem) -> Iterator[str]:
    """Name channels that are off by themselves, and how far their place would be wrong."""
    for one in moving:
        others = [other.bias for other in moving if other is not one]
        if not others or abs(alone := one.bias - float(np.median(others))) < ODD:
            continue
        words = (
            f"{one.channel.name} alone reads {_signed(alone, units)} "
            f"{units.unit('temperature difference')} beside the others"
        )
        if one.slope and abs(shift := alone / one.slope) < LIKELY_MISPLACED:
            far = "farther from" if shift > 0 else "nearer to"
            words += f", as if it sat {units.length(abs(shift), 1)} {far} the toe"
        else:
            words += ", more than a wrong place explains"
        yield f"{words}: measure its place again, and look whether its bead holds"


def measured_verdict(found: Measured, units: UnitSystem) -> str:
    """Say in one sentence how well it agrees."""
    usable = [one for one in found.channels if np.isfinite(one.rms)]
    if not usable:
        return "no thermocouple was logged while the joint cooled."
    unit = units.unit("temperature difference")
    rms = units.value("temperature difference", found.rms)
    worst = max((one.worst for one in usable), key=abs)
    inside = float(np.mean([one.inside for one in usable]))
    return (
        f"{len(usable)} thermocouples while cooling: rms {rms:.0f} {unit}, worst "
        f"{_signed(worst, units)} {unit}, {100 * inside:.0f} % within the band."
    )
