"""An independent finite-element answer for a reference socket joint, with scikit-fem.

Nothing here comes from the package under test: own property formulas, own mesh, own
time stepping. Running the file repeats the study in space and time and writes
``fem_joint.csv`` beside it::

    python tests/reference/fem_joint.py            # the reference: a few minutes
    python tests/reference/fem_joint.py --coarse   # quick P1 runs, timed and compared

The joint (r-z section turned round the axis; z = 0 is the socket face, positive into the
fitting). Pipe 33.4 x 4.38 mm from z = -80 to 10.9 mm, 316L; socket 33.9 mm bore,
45.28 mm outside, 12.5 mm deep, body bore 26.7 mm, 40 mm long, carbon steel; fillet of
5 mm legs, 316L, there from the start. The pipe and the socket exchange 150 W/m2/K at the
mean clearance radius; the bore, the end gap and both ends exchange nothing. Outer
surfaces: 10 W/m2/K and emissivity 0.5 to 20 degC. Three passes of 900 W net for 60 s,
waits of 90 and 120 s, 300 s of cooling. Each pass heats its own third of the fillet
section evenly; the thirds are nested triangles from the root.

Method: P2 (or P1) triangles on a mesh with lines along every feature, graded to the two
re-entrant corners of the clearance. The unknown is the temperature, what is stored is the
enthalpy at the quadrature points, so the 735 degC peak of carbon steel cannot be stepped
over. Time: two-stage L-stable diagonally implicit Runge-Kutta (Alexander 1977, SIAM J.
Numer. Anal. 14, theorem 5), restarted at arc on and arc off; simplified Newton, the
factors kept until they no longer contract. Matrices are linear in the coefficients at
the quadrature points, so their maps are assembled once.

Sources: 316L conductivity and specific heat, Kim 1975 (ANL-75-55), read in public
restatements; density held at his fit for 20 degC. Carbon steel, EN 1993-1-2:2005 clause
3.4.1, read in a published restatement (density 7850 kg/m3 from memory).
"""

import argparse
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import scipy
import scipy.sparse as sp
import skfem
from scipy.interpolate import CubicSpline
from scipy.sparse.linalg import splu

MM = 1e-3
ZERO, SIGMA = 273.15, 5.670374419e-8  # degC to K [K], Stefan-Boltzmann [W/m2/K4]
AIR, FILM, EMISSIVITY = 20.0 + ZERO, 10.0, 0.5
PIPE_IN, PIPE_OUT = 12.32 * MM, 16.7 * MM
SOCKET, BODY, OUTSIDE = 16.95 * MM, 13.35 * MM, 22.64 * MM
PIPE_START, PIPE_END, DEPTH, LENGTH = -80 * MM, 10.9 * MM, 12.5 * MM, 40 * MM
LEG, CLEARANCE = 5 * MM, 150.0  # [m], [W/m2/K]
POWER, PASSES = 900.0, ((0.0, 60.0), (150.0, 210.0), (330.0, 390.0))  # [W], on, off [s]
END = 690.0
PROBES = {
    "A": (14.5, -2.0),
    "B": (16.0, -20.0),
    "C": (20.0, 5.0),
    "D": (18.0, 25.0),
    "E": (17.7, -1.2),
}  # (r, z) [mm]
TIMES = np.arange(0.0, END + 1.0, 5.0)
GAMMA = 1.0 - np.sqrt(0.5)


# Materials: T in K -> stored heat J/m3 from 20 degC, its slope J/m3/K, conductivity W/m/K
SOLIDUS, LIQUIDUS, LATENT = 1648.15, 1673.15, 270e3
DENSITY_316L, DENSITY_STEEL = 7957.478, 7850.0


def stainless(T):
    """316L: Kim 1975, latent heat spread evenly from solidus to liquidus."""
    H = 4184 * (0.1097 * (T - AIR) + 3.174e-5 / 2 * (T**2 - AIR**2))
    c = 4184 * (0.1097 + 3.174e-5 * T)
    melting = (T > SOLIDUS) & (T < LIQUIDUS)
    H = H + LATENT * np.clip((T - SOLIDUS) / (LIQUIDUS - SOLIDUS), 0, 1)
    c = c + melting * LATENT / (LIQUIDUS - SOLIDUS)
    return DENSITY_316L * H, DENSITY_316L * c, 9.248 + 0.01571 * T


def _polynomial(t):
    return 425 * t + 0.773 / 2 * t**2 - 1.69e-3 / 3 * t**3 + 2.22e-6 / 4 * t**4


def _below_peak(t):
    return 666 * t - 13002 * np.log(738 - t)


def _above_peak(t):
    return 545 * t + 17820 * np.log(t - 731)


AT_600 = _polynomial(600.0) - _polynomial(20.0)
AT_735 = AT_600 + _below_peak(735.0) - _below_peak(600.0)
AT_900 = AT_735 + _above_peak(900.0) - _above_peak(735.0)


def carbon_steel(T):
    """Carbon steel: EN 1993-1-2 clause 3.4.1, specific heat integrated in closed form."""
    t = T - ZERO
    low, high = np.minimum(t, 735.0), np.clip(t, 735.0, 900.0)
    where = [t < 600, t < 735, t < 900]
    H = np.select(
        where,
        [
            _polynomial(t) - _polynomial(20.0),
            AT_600 + _below_peak(low) - _below_peak(600.0),
            AT_735 + _above_peak(high) - _above_peak(735.0),
        ],
        AT_900 + 650 * (t - 900),
    )
    c = np.select(
        where,
        [
            425 + 0.773 * t - 1.69e-3 * t**2 + 2.22e-6 * t**3,
            666 + 13002 / (738 - low),
            545 + 17820 / (high - 731),
        ],
        650.0,
    )
    k = np.where(t < 800, 54 - 3.33e-2 * t, 27.3)
    return DENSITY_STEEL * H, DENSITY_STEEL * c, k


# Mesh
def line(*stations):
    """Points through (position, cell size) stations, the size changing linearly."""
    points = [np.array([stations[0][0]])]
    for (a, h_a), (b, h_b) in zip(stations[:-1], stations[1:], strict=True):
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
        [PIPE_OUT + LEG * s[s > root - 1e-9], line((PIPE_OUT + LEG, h), (OUTSIDE, h))[1:]]
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
        np.round(p / 1e-9).astype(np.int64), axis=1, return_index=True, return_inverse=True
    )
    corners = inverse.ravel()[t]
    return skfem.MeshTri(np.ascontiguousarray(p[:, first]), np.ascontiguousarray(corners))


# Semi-discrete system: everything linear in coefficients at quadrature points
@dataclass(frozen=True)
class Quadrature:
    """Values at quadrature points: ``value @ T``, weights with 2 pi r, and pattern maps."""

    value: sp.csr_array  # (points, n)
    weight: np.ndarray  # (points,) [m3] or [m2]
    slope: tuple = ()  # two (points, n) arrays, d/dr and d/dz
    mass: sp.csr_array | None = None  # coefficient at points -> matrix data
    stiffness: sp.csr_array | None = None


@dataclass(frozen=True)
class System:
    """The joint in one finite-element space."""

    basis: skfem.CellBasis
    volume: Quadrature
    surface: Quadrature
    steel: np.ndarray  # (points,) bool, carbon steel there
    sources: np.ndarray  # (3, n) net power of each pass [W]
    coupling: sp.csr_array  # clearance [W/K]
    coupling_data: np.ndarray
    pattern: tuple  # indices, indptr
    probes: sp.csr_array


def _pattern(basis, coupling, n):
    """Sparsity of all terms (column major keys), and the place of each local entry."""
    dofs = basis.element_dofs
    local = (dofs[None, :, :].astype(np.int64) * n + dofs[:, None, :]).ravel()
    link = coupling.tocoo()
    extra = link.col.astype(np.int64) * n + link.row
    keys = np.unique(np.concatenate([local, extra]))
    indptr = np.searchsorted(keys, np.arange(n + 1) * n)
    data = np.zeros(len(keys))
    np.add.at(data, np.searchsorted(keys, extra), link.data)
    return keys, (keys % n, indptr), data


def _quadrature(basis, keys=None, n=0, gradient=False):
    """Interpolation and assembly maps of a scikit-fem basis (volume or facets)."""
    dofs, shape = basis.element_dofs, basis.dx.shape
    points = np.arange(shape[0] * shape[1]).reshape(shape)
    N = np.array([np.broadcast_to(b[0], shape) for b in basis.basis])
    weight = (2 * np.pi * np.asarray(basis.global_coordinates())[0] * basis.dx).ravel()

    def interpolate(f):
        cols = np.broadcast_to(dofs[:, :, None], f.shape)
        rows = np.broadcast_to(points, f.shape)
        return sp.csr_array(
            (f.ravel(), (rows.ravel(), cols.ravel())), shape=(points.size, n)
        )

    def scatter(local):
        key = dofs[None, :, :].astype(np.int64) * n + dofs[:, None, :]  # (i, j, element)
        place = np.searchsorted(keys, key)[..., None]
        values = (local * weight.reshape(shape)).ravel()
        rows = np.broadcast_to(place, local.shape).ravel()
        cols = np.broadcast_to(points, local.shape).ravel()
        return sp.csr_array((values, (rows, cols)), shape=(len(keys), points.size))

    mass = scatter(N[:, None] * N[None, :])
    if not gradient:
        return Quadrature(interpolate(N), weight, (), mass)
    G = np.array([np.broadcast_to(b[0].grad, (2, *shape)) for b in basis.basis])
    stiffness = scatter(np.einsum("idep,jdep->ijep", G, G))
    slope = (interpolate(G[:, 0]), interpolate(G[:, 1]))
    return Quadrature(interpolate(N), weight, slope, mass, stiffness)


def is_outer(x):
    """Mid-points of facets that face the air."""
    r, z = x
    tiny = 1e-7
    pipe = (abs(r - PIPE_OUT) < tiny) & (z < -LEG)
    face = abs(r - PIPE_OUT - LEG - z) < tiny
    socket_face = (abs(z) < tiny) & (r > PIPE_OUT + LEG)
    return pipe | (face & (z < 0)) | socket_face | (abs(r - OUTSIDE) < tiny)


def _clearance(mesh, basis):
    """Exchange across the clearance; Gauss points on the nodes of both sides."""
    z = mesh.p[1][(abs(mesh.p[0] - PIPE_OUT) < 1e-8) | (abs(mesh.p[0] - SOCKET) < 1e-8)]
    z = np.unique(np.round(z[(z > -1e-9) & (z < PIPE_END + 1e-9)], 12))
    x, w = np.polynomial.legendre.leggauss(3)
    middle, half = (z[1:] + z[:-1]) / 2, np.diff(z) / 2
    at = (middle[:, None] + half[:, None] * x).ravel()
    sides = [
        basis.probes(np.array([np.full_like(at, r), at]))
        for r in (PIPE_OUT - 1e-10, SOCKET + 1e-10)
    ]
    jump = sp.csr_array(sides[0] - sides[1])
    g = 2 * np.pi * (PIPE_OUT + SOCKET) / 2 * CLEARANCE
    return sp.csr_array(jump.T @ sp.diags_array(g * (half[:, None] * w).ravel()) @ jump)


def build(element, mesh):
    """The semi-discrete system on a mesh with P1 or P2 elements."""
    shape, order = {"P1": (skfem.ElementTriP1(), 2), "P2": (skfem.ElementTriP2(), 5)}[element]
    basis = skfem.Basis(mesh, shape, intorder=order)
    outer = mesh.facets_satisfying(is_outer, boundaries_only=True)
    facets = skfem.FacetBasis(mesh, shape, facets=outer, intorder=order)
    n = basis.N
    coupling = _clearance(mesh, basis)
    keys, pattern, coupling_data = _pattern(basis, coupling, n)
    volume = _quadrature(basis, keys, n, gradient=True)
    r, z = mesh.p[:, mesh.t].mean(axis=1)
    each = len(basis.dx[0])
    steel = np.repeat(z > 0, each) & np.repeat(r > PIPE_OUT, each) | np.repeat(z > DEPTH, each)
    return System(
        basis, volume, _quadrature(facets, keys, n), steel,
        np.array([_source(volume, r, z, each, k) for k in range(3)]),
        coupling, coupling_data, pattern,
        sp.csr_array(basis.probes(np.array(list(PROBES.values())).T * MM)),
    )  # fmt: skip


def _source(volume, r, z, each, number):
    """Load vector of pass ``number`` (from 0): its power spread evenly over its bead."""
    share = ((r - PIPE_OUT - z) / LEG) ** 2 * 3
    bead = (share > number) & (share < number + 1) & (z < 0) & (r > PIPE_OUT)
    weight = volume.weight * np.repeat(bead, each)
    return POWER * (volume.value.T @ weight) / weight.sum()


# Time stepping
def heat(system, T):
    """Stored heat J/m3, its slope and the conductivity at the quadrature points."""
    at = system.volume.value @ T
    out = np.empty((3, len(at)))
    out[:, ~system.steel] = stainless(at[~system.steel])
    out[:, system.steel] = carbon_steel(at[system.steel])
    return out


def surface_loss(system, T):
    """Heat flux lost to the air at the surface quadrature points and its slope."""
    at = system.surface.value @ T
    flux = FILM * (at - AIR) + EMISSIVITY * SIGMA * (at**4 - AIR**4)
    return flux, FILM + 4 * EMISSIVITY * SIGMA * at**3


class Stepper:
    """Two-stage Runge-Kutta with kept factors: the factors are the only state."""

    def __init__(self, system, tolerance):
        self.system, self.tolerance = system, tolerance
        self.factors, self.factored_for, self.count = None, None, [0, 0]

    def factorise(self, T, dt):
        """LU of the Jacobian (conductivity slope left out) at T."""
        s = self.system
        _, slope, k = heat(s, T)
        data = s.volume.mass @ slope + dt * (
            s.volume.stiffness @ k
            + s.surface.mass @ surface_loss(s, T)[1]
            + s.coupling_data
        )
        matrix = sp.csc_matrix((data, *s.pattern), shape=(len(T), len(T)))
        self.factors = splu(
            matrix, "MMD_AT_PLUS_A", diag_pivot_thresh=0.0,
            options={"SymmetricMode": True},
        )  # fmt: skip
        self.factored_for = dt
        self.count[0] += 1

    def balance(self, T, dt, power):
        """Stored heat, and stored heat less dt times what flows in; both tested."""
        s, v = self.system, self.system.volume
        H, _, k = heat(s, T)
        flux, _ = surface_loss(s, T)
        stored = v.value.T @ (v.weight * H)
        flow = s.surface.value.T @ (s.surface.weight * flux) + s.coupling @ T - power
        for slope in v.slope:
            flow += slope.T @ (v.weight * k * (slope @ T))
        return stored, stored + dt * flow

    def stage(self, T, target, dt, power):
        """Solve stored(T) - dt flow(T) = target by simplified Newton."""
        last = np.inf
        if self.factored_for != dt:
            self.factorise(T, dt)
        for _ in range(30):
            stored, left = self.balance(T, dt, power)
            change = self.factors.solve(target - left)
            self.count[1] += 1
            T = T + change
            size = abs(change).max()
            if size < self.tolerance:
                return T
            if size > 0.2 * last:
                self.factorise(T, dt)
            last = size
        message = "Newton does not converge: take smaller steps"
        raise RuntimeError(message)

    def step(self, T, guess, dt, power):
        """One step; returns the new T and the heat lost to the air [J]."""
        part = GAMMA * dt
        begin, _ = self.balance(T, part, power)
        first = self.stage(T + GAMMA * (guess - T), begin, part, power)
        stored, _ = self.balance(first, part, power)
        target = begin + (1 - GAMMA) / GAMMA * (stored - begin)
        last = self.stage(guess, target, part, power)
        s = self.system.surface
        rates = [s.weight @ surface_loss(self.system, x)[0] for x in (first, last)]
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


def segments():
    """(begin, end, pass number or None) between one arc event and the next."""
    events = [t for span in PASSES for t in span] + [END]
    return [
        (a, b, k // 2 if k % 2 == 0 else None)
        for k, (a, b) in enumerate(zip(events[:-1], events[1:], strict=True))
    ]


def integrate(system, dt, tolerance):
    """March through all passes: probe histories [degC] at TIMES, ledger, counts, peaks."""
    stepper = Stepper(system, tolerance)
    T = np.full(system.basis.N, AIR)
    lost, number, peak = 0.0, 0, np.zeros(2)
    found = np.empty((len(TIMES), len(PROBES)))
    for begin, end, k in segments():
        power = 0 * T if k is None else system.sources[k]
        times, rows, guess = [begin], [system.probes @ T], T
        for size, following in _pairs(ladder(end - begin, *dt)):
            new, loss = stepper.step(T, guess, size, power)
            guess = new + (new - T) * following / size
            T, lost, number = new, lost + loss, number + 1
            times.append(times[-1] + size)
            rows.append(system.probes @ T)
        peak = np.maximum(peak, _peaks(system, T))
        here = (begin - 1e-9 <= TIMES) & (end + 1e-9 >= TIMES)
        found[here] = CubicSpline(times, np.array(rows) - ZERO)(TIMES[here])
    stored = system.volume.weight @ heat(system, T)[0]
    ledger = {"arc": 3 * 60 * POWER, "stored": stored, "lost": lost}
    return found, ledger, {"steps": number, "factorised": stepper.count[0],
                           "solved": stepper.count[1], "peak_degC": peak - ZERO}  # fmt: skip


def _pairs(steps):
    return zip(steps, np.append(steps[1:], steps[-1]), strict=True)


def _peaks(system, T):
    at = system.volume.value @ T
    return np.array([at[~system.steel].max(), at[system.steel].max()])


# The one call for others
QUICK = (0.25, 3, 10.0)


CORNERS = np.array(
    [(PIPE_OUT, 0), (SOCKET, 0), (SOCKET, DEPTH), (PIPE_OUT, -LEG), (PIPE_OUT + LEG, 0)]
)  # where the metal turns more than half a circle


def mesh_for(size, refine=0, corners=0):
    """Section mesh: ``size`` in m, refined everywhere, then ``corners`` times at corners."""
    mesh = joint_mesh(size, size / 5).refined(refine)
    for k in range(corners):
        middle = mesh.p[:, mesh.t].mean(axis=1).T
        far = np.linalg.norm(middle[:, None] - CORNERS, axis=2).min(axis=1)
        mesh = mesh.refined(np.flatnonzero(far < 0.5 * MM / 2**k))
    return mesh


def solve(element="P2", size=0.5 * MM, dt=QUICK, tolerance=1e-3, refine=0, corners=0):
    """Histories at the probes.

    Parameters
    ----------
    element : {"P2", "P1"}
    size : float
        Cells near the weld [m]; coarser along the pipe and the body.
    dt : tuple
        First step after an arc event [s], repeats of each step size, largest step [s].
    tolerance : float
        Largest Newton correction left [K].
    refine : int
        Uniform refinements of the mesh.
    corners : int
        Further refinements at the re-entrant corners.

    Returns
    -------
    times, temps
        (139,) [s]; (139, 5) [degC], probes A to E.
    """
    system = build(element, mesh_for(size, refine, corners))
    return TIMES, integrate(system, dt, tolerance)[0]


# Checks and the study
LOOSE, MIDDLE, FINE = (5 / 64, 8, 2.5), (5 / 128, 16, 1.25), (5 / 256, 32, 0.625)
RESULT = Path(__file__).with_suffix(".csv")


def check(system):
    """Volume, outer surface, beads and matrices against known values; worst deviation."""
    v, s = system.volume, system.surface
    ring = lambda a, b, length: np.pi * (b**2 - a**2) * length  # noqa: E731
    bead = lambda part: np.pi * (PIPE_OUT + part * LEG / 3) * (part * LEG) ** 2  # noqa: E731
    known = ring(PIPE_IN, PIPE_OUT, PIPE_END - PIPE_START) + ring(SOCKET, OUTSIDE, DEPTH)
    known += ring(BODY, OUTSIDE, LENGTH - DEPTH) + bead(1.0)
    outer = 2 * np.pi * (PIPE_OUT * (-LEG - PIPE_START) + OUTSIDE * LENGTH)
    outer += np.pi * (OUTSIDE**2 - (PIPE_OUT + LEG) ** 2)
    outer += np.pi * (2 * PIPE_OUT + LEG) * LEG * np.sqrt(2)
    ratios = [v.weight.sum() / known, s.weight.sum() / outer]
    r, z = system.basis.mesh.p[:, system.basis.mesh.t].mean(axis=1)
    share = np.repeat(((r - PIPE_OUT - z) / LEG) ** 2 * 3, len(system.basis.dx[0]))
    fill = np.repeat((z < 0) & (r > PIPE_OUT), len(system.basis.dx[0]))
    ratios += [v.weight @ (fill & (share < k)) / bead(np.sqrt(k / 3)) for k in (1, 2, 3)]
    ratios += list(system.sources.sum(axis=1) / POWER)
    return max(abs(np.array(ratios) - 1).max(), _matrix_deviation(system))


def _matrix_deviation(system):
    """The assembly maps against scikit-fem's own assembly, for a field 20 to 900 degC."""
    basis = system.basis
    T = AIR + 880 * (basis.doflocs[1] - PIPE_START) / (LENGTH - PIPE_START)
    _, c, k = heat(system, T)
    shape = basis.dx.shape

    @skfem.BilinearForm
    def both(u, v, w):
        conduction = w.k * (u.grad[0] * v.grad[0] + u.grad[1] * v.grad[1])
        return 2 * np.pi * w.x[0] * (w.c * u * v + 0.01 * conduction)

    expected = both.assemble(basis, c=c.reshape(shape), k=k.reshape(shape))
    data = system.volume.mass @ c + 0.01 * (system.volume.stiffness @ k)
    ours = sp.csc_matrix((data, *system.pattern), shape=expected.shape)
    return abs(ours - expected).max() / abs(expected).max()


class Study:
    """Runs by name, with what is said of them; the sayings become the CSV header."""

    def __init__(self):
        self.runs, self.said = {}, []

    def say(self, text):
        print(text, flush=True)  # noqa: T201
        self.said.append(text)

    def run(self, name, size, dt, corners, element="P2", tolerance=1e-5):
        system = build(element, mesh_for(size, 0, corners))
        deviation, built = check(system), time.perf_counter()
        found, ledger, count = integrate(system, dt, tolerance)
        took = time.perf_counter() - built
        closure = 1 - (ledger["stored"] + ledger["lost"]) / ledger["arc"]
        self.runs[name] = found
        self.say(
            f"{name}: {element} {size / MM:g} mm, {corners} corner refinements, "
            f"{system.basis.N} unknowns, {count['steps']} steps up to {dt[2]:g} s, "
            f"solve {took:.1f} s; known integrals and matrices "
            f"within {deviation:.0e}; stored {ledger['stored']:.1f} J, "
            f"lost {ledger['lost']:.1f} J, closure {closure:.0e}"
        )
        return count

    def compare(self, a, b):
        d = abs(self.runs[a] - self.runs[b])
        each = " ".join(f"{p} {x:.4f}" for p, x in zip(PROBES, d.max(axis=0), strict=True))
        self.say(f"{a} against {b}, largest difference [K]: {each}")
        return d.max()


def reference():
    """The study, the reference run, and its CSV."""
    study = Study()
    for k, dt in enumerate((LOOSE, MIDDLE, FINE)):
        study.run(f"time-{k}", 1 * MM, dt, 0)
    worst_time = [study.compare(f"time-{k}", f"time-{k + 1}") for k in (0, 1)]
    for size in (1.0, 0.7, 0.5, 0.35):
        study.run(f"space-{size:g}", size * MM, LOOSE, 5)
    pairs = (("space-1", "space-0.7"), ("space-0.7", "space-0.5"), ("space-0.5", "space-0.35"))
    worst = [study.compare(*pair) for pair in pairs]
    count = study.run("reference", 0.5 * MM, MIDDLE, 5)
    study.say(
        f"hottest at an arc off: 316L {count['peak_degC'][0]:.1f} degC (below its solidus), "
        f"carbon steel {count['peak_degC'][1]:.1f} degC"
    )
    study.say(
        f"order in time {np.log2(worst_time[0] / worst_time[1]):.2f}; halving steps moves "
        f"the reference by {worst_time[1]:.4f} K, the next mesh by {worst[-1]:.4f} K"
    )
    write(study.runs["reference"], study.said)


def write(found, said):
    """The CSV with the study in its header."""
    head = [
        "Reference joint of fem_joint.py (geometry and materials in its docstring).",
        f"Source: computed with scikit-fem {skfem.__version__}, numpy {np.__version__}, "
        f"scipy {scipy.__version__}.",
        "Probes (r, z) mm: " + ", ".join(f"{p} {at}" for p, at in PROBES.items()),
        *said,
    ]
    rows = np.column_stack([TIMES, found])
    names = "time_s," + ",".join(f"{p}_degC" for p in PROBES)
    text = "".join(f"# {x}\n" for x in head) + names + "\n"
    text += "".join(f"{row[0]:.0f}," + ",".join(f"{x:.4f}" for x in row[1:]) + "\n" for row in rows)
    RESULT.write_text(text, encoding="utf-8")


def read():
    """Times [s] and probe temperatures [degC] of the reference."""
    with RESULT.open(encoding="utf-8") as file:
        lines = [x for x in file if not x.startswith("#")][1:]
    table = np.loadtxt(lines, delimiter=",")
    return table[:, 0], table[:, 1:]


if __name__ == "__main__":
    reference()
