"""The model of a joint: cells, films, sources and tables that fit together.

Expected numbers are worked out from the drawing where they stand.
"""

from dataclasses import replace
from math import inf, pi

import numpy as np
import pytest
from interpass.case_file.read import parse_case, read_case
from interpass.heat.arrays import GAIN, RADIUS
from interpass.heat.model import make_model
from interpass.joint.case import Box, Holding
from interpass.joint.outline import KIND, finite_boxes, long_reach
from interpass.physics import films as surfaces
from interpass.physics.metals import TABLE_TEMPERATURE
from joints import CASES, ROOT, one_pass, reference, with_passes
from numpy.testing import assert_allclose

NAMES = [path.stem for path in CASES]


def growing(**changes):
    """Reference joint whose beads appear pass by pass."""
    return reference(metal_in_place=False, **changes)


@pytest.fixture(scope="module")
def shipped_models():
    """Models of the shipped cases, axisymmetric, 1 mm."""
    models = {}
    for path in CASES:
        case = read_case(path)
        coarse = replace(case.model, ring=1, cell=1e-3)
        models[path.stem] = make_model(replace(case, model=coarse))
    return models


@pytest.mark.parametrize("name", NAMES)
def test_bodies_follow_one_another(shipped_models, name):
    """What one pass leaves is what the next begins with; each adds its bead."""
    model = shipped_models[name]
    in_place = model.case.metal_in_place
    for n, body in enumerate(model.bodies):
        before, after = (model.stages[-1],) * 2 if in_place else model.stages[n : n + 2]
        assert_allclose(body.volume[0], before.volume)
        assert_allclose(body.volume[1], after.volume)
        added = after.fillet_volume.sum() - before.fillet_volume.sum()
        assert body.section[GAIN, 1].sum() == pytest.approx(added, abs=1e-20)
        for source in body.source:
            assert source.sum() == pytest.approx(1.0, rel=1e-12)
            assert source.min() >= 0.0
        assert (body.volume[0][body.source[0] > 0] > 0).all()
        assert (body.volume[1][body.source[1] > 0] > 0).all()


@pytest.mark.parametrize("name", NAMES)
def test_rows_hold_all_their_metal(shipped_models, name):
    for body in shipped_models[name].bodies:
        inside = np.arange(body.material.shape[1])
        inside = (inside >= body.span[0][:, None]) & (inside < body.span[1][:, None])
        assert (body.volume[:, ~inside] == 0.0).all()


@pytest.mark.parametrize("name", NAMES)
def test_every_array_is_laid_out_alike(shipped_models, name):
    """Another layout would compile the solver a second time."""
    for body in shipped_models[name].bodies:
        for field, array in body._asdict().items():
            assert np.isscalar(array) or array.flags.c_contiguous, field


def test_clearance_and_end_gap_have_their_areas():
    """Film: pipe in the socket at the mean radius; end gap: pipe wall over the body."""
    for cell in (2e-3, 1e-3, 0.3e-3):
        body = make_model(reference(cell=cell)).bodies[0]
        mean = (33.4e-3 + 33.9e-3) / 4
        assert body.film[0].sum() == pytest.approx(mean * 10.9e-3, rel=1e-12)
        wall = (16.7e-3**2 - 13.35e-3**2) / 2  # the body's bore is wider than the pipe's
        assert body.link_area.sum() == pytest.approx(wall, rel=1e-12)
        assert (body.volume[0][body.link[:, 0], body.link[:, 1]] > 0).all()
        assert (body.volume[0][body.link[:, 2], body.link[:, 3]] > 0).all()
        assert body.section[RADIUS, 1, body.film_row].min() > 16.7e-3


def test_metal_beside_the_clearance_is_half_a_cell_either_side():
    """From node to wall, over the wall's own area, in pipe and socket."""
    model = make_model(reference(cell=0.5e-3))
    body, stage, row = model.bodies[0], model.stages[-1], model.bodies[0].film_row
    end = np.minimum(model.lines.z, 10.9e-3)
    length = np.diff(np.maximum(end, 0.0))
    there = body.film[0] > 0
    for path, wall, node in (
        (body.film[1], 16.7e-3, stage.r[row - 1]),
        (body.film[2], 16.95e-3, stage.r[row]),
    ):
        expected = abs(wall - node[there]) / (wall * length[there])
        assert_allclose(path[there], expected, rtol=1e-9)


def test_zone_is_the_weld_and_5_mm_from_either_toe():
    """Definition of the joint temperature: by distance in the section, to the axis."""
    model = make_model(growing(cell=0.5e-3))
    stage, body = model.stages[-1], model.bodies[-1]
    chosen = np.zeros(stage.volume.shape, dtype=bool)
    whole = body.zone_size[0, 1] == 0.0
    chosen[tuple(body.zone[1][whole, :2].T)] = True
    f = stage.fillet
    pipe_toe = np.hypot(stage.r - 16.7e-3, stage.z + f.leg_pipe)
    socket_toe = np.hypot(stage.r - 16.7e-3 - f.leg_socket, stage.z)
    near = np.minimum(pipe_toe, socket_toe) <= 5e-3
    weld = (stage.r > 16.7e-3) & (stage.z < 0)
    expected = (near | weld) & (stage.volume > 0)
    assert (chosen == expected).all()
    i, j, p, q = body.zone[1][~whole].T
    share = body.zone_size[0, 1][~whole]
    r = stage.r[i, j] + share * (stage.r[p, q] - stage.r[i, j])
    z = stage.z[i, j] + share * (stage.z[p, q] - stage.z[i, j])
    off = np.minimum(
        np.hypot(r - 16.7e-3, z + f.leg_pipe), np.hypot(r - 16.7e-3 - f.leg_socket, z)
    )
    assert_allclose(off, 5e-3, rtol=1e-9)
    assert not chosen[p, q].any()
    assert chosen[i, j].all()
    assert len(off) > 20


def test_metal_of_the_zone_does_not_depend_on_the_cell():
    """What stands for the mean: cells of 0.25 to 1 mm agree within 1 %."""
    volumes = [
        make_model(growing(cell=cell)).bodies[-1].zone_size[1, 1].sum()
        for cell in (1e-3, 0.5e-3, 0.25e-3)
    ]
    assert volumes[:2] == pytest.approx([volumes[2]] * 2, rel=0.01)


def test_each_pass_heats_its_own_bead():
    """Thirds from the root outward: the centre of each third's volume, by hand.

    Over a right triangle with its root at R and leg s along r the moments of
    x = r - R are s/2, s²/6 and s³/12 of the other leg.
    """

    def moments(s):
        m0, m1, m2 = s * s / 2, s * s**2 / 6, s * s**3 / 12  # both legs alike
        return 16.7e-3 * m0 + m1, 16.7e-3**2 * m0 + 2 * 16.7e-3 * m1 + m2

    model = make_model(reference(cell=0.3e-3))
    thirds = [moments(5e-3 * np.sqrt(n / 3)) for n in range(4)]
    for n, body in enumerate(model.bodies):
        centre = (body.source[1] * model.stages[-1].r).sum()
        volume, moment = np.subtract(thirds[n + 1], thirds[n])
        assert centre == pytest.approx(moment / volume, abs=0.02e-3)


def test_source_before_its_bead_is_on_the_metal_it_will_touch():
    body = make_model(growing(cell=0.5e-3)).bodies[0]
    i, j = np.nonzero(body.source[0])
    assert (body.volume[0][i, j] > 0).all()
    assert ((body.material[i, j] == 0) | (body.material[i, j] == 1)).all()
    assert set(body.material[i, j]) == {0, 1}  # pipe and socket both


def test_pass_without_metal_heats_the_last_bead_or_the_root():
    """A wash pass after one with metal; and a joint that has none at all."""
    case = growing()
    first = replace(case.passes[0], deposit=12.5e-6)
    wash = replace(case.passes[1], deposit=0.0)
    model = make_model(replace(case, passes=(first, wash)))
    assert_allclose(model.bodies[1].source[1], model.bodies[0].source[1], atol=1e-12)
    bare = one_pass(case, deposit=0.0)
    body = make_model(bare).bodies[0]
    i, j = np.nonzero(body.source[1])
    assert i.size > 0
    assert np.hypot(body.section[RADIUS, 1, i, j] - 16.7e-3, 0.0).max() < 2.5e-3


def test_pass_without_metal_on_coarse_cells_heats_the_nearest():
    """Cells of 5 mm in a thick pipe: no node lies within 2 mm of the root."""
    text = """
[pipe]
size = "NPS 4"
schedule = "XXS"
material = "316L"
length = "90 mm"
[fitting]
kind = "coupling"
class = 3000
material = "316L"
[arc]
voltage = "11 V"
[[pass]]
current = "120 A"
travel = "60 mm/min"
wire = "none"
[model]
cell = "5 mm"
"""
    model = make_model(parse_case(text, "coarse.toml"))
    source = model.bodies[0].source
    assert source.sum(axis=(1, 2)) == pytest.approx([1.0, 1.0])
    assert np.count_nonzero(source[1]) < 4


def test_long_ends_reach_six_fin_lengths():
    """sqrt(k A / h P) of the pipe, h 10 W/m²/K; and nothing is lost there."""
    case = reference()
    long = replace(case, pipe=replace(case.pipe, length=inf))
    model = make_model(long)
    k = float(np.interp(373.15, TABLE_TEMPERATURE, case.pipe.material.conductivity))
    area = pi * (16.7e-3**2 - 12.32e-3**2)
    fin = np.sqrt(k * area / (10.0 * 2 * pi * 16.7e-3))
    assert model.outline.pipe.z_start == pytest.approx(-6 * fin)
    assert not model.outline.pipe_end_open


def test_long_pipe_reaches_past_what_holds_it():
    case = reference()
    held = Holding("pipe", 0.9, 25e-3, 500.0)
    long = replace(
        case,
        pipe=replace(case.pipe, length=inf),
        surroundings=replace(case.surroundings, holding=held),
    )
    model = make_model(long)
    assert model.outline.pipe.z_start < -(0.9 + 25e-3)
    s = model.stages[0].surface
    area = s.area[s.kind == KIND["holding"]].sum()
    assert area == pytest.approx(16.7e-3 * 25e-3, rel=1e-12)


def test_long_fitting_is_cut_where_its_last_ring_began_to_be_long():
    case = reference()
    boxes = (case.fitting.boxes[0], replace(case.fitting.boxes[1], z_end=inf))
    fitting = replace(case.fitting, boxes=boxes, length=inf)
    found = finite_boxes(fitting)
    assert found[0] == boxes[0]
    assert boxes[1].z_start < found[1].z_end < inf
    assert finite_boxes(case.fitting) == case.fitting.boxes
    box = Box(12.32e-3, 16.7e-3, 0.0, 1.0)
    reach = long_reach(case.pipe.material, box.r_out, box.r_in)
    assert 0.2 < reach < 0.6


def test_films_are_those_of_the_surroundings():
    """Given coefficient plus radiation outside; nothing in an insulated bore."""
    model = make_model(reference())
    films, at = model.films_wait, np.searchsorted(TABLE_TEMPERATURE, 472.5)
    T = TABLE_TEMPERATURE[at]
    radiation = 0.5 * surfaces.STEFAN_BOLTZMANN * (T**4 - 293.15**4) / (T - 293.15)
    for kind in ("pipe", "fillet", "fitting", "faces"):
        assert films.surface[KIND[kind], at] == pytest.approx(10.0 + radiation, rel=1e-9)
    for kind in ("pipe bore", "fitting bore"):
        assert (films.surface[KIND[kind]] == 0.0).all()
    assert (films.clearance == 150.0).all()
    assert (films.gap == 0.0).all()


def test_fan_blows_only_when_it_is_told_to():
    case = read_case(ROOT / "cases" / "sampling-stub.toml")
    fan = replace(case.surroundings, fan=3.0, film_coefficient=None)
    waits = make_model(replace(case, surroundings=replace(fan, fan_during="waits")))
    always = make_model(replace(case, surroundings=replace(fan, fan_during="always")))
    assert_allclose(waits.films_wait.surface, always.films_arc.surface)
    still = waits.films_arc.surface[KIND["pipe"]]
    assert (waits.films_wait.surface[KIND["pipe"]] > still + 5.0).all()


def test_melt_conducts_twice_as_well():
    """Stirring of the pool: ramped from solidus to liquidus, nothing below."""
    model = make_model(reference())
    metal = model.materials[0]
    ratio, T = model.tables.conductivity[0] / metal.conductivity, TABLE_TEMPERATURE
    assert_allclose(ratio[metal.solidus >= T], 1.0)
    assert_allclose(ratio[metal.liquidus <= T], 2.0)
    assert_allclose(model.tables.enthalpy[0], metal.enthalpy)


def test_number_of_cells_counts_every_angle():
    one = make_model(reference(ring=1))
    many = make_model(reference(ring=12))
    assert many.cells == 12 * one.cells
    assert one.cells == int((one.stages[-1].volume > 0).sum())


def test_passes_of_any_number_fill_the_leg():
    for waits in ((0.0,), (0.0, 60.0), (0.0, 60.0, 60.0, 60.0, 60.0)):
        model = make_model(with_passes(growing(), *waits))
        assert len(model.bodies) == len(waits)
        assert model.fillets[-1].leg_pipe == pytest.approx(5e-3)
        areas = [f.area for f in model.fillets]
        assert_allclose(np.diff(areas), areas[-1] / len(waits))
