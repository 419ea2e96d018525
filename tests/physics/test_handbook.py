"""Handbook formulas against printed numbers and against the moving source."""

from dataclasses import replace

import numpy as np
import pytest
from closed_forms import plates
from interpass.physics import handbook as cooling
from interpass.physics.moving_source import MovingSource

ZERO = 273.15
# 0.7 x 150 A x 12 V at 2.5 mm/s, k 30, alpha 6e-6, 20 degC, 3 mm
WELD = MovingSource(1260.0, 2.5e-3, 30.0, 6e-6, 3e-3, 20 + ZERO, 1500 + ZERO)


def test_t85_by_images_lies_between_its_limits():
    """A fast arc; growing walls go from the thin formula to the thick one."""
    fast = replace(WELD, speed=0.05, power=WELD.energy * 0.05)
    low, high = cooling.T_500, cooling.T_800
    thin, thick = replace(fast, wall=1e-3), replace(fast, wall=0.1)
    assert cooling.cooling_time_85(thin) == pytest.approx(
        plates.cooling_time_thin(thin, low, high), rel=1e-3
    )
    assert cooling.cooling_time_85(thick) == pytest.approx(
        plates.cooling_time_thick(thick, low, high), rel=1e-6
    )
    warm = replace(WELD, start=cooling.T_500)
    for time in (plates.cooling_time_thin, plates.cooling_time_thick):
        assert time(warm, low, high) == np.inf


@pytest.mark.parametrize(
    ("Q", "d", "T0", "deep", "flat", "transition", "tee"),
    [
        (1.0, 20, 20, 5.2885, 2.8409, 14.659, 3.5433),
        (1.0, 10, 20, 5.2885, 11.3636, 14.659, 3.5433),
        (1.0, 10, 100, 6.6429, 16.2895, 15.659, 4.4507),
        (1.5, 15, 100, 9.9643, 16.2895, 19.179, 6.6761),
        (2.0, 20, 150, 15.6923, 21.1858, 23.239, 10.5138),
        (0.5, 5, 20, 2.6442, 11.3636, 10.365, 1.7716),
        (0.8, 6, 150, 6.2769, 37.6637, 14.697, 4.2055),
    ],
)
def test_t85_of_the_standard(Q, d, T0, deep, flat, transition, tee):
    """EN 1011-2, Annex D: equations from memory, values computed from them elsewhere."""
    got = cooling.cooling_time_85_en1011(Q * 1e6, d * 1e-3, T0 + ZERO)
    assert got.three_way == pytest.approx(deep, abs=6e-5)
    assert got.two_way == pytest.approx(flat, abs=6e-5)
    assert got.transition_thickness == pytest.approx(transition * 1e-3, abs=6e-7)
    assert got.time == max(got.three_way, got.two_way)
    assert got.is_thin == (d < transition)
    factors = plates.SHAPE_FACTORS["fillet on a tee joint"]
    fillet = cooling.cooling_time_85_en1011(
        Q * 1e6, d * 1e-3, T0 + ZERO, factors.two_way_max, factors.three_way
    )
    assert fillet.three_way == pytest.approx(tee, abs=6e-5)
    assert fillet.two_way == pytest.approx(0.67 * got.two_way)


@pytest.mark.parametrize("factors", [(1.0, 1.0), (0.45, 0.67)])
def test_transition_thickness_makes_both_equal(factors):
    first = cooling.cooling_time_85_en1011(1.2e6, 8e-3, 350.0, *factors)
    there = cooling.cooling_time_85_en1011(
        1.2e6, first.transition_thickness, 350.0, *factors
    )
    assert there.two_way == pytest.approx(there.three_way, rel=1e-12)


def test_standard_agrees_with_rosenthal_on_its_own_steel():
    """Its constants at 20 degC mean k = 24.11 and k rho c = 1.888e8 (computed)."""
    k, capacity = 24.11, 1.888e8 / 24.11
    weld = MovingSource(5000.0, 5e-3, k, k / capacity, 10e-3, 20 + ZERO, 1773.15)
    standard = cooling.cooling_time_85_en1011(weld.energy, weld.wall, weld.start)
    low, high = cooling.T_500, cooling.T_800
    thick = plates.cooling_time_thick(weld, low, high)
    assert thick == pytest.approx(standard.three_way, rel=1e-3)
    thin = plates.cooling_time_thin(weld, low, high)
    assert thin == pytest.approx(standard.two_way, rel=1e-3)


def test_no_t85_from_a_start_above_500():
    with pytest.raises(ValueError, match="start is 500 degC; t8/5 needs"):
        cooling.cooling_time_85_en1011(1e6, 10e-3, 500 + ZERO)


def test_fillet_shares_follow_the_three_ways_out():
    """Equal walls: 2/3 each, F3 and the root of F2 in EN 1011-2 (from memory)."""
    assert cooling.fillet_shares(4e-3, 4e-3) == pytest.approx((2 / 3, 2 / 3))
    tee = plates.SHAPE_FACTORS["fillet on a tee joint"]
    assert tee.three_way == pytest.approx(2 / 3, abs=5e-3)
    assert tee.two_way_min == pytest.approx((2 / 3) ** 2, abs=6e-3)
    # the two ways along the pipe and the one down the socket carry all the heat
    pipe, socket = cooling.fillet_shares(3e-3, 5e-3, 15.0, 45.0)
    assert pipe + socket / 2 == pytest.approx(1)
    # and both walls are equally hot at the root: share over conductivity x wall
    assert pipe / (15.0 * 3e-3) == pytest.approx(socket / (45.0 * 5e-3))
    assert cooling.fillet_shares(4e-3, 1e-9)[0] == pytest.approx(1)
