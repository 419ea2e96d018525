"""Ring and travelling sources on a long pipe against a table, quadrature and limits."""

from dataclasses import replace

import numpy as np
import pytest
from interpass.physics.films import fin_parameter
from numpy.testing import assert_allclose
from scipy.integrate import quad

from closed_forms import bodies as exact
from closed_forms import sources as exact_sources
from closed_forms.sources import LongPipe, TravellingArc, ring_pulse, ring_source

# NPS 1 Sch 80; k 15 W/m/K, 7900 kg/m³, 500 J/kg/K; bore adiabatic
LOSSY = LongPipe(r_in=12.15e-3, r_out=16.70e-3, k=15.0, capacity=3.95e6, h=15.0)
LOSSLESS = replace(LOSSY, h=0.0)
ARC = TravellingArc(power=900.0, speed=2 * np.pi / 60, duration=60.0)
SPREAD = replace(ARC, angle_spread=0.15, axial_spread=2e-3)


def test_pipe_of_the_table():
    """412.389 mm², 3.258 kg/m, decay time 1034.94 s (standing: computed)."""
    assert LOSSY.heat_capacity / 3.95e6 == pytest.approx(412.389e-6, rel=2e-6)
    assert LOSSY.heat_capacity / 500 == pytest.approx(3.258, abs=5e-4)
    assert 1 / LOSSY.loss == pytest.approx(1034.94, abs=0.01)


@pytest.mark.parametrize(
    ("t", "rises"),
    [
        (30, (324.499, 315.228, 82.332, 79.979)),
        (60, (229.455, 216.531, 115.578, 109.068)),
        (120, (162.249, 144.487, 115.152, 102.545)),
        (300, (102.616, 76.793, 89.464, 66.951)),
    ],
)
def test_ring_pulse_table(t, rises):
    """20 kJ at z = 0 and 25 mm, without and with loss (standing: computed)."""
    z = np.array([0.0, 25e-3])
    got = [ring_pulse(pipe, z, t, 20e3) for pipe in (LOSSLESS, LOSSY)]
    assert_allclose(np.transpose(got).ravel(), rises, atol=6e-4)


@pytest.mark.parametrize("t", [5.0, 300.0])
def test_pulse_keeps_its_energy_but_for_the_loss(t):
    z = np.linspace(-1, 1, 20001)
    rise = ring_pulse(LOSSY, z, t, 20e3, spread=3e-3)
    energy = LOSSY.heat_capacity * np.trapezoid(rise, z)
    assert energy == pytest.approx(20e3 * np.exp(-LOSSY.loss * t), rel=1e-9)
    variance = np.trapezoid(rise * z**2, z) / np.trapezoid(rise, z)
    assert variance == pytest.approx(3e-3**2 + 2 * LOSSY.alpha * t, rel=1e-6)


@pytest.mark.parametrize("pipe", [LOSSLESS, LOSSY])
@pytest.mark.parametrize("z", [0.0, 7e-3, -40e-3])
@pytest.mark.parametrize("t", [1.0, 59.0, 61.0, 400.0])
def test_ring_source_is_the_sum_of_its_pulses(pipe, z, t):
    """scipy.integrate.quad over sqrt(age), which takes the singularity at age 0 away."""

    def pulse(root):
        return 2 * root * float(ring_pulse(pipe, z, root**2, 900.0))

    youngest = max(t - 60.0, 0.0)
    expected = quad(pulse, max(youngest**0.5, 1e-9), t**0.5, epsabs=1e-9, limit=200)[0]
    assert float(ring_source(pipe, z, t, 900.0, 60.0)) == pytest.approx(
        expected, abs=1e-6
    )


def test_ring_source_ends_as_two_infinite_fins():
    m = fin_parameter(15.0, 2 * np.pi * 16.70e-3, 15.0, LOSSY.heat_capacity / 3.95e6)
    base = 900.0 / (2 * exact.fin_heat(m, 15.0, LOSSY.heat_capacity / 3.95e6))
    z = np.array([0.0, 30e-3])
    assert_allclose(ring_source(LOSSY, z, 1e6, 900.0), base * exact.fin(z, m))


def test_little_loss_joins_no_loss():
    """No jump where the loss is switched off, and none of its cancellation seen."""
    t = 100.0
    loss_per_h = LOSSY.loss / 15.0
    rises = [
        ring_source(replace(LOSSY, h=x / (t * loss_per_h)), [0.0, 10e-3], t, 900.0)
        for x in (0.0, 0.9e-10, 1.1e-10, 1e-8)
    ]
    assert_allclose(rises[1:], np.broadcast_to(rises[0], (3, 2)), rtol=1e-8)


@pytest.mark.parametrize("variance", [0.02, 0.99, 1.01, 9.0])
def test_wrapped_gaussian_has_mean_one_and_the_right_spread(variance):
    """Its n-th Fourier coefficient is exp(-n² variance / 2)."""
    angle = np.arange(400) * 2 * np.pi / 400
    density = exact_sources.periodic_gaussian(angle, variance)
    for n in range(4):
        wave = np.mean(density * np.cos(n * angle))
        assert wave == pytest.approx(np.exp(-(n**2) * variance / 2), abs=1e-13)


def test_wrapped_gaussian_joins_at_its_change_over():
    sides = exact_sources.periodic_gaussian([[0.0], [2.0], [np.pi]], [1 - 1e-15, 1.0])
    assert_allclose(sides[:, 0], sides[:, 1], rtol=1e-12)


def direct(pipe, arc, angle, z, t):
    """Plain adaptive quadrature over age, seven images, no change of variable."""

    def rate(age):
        variance = 2 * pipe.alpha * age / pipe.radius**2 + arc.angle_spread**2
        away = angle - arc.speed * (t - age) + 2 * np.pi * np.arange(-3, 4)
        ring = np.exp(-(away**2) / (2 * variance)).sum() * np.sqrt(2 * np.pi / variance)
        return float(ring * ring_pulse(pipe, z, age, arc.power, arc.axial_spread))

    low = max(t - arc.duration, 1e-12)
    points = np.geomspace(low + 1e-6, t, 40)[1:-1]
    return quad(rate, low, t, points=points, limit=2000, epsabs=1e-8, epsrel=1e-10)[0]


@pytest.mark.parametrize("arc", [ARC, SPREAD], ids=["point", "spread"])
@pytest.mark.parametrize(
    ("angle", "z", "t"),
    [
        (np.pi, 3e-3, 30.0),  # beside the arc
        (np.pi - 0.2, 0.0, 30.0),  # just behind it
        (np.pi + 0.3, 0.0, 30.0),  # ahead of it
        (0.0, 0.0, 59.0),  # back at the start
        (1.0, 10e-3, 65.0),  # arc off
        (4.0, 0.0, 300.0),
    ],
)
def test_travelling_arc_against_quadrature(arc, angle, z, t):
    got = float(exact_sources.travelling_arc(LOSSY, arc, angle, z, t))
    assert got == pytest.approx(direct(LOSSY, arc, angle, z, t), rel=1e-8, abs=1e-6)


@pytest.mark.parametrize("t", [40.0, 75.0])
def test_averaged_round_the_ring_it_is_the_ring_source(t):
    angle = np.arange(96) * 2 * np.pi / 96
    rise = exact_sources.travelling_arc(LOSSY, ARC, angle, 5e-3, t)
    ring = ring_source(LOSSY, 5e-3, t, ARC.power, ARC.duration)
    assert rise.max() > 1.2 * rise.mean()  # the average hides something
    assert rise.mean() == pytest.approx(float(ring), rel=1e-6)


def test_energy_in_the_pipe_is_the_arc_less_the_loss():
    """While it burns: power / loss x (1 - exp(-loss t)); integrated over z and angle."""
    t, z = 50.0, np.linspace(-0.12, 0.12, 121)
    angle = np.arange(40)[:, None] * 2 * np.pi / 40
    rise = exact_sources.travelling_arc(LOSSY, SPREAD, angle, z, t)
    energy = LOSSY.heat_capacity * np.trapezoid(rise.mean(axis=0), z)
    expected = ARC.power / LOSSY.loss * (1 - np.exp(-LOSSY.loss * t))
    assert energy == pytest.approx(expected, rel=1e-6)


def test_mirrors():
    """The other way round at the negative angle; the same on both sides of the plane."""
    backwards = replace(SPREAD, speed=-SPREAD.speed)
    here = exact_sources.travelling_arc(LOSSY, SPREAD, [1.0, 3.0], 4e-3, 45.0)
    there = exact_sources.travelling_arc(LOSSY, backwards, [-1.0, -3.0], -4e-3, 45.0)
    assert here[0] != pytest.approx(here[1])
    assert_allclose(there, here, rtol=1e-12)


def test_arc_off_cools_by_superposition():
    """An arc of 60 s is an endless one less one that starts 60 s later, a turn on."""
    endless = replace(ARC, duration=np.inf)
    first = exact_sources.travelling_arc(LOSSY, endless, 1.0, 4e-3, 100.0)
    later = exact_sources.travelling_arc(LOSSY, endless, 1.0, 4e-3, 40.0)
    short = exact_sources.travelling_arc(LOSSY, ARC, 1.0, 4e-3, 100.0)
    assert float(short) == pytest.approx(float(first - later), rel=1e-8)


def test_under_a_point_source_it_is_infinite_and_before_it_starts_nothing():
    burning = exact_sources.travelling_arc(LOSSY, ARC, ARC.speed * 20.0, 0.0, 20.0)
    assert float(burning) == np.inf
    assert float(exact_sources.travelling_arc(LOSSY, ARC, 0.0, 0.0, 0.0)) == 0.0
    off = exact_sources.travelling_arc(LOSSY, ARC, ARC.speed * 61.0, 0.0, 61.0)
    assert 0 < float(off) < 1e4


def test_many_fast_turns_are_a_ring():
    """A turn in 0.5 s swings 0.8 mm deep; 0.1 % is left of the lopsided first turn."""
    fast = replace(ARC, speed=4 * np.pi)
    rise = exact_sources.travelling_arc(LOSSY, fast, [0.0, 2.0, 4.0], 12e-3, 50.0)
    ring = ring_source(LOSSY, 12e-3, 50.0, fast.power, fast.duration)
    assert_allclose(rise, float(ring), rtol=2e-3)
