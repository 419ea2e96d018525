"""Formulas of the handbooks for a weld's heat, beside `rosenthal`'s own numbers.

Adams's peak temperature and cooling rate, cooling times of the thick and the thin
plate, EN 1011-2's t8/5, and how a fillet's heat is shared. All suppose an arc that
outruns its own heat, which a slow arc on a thin wall does not.

References
----------
.. [1] C. M. Adams, "Cooling rates and peak temperatures in fusion welding", Welding
   Journal 37(5), 1958, 210s-215s; equations as restated in print (thin) and from
   memory (thick).
.. [2] EN 1011-2:2001, Annex D: cooling time t8/5 of ferritic steels; equations, constants
   and shape factors from memory: check against the standard before relying on them.
.. [3] D. Rosenthal, Trans. ASME 68, 1946, 849-866: cooling behind a fast arc; equations
   from memory.

What it computes: ``thermo/MODEL.md``, section 7.
"""

import math
from dataclasses import dataclass

from .moving_source import MovingSource, time_between

T_800, T_500 = 1073.15, 773.15  # K, the ends of t8/5
ZERO_CELSIUS = 273.15
ADAMS_THIN = 4.13  # as printed; sqrt(2 pi e) = 4.1327
ADAMS_THICK = 5.44  # as printed; 2 e = 5.4366
THIN_BELOW = 0.75  # relative thickness that divides thin from thick [1]


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


def peak_temperature_adams(source: MovingSource, distance: float) -> float:
    """Peak temperature in a thin wall, melted through in one pass [K] [1].

    Parameters
    ----------
    source : MovingSource
        The arc and its wall.
    distance : float
        From the edge of the melt [m].

    Examples
    --------
    Published example: 20 V x 200 A x 0.9 at 5 mm/s on 5 mm; 1184 degC at 1.5 mm.

    >>> weld = MovingSource(3600.0, 5e-3, 28.0, 28.0 / 4.4e6, 5e-3, 298.15, 1783.15)
    >>> round(peak_temperature_adams(weld, 1.5e-3) - 273.15)
    1184
    """
    per_energy = ADAMS_THIN * source.capacity * source.wall / source.energy
    return source.start + 1 / (
        per_energy * distance + 1 / (source.melting - source.start)
    )


def peak_temperature_adams_thick(source: MovingSource, distance: float) -> float:
    """Peak temperature in a thick wall [K] [1].

    ``distance`` is from the edge of the melt [m]. Good far out only: expanding
    Rosenthal's peak gives the same first term and 1 + (..)² where this has 2 + (..)²,
    and at the edge itself it stays below melting. `rosenthal.peak_temperature` has
    neither fault.
    """
    slow = ADAMS_THICK * math.pi * source.k * source.alpha
    spread = 2 + (source.rate * distance) ** 2
    inverse = slow * spread / (source.power * source.speed)
    return source.start + 1 / (inverse + 1 / (source.melting - source.start))


def haz_width_adams(source: MovingSource, reached: float) -> float:
    """Distance from the melt to where the peak is ``reached``, thin wall [m] [1].

    Examples
    --------
    The same published example: 5.9 mm to 730 degC.

    >>> weld = MovingSource(3600.0, 5e-3, 28.0, 28.0 / 4.4e6, 5e-3, 298.15, 1783.15)
    >>> round(haz_width_adams(weld, 730 + 273.15) * 1e3, 1)
    5.9
    """
    if reached <= source.start:
        return math.inf
    per_energy = ADAMS_THIN * source.capacity * source.wall / source.energy
    apart = 1 / (reached - source.start) - 1 / (source.melting - source.start)
    return apart / per_energy


@dataclass(frozen=True)
class CoolingRate:
    """How fast the seam's centre cools at a temperature."""

    rate: float  # K/s, positive while cooling
    relative_thickness: float
    is_thin: bool


def cooling_rate(source: MovingSource, at: float) -> CoolingRate:
    """Cooling rate on the seam's line as it passes the temperature ``at`` [K/s] [1].

    Thin below a relative thickness ``wall sqrt(rho c (at - start) / energy)`` of 0.75,
    where the plate's two faces make the difference, thick above.
    """
    above = at - source.start
    if above <= 0:
        msg = f"at is {at} K; it must be above the start, {source.start} K"
        raise ValueError(msg)
    per_length = source.wall / source.energy
    relative = math.sqrt(source.wall * per_length * source.capacity * above)
    thick = 2 * math.pi * source.k * above**2 / source.energy
    thin = 2 * math.pi * source.k * source.capacity * per_length**2 * above**3
    is_thin = relative < THIN_BELOW
    return CoolingRate(thin if is_thin else thick, relative, is_thin)


def cooling_time_thick(source: MovingSource, low: float, high: float) -> float:
    """Time from ``high`` to ``low`` on the line of a thick wall's weld [s] [3]."""
    if low <= source.start:
        return math.inf
    apart = 1 / (low - source.start) - 1 / (high - source.start)
    return source.energy / (2 * math.pi * source.k) * apart


def cooling_time_thin(source: MovingSource, low: float, high: float) -> float:
    """Time from ``high`` to ``low`` on the line of a thin wall's weld [s] [3].

    The arc is taken as fast; a slow one leaves more heat ahead and cools sooner.
    """
    if low <= source.start:
        return math.inf
    apart = (low - source.start) ** -2 - (high - source.start) ** -2
    spread = 4 * math.pi * source.k * source.capacity * source.wall**2
    return source.energy**2 / spread * apart


def cooling_time_85(source: MovingSource) -> float:
    """t8/5 on the seam's line in a wall of any thickness, by images [s]."""
    return time_between(source, T_500, T_800)


@dataclass(frozen=True)
class ShapeFactors:
    """EN 1011-2, Table D.1, from memory: a range where the standard gives one."""

    two_way_min: float  # F2
    two_way_max: float
    three_way: float  # F3


SHAPE_FACTORS = {
    "run on plate": ShapeFactors(1.0, 1.0, 1.0),
    "between runs in a butt weld": ShapeFactors(0.9, 0.9, 0.9),
    "fillet on a corner joint": ShapeFactors(0.67, 0.9, 0.67),
    "fillet on a tee joint": ShapeFactors(0.45, 0.67, 0.67),
}


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
    """t8/5 of a ferritic steel by EN 1011-2, Annex D [s] [2].

    Parameters
    ----------
    heat_input : float
        With the standard's efficiency k (0.6 for TIG) [J/m].
    wall : float
        Thickness [m].
    start : float
        Preheat or interpass temperature [K], below 500 degC.
    two_way, three_way : float
        Shape factors F2 and F3, see `SHAPE_FACTORS`.

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
