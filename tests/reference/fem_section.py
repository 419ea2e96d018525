"""Section of the reference joint: sizes, triangles, outer surface, known integrals.

Lines run along every feature; the fillet is meshed in rows parallel to its face so that
the three nested beads are bounded by rows. Pipe and socket do not share nodes across the
clearance.
"""

import itertools

import numpy as np
import skfem

MM = 1e-3
PIPE_IN, PIPE_OUT = 12.32 * MM, 16.7 * MM
SOCKET, BODY, OUTSIDE = 16.95 * MM, 13.35 * MM, 22.64 * MM
PIPE_START, PIPE_END, DEPTH, LENGTH = -80 * MM, 10.9 * MM, 12.5 * MM, 40 * MM
LEG, CLEARANCE = 5 * MM, 150.0  # [m], [W/m2/K]
TOE = PIPE_OUT + LEG
CORNERS = np.array(
    [(PIPE_OUT, 0), (SOCKET, 0), (SOCKET, DEPTH), (PIPE_OUT, -LEG), (TOE, 0)]
)  # where the metal turns more than half a circle


def line(*stations):
    """Points through (position, cell size) stations, the size changing linearly."""
    points = [np.array([stations[0][0]])]
    for (a, h_a), (b, h_b) in itertools.pairwise(stations):
        number = max(1, round((b - a) * _mean_density(h_a, h_b)))
        x = np.linspace(0, 1, number + 1)[1:]
        if abs(h_b / h_a - 1) > 1e-6:  # equal steps of the integral of 1 / size
            x = h_a / (h_b - h_a) * ((h_b / h_a) ** x - 1)
        points.append(a + (b - a) * x)
    return np.concatenate(points)


def _mean_density(h_a, h_b):
    return 1 / h_a if abs(h_b / h_a - 1) < 1e-6 else np.log(h_b / h_a) / (h_b - h_a)


def rectangles(r, z):
    """Triangles of a tensor grid: points (2, n) and corners (3, m)."""
    mesh = skfem.MeshTri.init_tensor(r, z)
    return mesh.p, mesh.t


def fillet(s, h):
    """Triangles of the fillet in rows parallel to its face, at fractions s of the legs."""
    counts = [max(1, round(np.sqrt(2) * LEG * x / min(h, LEG))) if x else 0 for x in s]
    rows = [np.linspace(0, 1, n + 1) for n in counts]
    start = np.concatenate([[0], np.cumsum([len(row) for row in rows])])
    points = [
        [PIPE_OUT + LEG * x * row, -LEG * x * (1 - row)]
        for x, row in zip(s, rows, strict=True)
    ]
    corners = []
    for k in range(len(s) - 1):
        corners += _zip_rows(rows[k], rows[k + 1], start[k], start[k + 1])
    return np.concatenate(points, axis=1), np.array(corners).T


def _zip_rows(low, high, first_low, first_high):
    """Triangles between two rows of points, the nearer next point each time."""
    i = j = 0
    corners = []
    while i < len(low) - 1 or j < len(high) - 1:
        ahead = (low[i + 1] if i < len(low) - 1 else 9) > (
            high[j + 1] if j < len(high) - 1 else 9
        )
        step = first_high + j + 1 if ahead or i == len(low) - 1 else first_low + i + 1
        corners.append([first_low + i, first_high + j, step])
        i, j = (i, j + 1) if step > first_high else (i + 1, j)
    return corners


def joint_mesh(h, corner):
    """The section of the joint, cells of about ``h`` and ``corner`` at the root [m]."""
    root, thirds = (SOCKET - PIPE_OUT) / LEG, np.sqrt([1 / 3, 2 / 3])
    g = min(corner, SOCKET - PIPE_OUT) / LEG
    s = line((0, g), (root, g), (thirds[0], h / LEG), *((x, h / LEG) for x in thirds[1:]),
             (1, h / LEG))  # fmt: skip
    pipe_r = line((PIPE_IN, h), (PIPE_OUT - 2 * MM, h), (PIPE_OUT, corner))
    depth = line((0, corner), (2 * MM, h), (PIPE_END, h), (DEPTH, min(h, 0.3 * MM)))
    inside = depth[depth < PIPE_END + 1e-9]
    outside = line((PIPE_START, 6 * h), (-20 * MM, 2 * h), (-LEG, h))
    socket_r = np.concatenate(
        [PIPE_OUT + LEG * s[s > root - 1e-9], line((TOE, h), (OUTSIDE, h))[1:]]
    )
    body_r = line((BODY, h), (SOCKET, min(h, 0.3 * MM)))
    body_z = line((DEPTH, min(h, 0.3 * MM)), (DEPTH + 2 * MM, h), (LENGTH, 3 * h))
    return _join(
        fillet(s, h),
        rectangles(pipe_r, np.concatenate([outside, -LEG * s[-2::-1], inside[1:]])),
        rectangles(socket_r, np.concatenate([depth, body_z[1:]])),
        rectangles(body_r, body_z),
    )


def _join(*parts):
    """One mesh of several, nodes closer than a nanometre made one; slivers refused."""
    p = np.concatenate([points for points, _ in parts], axis=1)
    shift = np.cumsum([0] + [points.shape[1] for points, _ in parts])
    t = np.concatenate(
        [corners + n for (_, corners), n in zip(parts, shift[:-1], strict=True)], axis=1
    )
    _, first, inverse = np.unique(
        np.round(p / 1e-9).astype(np.int64),
        axis=1,
        return_index=True,
        return_inverse=True,
    )
    corners = inverse.ravel()[t]
    return skfem.MeshTri(np.ascontiguousarray(p[:, first]), np.ascontiguousarray(corners))


def mesh_for(size, corners=0):
    """Section mesh, cells of about ``size`` [m], refined ``corners`` times at corners."""
    mesh = joint_mesh(size, size / 5)
    for k in range(corners):
        middle = mesh.p[:, mesh.t].mean(axis=1).T
        far = np.linalg.norm(middle[:, None] - CORNERS, axis=2).min(axis=1)
        mesh = mesh.refined(np.flatnonzero(far < 0.5 * MM / 2**k))
    return mesh


def is_outer(x):
    """Mid-points of facets that face the air."""
    r, z = x
    tiny = 1e-7
    pipe = (abs(r - PIPE_OUT) < tiny) & (z < -LEG)
    face = abs(r - PIPE_OUT - LEG - z) < tiny
    socket_face = (abs(z) < tiny) & (r > TOE)
    return pipe | (face & (z < 0)) | socket_face | (abs(r - OUTSIDE) < tiny)


def legs_fraction(r, z):
    """Size of the triangle similar to the fillet whose face goes through a point."""
    return (r - PIPE_OUT - z) / LEG


def in_thirds(r, z, low, high):
    """Elements of the fillet between two numbers of thirds of its section."""
    thirds = 3 * legs_fraction(r, z) ** 2
    return (z < 0) & (r > PIPE_OUT) & (thirds > low) & (thirds < high)


def ring(a, b, length):
    """Volume of a ring."""
    return np.pi * (b**2 - a**2) * length


def bead_volume(part):
    """Volume of the triangle with legs ``part * LEG``, by Pappus."""
    return np.pi * (PIPE_OUT + part * LEG / 3) * (part * LEG) ** 2


def metal_volume():
    """Volume of pipe, fitting and fillet."""
    pipe = ring(PIPE_IN, PIPE_OUT, PIPE_END - PIPE_START)
    fitting = ring(SOCKET, OUTSIDE, DEPTH) + ring(BODY, OUTSIDE, LENGTH - DEPTH)
    return pipe + fitting + bead_volume(1.0)


def outer_area():
    """Area of what faces the air."""
    cylinders = 2 * np.pi * (PIPE_OUT * (-LEG - PIPE_START) + OUTSIDE * LENGTH)
    faces = np.pi * (OUTSIDE**2 - TOE**2) + np.pi * (PIPE_OUT + TOE) * LEG * np.sqrt(2)
    return cylinders + faces
