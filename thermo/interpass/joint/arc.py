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
.. [4] IEC 60974-1, conventional load voltage; from memory.
"""

from collections.abc import Sequence
from math import ceil, erf, pi, sqrt
from typing import NamedTuple

import numpy as np

from ..text.arrays import Array
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


def net_power(current: float, voltage: float, arc_efficiency: float) -> float:
    """Power that enters the metal [W]; the efficiency is practice's "default", not k."""
    return arc_efficiency * current * voltage


def conventional_load_voltage(current: float) -> float:
    """Voltage at which TIG power sources are rated [V]; real arcs are shorter [4]_.

    10 + 0.04 I up to 600 A, 34 V above.

    Examples
    --------
    >>> conventional_load_voltage(80.0)
    13.2
    """
    return min(10 + 0.04 * current, 34.0)


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


def gaussian_share(start: float, end: float, sigma: float) -> float:
    """Share of a Gaussian centred at 0 that lies between two places."""
    width = sigma * sqrt(2)
    return (erf(end / width) - erf(start / width)) / 2


def gaussian_ring_weights(arc_angle: float, n_theta: int, sigma_angle: float) -> Array:
    """Share of the arc's power in each cell of the ring.

    Parameters
    ----------
    arc_angle : float
        Where the arc is, any number of turns [rad].
    n_theta : int
        Cells round the ring; cell m spans m to m + 1 times 2 pi / n_theta.
    sigma_angle : float
        Standard deviation of the arc along its path, seen from the axis; 0 puts all
        of it in one cell [rad].

    Returns
    -------
    (n_theta,) array
        Integrated exactly over each cell and wrapped round the ring; the sum is 1 to
        round-off.

    Examples
    --------
    >>> gaussian_ring_weights(0.0, 4, 0.5).round(4)
    array([0.4992, 0.0008, 0.0008, 0.4992])
    """
    arc_angle %= 2 * pi
    if sigma_angle <= 0:
        weights = np.zeros(n_theta)
        weights[int(arc_angle / (2 * pi) * n_theta) % n_theta] = 1.0
        return weights
    # Wrapping a Gaussian this wide leaves a ripple of exp(-sigma²/2) < 1e-17.
    if sigma_angle > 9:
        return np.full(n_theta, 1 / n_theta)
    turns = ceil(9 * sigma_angle / (2 * pi)) + 1  # beyond 9 sigma lies less than 1e-18
    edges = np.arange(-turns * n_theta, turns * n_theta + 1) * (2 * pi / n_theta)
    scaled = (edges - arc_angle) / (sigma_angle * sqrt(2))
    below = np.array([erf(x) for x in scaled]) / 2
    return np.diff(below).reshape(-1, n_theta).sum(axis=0)


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


def quarters(
    order: Sequence[int] = (0, 2, 1, 3), start: float = 0.0, pause: float = 0.0
) -> tuple[Segment, ...]:
    """Four quarters in a given order, opposite ones first by default.

    Parameters
    ----------
    order : sequence of int
        Each of 0 to 3 once; quarter q runs from ``start`` + q pi/2, counter-clockwise.
    start : float
        Where quarter 0 begins [rad].
    pause : float
        Before each quarter but the first [s].

    Raises
    ------
    ValueError
        When a quarter is missing or welded twice.
    """
    if sorted(order) != [0, 1, 2, 3]:
        problem = f"quarters welded in order {tuple(order)}; name each of 0 to 3 once"
        raise ValueError(problem)
    corner = [start + q * pi / 2 for q in order]
    waits = [0.0, pause, pause, pause]
    return tuple(
        Segment(angle, angle + pi / 2, wait)
        for angle, wait in zip(corner, waits, strict=True)
    )
