"""The command line: its help, and how it ends."""

import json
import re
import shlex
import subprocess
import sys
import tomllib

import pytest
import typer
from interpass.commands import app
from interpass.text.errors import ExitStatus
from terminal import ROOT, SHORT, STUB, changed

BAD = sorted((ROOT / "tests" / "data" / "bad").glob("*.toml"))
COMMANDS = sorted(typer.main.get_command(app.app).commands)


# help


@pytest.mark.parametrize("flag", ["--help", "-h"])
@pytest.mark.parametrize("command", [[], *([c] for c in COMMANDS)], ids=str)
def test_help_is_on_stdout(run, command, flag):
    status, out, err = run(*command, flag)
    assert status == ExitStatus.OK
    assert out.startswith("Usage: interpass")
    assert not err


NEVER = {"numba", "scipy", "matplotlib", "pint", "jinja2", "PIL", "rich", "yaml"}
OTHERS = {"multiprocessing", "xml", "asyncio"}
UNASKED = {"interpass.doubt.bands", "interpass.remedies.trials", "interpass.pages"}
LOADED = [  # what is asked, and what else must not be loaded for it: the list only grows
    (["--help"], {"numpy", "llvmlite", "pydantic", "tomllib", "importlib.metadata"}),
    (["plan", STUB, "--quick", "--axisymmetric"], OTHERS | UNASKED),
    (["plan", STUB, "--ring", "1"], OTHERS),
    (["check", STUB, "--quick"], OTHERS | UNASKED | {"llvmlite"}),
]


@pytest.mark.parametrize(("asked", "more"), LOADED, ids=lambda x: str(x)[:30])
def test_nothing_slow_is_loaded(asked, more, run):
    """Once the solver is compiled its compiler is not needed either."""
    run("plan", STUB, "--quick", "--axisymmetric")
    code = (
        f"import sys; from interpass.commands.app import main; main({asked});"
        f"slow = {NEVER | more} & set(sys.modules);"
        "sys.exit(str(slow) if slow else 0)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, check=False, cwd=ROOT
    )
    assert done.returncode == 0, done.stderr


def test_help_tells_every_exit_status(run):
    text = " ".join(run("--help")[1].split())
    told = text.partition("Exit status:")[2]
    assert [int(n) for n in re.findall(r"\b\d+\b", told)] == [int(s) for s in ExitStatus]


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_a_purpose_and_an_example_that_runs(
    run, command, tmp_path, monkeypatch
):
    text = run(command, "--help")[1]
    assert re.search(r"\n\n  [A-Z][^\n]+\.\n", text)
    example = re.search(r"Example: interpass (.+)", text)[1]
    if command == "desk":
        return  # runs until Ctrl-C: tests/desk start it
    monkeypatch.chdir(tmp_path)
    (tmp_path / "cases").symlink_to(ROOT / "cases")
    status, out, _ = run(*shlex.split(example))
    assert status == ExitStatus.OK
    assert out


def test_no_arguments_show_help(run):
    status, out, err = run()
    assert status == ExitStatus.USAGE
    assert "Usage: interpass" in out + err  # typer's choice changed between releases


def test_version_is_that_of_the_package(run):
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    version = project["project"]["version"]
    assert run("--version") == (ExitStatus.OK, f"interpass {version}\n", "")


# exit status


def test_status_of_a_plan_that_holds(run_plan):
    assert run_plan(STUB)[0] == ExitStatus.OK


@pytest.mark.parametrize(
    "arguments",
    [("plon",), ("plan",), ("plan", STUB, "--unit", "si"), ("plan", STUB, "--ring", "0"),
     ("plan", STUB, "--axisymmetric", "--ring", "48"), ("plan", STUB, "--units", "cgs")],
    ids=" ".join,
)  # fmt: skip
def test_status_of_wrong_usage(run, arguments):
    status, out, err = run(*arguments)
    assert status == ExitStatus.USAGE
    assert not out
    assert "Usage:" in err
    assert "Traceback" not in err


def test_wrong_command_and_option_are_guessed(run):
    assert "'plan'" in run("plon")[2]
    assert "--units" in run("plan", STUB, "--unit", "si")[2]


@pytest.mark.parametrize("path", BAD, ids=lambda path: path.stem)
def test_status_of_a_bad_case(run_plan, path):
    status, out, err = run_plan(path)
    assert status == ExitStatus.CASE
    assert not out
    assert err.startswith("Error: ")
    assert "Traceback" not in err


def test_mistakes_come_together_in_file_order(run_plan):
    path = ROOT / "tests" / "data" / "bad" / "several.toml"
    lines = [int(n) for n in re.findall(r"several\.toml:(\d+): ", run_plan(path)[2])]
    assert len(lines) > 5
    assert lines == sorted(lines)


def test_status_of_a_missing_file(run_plan):
    status, out, err = run_plan("nowhere.toml")
    assert (status, out) == (ExitStatus.CASE, "")
    told = "there is no such file; check the path; interpass new writes a case"
    assert err == f"Error: nowhere.toml: {told}\n"


def test_status_of_a_run_that_fails(run_plan, tmp_path):
    """Nine kilowatts into a stub: the first pass cannot be finished."""
    case = changed(tmp_path, ("80 A", "400 A"), ('"11 V"', '"30 V"'))
    status, out, err = run_plan(case, "--full")
    assert status == ExitStatus.RUN
    assert "none was finished" in out
    assert out.splitlines()[-1:] != [""]
    assert "Verdict: NO PLAN." in out
    assert err.startswith("Error: stopped at ")
    assert "Traceback" not in err


def test_run_that_fails_gives_json_all_the_same(run_plan, tmp_path):
    case = changed(tmp_path, ("85 A", "400 A"), ('"11 V"', '"28 V"'), ("80 A", "20 A"))
    status, out, _ = run_plan(case, "--json")
    found = json.loads(out)
    assert status == ExitStatus.RUN
    assert found["complete"] is False
    assert len(found["passes"]) == 1
    assert found["stopped_because"].startswith("stopped at ")


def test_status_of_a_limit_not_met(run_plan):
    status, out, err = run_plan(SHORT)
    assert status == ExitStatus.LIMIT
    assert "Verdict: NOT MET." in out
    assert not err


def test_status_of_a_wait_that_cannot_reach_the_limit(run_plan, tmp_path):
    case = changed(tmp_path, ("preheat_min", 'wait_max = "20 s"\npreheat_min'))
    status, out, _ = run_plan(case)
    assert status == ExitStatus.LIMIT
    assert "after 20 s of waiting" in " ".join(out.split())
