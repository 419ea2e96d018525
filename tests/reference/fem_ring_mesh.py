"""Hexahedra of the simplified joint, turned round the axis: 316L from end to end.

Coordinates (r, arc length at the pipe's outside radius, z).
"""

import numpy as np
import skfem
from fem_section import (
    BODY,
    DEPTH,
    LEG,
    MM,
    OUTSIDE,
    PIPE_IN,
    PIPE_OUT,
    TOE,
    bead_volume,
    line,
    ring,
)
from skfem.refdom import RefHex

START, END = -40 * MM, 25 * MM
ROUND = 2 * np.pi * PIPE_OUT  # length of the path [m]


def section(n):
    """Quadrilaterals of the section, ``2 n`` along each leg: points (2, m), corners (4, k)."""
    r, z = grid_lines(n)
    corner = lambda i, j: i * len(z) + j
    quads = [
        [corner(i, j), corner(i + 1, j), corner(i + 1, j + 1), corner(i, j + 1)]
        for i in range(len(r) - 1)
        for j in range(len(z) - 1)
        if _metal((r[i] + r[i + 1]) / 2, (z[j] + z[j + 1]) / 2)
    ]
    grid = np.array([np.repeat(r, len(z)), np.tile(z, len(r))])
    return _join([(grid, np.array(quads).T), *fillet_patches(n)])


def grid_lines(n):
    """Lines in r and z: ``2 n`` along each leg, coarser away from the weld."""
    h = LEG / (2 * n)
    r = line((PIPE_IN, 1), (BODY, 1), (PIPE_OUT, h), (TOE, h), (OUTSIDE, 1))
    pipe = line((START, 4 * h), (-LEG, h), (0, h))
    return r, np.concatenate([pipe, line((0, h), (DEPTH, 2 * h), (END, 4 * h))[1:]])


def _metal(r, z):
    pipe = (r < PIPE_OUT) & (z < DEPTH)
    return pipe | ((r > PIPE_OUT) & (z > 0)) | ((r > BODY) & (z > DEPTH))


def fillet_patches(n):
    """The fillet as three quadrilaterals that meet in its centroid."""
    corners = np.array([(PIPE_OUT, 0), (TOE, 0), (PIPE_OUT, -LEG)])
    middles, centre = (corners + np.roll(corners, -1, axis=0)) / 2, corners.mean(axis=0)
    x, y = (
        a.ravel() for a in np.meshgrid(*[np.linspace(0, 1, n + 1)] * 2, indexing="ij")
    )
    i, j = (a.ravel() for a in np.meshgrid(*[np.arange(n)] * 2, indexing="ij"))
    number = lambda i, j: i * (n + 1) + j
    quads = np.array(
        [number(i, j), number(i + 1, j), number(i + 1, j + 1), number(i, j + 1)]
    )
    patches = []
    for k in range(3):
        a, b, d = corners[k], middles[k], middles[k - 1]
        weights = ((1 - x) * (1 - y), x * (1 - y), x * y, (1 - x) * y)
        points = sum(
            w[:, None] * p for w, p in zip(weights, (a, b, centre, d), strict=True)
        )
        patches.append((points.T, quads))
    return patches


def _join(parts):
    """Parts as one, points closer than a nanometre made one, unused points dropped."""
    shift = np.cumsum([0] + [p.shape[1] for p, _ in parts])
    quads = np.concatenate(
        [q + s for (_, q), s in zip(parts, shift, strict=False)], axis=1
    )
    points = np.concatenate([p for p, _ in parts], axis=1)
    used, quads = np.unique(quads, return_inverse=True)
    points = points[:, used]
    _, first, same = np.unique(
        np.round(points / 1e-9).astype(np.int64),
        axis=1,
        return_index=True,
        return_inverse=True,
    )
    return points[:, first], same.ravel()[quads.reshape(4, -1)]


def ring_mesh(n, around):
    """Hexahedra in (r, arc length at the pipe's outside, z), ``around`` of them in a turn."""
    return turned(n, np.linspace(0, ROUND, around + 1))


def turned(n, y):
    """The same with layers between the arc lengths ``y``, 0 to ROUND [m]."""
    points, quads = section(n)
    m = points.shape[1]
    p = np.array(
        [np.tile(points[0], len(y)), np.repeat(y, m), np.tile(points[1], len(y))]
    )
    corner = {(0, 0): 0, (1, 0): 1, (1, 1): 2, (0, 1): 3}  # of a quadrilateral
    layers = m * np.arange(len(y) - 1)
    t = [
        (quads[corner[int(x), int(z)]][None] + (layers + m * int(up))[:, None]).ravel()
        for x, up, z in RefHex.p.T
    ]
    return skfem.MeshHex(np.ascontiguousarray(p), np.ascontiguousarray(np.array(t)))


def is_outer(x):
    """Mid-points of facets that face the air."""
    r, _, z = x
    tiny = 1e-7
    pipe = (abs(r - PIPE_OUT) < tiny) & (z < -LEG)
    face = (abs(r - TOE - z) < tiny) & (z < 0)
    return pipe | face | ((abs(z) < tiny) & (r > TOE)) | (abs(r - OUTSIDE) < tiny)


def metal_volume():
    """Volume of the metal."""
    pipe = ring(PIPE_IN, PIPE_OUT, DEPTH - START) + bead_volume(1.0)
    return pipe + ring(PIPE_OUT, OUTSIDE, DEPTH) + ring(BODY, OUTSIDE, END - DEPTH)


def outer_area():
    """Area of what faces the air."""
    cylinders = 2 * np.pi * (PIPE_OUT * (-LEG - START) + OUTSIDE * END)
    return cylinders + np.pi * (OUTSIDE**2 - TOE**2 + (PIPE_OUT + TOE) * LEG * np.sqrt(2))
