"""A case with the times, amps and volts of a log in it."""

from dataclasses import replace
from math import isfinite, pi
from pathlib import Path

import pytest
from interpass.doubt.priors import priors
from interpass.heat.waits import plan
from interpass.joint import arc
from interpass.joint.case import Doubt
from interpass.logs.as_welded import as_welded
from interpass.logs.log import parse_log

ROOT = Path(__file__).parents[2]


def log_of(history):
    """The log somebody would have written of a run, in seconds."""
    lines = ["pass,arc_on_s,arc_off_s"]
    for p in history.passes:
        lines.append(f"{p.number},{p.arc_on!r},{p.arc_off!r}")
    return parse_log("\n".join(lines), len(history.passes))


def burns(text, passes=3):
    return parse_log(
        "pass,arc_on_s,arc_off_s,start_deg,end_deg,amps,volts\n" + text, passes
    )


def test_a_log_of_the_plan_is_the_plan(stub):
    case, history = stub
    welded = as_welded(case, log_of(history))
    for planned, done in zip(case.passes, welded.passes, strict=True):
        assert done.arc_time == pytest.approx(planned.arc_time)
        assert done.travel == pytest.approx(planned.travel)
        assert done.net_power == pytest.approx(planned.net_power)
    again = plan(welded)
    for a, b in zip(history.passes, again.passes, strict=True):
        assert b.wait == pytest.approx(a.wait)
        assert b.at_arc_on.hottest == pytest.approx(a.at_arc_on.hottest, abs=0.01)


def test_passes_not_welded_stay_as_planned(shipped):
    case = shipped("check-joint")
    welded = as_welded(case, burns("1,0,70,,,,\n"))
    assert welded.passes[1:] == case.passes[1:]
    assert welded.passes[0].arc_time == pytest.approx(70.0)


def test_waits_and_power_are_those_of_the_log(shipped):
    case = shipped("sampling-stub")
    welded = as_welded(case, burns("1,0,80,,,90,12\n2,480,575,,,,\n", 2))
    one, two = welded.passes
    assert (one.current, one.voltage) == (90.0, pytest.approx(12.0))
    assert one.net_power == pytest.approx(case.passes[0].efficiency * 90 * 12)
    assert one.travel == pytest.approx(pi * case.pipe.outside_diameter / 80)
    assert two.wait == pytest.approx(400.0)
    assert two.net_power == pytest.approx(case.passes[1].net_power)


def test_the_bead_keeps_its_size(shipped):
    case = shipped("sampling-stub")
    welded = as_welded(case, burns("1,0,80,,,,\n", 2))
    assert welded.passes[0].deposit == case.passes[0].deposit


@pytest.mark.parametrize("position", ["rotated", "fixed"])
@pytest.mark.parametrize(
    "text",
    [
        "1,0,80,,,80,11\n",
        "1,0,30,,,80,11\n1,50,100,,,90,12\n",
        "1,0,30,,,80,11\n1,50,80,,,,\n1,95,120,,,70,10\n",
        "1,0,50,0,180,,\n1,60,90,0,-180,,\n",
    ],
)
def test_every_burn_keeps_its_time_and_the_pass_its_energy(shipped, position, text):
    """Whatever the path planned: the arc is on when it was on, once round in all."""
    case = shipped("sampling-stub")
    if position == "fixed":
        halves = arc.two_halves(0.0, 20.0)
        first = replace(case.passes[0], segments=halves)
        case = replace(case, passes=(first, *case.passes[1:]))
    log = burns(text, 2)
    p = as_welded(case, log).passes[0]
    lit = joined(arc.stretches(p))
    assert lit == [pytest.approx((b.on, b.off)) for b in log.passes[0].burns]
    turned = sum(abs(s.end_angle - s.start_angle) for s in p.segments)
    assert turned == pytest.approx(2 * pi)
    net = sum(
        (b.off - b.on) * (b.current or 80) * (b.voltage or 11)
        for b in log.passes[0].burns
    )
    assert p.net_power * arc.burning_time(p) == pytest.approx(p.efficiency * net)


def joined(stretches):
    """Burns of a pass; those without a pause between are one."""
    found = []
    for s in stretches:
        if found and s.arc_on - found[-1][1] < 1e-6:
            found[-1] = (found[-1][0], s.arc_off)
        else:
            found.append((s.arc_on, s.arc_off))
    return found


def test_two_halves_keep_their_starts_and_their_ways(shipped):
    case = shipped("sampling-stub")
    first = replace(case.passes[0], segments=arc.two_halves(1.0, 20.0))
    case = replace(case, passes=(first, *case.passes[1:]))
    a, b = as_welded(case, burns("1,0,40,,,,\n1,55,105,,,,\n", 2)).passes[0].segments
    assert (a.start_angle, b.start_angle) == (1.0, 1.0)
    assert a.end_angle > a.start_angle
    assert b.end_angle < b.start_angle
    assert b.pause == pytest.approx(15.0)


def test_a_stop_on_the_way_cuts_the_path_there(shipped):
    case = shipped("sampling-stub")
    first = replace(case.passes[0], start_angle=0.5, direction=-1)
    case = replace(case, passes=(first, *case.passes[1:]))
    a, b = as_welded(case, burns("1,0,20,,,,\n1,30,90,,,,\n", 2)).passes[0].segments
    assert (a.start_angle, a.end_angle) == (0.5, pytest.approx(0.5 - pi / 2))
    assert (b.start_angle, b.end_angle) == (a.end_angle, pytest.approx(0.5 - 2 * pi))


def test_tie_in_is_part_of_the_burn(shipped):
    case = shipped("sampling-stub")
    first = replace(case.passes[0], overlap=pi / 4)
    case = replace(case, passes=(first, *case.passes[1:]))
    p = as_welded(case, burns("1,0,90,,,,\n", 2)).passes[0]
    assert p.arc_time == pytest.approx(80.0)  # 90 s for 1 1/8 turns
    assert arc.pass_duration(p) == pytest.approx(90.0)


def test_a_net_power_stays(shipped):
    case = shipped("check-joint")
    first = replace(
        case.passes[0], current=float("nan"), voltage=float("nan"), net_power=900.0
    )
    case = replace(case, passes=(first, *case.passes[1:]))
    p = as_welded(case, burns("1,0,70,,,95,12\n")).passes[0]
    assert p.net_power == 900.0
    assert not isfinite(p.current)


def test_the_piece_starts_at_what_was_read(shipped):
    case = shipped("sampling-stub")
    text = "pass,arc_on_s,arc_off_s,interpass_degC\n1,0,80,{}\n"
    warm = as_welded(case, parse_log(text.format(45), 2))
    assert warm.surroundings.start == pytest.approx(318.15)
    crayon = as_welded(case, parse_log(text.format("not melted 45"), 2))
    assert crayon.surroundings == case.surroundings


def test_travel_that_was_timed_is_in_doubt_no_more(shipped):
    case = shipped("sampling-stub")
    welded = as_welded(case, burns("1,0,80,,,,\n", 2))
    keys = {p.key for p in priors(welded)}
    assert "pass.1.travel" not in keys
    assert "pass.2.travel" in keys
    banded = replace(case, doubt=(Doubt("arc.travel", 0.9e-3, 1.1e-3),))
    keys = {p.key: p for p in priors(as_welded(banded, burns("1,0,80,,,,\n", 2)))}
    assert "arc.travel" not in keys
    assert "pass.1.travel" not in keys
    assert (keys["pass.2.travel"].low, keys["pass.2.travel"].high) == (0.9e-3, 1.1e-3)
