"""The command line: what it prints and where, how it ends, and what it leaves behind."""

import json
import os
import re
import shlex
import signal
import subprocess
import sys
import time
import tomllib
from pathlib import Path

import pytest
import typer

from thermo import app, console, saving, waits, warmup
from thermo.case import parse_case
from thermo.errors import ExitStatus, RunError

ROOT = Path(__file__).parent.parent
STUB = str(ROOT / "cases" / "sampling-stub.toml")
SHORT = str(ROOT / "cases" / "check-joint.toml")  # given waits, too short
BAD = sorted((ROOT / "tests" / "data" / "bad").glob("*.toml"))
COMMANDS = sorted(typer.main.get_command(app.app).commands)
README = (ROOT / "README.md").read_text(encoding="utf-8")
FILES = ("report.txt", "json", "history.csv", "temperature.svg", "temperature.png")


@pytest.fixture(autouse=True)
def compiled(monkeypatch):
    """The solver counts as compiled, whatever this machine has done before."""
    monkeypatch.setattr(warmup, "is_compiled", lambda: True)


@pytest.fixture
def run(capsys):
    """Run the program in this process: status, stdout, stderr."""

    def call(*arguments):
        capsys.readouterr()
        status = app.main([str(a) for a in arguments])
        return status, *capsys.readouterr()

    return call


@pytest.fixture
def plan(run):
    """The same for a quick plan."""
    return lambda *arguments: run("plan", "--axisymmetric", *arguments)


def start(*arguments, **options):
    """Start the program as a process of its own."""
    command = [sys.executable, "-m", "thermo.app", *map(str, arguments)]
    pipes = {"stdin": subprocess.DEVNULL, "stdout": subprocess.PIPE}
    return subprocess.Popen(
        command, cwd=ROOT, text=True, **pipes | {"stderr": subprocess.PIPE} | options
    )


def changed(tmp_path, *changes):
    """The stub's case with some text replaced, in a file of its own."""
    text = Path(STUB).read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    path = tmp_path / "changed.toml"
    path.write_text(text, encoding="utf-8")
    return path


# help


@pytest.mark.parametrize("flag", ["--help", "-h"])
@pytest.mark.parametrize("command", [[], *([c] for c in COMMANDS)], ids=str)
def test_help_is_on_stdout(run, command, flag):
    status, out, err = run(*command, flag)
    assert status == ExitStatus.OK
    assert out.startswith("Usage: interpass")
    assert not err


def test_help_loads_nothing_slow():
    code = (
        "import sys; from thermo.app import main; main(['--help']);"
        "slow = {'numpy', 'numba', 'scipy', 'matplotlib', 'pint', 'rich'};"
        "sys.exit(str(slow & set(sys.modules)) if slow & set(sys.modules) else 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=False)
    assert done.returncode == 0, done.stderr


def test_help_comes_at_once():
    """Best of three, for the machine may be busy."""
    times = []
    for _ in range(3):
        began = time.perf_counter()
        with start("--help") as process:
            process.communicate()
        times.append(time.perf_counter() - began)
    assert min(times) < 0.3


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


def test_status_of_a_plan_that_holds(plan):
    assert plan(STUB)[0] == ExitStatus.OK


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
def test_status_of_a_bad_case(plan, path):
    status, out, err = plan(path)
    assert status == ExitStatus.CASE
    assert not out
    assert err.startswith("Error: ")
    assert "Traceback" not in err


def test_mistakes_come_together_in_file_order(plan):
    path = ROOT / "tests" / "data" / "bad" / "several.toml"
    lines = [int(n) for n in re.findall(r"several\.toml:(\d+): ", plan(path)[2])]
    assert len(lines) > 5
    assert lines == sorted(lines)


def test_status_of_a_missing_file(plan):
    status, out, err = plan("nowhere.toml")
    assert (status, out) == (ExitStatus.CASE, "")
    assert err == "Error: nowhere.toml: there is no such file; check the path\n"


def test_status_of_a_run_that_fails(plan, tmp_path):
    """Nine kilowatts into a stub: the first pass cannot be finished."""
    case = changed(tmp_path, ("80 A", "400 A"), ('"11 V"', '"30 V"'))
    status, out, err = plan(case)
    assert status == ExitStatus.RUN
    assert "none was finished" in out
    assert out.splitlines()[-1:] != [""]
    assert "Verdict: NO PLAN." in out
    assert err.startswith("Error: stopped at ")
    assert "Traceback" not in err


def test_run_that_fails_gives_json_all_the_same(plan, tmp_path):
    case = changed(tmp_path, ("85 A", "400 A"), ('"11 V"', '"28 V"'), ("80 A", "20 A"))
    status, out, _ = plan(case, "--json")
    found = json.loads(out)
    assert status == ExitStatus.RUN
    assert found["complete"] is False
    assert len(found["passes"]) == 1
    assert found["stopped_because"].startswith("stopped at ")


def test_status_of_a_limit_not_met(plan):
    status, out, err = plan(SHORT)
    assert status == ExitStatus.LIMIT
    assert "Verdict: NOT MET." in out
    assert not err


def test_status_of_a_wait_that_cannot_reach_the_limit(plan, tmp_path):
    case = changed(tmp_path, ("preheat_min", 'wait_max = "20 s"\npreheat_min'))
    status, out, _ = plan(case)
    assert status == ExitStatus.LIMIT
    assert "after 20 s of waiting" in " ".join(out.split())


# streams


def test_results_alone_are_on_stdout(plan):
    _, out, err = plan(STUB)
    assert out.startswith("Sampling stub into a coupling\n")
    assert out.rstrip().splitlines()[-1].startswith("Verdict: the limits hold. Wait ")
    assert not err


def test_json_is_one_object_and_nothing_else(plan):
    _, out, err = plan(STUB, "--json")
    found = json.loads(out)
    assert found["schema"] == 1
    assert found["passes"][1]["interpass_degC"]["hottest"] == pytest.approx(175, abs=0.1)
    assert not err


def test_us_units(plan):
    _, out, _ = plan(STUB, "--units", "us")
    assert "347 degF" in out
    assert "degC" not in out


def test_assumptions_stand_before_the_verdict(plan):
    _, out, _ = plan(STUB, "--assumptions")
    assert "arc.efficiency" in out
    assert out.rstrip().splitlines()[-1].startswith("Verdict: ")
    assert "Every number used" not in plan(STUB)[1]


def test_ring_of_the_command_line_replaces_that_of_the_case(run):
    case = ROOT / "cases" / "check-joint.toml"
    _, out, _ = run("plan", case, "--ring", "1", "--json", "--assumptions")
    found = json.loads(out)
    assert found["model"] == "axisymmetric"
    rows = [row for row in found["assumptions"] if row["key"] == "model.ring"]
    assert [(row["value"], row["source"]) for row in rows] == [("1", "the command line")]


def test_no_colour_even_where_it_is_forced():
    forced = {"FORCE_COLOR": "1", "GITHUB_ACTIONS": "true", "TERM": "xterm-256color"}
    for arguments in (["--help"], ["plon"]):
        with start(*arguments, env=os.environ | forced) as process:
            out, err = process.communicate()
        assert "\x1b" not in out + err


def test_progress_needs_a_terminal_and_a_long_run(capsys, monkeypatch):
    def shown(is_terminal, slow, quiet=False):
        monkeypatch.setattr(console, "SLOW", slow)
        monkeypatch.setattr(sys.stderr, "isatty", lambda: is_terminal, raising=False)
        with console.talking(quiet=quiet, verbose=False) as talk:
            talk.progress(0.5, "pass 2")
        return capsys.readouterr().err

    assert "50 %  pass 2" in shown(True, -1.0)
    assert shown(True, -1.0).endswith("\r")  # the line is taken away again
    assert shown(True, 60.0) == shown(False, -1.0) == shown(True, -1.0, quiet=True) == ""


def test_first_compile_is_announced(plan, monkeypatch):
    monkeypatch.setattr(warmup, "is_compiled", lambda: False)
    assert "first run only" in plan(STUB)[2]
    assert plan(STUB, "-q")[2] == ""


def test_compiled_solver_is_found_by_its_cache(tmp_path, monkeypatch):
    monkeypatch.undo()
    monkeypatch.delenv("NUMBA_DISABLE_JIT", raising=False)
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    assert not warmup.is_compiled()
    (tmp_path / "thermo_0").mkdir()
    index = tmp_path / "thermo_0" / "kernels.march-1.py311.nbi"
    index.touch()
    assert warmup.is_compiled()
    os.utime(index, (0, 0))  # older than the source
    assert not warmup.is_compiled()


def test_verbose_tells_of_the_solver_on_stderr(plan):
    _, out, err = plan(STUB, "-v")
    assert re.fullmatch(r"\d+ cells, \d+ steps, solved in [\d.]+ ms\n", err)
    assert out == plan(STUB)[1]


def test_debug_shows_where_an_error_came_from(run):
    with pytest.raises(Exception, match="no such file"):
        run("plan", "nowhere.toml", "--debug")


def test_our_own_bugs_are_not_hidden(run, monkeypatch):
    def broken(case, progress):
        return 1 / 0

    monkeypatch.setattr(waits, "plan", broken)
    with pytest.raises(ZeroDivisionError):
        run("plan", STUB)


def test_failed_run_without_a_history_is_told(run, monkeypatch):
    def failing(case, progress):
        msg = "stopped before it began"
        raise RunError(msg)

    monkeypatch.setattr(waits, "plan", failing)
    assert run("plan", STUB) == (ExitStatus.RUN, "", "Error: stopped before it began\n")


@pytest.mark.slow
def test_reader_that_goes_away_is_no_error():
    with start("plan", STUB, "--axisymmetric", "--assumptions", "-q") as process:
        process.stdout.close()
        assert process.stderr.read() == ""
        assert process.wait() == ExitStatus.OK


def test_letters_a_terminal_lacks_are_replaced(plan, tmp_path, monkeypatch):
    case = changed(tmp_path, ('title = "Sampling', 'title = "\u00c9chantillon'))
    assert "\u00c9chantillon" in plan(case)[1]
    monkeypatch.setattr(type(sys.stdout), "encoding", "ascii", raising=False)
    assert "?chantillon" in plan(case)[1]


# files


def test_files_are_named_by_the_case_and_repeat(plan, tmp_path):
    _, out, err = plan(STUB, "--out", tmp_path / "new" / "folder")
    first = {p.name: p.read_bytes() for p in (tmp_path / "new" / "folder").iterdir()}
    assert set(first) == {f"sampling-stub.{ending}" for ending in FILES}
    for name in first:
        assert f"Wrote {tmp_path / 'new' / 'folder' / name}\n" in err
    assert first["sampling-stub.report.txt"].decode() == out
    plan(STUB, "--out", tmp_path / "again", "-v")
    assert first == {p.name: p.read_bytes() for p in (tmp_path / "again").iterdir()}


def test_nothing_is_written_unless_asked(plan, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    plan(STUB)
    assert not list(tmp_path.iterdir())


def test_quiet_writes_files_in_silence(plan, tmp_path):
    assert plan(STUB, "-q", "--out", tmp_path)[2] == ""
    assert len(list(tmp_path.iterdir())) == len(FILES)


def test_old_file_survives_a_write_that_fails(tmp_path, monkeypatch):
    path = tmp_path / "result"
    path.write_bytes(b"old")

    def fails(self, target):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", fails)
    with pytest.raises(OSError, match="No space"):
        saving.replace_file(path, b"new")
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]


def test_new_files_can_be_read_like_any_other(tmp_path):
    saving.replace_file(tmp_path / "one", b"")
    (tmp_path / "other").write_bytes(b"")
    assert (tmp_path / "one").stat().st_mode == (tmp_path / "other").stat().st_mode


def test_folder_that_cannot_be_made_is_told(plan, tmp_path):
    (tmp_path / "file").touch()
    status, _, err = plan(STUB, "--out", tmp_path / "file")
    assert status == ExitStatus.CASE
    assert err == f"Error: {tmp_path / 'file'}: File exists\n"


# Ctrl-C


def test_interrupt_tells_how_far_it_got_and_leaves_nothing(run, tmp_path, monkeypatch):
    def interrupted(case, progress):
        progress(0.5, "pass 2")
        raise KeyboardInterrupt

    monkeypatch.setattr(waits, "plan", interrupted)
    status, out, err = run("plan", STUB, "--out", tmp_path / "new")
    assert (status, out) == (ExitStatus.INTERRUPTED, "")
    assert err == "\nStopped by Ctrl-C at pass 2; no file written.\n"
    assert not list(tmp_path.iterdir())


@pytest.mark.slow
def test_interrupt_of_a_long_run_ends_it(tmp_path):
    """A real signal, while the solver runs; some shells start children that ignore it."""

    def heed():
        signal.signal(signal.SIGINT, signal.SIG_DFL)

    files = tmp_path / "new"
    with start("plan", SHORT, "--ring", "96", "--out", files, preexec_fn=heed) as process:
        time.sleep(3.0)
        process.send_signal(signal.SIGINT)
        _, err = process.communicate(timeout=60)
    assert process.returncode == ExitStatus.INTERRUPTED
    assert "Stopped by Ctrl-C at pass" in err
    assert not list(tmp_path.iterdir())


# the documents


def commands_in(text):
    """Command lines of ``interpass`` in a document."""
    found = re.findall(r"(?:bin/|`)interpass (.+?)(?:`|$)", text, re.MULTILINE)
    return [shlex.split(line.partition("#")[0].split(" && ")[0]) for line in found]


def test_readme_names_only_commands_and_options_there_are():
    known = typer.main.get_command(app.app).commands
    found = commands_in(README)
    assert len(found) > 4
    for name, *arguments in found:
        assert name in known
        options = {flag for p in known[name].params for flag in p.opts}
        assert {a for a in arguments if a.startswith("-")} <= options
        assert all((ROOT / a).is_file() for a in arguments if a.endswith(".toml"))


def test_readme_shows_what_the_program_prints(run):
    """Words exactly; numbers to 2 %, for machines round differently."""
    shown = re.search(r"```text\n(.+?)```", README, re.DOTALL)[1]
    printed = run("plan", STUB)[1]
    number = re.compile(r"\d+\.?\d*(?:e-\d+)?")
    assert number.sub("#", shown).split() == number.sub("#", printed).split()
    pairs = zip(number.findall(shown), number.findall(printed), strict=True)
    for a, b in pairs:
        assert float(a) == pytest.approx(float(b), rel=0.02, abs=1.0)


def test_case_of_readme_is_a_case():
    shown = re.search(r"```toml\n(.+?)```", README, re.DOTALL)[1]
    case = parse_case(shown)
    assert len(case.passes) == 2
    assert case.passes[1].wait is None
