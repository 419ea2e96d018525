"""The joint on the package's own cells, stepped in time by scipy instead.

Areas, distances and tables are read from the model; the right-hand side, its Jacobian
and the time stepping are written apart from the package. The unknown is the enthalpy of
each cell that holds metal, over 4 MJ/m³/K so that errors read as kelvin.
"""

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
from interpass.heat.arrays import R_ABOVE, R_BELOW, Z_ABOVE, Z_BELOW
from scipy.integrate import solve_ivp

SCALE = 4.0e6  # J/m³/K


@dataclass(frozen=True)
class Lines:
    """Flat arrays over the metal cells and over what they exchange heat through."""

    index: np.ndarray  # (nr, nz) number of each metal cell, -1 elsewhere
    volume: np.ndarray  # (n,)
    material: np.ndarray
    source: np.ndarray  # (n,) share of the arc
    faces: tuple  # cells a and b, path over area in a and in b, gas film's area
    links: tuple  # cells a and b across the end gap, area
    skin: tuple  # cell, kind, area, depth
    model: object

    @property
    def axis(self):
        """Temperatures of the tables."""
        t = self.model.tables
        return t.start + t.step * np.arange(t.enthalpy.shape[1])


def lines_of(model, number=0):
    """Semi-discrete joint with the bead of a pass in place."""
    body = model.bodies[number]
    metal = body.volume[1] > 0
    index = np.full(metal.shape, -1)
    index[metal] = np.arange(metal.sum())
    area, kind = body.surface_area[1], body.surface[1]
    real = area > 0
    skin = (index[kind[:, 0], kind[:, 1]][real], kind[real, 2], area[real])
    link = body.link
    return Lines(
        index=index,
        volume=body.volume[1][metal],
        material=body.material[metal],
        source=body.source[1][metal],
        faces=_faces(body, index),
        links=(index[link[:, 0], link[:, 1]], index[link[:, 2], link[:, 3]],
               body.link_area),
        skin=(*skin, body.surface_size[1, 1][real]),
        model=model,
    )  # fmt: skip


def _faces(body, index):
    """Every face with metal on both sides, that of the clearance with its gas."""
    found = []
    for axis, *paths in (
        (0, body.section[R_BELOW, 1], body.section[R_ABOVE, 1]),
        (1, body.section[Z_BELOW, 1], body.section[Z_ABOVE, 1]),
    ):
        here = [slice(None), slice(None)]
        there = here.copy()
        here[axis], there[axis] = slice(1, None), slice(None, -1)
        a, b = index[tuple(there)], index[tuple(here)]
        below, above = (x[tuple(here)] for x in paths)
        joined = (a >= 0) & (b >= 0) & np.isfinite(below)
        found.append([x[joined] for x in (a, b, below, above)] + [np.zeros(joined.sum())])
    row, film = body.film_row, body.film[0] > 0
    a, b = index[row - 1][film], index[row][film]
    found.append([a, b, body.film[1, film], body.film[2, film], body.film[0, film]])
    return tuple(np.concatenate(x) for x in zip(*found, strict=True))


def temperatures(lines, y):
    """Temperature [K] and its slope against enthalpy [K m³/J]."""
    H, T, slope = SCALE * y, np.empty_like(y), np.empty_like(y)
    for n, table in enumerate(lines.model.tables.enthalpy):
        here = lines.material == n
        if here.any():
            node = np.clip(np.searchsorted(table, H[here]) - 1, 0, table.size - 2)
            slope[here] = lines.model.tables.step / (table[node + 1] - table[node])
            T[here] = lines.axis[node] + (H[here] - table[node]) * slope[here]
    return T, slope


def looked_up(lines, table, T):
    """Value of a table, or of the table of each cell's metal, linear in temperature."""
    t = lines.model.tables
    x = (T - t.start) / t.step
    node = np.clip(x.astype(int), 0, table.shape[-1] - 2)
    pick = (lines.material, node) if table.ndim > 1 else (node,)
    after = (*pick[:-1], node + 1)
    return table[pick] + (x - node) * (table[after] - table[pick])


def conductances(lines, T, films):
    """Of faces, of links and of the skin [W/K/rad]."""
    k = looked_up(lines, lines.model.tables.conductivity, T)
    a, b, below, above, film = lines.faces
    path = below / k[a] + above / k[b]
    gas = film > 0
    mean = (T[a[gas]] + T[b[gas]]) / 2
    path[gas] += 1 / (film[gas] * np.interp(mean, lines.axis, films.clearance))
    p, q, area = lines.links
    link = area * np.interp((T[p] + T[q]) / 2, lines.axis, films.gap)
    cell, kind, skin, depth = lines.skin
    h = np.empty(cell.size)
    for n in np.unique(kind):
        h[kind == n] = np.interp(T[cell[kind == n]], lines.axis, films.surface[n])
    open_air = h > 0
    outside = np.zeros(cell.size)
    outside[open_air] = skin[open_air] / (
        1 / h[open_air] + depth[open_air] / k[cell[open_air]]
    )
    return 1 / path, link, outside


def right_side(lines, y, films, power):
    """Rate of the unknown [K/s]."""
    T, _ = temperatures(lines, y)
    face, link, outside = conductances(lines, T, films)
    a, b = (np.concatenate([lines.faces[n], lines.links[n]]) for n in (0, 1))
    flow = np.concatenate([face, link]) * (T[a] - T[b])
    cell = lines.skin[0]
    heat = power / (2 * np.pi) * lines.source
    heat = heat + np.bincount(b, flow, y.size) - np.bincount(a, flow, y.size)
    heat -= np.bincount(cell, outside * (T[cell] - films.air), y.size)
    return heat / lines.volume / SCALE


def jacobian(lines, y, films):
    """Its slope, conductances held: sparse, and good enough for Newton's method."""
    T, slope = temperatures(lines, y)
    face, link, outside = conductances(lines, T, films)
    a, b = (np.concatenate([lines.faces[n], lines.links[n]]) for n in (0, 1))
    G, n, cell = np.concatenate([face, link]), y.size, lines.skin[0]
    diagonal = np.bincount(a, G, n) + np.bincount(b, G, n) + np.bincount(cell, outside, n)
    rows = np.concatenate([a, b, np.arange(n)])
    columns = np.concatenate([b, a, np.arange(n)])
    values = np.concatenate([G, G, -diagonal]) * slope[columns] / lines.volume[rows]
    return sp.csc_matrix((values, (rows, columns)), shape=(n, n))


def start(lines):
    """Unknown of a piece at its start temperature."""
    T, y = lines.model.case.surroundings.start, np.empty(lines.volume.size)
    for n, table in enumerate(lines.model.tables.enthalpy):
        y[lines.material == n] = np.interp(T, lines.axis, table) / SCALE
    return y


def solve(model, schedule, *, rtol, atol):
    """Run (duration, pass number or None, power) phases with scipy's BDF.

    Returns one callable a phase, from times (t,) to temperatures (cells, t), the times
    at which phases begin, and the number of evaluations.
    """
    every = [lines_of(model, n) for n in range(len(model.bodies))]
    y, begin, answers, begins, calls = start(every[0]), 0.0, [], [], 0
    for duration, number, power in schedule:
        lines = every[number or 0]
        films = model.films_wait if number is None else model.films_arc
        answer = solve_ivp(
            lambda _, y, at=(lines, films, power): right_side(at[0], y, *at[1:]),
            (begin, begin + duration), y, method="BDF", rtol=rtol, atol=atol,
            jac=lambda _, y, at=(lines, films): jacobian(at[0], y, at[1]),
            dense_output=True, first_step=0.01,
        )  # fmt: skip
        if not answer.success:
            raise RuntimeError(answer.message)
        answers.append(lambda t, at=(lines, answer.sol): temperatures_of(*at, t))
        begins.append(begin)
        y, begin, calls = answer.y[:, -1], begin + duration, calls + answer.nfev
    return answers, np.array(begins), calls


def temperatures_of(lines, sol, t):
    """Temperatures (cells, t) from a dense answer."""
    return np.transpose([temperatures(lines, y)[0] for y in sol(t).T])


def sampled(answers, begins, t):
    """Temperatures (cells, t) of a whole run at times that rise."""
    phase = np.clip(np.searchsorted(begins, t - 1e-9, side="right") - 1, 0, None)
    return np.concatenate([answers[n](t[phase == n]) for n in np.unique(phase)], axis=1)


def at_probes(lines, probes, T):
    """Temperatures (probes, t) from those of the cells; axisymmetric."""
    cell = lines.index[probes.cell[..., 0], probes.cell[..., 2]]
    return np.einsum("pq,pqt->pt", probes.weight, T[cell])


def hottest(lines, number, T):
    """Hottest of the interpass zone (t,)."""
    body = lines.model.bodies[number]
    zone, share = body.zone[1], body.zone_size[0, 1][:, None]
    first, second = (T[lines.index[zone[:, n], zone[:, n + 1]]] for n in (0, 2))
    return (first + share * (second - first)).max(axis=0)


SCHEDULE = ((60.0, 0, 900.0), (90.0, None, 0.0), (60.0, 1, 900.0), (120.0, None, 0.0),
            (60.0, 2, 900.0), (300.0, None, 0.0))  # fmt: skip
