"""Card, chart, fit, lesson, report and review where files cannot be written: the status
says so, one line names the file, and what was there before is as it was."""

import json
import os
import random
import signal
import subprocess
import sys
import time
from contextlib import contextmanager, suppress
from itertools import count
from pathlib import Path
from xml.etree import ElementTree

import pytest
from interpass.charts.journal import journal_path
from interpass.commands import review as command_review
from interpass.lesson import figures as lesson_figures
from interpass.lesson import page as lesson_page
from interpass.pages import booth as card
from interpass.pages import files as saving
from interpass.pictures import fit as fit_pictures
from interpass.pictures import style
from interpass.text.errors import ExitStatus
from terminal import ROOT, SHORT, STUB, start
from whole.test_attack_files import ends_as_it_should, mounted, names

LOG = ROOT / "cases" / "sampling-stub-log.csv"
READINGS = ROOT / "cases" / "sampling-stub-readings.csv"
OLD = b"an earlier result\n"
ONCE = "--axisymmetric"
BASE = {
    "report": ("plan", STUB, ONCE, "--quick"),
    "card": ("card", STUB, ONCE, "--quick"),
    "chart": ("chart", STUB, ONCE, "--over", "size=3/4,1"),
    "lesson": ("lesson", ONCE, "--no-movie", "--size", "1/2,1"),
    "fit": ("fit", STUB, READINGS, ONCE, "--samples", 16),
    "review": ("review", STUB, LOG, ONCE, "--quick"),
    "compare": ("compare", STUB, SHORT, ONCE),
}
FILES = {
    "report": {"--report": "a.html"},
    "card": {"--out": "a.pdf", "--html": "a.html"},
    "chart": {"--csv": "a.csv", "--figure": "a.svg"},
    "lesson": {"--out": ""},
    "fit": {"--block": "a.toml", "--figure": "a.svg"},
    "review": {"--csv": "a.csv", "--out": ""},
}
"""Options that name files, and their names in the folder."""
FIRST = {"lesson": "lesson.html", "review": "sampling-stub-log.review.json"}
WRITERS = sorted(FILES)


def command(name, folder):
    """Arguments that write every file a command has into a folder."""
    files = [x for option, file in FILES[name].items() for x in (option, folder / file)]
    return [*BASE[name], *files, "--force"]


def put_old(name, folder):
    """Earlier results in the place of the new ones, by name."""
    wanted = {file for file in FILES[name].values() if file} | {FIRST.get(name, "")}
    for file in filter(None, wanted):
        (folder / file).write_bytes(OLD)
    return contents(folder)


def contents(folder):
    """Bytes of the files in a folder, by name."""
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


@pytest.fixture
def plain(monkeypatch):
    """Pictures take seconds to draw; bytes do here."""
    monkeypatch.setattr(saving, "plan_pictures", lambda *_: {})
    monkeypatch.setattr(card, "card_pdf", lambda *_: b"%PDF" * 5_000)
    monkeypatch.setattr(lesson_figures, "pictures", lambda *_: {"a.png": b"p" * 20_000})
    monkeypatch.setattr(lesson_page, "lesson_page", lambda *_: b"h" * 20_000)
    monkeypatch.setattr(fit_pictures, "fit_figure", lambda *_: None)
    monkeypatch.setattr(style, "picture", lambda *_: b"f" * 20_000)
    two = {"svg": b"s" * 20_000, "png": b"p" * 20_000}
    monkeypatch.setattr(command_review, "_pictures", lambda *_: two)


def assert_told(ended, place):
    """Exit status 3, and one line that names the file."""
    status, _, err = ended
    assert status == ExitStatus.CASE
    assert err.startswith(f"Error: {place}")
    assert err.count("\n") == 1


# the disk


@pytest.mark.parametrize("name", WRITERS)
def test_folder_under_a_file_is_told(run, tmp_path, plain, name):
    (tmp_path / "file").write_bytes(OLD)
    assert_told(run(*command(name, tmp_path / "file")), tmp_path / "file")
    assert contents(tmp_path) == {"file": OLD}
    assert names(tmp_path) == ["file"]


@contextmanager
def locked(name, folder):
    """A folder with earlier results that takes no more; root needs a disk for that."""
    if os.geteuid():
        folder.mkdir()
        before = put_old(name, folder)
        folder.chmod(0o555)
        yield before
        folder.chmod(0o755)
        return
    with mounted(folder, "size=64k"):
        before = put_old(name, folder)
        again = ["mount", "-o", "remount,ro", str(folder)]
        if subprocess.run(again, capture_output=True, check=False).returncode:
            pytest.skip("nothing can be mounted again here")
        yield before


@pytest.mark.parametrize("name", WRITERS)
def test_folder_that_takes_nothing_keeps_what_it_has(run, tmp_path, plain, name):
    folder = tmp_path / "locked"
    with locked(name, folder) as before:
        assert_told(run(*command(name, folder)), f"{folder}/")
        assert contents(folder) == before


def fill(path):
    """Write until the disk takes no more."""
    with suppress(OSError), path.open("wb", buffering=0) as rest:
        while True:
            rest.write(bytes(4096))


@pytest.mark.parametrize("name", WRITERS)
def test_full_disk_keeps_what_was_there(run, tmp_path, plain, name):
    with mounted(tmp_path / "full", "size=64k") as folder:
        put_old(name, folder)
        fill(folder / "rest")
        before = contents(folder)
        ended = run(*command(name, folder))
        assert_told(ended, f"{folder}/")
        assert ended[2].endswith(": No space left on device\n")
        assert contents(folder) == before


def test_chart_makes_its_folder_as_other_commands_do(run, tmp_path):
    path = tmp_path / "new" / "folder" / "a.csv"
    assert run(*BASE["chart"], "--csv", path)[0] == ExitStatus.OK
    assert names(path.parent) == ["a.csv"]


def test_chart_that_cannot_be_written_keeps_its_rows(run, tmp_path):
    """The rows are computed; the next run, elsewhere cleared, has only to write them."""
    path = tmp_path / "a.csv"
    path.mkdir()
    assert_told(run(*BASE["chart"], "--csv", path), path)
    assert journal_path(path).read_bytes().count(b"\n") == 3
    path.rmdir()
    assert run(*BASE["chart"], "--csv", path, "--resume")[0] == ExitStatus.OK
    assert path.read_bytes().count(b"\n") == 3
    assert names(tmp_path) == ["a.csv"]


# Ctrl-C


@pytest.mark.parametrize("moment", range(2))
@pytest.mark.parametrize("name", WRITERS)
def test_stopped_while_it_writes(run, tmp_path, plain, monkeypatch, name, moment):
    """Ctrl-C comes when a file, written beside, is about to be put in place."""
    before = put_old(name, tmp_path)
    steps, really = count(), Path.replace

    def replace(self, target):
        if next(steps) == moment:
            raise KeyboardInterrupt
        return really(self, target)

    monkeypatch.setattr(Path, "replace", replace)
    status, _, err = run(*command(name, tmp_path))
    last = next(steps) - 1
    assert (status == ExitStatus.INTERRUPTED) == (last == moment)
    assert not hidden(tmp_path)
    if status == ExitStatus.INTERRUPTED:
        kept = [content for content in contents(tmp_path).values() if content == OLD]
        assert len(kept) == max(0, len(before) - moment)
        assert "Stopped by Ctrl-C at writing the files; " in err


def hidden(folder):
    """Files written beside others and left there."""
    return [path for path in folder.rglob(".*") if path.is_file()]


def heed():
    """Some shells start children that ignore Ctrl-C."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("name", ["card", "fit", "lesson", "report", "review"])
def test_real_interrupt_at_a_random_moment(tmp_path, name, seed):
    """Before the program itself has begun, Python ends it by the signal."""
    before = put_old(name, tmp_path)
    with start(*command(name, tmp_path), preexec_fn=heed) as process:
        time.sleep(random.Random(f"{name}{seed}").uniform(0.4, 2.5))
        process.send_signal(signal.SIGINT)
        _, err = process.communicate(timeout=60)
    assert process.returncode in {0, ExitStatus.INTERRUPTED, -signal.SIGINT}
    if process.returncode == ExitStatus.INTERRUPTED:
        assert "Stopped by Ctrl-C" in err
        assert "Traceback" not in err
    assert not hidden(tmp_path)
    for file, content in contents(tmp_path).items():
        assert content == before.get(file) or is_whole(Path(file), content)


def is_whole(path, content):
    """Whether all of a file is there; what can be parsed is."""
    if path.suffix == ".json":
        return bool(json.loads(content))
    if path.suffix == ".svg":
        return ElementTree.fromstring(content).tag.endswith("svg")
    ends = {".html": b"</html>", ".pdf": b"%%EOF"}
    if path.suffix in ends:
        return content.rstrip().endswith(ends[path.suffix])
    return ends_as_it_should(path.suffix, content)


# two at once


@pytest.mark.slow
@pytest.mark.parametrize("name", ["card", "fit", "lesson", "report", "review"])
def test_two_runs_into_one_folder(tmp_path, name):
    """Both end well, and what they leave is what one alone leaves."""
    alone, shared = tmp_path / "alone", tmp_path / "shared"
    for folders in ([alone], [shared, shared]):
        runs = [start(*command(name, folder), "-q") for folder in folders]
        for process in runs:
            with process:
                assert process.communicate(timeout=120)[1] == ""
            assert process.returncode == ExitStatus.OK
    assert contents(shared) == contents(alone)
    assert not hidden(shared)
    for path in shared.rglob("*"):
        assert path.is_dir() or is_whole(path, path.read_bytes())


# the terminal


READ = ["chart", "compare", "fit", "lesson", "review"]


def printing(name, tmp_path):
    """Arguments that print; a lesson always writes its folder too."""
    return [*BASE[name], *(["--out", tmp_path / "out"] if name == "lesson" else [])]


@pytest.mark.parametrize("name", READ)
def test_reader_that_has_gone_away_is_no_error(run, tmp_path, plain, monkeypatch, name):
    status, out, said = run(*printing(name, tmp_path))
    assert out
    reading, writing = os.pipe()
    os.close(reading)
    with os.fdopen(writing, "w") as gone:
        monkeypatch.setattr(sys, "stdout", gone)
        ended = run(*printing(name, tmp_path))
        assert ended == (status, "", said)


@pytest.mark.parametrize("name", READ)
def test_full_stdout_is_told(run, tmp_path, plain, monkeypatch, name):
    with Path("/dev/full").open("w", encoding="utf-8") as full:
        monkeypatch.setattr(sys, "stdout", full)
        status, _, err = run(*printing(name, tmp_path))
    assert status == ExitStatus.CASE
    assert err.splitlines()[-1] == ("Error: standard output: No space left on device")


@pytest.mark.slow
@pytest.mark.parametrize("name", READ)
@pytest.mark.parametrize("stream", [">&-", "| true"])
def test_streams_of_a_shell(tmp_path, name, stream):
    words = " ".join(f"'{x}'" for x in printing(name, tmp_path))
    line = f"set -o pipefail; '{sys.executable}' -m interpass.commands.app {words} -q {stream}"
    done = subprocess.run(
        ["bash", "-c", line], cwd=ROOT, text=True, capture_output=True, check=False
    )
    expected = ExitStatus.LIMIT if name == "compare" else ExitStatus.OK
    assert (done.returncode, done.stderr) == (expected, "")
