"""The command ``fit`` with several files: what it prints, writes, refuses and returns."""

import json
import tomllib
from dataclasses import replace

import interpass
import pytest
from interpass.case_file.read import read_case
from interpass.logs.joints import joint_of, joints_of
from interpass.pictures.shop import shop_figure
from interpass.pictures.style import picture
from interpass.readings.file import parse_readings
from interpass.readings.fit import fit
from interpass.readings.shop import fit_joints
from interpass.report import shop as shop_report
from interpass.report.block import block
from interpass.results import fit as fit_data
from interpass.results.shop import json_text
from interpass.text.errors import CaseError
from interpass.text.kinds import SI, US
from terminal import ROOT, STUB, changed, no_constant

LOGS = [ROOT / "cases" / f"sampling-stub-log{n}.csv" for n in ("", "-2", "-3")]
READINGS = ROOT / "cases" / "sampling-stub-readings.csv"
FAST = ("--axisymmetric", "--samples", "16")


@pytest.fixture(scope="module")
def shop(stub):
    """The stub's shop: two logs, and readings of which one is in the wrong unit."""
    case, history = stub
    joints = list(joints_of(case, [*LOGS[1:], READINGS]))
    text = READINGS.read_text(encoding="utf-8") + "1,30,840,\n"
    path = str(READINGS)
    joints[2] = type(joints[2])(path, case, parse_readings(text, 2, path))
    return case, fit_joints(case, joints, history=history, samples=16)


def test_text_says_everything_in_both_units(shop):
    case, found = shop
    for units in (SI, US):
        for width in (60, 80):
            text = shop_report.text(case, found, units, width=width)
            assert max(map(len, text.splitlines())) <= width
        for part in ("Readings of joint 3", "Numbers of the shop", "Thermometers",
                     "Numbers of each joint", "What is common, and who says so",
                     "Numbers of the next joint", "For the case file",
                     "efficiency = {", "common practice"):  # fmt: skip
            assert part in text
        assert "3 joints, 9 readings, 8 of them used" in text
    words = " ".join(text.split())
    assert (
        "sampling-stub-readings.csv: line 6 is left out: looks like degF taken" in words
    )
    assert "Verdict: NO GO-AHEAD. A reading was hotter than this joint can be" in words


def test_first_screen_leads_with_the_next_joint(shop):
    case, found = shop
    cold = type(found.next)(**(vars(found.next) | {"readings": found.next.readings[:-1]}))
    found = type(found)(**(vars(found) | {"next": cold}))
    text = shop_report.first_screen(case, found, SI, width=60)
    assert max(map(len, text.splitlines())) <= 60
    assert "(planned " in text
    assert "Numbers of the shop" not in text
    words = " ".join(text.rpartition("Verdict: ")[2].split())
    assert words.startswith("next joint of this kind: wait ")


def test_json_is_that_of_a_fit_with_the_shop_beside_it(shop):
    case, found = shop
    entries = json.loads(json_text(case, found), parse_constant=no_constant)
    told = entries.pop("shop")
    assert interpass.FittedShop(case, found).to_dict()["shop"] == told
    assert entries == json.loads(fit_data.json_text(case, found.next))
    assert [one["file"] for one in told["joints"]][2] == str(READINGS)
    first = told["numbers"][0]
    assert first["key"] == "arc.efficiency"
    assert 0 < first["learnt"] < 1
    assert first["share_standing"] == "common practice"
    assert len(first["joints"]) == 3
    travel = next(n for n in told["numbers"] if n["key"] == "pass.1.travel")
    assert travel["joints"][:2] == [None, None]  # timed by their logs
    assert told["thermometers"][0]["instrument"] == "contact pyrometer"


def test_a_number_whose_best_estimate_is_zero_is_not_drawn(shop):
    """A gap may be "0 mm at best, 2 mm at most": there is nothing to draw it over."""
    case, found = shop
    gap = next(one for one in found.numbers if one.key == "joint.end_gap")
    zero = replace(gap, before=replace(gap.before, low=0.0, best=0.0))
    rows = tuple(zero if one is gap else one for one in found.numbers)
    drawn, left = (
        shop_figure(case, one) for one in (found, replace(found, numbers=rows))
    )
    ticks = [len(figure.axes[1].get_yticks()) for figure in (drawn, left)]
    assert ticks[1] == ticks[0] - 1


def test_figure_is_the_same_again(shop):
    case, found = shop
    first, second = (picture(shop_figure(case, found, US), "svg") for _ in range(2))
    assert first == second
    for words in (b"joint 3", b"after the readings", b"left out", b"arc efficiency"):
        assert words in first


def test_block_of_a_shop_goes_into_the_case(shop, tmp_path):
    _, found = shop
    lines = [line for line in block(found.next).splitlines() if " = " in line]
    told = tomllib.loads(block(found.next))
    line = next(line for line in lines if line.startswith("efficiency"))
    case = read_case(changed(tmp_path, ("efficiency = 0.75", line)))
    assert case.passes[0].efficiency == told["arc"]["efficiency"]["best"]
    assert [d.key for d in case.doubt] == ["arc.efficiency"]
    words = " ".join(shop_report.text(case, found).split())
    assert "The case gives bands of its own for arc efficiency" in words
    assert "or the joints count twice" in words


def test_one_log_is_the_fit_of_its_joint(stub):
    """The positional log says what the same readings with --log say."""
    case, _ = stub
    joint = joint_of(case, LOGS[2])
    assert joint.is_logged
    assert [r.after_pass for r in joint.readings] == [1, 1, 1]
    alone = fit(joint.case, joint.readings, samples=16)
    asked = interpass.fit(case, LOGS[2], samples=16)
    assert fit_data.json_text(asked.case, asked.fit) == fit_data.json_text(
        joint.case, alone
    )


def test_files_that_cannot_be_joints_are_told_all_at_once(tmp_path):
    case = read_case(STUB)
    bare = tmp_path / "bare.csv"
    bare.write_text("pass,arc_on_s,arc_off_s\n1,0,80\n", encoding="utf-8")
    wrong = tmp_path / "wrong.csv"
    wrong.write_text("pass,seconds,temperature_degC\n3,40,400\n", encoding="utf-8")
    with pytest.raises(CaseError) as caught:
        joints_of(case, [LOGS[0], LOGS[0], bare, wrong])
    told = str(caught.value)
    assert "sampling-stub-log.csv: this file is given twice" in told
    assert "bare.csv: a log without a reading teaches nothing" in told
    assert "wrong.csv:2: pass 3, but the case has 2 passes" in told
    logger = ROOT / "cases" / "sampling-stub-logger.csv"
    with pytest.raises(CaseError, match="this is a logger's file; give it with --logger"):
        joint_of(case, logger)
    with pytest.raises(CaseError, match="61 joints; 60 at most"):
        joints_of(case, [LOGS[0]] * 61)


def test_command_fits_a_shop(run, tmp_path):
    block, figure = tmp_path / "block.toml", tmp_path / "shop.png"
    code, out, err = run(
        "fit", STUB, *LOGS[1:], *FAST, "--block", block, "--figure", figure
    )
    assert (code, err.count("Wrote")) == (0, 2)
    assert "next joint of this kind" in out
    assert "efficiency" in block.read_text(encoding="utf-8")
    assert figure.read_bytes().startswith(b"\x89PNG")


def test_command_refuses_a_log_beside_several_joints(run):
    code, out, err = run("fit", STUB, *LOGS[1:], "--log", LOGS[0])
    assert (code, out) == (2, "")
    assert "of several joints give the logs alone" in " ".join(
        err.replace("│", " ").split()
    )
