"""Heat conduction with a closed form: what the heat model is checked against.

Bodies that cool by convection (slab, solid and hollow cylinder), the steady pipe wall,
fins and the semi-infinite body. Properties are constant throughout. Transient bodies
are dimensionless: ``theta = (T - T_air) / (T_start - T_air)``, lengths over the
half-thickness or the outer radius, ``fourier = alpha t / length²`` and
``biot = h length / k``. Moving and ring sources are in :mod:`interpass.tests.closed_forms.sources`.

``scipy`` loads its parts when they are first used, so importing this module is cheap.

References
----------
.. [1] F. P. Incropera, D. P. DeWitt, "Fundamentals of Heat and Mass Transfer",
   chapters 3 and 5 (series, one-term coefficients, fins); equations from memory.
.. [2] H. S. Carslaw, J. C. Jaeger, "Conduction of Heat in Solids", 2nd ed., 1959,
   sections 2.4 to 2.7, 3.11, 7.7 and 13.4; equations from memory.
"""

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import scipy
from interpass.joint.case import Box
from interpass.text.arrays import Array
from numpy.typing import ArrayLike

Root = tuple[float, float]


TERMS = 60  # enough for 1e-12 at fourier >= 1e-3


def _roots(function: Callable[[float], float], brackets: list[Root]) -> Array:
    """Return the root inside each bracket, to round-off."""
    solve = scipy.optimize.brentq
    return np.array([solve(function, a, b, xtol=1e-14, rtol=1e-14) for a, b in brackets])


def slab_eigenvalues(biot: float, terms: int = TERMS) -> Array:
    """Roots of ``zeta tan(zeta) = biot``, one in each ``(m pi, m pi + pi/2)``."""
    brackets = [(m * math.pi, (m + 0.5) * math.pi) for m in range(terms)]
    return _roots(lambda x: x * math.sin(x) - biot * math.cos(x), brackets)


def _slab_coefficients(zeta: Array) -> Array:
    return 4 * np.sin(zeta) / (2 * zeta + np.sin(2 * zeta))


def slab_one_term(biot: float) -> tuple[float, float]:
    """First eigenvalue and coefficient ``(zeta1, C1)`` of the slab.

    Examples
    --------
    >>> [round(x, 4) for x in slab_one_term(1.0)]  # printed: 0.8603, 1.1191
    [0.8603, 1.1191]
    """
    zeta = slab_eigenvalues(biot, 1)
    return float(zeta[0]), float(_slab_coefficients(zeta)[0])


def slab(x: ArrayLike, fourier: float, biot: float, terms: int = TERMS) -> Array:
    """Excess temperature in a slab that cools on both faces [1].

    Parameters
    ----------
    x : array
        Distance from the mid-plane over half the thickness, 0 to 1.
    fourier, biot : float
        On half the thickness.
    terms : int
        Terms of the series.

    Examples
    --------
    >>> slab([0.0, 1.0], fourier=0.2, biot=1.0).round(6).tolist()
    [0.950642, 0.643391]
    """
    zeta = slab_eigenvalues(biot, terms)
    shape = np.cos(np.multiply.outer(np.asarray(x, dtype=float), zeta))
    return shape @ (_slab_coefficients(zeta) * np.exp(-(zeta**2) * fourier))


def cylinder_eigenvalues(biot: float, terms: int = TERMS) -> Array:
    """Roots of ``zeta J1(zeta) = biot J0(zeta)``, between zeros of J1 and of J0."""
    j0, j1 = scipy.special.j0, scipy.special.j1
    low = np.concatenate(([0.0], scipy.special.jn_zeros(1, terms)))
    high = scipy.special.jn_zeros(0, terms)
    brackets = [(float(a), float(b)) for a, b in zip(low, high, strict=False)]
    return _roots(lambda x: float(x * j1(x) - biot * j0(x)), brackets)


def _cylinder_coefficients(zeta: Array) -> Array:
    j0, j1 = scipy.special.j0(zeta), scipy.special.j1(zeta)
    return 2 * j1 / (zeta * (j0**2 + j1**2))


def cylinder_one_term(biot: float) -> tuple[float, float]:
    """First eigenvalue and coefficient ``(zeta1, C1)`` of the solid cylinder.

    Examples
    --------
    >>> [round(x, 4) for x in cylinder_one_term(1.0)]  # printed: 1.2558, 1.2071
    [1.2558, 1.2071]
    """
    zeta = cylinder_eigenvalues(biot, 1)
    return float(zeta[0]), float(_cylinder_coefficients(zeta)[0])


def cylinder(r: ArrayLike, fourier: float, biot: float, terms: int = TERMS) -> Array:
    """Excess temperature in a long solid cylinder that cools by convection [1].

    ``r`` is over the radius, 0 to 1; ``fourier`` and ``biot`` are on the radius.
    """
    zeta = cylinder_eigenvalues(biot, terms)
    shape = scipy.special.j0(np.multiply.outer(np.asarray(r, dtype=float), zeta))
    return shape @ (_cylinder_coefficients(zeta) * np.exp(-(zeta**2) * fourier))


def _bore_shape(order: int, x: ArrayLike, at_bore: ArrayLike) -> Array:
    """J_n(x) Y1(at_bore) - Y_n(x) J1(at_bore): flat at the bore for n = 0."""
    jv, yv = scipy.special.jv, scipy.special.yv
    return jv(order, x) * yv(1, at_bore) - yv(order, x) * jv(1, at_bore)


def hollow_cylinder_eigenvalues(biot: float, bore: float, terms: int = TERMS) -> Array:
    """Eigenvalues of a pipe wall: adiabatic bore, convection outside.

    Roots are about ``pi / (1 - bore)`` apart, so a scan eight times as fine finds all.
    """

    def mismatch(x: Any) -> Any:
        return x * _bore_shape(1, x, bore * x) - biot * _bore_shape(0, x, bore * x)

    spacing = math.pi / (1 - bore)
    scan = np.linspace(1e-6, (terms + 1) * spacing, 8 * (terms + 1))
    at = np.flatnonzero(np.diff(np.sign(mismatch(scan))))[:terms]
    brackets = [(float(scan[i]), float(scan[i + 1])) for i in at]
    return _roots(lambda x: float(mismatch(x)), brackets)


def hollow_cylinder(
    r: ArrayLike, fourier: float, biot: float, bore: float, terms: int = TERMS
) -> Array:
    """Excess temperature in a long pipe wall: adiabatic bore, convection outside [1].

    Parameters
    ----------
    r : array
        Radius over the outer radius, ``bore`` to 1.
    fourier, biot : float
        On the outer radius.
    bore : float
        Inner over outer radius, above 0 and below 1.
    terms : int
        Terms of the series.

    Notes
    -----
    Sturm-Liouville expansion in ``J0(zeta r) Y1(zeta bore) - Y0(zeta r) J1(zeta bore)``
    with weight r; the norm is Lommel's integral.
    """
    zeta = hollow_cylinder_eigenvalues(biot, bore, terms)
    outside, inside = _bore_shape(0, zeta, bore * zeta), -2 / (np.pi * bore * zeta)
    norm = (outside**2 * (1 + (biot / zeta) ** 2) - (bore * inside) ** 2) / 2
    amplitude = biot * outside / zeta**2 / norm * np.exp(-(zeta**2) * fourier)
    at = np.multiply.outer(np.asarray(r, dtype=float), zeta)
    return _bore_shape(0, at, bore * zeta) @ amplitude


def pipe_wall_heat(r_in: float, r_out: float, k: float, difference: float) -> float:
    """Steady heat through a pipe wall per length [W/m] [1].

    ``difference`` is the temperature of one face less that of the other [K].

    Examples
    --------
    >>> round(pipe_wall_heat(12.15e-3, 16.70e-3, k=15.0, difference=100.0), 2)
    29630.25
    """
    return 2 * math.pi * k * difference / math.log(r_out / r_in)


def _fin_ends(length: float, m: float, k: float, tip: float) -> tuple[float, float]:
    """Return the two weights (tip film against m k) and the decay there and back."""
    return tip / (m * k), math.exp(-2 * m * length)


def fin(
    z: ArrayLike, m: float, length: float = math.inf, *, k: float = 1.0, tip: float = 0.0
) -> Array:
    """Excess temperature along a fin over that at its base [1].

    Parameters
    ----------
    z : array
        Distance from the base [m].
    m : float
        Fin parameter [1/m].
    length : float
        Length [m]; infinite is a long pipe.
    k, tip : float
        Conductivity [W/m/K] and film coefficient at the tip [W/m²/K]; 0 is adiabatic.

    Notes
    -----
    The textbook's cosh and sinh, divided by ``exp(m length)`` so that nothing overflows.
    """
    weight, there_and_back = _fin_ends(length, m, k, tip)
    z = np.asarray(z, dtype=float)
    left = np.exp(-2 * m * (length - z))
    top = 1 + left + weight * (1 - left)
    return np.exp(-m * z) * top / (1 + there_and_back + weight * (1 - there_and_back))


def fin_heat(
    m: float, k: float, area: float, length: float = math.inf, *, tip: float = 0.0
) -> float:
    """Heat into a fin per kelvin at its base [W/K] [1].

    Examples
    --------
    NPS 1 Sch 80 with k = 15 W/m/K, 15 W/m²/K outside, long:

    >>> from interpass.physics.films import fin_parameter
    >>> m = fin_parameter(h=15.0, perimeter=0.104929, k=15.0, area=412.389e-6)
    >>> round(m, 3), round(fin_heat(m, 15.0, 412.389e-6), 5)
    (15.951, 0.09867)
    """
    weight, there_and_back = _fin_ends(length, m, k, tip)
    top = 1 - there_and_back + weight * (1 + there_and_back)
    return k * area * m * top / (1 + there_and_back + weight * (1 - there_and_back))


def semi_infinite_step(x: ArrayLike, t: ArrayLike, alpha: float) -> Array:
    """Rise over the step given to the surface at t = 0 [2].

    Examples
    --------
    >>> round(float(semi_infinite_step(5e-3, 10.0, alpha=4e-6)), 5)
    0.57615
    """
    reach = 2 * np.sqrt(alpha * np.asarray(t, dtype=float))
    return scipy.special.erfc(np.asarray(x, dtype=float) / reach)


def semi_infinite_flux(
    x: ArrayLike, t: ArrayLike, flux: float, k: float, alpha: float
) -> Array:
    """Rise under a constant flux [W/m²] into the surface [K] [2].

    Examples
    --------
    >>> round(float(semi_infinite_flux(0.0, 10.0, flux=1e6, k=15.0, alpha=4e-6)), 3)
    475.766
    """
    depth = np.asarray(x, dtype=float)
    reach = 2 * np.sqrt(alpha * np.asarray(t, dtype=float))
    ahead = reach * np.exp(-((depth / reach) ** 2)) / math.sqrt(math.pi)
    return flux / k * (ahead - depth * scipy.special.erfc(depth / reach))


def semi_infinite_convection(
    x: ArrayLike, t: ArrayLike, h: float, k: float, alpha: float
) -> Array:
    """Rise over (T_fluid - T_start) below a surface heated by a fluid [2].

    Examples
    --------
    >>> round(float(semi_infinite_convection(0.0, 60.0, h=100.0, k=15.0, alpha=4e-6)), 6)
    0.106647
    """
    reach = 2 * np.sqrt(alpha * np.asarray(t, dtype=float))
    depth = np.asarray(x, dtype=float) / reach
    # exp(h x / k + (h / k)² alpha t) erfc(..) overflows; erfcx is the same, scaled
    surface = scipy.special.erfcx(depth + h * reach / (2 * k))
    return scipy.special.erfc(depth) - np.exp(-(depth**2)) * surface


def metal_volume(boxes: tuple[Box, ...]) -> float:
    """Volume of the rings [m³]; inf when one of them is long.

    Examples
    --------
    >>> round(metal_volume((Box(0.0, 1.0, 0.0, 1.0),)), 6)
    3.141593
    """
    return sum(
        math.pi * (box.r_out**2 - box.r_in**2) * (box.z_end - box.z_start)
        for box in boxes
    )
