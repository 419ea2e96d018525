"""Rules after a heat run: dwell, bore, and when the joint is cool enough."""

from dataclasses import replace
from math import inf

import numpy as np
import pytest
from interpass.case_file.read import parse_case
from interpass.heat.waits import plan
from interpass.joint.case import Examination
from interpass.physics.metals import material
from interpass.rules import judge as rules
from interpass.rules.of_run import Run, carbon, cooled_to, dwell, touches
from interpass.rules.quantities import OF_RUNS
from interpass.rules.sets import shipped_sets
from rule_cases import BASE, ZERO, only


def test_run_adds_its_own_verdicts(small_ring):
    case, history = small_ring
    before, found = rules.checks(case), rules.checks(case, history)
    names = {check.rule for check in found}
    assert "interpass maximum, pass 2" in names
    assert "time in the range where carbides form" in names
    assert "cool enough for handling" in names
    assert not {check.rule for check in before} & (names - {c.rule for c in before})
    assert "temperature before pass 1" not in names  # the run has the coldest point


def test_dwell_is_far_from_sensitising_with_little_carbon(small_ring):
    """0.03 % C has hours, 0.08 % half a minute: order of magnitude, from memory."""
    case, history = small_ring
    rule = "time in the range where carbides form"
    low = only(case, rule, history=history)[0]
    assert (low.verdict, low.required) == ("pass", 5 * 3600)
    assert "order of magnitude" in low.source
    assert low.standing == "from memory"
    pipe = replace(case.pipe, material=material("316"))
    high = only(replace(case, pipe=pipe), rule, history=history)[0]
    assert (high.required, high.verdict) == (30.0, "note")
    assert high.value == low.value > 60


def test_dwell_is_the_longest_of_estimate_and_grid(small_ring):
    run = Run(*small_ring)
    by_distance = np.array(
        [[t for _, t in near.dwell] for near in run.near if near.dwell]
    )
    by_grid = sum(near.dwell_of_hottest for near in run.near)
    assert dwell(run) == pytest.approx(max(by_grid, by_distance.sum(axis=0).max()))


@pytest.mark.parametrize("name", ["321", "347", "carbon steel", "2205"])
def test_no_dwell_rule_for_stabilised_or_other_metals(small_ring, name):
    case, _ = small_ring
    metal = material(name)
    other = replace(
        case,
        pipe=replace(case.pipe, material=metal),
        fitting=replace(case.fitting, material=metal),
    )
    assert carbon(other) is None
    found = rules.checks(other, plan(other))
    assert not [c for c in found if "carbides" in c.rule]


def test_averaged_run_has_no_place_to_look_at_closely(stub):
    found = rules.checks(*stub)
    assert not [c for c in found if c.rule.startswith("bore") or "carbides" in c.rule]


def test_bore_wants_purge_gas(small_ring):
    case, history = small_ring
    rule = "bore without purge gas"
    assert not [c for c in rules.checks(case, history) if c.rule.startswith(rule)]
    still = replace(case, surroundings=replace(case.surroundings, bore="still air"))
    found = only(still, rule, history=history)
    assert [c.verdict for c in found] == ["note", "note"]
    assert found[0].value == pytest.approx(Run(case, history).near[0].peak_at_bore)


def cooling(history, T, *, step=1.0):
    """The history with its end replaced by a straight cooling of 1 K/s, from T [K]."""
    off = history.passes[-1].arc_off
    time = np.arange(0.0, 200.0, step)
    return replace(history, time=off + time, hottest=T - time)


def test_time_until_the_joint_may_be_touched(stub):
    """65 degC for a touch and 51 for a minute: ISO 13732-1, from memory."""
    case, history = stub
    assert [row.temperature - ZERO for row in touches()] == pytest.approx([65, 51])
    fast = cooling(history, 400.0, step=7.0)
    found = cooled_to(Run(case, fast), 65 + ZERO)
    assert found.is_followed
    assert found.time == pytest.approx(400.0 - 65 - ZERO)
    assert only(case, "cool enough for a touch", history=fast)[0].value == (
        "1 min 2 s after the last arc off"
    )
    assert cooled_to(Run(case, cooling(history, 300.0)), 65 + ZERO).time == 0.0


def test_what_is_examined_has_its_own_temperature(stub):
    case, history = stub
    dye = (Examination("dye penetrant", 52 + ZERO),)
    asked = replace(case, limits=replace(case.limits, examine=dye))
    check = only(asked, "cool enough for dye", history=cooling(history, 400.0))[0]
    assert (check.required, check.kind) == (pytest.approx(325.15), "temperature")
    assert check.value.startswith("1 min 15 s after")
    assert (check.verdict, check.source) == ("note", "given in the case")


def test_later_than_the_run_is_an_estimate_and_says_so(stub):
    case, history = stub
    found = cooled_to(Run(case, history), 51 + ZERO)
    assert not found.is_followed
    assert found.time > history.time[-1] - history.passes[-1].arc_off
    check = only(case, "cool enough for handling", history=history)[0]
    assert check.value.startswith("about ")
    assert "estimate" in check.advice
    warm = replace(case, surroundings=replace(case.surroundings, air=60 + ZERO))
    assert cooled_to(Run(warm, history), 51 + ZERO).time == inf
    assert "never" in only(warm, "cool enough for handling", history=history)[0].value


def test_estimate_beyond_the_run_is_not_early(shipped):
    """Against the same run followed to the end: right, or up to a quarter late."""
    for name in ("sampling-stub", "check-joint"):
        case = shipped(name)
        long = replace(case, model=replace(case.model, end_after=5400.0))
        short, whole = (Run(c, plan(c)) for c in (case, long))
        for celsius in (65, 51):
            guess, true = (cooled_to(run, celsius + ZERO) for run in (short, whole))
            assert (guess.is_followed, true.is_followed) == (False, True)
            assert 0.99 < guess.time / true.time < 1.25


def test_run_that_broke_off_promises_nothing(stub):
    case, history = stub
    broken = replace(history, complete=False, stopped_because="stopped")
    assert cooled_to(Run(case, broken), 330.0) is None
    found = rules.checks(case, broken)
    assert not [c for c in found if c.rule.startswith("cool enough")]


def test_rules_of_a_run_are_left_out_before_it():
    assert not {c.rule for c in rules.checks(parse_case(BASE))} & {
        rule.name for s in shipped_sets() for rule in s.rules if rule.names & OF_RUNS
    }
