"""Formulas of the handbooks for a weld's heat, beside `rosenthal`'s own numbers.

EN 1011-2's t8/5 and how a fillet's heat is shared. Both suppose an arc that outruns its
own heat, which a slow arc on a thin wall does not.

References
----------
.. [1] EN 1011-2:2001, Annex D: cooling time t8/5 of ferritic steels; equations, constants
   and shape factors from memory: check against the standard before relying on them.

What it computes: ``thermo/MODEL.md``, section 7.
"""

import math
from dataclasses import dataclass

from ..text.kinds import ZERO_CELSIUS
from .moving_source import MovingSource, time_between

T_800, T_500 = 1073.15, 773.15  # K, the ends of t8/5


def fillet_shares(
    pipe_wall: float, socket_wall: float, pipe_k: float = 1.0, socket_k: float = 1.0
) -> tuple[float, float]:
    """Shares of a fillet's power that stand for a run on the pipe, on the socket.

    Notes
    -----
    Heat leaves a socket fillet three ways: both ways along the pipe and one way down the
    socket, each in proportion to conductivity x wall. A wall with heat on one side only
    is half a plate and gets twice as hot, so the two shares add up to more than 1. Equal
    walls give 2/3 each, the textbook's 3/2 plates for a fillet on a tee, and what the
    factors F3 = 0.67 and F2 = 0.45 = (2/3)² of EN 1011-2, Table D.1 (from memory) say.
    Assumes both roots equally hot and the radial clearance closed by the weld: an
    estimate, common practice. Bead metal is left out.

    Examples
    --------
    >>> [round(share, 3) for share in fillet_shares(4.55e-3, 4.55e-3)]
    [0.667, 0.667]
    """
    both_ways, one_way = 2 * pipe_k * pipe_wall, socket_k * socket_wall
    total = both_ways + one_way
    return both_ways / total, 2 * one_way / total


def cooling_time_85(source: MovingSource) -> float:
    """t8/5 on the seam's line in a wall of any thickness, by images [s]."""
    return time_between(source, T_500, T_800)


@dataclass(frozen=True)
class StandardCoolingTime:
    """t8/5 by the standard [s]; unalloyed and low-alloy ferritic steel only."""

    time: float  # the one that governs
    three_way: float  # heat flows into the depth too
    two_way: float  # heat flows along the wall only
    transition_thickness: float  # m, where the two are equal
    is_thin: bool  # the wall is below it


def cooling_time_85_en1011(
    heat_input: float,
    wall: float,
    start: float,
    two_way: float = 1.0,
    three_way: float = 1.0,
) -> StandardCoolingTime:
    """t8/5 of a ferritic steel by EN 1011-2, Annex D [s] [1].

    Parameters
    ----------
    heat_input : float
        With the standard's efficiency k (0.6 for TIG) [J/m].
    wall : float
        Thickness [m].
    start : float
        Preheat or interpass temperature [K], below 500 degC.
    two_way, three_way : float
        Shape factors F2 and F3 of its Table D.1.

    Raises
    ------
    ValueError
        For a start at 500 degC or above: there is no t8/5 then.

    Examples
    --------
    1 kJ/mm on 10 mm from 100 degC: heat flows along the wall only.

    >>> time = cooling_time_85_en1011(1e6, 10e-3, 373.15)
    >>> round(time.time, 4), round(time.transition_thickness * 1e3, 3)
    (16.2895, 15.659)
    """
    T0, Q, d = start - ZERO_CELSIUS, heat_input / 1e6, wall * 1e3  # degC, kJ/mm, mm
    if T0 >= 500:
        msg = f"start is {T0:.0f} degC; t8/5 needs a start below 500 degC"
        raise ValueError(msg)
    cold, hot = 1 / (500 - T0), 1 / (800 - T0)
    deep = (6700 - 5 * T0) * Q * (cold - hot) * three_way
    flat = (4300 - 4.3 * T0) * 1e5 * (Q / d) ** 2 * (cold**2 - hot**2) * two_way
    transition = d * math.sqrt(flat / deep)  # deep does not depend on d, flat as 1/d²
    return StandardCoolingTime(
        max(deep, flat), deep, flat, transition * 1e-3, d < transition
    )
