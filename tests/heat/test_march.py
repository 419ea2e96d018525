"""Phases of arc and of cooling on whole joints: heat accounts, probes, runs that fail."""

from dataclasses import replace

import numpy as np
import pytest
from interpass.case_file.read import read_case
from interpass.heat import march
from interpass.heat.model import make_model
from interpass.heat.probes import make_probes
from interpass.heat.waits import plan
from interpass.physics.metals import enthalpy_at, material
from interpass.text.errors import ExitStatus, RunError
from joints import AIR, ROOT, advance, as_tube, one_pass, reference, with_passes
from numpy.testing import assert_allclose


def begin(case):
    """State of a case before its first arc."""
    model = make_model(case)
    return march.start(model, make_probes(model))


def carbon_steel(**changes):
    """Reference joint all of carbon steel, with its peak of specific heat at 735 degC."""
    case, steel = reference(**changes), material("carbon steel")
    return replace(
        case,
        pipe=replace(case.pipe, material=steel),
        fitting=replace(case.fitting, material=steel),
        filler=steel,
    )


def test_piece_begins_at_its_start_temperature_and_air_is_zero_heat():
    case = reference()
    warm = replace(case, surroundings=replace(case.surroundings, start=393.15))
    state = begin(warm)
    metal = state.body.volume[0] > 0
    assert (state.field.temperature[:, 0][metal] == 393.15).all()
    assert march.ledger(state).stored == pytest.approx(0.0, abs=1e-9)
    assert march.stored(begin(case)) == pytest.approx(0.0, abs=1e-9)
    volume = [state.body.volume[0][state.body.material == n].sum() for n in range(3)]
    expected = sum(
        2 * np.pi * v * float(enthalpy_at(m, 393.15) - enthalpy_at(m, 293.15))
        for v, m in zip(volume, state.model.materials, strict=True)
    )
    assert march.stored(state) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("ring", [1, 12])
@pytest.mark.parametrize("bead", ["at once", "behind the arc"])
def test_ledger_closes_at_every_stop(ring, bead):
    """Arc = power x time at each; stored and lost make it up; metal in and not."""
    case = reference(ring=ring, cell=2e-3, metal_in_place=False)
    case = replace(case, model=replace(case.model, bead=bead))
    state = begin(case)
    turn = 2 * np.pi
    burnt = 0.0
    for number in (1, 2, 3):
        march.begin_pass(state, number)
        for part in range(4):
            march.heat(state, 900.0, 7.5, part * turn / 4, (part + 1) * turn / 4)
            burnt += 7.5
            accounts = march.ledger(state)
            assert accounts.arc == pytest.approx(900.0 * burnt, rel=1e-12)
            assert abs(accounts.closure) < 1e-11
        march.finish_bead(state)
        march.cool(state, 30.0)
        assert abs(march.ledger(state).closure) < 1e-11
    assert state.time == pytest.approx(180.0)
    assert set(march.ledger(state).lost) == {"pipe", "fillet", "fitting", "faces"}
    assert all(x > 0 for x in march.ledger(state).lost.values())


@pytest.mark.parametrize("tolerance", [0.3, 1e5])
def test_peak_at_735_degC_keeps_the_heat(tolerance):
    """Over the peak and back, in careful steps and in the coarsest there are."""
    state = begin(one_pass(carbon_steel(tolerance=tolerance)))
    march.begin_pass(state, 1)
    march.heat(state, 2500.0, 60.0, 0.0, 2 * np.pi)
    T = state.field.temperature[:, 0][state.body.volume[1] > 0]
    assert T.min() < 1000.0
    assert T.max() > 1020.0  # the peak is at 1008 K
    assert abs(march.ledger(state).closure) < 1e-11
    march.cool(state, 200.0)
    assert state.field.temperature.max() < 1000.0
    assert abs(march.ledger(state).closure) < 1e-11


@pytest.mark.parametrize("tolerance", [0.3, 1e5])
def test_melting_and_freezing_keep_the_heat(tolerance):
    """Through solidus and liquidus and back, latent heat and all."""
    state = begin(one_pass(reference(tolerance=tolerance)))
    march.begin_pass(state, 1)
    march.heat(state, 6000.0, 20.0, 0.0, 2 * np.pi)
    liquidus = state.model.materials[0].liquidus
    assert state.field.temperature.max() > liquidus
    assert abs(march.ledger(state).closure) < 1e-11
    march.cool(state, 60.0)
    assert state.field.temperature.max() < state.model.materials[0].solidus
    assert abs(march.ledger(state).closure) < 1e-11


@pytest.mark.parametrize("ring", [1, 12])
def test_cooling_only_cools(ring):
    """No point of the joint gets hotter than the hottest, nor colder than the air."""
    state = begin(reference(ring=ring, cell=2e-3))
    march.begin_pass(state, 1)
    march.heat(state, 900.0, 60.0, 0.0, 2 * np.pi)
    metal = (state.body.volume[1] > 0)[:, None, :] & np.ones((1, ring, 1), dtype=bool)
    hottest = state.field.temperature[metal].max()
    first = len(state.records)
    for _ in range(20):
        march.cool(state, 10.0)
        now = state.field.temperature[metal]
        assert now.max() < hottest
        assert now.min() > 293.15 - 1e-9
        hottest = now.max()
    ring_max = np.concatenate([r.ring.max(axis=1) for r in state.records[first:]])
    assert (np.diff(ring_max) < 1e-6).all()


def test_record_has_every_step_once():
    state = begin(reference())
    march.note_now(state)
    march.begin_pass(state, 1)
    march.heat(state, 900.0, 60.0, 0.0, 2 * np.pi)
    march.cool(state, 1500.0)  # more steps than one call records
    time = np.concatenate([r.time for r in state.records])
    assert time[0] == 0.0
    assert (np.diff(time) > 0).all()
    assert time[-1] == pytest.approx(1560.0, abs=1e-6)
    assert 60.0 in np.round(time, 9)
    assert np.diff(time).max() <= march.STEP_MAX + 1e-9


@pytest.mark.parametrize("ring", [1, 16])
def test_probes_find_a_linear_field(ring):
    """In the pipe, in the body, on surfaces and between angles: exact on straight lines."""
    case = reference(ring=ring)
    state = begin(case)
    stage = state.model.stages[-1]
    angles = (np.arange(ring) + 0.5) * 2 * np.pi / ring
    field = 400.0 + 2e3 * stage.r - 1e3 * stage.z
    state.field.temperature[:] = field[:, None, :] + 10 * np.cos(angles)[None, :, None]
    found = march.probe_temperatures(state)
    around = 10 * np.cos(np.pi / ring)  # between the two angles beside 0
    for probe, T in zip(case.probes, found, strict=False):
        expected = 400.0 + 2e3 * probe.r - 1e3 * probe.z + around
        assert abs(T - expected) < 1e-9, probe.name


def test_joint_temperature_at_an_angle():
    case = reference(ring=8)
    state = begin(case)
    state.field.temperature[:] = 300.0 + 10 * np.arange(8)[None, :, None]
    for m in range(8):
        found = march.joint_temperature(state, (m + 0.3) * np.pi / 4)
        assert found.start_point == 300.0 + 10 * m
        assert (found.hottest, found.coldest) == (370.0, 300.0)
        assert found.mean == pytest.approx(335.0)
    assert march.joint_temperature(state, -0.1).start_point == 370.0


@pytest.mark.parametrize("ring", [5, 48])
def test_even_arc_on_a_ring_is_the_axisymmetric_joint(ring):
    """Fillet, clearance and all: same steps, same answer but for the source's tails."""
    answers = []
    for n in (1, ring):
        state = begin(reference(ring=n, cell=2e-3))
        march.begin_pass(state, 1)
        body = as_tube(state)
        for power in (900.0, 0.0):
            advance(
                body, 40.0, 0.02, tolerance=0.3, step_max=5.0, power=power, spread=100.0
            )
        answers.append(state.field.temperature)
    even = np.broadcast_to(answers[0], answers[1].shape)
    assert np.ptp(even) > 100.0
    assert_allclose(answers[1], even, rtol=1e-8)


# ------------------------------------------------------------------- runs that fail


@pytest.mark.parametrize("ring", [1, 12])
def test_unphysical_power_stops_with_time_place_and_cause(ring):
    """The second pass has a hundred times the power: exit 4, and the first is kept."""
    case = with_passes(reference(ring=ring, cell=2e-3), 0.0, 30.0)
    mad = replace(case.passes[1], net_power=90e3)
    with pytest.raises(RunError) as caught:
        plan(replace(case, passes=(case.passes[0], mad)))
    message, history = str(caught.value), caught.value.history
    assert caught.value.status == ExitStatus.RUN
    assert message.startswith("stopped at 9")  # after 90 s
    for part in ("degC", " mm", "90000 W", "check current, voltage"):
        assert part in message
    assert ("deg;" in message) == (ring > 1)
    assert not history.complete
    assert history.stopped_because == message
    assert len(history.passes) == 1
    assert history.time[-1] >= 90.0
    assert np.isfinite(history.hottest).all()
    assert history.hottest.max() < march.HOTTEST_POSSIBLE
    assert abs(history.ledger.closure) < 1e-3


def test_nan_stops_the_run_too():
    with pytest.raises(RunError, match=r"stopped at 0\.0 s"):
        plan(one_pass(reference(cell=2e-3), net_power=float("nan")))


def test_metal_that_cannot_be_this_cold_stops_the_run():
    """A sink far below what the tables hold, as a mistake in units would make."""
    case = one_pass(reference(cell=2e-3), net_power=-20e3)
    with pytest.raises(RunError, match="stopped at"):
        plan(case)


@pytest.mark.parametrize("start", [AIR, 293.15])
def test_nothing_happens_without_heat(start):
    """A piece at the temperature of the air stays there."""
    case = read_case(ROOT / "cases" / "steam-drain.toml")
    air = replace(case.surroundings, air=start, start=start)
    state = begin(replace(case, surroundings=air, model=replace(case.model, ring=1)))
    march.cool(state, 600.0)
    metal = state.body.volume[0] > 0
    assert_allclose(state.field.temperature[:, 0][metal], start, rtol=1e-13)
    assert sum(march.ledger(state).lost.values()) == pytest.approx(0.0, abs=1e-6)


def test_every_pass_has_its_own_spread():
    case = reference(ring=48)
    first, *rest = case.passes
    wide = [replace(p, source_spread=6e-3) for p in rest]
    model = make_model(replace(case, passes=(replace(first, source_spread=3e-3), *wide)))
    assert march.spread_angle(model, 2) == pytest.approx(2 * march.spread_angle(model, 1))


def test_every_pass_has_room_for_its_own_surfaces_and_no_more():
    """The solver counts surfaces by this array: of another pass's length it read past
    the end of this one's, and crashed.
    """
    case = read_case(ROOT / "cases" / "sampling-stub.toml")
    case = replace(case, model=replace(case.model, ring=1, cell=2e-3))
    case = with_passes(case, *[600.0] * 5, deposit=5e-6, arc_time=8.0)
    state = begin(case)
    rooms = {body.surface.shape[1] for body in state.model.bodies}
    assert len(rooms) > 1
    for p in case.passes:
        march.begin_pass(state, p.number)
        assert state.work.G_surface.shape == (state.body.surface.shape[1], 1)
