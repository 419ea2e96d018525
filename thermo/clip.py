"""Exact clipping of grid cells by the fillet: plain polygons, no grid effects."""

from itertools import pairwise

import numpy as np

from .drawing import TOUCH, Fillet, Lines

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
