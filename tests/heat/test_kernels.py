"""The solver on plain tubes: closed forms, order, conservation, symmetry, events.

Everything goes through ``solver.run``. The closed forms are those of `closed_forms.bodies`
and `closed_forms.sources`, each checked against its own tables there; the others are
worked out where they stand.
"""

import json
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from closed_forms import bodies as exact
from closed_forms import sources as exact_sources
from closed_forms.sources import LongPipe
from interpass.heat import arrays, march, solver
from interpass.heat.model import make_model
from interpass.physics.films import fin_parameter
from interpass.physics.metals import enthalpy_at, material, temperature_at
from joints import (
    AIR,
    BORE,
    HIGH_END,
    OUTSIDE,
    TABLE_START,
    advance,
    constant_metal,
    of_case,
    order,
    reference,
    tube,
)
from numpy.testing import assert_allclose
from scipy import special

K, CAPACITY = 15.0, 3.95e6  # W/m/K; J/m³/K: 7900 kg/m³ x 500 J/kg/K, austenitic steel
ALPHA = K / CAPACITY
R_IN, R_OUT = 12.15e-3, 16.70e-3  # NPS 1 Sch 80
STEEL = constant_metal(K, CAPACITY)


def graded(low, high, n, stretch=0.6):
    """Lines that widen smoothly from low to high."""
    s = np.linspace(0.0, 1.0, n + 1)
    return low + (high - low) * (s + stretch * s**2) / (1 + stretch)


# ------------------------------------------------------------------- closed forms


@pytest.mark.parametrize("biot", [0.3, 3.0])
@pytest.mark.parametrize("fourier", [0.1, 0.6])
def test_solid_cylinder_cools_as_its_series(biot, fourier):
    """Convection outside, from uniform (Incropera ch. 5 series), 0.05 % of the drop."""
    radius = 15e-3
    body = tube(
        np.linspace(0.0, radius, 41), [0.0, 1e-2], STEEL, T=AIR + 100.0,
        h={OUTSIDE: biot * K / radius},
    )  # fmt: skip
    duration = fourier * radius**2 / ALPHA
    advance(body, duration, duration / 2000)
    series = exact.cylinder(body.r / radius, fourier, biot)
    assert_allclose(body.field.temperature[:, 0, 0] - AIR, 100 * series, atol=0.05)


def test_pipe_wall_cools_as_its_series():
    """Adiabatic bore, convection outside."""
    biot, fourier = 1.5, 0.05
    body = tube(
        np.linspace(R_IN, R_OUT, 31), [0.0, 1e-2], STEEL, T=AIR + 100.0,
        h={OUTSIDE: biot * K / R_OUT},
    )  # fmt: skip
    duration = fourier * R_OUT**2 / ALPHA
    advance(body, duration, duration / 2000)
    series = exact.hollow_cylinder(body.r / R_OUT, fourier, biot, R_IN / R_OUT)
    assert_allclose(body.field.temperature[:, 0, 0] - AIR, 100 * series, atol=0.05)


@pytest.mark.parametrize("side", [OUTSIDE, BORE])
def test_thin_shell_of_great_radius_is_a_slab(side):
    """One face adiabatic: half a slab, whichever face it is."""
    wall, radius, biot, fourier = 10e-3, 50.0, 1.0, 0.3
    body = tube(
        np.linspace(radius, radius + wall, 31), [0.0, 1e-2], STEEL, T=AIR + 100.0,
        h={side: biot * K / wall},
    )  # fmt: skip
    duration = fourier * wall**2 / ALPHA
    advance(body, duration, duration / 2000)
    depth = (body.r - radius) / wall
    series = exact.slab(depth if side == OUTSIDE else 1 - depth, fourier, biot)
    assert_allclose(body.field.temperature[:, 0, 0] - AIR, 100 * series, atol=0.05)


@pytest.mark.parametrize(
    ("h", "rises"),
    [  # at z = 0 and 25 mm, after 30, 60, 120 and 300 s
        (0.0, [(324.499, 82.332), (229.455, 115.578), (162.249, 115.152),
               (102.616, 89.464)]),
        (15.0, [(315.228, 79.979), (216.531, 109.068), (144.487, 102.545),
                (76.793, 66.951)]),
    ],
)  # fmt: skip
def test_ring_pulse_on_a_long_pipe(h, rises):
    """20 kJ round a ring of NPS 1 Sch 80: the printed table (standing: computed).

    Started from the closed form at 3 s, when it fits the grid. Half a pipe: the other
    half is its mirror image.
    """
    pipe = LongPipe(R_IN, R_OUT, k=K, capacity=CAPACITY, h=h)
    lines = graded(0.0, 0.3, 200, 4.0)

    def begin(_r, _theta, z):
        return AIR + exact_sources.ring_pulse(pipe, z, 3.0, 20e3)

    body = tube([R_IN, R_OUT], lines, STEEL, T=begin, h={OUTSIDE: h})
    body.time = 3.0
    for t, expected in zip((30, 60, 120, 300), rises, strict=True):
        advance(body, t - body.time, 0.05)
        rise = np.interp([0.0, 25e-3], body.z, body.field.temperature[0, 0] - AIR)
        assert_allclose(rise, expected, atol=0.25)


@pytest.mark.parametrize("h", [0.0, 15.0])
def test_arc_round_a_ring_of_a_long_pipe(h):
    """450 W into the end of half a pipe for 60 s: heating, then cooling."""
    pipe = LongPipe(R_IN, R_OUT, k=K, capacity=CAPACITY, h=h)
    body = tube([R_IN, R_OUT], graded(0.0, 0.3, 300, 6.0), STEEL, T=AIR, h={OUTSIDE: h})
    here = slice(0, int(np.searchsorted(body.z, 0.1)))
    for power, until in ((450.0, 30.0), (450.0, 60.0), (0.0, 90.0), (0.0, 200.0)):
        advance(body, until - body.time, 0.02, power=power)
        rise = body.field.temperature[0, 0, here] - AIR
        expected = exact_sources.ring_source(pipe, body.z[here], until, 900.0, 60.0)
        assert_allclose(rise, expected, atol=1.0, rtol=1e-3)  # of 700 K at 60 s


@pytest.mark.parametrize("tip", [0.0, 200.0])
def test_heated_pipe_ends_as_a_fin(tip):
    """Steady: power into one end, film outside, adiabatic or cooled tip."""
    h, length, power = 15.0, 0.15, 10.0
    area = np.pi * (R_OUT**2 - R_IN**2)
    m = fin_parameter(h, 2 * np.pi * R_OUT, K, area)
    body = tube(
        [R_IN, R_OUT], np.linspace(0.0, length, 151), STEEL, T=AIR,
        h={OUTSIDE: h, HIGH_END: tip},
    )  # fmt: skip
    advance(body, 40e3, 10.0, power=power)
    base = power / exact.fin_heat(m, K, area, length, tip=tip)
    expected = base * exact.fin(body.z, m, length, k=K, tip=tip)
    # 0.2 % of film is the half wall between node and surface, which the fin leaves out
    assert_allclose(body.field.temperature[0, 0] - AIR, expected, rtol=4e-3)
    losses = body.lost.sum()
    assert losses + body.heat - CAPACITY * AIR * area * length == pytest.approx(
        power * 40e3, rel=1e-12
    )


def test_steady_wall_with_a_clearance_adds_resistances():
    """Two tubes with a film between: logarithms and 1/h in series (Incropera 3.3)."""
    r, film, h, power, length = (10e-3, 15e-3, 20e-3), 150.0, 500.0, 50.0, 10e-3
    rows = np.concatenate([np.linspace(*r[:2], 21), np.linspace(*r[1:], 21)[1:]])
    source = np.zeros((40, 1))
    source[0] = 1.0
    body = tube(rows, [0.0, length], STEEL, T=AIR, h={OUTSIDE: h}, source=source)
    gap = r[1] * length
    body.body = body.body._replace(
        film_row=20,
        film=np.array([[gap], [(r[1] - body.r[19]) / gap], [(body.r[20] - r[1]) / gap]]),
    )
    body.films.clearance[:] = film
    advance(body, 20e3, 5.0, power=power)
    T = body.field.temperature[:, 0, 0]
    per_length = power / (2 * np.pi * length)
    outside = AIR + per_length / (h * r[2])
    socket = outside + per_length / K * np.log(r[2] / body.r[20:])
    pipe = (
        outside + per_length / K * np.log(r[2] / body.r[:20]) + per_length / film / r[1]
    )
    assert_allclose(T, np.concatenate([pipe, socket]), atol=2e-3 * (T[0] - AIR))


def two_metals():
    """Conductivities 15 and 50 W/m/K, as the first and second of the tables."""
    one, two = constant_metal(15.0, CAPACITY), constant_metal(50.0, CAPACITY)
    return one._replace(
        conductivity=np.concatenate([one.conductivity, two.conductivity]),
        enthalpy=np.concatenate([one.enthalpy, two.enthalpy]),
    )


def test_unlike_layers_along_the_axis_conduct_in_series():
    """Half cells of unlike size and metal in series (Patankar 1980, 4.2-3): exact."""
    lines, h, power = np.cumsum([0.0, 1, 2, 1, 3, 0.5, 2]) * 1e-3, 800.0, 30.0
    body = tube([R_IN, R_OUT], lines, two_metals(), T=AIR, h={HIGH_END: h})
    body.body.material[:, 3:] = 1
    advance(body, 4000.0, 2.0, power=power)
    flux = power / (np.pi * (R_OUT**2 - R_IN**2))
    half, k = np.diff(lines) / 2, np.where(np.arange(6) < 3, 15.0, 50.0)
    drops = flux * (half[:-1] / k[:-1] + half[1:] / k[1:])
    surface = AIR + flux / h + flux * half[-1] / k[-1]
    expected = surface + np.append(np.cumsum(drops[::-1])[::-1], 0.0)
    assert_allclose(body.field.temperature[0, 0], expected, rtol=1e-9)


def test_unlike_layers_through_the_wall_conduct_in_series():
    """Two tubes in contact: logarithms in series (Incropera 3.3)."""
    rows = np.concatenate(
        [np.linspace(10e-3, 15e-3, 16), np.linspace(15e-3, 20e-3, 26)[1:]]
    )
    source = np.zeros((40, 1))
    source[0] = 1.0
    body = tube(
        rows, [0.0, 10e-3], two_metals(), T=AIR, h={OUTSIDE: 500.0}, source=source
    )
    body.body.material[15:] = 1
    advance(body, 4000.0, 2.0, power=200.0)
    per_radian = 200.0 / (2 * np.pi * 10e-3)
    outer = (
        AIR + per_radian / (500.0 * 20e-3) + per_radian / 50.0 * np.log(20e-3 / body.r)
    )
    step = AIR + per_radian / (500.0 * 20e-3) + per_radian / 50.0 * np.log(20.0 / 15.0)
    inner = step + per_radian / 15.0 * np.log(15e-3 / body.r)
    expected = np.where(body.r > 15e-3, outer, inner)
    assert_allclose(
        body.field.temperature[:, 0, 0], expected, atol=2e-3 * np.ptp(expected)
    )


# ------------------------------------------------------------------- order


@dataclass(frozen=True)
class Mode:
    """A decaying mode of an insulated solid cylinder, exact for any metal of this sort.

    Conductivity and heat capacity both grow as 1 + BETA (T - 300), so enthalpy diffuses
    linearly (Kirchhoff) although both coefficients change threefold with temperature.
    """

    BETA, RADIUS, LENGTH = 1e-3, 15e-3, 30e-3
    around: int  # waves round the ring; 0 is axisymmetric

    def enthalpy(self, r, theta, z, t):
        root = special.jnp_zeros(self.around, 1)[0] / self.RADIUS
        shape = special.jv(self.around, root * r) * np.cos(self.around * theta)
        shape = shape * np.cos(np.pi * z / self.LENGTH)
        return 700.0 + 400.0 * shape * np.exp(-self.rate * t)  # over the capacity

    @property
    def rate(self):
        root = special.jnp_zeros(self.around, 1)[0] / self.RADIUS
        return ALPHA * (root**2 + (np.pi / self.LENGTH) ** 2)

    def temperature(self, r, theta, z, t):
        y = self.enthalpy(r, theta, z, t)
        return 300.0 + (np.sqrt(1 + 2 * self.BETA * y) - 1) / self.BETA

    def metal(self):
        T = TABLE_START + 0.25 * np.arange(8000)
        rise = T - 300.0
        k = K * (1 + self.BETA * rise)
        H = CAPACITY * (rise + self.BETA / 2 * rise**2)
        return arrays.Tables(TABLE_START, 0.25, k[None], H[None])

    def run(self, n, steps, n_theta=None):
        """Temperatures after one decay time, found and exact; the step."""
        n_theta = n_theta or (2 * n if self.around else 1)
        body = tube(
            graded(0.0, self.RADIUS, n), graded(0.0, self.LENGTH, n), self.metal(),
            T=lambda *x: self.temperature(*x, 0.0), n_theta=n_theta,
        )  # fmt: skip
        advance(body, 1 / self.rate, 1 / self.rate / steps)
        theta = (np.arange(n_theta) + 0.5) * 2 * np.pi / n_theta
        nodes = np.meshgrid(body.r, theta, body.z, indexing="ij")
        end = self.temperature(*nodes, 1 / self.rate)
        return body.field.temperature, end, 1 / self.rate / steps


@pytest.mark.parametrize(
    ("around", "sizes"),
    [(0, (8, 16, 32, 64)), (1, (8, 11, 15, 20))],
    ids=["axisymmetric", "ring"],
)
def test_second_order_in_space(around, sizes):
    """Exact nonlinear mode on graded lines, four refinements.

    Steps go as the square of the cell, so that time takes nothing from the order.
    """
    errors = []
    for n in sizes:
        found, exactly, _ = Mode(around).run(n, n**2)
        errors.append(np.sqrt(((found - exactly) ** 2).mean()))
    assert order(1 / np.array(sizes), errors) == pytest.approx(2.0, abs=0.15)


@pytest.mark.parametrize(("around", "n"), [(0, 16), (1, 6)], ids=["axisymmetric", "ring"])
def test_second_order_in_time(around, n):
    """Same grid, four halvings of the step, against steps 16 times finer still."""
    mode, steps = Mode(around), (32, 64, 128, 256, 512)
    resolved, _, _ = mode.run(n, 16 * steps[-1])
    errors, sizes = [], []
    for count in steps:
        found, _, step = mode.run(n, count)
        errors.append(abs(found - resolved).max())
        sizes.append(step)
    assert order(sizes, errors) == pytest.approx(2.0, abs=0.15)


# ------------------------------------------------------------------- conservation


@pytest.mark.tiny
@pytest.mark.parametrize("n_theta", [1, 5])
@pytest.mark.parametrize("step", [0.01, 1.0, 30.0])
def test_heat_is_kept_whatever_the_field_and_the_step(n_theta, step):
    """Insulated carbon steel from 300 to 2000 K: over the 735 degC peak and melting."""
    rng = np.random.default_rng(7)
    steel = of_case([material("carbon steel")])
    rows, columns = (np.cumsum(rng.uniform(1e-4, 1e-3, n)) for n in (9, 12))
    body = tube(
        R_IN + rows, columns, steel, n_theta=n_theta,
        T=lambda *nodes: rng.uniform(300.0, 2000.0, nodes[0].shape),
    )  # fmt: skip
    before, spread = body.heat, np.ptp(body.field.temperature)
    advance(body, 4 * step, step)
    assert body.heat == pytest.approx(before, rel=1e-12)
    assert np.ptp(body.field.temperature) < spread
    axis = steel.start + steel.step * np.arange(steel.enthalpy.shape[1])
    stored = np.interp(body.field.temperature, axis, steel.enthalpy[0])
    assert_allclose(body.field.enthalpy, stored, rtol=1e-12)


@pytest.mark.parametrize("step", [0.1, 5.0, 60.0])
@pytest.mark.parametrize("name", ["carbon steel", "316L"])
def test_no_step_jumps_over_the_peak_or_the_melting(name, step):
    """One insulated cell under power: its temperature is that of the heat put in.

    Read from the enthalpy curve, at every step, however long: through the 735 degC peak
    of EN 1993-1-2 and through solidus and liquidus.
    """
    metal = material(name)
    body = tube([R_IN, R_OUT], [0.0, 1e-2], of_case([metal]), T=300.0)
    volume = np.pi * (R_OUT**2 - R_IN**2) * 1e-2
    power = (enthalpy_at(metal, 1900.0) - enthalpy_at(metal, 300.0)) * volume / 240.0
    for _ in range(int(240.0 / step)):
        advance(body, step, step, power=float(power))
        heat = enthalpy_at(metal, 300.0) + power * body.time / volume
        assert body.field.temperature[0, 0, 0] == pytest.approx(
            float(temperature_at(metal, heat)), abs=1e-6
        )
    assert body.field.temperature[0, 0, 0] == pytest.approx(1900.0)


@pytest.mark.parametrize("turn_rate", [0.0, 0.3, -7.0])
def test_arc_puts_in_power_times_time(turn_rate):
    """At every stop, however the steps were, with losses booked by kind."""
    body = tube(
        np.linspace(R_IN, R_OUT, 4), np.linspace(0.0, 20e-3, 9), STEEL, T=AIR, n_theta=12,
        h={OUTSIDE: 40.0, BORE: 5.0, HIGH_END: 100.0},
    )  # fmt: skip
    cold = body.heat
    for until in (0.3, 1.0, 7.0, 30.0):
        angle = 1.0 + turn_rate * body.time
        advance(
            body, until - body.time, 0.02, tolerance=0.5, step_max=1.0, power=600.0,
            angle=angle, turn_rate=turn_rate, spread=0.2,
        )  # fmt: skip
        assert body.heat - cold + body.lost.sum() == pytest.approx(
            600.0 * until, rel=1e-11
        )
    assert (body.lost[[OUTSIDE, BORE, HIGH_END]] > 0.0).all()


@pytest.mark.tiny
def test_arc_heats_where_it_is():
    """Centre and spread of the heat along the ring after a short stretch."""
    n, angle, turn_rate, spread = 96, 2.0, 0.5, 0.25
    body = tube([R_IN, R_OUT], [0.0, 2e-3], STEEL, T=AIR, n_theta=n)
    advance(body, 0.1, 0.02, power=100.0, angle=angle, turn_rate=turn_rate, spread=spread)
    rise = body.field.temperature[0, :, 0] - AIR
    wave = (rise * np.exp(1j * (np.arange(n) + 0.5) * 2 * np.pi / n)).sum() / rise.sum()
    assert np.angle(wave) == pytest.approx(angle + turn_rate * 0.05, abs=1e-3)
    assert abs(wave) == pytest.approx(np.exp(-(spread**2) / 2), rel=3e-3)


def test_nothing_gets_hotter_than_it_was_nor_colder_than_air():
    """Cooling from an uneven field, steps by error as in a real run."""
    body = tube(
        np.linspace(R_IN, R_OUT, 6), np.linspace(0.0, 40e-3, 31), STEEL,
        T=lambda _r, _theta, z: 400.0 + 500.0 * np.exp(-((z / 8e-3) ** 2)),
        h={OUTSIDE: 20.0},
    )  # fmt: skip
    record = advance(body, 900.0, 0.02, tolerance=0.3, step_max=10.0)
    hottest = record.ring[:, 0]
    assert (np.diff(hottest) < 1e-9).all()
    assert hottest[-1] < 600.0
    assert record.coldest.min() > AIR
    assert (record.coldest <= record.mean).all()
    assert (record.mean <= hottest).all()


@pytest.mark.tiny
def test_laying_a_bead_keeps_the_heat_and_adds_cold_metal():
    """Metal that changes owner takes its heat along; the new metal comes at air."""
    model = make_model(reference(metal_in_place=False))
    rng = np.random.default_rng(5)
    for body in model.bodies:
        shape = (body.span.shape[1], 1, body.material.shape[1])
        T = rng.uniform(300.0, 1200.0, shape)
        axis = model.tables.start + model.tables.step * np.arange(
            model.tables.enthalpy.shape[1]
        )
        H = np.empty(shape)
        for n, row in enumerate(model.tables.enthalpy):
            H[(body.material == n)[:, None, :]] = np.interp(T, axis, row)[
                (body.material == n)[:, None, :]
            ]
        cold = np.array([np.interp(293.15, axis, row) for row in model.tables.enthalpy])
        field = arrays.Field(T, H, np.zeros(1, dtype=np.int64))
        before = (body.volume[0] * H[:, 0]).sum()
        before += (body.section[arrays.GAIN, 1] * cold[body.material]).sum()
        work = march.make_work(shape, body.surface_area.shape[1])
        solver.run("lay_bead", body, model.tables, field, work, 0, 293.15)
        assert (body.volume[1] * H[:, 0]).sum() == pytest.approx(before, rel=1e-12)
        assert body.section[arrays.GAIN, 1].sum() > 0.0


# ------------------------------------------------------------------- symmetry


def travelling(n_theta, *, start, turn_rate):
    """A short tube under a travelling arc for half a turn, then cooling."""
    body = tube(
        np.linspace(R_IN, R_OUT, 5), np.linspace(0.0, 15e-3, 11), STEEL, T=AIR,
        n_theta=n_theta, h={OUTSIDE: 30.0},
    )  # fmt: skip
    advance(
        body, 10.0, 0.02, step_max=0.1, power=500.0, angle=start, turn_rate=turn_rate,
        spread=0.2,
    )  # fmt: skip
    advance(body, 20.0, 0.02, tolerance=1.0, step_max=5.0)
    return body.field.temperature


def test_start_turned_by_whole_cells_turns_the_answer():
    n, cells = 20, 7
    here = travelling(n, start=0.0, turn_rate=0.3)
    there = travelling(n, start=cells * 2 * np.pi / n, turn_rate=0.3)
    assert np.ptp(here) > 50.0
    assert_allclose(there, np.roll(here, cells, axis=1), rtol=1e-11)


def test_the_other_way_round_is_the_mirror_image():
    ahead = travelling(20, start=0.0, turn_rate=0.3)
    back = travelling(20, start=0.0, turn_rate=-0.3)
    assert_allclose(back, ahead[:, ::-1], rtol=1e-11)
    assert abs(back - ahead).max() > 10.0


@pytest.mark.parametrize("n_theta", [2, 3, 7, 48])
@pytest.mark.parametrize(("power", "close"), [(0.0, 1e-12), (900.0, 1e-8)])
def test_even_ring_is_the_axisymmetric_answer(n_theta, power, close):
    """Same steps, same answer, for any number of angles (those solved abreast too).

    To round-off; a source can only be made as even as its tails, cut at five spreads.
    """
    answers = []
    for n in (1, n_theta):
        body = tube(
            np.linspace(R_IN, R_OUT, 5), np.linspace(0.0, 15e-3, 11), STEEL, n_theta=n,
            T=lambda r, _theta, z: 400.0 + 2e4 * (z + r), h={OUTSIDE: 30.0},
        )  # fmt: skip
        advance(body, 15.0, 0.02, tolerance=0.3, step_max=5.0, power=power, spread=100.0)
        answers.append(body.field.temperature)
    even = np.broadcast_to(answers[0], answers[1].shape)
    assert np.ptp(even) > 1.0
    assert_allclose(answers[1], even, rtol=close)


@pytest.mark.tiny
def test_mirrored_body_gives_the_mirrored_answer():
    """Lines, source and films turned end for end."""
    lines = graded(0.0, 30e-3, 20)
    source = np.zeros((4, 20))
    source[1:3, 3] = 0.5
    rows = np.linspace(R_IN, R_OUT, 5)
    films = {OUTSIDE: 20.0, HIGH_END: 300.0}
    mirrored = {OUTSIDE: 20.0, HIGH_END - 1: 300.0}
    one = tube(rows, lines, STEEL, T=AIR, h=films, source=source)
    two = tube(
        rows, 30e-3 - lines[::-1], STEEL, T=AIR, h=mirrored, source=source[:, ::-1]
    )
    for body in (one, two):
        advance(body, 20.0, 0.02, tolerance=0.3, step_max=5.0, power=400.0)
    assert_allclose(two.field.temperature[..., ::-1], one.field.temperature, rtol=1e-12)
    assert one.field.temperature[2, 0, 3] > one.field.temperature[2, 0, -4] + 20.0


# ------------------------------------------------------------------- events


def call(body, **changed):
    """One call of the solver with a record of 50 steps; what it returns, and the record."""
    numbers = {
        "tolerance": 0.3, "step_first": 0.02, "step_max": 5.0, "time_start": 0.0,
        "time_end": 1e4, "stop_below": 0.0, "hottest_possible": 3500.0,
        "ease_above": 1e6, "power": 0.0, "fresh": True,
    } | changed  # fmt: skip
    arc = arrays.Arc(numbers.pop("power"), 0.0, 0.0, 1.0)
    probes = arrays.Probes(np.zeros((0, 1, 3), dtype=np.int64), np.zeros((0, 1)))
    record = march.make_record(50, 1, 0)
    answer = solver.run(
        "march", body.body, body.films, body.tables, body.field, arc, arrays.Control(**numbers),
        probes, record, body.lost, body.work,
    )  # fmt: skip
    return answer, record


def hot_tube():
    return tube(
        np.linspace(R_IN, R_OUT, 5), np.linspace(0.0, 15e-3, 11), STEEL, T=600.0,
        h={OUTSIDE: 30.0},
    )  # fmt: skip


@pytest.mark.tiny
def test_stops_on_the_limit_and_not_a_step_later():
    body, limit = hot_tube(), 450.0
    (status, time, *_), _ = call(body, stop_below=limit)
    while status == arrays.FULL:
        (status, time, *_), _ = call(body, stop_below=limit, time_start=time)
    assert status == arrays.REACHED
    assert body.field.temperature.max() == pytest.approx(limit, abs=0.01)
    other = hot_tube()
    advance(other, time, 0.02, tolerance=0.3, step_max=5.0)
    assert other.field.temperature.max() == pytest.approx(limit, abs=0.05)


@pytest.mark.tiny
def test_full_record_goes_on_where_it_stopped():
    """Fifty steps at a time or all at once: the same to round-off."""
    pieces, whole = hot_tube(), hot_tube()
    status, step, time, times = arrays.FULL, 0.02, 0.0, []
    while status == arrays.FULL:
        (status, time, step, count, *_), record = call(
            pieces, time_start=time, time_end=300.0, step_first=step, tolerance=0.05,
            fresh=not times,
        )  # fmt: skip
        times += list(record.time[:count])
    assert len(times) > 50
    assert np.diff(times).min() > 0.0
    assert times[-1] == pytest.approx(300.0, abs=1e-9)
    advance(whole, 300.0, 0.02, tolerance=0.05, step_max=5.0)
    assert_allclose(pieces.field.temperature, whole.field.temperature, rtol=1e-9)


@pytest.mark.tiny
@pytest.mark.parametrize("power", [1e9, np.nan])
def test_impossible_power_fails_and_leaves_the_state_sound(power):
    body = hot_tube()
    (status, time, _, count, where, tries), _ = call(body, power=power)
    assert status == arrays.FAILED
    assert time < 0.1
    assert tries > count
    assert where[2] == 0  # the source's column
    assert np.isfinite(body.field.temperature).all()
    assert body.field.temperature.max() < 3500.0


def test_small_errors_cost_more_steps():
    """The tolerance does what it says: smaller is closer and dearer."""
    found, steps = [], []
    for tolerance in (3.0, 0.3, 0.03, 0.001):
        body = hot_tube()
        record = advance(
            body, 60.0, 0.02, tolerance=tolerance, step_max=10.0, power=300.0
        )
        found.append(body.field.temperature.copy())
        steps.append(record.time.size)
    errors = [abs(T - found[-1]).max() for T in found[:-1]]
    assert errors[0] > errors[1] > errors[2]
    assert errors[1] < 0.5
    assert steps == sorted(steps)


INTERPRETED = """
import json, sys
sys.path.insert(0, sys.argv[1])
from heat.test_kernels import travelling
print(json.dumps(travelling(3, start=0.4, turn_rate=0.3).tolist()))
"""


@pytest.mark.slow
def test_compiled_equals_interpreted():
    """Numba and plain Python run the same arithmetic."""
    here = Path(__file__).parents[1]
    answer = subprocess.run(
        [sys.executable, "-c", INTERPRETED, str(here)], check=True, capture_output=True,
        text=True, env=os.environ | {"NUMBA_DISABLE_JIT": "1"}, cwd=here.parent,
    )  # fmt: skip
    slow = np.array(json.loads(answer.stdout))
    assert_allclose(slow, travelling(3, start=0.4, turn_rate=0.3), rtol=1e-12)
