"""Near the arc: a point of heat travelling along a wall, in its steady state.

Pool, peaks, heat-affected zone, bore and times in a temperature range. The grid carries
the heat of the whole joint; its temperature at the moment is where the wall starts from.

The wall is flat (the ring unrolled), infinite to both sides and adiabatic on both
faces; properties are constant, so take them at about half the melting temperature.
``xi`` is the distance ahead of the arc, ``y`` across the path, ``z`` below the face the
arc is on [m]. Latent heat, pool flow and the arc's width are left out: temperatures
inside the pool mean nothing.

References
----------
.. [1] D. Rosenthal, Trans. ASME 68, 1946, 849-866: moving sources of heat in thick and
   thin plates, and between the two by images; equations from memory.

What it computes: ``thermo/MODEL.md``, section 7.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..text.arrays import Array

NEGLIGIBLE = 40.0  # exp(-40): an image this much weaker than its source is left out
LOOKS = 33  # places at once
PLACED = 1e-7  # of the reach: how well the place of a peak is known; the peak far better
FOUND = 1e-10  # of a distance: how well it is known


@dataclass(frozen=True)
class MovingSource:
    """The arc and the wall it runs along."""

    power: float  # W into this wall, see `cooling.fillet_shares`
    speed: float  # m/s
    k: float  # W/m/K
    alpha: float  # m²/s
    wall: float  # m
    start: float  # K, the wall before the arc comes
    melting: float  # K
    turn: float = math.inf  # m once round the ring; inf is a straight seam

    def __post_init__(self) -> None:
        """Refuse values no weld can have."""
        for name in ("power", "speed", "k", "alpha", "wall", "start", "turn"):
            if not getattr(self, name) > 0:
                msg = f"{name} is {getattr(self, name)}; it must be above zero"
                raise ValueError(msg)
        if not self.melting > self.start:
            msg = f"melting {self.melting} K is not above start {self.start} K"
            raise ValueError(msg)

    @property
    def rate(self) -> float:
        """Decay ahead of the arc, speed over twice the diffusivity [1/m]."""
        return self.speed / (2 * self.alpha)

    @property
    def energy(self) -> float:
        """Net energy per length [J/m]."""
        return self.power / self.speed

    @property
    def capacity(self) -> float:
        """Density x specific heat [J/m³/K]."""
        return self.k / self.alpha


def temperature_thick(
    source: MovingSource, xi: ArrayLike, y: ArrayLike = 0.0, z: ArrayLike = 0.0
) -> Array:
    """Temperature in a body without a far face [K] [1].

    Examples
    --------
    1260 W at 2.5 mm/s, k 30 W/m/K, from 20 degC; 10 mm behind the arc, in degC:

    >>> weld = MovingSource(1260.0, 2.5e-3, 30.0, 6e-6, 3e-3, 293.15, 1773.15)
    >>> round(float(temperature_thick(weld, -10e-3)) - 273.15, 2)
    688.45
    """
    xi, y, z = (np.asarray(x, dtype=float) for x in (xi, y, z))
    distance = np.sqrt(xi**2 + y**2 + z**2)
    with np.errstate(divide="ignore"):  # infinite at the source itself
        point = source.power / (2 * np.pi * source.k * distance)
    return source.start + point * np.exp(-source.rate * (xi + distance))


def images_needed(source: MovingSource, distance: float) -> int:
    """Images to either side of the wall that matter this far from the arc.

    The n-th is weaker by ``exp(-rate (sqrt(distance² + (2 n wall)²) - distance))``.
    """
    further = NEGLIGIBLE / source.rate
    across = math.sqrt(further * (2 * distance + further))
    return math.ceil((across + source.wall) / (2 * source.wall))


def temperature(
    source: MovingSource,
    xi: ArrayLike,
    y: ArrayLike = 0.0,
    z: ArrayLike = 0.0,
    images: int | None = None,
) -> Array:
    """Temperature in a wall of any thickness [K] [1].

    Parameters
    ----------
    source : MovingSource
        The arc and its wall.
    xi, y, z : array
        Ahead of the arc, across, below its face [m]; broadcast together, ``z`` from 0
        to the wall.
    images : int, optional
        Images to either side; as many as matter when left out.

    Notes
    -----
    No heat is lost on the way: after a turn or a wait use the grid's temperature as
    ``start``.
    """
    xi, y, z = np.broadcast_arrays(*(np.asarray(x, dtype=float) for x in (xi, y, z)))
    if images is None:
        images = images_needed(source, float(np.max(np.hypot(xi, y))))
    n = np.arange(-images, images + 1)
    depth = z[..., None] - 2 * n * source.wall
    every = temperature_thick(source, xi[..., None], y[..., None], depth)
    return source.start + np.sum(every - source.start, axis=-1)


def _at(source: MovingSource, xi: float, y: float, z: float) -> float:
    return float(temperature(source, xi, y, z))


def _peak(source: MovingSource, y: float, z: float) -> tuple[float, float]:
    """Where behind the arc it is hottest, and how hot.

    A thin wall peaks ``rate y²`` behind, anything thicker sooner. Looked for at LOOKS
    places at once, then between the neighbours of the hottest.
    """
    r = math.hypot(y, z)
    if r == 0:
        return 0.0, math.inf
    reach = min(4 * (r + source.rate * r**2), source.turn)
    low, high = -reach, 0.0
    while True:
        xi = np.linspace(low, high, LOOKS)
        T = temperature(source, xi, y, z)
        n = int(T.argmax())
        low, high = xi[max(n - 1, 0)], xi[min(n + 1, LOOKS - 1)]
        if high - low < PLACED * reach:
            return float(xi[n]), float(T[n])


def _distance(excess: Callable[[float], float], scale: float) -> float:
    """Root of a function that falls from infinity at 0 to below zero far away."""
    outer = scale
    while excess(outer) > 0:
        outer *= 2
    inner = outer / 2
    while excess(inner) <= 0:
        inner /= 2
    return _root(excess, inner, 2 * inner)


def _root(excess: Callable[[float], float], inner: float, outer: float) -> float:
    """Root of a function between two places where its signs differ.

    By straight lines through the last value and one of the other sign, which counts half
    when it is kept (Illinois rule, Dowell & Jarratt 1971; from memory).
    """
    kept, last = (inner, excess(inner)), (outer, excess(outer))
    while True:
        slope = (last[1] - kept[1]) / (last[0] - kept[0])
        place = last[0] - last[1] / slope
        new = (place, excess(place))
        if abs(place - last[0]) <= FOUND * place:
            return place
        kept = last if new[1] * last[1] < 0 else (kept[0], kept[1] / 2)
        last = new


def peak_temperature(source: MovingSource, y: float, z: float = 0.0) -> float:
    """Hottest a point gets as the arc goes by [K]; infinite on the arc's own line."""
    return _peak(source, y, z)[1]


def peak_at_bore(source: MovingSource) -> float:
    """Hottest the far face of the wall gets, under the path [K]."""
    return peak_temperature(source, 0.0, source.wall)


def isotherm_half_width(source: MovingSource, reached: float) -> float:
    """Distance across, on the arc's face, to where the peak is ``reached`` [m]."""
    if reached <= source.start:
        return math.inf
    return _distance(lambda y: peak_temperature(source, y) - reached, 1 / source.rate)


def _past_peak(
    source: MovingSource, level: float, top: float, y: float, z: float
) -> float:
    """Distance behind the peak at ``top`` to where it is ``level`` [m]."""
    return _distance(lambda s: _at(source, top - s, y, z) - level, 1 / source.rate)


def time_between(
    source: MovingSource, low: float, high: float, y: float = 0.0, z: float = 0.0
) -> float:
    """Time to cool from ``high``, or the peak if that is less, to ``low`` [s].

    On the arc's own line unless ``y`` or ``z`` say where. Zero where ``low`` is never
    reached; infinite where the wall starts at ``low`` or above.
    """
    if low <= source.start:
        return math.inf
    top, peak = _peak(source, y, z)
    if peak <= low:
        return 0.0
    begin = _past_peak(source, high, top, y, z) if high < peak else 0.0
    return (_past_peak(source, low, top, y, z) - begin) / source.speed
