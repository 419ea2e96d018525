"""The moving source against a table, exact limits, and an independent series."""

from dataclasses import replace

import numpy as np
import pytest
from closed_forms.plates import cooling_time_thick, cooling_time_thin, temperature_thin
from interpass.physics import moving_source as rosenthal
from interpass.physics.moving_source import (
    MovingSource,
    temperature,
    temperature_thick,
)
from numpy.testing import assert_allclose
from scipy.special import kv

ZERO = 273.15
# 0.7 x 150 A x 12 V at 2.5 mm/s, k 30, alpha 6e-6, 20 degC, 3 mm; melts at 1500 degC
WELD = MovingSource(1260.0, 2.5e-3, 30.0, 6e-6, 3e-3, 20 + ZERO, 1500 + ZERO)
THICK = replace(WELD, wall=0.2)
RING = replace(WELD, wall=6e-3, turn=0.105)


@pytest.mark.parametrize(
    ("xi_mm", "y_mm", "thick", "thin"),
    [
        (-5, 0, 1356.90, 2525.63),
        (-10, 0, 688.45, 1860.52),
        (-20, 0, 354.23, 1351.55),
        (0, 5, 491.75, 904.15),
        (-5, 5, 634.04, 1418.04),
        (-10, 10, 219.43, 681.53),
    ],
)
def test_table_of_both_plates(xi_mm, y_mm, thick, thin):
    """Degrees C from Rosenthal's two formulas (standing: computed)."""
    at = xi_mm * 1e-3, y_mm * 1e-3
    assert temperature_thick(WELD, *at) - ZERO == pytest.approx(thick, abs=6e-3)
    assert temperature_thin(WELD, *at) - ZERO == pytest.approx(thin, abs=6e-3)


@pytest.mark.parametrize("wall", [2e-3, 5e-3, 12e-3])
def test_images_equal_waves_across_the_wall(wall):
    """The same solution as a cosine series in z, each wave with its own K0.

    Derived here: wave number m pi / wall adds its square to rate² under the root.
    """
    xi, y, z = -6e-3, 4e-3, 0.7 * wall
    weld = replace(WELD, wall=wall)
    m = np.arange(1, 400) * np.pi / wall
    r = np.hypot(xi, y)
    waves = kv(0, weld.rate * r) + 2 * np.sum(
        np.cos(m * z) * kv(0, r * np.sqrt(weld.rate**2 + m**2))
    )
    rise = weld.power / (2 * np.pi * weld.k * wall) * np.exp(-weld.rate * xi) * waves
    assert float(temperature(weld, xi, y, z)) == pytest.approx(293.15 + rise, rel=1e-11)


def test_images_converge_and_enough_are_taken():
    at = (-40e-3, 2e-3, 1e-3)
    exact = float(temperature(WELD, *at, images=2000))
    errors = [abs(float(temperature(WELD, *at, images=n)) - exact) for n in (2, 5, 10)]
    assert errors[0] > 5 * errors[1] > 25 * errors[2]
    assert float(temperature(WELD, *at)) == pytest.approx(exact, rel=1e-12)


def test_wall_between_thick_and_thin():
    at = (-8e-3, 3e-3)
    grown = temperature(THICK, *at)
    assert_allclose(grown, temperature_thick(THICK, *at), rtol=1e-12)
    shrunk = replace(WELD, wall=0.2e-3)
    assert_allclose(temperature(shrunk, *at), temperature_thin(shrunk, *at), rtol=1e-12)
    between = float(temperature(replace(WELD, wall=8e-3), *at))
    assert float(grown) < between < float(temperature(WELD, *at))


@pytest.mark.parametrize("xi", [-2e-3, -30e-3])
def test_every_section_behind_the_arc_holds_its_energy(xi):
    """Heat per length left behind is power / speed, however near the section."""
    y = np.linspace(-0.12, 0.12, 2401)[:, None]
    nodes, weights = np.polynomial.legendre.leggauss(24)
    z = (nodes + 1) * WELD.wall / 2
    rise = temperature(WELD, xi, y, z) - WELD.start
    energy = WELD.capacity * np.trapezoid(rise @ weights * WELD.wall / 2, y[:, 0])
    assert energy == pytest.approx(WELD.energy, rel=1e-6)


def test_no_heat_leaves_by_either_face():
    d = 1e-6
    z = np.array([0.0, d, WELD.wall - d, WELD.wall])
    T = temperature(WELD, -3e-3, 2e-3, z)
    middle = float(temperature(WELD, -3e-3, 2e-3, WELD.wall / 2))
    across = (T[0] - middle) / (WELD.wall / 2)
    assert across > 1e4  # K/m: there is a gradient inside
    assert abs(T[1] - T[0]) / d < 1e-3 * across
    assert abs(T[3] - T[2]) / d < 1e-3 * across


@pytest.mark.parametrize("n", [0.8, 3.0, 12.0])
def test_peak_in_a_thick_wall(n):
    """Setting Rosenthal's derivative along the seam to zero, in R = rate x distance:
    y² = R² (1 + 2 R) / (1 + R)², rise = 2 rate times power / 4 pi k x exp(-R/(1+R)) / R.
    """
    y = n * np.sqrt(1 + 2 * n) / (1 + n) / THICK.rate
    scale = THICK.power * THICK.rate / (2 * np.pi * THICK.k)
    rise = scale * np.exp(-n / (1 + n)) / n
    peak = rosenthal.peak_temperature(THICK, y)
    assert peak - THICK.start == pytest.approx(rise, rel=1e-9)
    assert rosenthal.peak_temperature(THICK, 0.0, y) == pytest.approx(peak, rel=1e-9)


def test_peak_far_off_in_a_thin_wall():
    """Energy / (rho c wall y sqrt(2 pi e)): the line source of Adams's 4.13."""
    fast = replace(WELD, speed=0.5, power=5e5)
    y = 20e-3
    rise = fast.energy / (fast.capacity * fast.wall * y * np.sqrt(2 * np.pi * np.e))
    assert rosenthal.peak_temperature(fast, y) - fast.start == pytest.approx(
        rise, rel=1e-3
    )


def test_peak_is_a_maximum_along_the_seam():
    xi = np.linspace(-0.1, 0, 20001)
    for y, z in [(4e-3, 0.0), (0.0, 3e-3), (20e-3, 1e-3)]:
        sampled = float(np.max(temperature(WELD, xi, y, z)))
        assert rosenthal.peak_temperature(WELD, y, z) == pytest.approx(sampled, rel=1e-6)


def test_bore_peak_falls_as_the_wall_grows():
    walls = [2e-3, 4e-3, 8e-3, 16e-3]
    peaks = [rosenthal.peak_at_bore(replace(WELD, wall=wall)) for wall in walls]
    assert np.all(np.diff(peaks) < 0)
    # at the far face a thick body's heat is met twice: once going, once turned back
    body = rosenthal.peak_temperature(THICK, 0.0, 16e-3) - WELD.start
    assert peaks[-1] - WELD.start == pytest.approx(2 * body, rel=0.1)


@pytest.mark.parametrize(("low", "high"), [(500, 800), (450, 850)])
def test_cooling_on_the_line_of_a_thick_wall(low, high):
    """There Rosenthal's rise is power / (2 pi k distance): exact at any speed."""
    low, high = low + ZERO, high + ZERO
    time = rosenthal.time_between(THICK, low, high)
    assert time == pytest.approx(cooling_time_thick(THICK, low, high), rel=1e-8)


def test_cooling_on_the_line_of_a_thin_wall():
    """The thin formula supposes a fast arc: it is met as the speed goes up."""
    low, high, off = 500 + ZERO, 800 + ZERO, []
    for speed in (1e-3, 1e-2, 1e-1):
        weld = replace(WELD, wall=0.5e-3, speed=speed, power=WELD.energy / 6 * speed)
        formula = cooling_time_thin(weld, low, high)
        off.append(abs(rosenthal.time_between(weld, low, high) / formula - 1))
    assert off[0] > off[1] > off[2]
    assert off[2] < 1e-3


def test_times_off_the_line():
    """Against the sampled history of one point; zero where the peak stays below."""
    y, low, high = 3e-3, 450 + ZERO, 850 + ZERO
    t = np.linspace(-20, 80, 100001)
    T = temperature(RING, -RING.speed * t, y)
    step = t[1] - t[0]
    peak = float(T.max())
    after = T[T.argmax() :]
    cooling = np.count_nonzero(after > low) - np.count_nonzero(after > high)
    assert rosenthal.time_between(RING, low, high, y) == pytest.approx(
        cooling * step, abs=3 * step
    )
    from_peak = rosenthal.time_between(RING, low, peak + 100, y)
    assert from_peak == pytest.approx(np.count_nonzero(after > low) * step, abs=3 * step)
    assert rosenthal.time_between(RING, peak + 1, peak + 2, y) == 0
    assert rosenthal.time_between(RING, RING.start, high, y) == np.inf


@pytest.mark.parametrize("factor", [0.5, 3.0])
def test_lengths_scale(factor):
    """Every length times f, speed over f, power times f: the same temperatures."""
    bigger = replace(
        RING,
        power=RING.power * factor,
        speed=RING.speed / factor,
        wall=RING.wall * factor,
        turn=RING.turn * factor,
    )
    small, big = (rosenthal.isotherm_half_width(s, s.melting) for s in (RING, bigger))
    assert big == pytest.approx(small * factor, rel=1e-6)
    assert rosenthal.peak_temperature(RING, small) == pytest.approx(
        RING.melting, abs=1e-4
    )
    assert rosenthal.isotherm_half_width(RING, RING.start) == np.inf
    assert rosenthal.peak_at_bore(bigger) == pytest.approx(
        rosenthal.peak_at_bore(RING), rel=1e-9
    )


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"power": 0.0}, "power is 0.0; it must be above zero"),
        ({"wall": -1e-3}, "wall is -0.001"),
        ({"speed": np.nan}, "speed is nan"),
        ({"start": 1800.0}, "not above start 1800.0 K"),
    ],
)
def test_impossible_welds_are_refused(change, words):
    with pytest.raises(ValueError, match=words):
        replace(WELD, **change)
