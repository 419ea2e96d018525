"""The whole joint against programs written apart: finite elements and scipy's BDF."""

import re

import joints
import method_of_lines as mol
import numpy as np
from heat import test_against_fem as fem
from heat import test_ring_fem as fem_ring
from interpass.heat.model import make_model
from interpass.heat.probes import make_probes
from scipy.interpolate import PchipInterpolator

from evidence.check import make_check, one
from evidence.watch import parameters

GROUP = "Other programs, same joint"
FEM = "scikit-fem 12, P2, own mesh and steps (tests/reference)"
ARC_HEAT = 3 * 60 * 900.0  # J, into the reference joint


def check(
    found, what, source, unit="degC", scale=300.0, where="heat/test_against_fem.py"
):
    """Check of this group; a kelvin counts against a rise of 300 K."""
    return make_check(found, GROUP, what, source, "computed", unit, scale, where)


def at_probes(history, times):
    """Temperatures at probes A to E (times, 5) [degC]."""
    found = [
        PchipInterpolator(history.time, trace.temperature)(times) - 273.15
        for trace in history.traces[:5]
    ]
    return np.transpose(found)


def three_passes():
    """Probes A to D every 5 s, at the default cell and at half of it."""
    times, expected = joints.fem_joint()
    for bounds in parameters(fem.test_probes_agree_over_three_passes):
        found = at_probes(joints.reference_run(bounds["cell"]), times)[:, :4]
        yield check(
            [one(found, expected[:, :4], bounds["closest"])],
            f"four places over three passes, cells of {bounds['cell'] * 1e3:g} mm", FEM,
        )  # fmt: skip


def arcs_on():
    """All five places when the second and the third arc are struck."""
    times, expected = joints.fem_joint()
    rows = np.isin(
        times, [m["time"] for m in parameters(fem.test_interpass_moments_agree)]
    )
    found = at_probes(joints.reference_run(), times)
    return check([one(found[rows], expected[rows], 1.0)], "five places at arc on", FEM)


def heat():
    """Stored and lost at the end, from the header of the reference."""
    text = joints.FEM_JOINT.read_text(encoding="utf-8")
    line = next(x for x in text.splitlines() if x.startswith("# reference: P2"))
    theirs = [
        float(re.search(rf"{word} (\d+\.\d+) J", line)[1]) for word in ("stored", "lost")
    ]
    ledger = joints.reference_run().ledger
    ours = [ledger.stored, sum(ledger.lost.values())]
    found = [one(ours, theirs, 2e-3 * ARC_HEAT)]
    return check(found, "heat stored and heat lost", FEM, "J", ARC_HEAT)


def travelling():
    """Eight places round the ring: from 20 s after arc off, and while it burns."""
    bounds = next(iter(parameters(fem_ring.test_finite_elements_in_three_dimensions)))
    times, expected = fem_ring.fem_answer()
    time, T = fem_ring.run(fem_ring.fused(bounds["cell"], bounds["ring"]))
    found = PchipInterpolator(time, T)(times) - 273.15
    source = "scikit-fem 12, three dimensions, hexahedra (tests/reference)"
    for what, rows, bound in (
        ("travelling arc, from 20 s after arc off", times >= 80.0, bounds["late"]),
        ("travelling arc, burning and just after", times < 80.0, bounds["burning"]),
    ):
        yield check(
            [one(found[rows], expected[rows], bound)], what, source,
            where="heat/test_ring_fem.py",
        )  # fmt: skip


def steps():
    """The same cells stepped by scipy, at the default tolerance and a fine one."""
    model = make_model(joints.reference())
    answers, begins, _ = mol.solve(model, mol.SCHEDULE, rtol=1e-6, atol=1e-3)
    lines, probes = mol.lines_of(model), make_probes(model)
    for tolerance, bound in ((0.3, 0.7), (0.01, 0.1)):
        history = joints.reference_run(tolerance=tolerance)
        T = mol.sampled(answers, begins, history.time)
        ours = np.array([t.temperature for t in history.traces] + [history.hottest])
        theirs = np.vstack([mol.at_probes(lines, probes, T), mol.hottest(lines, 0, T)])
        yield check(
            [one(ours - 273.15, theirs - 273.15, bound)],
            f"steps alone, tolerance {tolerance:g} K",
            "scipy BDF on the same cells, own right-hand side",
            where="heat/test_against_bdf.py",
        )  # fmt: skip


def program_checks(*, quick=False):
    """Whole joints against other programs; the quick ones need no other solver."""
    checks = [*three_passes(), arcs_on(), heat()]
    if not quick:
        checks += [*travelling(), *steps()]
    return checks
