"""What one pass melted: read off the hottest that each cell of the grid got.

Every function takes the model, the number of the pass and ``T`` (nr, n_theta, nz), the
hottest of each cell in that pass [K], and returns one value per angle, (n_theta,).
Surfaces lie between cells: the face under the bead has the temperature of two half cells
in series, a free face that of a parabola without slope there.

What it computes: ``thermo/MODEL.md``, section 7.
"""

import numpy as np

from ..physics.metals import TABLE_TEMPERATURE
from ..text.arrays import Array
from .arrays import R_ABOVE, R_BELOW, Z_ABOVE, Z_BELOW, Body, Ints
from .model import Model

FREE = (
    1 / 8
)  # of the last difference: what a parabola, flat at the face, adds to the node

CORNER = 0.5e-3  # m from the root corner: parent metal that must melt there


def bore(model: Model, T: Array) -> Array:
    """Hottest of the pipe's bore at each angle [K]."""
    wall = _wall(model, T)
    return np.asarray(_free(wall[0], wall[min(1, len(wall) - 1)]).max(axis=-1))


def depth_in_pipe(model: Model, number: int, T: Array) -> Array:
    """Deepest melt below the pipe's outside at each angle [m]; the wall: melted through."""
    wall, pipe = _wall(model, T), model.outline.pipe
    inner = _free(wall[0], wall[min(1, len(wall) - 1)])
    profile = np.concatenate([_outside(model, number, T)[None], wall[::-1], inner[None]])
    lines = model.lines.r[_pipe_rows(model).start : _pipe_rows(model).stop + 1]
    depth = np.concatenate([[0.0], pipe.r_out - _middles(lines)[::-1], [_wall_of(model)]])
    return _reach(depth, profile, model.case.pipe.material.solidus).max(axis=-1)


def depth_in_socket(model: Model, number: int, T: Array) -> Array:
    """Deepest melt below the socket's face at each angle [m]; zero without a socket."""
    body, face = model.bodies[number - 1], _face_column(model)
    if not model.outline.fitting or not _under_the_bead(body, face).size:
        return np.zeros(T.shape[1])
    rows = _under_the_bead(body, face)
    stage = model.stages[-1]
    inside = stage.z[rows[-1], face:]
    surface = _socket_face(model, number, T, rows)
    profile = np.concatenate([surface[None], np.moveaxis(T[rows][..., face:], 2, 0)])
    depth = np.concatenate([[0.0], inside])
    return _reach(depth, profile, model.case.fitting.material.solidus).max(axis=0)


def spread_on_pipe(
    model: Model, number: int, T: Array, level: float
) -> tuple[Array, Array]:
    """Return two lengths along the pipe's outside at each angle [m].

    From its hottest point to ``level`` away from the socket; the whole width that gets to
    ``level`` or above.
    """
    surface = _outside(model, number, T).T
    z, top = _middles(model.lines.z)[_pipe_columns(model)], surface.argmax(axis=0)
    steps = np.arange(z.size)[:, None]

    def reach(way: Ints) -> Array:
        """Along the places of a way (n, n_theta), which stays at its end."""
        there = np.take_along_axis(surface, way, axis=0)
        return _reach(np.abs(z[way] - z[top]), there, level)

    away = reach(np.maximum(top - steps, 0))
    return away, away + reach(np.minimum(top + steps, z.size - 1))


def root_corner(model: Model, number: int, T: Array) -> Array:
    """Root corner at each angle: how far pipe side and socket side get above their solidus.

    (2, n_theta) [K], negative where the parent metal stays solid; empty without a socket.
    The sides are places under the bead, CORNER away from the corner itself.
    """
    if not model.outline.fitting:
        return np.empty((0, T.shape[1]))
    row, face, lines = _root_row(model), _face_column(model), model.lines
    z = _middles(lines.z)[_pipe_columns(model)]
    pipe = _at(-CORNER, z, _outside(model, number, T).T)
    socket, rows = T[row, :, face], _under_the_bead(model.bodies[number - 1], face)
    if rows.size:
        beside = _socket_face(model, number, T, rows)
        socket = _at(model.outline.root + CORNER, _middles(lines.r)[rows], beside)
    melts = (model.case.pipe.material.solidus, model.case.fitting.material.solidus)
    return np.stack([pipe - melts[0], socket - melts[1]])


def _at(place: float, x: Array, T: Array) -> Array:
    """Value of a profile (n, n_theta) at a place, linear between its points."""
    return np.array([np.interp(place, x, column) for column in T.T])


def _middles(x: Array) -> Array:
    return (x[1:] + x[:-1]) / 2


def _wall_of(model: Model) -> float:
    return model.outline.pipe.r_out - model.outline.pipe.r_in


def _root_row(model: Model) -> int:
    """Row of cells just outside the pipe."""
    return int(np.argmin(np.abs(model.lines.r - model.outline.root)))


def _face_column(model: Model) -> int:
    """Column of cells just inside the socket's face."""
    return int(np.argmin(np.abs(model.lines.z)))


def _pipe_rows(model: Model) -> slice:
    first = int(np.argmin(np.abs(model.lines.r - model.outline.pipe.r_in)))
    return slice(first, _root_row(model))


def _pipe_columns(model: Model) -> slice:
    pipe, z = model.outline.pipe, model.lines.z
    ends = (int(np.argmin(np.abs(z - end))) for end in (pipe.z_start, pipe.z_end))
    return slice(*ends)


def _wall(model: Model, T: Array) -> Array:
    """Return the pipe's cells from the bore out, (rows, n_theta, columns)."""
    return T[_pipe_rows(model), :, _pipe_columns(model)]


def _free(node: Array, inside: Array) -> Array:
    """Temperature of a face that passes hardly any heat."""
    return node + FREE * (node - inside)


def _outside(model: Model, number: int, T: Array) -> Array:
    """Temperature of the pipe's outside, free or under the bead, (n_theta, columns of the pipe) [K]."""
    wall, row, body = _wall(model, T), _root_row(model), model.bodies[number - 1]
    found = _free(wall[-1], wall[max(len(wall) - 2, 0)])
    columns = _pipe_columns(model)
    for j in _columns_met(body, row):
        if columns.start <= j < columns.stop:
            found[:, j - columns.start] = _between(model, body, T, (row - 1, j), (row, j))
    return found


def _socket_face(model: Model, number: int, T: Array, rows: Ints) -> Array:
    """Temperature of the socket's face under the bead, (rows, n_theta) [K]."""
    body, face = model.bodies[number - 1], _face_column(model)
    return np.stack([_between(model, body, T, (i, face - 1), (i, face)) for i in rows])


def _under_the_bead(body: Body, face: int) -> Ints:
    """Rows in which the bead touches the socket's face."""
    bead = np.isfinite(body.section[Z_BELOW, 1, :, face]) & (
        body.volume[1, :, face - 1] > 0
    )
    return np.flatnonzero(bead & (np.arange(bead.size) >= body.film_row))


def _columns_met(body: Body, row: int) -> Ints:
    """Columns in which metal meets the pipe's outside: those of the bead."""
    if row >= body.volume.shape[1]:
        return np.empty(0, dtype=np.int64)
    return np.flatnonzero(np.isfinite(body.section[R_BELOW, 1, row]))


def _between(
    model: Model, body: Body, T: Array, one: tuple[int, int], other: tuple[int, int]
) -> Array:
    """Temperature of the face between two cells, the second further out or on [K]."""
    (i, j), (p, q) = one, other
    paths = (R_BELOW, R_ABOVE) if p > i else (Z_BELOW, Z_ABOVE)
    flow = [
        _conductivity(model, body, cell, T)
        / max(float(body.section[path, 1, p, q]), 1e-12)
        for cell, path in zip((one, other), paths, strict=True)
    ]
    return (flow[0] * T[i, :, j] + flow[1] * T[p, :, q]) / (flow[0] + flow[1])


def _conductivity(model: Model, body: Body, cell: tuple[int, int], T: Array) -> Array:
    i, j = cell
    table = model.tables.conductivity[body.material[i, j]]
    return np.interp(T[i, :, j], TABLE_TEMPERATURE, table)


def _reach(x: Array, T: Array, level: float) -> Array:
    """How far from ``x[0]`` a profile (n, ...) stays at ``level`` or above [m].

    ``x`` is (n,), or has the shape of the profile.
    """
    x = np.broadcast_to(x.reshape(*x.shape, *[1] * (T.ndim - x.ndim)), T.shape)
    below = ~(level <= T)  # no metal (nan) ends a profile as well
    first = np.argmax(below, axis=0)[None]
    before = np.maximum(first - 1, 0)
    (cold, end), (warm, start) = (
        [np.take_along_axis(values, at, axis=0)[0] for values in (T, x)]
        for at in (first, before)
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(first[0] > 0, (warm - level) / (warm - cold), 0.0)
        share = np.nan_to_num(share)
    return np.where(below.any(axis=0), start + share * (end - start), x[-1])
