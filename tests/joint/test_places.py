"""Where the pyrometer goes, and what it will read there."""

from dataclasses import replace
from math import pi

import joints
import numpy as np
import pytest
from interpass.case_file.read import parse_case, read_case
from interpass.heat.waits import plan
from interpass.joint.beads import fillets, leg_room
from interpass.joint.case import Measure
from interpass.joint.places import measuring_place


def joint(**pipe):
    """The sampling stub, its pipe or its measuring place changed."""
    case = read_case(joints.ROOT / "cases" / "sampling-stub.toml")
    return replace(case, pipe=replace(case.pipe, **pipe))


def measured(on="pipe", from_toe=None, angle=0.0):
    return replace(joint(), measure=Measure(on, from_toe, angle))


def stub_with(text):
    """The sampling stub with more lines in its case file."""
    stub = (joints.ROOT / "cases" / "sampling-stub.toml").read_text(encoding="utf-8")
    return parse_case(stub + text)


@pytest.mark.published
@pytest.mark.parametrize(
    ("size", "wall_mm", "distance_mm"),
    [("NPS 1/2", 3.73, 14.9), ("NPS 1", 4.55, 18.2), ("NPS 2", 5.54, 22.2)],
)
def test_standard_place_is_four_walls_away(size, wall_mm, distance_mm):
    """Schedule 80 pipe: A = 4 t.

    AS ISO 13916, 4.1 (published); walls B36.10 (published restatement).
    """
    case = replace(joint(wall=wall_mm * 1e-3, size=size), measure=Measure("pipe", None))
    place = measuring_place(case)
    assert place.from_toe * 1e3 == pytest.approx(distance_mm, abs=0.05)
    assert place.name == "4 t from the toe, pipe side"


@pytest.mark.published
def test_standard_place_is_never_more_than_50_mm_away():
    """AS ISO 13916, 4.1 (published): at most 50 mm."""
    at_4t = Measure("pipe", None)
    for wall, distance in ((12.6e-3, 50e-3), (12.4e-3, 49.6e-3)):
        case = replace(joint(wall=wall), measure=at_4t)
        assert measuring_place(case).from_toe == pytest.approx(distance)


def test_pipe_side_is_measured_from_the_finished_toe():
    case = measured(from_toe=10e-3)
    place = measuring_place(case)
    assert place.r == case.pipe.outside_diameter / 2
    assert place.z == pytest.approx(-fillets(case)[-1].leg_pipe - 10e-3)
    assert place.name == "10 mm from the toe, pipe side"


def test_a_place_beyond_the_pipe_is_its_end():
    assert measuring_place(measured(from_toe=1.0)).z == -0.120


def test_fitting_side_goes_along_the_face_and_then_along_the_outside():
    """The distance is walked on the surface: face first, round the edge, then outside."""
    case = measured("fitting")
    toe = case.pipe.outside_diameter / 2 + fillets(case)[-1].leg_socket
    edge = case.pipe.outside_diameter / 2 + leg_room(case)
    assert toe < edge
    left = edge - toe
    on_face = measuring_place(measured("fitting", left / 2))
    assert (on_face.r, on_face.z) == pytest.approx((toe + left / 2, 0.0))
    at_edge = measuring_place(measured("fitting", left))
    assert (at_edge.r, at_edge.z) == pytest.approx((edge, 0.0))
    outside = measuring_place(measured("fitting", left + 7e-3))
    assert (outside.r, outside.z) == pytest.approx((edge, 7e-3))


def test_fitting_side_counts_the_wall_of_the_socket():
    case = measured("fitting")
    place = measuring_place(case)
    assert place.from_toe == pytest.approx(4 * case.fitting.socket_wall)
    assert place.name == "4 t from the toe, fitting side"


def run(on="pipe", from_toe=None, angle=0.0):
    """Second pass of the stub on a coarse ring."""
    case = measured(on, from_toe, angle)
    options = replace(case.model, ring=12, cell=2e-3, end_after=1.0)
    return plan(replace(case, model=options)).passes[1]


def test_reading_is_what_the_surface_has_there():
    """Below the hottest, and lower the farther from the toe; above the air."""
    near, far = run(from_toe=2e-3), run(from_toe=30e-3)
    assert near.at_arc_on.hottest > near.expect_reading > far.expect_reading > 330.0
    assert near.expect_reading > near.at_arc_on.coldest - 10.0
    assert near.at_arc_on == far.at_arc_on  # looking does not change the joint


def test_standard_place_of_a_small_joint_reads_well_below_the_hottest():
    """4 t is 16 mm from the toe here: 20 to 40 K below the limit it is read for."""
    done = run()
    assert 15.0 < done.at_arc_on.hottest - done.expect_reading < 40.0


def test_reading_depends_on_the_angle_by_less_than_the_ring_does():
    """After a long wait the ring is even, and the angle is all the same."""
    readings = [run(angle=a).expect_reading for a in (0.0, pi / 2, pi, 3 * pi / 2)]
    ring = run().at_arc_on
    assert 0.0 <= np.ptp(readings) < ring.hottest - ring.coldest + 1.0


def test_the_usual_place_is_the_parent_metal_beside_the_toe():
    """ISO 13916, 3.2: weld and adjacent parent metal, without a distance; 5 mm is ours."""
    place = measuring_place(joint())
    assert (place.name, place.from_toe) == ("5 mm from the toe, pipe side", 5e-3)


@pytest.mark.parametrize(
    ("given", "distance"),
    [("beside", 5e-3), ("1/4 in", 6.35e-3), ("1 in", 25.4e-3), ("12 mm", 12e-3)],
)
def test_places_by_name_and_by_distance(given, distance):
    case = stub_with(f'\n[measure]\nfrom_toe = "{given}"\n')
    assert measuring_place(case).from_toe == pytest.approx(distance, abs=1e-15)


@pytest.mark.parametrize("given", ["4t", "4 t", "ISO 13916"])
def test_four_walls_by_each_of_its_names(given):
    case = stub_with(f'\n[measure]\nfrom_toe = "{given}"\n')
    assert measuring_place(case).name == "4 t from the toe, pipe side"
