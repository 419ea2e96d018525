"""The solver's scheme for the ring in numpy and scipy: one sparse system per step.

Same equations, cells, conductances, capacities and time levels as ``interpass.heat.kernels``; the
step is solved whole by conjugate gradients instead of in turn along r, theta and z. To
measure against, and to check that splitting changes little.
"""

import numpy as np
import scipy.sparse as sp
from interpass.heat.arrays import PLANE, R_ABOVE, R_BELOW, RADIUS, Z_ABOVE, Z_BELOW
from interpass.heat.kernel import implicitness, ring_shares
from scipy.sparse.linalg import LinearOperator, cg

ACCURACY = 1e-5  # of the residual, scipy's own; tighter moves the answer by 0.001 K


class PlainRing:
    """The body of a pass with its bead in place, and its temperatures.

    The end gap's gas, small and explicit in the solver, is left out.
    """

    def __init__(self, state):
        body, self.tables = state.body, state.model.tables
        self.n = state.field.built.size
        self.where = np.argwhere(body.volume[1] > 0)
        number = np.full(body.volume[1].shape, -1)
        number[tuple(self.where.T)] = np.arange(len(self.where))
        self.number, self.body = number, body
        i, j = self.where.T
        self.volume = self._ring(body.volume[1][i, j])
        self.material = self._ring(body.material[i, j])
        self.source = body.source[1][i, j]
        self.T = state.field.temperature[i, :, j].ravel().copy()
        self.H = state.field.enthalpy[i, :, j].ravel().copy()
        self.slope = np.zeros_like(self.T)
        self.axis = self.tables.start + self.tables.step * np.arange(
            self.tables.enthalpy.shape[1]
        )
        self._faces()
        self._surfaces()
        self._pattern()

    def _ring(self, section):
        return np.repeat(section, self.n)

    def _faces(self):
        """Pairs of cells and the paths in either; the clearance's pairs come last."""
        body, number = self.body, self.number
        pairs, below, above = [], [], []
        film = np.zeros(number.shape, dtype=bool)
        film[body.film_row] = body.film[0] > 0
        for axis, low, high in (
            (0, body.section[R_BELOW, 1], body.section[R_ABOVE, 1]),
            (1, body.section[Z_BELOW, 1], body.section[Z_ABOVE, 1]),
        ):
            before = np.roll(number, 1, axis)
            good = np.isfinite(low) & np.isfinite(high) & (number >= 0) & (before >= 0)
            good &= ~(film & (axis == 0))
            pairs.append(np.stack([before[good], number[good]]))
            below.append(low[good])
            above.append(high[good])
        j = np.flatnonzero(body.film[0] > 0)
        pairs.append(number[[body.film_row - 1, body.film_row]][:, j])
        below.append(body.film[1, j])
        above.append(body.film[2, j])
        self.film_area = self._ring(body.film[0, j])
        m = np.arange(self.n)
        spokes = [(p[:, :, None] * self.n + m).reshape(2, -1) for p in pairs]
        cells = np.arange(len(self.where))[:, None] * self.n
        spokes.insert(0, np.stack([cells + (m - 1) % self.n, cells + m]).reshape(2, -1))
        i, q = self.where.T
        width = 2 * np.pi / self.n
        round_ring = (
            body.section[RADIUS, 1, i, q] * width**2 / (2 * body.section[PLANE, 1, i, q])
        )
        self.a, self.b = np.concatenate(spokes, axis=1)
        self.below = self._ring(np.concatenate([round_ring, *below]))
        self.above = self._ring(np.concatenate([round_ring, *above]))

    def _surfaces(self):
        body = self.body
        e = np.flatnonzero(body.surface_area[1] > 0)
        i, j, self.kind = body.surface[1][e].T
        cell = self.number[i, j]
        self.surface_cell = (cell[:, None] * self.n + np.arange(self.n)).ravel()
        self.surface_area = self._ring(body.surface_area[1][e])
        self.surface_depth = self._ring(body.surface_size[1, 1, e])

    def _pattern(self):
        size = self.T.size
        rows = np.concatenate([np.arange(size), self.a, self.b])
        columns = np.concatenate([np.arange(size), self.b, self.a])
        entries = np.arange(1, rows.size + 1, dtype=float)
        self.matrix = sp.coo_array((entries, (rows, columns)), (size, size)).tocsr()
        self.order = self.matrix.data.astype(int) - 1

    def table(self, name, x):
        """Property of every cell's metal at ``x`` [K], or temperature at its enthalpy."""
        out = np.empty_like(x)
        for metal in range(self.tables.enthalpy.shape[0]):
            here = self.material == metal
            if name == "temperature":
                out[here] = np.interp(x[here], self.tables.enthalpy[metal], self.axis)
            else:
                out[here] = np.interp(
                    x[here], self.axis, getattr(self.tables, name)[metal]
                )
        return out

    def step(self, films, arc, angle, dt):
        """One step; done twice while the arc travels, as the solver does."""
        for _ in range(2 if arc.power > 0 else 1):
            T, H = self._solve(films, arc, angle + arc.turn_rate * dt / 2, dt)
            self.slope = (T - self.T) / dt
        self.T, self.H = T, H

    def _solve(self, films, arc, angle, dt):
        middle, guess = self.T + dt / 2 * self.slope, dt * self.slope
        k = self.table("conductivity", middle)
        capacity = self._capacity(guess)
        G = self._conductances(films, k, middle)
        loss = self._loss(films, k, middle)
        flow = G * (self.T[self.a] - self.T[self.b])
        heat = self._arc(arc, angle) - loss * (self.T - films.air)
        heat += np.bincount(self.b, flow, heat.size)
        heat -= np.bincount(self.a, flow, heat.size)
        w = implicitness(dt) * dt
        both = np.bincount(self.a, G, heat.size) + np.bincount(self.b, G, heat.size)
        diagonal = capacity + w * (loss + both)
        self.matrix.data = np.concatenate([diagonal, -w * G, -w * G])[self.order]
        jacobi = LinearOperator(self.matrix.shape, lambda v: v.ravel() / diagonal)
        rise, _ = cg(self.matrix, dt * heat, x0=guess, rtol=ACCURACY, M=jacobi)
        H = self.H + capacity * rise / self.volume
        return self.table("temperature", H), H

    def _capacity(self, guess):
        moves = np.abs(guess) > 0.01
        change = np.where(moves, guess, 0.01)
        H = np.where(moves, self.H, self.table("enthalpy", self.T))
        return self.volume * (self.table("enthalpy", self.T + change) - H) / change

    def _conductances(self, films, k, middle):
        path = self.below / k[self.a] + self.above / k[self.b]
        last = self.film_area.size
        mean = (middle[self.a[-last:]] + middle[self.b[-last:]]) / 2
        h = np.interp(mean, self.axis, films.clearance)
        path[-last:] += 1 / (h * self.film_area)
        return 1 / path

    def _loss(self, films, k, middle):
        T = middle[self.surface_cell].reshape(self.kind.size, self.n)
        h = np.stack(
            [
                np.interp(row, self.axis, films.surface[kind])
                for kind, row in zip(self.kind, T, strict=True)
            ]
        )
        with np.errstate(divide="ignore"):
            path = 1 / h.ravel() + self.surface_depth / k[self.surface_cell]
        return np.bincount(self.surface_cell, self.surface_area / path, self.T.size)

    def _arc(self, arc, angle):
        share = np.zeros(self.n)
        if arc.power > 0:
            ring_shares(angle, arc.spread, share)
        per_radian = share * arc.power / (2 * np.pi / self.n)
        return np.outer(self.source, per_radian).ravel()
