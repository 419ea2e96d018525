import math

import numpy as np
import pytest
from interpass.joint.arc import (
    arc_energy,
    arc_position,
    arc_time_from_travel,
    burning_time,
    deposit_area,
    heat_input,
    net_power,
    pass_duration,
    stretches,
    travel_from_arc_time,
    travel_from_turn,
    two_halves,
)
from interpass.joint.case import Pass, Segment
from interpass.text.errors import CatalogueError
from interpass.text.units import parse


def one_pass(**changes):
    plain = {
        "number": 1,
        "current": 80.0,
        "voltage": 11.0,
        "efficiency": 0.75,
        "net_power": 660.0,
        "arc_time": 80.0,
        "travel": 1e-3,
        "deposit": None,
        "wire": None,
        "wait": None,
    }
    return Pass(**(plain | changes))


@pytest.mark.parametrize(
    ("current", "voltage", "travel", "energy", "heat"),
    [
        (100, 12, "60 mm/min", 1.200, 0.720),
        (80, 11, "50 mm/min", 1.056, 0.6336),
        (75, 11, "5 cm/min", 0.990, 0.594),
        (90, 13, "4 cm/min", 1.755, 1.053),
    ],
)
def test_heat_input(current, voltage, travel, energy, heat):
    """Computed by hand; k = 0.6 for GTAW is a published restatement of EN 1011-1."""
    v = parse(travel, "speed")
    assert arc_energy(current, voltage, v) * 1e-6 == pytest.approx(energy, rel=1e-12)
    assert heat_input(current, voltage, v) * 1e-6 == pytest.approx(heat, rel=1e-12)


@pytest.mark.published
def test_heat_input_of_a_printed_exercise():
    """300 A, 20 V, 2.5 mm/s: 2.4 kJ/mm, no factor (published exercise)."""
    assert arc_energy(300, 20, 2.5e-3) == pytest.approx(2.4e6, rel=1e-12)
    assert heat_input(300, 20, 2.5e-3, "SAW") == pytest.approx(2.4e6, rel=1e-12)


def test_process_without_a_factor_is_named():
    with pytest.raises(CatalogueError, match="GTW"):
        heat_input(80, 11, 1e-3, "GTW")


def test_net_power_is_not_heat_input():
    assert net_power(80, 11, 0.75) == pytest.approx(660.0)


def test_travel_three_ways():
    """0.8 rev/min on NPS 3/4 is 75 s a turn and 67.1 mm/min."""
    turn = parse("0.8 rev/min", "rotation")
    travel = travel_from_turn(turn, 26.7e-3)
    assert travel == pytest.approx(travel_from_arc_time(75.0, 26.7e-3), rel=1e-12)
    assert arc_time_from_travel(travel, 26.7e-3) == pytest.approx(75.0, rel=1e-12)
    assert travel * 60e3 == pytest.approx(67.104, abs=1e-3)


def test_deposit_conserves_metal():
    """Volume laid in the ring = volume of wire fed in the same time."""
    area = deposit_area(1.6e-3, 0.45 / 60, 1e-3)
    assert area * 1e-3 * 75 == pytest.approx(math.pi / 4 * 1.6e-3**2 * 0.0075 * 75)


def test_plain_pass_goes_once_round():
    plain = one_pass(start_angle=0.5)
    assert arc_position(plain, 0.0) == (0.5, True)
    assert arc_position(plain, 20.0) == pytest.approx((0.5 + np.pi / 2, True))
    assert arc_position(plain, -1.0) == (0.5, False)
    assert arc_position(plain, 80.0) == pytest.approx((0.5 + 2 * np.pi, False))
    assert pass_duration(plain) == burning_time(plain) == 80.0


def test_direction_and_tie_in():
    back = one_pass(direction=-1, overlap=math.radians(9))
    assert pass_duration(back) == pytest.approx(82.0)
    assert arc_position(back, 81.0).on
    assert arc_position(back, 20.0).angle == pytest.approx(-np.pi / 2)
    assert arc_position(back, 99.0).angle == pytest.approx(-2 * np.pi - math.radians(9))


def test_two_halves_climb_both_sides():
    halves = one_pass(segments=two_halves(bottom=0.3, pause=15.0), overlap=np.pi / 20)
    assert pass_duration(halves) == pytest.approx(80 + 15 + 2)
    assert burning_time(halves) == pytest.approx(82.0)
    top = 0.3 + np.pi
    assert arc_position(halves, 39.999).angle == pytest.approx(top, abs=1e-3)
    assert arc_position(halves, 50.0) == pytest.approx((top, False))  # moving over
    assert arc_position(halves, 55.0) == pytest.approx((0.3, True))
    assert arc_position(halves, 75.0).angle == pytest.approx(0.3 - np.pi / 2)
    tied = arc_position(halves, 97.0)
    assert tied == pytest.approx((0.3 - np.pi - np.pi / 20, False))


def test_pauses_before_every_segment_count():
    """Pause, burn a quarter turn, pause, burn an eighth back; 80 s to a turn."""
    segments = (Segment(0.0, np.pi / 2, 5.0), Segment(np.pi, 0.75 * np.pi, 7.0))
    burns = stretches(one_pass(segments=segments))
    assert [b[:2] for b in burns] == [
        pytest.approx((5.0, 25.0)),
        pytest.approx((32.0, 42.0)),
    ]
    assert not arc_position(one_pass(segments=segments), 4.9).on


def test_arc_seen_through_positions_burns_as_long_as_stretches_say():
    """Sampling the position finds the same burning time."""
    halves = one_pass(segments=two_halves(pause=15.0))
    times = np.arange(0, 120, 0.05) + 0.025
    on = [arc_position(halves, t).on for t in times]
    assert sum(on) * 0.05 == pytest.approx(burning_time(halves), abs=0.1)
