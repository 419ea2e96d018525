"""An independent finite-element answer for an arc travelling round a joint, in 3-D.

Nothing comes from the package under test. Running the file repeats the study and writes
``fem_ring.csv`` beside it::

    python tests/reference/fem_ring.py             # about twenty minutes

The joint of ``fem_joint`` made simple: 316L throughout, pipe and socket fused (clearance
and end gap are metal), z from -40 to 25 mm, the whole 5 mm fillet in place. One pass of
900 W net for 60 s, one turn at constant speed from angle 0 towards positive angles. The
power is a Gaussian along the path (standard deviation 3 mm of arc length at the pipe's
outside radius, wrapped round the ring), spread evenly over the fillet's section. Bore and
ends exchange nothing; outer surfaces 10 W/m2/K and emissivity 0.5 to 20 degC; start at
20 degC; followed for 120 s after arc off. Probes A (r 14.5, z -2.0 mm) and C (20.0, 5.0)
at 0, 90, 180 and 270 degrees.

Method: quadratic 27-node hexahedra in the coordinates (r, arc length at the pipe's
outside radius, z), so the metal is exactly round; lengths and volumes get their factors
r / R; the two ends of the ring share their unknowns. Time stepping of ``fem_march`` with
conjugate gradients (Jacobi). Latent heat is 270 kJ/kg from 1375 to 1400 degC, conductivity
goes on along Kim's line.
"""

import time
from pathlib import Path

import numpy as np
import scipy
import scipy.sparse as sp
import skfem
from fem_march import (
    Stepper,
    System,
    march,
    numbering,
    quadrature,
    stored_heat,
    with_slopes,
)
from fem_materials import AIR, ZERO, stainless
from fem_ring_mesh import ROUND, is_outer, metal_volume, outer_area, ring_mesh
from fem_section import (
    MM,
    PIPE_OUT,
    bead_volume,
)
from scipy.sparse.linalg import LinearOperator, cg

POWER, ARC_OFF, LAST, SPREAD = 900.0, 60.0, 180.0, 3 * MM
POINTS = {"A": (14.5, -2.0), "C": (20.0, 5.0)}  # (r, z) [mm]
ANGLES = (0, 90, 180, 270)  # [deg]
TIMES = np.arange(0.0, LAST + 1.0, 5.0)
RESULT = Path(__file__).with_suffix(".csv")


# System
def build(n, around):
    """Discrete system, the load as a function of time, the basis."""
    return build_on(ring_mesh(n, around), probe_points(), stainless)


def build_on(mesh, points, law):
    """The same on any mesh of the ring, followed at ``points`` (3, m), of any metal."""
    basis = skfem.Basis(mesh, skfem.ElementHex2(), intorder=5)
    outer = mesh.facets_satisfying(is_outer, boundaries_only=True)
    facets = skfem.FacetBasis(mesh, skfem.ElementHex2(), facets=outer, intorder=5)
    number, pattern, none = numbering(basis, unknowns=periodic(basis))
    x = np.asarray(basis.global_coordinates())
    jacobian = x[0] / PIPE_OUT
    metric = np.array([np.ones_like(jacobian), 1 / jacobian, np.ones_like(jacobian)])
    volume = with_slopes(basis, number, jacobian, metric)
    surface = quadrature(facets, number, outer_jacobian(facets))
    n_all = number.count
    fold = sp.csr_array(
        (np.ones(basis.N), (np.arange(basis.N), number.unknowns)), shape=(basis.N, n_all)
    )
    probes = sp.csr_array(basis.probes(points)) @ fold
    empty = sp.csr_array((n_all, n_all))
    system = System(volume, surface, law, empty, none, pattern, probes)
    return system, travelling(volume, x), basis


def periodic(basis):
    """Number of the unknown of each node: those at the end of the ring are the first."""
    x = np.round(basis.doflocs / 1e-9).astype(np.int64)
    x[1, abs(basis.doflocs[1] - ROUND) < 1e-8] = 0
    return np.unique(x, axis=1, return_inverse=True)[1].ravel()


def outer_jacobian(facets):
    """True area per area in (r, arc length, z); every outer facet holds the arc direction."""
    return np.asarray(facets.global_coordinates())[0] / PIPE_OUT


def probe_points():
    """Coordinates (3, 8): A at each angle, then C."""
    return np.array(
        [
            (r * MM, max(angle / 360 * ROUND, 1e-9), z * MM)
            for r, z in POINTS.values()
            for angle in ANGLES
        ]
    ).T


def travelling(volume, x):
    """Load vector [W] at a time: Gaussian along the path, even over the fillet's section."""
    r, along, z = (a.ravel() for a in x)
    inside = np.flatnonzero((r > PIPE_OUT) & (z < 0))
    per_radian = bead_volume(1.0) / (2 * np.pi)  # integral of r over the section
    tested = volume.tested[:, inside]

    def load(t):
        apart = along[inside] - ROUND * t / ARC_OFF
        wrapped = (apart + ROUND / 2) % ROUND - ROUND / 2
        bell = np.exp(-0.5 * (wrapped / SPREAD) ** 2) / (SPREAD * np.sqrt(2 * np.pi))
        return tested @ (POWER * bell * PIPE_OUT / per_radian)

    return load


# Solution
def conjugate(matrix):
    """Conjugate gradients with Jacobi: a function that solves to a thousandth."""
    matrix = sp.csr_matrix(matrix)
    scale = 1 / matrix.diagonal()
    jacobi = LinearOperator(matrix.shape, lambda v: scale * v.ravel())

    def solve(b):
        return cg(matrix, b, rtol=1e-3, M=jacobi)[0]

    return solve


def integrate(system, load, step, until=LAST, tolerance=0.02):
    """Probe histories [degC] at TIMES and a ledger; ``step`` [s] while the arc is on."""
    stepper = Stepper(system, tolerance, conjugate)
    T = np.full(system.volume.value.shape[1], AIR)
    nothing, rows, lost, peak = 0 * T, [system.probes @ T], 0.0, AIR
    for begin in TIMES[until > TIMES]:
        on = begin < ARC_OFF
        number = 5 / step if on else 5 / step / (1 + (begin - ARC_OFF) / 5)
        steps = np.full(max(2, int(np.ceil(number - 1e-9))), 5.0)
        power = load if on else lambda _: nothing
        T, loss, _, values = march(stepper, T, begin, steps / len(steps), power)
        rows.append(values[-1])
        lost, peak = lost + loss, max(peak, T.max())
    stored = stored_heat(system, T)
    return np.array(rows) - ZERO, {"stored": stored, "lost": lost, "peak": peak - ZERO}


def deviation(system, load, basis):
    """Relative deviations: volume, outer area, power, energy of the field x = r cos(angle)."""
    x = np.empty(system.volume.value.shape[1])
    x[periodic(basis)] = basis.doflocs[0] * np.cos(basis.doflocs[1] / PIPE_OUT)
    slopes = (system.volume.slope @ x).reshape(-1, 3)
    found = [
        system.volume.weight.sum() / metal_volume(),
        system.surface.weight.sum() / outer_area(),
        max((load(t).sum() for t in (0.0, 7.3, 31.1)), key=lambda p: abs(p - POWER))
        / POWER,
        system.volume.weight @ (slopes**2).sum(axis=1) / metal_volume(),
    ]
    return abs(np.array(found) - 1)


# Study
class Study:
    """Runs by name and what is said of them; the sayings head the CSV."""

    def __init__(self):
        self.runs, self.said = {}, []

    def say(self, text, *, keep=True):
        """Print; keep for the header unless it changes from run to run."""
        print(text, flush=True)  # noqa: T201
        self.said += [text] * keep

    def run(self, name, n, around, step, until=LAST):
        """Build, check and integrate."""
        begin = time.perf_counter()
        system, load, basis = build(n, around)
        off = " ".join(f"{x:.0e}" for x in deviation(system, load, basis))
        self.runs[name], ledger = integrate(system, load, step, until)
        self.say(f"{name}: {time.perf_counter() - begin:.0f} s", keep=False)
        arc = POWER * min(until, ARC_OFF)
        closure = abs(1 - (ledger["stored"] + ledger["lost"]) / arc)
        self.say(
            f"{name}: {2 * n} cells along a leg, {around} round the ring, "
            f"{system.volume.value.shape[1]} unknowns, steps of {step:g} s; off by (volume, "
            f"outer area, power, energy of the field x) {off}; to {until:g} s, peak {ledger['peak']:.0f} degC, "
            f"stored {ledger['stored']:.1f} J, lost {ledger['lost']:.1f} J, "
            f"closure {closure:.0e}"
        )

    def compare(self, a, b):
        """Largest difference of two runs at each probe, and of all from 10 s after arc off."""
        both = min(len(self.runs[a]), len(self.runs[b]))
        d = abs(self.runs[a][:both] - self.runs[b][:both])
        each = " ".join(
            f"{p} {x:.2f}" for p, x in zip(names(), d.max(axis=0), strict=True)
        )
        late = d[TIMES[:both] >= ARC_OFF + 10]
        after = f"; 10 s after arc off and on {late.max():.2f}" if late.size else ""
        self.say(f"{a} against {b}, largest [K]: {each}{after}")


def names():
    """Column names of the probes."""
    return [f"{p}{angle}" for p in POINTS for angle in ANGLES]


def reference():
    """The study and the CSV."""
    study = Study()
    study.run("coarse", 1, 36, 0.5)
    study.run("coarse, half the step", 1, 36, 0.25)
    study.run("coarse, round", 1, 54, 0.5)
    study.run("fine section", 2, 36, 0.5)
    study.run("finer section", 3, 36, 0.5, until=20.0)
    study.run("reference", 2, 54, 0.25)
    study.compare("coarse", "coarse, half the step")
    study.compare("coarse", "coarse, round")
    study.compare("coarse", "fine section")
    study.compare("fine section", "finer section")
    study.compare("fine section", "reference")
    write(study)


def versions():
    """Libraries used."""
    return f"scikit-fem {skfem.__version__}, numpy {np.__version__}, scipy {scipy.__version__}"


def write(study):
    """The CSV with the study in its header."""
    head = [
        "Travelling arc of fem_ring.py; properties and sources in fem_materials.py.",
        f"Computed apart from the package: {versions()}.",
        "Probes: letter at (r, z) mm "
        + ", ".join(f"{p} {at}" for p, at in POINTS.items())
        + "; number is the angle in degrees",
        *study.said,
    ]
    lines = [f"# {x}" for x in head] + [
        "time_s," + ",".join(f"{p}_degC" for p in names())
    ]
    for t, row in zip(TIMES, study.runs["reference"], strict=True):
        lines.append(f"{t:.0f}," + ",".join(f"{x:.3f}" for x in row))
    RESULT.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    reference()
