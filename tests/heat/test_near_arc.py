"""Near field of a pass: finite elements, ordinary joints, and Rosenthal against the ring.

Formulas of the moving source are checked in ``physics/test_moving_source``; here, what is
read off the hottest of each cell, and that the grid, where it is large and fine enough to
follow the arc, gives what the moving source says on a bare wall.
"""

from dataclasses import replace
from functools import cache
from math import inf, isfinite, pi

import joints
import numpy as np
import pytest
from closed_forms.plates import temperature_thin
from heat.test_ring_fem import fused
from interpass.case_file.read import parse_case, read_case
from interpass.heat import evening, march, melt
from interpass.heat.arrays import ARC_SHARE
from interpass.heat.model import make_model
from interpass.heat.near_arc import BACKGROUND_MAX, BORE_RANGE, near_arc
from interpass.heat.probes import make_probes
from interpass.heat.quick_look import moving_source, quick_look
from interpass.heat.waits import plan
from interpass.physics.moving_source import MovingSource, temperature_thick
from interpass.rules import judge
from interpass.rules.of_joint import table_currents
from interpass.text.errors import RunError

STAINLESS, STEEL, DUPLEX = "sampling-stub", "steam-drain", "duplex-instrument"
NEAR_RULES = ("bore not melted", "bore well below melting", "root corner fused")


@cache
def run(name, ring=12):
    """A shipped case on a coarse grid, and its history."""
    case = read_case(joints.ROOT / "cases" / f"{name}.toml")
    case = replace(case, model=replace(case.model, ring=ring, cell=2e-3, end_after=60.0))
    return case, plan(case)


def with_current(case, factor):
    """Case with more current in every pass; nothing else changes."""
    passes = (
        replace(p, current=p.current * factor, net_power=p.net_power * factor)
        for p in case.passes
    )
    return replace(case, passes=tuple(passes))


def welded(case):
    """Near field of a case, of a run that stops on its way too."""
    try:
        return near_arc(case, plan(case))
    except RunError as error:
        return near_arc(case, error.history)


# Finite elements
def fem_near():
    """Places (r, z) [mm] and their hottest [degC], of ``reference/fem_near.py``: wall, rest."""
    text = (joints.ROOT / "tests/reference/fem_near.csv").read_text(encoding="utf-8")
    rows = [x for x in text.splitlines() if not x.startswith("#")][1:]
    table = np.loadtxt(rows, delimiter=",")
    wall = table[table[:, 0] < 16.71]
    r, z = np.unique(wall[:, 0]), np.unique(wall[:, 1])
    return r, z, wall[:, 2].reshape(r.size, z.size)


def fem_depth():
    """How deep the pipe melts at 75 degrees [mm]: along r to the solidus, deepest z."""
    r, _, T = fem_near()
    depth = []
    for column in T.T:
        if column[-1] < 1396.85:
            continue
        n = int(np.flatnonzero(column < 1396.85).max())
        share = (1396.85 - column[n]) / (column[n + 1] - column[n])
        depth.append(16.7 - (r[n] + share * (r[n + 1] - r[n])))
    return max(depth)


@pytest.mark.parametrize(
    ("cell", "ring", "off"),
    [(1.0e-3, 48, (5.0, 0.1, 25.0)), (0.5e-3, 96, (3.0, 0.1, 15.0))],
)
def test_finite_elements_close_to_the_arc(cell, ring, off):
    """1600 W on the fused joint, arc gone by: scikit-fem, quadratic hexahedra, 3-D.

    Computed, apart from the package; its own error is 1.3 K at the bore and 12 K at most.
    Asked for: bore within 25 K, pool within 0.3 mm. Measured at 1 and 0.5 mm: bore 0.6
    and 0.5 K, pool 0.01 and 0.03 mm, root corner 12 and 7 K.
    """
    model = fused(cell, ring)
    model = replace(model, tables=make_model(model.case).tables)
    state = march.start(model, make_probes(model))
    march.begin_pass(state, 1)
    march.heat(state, 1600.0, 18.5, 0.0, 2 * pi * 18.5 / 60.0)

    def at_75(values):
        angles = (np.arange(ring) + 0.5) * 360.0 / ring
        return float(np.interp(75.0, angles, values))

    _, z, T = fem_near()
    bore = at_75(melt.bore(model, state.work.peak)) - 273.15
    depth = 1e3 * at_75(melt.depth_in_pipe(model, 1, state.work.peak))
    corner = at_75(melt.root_corner(model, 1, state.work.peak)[0])
    assert bore == pytest.approx(T[0].max(), abs=off[0])
    assert depth == pytest.approx(fem_depth(), abs=off[1])
    at_corner = float(np.interp(-0.5, z, T[-1])) - 1396.85
    assert corner == pytest.approx(at_corner, abs=off[2])


# Ordinary joints
ORDINARY = """
[pipe]
size = "{size}"
schedule = "{schedule}"
material = "{metal}"
length = "150 mm"
[fitting]
kind = "{kind}"
material = "{metal}"
[joint]
filler = "{filler}"
[[pass]]
current = "80 A"
travel = "100 mm/min"
deposit = "5 mm^2"
[[pass]]
current = "80 A"
travel = "100 mm/min"
[surroundings]
bore = "argon purge"
purge_flow = "8 l/min"
[model]
end_after = "5 s"
"""
METALS = (
    ("316L", "40S", "ER316L"),
    ("316L", "80S", "ER316L"),
    ("carbon steel", "40", "ER70S-6"),
    ("carbon steel", "80", "ER70S-6"),
)
SIZES = (
    ("NPS 1/2", "coupling"),
    ("NPS 3/4", "elbow"),
    ("NPS 1", "tee"),
    ("NPS 1 1/2", "coupling"),
    ("NPS 2", "coupling"),
)
JOINTS = [(*metal, *size) for metal in METALS for size in SIZES]


def ordinary(joint, share):
    """Joint at a share of the most current that the printed tables give its wall."""
    metal, schedule, filler, size, kind = joint
    text = ORDINARY.format(
        size=size, schedule=schedule, metal=metal, kind=kind, filler=filler
    )
    case = parse_case(text)
    most = table_currents(case, case.passes[0])[1]
    return with_current(case, share * most / 80.0)


def near_notes(case, history):
    """Names of the near-field rules that are not met."""
    found = judge.checks(case, history)
    return [
        c.rule for c in found if c.rule.startswith(NEAR_RULES) and c.verdict != "pass"
    ]


def slowly(joints_):
    """All but the first are slow tests."""
    marks = pytest.mark.slow
    return [
        j if n % 7 == 0 else pytest.param(j, marks=marks) for n, j in enumerate(joints_)
    ]


@pytest.mark.parametrize("joint", slowly(JOINTS), ids=lambda j: " ".join(j[:1] + j[3:4]))
def test_ordinary_joint_has_no_note(joint):
    """At 0.82 of the most of the printed tables (maker pages), 100 mm/min, two passes."""
    case = ordinary(joint, 0.82)
    assert near_notes(case, plan(case)) == []


@pytest.mark.parametrize("name", ["sampling-stub", "us-manifold", DUPLEX])
def test_shipped_case_has_no_note(name):
    case = read_case(joints.ROOT / "cases" / f"{name}.toml")
    assert near_notes(case, joints.shipped(name)) == []


@pytest.mark.slow
@pytest.mark.parametrize("name", [STEEL, "mixed-drain", "check-joint"])
def test_shipped_case_has_no_note_either(name):
    case = read_case(joints.ROOT / "cases" / f"{name}.toml")
    assert near_notes(case, joints.shipped(name)) == []


@pytest.mark.parametrize("joint", slowly(JOINTS), ids=lambda j: " ".join(j[:1] + j[3:4]))
def test_twice_the_tables_current_melts_through(joint):
    case = ordinary(joint, 2.0)
    assert welded(replace(case, passes=case.passes[:1]))[-1].melts_through


@pytest.mark.parametrize("joint", slowly(JOINTS), ids=lambda j: " ".join(j[:1] + j[3:4]))
def test_half_of_the_tables_current_leaves_the_root_unfused(joint):
    case = ordinary(joint, 0.5)
    case = replace(case, passes=case.passes[:1])
    history = plan(case)
    assert near_arc(case, history)[0].root_fused == "no"
    assert near_notes(case, history) == ["root corner fused"]


def test_bore_is_told_to_melt_and_to_come_close():
    """A little more current each time: quiet, close to melting, melted."""
    told = []
    for share in (0.8, 1.02, 1.3):
        case = ordinary(JOINTS[1], share)
        case = replace(case, passes=case.passes[:1])
        told.append([r for r in near_notes(case, plan(case)) if r.startswith("bore")])
    assert [[r.split(",")[0] for r in row] for row in told] == [
        [], ["bore well below melting"], ["bore not melted"],
    ]  # fmt: skip


@pytest.mark.parametrize(
    "change",
    [
        {"spread": 2e-3},
        pytest.param({"spread": 4e-3}, marks=pytest.mark.slow),
        pytest.param({"pipe": 2 / 3}, marks=pytest.mark.slow),
        pytest.param({"pipe": 1 / 3}, marks=pytest.mark.slow),
    ],
    ids=str,
)
@pytest.mark.parametrize(
    "name", [STAINLESS, pytest.param(DUPLEX, marks=pytest.mark.slow)]
)
def test_range_holds_an_arc_of_other_spread_or_place(name, change):
    """The basis of the range: the ring itself with the arc changed, pass 1."""
    case = read_case(joints.ROOT / "cases" / f"{name}.toml")
    case = replace(case, model=replace(case.model, end_after=5.0))
    first = replace(case.passes[0], source_spread=change.get("spread"))
    case = replace(case, passes=(case.passes[0], case.passes[1]))
    usual = near_arc(case, joints.shipped(name))[0]
    found = peak_with(replace(case, passes=(first, case.passes[1])), change.get("pipe"))
    low, high = usual.bore_range
    assert low - 5.0 < found < high + 5.0
    assert BORE_RANGE[0] < 1.0 < BORE_RANGE[1]


def peak_with(case, pipe_share):
    """Hottest of the bore in pass 1 [K], with that share of the heat on the pipe's half."""
    model = make_model(case)
    stage, source = model.stages[1], model.bodies[0].source.copy()
    if pipe_share is not None:
        f = stage.fillet
        over = (stage.r - model.outline.root) / f.leg_socket
        on_pipe = -stage.z / f.leg_pipe > over
        part = source[1][on_pipe].sum()
        factor = np.where(on_pipe, pipe_share / part, (1 - pipe_share) / (1 - part))
        source[1] *= factor
    section = model.bodies[0].section.copy()
    section[ARC_SHARE] = source
    body = model.bodies[0]._replace(section=section)
    model = replace(model, bodies=(body, *model.bodies[1:]))
    state, p = march.start(model, make_probes(model)), case.passes[0]
    march.begin_pass(state, 1)
    march.heat(state, p.net_power, p.arc_time, 0.0, 2 * pi)
    march.cool(state, 5.0)
    evening.refine(state)
    return float(melt.bore(model, state.work.peak).max())


# What is read off the grid
@pytest.mark.parametrize("name", [STAINLESS, STEEL, DUPLEX])
def test_one_near_field_per_pass_from_the_wall_it_meets(name):
    case, history = run(name)
    found = near_arc(case, history)
    assert [n.number for n in found] == [p.number for p in history.passes]
    for near, done in zip(found, history.passes, strict=True):
        assert near.start >= done.at_arc_on.start_point
        assert near.start < done.at_arc_off.mean  # the arc's own glow is not in it
        assert near.start < near.bore_range[0] < near.peak_at_bore < near.bore_range[1]
        low, high = near.depth_range
        assert 0 <= low <= near.melted_depth <= high <= case.pipe.wall
        assert near.melted_width / 2 < near.haz_width < case.pipe.outside_diameter
        assert 0 < near.time_molten < near.time_in_haz
        assert near.root_range[0] < near.root_corner < near.root_range[1]


@pytest.mark.parametrize("factor", [0.5, 1.0, 1.7])
def test_melt_through_is_a_bore_at_the_solidus(factor):
    case, _ = run(STAINLESS)
    case = with_current(replace(case, passes=case.passes[:1]), factor)
    near = welded(case)[0]
    assert near.melts_through == (near.peak_at_bore >= case.pipe.material.solidus)
    assert near.melts_through == (factor > 1.5)
    assert near.melts_through == (near.melted_depth == case.pipe.wall)
    assert near.melts_through == ("pool bigger than wall" in near.cautions)


@pytest.mark.parametrize("name", [STAINLESS, STEEL])
def test_more_current_makes_all_of_it_bigger(name):
    """Pool, zone, bore and root corner grow with the current."""
    case, _ = run(name)
    sizes = []
    for factor in (0.8, 1.0, 1.2):
        first = welded(with_current(replace(case, passes=case.passes[:1]), factor))[0]
        sizes.append((first.haz_width, first.peak_at_bore, first.root_corner))
    assert np.all(np.diff(sizes, axis=0) > 0)


def test_averages_round_the_ring_have_no_near_field():
    """The axisymmetric model: nothing is told rather than something too cold."""
    case, _ = run(STAINLESS)
    case = replace(case, model=replace(case.model, ring=1))
    assert near_arc(case, plan(case)) == ()


def test_quick_look_is_an_upper_estimate_in_later_passes():
    """A point on the pipe's wall: like the corner at first, too hot once a bead is there.

    Measured, pass 1: 25, 58, -11 and 5 K above the ring; later 120 to 230 K.
    """
    case = read_case(joints.ROOT / "cases" / "sampling-stub.toml")
    for quick, near in zip(
        quick_look(case), near_arc(case, joints.shipped("sampling-stub")), strict=True
    ):
        above = quick.peak_at_bore - near.peak_at_bore
        assert (abs(above) < 60.0) if near.number == 1 else (100.0 < above < 250.0)
        assert 0.3 < quick.share_of_pipe < 0.8


def test_cooling_time_is_for_ferritic_steel_only():
    """t8/5 and EN 1011-2 (from memory) speak of ferritic steel, not of stainless."""
    for name in (STAINLESS, DUPLEX):
        for near in near_arc(*run(name)):
            assert near.cooling_time_85 is None
            assert near.cooling_time_85_grid is None
            assert near.cooling_time_85_standard is None
    for near in near_arc(*run(STEEL)):
        assert near.cooling_time_85_grid > 0
        assert near.cooling_time_85_standard > 0


def test_endless_wall_is_not_asked_where_it_is_warm():
    """Rosenthal's wall cools to its start; above 300 degC the grid alone is told."""
    first, *later = near_arc(*run(STEEL))
    assert isfinite(first.cooling_time_85)
    assert first.start < 573.15 < min(near.start for near in later)
    assert all(near.cooling_time_85 is None for near in later)


def test_first_run_on_cold_steel_is_within_a_factor_of_the_standard():
    """The standard's t8/5 (from memory) supposes a fast arc: a slow one cools sooner
    ahead of itself and later behind; a factor of 3 is what is claimed.
    """
    first = near_arc(*run(STEEL))[0]
    assert 1 / 3 < first.cooling_time_85 / first.cooling_time_85_standard < 3


def test_time_in_the_sensitising_range_is_for_austenitic_steel_only():
    """Warmer than the background allowed, the grid's own figure is left alone."""
    for name in (STEEL, DUPLEX):
        assert all(near.dwell == () for near in near_arc(*run(name)))
    case, history = run(STAINLESS)
    cold = replace(history, ring=np.minimum(history.ring, BACKGROUND_MAX - 50.0))
    distances, times = zip(*near_arc(case, cold)[0].dwell, strict=True)
    assert list(distances) == sorted(distances)
    assert all(0 < t < inf for t in times)
    assert near_arc(case, history)[1].start > BACKGROUND_MAX
    assert near_arc(case, history)[1].dwell == ()


def test_grid_counts_the_dwell_of_its_hottest_point():
    """From 850 down to 450 degC, read off the record of the worst angle."""
    case, history = run(STAINLESS)
    near = near_arc(case, history)[0]
    window = (history.time > 0) & (history.time <= history.passes[1].arc_on)
    step = np.diff(history.time, prepend=0.0)
    ring = history.ring - 273.15
    inside = (ring > 450.0) & (ring < 850.0) & window[:, None]
    assert near.dwell_of_hottest == pytest.approx((inside * step[:, None]).sum(0).max())
    assert near.dwell_of_hottest > 10.0


def test_source_is_the_wall_of_the_pipe():
    """Filler is melted first, the socket takes its share, properties are half-way up."""
    case, _ = run(STAINLESS)
    first = case.passes[0]
    source = moving_source(case, first, 293.15)
    assert 0.3 * first.net_power < source.power < 0.9 * first.net_power
    assert source.speed == first.travel
    assert source.wall == case.pipe.wall
    assert source.turn == pytest.approx(pi * case.pipe.outside_diameter)
    assert 1e-6 < source.alpha < 8e-6  # austenitic steel, any temperature: Kim 1975
    bare = replace(case, passes=(replace(first, deposit=0.0), *case.passes[1:]))
    assert moving_source(bare, first, 293.15).power > source.power


K, CAPACITY, SPEED = 30.0, 5.0e6, 2.5e-3  # steel half-way to melting; a slow hand
HOT = joints.constant_metal(K, CAPACITY, size=20000)


def graded(fine, count, growth, end):
    """Distances from the path: ``count`` cells of ``fine``, then growing."""
    lines, step = [0.0], fine
    while lines[-1] < end:
        step *= growth if len(lines) > count else 1.0
        lines.append(lines[-1] + step)
    return np.array(lines)


def behind_the_arc(depths, across, radius, power, duration, cell=2e-3):
    """Half a wide tube with an arc on its outermost cell: rises, distances to the arc.

    ``depths`` and ``across`` are lines from the path, whose length and speed are those
    at ``radius``. The arc's spread is one cell.
    """
    r, n = (radius - depths)[::-1], round(2 * pi * radius / cell)
    source = np.zeros((r.size - 1, across.size - 1))
    source[-1, 0] = 1.0
    tube = joints.tube(r, across, HOT, T=joints.AIR, n_theta=n, source=source)
    joints.advance(
        tube, duration, 0.25, power=power / 2, turn_rate=SPEED / radius,
        spread=cell / radius,
    )  # fmt: skip
    ahead = (np.arange(n) + 0.5) * cell - SPEED * duration
    return tube, tube.field.temperature - joints.AIR, ahead


def moving(power, wall):
    return MovingSource(power, SPEED, K, K / CAPACITY, wall, joints.AIR, 1773.15)


def test_thin_wall_behind_the_arc_is_rosenthal():
    """3 mm wall, ring of 100 mm: 1 % from 20 to 80 mm behind the arc (equation from memory).

    The wall is one cell thick, as Rosenthal's is.
    """
    wall = 3e-3
    tube, rise, ahead = behind_the_arc(
        np.array([-wall / 2, wall / 2]), graded(1e-3, 8, 1.12, 0.08), 0.1, 600.0, 90.0
    )
    for distance in (20e-3, 30e-3, 50e-3, 80e-3):
        m = int(np.argmin(np.abs(ahead + distance)))
        near = tube.z < 12e-3
        expected = temperature_thin(moving(600.0, wall), ahead[m], tube.z) - joints.AIR
        assert rise[0, m, near] == pytest.approx(expected[near], rel=0.01)


@pytest.mark.slow
def test_thick_body_behind_the_arc_is_rosenthal():
    """50 mm deep, on rings of 200 and 400 mm: the curve goes as 1 / radius.

    A round body has less metal beside the path than a flat one: 5 % hotter on the smaller
    ring, half as much on the larger. Straightened out by both, 1 % is left from 20 to
    40 mm behind the arc (equation from memory).
    """
    depths = graded(1.5e-3, 4, 1.15, 0.05)
    excess = []
    for radius in (0.2, 0.4):
        tube, rise, ahead = behind_the_arc(depths, depths, radius, 1200.0, 50.0)
        depth = radius - tube.r[:, None]
        row = []
        for distance in (20e-3, 30e-3, 40e-3):
            m = int(np.argmin(np.abs(ahead + distance)))
            flat = temperature_thick(moving(1200.0, inf), ahead[m], tube.z, depth)
            near = np.hypot(tube.z, depth) < 10e-3
            row.append((rise[:, m] / (flat - joints.AIR) - 1)[near])
        excess.append(np.concatenate(row))
    assert 0.03 < excess[0].mean() < 0.06
    assert excess[1].mean() == pytest.approx(excess[0].mean() / 2, abs=0.01)
    assert np.abs(2 * excess[1] - excess[0]).max() < 0.015
