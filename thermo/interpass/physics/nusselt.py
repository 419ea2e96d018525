"""Nusselt numbers: correlations of still air, a stream across a pipe, and tube entry.

Plain formulas on numbers or arrays, no properties and no units.

References
----------
.. [1] S. W. Churchill, H. H. S. Chu, Int. J. Heat Mass Transfer 18 (1975) 1049-1053,
       horizontal cylinder; 1323-1329, vertical plate.
.. [2] S. W. Churchill, M. Bernstein, J. Heat Transfer 99 (1977) 300-306.
.. [3] C. O. Popiel, J. Wojtkowiak, K. Bober, Exp. Thermal Fluid Sci. 32 (2007) 607-613.
.. [4] H. Hausen, Z. VDI Beih. Verfahrenstechnik 4 (1943) 91-98, entry of a tube.

The papers were not read: [1]_ and [2]_ from memory, [3]_ and [4]_ as the library ht 1.2
restates them; all four equal that library.

What it computes: ``thermo/MODEL.md``, section 4.
"""

import numpy as np
from numpy.typing import ArrayLike

from ..text.arrays import Array


def nusselt_horizontal_cylinder(rayleigh: ArrayLike, prandtl: ArrayLike) -> Array:
    """Mean Nusselt number of a horizontal cylinder in still gas, on diameter [1]_.

    Examples
    --------
    >>> round(float(nusselt_horizontal_cylinder(0.7e5, 0.7)), 6)
    7.076842
    """
    shape = (1 + (0.559 / np.asarray(prandtl)) ** (9 / 16)) ** (8 / 27)
    return (0.60 + 0.387 * np.asarray(rayleigh) ** (1 / 6) / shape) ** 2


def nusselt_vertical_plate(rayleigh: ArrayLike, prandtl: ArrayLike) -> Array:
    """Mean Nusselt number of a vertical plate in still gas, on height [1]_.

    Examples
    --------
    >>> round(float(nusselt_vertical_plate(0.7e9, 0.7)), 6)
    109.866277
    """
    shape = (1 + (0.492 / np.asarray(prandtl)) ** (9 / 16)) ** (8 / 27)
    return (0.825 + 0.387 * np.asarray(rayleigh) ** (1 / 6) / shape) ** 2


def slender_cylinder_gain(
    grashof: ArrayLike, prandtl: ArrayLike, height_per_diameter: float | Array
) -> Array:
    """Vertical cylinder over vertical plate, ratio of Nusselt numbers [3]_."""
    Pr = np.asarray(prandtl)
    factor = 0.0571322 + 0.20305 * Pr**-0.43
    power = 0.9165 - 0.0043 * Pr**0.5 + 0.01333 * np.log(Pr) + 0.0004809 / Pr
    thickness = 32**0.5 * np.asarray(grashof) ** -0.25 * height_per_diameter
    return 1 + factor * thickness**power


def nusselt_cross_flow(reynolds: ArrayLike, prandtl: ArrayLike) -> Array:
    """Mean Nusselt number of a cylinder across a stream, on diameter [2]_.

    Examples
    --------
    >>> round(float(nusselt_cross_flow(6071, 0.7)), 6)
    40.637086
    """
    Re, Pr = np.asarray(reynolds), np.asarray(prandtl)
    laminar = 0.62 * Re**0.5 * Pr ** (1 / 3) / (1 + (0.4 / Pr) ** (2 / 3)) ** 0.25
    return 0.3 + laminar * (1 + (Re / 282000) ** (5 / 8)) ** (4 / 5)


def nusselt_tube_entry(graetz: ArrayLike) -> Array:
    """Mean Nusselt number of laminar flow entering a tube at one wall temperature [4]_.

    ``graetz`` is Re Pr D / L; tends to 3.66 in a long tube.
    """
    Gz = np.asarray(graetz)
    return 3.66 + 0.0668 * Gz / (1 + 0.04 * Gz ** (2 / 3))
