"""A fast arc on a thick or a thin plate: Rosenthal's thin plate and Adams's formulas.

All but the thin plate itself suppose an arc that outruns its own heat, which a slow arc on
a thin wall does not.

References
----------
.. [1] C. M. Adams, "Cooling rates and peak temperatures in fusion welding", Welding
   Journal 37(5), 1958, 210s-215s; equations as restated in print (thin) and from
   memory (thick).
.. [2] EN 1011-2:2001, Table D.1: shape factors from memory.
.. [3] D. Rosenthal, Trans. ASME 68, 1946, 849-866; equations from memory.
"""

import math
from dataclasses import dataclass

import numpy as np
from interpass.physics.moving_source import MovingSource
from interpass.text.arrays import Array
from numpy.typing import ArrayLike
from scipy.special import k0e

ADAMS_THIN = 4.13  # as printed; sqrt(2 pi e) = 4.1327


ADAMS_THICK = 5.44  # as printed; 2 e = 5.4366


THIN_BELOW = 0.75  # relative thickness that divides thin from thick [1]


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


def temperature_thin(source: MovingSource, xi: ArrayLike, y: ArrayLike = 0.0) -> Array:
    """Temperature in a wall with the same heat all through its thickness [K] [3]."""
    xi, y = np.asarray(xi, dtype=float), np.asarray(y, dtype=float)
    distance = np.hypot(xi, y)
    # k0e is exp(x) K0(x): nothing under- or overflows far from the arc
    line = k0e(source.rate * distance)
    line = line * np.exp(-source.rate * (xi + distance))
    return source.start + source.power / (2 * np.pi * source.k * source.wall) * line
