"""Handbook formulas against printed numbers and against the moving source."""

from dataclasses import replace

import numpy as np
import pytest
from interpass.physics import handbook as cooling
from interpass.physics import moving_source as rosenthal
from interpass.physics.moving_source import MovingSource

ZERO = 273.15
# 20 V x 200 A x 0.9 at 5 mm/s on 5 mm, rho c 0.0044 J/mm³/K, 25 degC, melts at 1510.
# The example gives no conductivity and its formula needs none.
EXAMPLE = MovingSource(
    3600.0, 5e-3, 28.0, 28.0 / 4.4e6, 5e-3, start=25 + ZERO, melting=1510 + ZERO
)
# 0.7 x 150 A x 12 V at 2.5 mm/s, k 30, alpha 6e-6, 20 degC, 3 mm
WELD = MovingSource(1260.0, 2.5e-3, 30.0, 6e-6, 3e-3, 20 + ZERO, 1500 + ZERO)
THICK = replace(WELD, wall=0.2)


@pytest.mark.published
@pytest.mark.parametrize(
    ("distance_mm", "printed", "recomputed"), [(1.5, 1184, 1184.16), (3.0, 976, 975.58)]
)
def test_adams_peak_as_printed(distance_mm, printed, recomputed):
    """Worked example of Adams's equation: printed (published) and recomputed."""
    peak = cooling.peak_temperature_adams(EXAMPLE, distance_mm * 1e-3) - ZERO
    assert peak == pytest.approx(printed, abs=0.5)
    assert peak == pytest.approx(recomputed, abs=6e-3)


@pytest.mark.published
@pytest.mark.parametrize(
    ("change", "reached", "printed", "recomputed"),
    [
        ({}, 730, 5.9, 5.904),
        ({"start": 200 + ZERO}, 430, 28.4, 28.404),
        ({}, 430, 14.2, 14.230),
        ({"power": 1080 * 5.0}, 430, 21.3, 21.345),
    ],
)
def test_adams_haz_width_as_printed(change, reached, printed, recomputed):
    """The same example, mm: printed (published) and recomputed."""
    weld = replace(EXAMPLE, **change)
    width = cooling.haz_width_adams(weld, reached + ZERO) * 1e3
    assert width == pytest.approx(printed, abs=0.051)
    assert width == pytest.approx(recomputed, abs=6e-4)
    back = cooling.peak_temperature_adams(weld, width * 1e-3)
    assert back == pytest.approx(reached + ZERO)


def test_adams_thin_is_near_the_moving_source():
    """Full penetration, as the formula asks: within 3 % of the rise up to 10 mm."""
    melt = rosenthal.isotherm_half_width(WELD, WELD.melting)
    for distance in (1e-3, 3e-3, 10e-3):
        exact = rosenthal.peak_temperature(WELD, melt + distance) - WELD.start
        adams = cooling.peak_temperature_adams(WELD, distance) - WELD.start
        assert adams == pytest.approx(exact, rel=0.03)


def test_adams_thick_is_right_far_out_and_low_near_the_pool():
    """2 e pi k alpha rate² y² / (power speed) is the fast line source in a thick body."""
    melt = rosenthal.isotherm_half_width(THICK, THICK.melting)
    ratio = [
        (cooling.peak_temperature_adams_thick(THICK, y) - THICK.start)
        / (rosenthal.peak_temperature(replace(THICK, wall=20.0), melt + y) - THICK.start)
        for y in (3e-3, 0.1, 1.0)
    ]
    assert ratio[0] == pytest.approx(0.66, abs=0.02)
    assert ratio[1] == pytest.approx(1, abs=0.06)
    assert ratio[2] == pytest.approx(1, abs=0.01)


def test_adams_cooling_rate_of_the_textbook():
    """6 mm, 25 V 300 A 0.9 at 9 mm/s, 550 degC from 30.

    Exercise from memory of welding textbooks; tau 0.331 and 6.966 K/s computed.
    """
    weld = MovingSource(6750.0, 9e-3, 28.0, 28.0 / 4.4e6, 6e-3, 30 + ZERO, 1510 + ZERO)
    got = cooling.cooling_rate(weld, 550 + ZERO)
    assert got.is_thin
    assert got.relative_thickness == pytest.approx(0.331, abs=5e-4)
    assert got.rate == pytest.approx(6.966, abs=5e-4)


@pytest.mark.parametrize(
    ("at", "thick", "thin"), [(550, 105.06, 4.971), (800, 227.54, 15.85)]
)
def test_cooling_rate_on_the_line(at, thick, thin):
    """K/s of the table's weld (standing: computed)."""
    got = cooling.cooling_rate(WELD, at + ZERO)
    assert got.is_thin
    assert got.rate == pytest.approx(thin, abs=5e-3)
    deep = cooling.cooling_rate(THICK, at + ZERO)
    assert not deep.is_thin
    assert deep.rate == pytest.approx(thick, abs=6e-3)


def test_cooling_rate_is_the_slope_of_the_cooling_time():
    for weld, time in [
        (WELD, cooling.cooling_time_thin),
        (THICK, cooling.cooling_time_thick),
    ]:
        slope = 0.2 / time(weld, 599.9 + ZERO, 600.1 + ZERO)
        assert cooling.cooling_rate(weld, 600 + ZERO).rate == pytest.approx(
            slope, rel=1e-6
        )


def test_thin_and_thick_part_at_three_quarters():
    above = 500.0
    wall = 0.75 * np.sqrt(WELD.energy / (WELD.capacity * above))
    thinner, thicker = (replace(WELD, wall=wall * f) for f in (0.999, 1.001))
    assert cooling.cooling_rate(thinner, WELD.start + above).is_thin
    assert not cooling.cooling_rate(thicker, WELD.start + above).is_thin


def test_cooling_rate_needs_a_hotter_temperature():
    with pytest.raises(ValueError, match="must be above the start"):
        cooling.cooling_rate(WELD, WELD.start)


def test_t85_by_images_lies_between_its_limits():
    """A fast arc; growing walls go from the thin formula to the thick one."""
    fast = replace(WELD, speed=0.05, power=WELD.energy * 0.05)
    low, high = cooling.T_500, cooling.T_800
    thin, thick = replace(fast, wall=1e-3), replace(fast, wall=0.1)
    assert cooling.cooling_time_85(thin) == pytest.approx(
        cooling.cooling_time_thin(thin, low, high), rel=1e-3
    )
    assert cooling.cooling_time_85(thick) == pytest.approx(
        cooling.cooling_time_thick(thick, low, high), rel=1e-6
    )
    warm = replace(WELD, start=cooling.T_500)
    for time in (cooling.cooling_time_thin, cooling.cooling_time_thick):
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
    factors = cooling.SHAPE_FACTORS["fillet on a tee joint"]
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
    thick = cooling.cooling_time_thick(weld, low, high)
    assert thick == pytest.approx(standard.three_way, rel=1e-3)
    thin = cooling.cooling_time_thin(weld, low, high)
    assert thin == pytest.approx(standard.two_way, rel=1e-3)


def test_no_t85_from_a_start_above_500():
    with pytest.raises(ValueError, match="start is 500 degC; t8/5 needs"):
        cooling.cooling_time_85_en1011(1e6, 10e-3, 500 + ZERO)


def test_fillet_shares_follow_the_three_ways_out():
    """Equal walls: 2/3 each, F3 and the root of F2 in EN 1011-2 (from memory)."""
    assert cooling.fillet_shares(4e-3, 4e-3) == pytest.approx((2 / 3, 2 / 3))
    tee = cooling.SHAPE_FACTORS["fillet on a tee joint"]
    assert tee.three_way == pytest.approx(2 / 3, abs=5e-3)
    assert tee.two_way_min == pytest.approx((2 / 3) ** 2, abs=6e-3)
    # the two ways along the pipe and the one down the socket carry all the heat
    pipe, socket = cooling.fillet_shares(3e-3, 5e-3, 15.0, 45.0)
    assert pipe + socket / 2 == pytest.approx(1)
    # and both walls are equally hot at the root: share over conductivity x wall
    assert pipe / (15.0 * 3e-3) == pytest.approx(socket / (45.0 * 5e-3))
    assert cooling.fillet_shares(4e-3, 1e-9)[0] == pytest.approx(1)
