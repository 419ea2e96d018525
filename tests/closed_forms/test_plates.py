"""Adams's formulas against printed numbers and against the moving source."""

from dataclasses import replace

import numpy as np
import pytest
from interpass.physics import moving_source as rosenthal
from interpass.physics.moving_source import MovingSource

from closed_forms import plates

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
    peak = plates.peak_temperature_adams(EXAMPLE, distance_mm * 1e-3) - ZERO
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
    width = plates.haz_width_adams(weld, reached + ZERO) * 1e3
    assert width == pytest.approx(printed, abs=0.051)
    assert width == pytest.approx(recomputed, abs=6e-4)
    back = plates.peak_temperature_adams(weld, width * 1e-3)
    assert back == pytest.approx(reached + ZERO)


def test_adams_thin_is_near_the_moving_source():
    """Full penetration, as the formula asks: within 3 % of the rise up to 10 mm."""
    melt = rosenthal.isotherm_half_width(WELD, WELD.melting)
    for distance in (1e-3, 3e-3, 10e-3):
        exact = rosenthal.peak_temperature(WELD, melt + distance) - WELD.start
        adams = plates.peak_temperature_adams(WELD, distance) - WELD.start
        assert adams == pytest.approx(exact, rel=0.03)


def test_adams_thick_is_right_far_out_and_low_near_the_pool():
    """2 e pi k alpha rate² y² / (power speed) is the fast line source in a thick body."""
    melt = rosenthal.isotherm_half_width(THICK, THICK.melting)
    ratio = [
        (plates.peak_temperature_adams_thick(THICK, y) - THICK.start)
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
    got = plates.cooling_rate(weld, 550 + ZERO)
    assert got.is_thin
    assert got.relative_thickness == pytest.approx(0.331, abs=5e-4)
    assert got.rate == pytest.approx(6.966, abs=5e-4)


@pytest.mark.parametrize(
    ("at", "thick", "thin"), [(550, 105.06, 4.971), (800, 227.54, 15.85)]
)
def test_cooling_rate_on_the_line(at, thick, thin):
    """K/s of the table's weld (standing: computed)."""
    got = plates.cooling_rate(WELD, at + ZERO)
    assert got.is_thin
    assert got.rate == pytest.approx(thin, abs=5e-3)
    deep = plates.cooling_rate(THICK, at + ZERO)
    assert not deep.is_thin
    assert deep.rate == pytest.approx(thick, abs=6e-3)


def test_cooling_rate_is_the_slope_of_the_cooling_time():
    for weld, time in [
        (WELD, plates.cooling_time_thin),
        (THICK, plates.cooling_time_thick),
    ]:
        slope = 0.2 / time(weld, 599.9 + ZERO, 600.1 + ZERO)
        assert plates.cooling_rate(weld, 600 + ZERO).rate == pytest.approx(
            slope, rel=1e-6
        )


def test_thin_and_thick_part_at_three_quarters():
    above = 500.0
    wall = 0.75 * np.sqrt(WELD.energy / (WELD.capacity * above))
    thinner, thicker = (replace(WELD, wall=wall * f) for f in (0.999, 1.001))
    assert plates.cooling_rate(thinner, WELD.start + above).is_thin
    assert not plates.cooling_rate(thicker, WELD.start + above).is_thin


def test_cooling_rate_needs_a_hotter_temperature():
    with pytest.raises(ValueError, match="must be above the start"):
        plates.cooling_rate(WELD, WELD.start)
