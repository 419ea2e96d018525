"""The command line: what it prints and where, and what it leaves behind."""

import json
import os
import re
import signal
import sys
import time
from pathlib import Path

import pytest
from interpass.commands import console
from interpass.heat import solver, waits
from interpass.text import files
from interpass.text.errors import ExitStatus, RunError
from terminal import ROOT, SHORT, STUB, changed, start

PICTURES = ("temperature", "section", "heat", "limit")
FILES = (
    *("report.txt", "json", "history.csv"),
    *(f"{name}.{kind}" for name in PICTURES for kind in ("svg", "png")),
)


# streams


def test_results_alone_are_on_stdout(run_plan):
    _, out, err = run_plan(STUB)
    assert out.startswith("Sampling stub into a coupling\n")
    assert out.rstrip().splitlines()[-1].startswith("Verdict: the limits hold. Wait ")
    assert not err


def test_json_is_one_object_and_nothing_else(run_plan):
    _, out, err = run_plan(STUB, "--json")
    found = json.loads(out)
    assert found["schema"] == 1
    assert found["passes"][1]["interpass_degC"]["hottest"] == pytest.approx(175, abs=0.1)
    assert not err


def test_us_units(run_plan):
    _, out, _ = run_plan(STUB, "--units", "us")
    assert "347 degF" in out
    assert "degC" not in out


def test_assumptions_stand_before_the_verdict(run_plan):
    _, out, _ = run_plan(STUB, "--assumptions")
    assert "arc.efficiency" in out
    assert out.rstrip().splitlines()[-1].startswith("Verdict: ")
    assert "Every number used" not in run_plan(STUB)[1]


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


def test_first_compile_is_announced(run_plan, monkeypatch):
    monkeypatch.setattr(solver, "is_compiled", lambda: False)
    err = run_plan(STUB)[2]
    assert "first run only" in err
    assert "(kept " in err
    assert run_plan(STUB, "-q")[2] == ""


def test_verbose_tells_of_the_solver_on_stderr(run_plan):
    _, out, err = run_plan(STUB, "-v")
    assert re.fullmatch(r"\d+ cells, \d+ steps, solved in [\d.]+ ms\n", err)
    assert out == run_plan(STUB)[1]


def test_debug_shows_where_an_error_came_from(run):
    with pytest.raises(Exception, match="no such file"):
        run("plan", "nowhere.toml", "--debug")


def test_our_own_bugs_are_not_hidden(run, monkeypatch):
    def broken(case, progress, frames=None):
        return 1 / 0

    monkeypatch.setattr(waits, "plan", broken)
    with pytest.raises(ZeroDivisionError):
        run("plan", STUB)


def test_failed_run_without_a_history_is_told(run, monkeypatch):
    def failing(case, progress, frames=None):
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


def test_letters_a_terminal_lacks_are_replaced(run_plan, tmp_path, monkeypatch):
    case = changed(tmp_path, ('title = "Sampling', 'title = "\u00c9chantillon'))
    assert "\u00c9chantillon" in run_plan(case)[1]
    monkeypatch.setattr(type(sys.stdout), "encoding", "ascii", raising=False)
    assert "?chantillon" in run_plan(case)[1]


# files


def test_files_are_named_by_the_case_and_repeat(run_plan, tmp_path):
    _, out, err = run_plan(STUB, "--out", tmp_path / "new" / "folder")
    first = {p.name: p.read_bytes() for p in (tmp_path / "new" / "folder").iterdir()}
    assert set(first) == {f"sampling-stub.{ending}" for ending in FILES}
    for name in first:
        assert f"Wrote {tmp_path / 'new' / 'folder' / name}\n" in err
    whole = run_plan(STUB, "--full")[1]
    assert first["sampling-stub.report.txt"].decode() == whole
    assert len(out.splitlines()) < len(whole.splitlines())
    run_plan(STUB, "--out", tmp_path / "again", "-v")
    assert first == {p.name: p.read_bytes() for p in (tmp_path / "again").iterdir()}


def test_nothing_is_written_unless_asked(run_plan, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    run_plan(STUB)
    assert not list(tmp_path.iterdir())


def test_quiet_writes_files_in_silence(run_plan, tmp_path):
    assert run_plan(STUB, "-q", "--out", tmp_path)[2] == ""
    assert len(list(tmp_path.iterdir())) == len(FILES)


def test_old_file_survives_a_write_that_fails(tmp_path, monkeypatch):
    path = tmp_path / "result"
    path.write_bytes(b"old")

    def fails(self, target):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", fails)
    with pytest.raises(OSError, match="No space"):
        files.replace_file(path, b"new", force=True)
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]


def test_new_files_can_be_read_like_any_other(tmp_path):
    files.replace_file(tmp_path / "one", b"")
    (tmp_path / "other").write_bytes(b"")
    assert (tmp_path / "one").stat().st_mode == (tmp_path / "other").stat().st_mode


def test_folder_that_cannot_be_made_is_told(run_plan, tmp_path):
    (tmp_path / "file").touch()
    status, _, err = run_plan(STUB, "--out", tmp_path / "file")
    assert status == ExitStatus.CASE
    assert err == f"Error: {tmp_path / 'file'}: File exists\n"


# Ctrl-C


def test_interrupt_tells_how_far_it_got_and_leaves_nothing(run, tmp_path, monkeypatch):
    def interrupted(case, progress, frames=None):
        progress(0.5, "pass 2")
        raise KeyboardInterrupt

    monkeypatch.setattr(waits, "plan", interrupted)
    status, out, err = run("plan", STUB, "--out", tmp_path / "new")
    assert (status, out) == (ExitStatus.INTERRUPTED, "")
    assert err == "\nStopped by Ctrl-C at pass 2; no file written.\n"
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("place", ["before", "after"])
def test_ctrl_c_outside_of_the_work_is_told_too(run, monkeypatch, place):
    """While options are read, or once the work is done: the parser would end it silently."""

    def interrupt(*_args, **_more):
        raise KeyboardInterrupt

    name = "_parts" if place == "before" else "ended"
    monkeypatch.setattr(f"interpass.commands.plan.{name}", interrupt)
    status, _, err = run("plan", STUB, "--axisymmetric", "--quick")
    assert status == ExitStatus.INTERRUPTED
    assert err.count("Stopped by Ctrl-C") == 1


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
    assert "Stopped by Ctrl-C at " in err  # a pass, unless the machine is busy
    assert not list(tmp_path.iterdir())
