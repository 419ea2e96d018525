"""The section: volume and every kind of outer surface against closed forms.

The expected areas come from a second, plainer construction: the drawing cut along all
its edges, each piece metal or not, the air flooded from outside and from the bore.
"""

from dataclasses import dataclass, replace
from math import pi

import numpy as np
import pytest
from closed_forms.bodies import metal_volume
from interpass.case_file.read import read_case
from interpass.heat.grid import Lines
from interpass.heat.model import make_model
from interpass.heat.section import SLIVER, make_lines, make_stage, part_of_cells
from interpass.joint.beads import Fillet
from interpass.joint.case import Box
from interpass.joint.outline import KIND, SURFACES, Outline
from joints import ROOT
from numpy.testing import assert_allclose

SEEDS = range(60)
METAL, OUTSIDE_AIR, BORE_AIR, GAP = 1, 2, 3, 4


@dataclass(frozen=True)
class Drawn:
    """A joint made up at random."""

    outline: Outline
    fillet: Fillet  # when finished
    cell: float


def random_joint(seed):
    """Pipe, socket and what follows; legs unequal, ends open or not, held or not."""
    rng = np.random.default_rng(seed)
    outside = rng.uniform(5e-3, 25e-3)
    wall = outside * rng.uniform(0.1, 0.6)
    bore = outside + rng.uniform(0.1e-3, 0.8e-3)
    top = bore + rng.uniform(3e-3, 12e-3)
    depth, gap = rng.uniform(9e-3, 16e-3), rng.uniform(0.3e-3, 3e-3)
    leg_socket = rng.uniform(0.4, 1.0) * (top - outside)
    fillet = Fillet(rng.uniform(2e-3, 9e-3), leg_socket)
    length = rng.uniform(2.5, 8.0) * 10e-3
    pipe = Box(outside - wall, outside, -length, depth - gap)
    boxes = random_boxes(rng, bore, top, depth, pipe)
    held = None
    if rng.random() < 0.5:
        low = rng.uniform(1.1, 1.5) * fillet.leg_pipe
        on_pipe = ("pipe", -low - rng.uniform(2e-3, 8e-3), -low)
        held = (
            on_pipe
            if rng.random() < 0.5
            else ("fitting", 2e-3, 2e-3 + rng.uniform(3e-3, 9e-3))
        )
    open_ends = rng.random(2) < 0.5
    outline = Outline(
        pipe, boxes, bore, depth, bool(open_ends[0]), bool(open_ends[1]), held
    )
    return Drawn(outline, fillet, 10 ** rng.uniform(np.log10(0.2e-3), np.log10(3e-3)))


def random_boxes(rng, bore, top, depth, pipe):
    """The socket, and: a plain body, a shoulder and a slim one, a disc, a cap, a coupling."""
    socket, end = Box(bore, top, 0.0, depth), depth + rng.uniform(8e-3, 40e-3)
    inner = rng.choice([rng.uniform(0.5, 0.98) * pipe.r_in, pipe.r_in,
                        rng.uniform(pipe.r_in, pipe.r_out)])  # fmt: skip
    slim = rng.uniform(bore, top) + 1e-3
    step = depth + 4e-3
    return [
        (socket, Box(inner, top, depth, end)),
        (socket, Box(inner, top, depth, step), Box(inner, slim, step, end)),
        (socket, Box(inner, top + 9e-3, depth, step), Box(inner, slim, step, end)),
        (socket, Box(0.0, top, depth, end)),
        (socket, Box(inner, top, depth, step), Box(bore, top, step, end)),
        (socket, Box(inner, top, depth, step), Box(pipe.r_in, top, step, end),
         Box(pipe.r_in, pipe.r_out, end, end + 20e-3)),
    ][rng.integers(6)]  # fmt: skip


def part_built(drawn, seed):
    """The finished fillet, half of it, a first thin bead, and one of other proportions."""
    f = drawn.fillet
    share = np.random.default_rng(seed + 1000).uniform(0.02, 0.9)
    skew = Fillet(f.leg_pipe, f.leg_socket * share)
    return (f, scaled(f, np.sqrt(0.5)), scaled(f, np.sqrt(share)), skew, Fillet(0.0, 0.0))


def scaled(fillet, scale):
    return Fillet(fillet.leg_pipe * scale, fillet.leg_socket * scale)


def pieces(outline):
    """Edges in r and z, and what each piece between them is (nr, nz)."""
    boxes = (outline.pipe, *outline.fitting)
    r = np.unique([0.0, *(x for b in boxes for x in (b.r_in, b.r_out))])
    z = np.unique([0.0, *(x for b in boxes for x in (b.z_start, b.z_end))])
    r = np.append(r, r[-1] + 1.0)
    mid_r, mid_z = (r[1:] + r[:-1]) / 2, (z[1:] + z[:-1]) / 2
    at_r, at_z = np.meshgrid(mid_r, mid_z, indexing="ij")
    what = np.zeros(at_r.shape, dtype=int)
    for b in boxes:
        inside = (b.r_in < at_r) & (at_r < b.r_out)
        what[inside & (b.z_start < at_z) & (at_z < b.z_end)] = METAL
    gap = (what == 0) & (outline.pipe.r_in < at_r) & (at_r < outline.socket_bore)
    what[gap & (at_z > 0.0) & (at_z < outline.socket_depth)] = GAP
    flood(what, what.shape[0] - 1, OUTSIDE_AIR)
    flood(what, 0, BORE_AIR)
    return r, z, what


def flood(what, row, name):
    """Air that can be reached from one row of pieces."""
    what[row][what[row] == 0] = name
    for _ in range(what.size):
        reached = what == name
        near = np.zeros_like(reached)
        near[1:] |= reached[:-1]
        near[:-1] |= reached[1:]
        near[:, 1:] |= reached[:, :-1]
        near[:, :-1] |= reached[:, 1:]
        what[near & (what == 0)] = name


def expected_areas(outline, fillet):
    """Outer surface by kind [m²/rad]."""
    r, z, what = pieces(outline)
    area = dict.fromkeys(SURFACES, 0.0)
    add_cylinders(area, outline, r, z, what)
    add_flats(area, outline, r, z, what)
    if fillet.area:  # the fillet covers a piece of pipe and a piece of face
        root, toe = outline.root, outline.root + fillet.leg_socket
        area["pipe"] -= root * fillet.leg_pipe
        area["faces"] -= max(toe**2 - outline.socket_bore**2, 0.0) / 2
        area["fillet"] = np.hypot(fillet.leg_pipe, fillet.leg_socket) * (root + toe) / 2
    if outline.holding:
        area["holding"] = held_area(outline, *outline.holding)
        area[outline.holding[0]] -= area["holding"]
    return area


def held_area(outline, part, low, high):
    """Outer cylinder between two heights."""
    if part == "pipe":
        return outline.root * (high - low)
    reach = [
        (min(b.z_end, high) - max(b.z_start, low)) * b.r_out for b in outline.fitting
    ]
    return sum(x for x in reach if x > 0.0)


def add_cylinders(area, outline, r, z, what):
    for i in range(r.size - 2):
        for j in range(z.size - 1):
            inner, outer = what[i, j], what[i + 1, j]
            a = r[i + 1] * (z[j + 1] - z[j])
            pipe = z[j] < 0.0 - 1e-12
            if (inner, outer) == (METAL, OUTSIDE_AIR):
                area["pipe" if pipe else "fitting"] += a
            if (inner, outer) == (BORE_AIR, METAL):
                of_pipe = (
                    r[i + 1] == outline.pipe.r_in and z[j] < outline.pipe.z_end - 1e-12
                )
                area["pipe bore" if of_pipe else "fitting bore"] += a


def add_flats(area, outline, r, z, what):
    washers = np.diff(r[:-1] ** 2) / 2
    for i, a in enumerate(washers):
        if outline.pipe_end_open and what[i, 0] == METAL:
            area["faces"] += a
        if outline.fitting_end_open and what[i, -1] == METAL:
            area["faces"] += a
        for j in range(z.size - 2):
            pair = {what[i, j], what[i, j + 1]}
            if pair == {METAL, OUTSIDE_AIR}:
                area["faces"] += a
            if pair == {METAL, BORE_AIR} and z[j + 1] != outline.pipe.z_end:
                area["fitting bore"] += a


@pytest.fixture(scope="module")
def drawn_stages():
    """Every random joint with its lines and its stages."""
    every = []
    for seed in SEEDS:
        drawn = random_joint(seed)
        lines = make_lines(drawn.outline, drawn.fillet, drawn.cell)
        stages = [make_stage(drawn.outline, f, lines) for f in part_built(drawn, seed)]
        every.append((drawn, lines, stages))
    return every


def test_metal_volume_is_exact(drawn_stages):
    """Boxes, and a triangle by Pappus; grids of 0.2 to 3 mm; any part of the bead."""
    for drawn, _, stages in drawn_stages:
        boxes = metal_volume((drawn.outline.pipe, *drawn.outline.fitting)) / (2 * pi)
        for stage in stages:
            f = stage.fillet
            weld = f.area * (drawn.outline.root + f.leg_socket / 3)
            assert stage.volume.sum() == pytest.approx(boxes + weld, rel=1e-12)
            assert stage.fillet_volume.sum() == pytest.approx(weld, rel=1e-12)


def test_outer_surface_is_exact_by_kind(drawn_stages):
    seen = set()
    for drawn, _, stages in drawn_stages:
        for stage in stages:
            s = stage.surface
            found = np.bincount(s.kind, s.area, minlength=len(SURFACES))
            expected = expected_areas(drawn.outline, stage.fillet)
            for name, area in expected.items():
                assert found[KIND[name]] == pytest.approx(area, rel=1e-12, abs=1e-18), (
                    name
                )
            seen |= {name for name, area in expected.items() if area > 0}
    assert seen == set(SURFACES)  # the random joints had one of everything


def test_centre_of_the_metal_is_exact(drawn_stages):
    """First moments of the section about both axes: slivers take theirs along."""
    for drawn, _, stages in drawn_stages:
        boxes = (drawn.outline.pipe, *drawn.outline.fitting)
        for stage in stages:
            f = stage.fillet
            plane = sum((b.r_out - b.r_in) * (b.z_end - b.z_start) for b in boxes)
            about = sum(
                (b.r_out - b.r_in) * (b.z_end**2 - b.z_start**2) / 2 for b in boxes
            )
            assert stage.plane.sum() == pytest.approx(plane + f.area, rel=1e-12)
            moment = about - f.area * f.leg_pipe / 3
            size = (stage.plane * abs(stage.z)).sum()
            assert (stage.plane * stage.z).sum() == pytest.approx(
                moment, abs=1e-12 * size
            )
            assert_allclose(stage.volume, stage.plane * stage.r, rtol=1e-12)


def test_no_piece_is_negative_and_none_is_left_alone(drawn_stages):
    for _, _, stages in drawn_stages:
        for stage in stages:
            for piece in (stage.volume, stage.plane, stage.r_area, stage.z_area):
                assert piece.min() >= 0.0
            assert stage.surface.area.min() > 0.0
            metal = stage.volume > 0
            joined = stage.r_area[:-1] + stage.r_area[1:]
            joined = joined + stage.z_area[:, :-1] + stage.z_area[:, 1:]
            assert (joined[metal] > 0.0).all()
            assert (stage.volume[stage.surface.i, stage.surface.j] > 0.0).all()


def test_faces_lie_between_cells_of_metal(drawn_stages):
    """No aperture leads into air, nor out of the drawing; 1e-18 m² is round-off."""
    for _, _, stages in drawn_stages:
        for stage in stages:
            metal = stage.volume > 0
            into_air = stage.r_area[1:-1][~(metal[1:] & metal[:-1])]
            assert into_air.max(initial=0.0) < 1e-18
            into_air = stage.z_area[:, 1:-1][~(metal[:, 1:] & metal[:, :-1])]
            assert into_air.max(initial=0.0) < 1e-18
            for edge in (stage.r_area[[0, -1]], stage.z_area[:, [0, -1]]):
                assert (edge == 0.0).all()


def test_slivers_are_merged_and_keep_what_they_held(drawn_stages):
    """What is left of the fillet is at least SLIVER of a cell, or had nowhere to go."""
    merged = 0
    for drawn, lines, stages in drawn_stages:
        full = np.outer(np.diff(lines.r), np.diff(lines.z))
        for stage in stages:
            weld = stage.fillet_volume > 0
            columns = full.shape[1]
            home = np.arange(full.size).reshape(full.shape)
            gone = stage.owner != home
            merged += gone.sum()
            assert (stage.volume[gone] == 0.0).all()
            owner = stage.owner[weld]
            assert (stage.volume[owner // columns, owner % columns] > 0.0).all()
            outside = lines.r[:-1] >= drawn.outline.root
            kept = weld & ~gone & outside[:, None] & (lines.z[1:] <= 0.0)
            small = kept & (stage.plane < SLIVER * full * (1 - 1e-9))
            neighbours = sum(
                np.roll(kept & ~small, shift, axis)[small].sum()
                for axis in (0, 1)
                for shift in (-1, 1)
            )
            assert not small.any() or neighbours == 0
    assert merged > 100


def test_parts_are_where_the_drawing_has_them(drawn_stages):
    """Volume of each part by its cells, slivers of weld lie outside both tubes."""
    for drawn, lines, stages in drawn_stages:
        part = part_of_cells(drawn.outline, lines)
        volume = stages[-1].volume  # without fillet
        for n, boxes in enumerate(((drawn.outline.pipe,), drawn.outline.fitting)):
            expected = metal_volume(boxes) / (2 * pi)
            assert volume[part == n].sum() == pytest.approx(expected, rel=1e-12)
        assert volume[part == 2].sum() == 0.0


def test_lines_pass_through_the_toes_and_the_root():
    drawn = random_joint(4)
    f, o = drawn.fillet, drawn.outline
    lines = make_lines(o, f, 1e-3)
    for r in (o.root, o.root + f.leg_socket, o.pipe.r_in):
        assert abs(lines.r - r).min() < 0.3e-3
    assert o.root in lines.r
    for z in (0.0, -f.leg_pipe):
        assert z in lines.z


@pytest.mark.parametrize("leg_socket", [0.4e-3, 4e-3, 12e-3])
def test_corner_cell_by_hand(leg_socket):
    """One cell holds the whole fillet: its area, centroid and hypotenuse by hand."""
    outline = Outline(
        Box(10e-3, 15e-3, -50e-3, 9e-3), (Box(15.2e-3, 30e-3, 0.0, 40e-3),), 15.2e-3,
        10e-3, True, True,
    )  # fmt: skip
    fillet = Fillet(4e-3, leg_socket)
    lines = Lines(
        np.array([10e-3, 15e-3, 27.5e-3, 30e-3]), np.array([-50e-3, -4e-3, 0.0, 40e-3])
    )
    stage = make_stage(outline, fillet, lines)
    assert stage.plane[1, 1] == pytest.approx(fillet.leg_pipe * fillet.leg_socket / 2)
    assert stage.r[1, 1] == pytest.approx(15e-3 + fillet.leg_socket / 3)
    assert stage.z[1, 1] == pytest.approx(-4e-3 / 3)
    on = stage.surface.kind == KIND["fillet"]
    long_side = np.hypot(fillet.leg_pipe, fillet.leg_socket)
    assert stage.surface.area[on].sum() == pytest.approx(
        long_side * (15e-3 + fillet.leg_socket / 2)
    )
    normal = stage.surface.normal_r[on][0], stage.surface.normal_z[on][0]
    assert normal[0] > 0 > normal[1]
    assert np.hypot(*normal) == pytest.approx(1.0)


@pytest.mark.parametrize(
    "name", ["sampling-stub", "steam-drain", "mixed-drain", "us-manifold"]
)
def test_shipped_joints_keep_volume_and_surface(name):
    """Long ends, real fittings: every stage of every pass, by kind."""
    case = read_case(ROOT / "cases" / f"{name}.toml")
    for cell in (2e-3, 0.6e-3):
        model = make_model(replace(case, model=replace(case.model, cell=cell, ring=1)))
        boxes = metal_volume((model.outline.pipe, *model.outline.fitting)) / (2 * pi)
        for stage in model.stages:
            f, s = stage.fillet, stage.surface
            weld = f.area * (model.outline.root + f.leg_socket / 3)
            assert stage.volume.sum() == pytest.approx(boxes + weld, rel=1e-12)
            found = np.bincount(s.kind, s.area, minlength=len(SURFACES))
            for kind, area in expected_areas(model.outline, f).items():
                assert found[KIND[kind]] == pytest.approx(area, rel=1e-12, abs=1e-18)
