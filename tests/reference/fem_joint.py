"""An independent finite-element answer for a reference socket joint, with scikit-fem.

Nothing here or in its neighbours ``fem_materials``, ``fem_section`` and ``fem_march``
comes from the package under test: own property formulas, mesh and time stepping. Running
the file repeats the study in space and time and writes ``fem_joint.csv`` beside it::

    python tests/reference/fem_joint.py            # the reference: about five minutes
    python tests/reference/fem_joint.py --coarse   # quick P1 runs, timed and compared

The joint (r-z section turned round the axis; z = 0 is the socket face, positive into the
fitting). Pipe 33.4 x 4.38 mm from z = -80 to 10.9 mm, 316L; socket 33.9 mm bore,
45.28 mm outside, 12.5 mm deep, body bore 26.7 mm, 40 mm long, carbon steel; fillet of
5 mm legs, 316L, there from the start. The pipe and the socket exchange 150 W/m2/K at the
mean clearance radius; the bore, the end gap and both ends exchange nothing. Outer
surfaces: 10 W/m2/K and emissivity 0.5 to 20 degC. Three passes of 900 W net for 60 s,
waits of 90 and 120 s, 300 s of cooling. Each pass heats its own third of the fillet
section evenly per volume; the thirds (of the section's area) are nested triangles from
the root.

Method: P2 (or P1) triangles, refined towards the five re-entrant corners of the section,
where the heat flux is unbounded; time stepping of ``fem_march``, restarted at arc on and
arc off.
"""

import argparse
import itertools
import time
from pathlib import Path

import numpy as np
import scipy
import scipy.sparse as sp
import skfem
from fem_check import deviation
from fem_march import (
    Stepper,
    System,
    ladder,
    march,
    numbering,
    quadrature,
    stored_heat,
    with_slopes,
)
from fem_materials import AIR, ZERO, carbon_steel, stainless
from fem_section import (
    CLEARANCE,
    DEPTH,
    MM,
    PIPE_END,
    PIPE_OUT,
    SOCKET,
    in_thirds,
    is_outer,
    mesh_for,
)
from scipy.interpolate import CubicSpline

POWER, PASSES = 900.0, ((0.0, 60.0), (150.0, 210.0), (330.0, 390.0))  # [W], on, off [s]
END = 690.0
PROBES = {"A": (14.5, -2.0), "B": (16.0, -20.0), "C": (20.0, 5.0), "D": (18.0, 25.0),
          "E": (17.7, -1.2)}  # (r, z) [mm]  # fmt: skip
TIMES = np.arange(0.0, END + 1.0, 5.0)
RESULT = Path(__file__).with_suffix(".csv")
# first step after an arc event [s], repeats of each size, largest step [s]
LOOSE, MIDDLE, FINE = (5 / 64, 8, 2.5), (5 / 128, 16, 1.25), (5 / 256, 32, 0.625)
QUICK = (0.5, 2, 20.0)


def solve(element="P2", size=0.5 * MM, dt=QUICK, tolerance=1e-2, corners=0):
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
    corners : int
        Refinements at the re-entrant corners.

    Returns
    -------
    times, temps
        (139,) [s]; (139, 5) [degC], probes A to E.
    """
    system, sources, _ = build(element, mesh_for(size, corners))
    return TIMES, integrate(system, sources, dt, tolerance)[0]


def build(element, mesh):
    """The semi-discrete system with P1 or P2 elements, the three loads, and the basis."""
    shape, order = {"P1": (skfem.ElementTriP1(), 2), "P2": (skfem.ElementTriP2(), 5)}[
        element
    ]
    basis = skfem.Basis(mesh, shape, intorder=order)
    outer = mesh.facets_satisfying(is_outer, boundaries_only=True)
    facets = skfem.FacetBasis(mesh, shape, facets=outer, intorder=order)
    coupling = clearance(mesh, basis)
    number, pattern, coupling_data = numbering(basis, coupling)
    r, z = mesh.p[:, mesh.t].mean(axis=1)
    steel = np.repeat(((z > 0) & (r > PIPE_OUT)) | (z > DEPTH), basis.dx.shape[1])
    around, around_outside = (
        2 * np.pi * np.asarray(b.global_coordinates())[0] for b in (basis, facets)
    )
    volume = with_slopes(basis, number, around, np.ones((2, 1, 1)))
    system = System(
        volume,
        quadrature(facets, number, around_outside),
        _two_metals(steel),
        coupling,
        coupling_data,
        pattern,
        sp.csr_array(basis.probes(np.array(list(PROBES.values())).T * MM)),
    )
    return system, sources_of(volume, r, z, basis.dx.shape[1]), basis


def _two_metals(steel):
    """Law of the joint: carbon steel at the points marked, 316L elsewhere."""
    there, elsewhere = np.flatnonzero(steel), np.flatnonzero(~steel)

    def law(T):
        out = np.empty((3, len(T)))
        out[:, elsewhere] = stainless(T[elsewhere])
        out[:, there] = carbon_steel(T[there])
        return out

    return law


def clearance(mesh, basis):
    """Exchange across the clearance; Gauss points between the nodes of both sides."""
    z = mesh.p[1][(abs(mesh.p[0] - PIPE_OUT) < 1e-8) | (abs(mesh.p[0] - SOCKET) < 1e-8)]
    z = np.unique(np.round(z[(z > -1e-9) & (z < PIPE_END + 1e-9)], 12))
    x, w = np.polynomial.legendre.leggauss(3)
    middle, half = (z[1:] + z[:-1]) / 2, np.diff(z) / 2
    at = (middle[:, None] + half[:, None] * x).ravel()
    walls = (PIPE_OUT - 1e-10, SOCKET + 1e-10)  # just inside the metal
    sides = [basis.probes(np.array([np.full_like(at, r), at])) for r in walls]
    jump = sp.csr_array(sides[0] - sides[1])
    g = 2 * np.pi * (PIPE_OUT + SOCKET) / 2 * CLEARANCE * (half[:, None] * w).ravel()
    return sp.csr_array(jump.T @ sp.diags_array(g) @ jump)


def sources_of(volume, r, z, each):
    """Load vectors (3, n): the power of each pass spread evenly over its bead."""
    loads = []
    for number in range(3):
        weight = volume.weight * np.repeat(in_thirds(r, z, number, number + 1), each)
        loads.append(POWER * (volume.value.T @ weight) / weight.sum())
    return np.array(loads)


def segments():
    """(begin, end, pass number or None) between one arc event and the next."""
    events = [t for span in PASSES for t in span] + [END]
    spans = itertools.pairwise(events)
    return [(a, b, None if k % 2 else k // 2) for k, (a, b) in enumerate(spans)]


def integrate(system, sources, dt, tolerance):
    """March through all passes: probe histories [degC] at TIMES, and a ledger."""
    stepper = Stepper(system, tolerance)
    T = np.full(system.volume.value.shape[1], AIR)
    lost, number, peak = 0.0, 0, 0.0
    found = np.empty((len(TIMES), len(PROBES)))
    for begin, end, k in segments():
        load = 0 * T if k is None else sources[k]
        steps = ladder(end - begin, *dt)
        T, loss, times, rows = march(stepper, T, begin, steps, lambda _, load=load: load)
        lost, number, peak = lost + loss, number + len(steps), max(peak, T.max())
        here = (begin - 1e-9 <= TIMES) & (end + 1e-9 >= TIMES)
        found[here] = CubicSpline(times, rows - ZERO)(TIMES[here])
    return found, {
        "stored": stored_heat(system, T), "lost": lost, "steps": number,
        "solved": stepper.solved, "factorised": stepper.factorised,
        "peak": peak - ZERO, "last": T,
    }  # fmt: skip


class Study:
    """Runs by name and what is said of them; the sayings head the CSV."""

    def __init__(self):
        self.runs, self.said = {}, []

    def say(self, text, *, keep=True):
        """Print; keep for the header unless it changes from run to run."""
        print(text, flush=True)  # noqa: T201
        self.said += [text] * keep

    def run(self, name, size, dt, corners, element="P2", tolerance=1e-5):
        """Build, check, integrate; returns the ledger."""
        system, sources, basis = build(element, mesh_for(size, corners))
        worst, begin = deviation(system, sources, basis), time.perf_counter()
        self.runs[name], ledger = integrate(system, sources, dt, tolerance)
        self.say(f"{name}: solved in {time.perf_counter() - begin:.2f} s", keep=False)
        arc = sum(off - on for on, off in PASSES) * POWER
        closure = abs(1 - (ledger["stored"] + ledger["lost"]) / arc)
        self.say(
            f"{name}: {element}, {size / MM:g} mm, {corners} corner refinements, {basis.N} "
            f"unknowns, {ledger['steps']} steps up to {dt[2]:g} s; known integrals and "
            f"matrices within {worst:.0e}; stored {ledger['stored']:.1f} J, lost "
            f"{ledger['lost']:.1f} J, closure {closure:.0e}"
        )
        return ledger

    def compare(self, a, b):
        """Largest difference of two runs, each probe; returns the largest of all [K]."""
        d = abs(self.runs[a] - self.runs[b]).max(axis=0)
        each = " ".join(f"{p} {x:.4f}" for p, x in zip(PROBES, d, strict=True))
        self.say(f"{a} against {b}, largest difference [K]: {each}")
        return d.max()


def reference():
    """The study, the reference run, and its CSV."""
    study = Study()
    for k, dt in enumerate((LOOSE, MIDDLE, FINE)):
        study.run(f"time-{k}", 1 * MM, dt, 0)
    in_time = [study.compare(f"time-{k}", f"time-{k + 1}") for k in (0, 1)]
    names = ["space-1", "space-0.7", "space-0.5", "space-0.35"]
    for name in names:
        study.run(name, float(name[6:]) * MM, LOOSE, 5)
    in_space = [study.compare(*pair) for pair in itertools.pairwise(names)]
    ledger = study.run("reference", 0.5 * MM, MIDDLE, 5)
    study.say(
        f"order in time {np.log2(in_time[0] / in_time[1]):.2f}; half the step moves the "
        f"reference by {in_time[1]:.4f} K, the next mesh by {in_space[-1]:.4f} K; hottest "
        f"at an arc off {ledger['peak']:.1f} degC, so nothing melts"
    )
    write(study)


def write(study):
    """The CSV with the study in its header."""
    head = [
        "Reference joint of fem_joint.py; properties and sources in fem_materials.py.",
        (
            "Computed apart from the package: scikit-fem "
            f"{skfem.__version__}, numpy {np.__version__}, scipy {scipy.__version__}."
        ),
        "Probes (r, z) mm: " + ", ".join(f"{p} {at}" for p, at in PROBES.items()),
        *study.said,
    ]
    lines = [f"# {x}" for x in head] + ["time_s," + ",".join(f"{p}_degC" for p in PROBES)]
    for t, row in zip(TIMES, study.runs["reference"], strict=True):
        lines.append(f"{t:.0f}," + ",".join(f"{x:.4f}" for x in row))
    RESULT.write_text("\n".join(lines) + "\n", encoding="utf-8")


def read():
    """Times [s] (139,) and probe temperatures [degC] (139, 5) of the reference."""
    text = RESULT.read_text(encoding="utf-8").splitlines()
    table = np.loadtxt([x for x in text if not x.startswith("#")][1:], delimiter=",")
    return table[:, 0], table[:, 1:]


def coarse():
    """Quick P1 runs: wall time and error against the reference."""
    _, expected = read()
    for size in (2.0, 1.4, 1.0, 0.7, 0.5):
        begin = time.perf_counter()
        system, sources, basis = build("P1", mesh_for(size * MM))
        built = time.perf_counter()
        found, ledger = integrate(system, sources, QUICK, 0.1)
        done = time.perf_counter()
        d = abs(found - expected).max(axis=0)
        print(  # noqa: T201
            f"P1 {size:g} mm: {basis.N} unknowns, {ledger['steps']} steps, "
            f"{ledger['solved']} solves; build {built - begin:.3f} s, solve "
            f"{done - built:.3f} s; error [K] A to D {d[:4].max():.2f}, E {d[4]:.2f}"
        )


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description="finite-element answer, reference joint")
    parser.add_argument("--coarse", action="store_true", help="quick P1 runs, timed")
    coarse() if parser.parse_args().coarse else reference()
