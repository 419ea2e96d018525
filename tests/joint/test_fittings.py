"""Fittings as rings: masses against closed forms, and how the rings lie together."""

from itertools import pairwise
from math import inf, isinf, pi, sqrt

import pytest
from closed_forms.bodies import metal_volume
from interpass.joint.case import Fitting
from interpass.joint.fittings import (
    KINDS,
    make_fitting,
    make_sleeve,
)
from interpass.physics.metals import material
from interpass.text.errors import CatalogueError
from interpass.trade.pipes import elbow_cap, flange, pipe, socket

SIZES = ("1/8", "1/4", "3/8", "1/2", "3/4", "1", "1 1/4", "1 1/2", "2", "2 1/2", "3", "4")
CLASSES = {3000: SIZES, 6000: SIZES[:9], 9000: SIZES[3:9]}
EVERY = [
    (kind, size, pressure_class)
    for kind in KINDS[:5]
    for pressure_class, sizes in CLASSES.items()
    for size in sizes
] + [("flange", size, 150) for size in SIZES[3:11]]
LENGTHS = (None, inf, 0.04, 0.3)
STEEL = material("316L")


def fitting_boxes(kind, size, *given, **more):
    """A fitting whose metal does not matter."""
    return make_fitting(kind, STEEL, size, *given, **more)


def tube(inner, outer):
    """Section of a tube by its diameters [m²]."""
    return pi / 4 * (outer**2 - inner**2)


@pytest.mark.parametrize("length", LENGTHS, ids=str)
@pytest.mark.parametrize(("kind", "size", "pressure_class"), EVERY)
def test_rings_touch_and_do_not_overlap(kind, size, pressure_class, length):
    shape = fitting_boxes(kind, size, pressure_class, length)
    boxes = shape.boxes
    assert boxes[0].z_start == 0.0
    assert boxes[-1].z_end == shape.length
    for box in boxes:
        assert 0 <= box.r_in < box.r_out
        assert box.z_start < box.z_end
    for a, b in pairwise(boxes):
        assert a.z_end == b.z_start  # one after another: no overlap, no gap
        shared = min(a.r_out, b.r_out) - max(a.r_in, b.r_in)
        assert shared > 1e-3  # joined by more than a millimetre of metal


@pytest.mark.parametrize(("kind", "size", "pressure_class"), EVERY)
def test_socket_has_the_sizes_of_the_standard(kind, size, pressure_class):
    shape = fitting_boxes(kind, size, pressure_class)
    row = flange(size) if kind == "flange" else socket(size, pressure_class)
    inside = [box for box in shape.boxes if box.z_end <= row.depth * (1 + 1e-12)]
    assert inside[-1].z_end == pytest.approx(row.depth)
    assert all(box.r_in == pytest.approx(row.bore / 2) for box in inside)
    assert inside[0].r_out == pytest.approx(row.bore / 2 + shape.socket_wall)
    if kind != "flange":
        assert shape.socket_wall == row.wall  # the average of ASME B16.11 (maker page)
    assert shape.socket_bore == row.bore
    assert shape.boxes[len(inside)].r_in == pytest.approx(shape.body_bore / 2)


@pytest.mark.parametrize("size", SIZES)
def test_coupling_and_half_coupling_volumes(size):
    """Bar less its bores, by ASME B16.11 E and F (maker page)."""
    row = socket(size, 3000)
    outside = row.bore + 2 * row.wall
    coupling = 2 * row.depth * tube(row.bore, outside)
    coupling += row.coupling_gap * tube(row.body_bore, outside)
    half = row.depth * tube(row.bore, outside)
    half += row.half_coupling * tube(row.body_bore, outside)
    assert metal_volume(fitting_boxes("coupling", size).boxes) == pytest.approx(coupling)
    assert metal_volume(fitting_boxes("half coupling", size).boxes) == pytest.approx(half)


def test_length_of_a_coupling():
    """NPS 1/2: two sockets of 9.5 and 9.5 mm between (ASME B16.11, maker page)."""
    assert fitting_boxes("coupling", "1/2").length == pytest.approx(28.5e-3)
    assert fitting_boxes("half coupling", "1/2").length == pytest.approx(32e-3)


@pytest.mark.parametrize("size", SIZES)
def test_cap_volume(size):
    row, end = socket(size, 3000), elbow_cap(size, 3000).cap_end
    outside = row.bore + 2 * row.wall
    solid = pi / 4 * outside**2 * (row.depth + end)
    cavity = pi / 4 * row.bore**2 * row.depth
    shape = fitting_boxes("cap", size)
    assert metal_volume(shape.boxes) == pytest.approx(solid - cavity)
    assert shape.body_bore == 0.0
    assert fitting_boxes("cap", size, length=inf).boxes == shape.boxes


def arm_volume(row, reach):
    """One arm of elbow or tee from the middle: body, shoulder and socket."""
    outside = row.bore + 2 * row.wall
    body = tube(row.body_bore, row.body_bore + 2 * row.body_wall)
    shoulder = tube(row.body_bore, outside)
    return (
        (reach - row.body_wall) * body
        + row.body_wall * shoulder
        + row.depth * tube(row.bore, outside)
    )


@pytest.mark.parametrize("pressure_class", CLASSES)
def test_elbow_has_two_arms_and_tee_three(pressure_class):
    """Pappus: a mitred elbow has its section times its centreline, twice A; a tee 3 A."""
    for size in CLASSES[pressure_class]:
        row = socket(size, pressure_class)
        arm = arm_volume(row, elbow_cap(size, pressure_class).centre_to_bottom)
        elbow = fitting_boxes("elbow", size, pressure_class)
        tee = fitting_boxes("tee", size, pressure_class)
        assert metal_volume(elbow.boxes) == pytest.approx(2 * arm)
        assert metal_volume(tee.boxes) == pytest.approx(3 * arm)


def test_elbow_and_tee_are_alike_near_the_weld():
    elbow, tee = (fitting_boxes(kind, "3/4", 3000) for kind in ("elbow", "tee"))
    assert elbow.boxes[:2] == tee.boxes[:2]
    assert elbow.boxes[2].r_out == tee.boxes[2].r_out
    assert elbow.length == pytest.approx(tee.length)


@pytest.mark.parametrize("size", SIZES[3:11])
def test_flange_volume(size):
    """Cylinders less socket, bore and bolt holes."""
    row = flange(size)
    hub = row.length - row.thickness - row.raised_face
    disc = tube(0, row.outside_diameter) - row.bolts * tube(0, row.bolt_hole)
    solid = hub * tube(0, row.hub_diameter) + row.thickness * disc
    solid += row.raised_face * tube(0, row.raised_face_diameter)
    holes = row.depth * tube(0, row.bore)
    holes += (row.length - row.depth) * tube(0, row.body_bore)
    shape = fitting_boxes("flange", size)
    assert metal_volume(shape.boxes) == pytest.approx(solid - holes)
    assert shape.length == pytest.approx(row.length)


@pytest.mark.parametrize(("kind", "arms"), [("coupling", 1), ("elbow", 1), ("tee", 2)])
def test_long_goes_on_as_the_same_pipe(kind, arms):
    entering = pipe("3/4", "40")
    shape = fitting_boxes(
        kind,
        "3/4",
        3000,
        inf,
        pipe_wall=entering.wall,
        pipe_outside_diameter=entering.outside_diameter,
    )
    last = shape.boxes[-1]
    assert isinf(last.z_end)
    assert isinf(shape.length)
    assert 2 * last.r_in == pytest.approx(entering.outside_diameter - 2 * entering.wall)
    section = tube(2 * last.r_in, 2 * last.r_out)
    one = tube(2 * last.r_in, entering.outside_diameter)
    assert section == pytest.approx(arms * one)
    assert last.z_start == pytest.approx(fitting_boxes(kind, "3/4", 3000).length)


def test_long_pipe_has_the_rating_wall_unless_given():
    last = fitting_boxes("coupling", "1", 6000, inf).boxes[-1]
    assert last.r_out - last.r_in == pytest.approx(pipe("1", "160").wall, abs=1e-5)


def test_long_half_coupling_goes_on_as_its_body():
    own = fitting_boxes("half coupling", "1").boxes[-1]
    last = fitting_boxes("half coupling", "1", length=inf).boxes[-1]
    assert (last.r_in, last.r_out, last.z_start) == (own.r_in, own.r_out, own.z_start)
    assert isinf(last.z_end)


def test_nothing_follows_a_flange():
    shape = fitting_boxes("flange", "1", length=inf)
    assert shape.boxes == fitting_boxes("flange", "1").boxes
    assert shape.length == pytest.approx(flange("1").length)


@pytest.mark.parametrize("kind", KINDS[:6])
def test_a_given_length_is_kept(kind):
    own = fitting_boxes(kind, "1")
    short = fitting_boxes(kind, "1", length=own.length - 1e-3)
    long = fitting_boxes(kind, "1", length=own.length + 20e-3)
    assert "cut off" in short.equivalent
    assert short.boxes[-1].z_end == short.length == pytest.approx(own.length - 1e-3)
    assert long.boxes[-1].z_end == long.length == pytest.approx(own.length + 20e-3)
    assert metal_volume(short.boxes) < metal_volume(own.boxes) < metal_volume(long.boxes)
    assert long.equivalent.endswith("in the fitting's material")
    assert fitting_boxes(kind, "1", length=own.length).boxes == own.boxes


@pytest.mark.parametrize("kind", KINDS[:6])
def test_a_fitting_says_how_it_became_rings(kind):
    fitting = make_fitting(kind, material("316L"), size="NPS 3/4")
    assert isinstance(fitting, Fitting)
    assert fitting.equivalent
    assert fitting.pressure_class == (150 if kind == "flange" else 3000)
    assert fitting.kind == kind
    assert fitting.boxes == fitting_boxes(kind, "NPS 3/4").boxes
    assert fitting.far_end == "air"


@pytest.mark.parametrize(
    ("kind", "size", "pressure_class", "changed", "text"),
    [
        (
            "cuopling",
            "1",
            3000,
            {},
            "no fitting kind 'cuopling'; did you mean 'coupling'",
        ),
        ("coupling", "1", 4000, {}, "no NPS 1 socket fitting of class '4000'"),
        ("flange", "1", 3000, {}, "no NPS 1 socket-welding flange of class '3000'"),
        ("coupling", "1", 3000, {"pipe_wall": 0.02}, "pipe wall 20 mm; expected above 0"),
    ],
)
def test_impossible_fittings(kind, size, pressure_class, changed, text):
    with pytest.raises(CatalogueError, match=text):
        fitting_boxes(kind, size, pressure_class, **changed)


def sleeve(**changed):
    sizes = {
        "socket_bore": 27.2e-3,
        "outside_diameter": 37e-3,
        "socket_depth": 12.5e-3,
        "body_bore": 21e-3,
        "length": 50e-3,
    }
    return make_sleeve(material("316L"), **(sizes | changed))


def test_sleeve_volume():
    fitting = sleeve()
    metal = 12.5e-3 * tube(27.2e-3, 37e-3) + 37.5e-3 * tube(21e-3, 37e-3)
    assert metal_volume(fitting.boxes) == pytest.approx(metal)
    assert fitting.socket_wall == pytest.approx(4.9e-3)
    assert isinf(sleeve(length=inf).boxes[-1].z_end)
    assert sleeve(body_bore=0.0).boxes[-1].r_in == 0.0


def test_doubled_arms_keep_their_bore_and_have_root_two_of_the_section():
    """Bore r and outside R doubled: outside sqrt(2 R² - r²), by equal sections."""
    boxes = fitting_boxes("tee", "1").boxes
    one, two = boxes[2], boxes[3]
    assert two.r_in == one.r_in
    assert two.r_out == pytest.approx(sqrt(2 * one.r_out**2 - one.r_in**2))
