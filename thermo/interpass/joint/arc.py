"""The arc: its energy, its travel, its metal, and where it is.

Two figures with the same volts and amps must not be mixed up. *Heat input* is the code's
number, with the code's factor k; *net power* is physics, with a measured efficiency.
Both numbers are in ``data/efficiency.csv``, read by ``practice``.

References
----------
.. [1] ISO/TR 18491, arc energy; from memory.
.. [2] EN 1011-1, clause 19 and table 1, heat input with a factor by process (values from
       a published restatement; clause from memory).
.. [3] ASME IX QW-409.1(a), heat input without a factor (published restatement).
"""

from math import pi
from typing import NamedTuple

from ..trade.practice import efficiency
from .case import Pass, Segment

VOLTAGE = 11.0
"""Volts of a short argon arc on small pipe (10 to 13): common practice. A published
table of root passes on 38 to 60 mm pipe has 11 to 13 V."""


def arc_energy(current: float, voltage: float, travel: float) -> float:
    """U I / v, energy of the arc per length of weld [J/m] [1]_.

    Equal to the heat input of ASME IX, which has no factor [3]_.

    Parameters
    ----------
    current, voltage : float
        At the arc [A], [V].
    travel : float
        Welding speed [m/s].

    Examples
    --------
    100 A, 12 V at 60 mm/min is 1.200 kJ/mm:

    >>> round(arc_energy(100, 12, 0.060 / 60) * 1e-6, 3)
    1.2
    """
    return current * voltage / travel


def heat_input(
    current: float, voltage: float, travel: float, process: str = "GTAW"
) -> float:
    """Heat input k U I / v by EN 1011-1, k by process [J/m] [2]_.

    Raises
    ------
    CatalogueError
        For a process without a factor k.

    Examples
    --------
    >>> round(heat_input(100, 12, 0.060 / 60) * 1e-6, 3)
    0.72
    """
    k = efficiency(process, "standard k").value
    return k * arc_energy(current, voltage, travel)


def energy_of_pass(p: Pass) -> float:
    """U I / v of a pass [J/m]; nan where only the net power is known."""
    return arc_energy(p.current, p.voltage, p.travel)


def heat_input_of_pass(p: Pass, process: str) -> float:
    """K U I / v of a pass with the standard's k [J/m]; nan where only the net power is."""
    return heat_input(p.current, p.voltage, p.travel, process)


def net_power(current: float, voltage: float, arc_efficiency: float) -> float:
    """Power that enters the metal [W]; the efficiency is practice's "default", not k."""
    return arc_efficiency * current * voltage


def travel_from_turn(turn: float, diameter: float) -> float:
    """Travel along the toe circle of a pipe turned at ``turn`` rad/s [m/s]."""
    return turn * diameter / 2


def travel_from_arc_time(arc_time: float, diameter: float) -> float:
    """Travel that closes the ring in ``arc_time`` s, tie-in not counted [m/s].

    Examples
    --------
    26.7 mm pipe in 75 s:

    >>> round(travel_from_arc_time(75.0, 26.7e-3) * 60e3, 1)
    67.1
    """
    return pi * diameter / arc_time


def arc_time_from_travel(travel: float, diameter: float) -> float:
    """Time to close the ring, tie-in and pauses not counted [s]."""
    return pi * diameter / travel


def deposit_area(wire_diameter: float, feed: float, travel: float) -> float:
    """Section of metal laid down: wire section x feed / travel, nothing lost [m²].

    Examples
    --------
    1.6 mm wire at 450 mm/min, travel 60 mm/min:

    >>> round(deposit_area(1.6e-3, 0.45 / 60, 0.06 / 60) * 1e6, 2)
    15.08
    """
    return pi / 4 * wire_diameter**2 * feed / travel


class Stretch(NamedTuple):
    """One uninterrupted burn: times since the pass began [s], angles [rad]."""

    arc_on: float
    arc_off: float
    start_angle: float
    end_angle: float


class ArcPosition(NamedTuple):
    """Where the arc is [rad], and whether it burns."""

    angle: float
    on: bool


def _path(pass_: Pass) -> tuple[Segment, ...]:
    """Segments as welded, the tie-in added to the last."""
    whole = Segment(pass_.start_angle, pass_.start_angle + pass_.direction * 2 * pi)
    *first, last = pass_.segments or (whole,)
    way = 1 if last.end_angle >= last.start_angle else -1
    tied = Segment(last.start_angle, last.end_angle + way * pass_.overlap, last.pause)
    return (*first, tied)


def stretches(pass_: Pass) -> tuple[Stretch, ...]:
    """Burns of one pass, in the order welded.

    Segments are welded one after another, each after its own pause, from its start
    angle to its end angle (so each has its own direction); without segments the pass
    goes once round from ``start_angle`` in ``direction``. ``overlap`` lengthens the
    last. The arc moves at 2 pi / ``arc_time`` wherever it burns.
    """
    clock, burns = 0.0, []
    for segment in _path(pass_):
        angle = abs(segment.end_angle - segment.start_angle)
        arc_on = clock + segment.pause
        clock = arc_on + angle / (2 * pi) * pass_.arc_time
        burns.append(Stretch(arc_on, clock, segment.start_angle, segment.end_angle))
    return tuple(burns)


def pass_duration(pass_: Pass) -> float:
    """From the beginning of a pass to its last arc off, pauses counted [s]."""
    return stretches(pass_)[-1].arc_off


def burning_time(pass_: Pass) -> float:
    """Time the arc burns in a pass, tie-in counted and pauses not [s]."""
    return sum(burn.arc_off - burn.arc_on for burn in stretches(pass_))


def arc_position(pass_: Pass, time: float) -> ArcPosition:
    """Where the arc is, ``time`` s after the pass began.

    Off, it rests where it next begins (before the first burn) or last stopped. A burn
    includes its first moment and not its last.
    """
    burns = stretches(pass_)
    angle = burns[0].start_angle
    for burn in burns:
        if time < burn.arc_on:
            return ArcPosition(angle, on=False)
        if time < burn.arc_off:
            done = (time - burn.arc_on) / (burn.arc_off - burn.arc_on)
            turned = done * (burn.end_angle - burn.start_angle)
            return ArcPosition(burn.start_angle + turned, on=True)
        angle = burn.end_angle
    return ArcPosition(angle, on=False)


def two_halves(bottom: float = 0.0, pause: float = 0.0) -> tuple[Segment, Segment]:
    """Two halves of a fixed joint, each welded upward from the bottom.

    Parameters
    ----------
    bottom : float
        Angle of the lowest point of the ring [rad].
    pause : float
        To move over before the second half [s].
    """
    return Segment(bottom, bottom + pi), Segment(bottom, bottom - pi, pause)
