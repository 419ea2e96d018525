"""The report: what it says, that text and data agree, and that nothing is left out."""

import json
import math
import re
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from interpass.heat.history import Lumped, planned_time, total_time
from interpass.heat.lump import by_hand, model_time_constant
from interpass.heat.waits import plan
from interpass.joint.case import Watch
from interpass.physics.metals import material, material_names
from interpass.report import plan as report
from interpass.report.assumptions import all_assumptions
from interpass.report.cautions import cautions, short_cautions
from interpass.report.heat import energy_table
from interpass.results.plan import json_text, results
from interpass.rules.limits import limits_kept, verdict
from interpass.text.kinds import SI, UNIT_SYSTEMS, US
from interpass.text.layout import WIDTH, columns, paragraph
from interpass.text.times import shop_time
from interpass.trade.practice import limit_rows
from terminal import no_constant


@pytest.mark.parametrize("units", UNIT_SYSTEMS.values(), ids=UNIT_SYSTEMS)
def test_report_of_every_case_fits_the_page(shipped_run, units):
    text = report.text(*shipped_run, units, assumptions=True)
    assert max(map(len, text.splitlines())) <= 80
    assert text.isascii()
    assert "nan" not in text.split()


@pytest.mark.parametrize("width", [60, 70, 80])
def test_nothing_is_wider_than_the_terminal(small_ring, width):
    for units in (SI, US):
        for text in (
            report.text(*small_ring, units, assumptions=True, width=width),
            report.first_screen(*small_ring, units, width=width),
        ):
            assert max(map(len, text.splitlines())) <= width


def test_tables_of_the_ring_fit_the_page(small_ring):
    text = report.text(*small_ring, US)
    assert max(map(len, text.splitlines())) <= 80
    assert "coldest" in text
    assert "Averaged round the ring" not in text


def test_verdict_comes_last(shipped_run):
    last = report.text(*shipped_run).strip().split("\n\n")[-1]
    assert last.startswith("Verdict: ")


def test_table_holds_the_waits_of_the_run(stub):
    case, history = stub
    waits, passes = (
        next(line for line in part.splitlines() if line.startswith(row))
        for part, row in zip(
            report.text(case, history).split("\nPasses\n"),
            ("     2", "   2"),
            strict=True,
        )
    )
    assert f"{history.passes[1].wait:.1f}" in waits
    assert "175" in passes
    assert "at limit" in passes


def test_arc_energy_and_heat_input_by_hand(stub):
    """80 A x 11 V / (60 mm/min) = 0.880 kJ/mm, x 0.6 = 0.528; 22.4 and 13.4 kJ/in."""
    row = energy_table(*stub, SI).rows[0]
    assert row[4:6] == ("0.880", "0.528")
    text = " ".join(report.text(*stub).split())
    assert "ASME IX" in text
    assert "by EN 1011-1 is k U I / v, k = 0.6" in text
    assert energy_table(*stub, US).rows[0][4:6] == ("22.4", "13.4")


def test_us_report_has_no_metric_unit(stub):
    text = report.text(*stub, US)
    assert "347 degF" in text  # 175 degC
    rules = text.split("\nChecks\n")[1].split("\nCautions\n")[0]
    assert "degC" not in text
    for unit in (" mm", "kJ/mm", " kg"):  # but rules are quoted as they are printed
        assert unit not in text.replace(rules, "")


def test_failed_limit_is_told_with_its_excess(given_waits):
    case, history = given_waits
    text = report.text(case, history)
    over = history.passes[1].at_arc_on.hottest - case.limits.interpass_max
    assert f"{over:.0f} OVER" in text
    assert "Verdict: NOT MET." in text
    assert 'wait = "auto"' in text


def test_partial_run_is_reported_as_far_as_it_went(stub):
    case, history = stub
    cut = replace(
        history, passes=history.passes[:1], complete=False, stopped_because="out of gas"
    )
    text = report.text(case, cut)
    assert "NO PLAN. out of gas" in text
    assert verdict(limits_kept(case, cut), cut) == "fail"
    none = replace(cut, passes=())
    assert "none was finished" in report.text(case, none)
    json.loads(json_text(case, none), parse_constant=no_constant)


@given(st.floats(0, 1e5))
def test_shop_wait_is_never_shorter(wait):
    assert wait - 1e-6 <= shop_time(wait) < wait + 5
    assert shop_time(wait) % 5 == 0


def test_total_time_counts_every_wait(stub):
    _, history = stub
    spans = [p.arc_off - p.arc_on + p.wait for p in history.passes]
    assert total_time(history) == pytest.approx(sum(spans))
    assert 0 <= planned_time(history) - total_time(history) < 5


def test_columns_keep_numbers_under_their_heads():
    lines = columns(["a", "\nbb", "\nc"], [["1", "22", "333"]], groups=[("both", 1, 2)])
    assert lines == ["     both", "a  bb    c", "1  22  333"]


@given(st.text(alphabet="ab -", max_size=400))
def test_paragraph_keeps_words_and_width(text):
    lines = paragraph(text, "- ")
    assert all(len(line) <= WIDTH or " " not in line.strip("- ") for line in lines)


# the hand check


def test_lump_follows_the_exponential(stub):
    """100 K above air with tau = 100 s is at 50 K after 100 ln 2 s."""
    case, history = stub
    case = replace(
        case, limits=replace(case.limits, interpass_max=case.surroundings.air + 50)
    )
    history = replace(history, lumped=Lumped(1.0, 500.0, 100.0, (100.0, 100.0)))
    first, second = by_hand(case, history)
    assert math.isnan(first.wait)
    assert second.wait == pytest.approx(100 * math.log(2))
    left = 100 * math.exp(-history.passes[1].wait / 100)
    assert second.at_arc_on - case.surroundings.air == pytest.approx(left)


def test_time_constant_of_an_exponential_is_found(stub):
    case, history = stub
    t = np.linspace(0, 900, 9001)
    off = replace(history.passes[-1], arc_off=300.0)
    decay = case.surroundings.air + 400 * np.exp(-t / 250)
    history = replace(history, time=t, mean=decay, passes=(off,))
    assert model_time_constant(case, history) == pytest.approx(250, rel=1e-4)


def test_hand_check_is_for_the_lesson(shipped_run):
    """It gives no wait where the joint needs minutes; the JSON keeps it."""
    assert "lump" not in report.text(*shipped_run).lower()
    assert results(*shipped_run)["hand_check"]["passes"]


# the checks


def test_given_waits_fail_and_automatic_ones_hold(stub, given_waits):
    assert verdict(limits_kept(*stub), stub[1]) == "pass"
    assert verdict(limits_kept(*given_waits), given_waits[1]) == "fail"
    assert [c.verdict for c in limits_kept(*given_waits)] == ["pass", "fail", "fail"]


def test_cold_joint_fails_its_preheat(stub):
    case, history = stub
    case = replace(case, limits=replace(case.limits, preheat_min=400.0))
    assert limits_kept(case, history)[0].verdict == "fail"


def test_interpass_minimum_looks_at_the_coldest_point(stub):
    case, history = stub
    coldest = history.passes[1].at_arc_on.coldest
    for margin, outcome in ((-1.0, "pass"), (1.0, "fail")):
        limits = replace(case.limits, interpass_min=coldest + margin)
        found = limits_kept(replace(case, limits=limits), history)
        assert [c.verdict for c in found if "minimum, pass 2" in c.rule] == [outcome]


def test_watch_point_is_held_to_its_peak(shipped):
    case = shipped("duplex-instrument")
    history = plan(case)
    peak = float(history.traces[len(case.probes)].temperature.max())
    for margin, outcome in ((1.0, "pass"), (-1.0, "fail")):
        watch = (Watch("seat", 0.01, 0.01, peak + margin),)
        limits = replace(case.limits, watch=watch)
        found = limits_kept(replace(case, limits=limits), history)
        assert [c.verdict for c in found if "seat" in c.rule] == [outcome]


def test_cautions_fit_metal_gas_and_cooling(shipped):
    for name, words, missing in (
        ("sampling-stub", ("hexavalent", "purge"), ("quench",)),
        ("steam-drain", ("quench",), ("hexavalent", "purge")),
        ("mixed-drain", ("hexavalent", "quench", "holding device"), ()),
        ("us-manifold", ("the fan; ask whether you may",), ("quench",)),
    ):
        case = shipped(name)
        said = " ".join(cautions(case, plan(case), SI))
        assert all(word in said for word in words), name
        assert not any(word in said for word in missing), name
        assert "procedure" in said


# Chromium [%]: ASTM A240 (304L, 316L, 321, 347, 2205), B443 (625), A335 (P11), A106; the
# families not shipped by ASTM A240 (S31254, S32750, 410), A268 (446) and A335 (P91); all
# from memory.
CHROMIUM_PERCENT = {
    "304L": 18, "316L": 16, "321": 17, "347": 17, "carbon steel": 0.4,
    "1.25Cr-0.5Mo": 1.25, "2205": 22, "625": 20, "copper": 0,
}  # fmt: skip
OTHER_FAMILIES = {
    "superaustenitic": 20, "super duplex": 25, "martensitic": 12, "ferritic 27Cr": 25,
    "9Cr-1Mo-V": 9, "own": 25,  # not told: as if it were super duplex
}  # fmt: skip


def _fumes(case, history, family):
    metal = replace(case.pipe.material, family=family)
    of_it = replace(
        case,
        pipe=replace(case.pipe, material=metal),
        fitting=replace(case.fitting, material=metal),
        filler=metal,
    )
    return (
        " ".join(cautions(of_it, history, SI)),
        " ".join(short_cautions(of_it, history, SI)),
    )


def test_every_metal_with_chromium_warns_of_its_fume(stub):
    """1 % and more, whatever the metal: every one shipped, every family with a limit."""
    assert set(CHROMIUM_PERCENT) == set(material_names())
    content = {material(n).family: share for n, share in CHROMIUM_PERCENT.items()}
    content |= OTHER_FAMILIES
    assert {row.family for row in limit_rows()} <= set(content)
    for family, share in content.items():
        long, short = _fumes(*stub, family)
        assert ("hexavalent chromium" in long) == (share >= 1), family
        assert ("cause cancer" in short) == (share >= 1), family


def test_steels_that_a_quench_hardens_say_so(stub):
    """Martensite: carbon, Cr-Mo and 12 % chromium steels (common practice, no source)."""
    for family in {row.family for row in limit_rows()}:
        hardens = family in ("carbon steel", "low alloy", "martensitic", "9Cr-1Mo-V")
        for said in _fumes(*stub, family):
            assert ("quench" in said) == hardens, family


# the assumptions


def test_every_assumption_is_printed_with_source_and_standing(shipped_run):
    case, history = shipped_run
    text = " ".join(report.text(case, history, assumptions=True).split())
    for row in all_assumptions(case):
        assert row.source, row.key
        assert row.standing, row.key
        assert f"{row.key} {' '.join(row.value.split())}" in text
        assert f"{' '.join(row.source.split())} [{row.standing}]" in text


def test_assumptions_in_us_units(stub):
    """What has a US unit is in it; words, volts and what is in US already stay."""
    case, _ = stub
    us = {row.key: row.value for row in all_assumptions(case, US)}
    for row in all_assumptions(case):
        assert row.key in us
    assert us["limits.interpass_max"] == "347 degF"  # 175 degC
    assert us["joint.end_gap"] == "0.063 in"  # 1.6 mm
    assert us["pass.1.current"] == "80 A"
    metric = re.compile(r"^-?[0-9.]+ (mm|degC|m/s|l/min|mm/min)$")
    assert not [value for value in us.values() if metric.match(value)]


def test_assumptions_cover_metals_and_model(stub):
    case, _ = stub
    keys = {row.key for row in all_assumptions(case)}
    for metal in (case.pipe.material, case.fitting.material, case.filler):
        for quantity in ("density", "conductivity", "specific_heat", "latent_heat"):
            assert f"{metal.name}.{quantity}" in keys
    assert {"model.zone", "model.arc_spread", "model.cell"} <= keys


def test_numbers_of_the_model_are_told_too(stub):
    """What no case sets is in the list as well, the pool's stirring for one."""
    case, history = stub
    told = report.text(case, history, assumptions=True)
    for key in (
        "pool_stirring",
        "steps_per_spread",
        "ring_tolerance",
        "arc_spread",
        "zone",
    ):
        assert f"model.{key}" in told
