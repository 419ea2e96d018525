"""What would help: every claim against a plan of the changed case file, and the bench."""

import json
import re
from copy import deepcopy
from dataclasses import replace
from functools import cache
from itertools import permutations
from random import Random
from types import SimpleNamespace

import pytest
from interpass.case_file.change import with_value
from interpass.case_file.read import case_from_table
from interpass.doubt.bands import Band, PassBand
from interpass.heat.waits import plan
from interpass.remedies.bench import MOST, fewest, find_bench, go_round
from interpass.remedies.ideas import Idea, ideas
from interpass.remedies.trials import find_helps
from interpass.report.remedies import bench_blocks, helps_blocks, helps_rows
from interpass.results.plan import helps_data
from interpass.text.layout import lines_of
from interpass.text.toml import case_table
from joints import ROOT

WAITING = [
    "duplex-instrument",
    "mixed-drain",
    "sampling-stub",
    "steam-drain",
    "us-manifold",
]
ONE_OF = (("travel", "turn", "arc_time"), ("wire", "deposit"))
SMALL = {
    "pipe": {
        "size": "NPS 3/4",
        "schedule": "80S",
        "material": "316L",
        "length": "120 mm",
    },
    "fitting": {"kind": "coupling"},
    "joint": {"leg": "4.5 mm", "filler": "ER316L"},
    "arc": {"voltage": "11 V", "current": "80 A", "travel": "70 mm/min"},
    "pass": [{}, {}, {}],
    "limits": {"interpass_max": "175 degC"},
    "model": {"ring": 1},
}


def small(**changes):
    """A small joint of three passes; ``arc__current="70 A"`` changes a key."""
    table = SMALL
    for key, value in changes.items():
        table = with_value(table, key.replace("__", "."), value)
    return case_from_table(table)


@cache
def tables(name):
    """Table of a shipped case, axisymmetric; its case, plan and helps."""
    table = case_table((ROOT / "cases" / f"{name}.toml").read_text(encoding="utf-8"))
    table.setdefault("model", {})["ring"] = 1
    case = case_from_table(table)
    history = plan(case)
    return table, case, history, find_helps(case, history)


def helps_of(case):
    return find_helps(case, plan(case))


def written(table, help_):
    """The case table with the lines of a change written into it."""
    new = deepcopy(table)
    if any(change.table == "pass" for change in help_.changes):
        new["pass"] = []
    for change in help_.changes:
        values = "\n".join(f"{key} = {text}" for key, text in change.values)
        keys = case_table(values) if values else {}
        if change.table == "pass":
            one = deepcopy(table["pass"][change.like - 1])
            for group in ONE_OF:
                if set(group) & set(keys):
                    one = {key: value for key, value in one.items() if key not in group}
            new["pass"].append(one | keys)
        else:
            new.setdefault(change.table, {}).update(keys)
    return new


def text_of(helps):
    """Report of what would help, as a terminal shows it."""
    blocks = [*helps_blocks(helps), *(bench_blocks(helps.bench) if helps.bench else ())]
    return "\n".join(lines_of(blocks))


def why(helps, words):
    """Why a change is not offered."""
    found = [one.why for one in helps.not_offered if words in one.title]
    assert len(found) == 1, helps.not_offered
    return found[0]


def kinds(helps):
    return {one.kind for one in helps.tried}


@pytest.mark.parametrize("name", WAITING)
def test_changes_written_into_the_case_give_what_was_claimed(name):
    table, _, history, helps = tables(name)
    assert helps.tried
    for one in helps.tried:
        run = plan(case_from_table(written(table, one)))
        assert run.complete
        assert run.passes[-1].arc_off == pytest.approx(one.total_after, abs=0.01), one
        assert [p.wait for p in run.passes] == pytest.approx(one.waits, abs=0.01)
        assert one.total_before == history.passes[-1].arc_off


@pytest.mark.parametrize("name", WAITING)
def test_best_are_three_of_three_kinds_quickest_first(name):
    helps = tables(name)[3]
    places = [(one.needs_procedure, one.total_after) for one in helps.best]
    assert 1 <= len(places) <= 3
    assert places == sorted(places)
    assert max(total for _, total in places) < 0.98 * helps.total
    assert len({one.kind for one in helps.best}) == len(helps.best)
    assert not set(helps.no_gain) & set(helps.best)


def test_what_only_the_procedure_can_allow_is_never_first():
    """A colder arc may be quickest; the welder may not decide it."""
    helps = tables("sampling-stub")[3]
    assert min(helps.best, key=lambda one: one.total_after).kind == "colder"
    assert helps.best[-1].kind == "colder"
    assert "only if the procedure allows it: " in " ".join(text_of(helps).split())
    row = next(row for row in helps_data(helps)["tried"] if row["kind"] == "colder")
    assert row["only_if_procedure_allows"]


def test_pipe_that_is_turned_is_not_held_to_the_speed_of_a_hand():
    """160 mm/min is beyond a hand that goes round; a positioner turns that."""
    fast = {"arc__travel": "140 mm/min", "arc__current": "80 A"}
    turned = helps_of(small(**fast))
    assert not [no for no in turned.not_offered if "hand" in no.why]
    by_hand = helps_of(small(**fast, arc__position="fixed"))
    assert any("by hand" in no.why for no in by_hand.not_offered)


def test_waits_are_told_as_safe_as_the_plan_s():
    """Twice the typical wait is safe here: every wait told is twice as long."""
    _, case, history, plain = tables("sampling-stub")
    wait = history.passes[1].wait
    row = PassBand(2, Band(wait, wait, wait), 2 * wait, *(Band(1.0, 1.0, 1.0),) * 2)
    bands = SimpleNamespace(passes=(row,))
    helps = find_helps(case, history, bands=bands)
    assert helps.safety == pytest.approx(2.0)
    assert helps.told_total == pytest.approx(helps.total + wait)
    for one, other in zip(helps.tried, plain.tried, strict=True):
        assert one.waits == other.waits
        assert helps.told_waits(one)[1] == pytest.approx(2 * one.waits[1])
        assert helps.told_after(one) == pytest.approx(one.total_after + sum(one.waits))
    assert helps.safe_bench.alone.idle > helps.bench.alone.idle
    assert "safe waits" in " ".join(text_of(helps).split())


@pytest.mark.parametrize("steel", ["carbon steel", "P11"])
def test_steel_that_hardens_is_offered_no_forced_cooling(steel):
    helps = helps_of(small(pipe__material=steel, joint__filler="ER70S-6"))
    assert not kinds(helps) & {"fan", "chill", "held"}
    for way in ("fan", "block", "chuck"):
        assert "hardens" in why(helps, way)


def test_stainless_in_a_steel_fitting_is_offered_no_fan_either():
    helps = tables("mixed-drain")[3]
    assert "carbon steel hardens" in why(helps, "fan")
    assert "carbon steel hardens" in why(helps, "block")


def test_stainless_is_offered_both():
    assert {"fan", "chill"} <= kinds(helps_of(small()))


def test_change_that_breaks_the_leg_rule_is_not_offered():
    leg = 4.5**2 / 2 / 3 * 1.001
    helps = helps_of(small(arc__deposit=f"{leg:.3f} mm^2"))
    assert "left out" not in kinds(helps)
    assert "fillet leg built by the deposit" in why(helps, "left out")
    assert "fewer" in kinds(helps)  # all the metal, in two passes


def test_leg_with_metal_to_spare_may_lose_a_pass():
    helps = helps_of(small(arc__deposit="6 mm^2"))
    assert "left out" in kinds(helps)


def test_bigger_beads_stay_within_the_heat_input_of_the_case():
    case = small(limits__arc_energy_max="1.0 kJ/mm")
    assert "arc energy maximum" in why(helps_of(case), "bigger beads")
    assert "fewer" in kinds(helps_of(small()))


def test_colder_arc_stays_within_the_heat_input_of_the_case():
    helps = helps_of(small(limits__arc_energy_min="0.58 kJ/mm"))
    assert "arc energy minimum" in why(helps, "20 % less current")
    assert "10 % less current" in next(
        one.title for one in helps.tried if one.kind == "colder"
    )


def test_current_stays_within_the_tungsten():
    """The tables hold 1.6 mm from 50 A on; a fifth less than 60 A would be 48 A."""
    helps = helps_of(small(arc__tungsten="1.6 mm", arc__current="60 A"))
    colder = next(one for one in helps.tried if one.kind == "colder")
    assert [p.current for p in colder.case.passes] == [50.0] * 3


def test_net_power_has_no_current_to_change():
    case = small()
    passes = tuple(
        replace(p, current=float("nan"), voltage=float("nan")) for p in case.passes
    )
    assert "net power" in why(helps_of(replace(case, passes=passes)), "less current")


def test_two_passes_are_the_fewest():
    assert "stop and start" in why(tables("sampling-stub")[3], "one pass only")


def test_watch_point_that_holds_must_go_on_holding():
    """Bigger beads make the seat hotter than it gets now."""
    seat = {"name": "seat", "at": {"from_face": "30 mm", "on": "bore"}, "max": "900 degC"}
    case = small(limits__watch=[seat])
    history = plan(case)
    peak = max(t.temperature.max() for t in history.traces if t.name == "seat")
    watch = replace(case.limits.watch[0], temperature_max=peak + 0.05)
    tight = replace(case, limits=replace(case.limits, watch=(watch,)))
    assert "fewer" in kinds(find_helps(case, history))
    assert "watch point 'seat'" in why(find_helps(tight, history), "bigger beads")


def test_limit_out_of_reach_is_brought_within_reach():
    table = deepcopy(tables("sampling-stub")[0])
    table["limits"]["wait_max"] = "300 s"  # 397 s are needed
    case = case_from_table(table)
    helps = helps_of(case)
    assert helps.bench is None
    assert helps.best
    assert all(max(one.waits) <= 300.0 for one in helps.tried)
    assert why(helps, "more pipe") == "the limit stays out of reach"
    assert helps_data(helps)["total_s"] is None
    assert "no end" in text_of(helps)


@pytest.mark.parametrize(
    ("passes", "words"),
    [([{}, {"wait": "90 s"}, {"wait": "200 s"}], "every wait is given in the case"),
     ([{}], "one pass"), ([{}, {}], "no pass has to wait")],
)  # fmt: skip
def test_nothing_is_tried_where_nothing_can_be_gained(passes, words):
    high = "900 degC" if passes == [{}, {}] else "175 degC"
    table = {**SMALL, "pass": passes}
    helps = helps_of(case_from_table(with_value(table, "limits.interpass_max", high)))
    assert helps.remark == words
    assert not helps.tried
    assert not helps.not_offered
    assert words in text_of(helps)


def test_waits_of_a_travelling_arc_are_scaled():
    """A plan with waits 0.9 of the averaged arc's gets 0.9 of every wait."""
    _, case, history, plain = tables("sampling-stub")
    shorter = [replace(p, wait=0.9 * p.wait) for p in history.passes]
    ring = replace(history, model="ring", passes=tuple(shorter))
    helps = find_helps(case, ring)
    assert helps.ratio == pytest.approx(0.9)
    scaled = {one.kind: one.waits[1] for one in helps.tried}
    for one in plain.tried:
        assert scaled[one.kind] == pytest.approx(0.9 * one.waits[1])


def test_finer_cells_are_not_run_again():
    table = deepcopy(tables("sampling-stub")[0])
    table["model"]["cell"] = "0.8 mm"
    case = case_from_table(table)
    helps = helps_of(case)
    assert all(one.case.model.cell == case.model.cell for one in helps.tried)
    assert 0.97 < helps.ratio < 1.05
    assert helps.ratio != 1.0


def test_report_and_json_say_the_same():
    helps = tables("sampling-stub")[3]
    text, data = text_of(helps), helps_data(helps)
    json.dumps(data, allow_nan=False)
    assert max(map(len, text.splitlines())) <= 80
    words = " ".join(text.split())
    for one in helps.best:
        assert set(one.title.split()) <= set(words.split())
        assert one.caution.split()[0] in text
    assert data["best"] == [one.kind for one in helps.best]
    assert [t["total_after_s"] for t in data["tried"]] == sorted(
        t["total_after_s"] for t in data["tried"]
    )
    assert data["bench"]["joints"] == helps.bench.busy.joints
    assert f"{helps.bench.busy.joints} joints on the bench" in text
    assert helps_rows(helps)[0][0] == helps.best[0].title
    assert helps_rows(helps)[-1][1].startswith("Not offered")
    assert 'fan = "2 m/s", during = "waits"' in text


def test_changes_of_a_us_case_are_in_its_units():
    """Every line reads back to the number that was run, and none is metric."""
    table = deepcopy(SMALL)
    table["pipe"]["length"] = "5 in"
    table["joint"]["leg"] = "3/16 in"
    table["arc"]["travel"] = "2.8 in/min"
    table["limits"]["interpass_max"] = "350 degF"
    case = case_from_table(table)
    assert case.units == "us"
    found = {one.kind: one for one in ideas(case) if isinstance(one, Idea)}
    assert {"fan", "colder", "longer stub", "held", "chill"} <= set(found)
    for one in found.values():
        lines = " ".join(text for c in one.changes for _, text in c.values)
        assert not re.search(r"[0-9] (mm|m/s|mm/min|mm\^2)\b", lines), lines
        again = case_from_table(written(table, one))
        assert again.pipe == one.case.pipe
        assert again.surroundings == one.case.surroundings
        assert [p.travel for p in again.passes] == pytest.approx(
            [p.travel for p in one.case.passes], rel=1e-12
        )
    assert dict(found["fan"].changes[0].values)["fan"] == '"390 ft/min"'  # 2 m/s


# Several joints in turn.


def of_order(order, arcs, waits):
    """Time from first arc on to last arc off when joints are taken in this order."""
    now, done, off = 0.0, {}, {}
    for joint in order:
        number = done.get(joint, 0)
        start = max(now, off[joint] + waits[number]) if number else now
        now = off[joint] = start + arcs[number]
        done[joint] = number + 1
    return now


def quickest(arcs, waits, joints):
    """Shortest time over every order of passes and joints."""
    every = [joint for joint in range(joints) for _ in arcs]
    return min(of_order(order, arcs, waits) for order in set(permutations(every)))


@pytest.mark.parametrize(
    ("arcs", "waits"),
    [((2, 2), (0, 3)), ((2, 3), (0, 4)), ((3, 1), (0, 2)), ((1, 1, 1), (0, 1, 1)),
     ((2, 1, 2), (0, 1, 1))],
)  # fmt: skip
def test_bench_against_every_order(arcs, waits):
    """Where the rule finds no pause, no order is quicker; one joint fewer has pauses."""
    n = fewest(arcs, waits)
    found = go_round(arcs, waits, n)
    assert found.idle == 0.0
    assert found.time == n * sum(arcs) == quickest(arcs, waits, n)
    for less in range(1, n):
        some = go_round(arcs, waits, less)
        assert some.idle > 0.0
        assert some.time >= quickest(arcs, waits, less) > less * sum(arcs)


@pytest.mark.parametrize("seed", range(20))
def test_fewest_is_the_first_bench_without_a_pause(seed):
    draw = Random(seed)
    count = draw.randint(2, 6)
    arcs = [draw.uniform(20, 150) for _ in range(count)]
    waits = [0.0, *(draw.uniform(0, 600) for _ in range(count - 1))]
    n = next(n for n in range(1, 200) if go_round(arcs, waits, n).idle < 1e-9)
    assert fewest(arcs, waits) == n


@pytest.mark.parametrize("joints", [1, 2, 5])
@pytest.mark.parametrize("wait", [0.0, 100.0])
def test_bench_keeps_account_of_its_time(joints, wait):
    found = go_round((60, 80), (0, wait), joints)
    assert found.time == pytest.approx(joints * 140 + found.idle)
    assert found.longest_wait >= wait


def test_bench_too_long_to_be_an_answer():
    found = find_bench((1.0, 1.0), (0.0, MOST + 10.0))
    assert found.busy is None
    assert [one.joints for one in found.between] == [2]


def test_bench_of_a_joint_that_need_not_wait():
    assert find_bench((60.0, 60.0), (0.0, 0.0)).busy.joints == 1
