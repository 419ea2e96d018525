"""Sources of heat on a long pipe, in closed form: a ring, and an arc that goes round.

The wall is thin: one temperature through the thickness, unrolled at the mean radius.
Properties are constant and heat leaves the outside in proportion to the excess
temperature. Every function returns the rise over the air [K]; z is along the pipe from
the source's plane [m], angle is from where the arc started [rad], t is since then [s].

References
----------
.. [1] H. S. Carslaw, J. C. Jaeger, "Conduction of Heat in Solids", 2nd ed., 1959,
   sections 10.2 to 10.4 (instantaneous and continuous sources, method of images);
   equations from memory.
"""

import math
from dataclasses import dataclass

import numpy as np
import scipy
from interpass.text.arrays import Array
from numpy.typing import ArrayLike

NODES, WEIGHTS = np.polynomial.legendre.leggauss(8)


PANEL = 0.1  # of log time: eight nodes on each give ten digits


NEGLIGIBLE = 1e-10  # loss x time below which the loss is left out, in its round-off


@dataclass(frozen=True)
class LongPipe:
    """A pipe with constant properties and loss from its outside."""

    r_in: float
    r_out: float
    k: float  # W/m/K
    capacity: float  # J/m³/K, density x specific heat
    h: float = 0.0  # W/m²/K at the outside, to air

    @property
    def alpha(self) -> float:
        """Diffusivity [m²/s]."""
        return self.k / self.capacity

    @property
    def heat_capacity(self) -> float:
        """Heat capacity per length [J/m/K]."""
        return math.pi * (self.r_out**2 - self.r_in**2) * self.capacity

    @property
    def loss(self) -> float:
        """Rate at which a uniform excess decays [1/s]."""
        return self.h * 2 * math.pi * self.r_out / self.heat_capacity

    @property
    def radius(self) -> float:
        """Mean radius [m]."""
        return (self.r_in + self.r_out) / 2


def ring_pulse(
    pipe: LongPipe, z: ArrayLike, t: ArrayLike, energy: float, spread: float = 0.0
) -> Array:
    """Rise after an energy [J] was put in round a ring at t = 0 [K] [1].

    ``spread`` is the standard deviation of the source along the pipe [m].

    Examples
    --------
    NPS 1 Sch 80, k 15 W/m/K, 7900 kg/m³, 500 J/kg/K, 15 W/m²/K outside; 20 kJ:

    >>> pipe = LongPipe(12.15e-3, 16.70e-3, k=15.0, capacity=3.95e6, h=15.0)
    >>> ring_pulse(pipe, [0.0, 25e-3], 60.0, energy=20e3).round(3).tolist()
    [216.531, 109.068]
    """
    z, t = np.asarray(z, dtype=float), np.asarray(t, dtype=float)
    variance = 2 * pipe.alpha * t + spread**2
    shape = np.exp(-(z**2) / (2 * variance)) / np.sqrt(2 * np.pi * variance)
    return energy / pipe.heat_capacity * np.exp(-pipe.loss * t) * shape


def _pulses_up_to(pipe: LongPipe, z: Array, age: Array) -> Array:
    """Pulse responses of every age up to ``age``, summed [s/m]: see `ring_source`."""
    erfc, erfcx = scipy.special.erfc, scipy.special.erfcx
    alpha, loss = pipe.alpha, pipe.loss
    z, age = np.broadcast_arrays(np.abs(z), np.maximum(age, 1e-300))
    depth = z / (2 * np.sqrt(alpha * age))
    front = np.exp(-(depth**2))
    lossless = np.sqrt(age / (np.pi * alpha)) * front - z / (2 * alpha) * erfc(depth)
    if loss == 0:
        return lossless
    root = np.sqrt(loss * age)
    near = np.exp(-z * math.sqrt(loss / alpha)) * erfc(depth - root)
    far = np.exp(-loss * age) * front * erfcx(depth + root)  # exp(+) erfc, scaled
    lossy = (near - far) / (4 * math.sqrt(alpha * loss))
    return np.where(loss * age < NEGLIGIBLE, lossless, lossy)


def ring_source(
    pipe: LongPipe, z: ArrayLike, t: ArrayLike, power: float, duration: float = math.inf
) -> Array:
    """Rise while, and after, a power [W] goes in round a ring from t = 0 [K].

    Notes
    -----
    Pulses of age s add up to, with loss b and ``m = sqrt(b / alpha)``::

        F(u) = integral from 0 to u of exp(-z² / 4 alpha s - b s) / sqrt(4 pi alpha s) ds
             = (exp(-m z) erfc(y - g) - exp(m z) erfc(y + g)) / (4 sqrt(alpha b))

    where ``y = z / sqrt(4 alpha u)``, ``g = sqrt(b u)``, z >= 0. To check, differentiate:
    both erfc terms leave the factor ``exp(-y² - g²)``, because ``m z = 2 y g``, and the
    sum of their inner derivatives is the integrand; F(0) = 0. The rise is
    ``power / heat capacity x (F(t) - F(t - duration))``. Steady: half the power runs
    each way down an infinite fin.
    """
    z, t = np.asarray(z, dtype=float), np.asarray(t, dtype=float)
    rise = _pulses_up_to(pipe, z, t)
    if math.isfinite(duration):
        rise = rise - _pulses_up_to(pipe, z, np.maximum(t - duration, 0.0))
    return power / pipe.heat_capacity * rise


def periodic_gaussian(angle: ArrayLike, variance: ArrayLike) -> Array:
    """Gaussian of an angle wrapped round the circle, mean 1 (a theta function).

    Images of the Gaussian converge while it is narrow, its Fourier series once it is
    wide; at the change-over (variance 1) three images or nine waves give round-off.
    """
    angle, variance = np.broadcast_arrays(
        np.asarray(angle, dtype=float), np.asarray(variance, dtype=float)
    )
    wrapped = np.remainder(angle + np.pi, 2 * np.pi) - np.pi
    narrow, wide = np.minimum(variance, 1.0), np.maximum(variance, 1.0)
    images = sum(
        np.exp(-((wrapped + 2 * np.pi * n) ** 2) / (2 * narrow)) for n in (-1, 0, 1)
    )
    waves = sum(np.exp(-(n**2) * wide / 2) * np.cos(n * wrapped) for n in range(1, 10))
    return np.where(
        variance < 1, images * np.sqrt(2 * np.pi / narrow), 1 + 2 * np.asarray(waves)
    )


@dataclass(frozen=True)
class TravellingArc:
    """A source that starts at angle 0, goes round the pipe and stops."""

    power: float  # W into the pipe
    speed: float  # rad/s, positive towards growing angle
    duration: float  # s
    angle_spread: float = 0.0  # rad, standard deviation along the path; 0 is a point
    axial_spread: float = 0.0  # m, standard deviation along the pipe


def _ages(pipe: LongPipe, arc: TravellingArc, distance: float, t: float) -> Array:
    """Edges of the panels over the age of the heat, from the youngest to t.

    Even in log(age + onset), where ``onset`` is when heat from ``distance`` arrives:
    the age-zero singularity of a point source is then resolved at any distance. Panels
    are also shorter than the time the (spread) arc takes to go by.
    """
    youngest = max(t - arc.duration, 0.0)
    speed = max(abs(arc.speed) * pipe.radius, 1e-12)
    onset = min(distance**2 / (4 * pipe.alpha), distance / speed)
    spread = arc.angle_spread * pipe.radius
    ends = np.array([youngest + onset, t + onset])
    passing = np.sqrt(2 * pipe.alpha * ends + spread**2) / speed
    step = min(PANEL, float(np.min(passing / ends)))
    panels = math.ceil(math.log(ends[1] / ends[0]) / step)
    return np.maximum(np.geomspace(ends[0], ends[1], panels + 1) - onset, youngest)


def _rise_at(
    pipe: LongPipe, arc: TravellingArc, angle: float, z: float, t: float
) -> float:
    """Rise at one point and time: Gauss-Legendre over the age of the heat."""
    if t <= 0:
        return 0.0
    away = math.remainder(angle - arc.speed * t, 2 * math.pi) * pipe.radius
    spread = math.hypot(arc.angle_spread * pipe.radius, arc.axial_spread)
    distance = math.hypot(away, z, spread)
    if distance == 0 and t <= arc.duration:
        return math.inf  # under a point source
    edges = _ages(pipe, arc, distance, t)
    half = np.diff(edges)[:, None] / 2
    age = edges[:-1, None] + half * (1 + NODES)
    variance = 2 * pipe.alpha * age / pipe.radius**2 + arc.angle_spread**2
    round_ring = periodic_gaussian(angle - arc.speed * (t - age), variance)
    along = ring_pulse(pipe, z, age, arc.power, arc.axial_spread)
    return float(np.sum(half * WEIGHTS * round_ring * along))


def travelling_arc(
    pipe: LongPipe, arc: TravellingArc, angle: ArrayLike, z: ArrayLike, t: ArrayLike
) -> Array:
    """Rise while, and after, an arc goes round the pipe [K].

    Parameters
    ----------
    pipe : LongPipe
        The pipe.
    arc : TravellingArc
        A point, or a Gaussian along the path, along the pipe, or both.
    angle, z, t : array
        Where [rad, m] and when [s]; broadcast together.

    Returns
    -------
    array
        Rise [K]; infinite under a point source while it burns.

    Notes
    -----
    Integral over the age s of the heat of the axial pulse response (with loss) times a
    Gaussian of the angle, centred where the arc was at ``t - s`` and wrapped round the
    ring; variances of source and conduction add [1]. Averaged round the ring this is
    `ring_source`.
    """
    rise = np.vectorize(_rise_at, excluded=(0, 1), otypes=[float])
    return rise(pipe, arc, angle, z, t)
