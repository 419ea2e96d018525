"""Heat conduction on any scikit-fem basis: assembly maps and time steps.

The unknown is the temperature; what is stored is the enthalpy at the quadrature points,
so no step can jump over a peak of specific heat. Every matrix is linear in coefficients
at the quadrature points, so the maps from coefficients to matrix are built once. Time:
two-stage, L-stable, order 2, diagonally implicit Runge-Kutta (Alexander 1977, SIAM J.
Numer. Anal. 14: 1006, from memory); simplified Newton, a factorisation kept until it no
longer contracts.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
from fem_materials import AIR
from scipy.sparse.linalg import splu

SIGMA = 5.670374419e-8  # Stefan-Boltzmann [W/m2/K4]
FILM, EMISSIVITY = 10.0, 0.5  # [W/m2/K], [-]
GAMMA = 1.0 - np.sqrt(0.5)


@dataclass(frozen=True)
class Quadrature:
    """Maps between nodal values, quadrature points and matrix entries."""

    value: sp.csr_array  # (points, n)
    weight: np.ndarray  # (points,) [m3] or [m2]
    tested: sp.csr_array  # (n, points), value and weight
    mass: Callable  # coefficient at points -> entries
    slope: sp.csr_array | None = None  # (points x dimensions, n), by element
    slope_tested: sp.csr_array | None = None
    stiffness: Callable | None = None  # coefficient at points -> entries


@dataclass(frozen=True)
class System:
    """A body in one finite-element space."""

    volume: Quadrature
    surface: Quadrature
    law: Callable  # T at the volume points -> stored heat, slope, conductivity
    coupling: sp.csr_array  # exchange between unknowns [W/K]
    coupling_data: np.ndarray  # the same, as entries
    pattern: tuple  # row indices and column starts of the entries
    probes: sp.csr_array


@dataclass(frozen=True)
class Numbering:
    """Which unknown each local node is, and where local matrices go."""

    unknowns: np.ndarray  # (n of the basis,) number of the unknown
    keys: np.ndarray  # column-major keys of all entries

    def of(self, basis):
        """Unknowns (element, i) of a basis."""
        return self.unknowns[basis.element_dofs].T.astype(np.int64)

    def place(self, basis):
        """Entry of each term of the local matrices (element x i x j,)."""
        dofs, n = self.of(basis), self.count
        keys = dofs[:, None, :] * n + dofs[:, :, None]
        return np.searchsorted(self.keys, keys).ravel()

    @property
    def count(self):
        """Number of unknowns."""
        return int(self.unknowns.max()) + 1


def numbering(basis, coupling=None, unknowns=None):
    """Numbering, matrix pattern (row indices, column starts), coupling as entries."""
    unknowns = np.arange(basis.N) if unknowns is None else unknowns
    n, dofs = int(unknowns.max()) + 1, unknowns[basis.element_dofs].astype(np.int64)
    link = (sp.csr_array((n, n)) if coupling is None else coupling).tocoo()
    extra = link.col.astype(np.int64) * n + link.row
    keys = np.unique(np.concatenate([(dofs[None] * n + dofs[:, None]).ravel(), extra]))
    data = np.zeros(len(keys))
    np.add.at(data, np.searchsorted(keys, extra), link.data)
    pattern = keys % n, np.searchsorted(keys, np.arange(n + 1) * n)
    return Numbering(unknowns, keys), pattern, data


def quadrature(basis, number, jacobian):
    """Maps for values; ``jacobian`` (element, point) turns coordinates into m3 or m2."""
    N = np.array([np.broadcast_to(b[0], basis.dx.shape) for b in basis.basis])
    N, weight = N.transpose(1, 2, 0), basis.dx * jacobian  # (element, point, i)
    value = _interpolation(N, number.of(basis), number.count)
    tested = sp.csr_array(value.T @ sp.diags_array(weight.ravel()))
    return Quadrature(value, weight.ravel(), tested, _assembly(N, weight, basis, number))


def with_slopes(basis, number, jacobian, metric):
    """Maps for values and slopes; ``metric`` (d, element, point) scales each slope."""
    plain = quadrature(basis, number, jacobian)
    shape, d = basis.dx.shape, len(metric)
    G = [np.broadcast_to(b[0].grad, (d, *shape)) * metric for b in basis.basis]
    G = np.array(G).transpose(2, 3, 1, 0).reshape(shape[0], -1, len(G))
    weight = np.repeat(plain.weight.reshape(shape), d, axis=1)  # point x d
    slope = _interpolation(G, number.of(basis), number.count)
    return Quadrature(
        plain.value,
        plain.weight,
        plain.tested,
        plain.mass,
        slope,
        sp.csr_array(slope.T @ sp.diags_array(weight.ravel())),
        _assembly(G, weight, basis, number, d),
    )


def _interpolation(f, dofs, n):
    """(points, n) from shape functions f (element, point, i)."""
    rows = np.arange(f[..., 0].size).repeat(f.shape[-1])
    cols = np.broadcast_to(dofs[:, None, :], f.shape).ravel()
    return sp.csr_array((f.ravel(), (rows, cols)), shape=(f[..., 0].size, n))


def _assembly(f, weight, basis, number, repeat=1):
    """Function from a coefficient at points to the matrix entries of (f, f)."""
    f, place, size = np.ascontiguousarray(f), number.place(basis), len(number.keys)

    def assemble(coefficient):
        scale = weight * coefficient.reshape(len(f), -1).repeat(repeat, axis=1)
        local = np.matmul(f.transpose(0, 2, 1), f * scale[:, :, None])
        return np.bincount(place, local.ravel(), size)

    return assemble


def surface_loss(system, T):
    """Heat lost to the air [W/m2] at the surface points, and its slope [W/m2/K]."""
    at = system.surface.value @ T
    cube = at * at * at
    flux = FILM * (at - AIR) + EMISSIVITY * SIGMA * (cube * at - AIR**4)
    return flux, FILM + 4 * EMISSIVITY * SIGMA * cube


def stored_heat(system, T):
    """Heat stored since 20 degC [J]."""
    return system.volume.weight @ system.law(system.volume.value @ T)[0]


def lost_power(system, T):
    """Heat going to the air [W]."""
    return system.surface.weight @ surface_loss(system, T)[0]


def direct(matrix):
    """Sparse LU of a nearly symmetric matrix: a function that solves."""
    return splu(
        matrix, "MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
    ).solve


class Stepper:
    """Runge-Kutta steps; the kept factorisation and counters are its only state."""

    def __init__(self, system, tolerance, factorise=direct):
        self.system, self.tolerance, self.factorise = system, tolerance, factorise
        self.solve, self.solve_for, self.factorised, self.solved = None, None, 0, 0

    def renew(self, T, dt):
        """Factorise the Jacobian at T (slope of the conductivity left out)."""
        s = self.system
        _, slope, k = s.law(s.volume.value @ T)
        data = s.volume.mass(slope) + dt * (
            s.volume.stiffness(k)
            + s.surface.mass(surface_loss(s, T)[1])
            + s.coupling_data
        )
        matrix = sp.csc_matrix((data, *s.pattern), shape=(len(T), len(T)))
        self.solve, self.solve_for = self.factorise(matrix), dt
        self.factorised += 1

    def stored(self, T):
        """Stored heat, tested with every shape function [J]."""
        s = self.system
        return s.volume.tested @ s.law(s.volume.value @ T)[0]

    def left_side(self, T, dt, power):
        """Stored heat less dt times what flows in."""
        s, v = self.system, self.system.volume
        H, _, k = s.law(v.value @ T)
        slopes = (v.slope @ T).reshape(len(k), -1) * k[:, None]
        flow = v.slope_tested @ slopes.ravel() + s.coupling @ T - power
        flow += s.surface.tested @ surface_loss(s, T)[0]
        return v.tested @ H + dt * flow

    def stage(self, T, target, dt, power):
        """The T whose left side is ``target``."""
        if self.solve_for != dt:
            self.renew(T, dt)
        residual, last = target - self.left_side(T, dt, power), np.inf
        for _ in range(60):
            change = self.solve(residual)
            self.solved += 1
            size = abs(change).max()
            if size < self.tolerance:
                return T + change
            T, residual, damped = self.damped(T, change, residual, target, dt, power)
            if damped or size > 0.2 * last:
                self.renew(T, dt)
            last = size
        message = "Newton does not converge: take smaller steps"
        raise RuntimeError(message)

    def damped(self, T, change, residual, target, dt, power):
        """A step along ``change`` that makes the residual smaller; melting needs it."""
        norm = np.linalg.norm(residual)
        for factor in 0.5 ** np.arange(6):
            new = T + factor * change
            left = target - self.left_side(new, dt, power)
            if np.linalg.norm(left) < norm:
                break
        return new, left, factor < 1.0

    def step(self, T, guess, dt, powers):
        """New T and the heat lost to the air [J]; ``powers`` at gamma dt and at dt."""
        part, begin = GAMMA * dt, self.stored(T)
        first = self.stage(T + GAMMA * (guess - T), begin, part, powers[0])
        target = begin + (1 - GAMMA) / GAMMA * (self.stored(first) - begin)
        last = self.stage(guess, target, part, powers[1])
        rates = [lost_power(self.system, x) for x in (first, last)]
        return last, dt * ((1 - GAMMA) * rates[0] + GAMMA * rates[1])


def ladder(duration, first, repeat, largest):
    """Steps after an event: each size ``repeat`` times (the first twice that), doubled."""
    steps, size = [first] * repeat, first
    while size < largest and sum(steps) + repeat * size < duration:
        steps += [size] * repeat
        size *= 2
    rest = duration - sum(steps)
    number = int(np.ceil(rest / largest - 1e-9))
    return np.array(steps + [rest / number] * number)


def march(stepper, T, begin, steps, power):
    """One segment: T at its end, heat lost [J], times and probe values at every step.

    ``power(t)`` is the load vector [W].
    """
    times, rows, lost, guess = [begin], [stepper.system.probes @ T], 0.0, T
    for dt, following in zip(steps, np.append(steps[1:], steps[-1]), strict=True):
        now = times[-1]
        powers = power(now + GAMMA * dt), power(now + dt)
        new, loss = stepper.step(T, guess, dt, powers)
        guess = new + (new - T) * following / dt
        T, lost = new, lost + loss
        times.append(now + dt)
        rows.append(stepper.system.probes @ T)
    return T, lost, np.array(times), np.array(rows)
