"""The public face: what scripts and notebooks see is what the commands print."""

import json
import re
import subprocess
import sys
import tomllib
import xml.etree.ElementTree as ET
from dataclasses import fields, is_dataclass, replace
from pathlib import Path

import interpass
import numpy as np
import pytest
from interpass.heat import solver
from terminal import ROOT, STUB

READINGS = str(ROOT / "cases" / "sampling-stub-readings.csv")
LOG = str(ROOT / "cases" / "sampling-stub-log.csv")
COARSE = {"model": {"ring": 1, "cell": "2 mm"}}


@pytest.fixture(scope="module")
def table():
    """The stub's case as a dict, coarse and quick."""
    return tomllib.loads(Path(STUB).read_text(encoding="utf-8")) | COARSE


@pytest.fixture(scope="module")
def plan(table):
    return interpass.plan(interpass.parse_case(table))


@pytest.fixture
def case_file(tmp_path):
    path = tmp_path / "coarse.toml"
    text = Path(STUB).read_text(encoding="utf-8")
    path.write_text(text + '\n[model]\nring = 1\ncell = "2 mm"\n', encoding="utf-8")
    return path


def told(run, *arguments):
    return json.loads(run(*arguments, "--json")[1])


def test_every_command_and_its_function_give_the_same_object(run, case_file):
    case = interpass.read_case(case_file)
    over = {"current": ["60 A", "80 A"], "fan": "0 m/s..2 m/s/2 m/s"}
    axes = ("--over", "current=60 A,80 A", "--over", "fan=0 m/s..2 m/s/2 m/s")
    other = interpass.read_case(STUB)
    pairs = {
        "plan": (interpass.plan(case), (case_file,)),
        "check": (interpass.check(case), (case_file,)),
        "fit": (interpass.fit(case, READINGS), (case_file, READINGS)),
        "review": (interpass.review(case, LOG, quick=True), (case_file, LOG, "--quick")),
        "chart": (interpass.chart(case_file, over), (case_file, *axes)),
        "compare": (
            interpass.compare([case, other], ring=1),
            (case_file, STUB, "--axisymmetric"),
        ),
    }
    for command, (answer, arguments) in pairs.items():
        assert answer.to_dict() == told(run, command, *arguments), command
        full = ("--full",) if command in {"plan", "fit", "review"} else ()
        printed = run(command, *arguments, "--units", "us", *full)[1]
        assert answer.text("us") == printed, command


def test_curves_and_waits_are_arrays_in_the_unit_of_their_name(plan):
    n = plan.time_s.size
    assert n > 50
    for curve in (plan.hottest_degC, plan.mean_degC, plan.coldest_degC):
        assert curve.shape == (n,)
        assert curve.dtype == float
    assert np.all(plan.hottest_degC >= plan.coldest_degC)
    assert plan.waits_s.shape == plan.safe_waits_s.shape == (2,)
    assert np.isnan(plan.safe_waits_s[0])
    assert plan.safe_waits_s[1] > plan.waits_s[1] > 0
    start = plan.history.passes[1].arc_on
    at_arc_on = np.interp(start, plan.time_s, plan.hottest_degC)
    assert at_arc_on == pytest.approx(175, abs=0.5)  # the limit of the case


def test_bands_come_with_a_plan_or_after_it(plan):
    alone = interpass.bands(interpass.Plan(plan.case, plan.history))
    assert alone.passes == plan.bands.passes
    assert interpass.bands(plan) is plan.bands


def test_text_file_and_table_of_a_case_are_one_case(table, tmp_path):
    table = {name: part for name, part in table.items() if name != "model"}
    one = interpass.parse_case(table, STUB)
    read = interpass.read_case(STUB)
    keys = [[(row.key, row.value) for row in c.assumptions] for c in (one, read)]
    assert keys[0] == keys[1]  # their sources name lines of the file
    assert replace(one, assumptions=()) == replace(read, assumptions=())
    arrays = table | {"title": np.str_("Sampling stub into a coupling")}
    assert interpass.parse_case(arrays, STUB) == one


@pytest.mark.parametrize("value", [None, object(), b"80 A", {1, 2}, np.zeros(3), 3j])
def test_what_no_case_can_hold_is_named(table, value):
    bad = table | {"pipe": table["pipe"] | {"size": value}}
    with pytest.raises(interpass.CaseError, match=r"pipe\.size"):
        interpass.parse_case(bad)


def test_readings_may_be_given_as_data(table):
    from interpass.readings.file import read_readings

    case = interpass.parse_case(table)
    by_file = interpass.fit(case, READINGS, samples=16)
    by_data = interpass.fit(case, read_readings(READINGS, 2), samples=16)
    assert by_file.to_dict() == by_data.to_dict()
    assert by_file.plan.safe_waits_s[1] > 0


def test_a_fit_warns_of_what_the_times_of_a_log_leave_open(table, tmp_path, caplog):
    """Over a night without dates an hour may be missing, and no answer says so."""
    path = tmp_path / "night.csv"
    path.write_text(
        "pass,arc_on,arc_off,time,temperature_degC\n1,01:57:00,01:58:24,,\n"
        ",,,02:00:00,190\n2,03:02:00,03:03:30,,\n",
        encoding="utf-8",
    )
    interpass.fit(interpass.parse_case(table), path, samples=16)
    (said,) = [r.getMessage() for r in caplog.records if r.name == "interpass"]
    assert said.startswith(f"{path}: line 4: ")
    assert "if clocks were put forward that night" in said


def shown(html):
    """The parts of what a notebook gets: it must be well-formed."""
    return ET.fromstring(f"<div>{html}</div>")


def test_a_notebook_shows_table_and_curve(plan, table):
    svg = "{http://www.w3.org/2000/svg}svg"
    whole = shown(plan._repr_html_())
    assert len(whole.findall("table/tbody/tr")) == 2
    assert whole.find(svg) is not None
    chart = interpass.chart(table, {"current": "60 A,80 A,-3 A"})
    whole = shown(chart._repr_html_())
    assert len(whole.findall("table/tbody/tr")) == 3
    assert whole.find(svg) is not None
    assert np.isnan(chart.total_s).tolist() == [False, False, True]


def test_a_notebook_runs_no_words_of_a_case(table):
    bad = table | {"title": "<script>alert(1)</script>"}
    html = interpass.plan(interpass.parse_case(bad), quick=True)._repr_html_()
    assert "<script" not in html


def test_every_name_is_documented_and_typed():
    homes = [name for names in interpass.HOMES.values() for name in names]
    assert sorted(homes) == sorted(interpass.__all__)
    assert set(interpass.__all__) < set(dir(interpass))
    for name in interpass.__all__:
        thing = getattr(interpass, name)
        assert thing.__doc__, name
        if is_dataclass(thing):
            assert thing.__dataclass_params__.frozen
            assert fields(thing)
        elif not isinstance(thing, type):
            hints = dict(thing.__annotations__)
            assert "return" in hints, name
    with pytest.raises(AttributeError, match="no attribute 'plant'"):
        interpass.plant  # noqa: B018


@pytest.mark.parametrize(
    "asked",
    [
        "import interpass",
        "import interpass; dir(interpass)",
        "import interpass.commands.app",
    ],
)
def test_nothing_slow_is_loaded_before_it_is_needed(asked):
    slow = ["numpy", "scipy", "numba", "matplotlib", "pint", "jinja2"]
    script = f"{asked}; import sys; print(*sorted(set({slow}) & set(sys.modules)))"
    ran = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    assert ran.stdout.split() == []


def test_script_of_the_readme_runs(monkeypatch, capsys):
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    script = re.search(r"```python\n(.+?)```", readme, re.DOTALL)[1]
    monkeypatch.chdir(ROOT)
    scope = {}
    exec(script, scope)  # noqa: S102
    printed = capsys.readouterr().out
    assert printed.startswith("pass [")
    assert scope["hot"].size > 10


def test_module_is_the_program():
    ran = subprocess.run(
        [sys.executable, "-m", "interpass", "--version"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert ran.stdout == f"interpass {interpass.__version__}\n"


def test_the_reading_to_strike_by_is_that_of_the_report(plan):
    told = plan.to_dict()["passes"][1]["strike_at_degC"]
    assert plan.strike_at_degC.shape == (2,)
    assert plan.strike_at_degC[0] == pytest.approx(10)  # the preheat: at least
    assert plan.strike_at_degC[1] == pytest.approx(told, abs=0.005)
    assert "or less" in plan._repr_html_()


@pytest.mark.parametrize("listens", [True, False])
def test_the_first_compile_is_told_once(table, monkeypatch, caplog, listens):
    """To the one who asked for progress, else by logging, which a script can silence."""
    monkeypatch.setattr(solver, "is_compiled", lambda: False)
    told = []
    progress = (lambda _share, what: told.append(what)) if listens else None
    interpass.plan(interpass.parse_case(table), quick=True, progress=progress)
    heard = [record.message for record in caplog.records if record.name == "interpass"]
    announced = [what for what in told if "first run only" in what]
    assert (len(announced), len(heard)) == ((1, 0) if listens else (0, 1))


@pytest.mark.parametrize(
    ("over", "search"),
    [
        ({"curent": ["1 A"]}, {}),
        ({}, {}),
        ({"size": ["1/2", ""]}, {}),
        ({"size": ["1/2"]}, {"wait_max": "2 min"}),
        ({"size": ["1/2"]}, {"solve_for": "luck"}),
        ({"size": ["1/2"]}, {"solve_for": "current"}),
        ({"size": ["1/2"]}, {"solve_for": "current", "wait_max": "soon"}),
        (
            {"size": ["1/2"]},
            {"solve_for": "current", "wait_max": "2 min", "between": "1 A"},
        ),
    ],
)
def test_mistakes_of_a_chart_speak_of_no_option(table, over, search):
    with pytest.raises(interpass.ThermoError) as raised:
        interpass.chart(table, over, **search)
    assert "--" not in str(raised.value)


def test_an_answer_is_a_line_at_a_prompt_and_a_report_in_print(plan, table):
    charted = interpass.chart(table, {"current": "60 A..70 A/10 A"}, ring=1)
    for answer in (plan, interpass.check(plan.case), charted):
        assert "\n" not in repr(answer)
        assert len(repr(answer)) < 200
        assert type(answer).__name__ in repr(answer)
        assert "\n" in str(answer)
    assert str(plan) == plan.first_screen()
    assert "array" not in repr(plan.case.pipe.material)
