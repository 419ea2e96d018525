"""Grid lines on every feature of the joint, fine near the weld and coarse far from it.

Cells are cut by the fillet exactly: plain polygons and their moments, no grid effects.

What it computes: ``thermo/MODEL.md``, section 2.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ..joint.beads import Fillet
from ..joint.outline import TOUCH
from ..text.arrays import Array


@dataclass(frozen=True)
class Lines:
    """Grid lines [m]."""

    r: Array
    z: Array


GROWTH_LENGTH = 8.0e-3  # m from the fine region over which the cell doubles
MERGE = 0.3  # features closer than this share of a cell share a line


def graded_lines(features: list[float], fine: tuple[float, float], cell: float) -> Array:
    """Grid lines through ``features``, growing with the distance from ``fine`` [m].

    The wanted cell at ``x`` is ``cell * (1 + distance / GROWTH_LENGTH)``, so that
    halving ``cell`` halves every cell and convergence studies stay clean.

    Parameters
    ----------
    features : list of float
        Positions that must be lines; the outermost two bound the grid [m]. Features
        closer together than ``MERGE * cell`` share the first one's line (the section
        is clipped exactly, so no metal is lost).
    fine : (float, float)
        Where cells have their smallest size [m].
    cell : float
        That size [m].

    Returns
    -------
    (n + 1,) array, strictly increasing [m].

    Examples
    --------
    >>> graded_lines([0.0, 2e-3], (0.0, 2e-3), 1e-3).tolist()
    [0.0, 0.001, 0.002]
    """
    stops = distinct(features, fine, cell)
    pieces = [_interval(low, high, fine, cell)[:-1] for low, high in pairwise(stops)]
    return np.append(np.concatenate(pieces), stops[-1])


def distinct(
    features: list[float], fine: tuple[float, float], cell: float
) -> list[float]:
    """Features far enough apart to be lines; the ends are always kept [m]."""
    low, high = min(features), max(features)
    kept: list[float] = [low, high]
    for x in features:
        wanted = MERGE * _wanted(np.array([x]), fine, cell)[0]
        if all(abs(x - other) > wanted for other in kept):
            kept.append(x)
    return sorted(kept)


def _wanted(x: Array, fine: tuple[float, float], cell: float) -> Array:
    distance = np.maximum(np.maximum(fine[0] - x, x - fine[1]), 0.0)
    return cell * (1 + distance / GROWTH_LENGTH)


def _count_to(x: Array, fine: tuple[float, float], cell: float) -> Array:
    """Cells between ``fine[0]`` and ``x``, as a real number (integral of 1 / wanted)."""
    below = np.minimum(x - fine[0], 0.0)
    above = np.maximum(x - fine[1], 0.0)
    inside = np.clip(x - fine[0], 0.0, fine[1] - fine[0])
    scale = GROWTH_LENGTH / cell
    tails = np.log1p(above / GROWTH_LENGTH) - np.log1p(-below / GROWTH_LENGTH)
    return inside / cell + scale * tails


def _interval(low: float, high: float, fine: tuple[float, float], cell: float) -> Array:
    """Lines from one feature to the next, equidistributing the wanted cell [m]."""
    ends = _count_to(np.array([low, high]), fine, cell)
    n = max(1, int(np.ceil(ends[1] - ends[0] - 1e-6)))
    count = np.linspace(ends[0], ends[1], n + 1)
    inside = fine[0] + np.clip(count, 0.0, (fine[1] - fine[0]) / cell) * cell
    beyond = np.maximum(count - (fine[1] - fine[0]) / cell, 0.0)
    before = np.minimum(count, 0.0)
    lines = inside + GROWTH_LENGTH * (
        np.expm1(beyond * cell / GROWTH_LENGTH) - np.expm1(-before * cell / GROWTH_LENGTH)
    )
    lines[0], lines[-1] = low, high
    return lines


Point = tuple[float, float]


def cells_in_reach(root: float, fillet: Fillet, lines: Lines) -> list[tuple[int, int]]:
    """Cells that the fillet may enter."""
    rows = np.flatnonzero(
        (lines.r[:-1] > root - TOUCH) & (lines.r[:-1] < root + fillet.leg_socket)
    )
    columns = np.flatnonzero((lines.z[1:] < TOUCH) & (lines.z[1:] > -fillet.leg_pipe))
    return [(int(i), int(j)) for i in rows for j in columns]


def corners(lines: Lines, i: int, j: int) -> list[Point]:
    """Corners of a cell, in order."""
    r0, r1 = lines.r[i : i + 2].tolist()  # plain numbers: the clipping counts by one
    z0, z1 = lines.z[j : j + 2].tolist()
    return [(r0, z0), (r1, z0), (r1, z1), (r0, z1)]


def clip_fillet(polygon: list[Point], root: float, fillet: Fillet) -> list[Point]:
    """Part of a polygon under the hypotenuse (Sutherland-Hodgman, one edge)."""
    inside = [level_under(point, root, fillet) for point in polygon]
    kept: list[Point] = []
    for n, (a, b) in enumerate(zip(polygon, polygon[1:] + polygon[:1], strict=True)):
        u, v = inside[n], inside[(n + 1) % len(polygon)]
        if u >= 0:
            kept.append(a)
        if (u > 0 > v) or (u < 0 < v):
            s = u / (u - v)
            kept.append((a[0] + s * (b[0] - a[0]), a[1] + s * (b[1] - a[1])))
    return kept


def level_under(point: Point, root: float, fillet: Fillet) -> float:
    """Positive inside the fillet, zero on its hypotenuse."""
    level = 1 - (point[0] - root) / fillet.leg_socket + point[1] / fillet.leg_pipe
    return 0.0 if abs(level) < 1e-12 else level


def moments(polygon: list[Point]) -> tuple[float, float, float]:
    """Area and first moments of a polygon, about its first corner for accuracy."""
    r0, z0 = polygon[0]
    area = first_r = first_z = 0.0
    spokes = [(r - r0, z - z0) for r, z in polygon[1:]]
    for (a, b), (c, d) in pairwise(spokes):
        triangle = abs(a * d - b * c) / 2
        area += triangle
        first_r += triangle * (a + c) / 3
        first_z += triangle * (b + d) / 3
    return area, area * r0 + first_r, area * z0 + first_z


def overlap(lines: Array, low: float, high: float) -> tuple[Array, Array]:
    """Start and end of ``low..high`` in each cell; equal where it does not reach."""
    inside = np.minimum(np.maximum(lines, low), high)  # np.clip takes thrice as long
    return inside[:-1], np.maximum(inside[1:], inside[:-1])


def washer(lines: Array, low: float, high: float) -> Array:
    """Area of a washer in each row [m²/rad]; zero when it is empty."""
    r0, r1 = overlap(lines, low, max(low, high))
    return (r1**2 - r0**2) / 2
