"""A travelling arc on a joint in three dimensions, against finite elements."""

from dataclasses import replace

import joints
import numpy as np
import pytest
from interpass.heat import march
from interpass.heat.body import make_body, source_shares, zone_of
from interpass.heat.grid import Lines, graded_lines
from interpass.heat.model import make_model
from interpass.heat.probes import make_probes
from interpass.heat.section import make_lines, make_stage, part_of_cells
from interpass.joint.beads import Fillet
from interpass.joint.case import Box, Probe
from interpass.joint.outline import Outline
from scipy.interpolate import PchipInterpolator

MM = 1e-3
FEM_RING = joints.ROOT / "tests" / "reference" / "fem_ring.csv"
PIPE = Box(12.32 * MM, 16.7 * MM, -40 * MM, 12.5 * MM)
SOCKET = Box(16.7 * MM, 22.64 * MM, 0.0, 12.5 * MM)
BODY = Box(13.35 * MM, 22.64 * MM, 12.5 * MM, 25 * MM)
FILLET = Fillet(5 * MM, 5 * MM)
POINTS = {"A": (14.5, -2.0), "C": (20.0, 5.0)}  # (r, z) mm, each at four angles


def fem_answer():
    """Times [s] (37,) and temperatures [degC] (37, 8) of ``reference/fem_ring.py``."""
    text = FEM_RING.read_text(encoding="utf-8").splitlines()
    table = np.loadtxt([x for x in text if not x.startswith("#")][1:], delimiter=",")
    return table[:, 0], table[:, 1:]


def fused(cell, ring):
    """Model of the joint of ``fem_ring.py``: clearance and end gap are metal.

    No case can say that. Pipe, socket and body are drawn as parts of one fitting, which
    touch; surfaces and the source come from the joint as it is usually drawn. The pool is
    not stirred, as in the finite elements.
    """
    case = joints.one_pass(joints.reference(cell=cell, ring=ring))
    metal = case.pipe.material
    probes = tuple(
        Probe(f"{name}{angle}", r * MM, z * MM, np.radians(angle))
        for name, (r, z) in POINTS.items()
        for angle in (0, 90, 180, 270)
    )
    fitting = replace(case.fitting, material=metal)
    model = make_model(replace(case, fitting=fitting, filler=metal, probes=probes))
    drawn = Outline(PIPE, (SOCKET, BODY), 16.7 * MM, 12.5 * MM, False, False)
    joined = replace(
        drawn,
        pipe=replace(PIPE, z_end=PIPE.z_start),
        fitting=(PIPE, SOCKET, BODY),
        socket_depth=1.0,
    )
    lines = fused_lines(drawn, cell)
    surface = make_stage(drawn, FILLET, lines).surface
    stage = replace(make_stage(joined, FILLET, lines), surface=surface)
    bare = make_stage(joined, Fillet(0.0, 0.0), lines)
    source = source_shares((bare, stage), 0, drawn, in_place=True)
    zones, part = (zone_of(stage, lines, joined),) * 2, part_of_cells(drawn, lines)
    body = make_body(joined, lines, part, (stage, stage), zones, source)
    return replace(
        model,
        lines=lines,
        stages=(stage, stage),
        bodies=(body,),
        tables=joints.of_case(model.materials),
    )


def fused_lines(drawn, cell):
    """Grid lines as usual along the joint; across it without the clearance."""
    r = [x * MM for x in (12.32, 13.35, 16.7, 21.7, 22.64)]
    across = graded_lines(r, (r[0], r[3]), cell)
    return Lines(across, make_lines(drawn, FILLET, cell).z)


@pytest.mark.parametrize(
    ("cell", "ring", "late", "burning"),
    [
        pytest.param(1.0e-3, 48, 1.5, 12.0, id="default cells"),
        pytest.param(0.5e-3, 96, 0.6, 4.0, id="fine", marks=pytest.mark.slow),
    ],
)
def test_finite_elements_in_three_dimensions(cell, ring, late, burning):
    """One travelling pass on a fused joint: scikit-fem, quadratic hexahedra, nonlinear.

    Computed, apart from the package; its own error is 0.1 K from 10 s after arc off and
    0.2 K before. Latent heat is spread over 25 K there and over 60 K here. Measured here:
    1.1 K from 20 s after arc off and 9.5 K before, on the flank of the arc; 0.4 K and
    3.1 K at half the cell and twice the ring.
    """
    times, expected = fem_answer()
    time, found = run(fused(cell, ring))
    error = np.abs(PchipInterpolator(time, found)(times) - 273.15 - expected)
    assert error[times >= 80.0].max() < late
    assert error.max() < burning


def run(model):
    """One turn of 900 W in 60 s, then 120 s: times (n,) and probes (n, 8) [K]."""
    state = march.start(model, make_probes(model))
    march.note_now(state)
    march.begin_pass(state, 1)
    march.heat(state, 900.0, 60.0, 0.0, 2 * np.pi)
    march.cool(state, 120.0)
    time = np.concatenate([r.time for r in state.records])
    return time, np.concatenate([r.probe[:, :8] for r in state.records])
