"""The command ``check``: what it prints, its data, and how it ends."""

import json
import re

import pytest
from interpass.case_file.read import parse_case, read_case
from interpass.report.check import check_text
from interpass.report.verdicts import check_words, digits_for
from interpass.report.verdicts import joint_verdict_text as verdict_text
from interpass.results.check import check_data, check_entry
from interpass.rules import judge as rules
from interpass.rules.limits import Check
from interpass.rules.sets import shipped_sets
from interpass.text.errors import ExitStatus
from interpass.text.kinds import SI, UNIT_SYSTEMS, US
from rule_cases import BASE, PASS
from terminal import ROOT, STUB

CASES = sorted((ROOT / "cases").glob("*.toml"))
SETS = [one.name for one in shipped_sets()]
NO_UNIT = {"schema", "number", "value", "required"}
ENDS = (
    "_mm",
    "_mm2",
    "_degC",
    "_A",
    "_V",
    "_W",
    "_K",
    "_percent",
    "_mm_per_min",
    "_kJ_per_mm",
)


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_cases_shipped_are_right_joints(run, path):
    """By the default set; the class society wants more than the codes' leg."""
    status, out, err = run("check", path)
    assert (status, err) == (ExitStatus.OK, "")
    assert out.splitlines()[-1].startswith("Verdict: every rule looked at is met.")
    told = "class society would fail throat asked for" in " ".join(out.split())
    assert told is not read_case(path).is_bare


@pytest.mark.parametrize("units", UNIT_SYSTEMS.values(), ids=UNIT_SYSTEMS)
@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_report_fits_the_page(path, units):
    text = check_text(read_case(path), ["all"], units)
    assert max(map(len, text.splitlines())) <= 80
    assert text.isascii()
    assert "nan" not in text


def test_every_verdict_is_told_with_its_rule_and_standing():
    case = read_case(STUB)
    words = " ".join(check_text(case).split())
    for check in rules.checks(case):
        base = check.rule.partition(", pass ")[0]
        assert base in words
        assert f"[{check.standing}]" in words


def test_fails_come_first():
    lines = check_text(parse_case(BASE), ["company practice"]).splitlines()
    marks = [m[1] for line in lines if (m := re.match(r"  (FAIL|NOTE|PASS) ", line))]
    assert marks == sorted(marks, key=["FAIL", "NOTE", "PASS"].index)
    assert marks[0] == "FAIL"


def test_passes_that_agree_share_a_line():
    text = " ".join(check_text(parse_case(BASE + PASS + PASS)).split())
    assert "current for this wall, most, passes 1, 2 and 3: 80 A, at most" in text


def test_text_and_data_agree():
    case = read_case(STUB)
    data, text = check_data(case), check_text(case)
    row = next(line for line in text.splitlines() if line.startswith("asked for"))
    asked = data["fillet"]["asked"]
    wanted = [
        f"{asked[key]:.2f}" for key in ("leg_pipe_mm", "leg_socket_mm", "throat_mm")
    ]
    assert row.split()[2:] == wanted
    first = data["passes"][0]
    assert f"{first['arc_energy_kJ_per_mm']:.3f}" in text
    assert f"{first['heat_input_kJ_per_mm']:.3f}" in text
    assert data["verdict_text"] in " ".join(text.split())
    assert len(data["checks"]) == len(rules.checks(case))


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_json_has_units_and_no_nan(run, path):
    status, out, _ = run("check", path, "--json", "--rules", "all")

    def refuse(word):
        raise AssertionError(word)

    data = json.loads(out, parse_constant=refuse)
    bare = read_case(path).is_bare  # no leg that a class society could ask for
    assert status == (ExitStatus.OK if bare else ExitStatus.LIMIT)
    assert data["schema"] == 1
    assert data["rule_sets"] == SETS
    assert data["verdict"] == ("pass" if bare else "fail")
    pairs = [(k, v) for one in walk(data) for k, v in one.items()]
    for key, value in pairs:
        if isinstance(value, int | float) and not isinstance(value, bool):
            assert key in NO_UNIT or key.endswith(ENDS), key


def walk(data):
    """Every object in a JSON value."""
    if isinstance(data, dict):
        yield data
    for one in data.values() if isinstance(data, dict) else data:
        if isinstance(one, dict | list):
            yield from walk(one)


def test_numbers_of_a_check_are_in_its_unit():
    entry = check_entry(Check("x", "fail", 4.2e-3, 4.26e-3, "s", "length", "at least"))
    assert (entry["value"], entry["required"], entry["unit"]) == (4.2, 4.26, "mm")
    warm = check_entry(Check("x", "pass", 448.15, 450.0, "s", "temperature"))
    assert (warm["value"], warm["unit"]) == (175.0, "degC")


def test_value_just_beside_its_limit_is_told_apart():
    """4.2600 mm is not "4.26 mm, at least 4.26 mm"."""
    close = Check("leg", "fail", 4.2600e-3, 4.2619e-3, "s", "length", "at least")
    assert digits_for(close, SI) == 3
    text = " ".join(w.text for w in check_words([close], SI))
    assert "4.260 mm, at least 4.262 mm" in text
    inch = " ".join(w.text for w in check_words([close], US))
    assert "0.1677 in, at least 0.1678 in" in inch


def test_verdict_says_what_is_not_met():
    short = Check("leg", "fail", 4.0e-3, 4.26e-3, "s", "length", "at least")
    told = Check("tungsten", "note", "1.6 mm", "", "s")
    assert verdict_text([short, told]) == (
        "NOT MET. leg: 4.00 mm, must be at least 4.26 mm."
    )
    assert verdict_text([told]) == "every rule looked at is met. 1 note to read."
    assert verdict_text([]) == "every rule looked at is met."


# how the command ends


def test_status_of_a_rule_not_met(run, tmp_path):
    path = tmp_path / "short.toml"
    path.write_text(BASE + '[joint]\nleg = "4 mm"\n', encoding="utf-8")
    status, out, err = run("check", path)
    assert (status, err) == (ExitStatus.LIMIT, "")
    assert "Verdict: NOT MET. fillet leg asked for: 4.00 mm" in out


def test_status_of_an_unknown_rule_set(run):
    status, out, err = run("check", STUB, "--rules", "proces piping")
    assert (status, out) == (ExitStatus.USAGE, "")
    assert "did you mean 'process piping'?" in err
    assert "Traceback" not in err


def test_status_of_a_bad_case_and_of_bad_rules(run, tmp_path):
    assert run("check", "nowhere.toml")[0] == ExitStatus.CASE
    own = tmp_path / "own.toml"
    own.write_text('[[set]]\nname = "x"\n[[set.rule]]\nname = "y"\n', encoding="utf-8")
    status, out, err = run("check", STUB, "--rules", own)
    assert (status, out) == (ExitStatus.CASE, "")
    assert f"{own}:3: set.1.rule.1.value is missing" in err
    assert f"{own}:3: set.1.rule.1.source is missing" in err


def test_own_rules_and_shipped_ones_together(run, tmp_path):
    own = tmp_path / "own.toml"
    rule = 'name = "y"\nvalue = "passes"\nat_least = "9"\nsource = "us"\n'
    own.write_text(f'[[set]]\nname = "x"\n[[set.rule]]\n{rule}', encoding="utf-8")
    status, out, _ = run("check", STUB, "--rules", own, "--rules", "power piping")
    assert status == ExitStatus.LIMIT
    assert "Judged by: x; power piping (ASME B31.1)" in " ".join(out.split())
    assert "FAIL y: 2, at least 9 (us) [given]" in out


def test_plan_tells_a_wrong_rule_set_before_it_computes(run, tmp_path, monkeypatch):
    """A heat run must not be spent on a case that cannot be judged."""

    def never(*_):
        pytest.fail("the heat run was started")

    monkeypatch.setattr("interpass.heat.waits.plan", never)
    text = (ROOT / "cases" / "sampling-stub.toml").read_text(encoding="utf-8")
    path = tmp_path / "wrong.toml"
    path.write_text(text.replace("[limits]", '[limits]\nrules = "power pipin"'))
    status, out, err = run("plan", path)
    assert (status, out) == (ExitStatus.CASE, "")
    assert "power pipin" in err
