"""The command ``fit``: what it prints, writes and returns."""

import json
import tomllib

import pytest
from interpass.pictures.fit import fit_figure
from interpass.pictures.style import picture
from interpass.readings.file import parse_readings
from interpass.readings.fit import fit
from interpass.readings.flags import ReadingCheck
from interpass.report import block as block_report
from interpass.report import fit as fit_report
from interpass.results import fit as fit_data
from interpass.text.kinds import SI, US
from terminal import ROOT, STUB, changed, no_constant

READINGS = ROOT / "cases" / "sampling-stub-readings.csv"
FAST = ("--axisymmetric", "--samples", "16")
WRONG = "pass,seconds,temp_degC\n1,40,795\n"  # degF under degC


@pytest.fixture(scope="module")
def fitted(stub):
    """The stub fitted to the readings shipped and to one in the wrong unit."""
    case, history = stub
    text = READINGS.read_text(encoding="utf-8") + "1,30,840,\n"
    found = fit(case, parse_readings(text, 2), history=history, samples=16)
    return case, history, found


def test_text_says_everything_in_both_units(fitted):
    case, _, found = fitted
    for units in (SI, US):
        text = fit_report.text(case, found, units)
        assert max(map(len, text.splitlines())) <= 80
        for part in ("Readings", "Numbers of the joint", "What the readings cannot tell",
                     "Waits", "For the case file", "efficiency = {"):  # fmt: skip
            assert part in text
        assert "4 readings, 3 of them used" in text
        assert "FLAG line 6 is left out: looks like degF taken for degC." in text
        told = "is hotter than this joint can be by the model: wait until it reads"
        assert told in " ".join(text.split())
    assert "in/min" in text
    assert "795 " in text  # 424 degC


def test_first_screen_leads_with_the_new_wait(fitted):
    case, _, found = fitted
    for units in (SI, US):
        text = fit_report.first_screen(case, found, units, width=60)
        assert max(map(len, text.splitlines())) <= 60
        assert "safe wait" in text
        assert "FLAG line 6 is left out" in text
        assert "Numbers of the joint" not in text
        words = " ".join(text.rpartition("Verdict: ")[2].split())
        assert words.startswith("wait ")
        assert "before pass 2 (planned " in words
    nothing = type(found)(**(vars(found) | {"numbers": ()}))
    assert block_report.block(nothing) == ""
    assert block_report.NOTHING_LEARNT in " ".join(fit_report.text(case, nothing).split())


def test_readings_past_the_second_pass_ask_for_the_log(fitted):
    case, _, found = fitted
    asks = "give its log with --log"
    assert asks not in fit_report.text(case, found)
    late = tuple(
        ReadingCheck(
            **(vars(one) | {"reading": type(one.reading)(2, 40.0, 600.0, 600.0)})
        )
        for one in found.readings
    )
    moved = type(found)(**(vars(found) | {"readings": late}))
    assert asks in fit_report.text(case, moved)
    assert asks not in fit_report.text(case, moved, used_log=True)


def test_json_is_json(fitted):
    case, _, found = fitted
    entries = json.loads(fit_data.json_text(case, found), parse_constant=no_constant)
    assert entries["readings_used"] == 3
    assert not entries["go_ahead"]
    assert [one["is_flagged"] for one in entries["readings"]] == [False] * 3 + [True]
    first = entries["numbers"][0]
    assert (first["key"], first["unit"]) == ("arc.efficiency", "1")
    assert first["before"]["best"] == 0.75
    travel = next(n for n in entries["numbers"] if n["key"] == "pass.1.travel")
    assert (travel["unit"], travel["before"]["best"]) == ("mm/min", 60.0)
    (wait,) = entries["waits_after"]
    assert wait["low_s"] < wait["best_s"] < wait["high_s"]


def test_figure_is_the_same_again(fitted):
    case, history, found = fitted
    readings = tuple((one.reading, one.is_flagged) for one in found.readings)
    runs = ((history, found.before), (found.history, found.after))
    first, second = (
        picture(fit_figure(case, *runs, readings, US), "svg") for _ in range(2)
    )
    assert first == second
    for words in (b"before the readings", b"after the readings", b"crayon", b"left out"):
        assert words in first


def test_block_goes_into_a_case_file(run, tmp_path):
    """The lines it writes are TOML, and a case with them plans the waits told."""
    block = tmp_path / "block.toml"
    status, out, err = run("fit", STUB, READINGS, *FAST, "--json", "--block", block)
    assert status == 0
    assert f"Wrote {block}" in err
    told = json.loads(out)
    text = block.read_text(encoding="utf-8")
    assert text.strip().endswith(told["block"].strip())
    tables = tomllib.loads(text)
    assert tables["arc"]["efficiency"]["best"] == pytest.approx(
        told["numbers"][0]["after"]["best"], abs=1e-3
    )
    lines = {line.split(" = ")[0]: line for line in text.splitlines() if " = " in line}
    path = changed(
        tmp_path,
        ("efficiency = 0.75", lines["efficiency"]),
        ('voltage = "11 V"', lines["voltage"]),
        ("emissivity = 0.4", lines["emissivity"]),
    )
    learnt = {
        one["key"].rpartition(".")[2] for one in told["numbers"] if one["learnt"] > 0.1
    }
    assert set(lines) == learnt - {"travel", "air", "end_gap"}
    assert "clearance_factor" not in lines  # nothing was learnt of it
    _, out, _ = run("plan", path, "--axisymmetric", "--quick", "--json")
    wait = json.loads(out)["passes"][1]["wait_s"]
    # The travel fitted to that one pass is left out: 0.7 % of its heat.
    assert wait == pytest.approx(told["waits_after"][0]["best_s"], abs=6.0)


def test_readings_none_of_which_can_be_used(run, tmp_path):
    path = tmp_path / "wrong.csv"
    path.write_text(WRONG, encoding="utf-8")
    status, out, _ = run("fit", STUB, path, *FAST)
    assert status == 5
    assert "none of them used: see the flags. Nothing was fitted" in out
    assert "hotter than this joint can be by the model" in " ".join(out.split())
    assert "For the case file" not in out
    path.write_text("pass,seconds,temp_degC\n1,40,60\n", encoding="utf-8")
    assert run("fit", STUB, path, *FAST)[0] == 3  # too cold: nothing learnt, no stop


def test_mistakes_are_told_by_line(run, tmp_path):
    path = tmp_path / "bad.csv"
    path.write_text("pass,seconds,temp\n1,40,195\n7,40,195 degC\n", encoding="utf-8")
    status, out, err = run("fit", STUB, path, *FAST)
    assert (status, out) == (3, "")
    assert f"{path}:2: temperature: '195' is a bare number" in err
    assert f"{path}:3: pass 7, but the case has 2 passes" in err


def test_with_the_log_of_the_joint(run, tmp_path):
    path = tmp_path / "clock.csv"
    path.write_text("pass,time,temp_degC\n1,14:04:20,414\n", encoding="utf-8")
    log = ROOT / "cases" / "sampling-stub-log.csv"
    status, out, _ = run("fit", STUB, path, "--log", log, *FAST)
    assert status == 5  # one angle: the wait that was kept is too short
    assert "Verdict: NOT MET. interpass maximum, pass 2" in " ".join(out.split())
    _, out, _ = run("fit", STUB, path, "--log", log, *FAST, "--json")
    told = json.loads(out)
    assert told["readings"][0]["since_arc_off_s"] == 45.0
    assert "pass.1.travel" not in {n["key"] for n in told["numbers"]}


@pytest.mark.parametrize("options", [("--figure", "a.pdf"), ("--ring", "24")])
def test_wrong_options(run, options):
    assert run("fit", STUB, READINGS, "--axisymmetric", *options)[0] == 2
