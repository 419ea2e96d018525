"""Planned waits: what must hold however the numbers are.

Most of these compare a plan with itself, changed in a way whose effect is known.
"""

import re
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from interpass.case_file.read import parse_case, read_case
from interpass.heat import march, stand_in
from interpass.heat.model import make_model
from interpass.heat.probes import make_probes
from interpass.heat.waits import plan
from interpass.joint import places as places_of
from interpass.joint.case import Measure, Segment
from interpass.physics.metals import enthalpy_at
from joints import (
    CASES,
    ROOT,
    one_pass,
    probe_errors,
    reference,
    reference_run,
    shipped,
    with_passes,
)
from numpy.testing import assert_allclose

LIMIT = 448.15  # K, of the reference joint
CLOSE = 0.02  # K to which a wait ends at its limit


def automatic(case, passes=2):
    """Case whose waits are found, and not given."""
    return with_passes(case, 0.0, *[None] * (passes - 1))


@cache
def stub_wait(*, air=293.15, emissivity=0.5, limit=448.15, share=1.0, fan=0.0, cell=2e-3):
    """Wait before pass 2 of the shipped stub, changed [s]."""
    case = read_case(ROOT / "cases" / "sampling-stub.toml")
    passes = tuple(
        replace(p, current=p.current * share, net_power=p.net_power * share)
        for p in case.passes
    )
    case = replace(
        case,
        passes=passes,
        limits=replace(case.limits, interpass_max=limit),
        surroundings=replace(
            case.surroundings, air=air, start=air, emissivity=emissivity, fan=fan
        ),
        model=replace(case.model, ring=1, cell=cell),
    )
    history = plan(case)
    assert history.complete
    return history.passes[1].wait


# ------------------------------------------------------------------- the wait itself


@pytest.mark.parametrize("ring", [1, 12])
def test_wait_ends_when_the_hottest_point_is_at_the_limit(ring):
    history = plan(automatic(reference(ring=ring, cell=2e-3), 3))
    assert history.complete
    assert history.stopped_because == ""
    for p in history.passes[1:]:
        assert p.wait_is_auto
        assert p.wait > 30.0
        assert p.at_arc_on.hottest == pytest.approx(LIMIT, abs=CLOSE)
        assert p.arc_on == pytest.approx(history.passes[p.number - 2].arc_off + p.wait)
        waiting = (history.time > p.arc_on - p.wait) & (history.time < p.arc_on - 1.0)
        assert (history.hottest[waiting] > LIMIT).all()


def test_given_wait_is_run_as_it_is():
    """The automatic wait, given: the same temperature when the arc is struck."""
    found = plan(automatic(reference(cell=2e-3)))
    wait = found.passes[1].wait
    given = plan(with_passes(reference(cell=2e-3), 0.0, wait))
    assert not given.passes[1].wait_is_auto
    assert given.passes[1].wait == pytest.approx(wait)
    assert given.passes[1].at_arc_on.hottest == pytest.approx(LIMIT, abs=0.1)
    shorter = plan(with_passes(reference(cell=2e-3), 0.0, wait - 20.0))
    assert shorter.passes[1].at_arc_on.hottest > LIMIT + 2.0


def test_no_wait_when_the_joint_is_cold_enough():
    history = plan(automatic(one_pass(reference(cell=2e-3), net_power=20.0)))
    assert history.passes[1].wait == 0.0
    assert history.passes[1].at_arc_on.hottest < LIMIT


@pytest.mark.parametrize("air", [446.0, 460.0])
def test_limit_out_of_reach_is_said(air):
    """Air nearly as warm as the limit, or warmer: no plan, and the reason."""
    case = automatic(reference(cell=2e-3))
    warm = replace(case.surroundings, air=air, start=air)
    history = plan(replace(case, surroundings=warm))
    assert not history.complete
    assert len(history.passes) == 1
    for part in (
        "pass 2",
        "3600 s",
        "limit of 175 degC",
        f"air is at {air - 273.15:.0f}",
    ):
        assert part in history.stopped_because
    assert history.time[-1] == pytest.approx(3660.0, abs=1e-6)


def test_longest_wait_is_that_of_the_case():
    case = automatic(reference(cell=2e-3))
    history = plan(replace(case, limits=replace(case.limits, wait_max=20.0)))
    assert not history.complete
    assert history.time[-1] == pytest.approx(80.0)
    assert "after 20 s of waiting" in history.stopped_because


# ------------------------------------------------------------------- metamorphic


def test_split_wait_is_the_whole_wait():
    """60 s are 30 s and 30 s, and 20 s three times, but for the first small steps."""
    ends = []
    for parts in (1, 2, 3):
        model = make_model(reference(cell=2e-3))
        state = march.start(model, make_probes(model))
        march.begin_pass(state, 1)
        march.heat(state, 900.0, 60.0, 0.0, 2 * np.pi)
        for _ in range(parts):
            march.cool(state, 60.0 / parts)
        ends.append(state.field.temperature.copy())
    assert_allclose(ends[1], ends[0], atol=0.2)
    assert_allclose(ends[2], ends[0], atol=0.2)


def test_pass_in_two_halves_without_a_pause_is_the_pass():
    """Segments that follow one another: the same arc, restarted half way."""
    case = one_pass(reference(cell=2e-3))
    halves = (Segment(0.0, np.pi), Segment(np.pi, 2 * np.pi))
    split = one_pass(case, segments=halves)
    whole, parts = plan(case), plan(split)
    assert parts.passes[0].net_energy == pytest.approx(whole.passes[0].net_energy)
    assert parts.passes[0].arc_off == pytest.approx(60.0)
    now, then = parts.passes[0].at_arc_off, whole.passes[0].at_arc_off
    assert now.hottest == pytest.approx(then.hottest, abs=0.5)
    assert now.mean == pytest.approx(then.mean, abs=0.2)


def test_pause_between_halves_takes_its_time_and_adds_no_heat():
    halves = (Segment(0.0, np.pi), Segment(0.0, -np.pi, pause=15.0))
    case = reference(ring=12, cell=2e-3)
    history = plan(one_pass(case, segments=halves))
    assert history.passes[0].arc_off == pytest.approx(75.0)
    assert history.ledger.arc == pytest.approx(54e3)
    paused = (history.time > 31.0) & (history.time < 45.0)
    assert (np.diff(history.hottest[paused]) < 0).all()


def test_half_the_cell_moves_the_wait_little():
    waits = [stub_wait(cell=cell) for cell in (2e-3, 1e-3, 0.5e-3)]
    assert abs(waits[1] - waits[2]) < abs(waits[0] - waits[2])
    assert waits[1] == pytest.approx(waits[2], rel=0.02)


def test_case_in_inches_is_the_case_in_millimetres():
    """Every value of the case in other units of the same size: the same plan."""
    text = (ROOT / "cases" / "check-joint.toml").read_text(encoding="utf-8")
    text = text.replace('cell = "0.5 mm"', 'cell = "2 mm"\nring = 1')

    def other(match):
        value, unit = float(match[1]), match[2]
        return {
            "mm": f'"{value / 25.4!r} in"',
            "degC": f'"{value * 1.8 + 32!r} degF"',
            "s": f'"{value / 60!r} min"',
            "W": f'"{value / 1000!r} kW"',
            "W/m^2/K": f'"{value / 1e3!r} kW/m^2/K"',
        }[unit]

    swapped, count = re.subn(r'"([\d.]+) (mm|degC|s|W|W/m\^2/K)"', other, text)
    assert count > 25
    here, there = plan(parse_case(text)), plan(parse_case(swapped))
    assert here.steps == there.steps
    assert_allclose(there.time, here.time, atol=1e-6)
    assert_allclose(there.hottest, here.hottest, atol=1e-6)
    assert there.ledger.arc == pytest.approx(here.ledger.arc)


def test_ring_turned_by_whole_cells_is_the_turned_ring():
    n, cells = 12, 5
    turned = cells * 2 * np.pi / n
    case = automatic(reference(ring=n, cell=2e-3))
    moved = tuple(replace(p, start_angle=turned) for p in case.passes)
    here, there = plan(case), plan(replace(case, passes=moved))
    assert np.ptp(here.ring, axis=1).max() > 100.0
    assert_allclose(there.time, here.time, atol=1e-6)
    expected = np.roll(here.ring, cells, axis=1)
    uneven = np.ptp(here.ring, axis=1) > 20.0  # all cells there: to round-off
    assert_allclose(there.ring[uneven], expected[uneven], atol=1e-5)
    assert_allclose(
        there.ring, expected, atol=0.2
    )  # which cells are joined is not turned
    assert there.passes[1].wait == pytest.approx(here.passes[1].wait, abs=1e-3)


def test_clockwise_is_the_mirror_of_counter_clockwise():
    case = automatic(reference(ring=12, cell=2e-3))
    back = tuple(replace(p, direction=-1) for p in case.passes)
    here, there = plan(case), plan(replace(case, passes=back))
    assert abs(there.ring - here.ring).max() > 50.0
    assert_allclose(there.ring, here.ring[:, ::-1], atol=1e-5)
    assert there.passes[1].wait == pytest.approx(here.passes[1].wait, abs=1e-3)


# ------------------------------------------------------------------- sense


@pytest.mark.parametrize(
    ("what", "longer"),
    [
        ("share", (0.7, 0.85, 1.0, 1.15)),  # amps
        ("air", (263.15, 283.15, 303.15, 323.15)),
        ("emissivity", (0.9, 0.5, 0.2)),
        ("limit", (523.15, 448.15, 398.15)),
        ("fan", (5.0, 2.0, 0.0)),
    ],
)
def test_more_heat_or_less_cooling_never_shortens_a_wait(what, longer):
    waits = [stub_wait(**{what: value}) for value in longer]
    assert (np.diff(waits) > 0).all()


def test_longer_wait_is_never_hotter():
    ends = [
        plan(with_passes(reference(cell=2e-3), 0.0, wait)).passes[1].at_arc_on
        for wait in (10.0, 30.0, 90.0, 300.0)
    ]
    assert (np.diff([t.hottest for t in ends]) < 0).all()
    assert all(t.coldest <= t.mean <= t.hottest for t in ends)


@pytest.mark.parametrize("name", [path.stem for path in CASES])
def test_heat_closes_on_every_shipped_case(name):
    """Ring as shipped; the check joint, which has fine cells, at one angle."""
    options = {"ring": 1} if name == "check-joint" else {}
    history = shipped(name, **options)
    assert history.complete
    assert abs(history.ledger.closure) < 1e-9
    burnt = sum(p.net_energy for p in history.passes)
    assert history.ledger.arc == pytest.approx(burnt, rel=1e-9)
    for p in history.passes:
        if p.wait_is_auto:
            case = read_case(ROOT / "cases" / f"{name}.toml")
            limit = case.limits.interpass_max
            assert p.at_arc_on.hottest <= limit + CLOSE


def test_position_fixed_is_welded_in_two_halves_with_all_its_heat():
    """Half the ring to either side from the bottom; the arc is off while moving."""
    case = read_case(ROOT / "cases" / "steam-drain.toml")
    history = shipped("steam-drain")
    assert case.position == "fixed"
    for p, result in zip(case.passes, history.passes, strict=True):
        assert len(p.segments) == 2
        pauses = sum(s.pause for s in p.segments)
        assert result.arc_off - result.arc_on == pytest.approx(
            p.arc_time * sum(abs(s.end_angle - s.start_angle) for s in p.segments)
            / (2 * np.pi) + pauses
        )  # fmt: skip


def test_energies_of_a_pass_by_hand():
    """80 A, 11 V, 75 %: U I / v, k U I / v with k 0.6, and net power x time."""
    case = read_case(ROOT / "cases" / "sampling-stub.toml")
    result, p = shipped("sampling-stub").passes[0], case.passes[0]
    assert result.arc_energy == pytest.approx(p.current * p.voltage / p.travel)
    assert result.heat_input == pytest.approx(0.6 * result.arc_energy)
    net = p.efficiency * p.current * p.voltage * p.arc_time
    assert result.net_energy == pytest.approx(net)
    checked = shipped("check-joint", ring=1).passes[0]
    assert checked.arc_energy is None
    assert checked.heat_input is None
    assert checked.net_energy == pytest.approx(54e3)


def test_expected_reading_is_below_the_hottest_point():
    for p in shipped("sampling-stub").passes[1:]:
        assert p.at_arc_on.coldest < p.at_arc_on.hottest
        assert p.expect_reading > 293.15
        assert p.expect_reading < p.at_arc_on.hottest


def test_hand_check_by_hand():
    """One lump: mass of the rings and the fillet, heat from the enthalpy curves."""
    case, lumped = reference(), reference_run().lumped
    pi = np.pi
    pipe = pi * (16.7e-3**2 - 12.32e-3**2) * 90.9e-3
    fitting = pi * (22.64e-3**2 - 16.95e-3**2) * 12.5e-3
    fitting += pi * (22.64e-3**2 - 13.35e-3**2) * 27.5e-3
    fillet = 2 * pi * (16.7e-3 + 5e-3 / 3) * 12.5e-6
    stainless, steel = case.pipe.material, case.fitting.material
    mass = stainless.density * (pipe + fillet) + steel.density * fitting
    assert lumped.mass == pytest.approx(mass, rel=1e-9)
    heat = sum(
        v * float(enthalpy_at(m, LIMIT) - enthalpy_at(m, 293.15))
        for v, m in ((pipe + fillet, stainless), (fitting, steel))
    )
    assert lumped.heat_capacity == pytest.approx(heat / (LIMIT - 293.15), rel=1e-9)
    assert_allclose(lumped.rise_per_pass, [54e3 / lumped.heat_capacity] * 3)


def test_cooling_goes_over_into_the_hand_check():
    """Long after, the whole piece cools at the lump's rate: within 15 %.

    Films fall with temperature and the piece is not even, so no closer.
    """
    case = one_pass(reference(cell=2e-3))
    history = plan(replace(case, model=replace(case.model, end_after=900.0)))
    late = history.time > 700.0
    above = np.log(history.mean[late] - 293.15)
    rate = -np.polyfit(history.time[late], above, 1)[0]
    assert 1 / rate == pytest.approx(history.lumped.time_constant, rel=0.15)


def test_history_is_whole():
    """One row of everything per recorded moment, and the progress in order."""
    said = []
    case = automatic(reference(ring=12, cell=2e-3))
    history = plan(case, lambda share, text: said.append((share, text)))
    n = history.time.size
    assert history.ring.shape == (n, 12)
    assert_allclose(history.hottest, history.ring.max(axis=1))
    for series in (history.hottest, history.coldest, history.mean):
        assert series.shape == (n,)
    assert all(trace.temperature.shape == (n,) for trace in history.traces)
    assert (np.diff(history.time) > 0).all()
    assert history.model == "ring"
    assert said == [(0.0, "pass 1"), (0.5, "pass 2")]
    assert history.time[-1] == pytest.approx(history.passes[-1].arc_off + 300.0)


def test_probe_errors_are_errors():
    """The yardstick itself: a run of another power is far off by it."""
    wrong = plan(with_passes(reference(cell=2e-3), 0.0, 90.0, 120.0, net_power=950.0))
    assert probe_errors(wrong).max() > 15.0


def judged_by_reading(from_toe, **limits):
    """The shipped stub, coarse, its limit said of the reading at a place."""
    case = read_case(ROOT / "cases" / "sampling-stub.toml")
    options = replace(case.model, ring=12, cell=2e-3, end_after=300.0)
    limits = replace(case.limits, applies_to="reading", **limits)
    measure = replace(case.measure, from_toe=from_toe)
    return replace(case, model=options, limits=limits, measure=measure)


def test_limit_of_the_reading_is_met_at_the_marked_place():
    """The wait ends when the place reads the limit; the metal is hotter then."""
    case = judged_by_reading(5e-3)
    for done in plan(case).passes[1:]:
        assert done.expect_reading == pytest.approx(LIMIT, abs=CLOSE)
        assert done.at_arc_on.hottest > LIMIT + 1.0
        assert done.judged(case.limits) == done.expect_reading


def test_limit_of_the_reading_gives_a_shorter_wait():
    case = judged_by_reading(5e-3)
    metal = replace(case, limits=replace(case.limits, applies_to="hottest metal"))
    assert plan(case).passes[1].wait < plan(metal).passes[1].wait - 1.0


def test_a_reading_that_still_rises_does_not_end_the_wait():
    """Far off, the place is below the limit all the time while the heat is on its way."""
    case = judged_by_reading(25e-3, interpass_max=LIMIT + 100)
    history = plan(case)
    done = history.passes[1]
    reading = history.traces[-1].temperature
    peak = reading[history.time <= done.arc_on + 1e-9].max()
    assert peak <= LIMIT + 100
    assert done.expect_reading == pytest.approx(peak, abs=2.0)  # one step past the peak
    assert done.wait > 5.0


@pytest.mark.parametrize(
    ("from_toe", "limit", "close"), [(5e-3, LIMIT, 3.0), (25e-3, LIMIT + 100, 15.0)]
)
def test_the_stand_in_judges_by_the_same_reading(from_toe, limit, close):
    """Of the best estimate it finds the wait of the full run; a flat peak less sharply."""
    case = judged_by_reading(from_toe, interpass_max=limit)
    history = plan(case)
    quick = stand_in.prepare(case, history)
    found = stand_in.plan_waits(quick, quick.case)
    waits = [p.wait for p in history.passes]
    assert found == pytest.approx(waits, abs=close)


@pytest.mark.parametrize("name", ["sampling-stub", "steam-drain", "check-joint"])
def test_the_stand_in_reads_every_place_whatever_the_end_gap(shipped, name):
    """Another gap is another grid: cells of the best estimate's would be other places.

    Weights of cells reproduce what is linear, so also the place itself.
    """
    case = shipped(name)
    case = replace(case, measure=Measure("fitting", 25e-3))
    quick = stand_in.prepare(case, plan(case))
    places = [(p.r, p.z) for p in (*case.probes, *case.limits.watch)]
    mark = places_of.measuring_place(case)
    for gap in np.arange(0.0, 3.3e-3, 0.4e-3):
        model, probes = stand_in.drawn_for(quick, replace(quick.case, end_gap=gap))
        stage = model.stages[-1]
        i, j = probes.cell[-1, :, 0], probes.cell[-1, :, 2]
        found = [(probes.weight[-1] * at[i, j]).sum() for at in (stage.r, stage.z)]
        assert found == pytest.approx([mark.r, mark.z], abs=1e-9)
        assert len(probes.cell) == len(places) + 1
