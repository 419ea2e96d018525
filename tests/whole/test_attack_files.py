"""Whatever befalls a run while it writes: no half file, no earlier result lost, and the
exit status says what happened."""

import os
import random
import signal
import subprocess
import sys
import threading
import time
from contextlib import contextmanager
from itertools import count
from pathlib import Path

import pytest
from interpass.pages import files as saving
from interpass.text import files
from interpass.text.errors import ExitStatus
from interpass.text.files import replace_file
from terminal import ROOT, STUB, start

QUICK = ("plan", "--axisymmetric", "--quick", "--force")
OLD = b"an earlier result\n"
ENDINGS = ("report.txt", "json", "history.csv", "temperature.svg", "temperature.png")
PICTURE = 30_000  # bytes of a picture made up


@pytest.fixture
def plain(monkeypatch):
    """Pictures take seconds to draw; bytes do here."""
    made = {ending: ending[0].encode() * PICTURE for ending in ENDINGS[3:]}
    monkeypatch.setattr(saving, "plan_pictures", lambda *_: made)


@contextmanager
def mounted(folder, options):
    """A small file system of its own at a folder; skips where none can be had."""
    folder.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", options, "tmpfs", str(folder)]
    try:
        done = subprocess.run(command, capture_output=True, check=False)
    except FileNotFoundError:
        pytest.skip("there is no mount here")
    if done.returncode:
        pytest.skip("only root can mount, and not everywhere")
    try:
        yield folder
    finally:
        subprocess.run(["umount", str(folder)], check=True)


def names(folder):
    return sorted(path.name for path in folder.iterdir())


def old_results(folder):
    """Put an earlier result in place of every file."""
    folder.mkdir(exist_ok=True)
    for ending in ENDINGS:
        (folder / f"sampling-stub.{ending}").write_bytes(OLD)


def results_of(run, folder):
    """Contents of an undisturbed run by name."""
    run(*QUICK, STUB, "--out", folder, "-q")
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def assert_whole(folder, expected):
    """Every file is the old one or all of the new one, and there is nothing else."""
    assert names(folder) == sorted(expected)
    contents = {path.name: path.read_bytes() for path in folder.iterdir()}
    changed = [name for name, content in contents.items() if content != OLD]
    assert all(contents[name] == expected[name] for name in changed)
    return len(changed)


# the disk


def test_full_disk_keeps_what_was_there(run, tmp_path, plain):
    expected = results_of(run, tmp_path / "whole")
    with mounted(tmp_path / "small", "size=48k") as small:
        old_results(small)
        status, out, err = run(*QUICK, STUB, "--out", small)
        assert 0 < assert_whole(small, expected) < len(expected)
    assert status == ExitStatus.CASE
    assert "Verdict: " in out
    told = err.splitlines()[-1]
    assert told.startswith(f"Error: {small}/sampling-stub.")
    assert told.endswith(": No space left on device")


def test_folder_that_takes_nothing_is_named(run, tmp_path, plain):
    """Root may write into any folder but one on a disk that is read alone."""
    if os.geteuid():
        folder = tmp_path / "locked"
        folder.mkdir(mode=0o555)
        status, out, err = run(*QUICK, STUB, "--out", folder)
        why = "Permission denied"
    else:
        with mounted(tmp_path / "locked", "ro") as folder:
            status, out, err = run(*QUICK, STUB, "--out", folder)
        why = "Read-only file system"
    assert status == ExitStatus.CASE
    assert err == f"Error: {folder}/sampling-stub.report.txt: {why}\n"
    assert "Verdict: " in out


def test_folder_in_the_place_of_a_file_is_told(run, tmp_path, plain):
    (tmp_path / "sampling-stub.json").mkdir()
    status, _, err = run(*QUICK, STUB, "--out", tmp_path)
    assert status == ExitStatus.CASE
    assert err.endswith(f"Error: {tmp_path}/sampling-stub.json: Is a directory\n")
    assert names(tmp_path) == ["sampling-stub.json", "sampling-stub.report.txt"]


@pytest.mark.parametrize(
    "name",
    ["=1+1.toml", "-q.toml", "a\nb.toml", "'\"<b>&.toml", "..toml", "\u202etxt.toml",
     "%s{}.toml", "x" * 200 + ".toml"],
)  # fmt: skip
def test_names_of_files_stay_in_the_folder(run, tmp_path, plain, name):
    path = tmp_path / name
    path.write_bytes(Path(STUB).read_bytes())
    run(*QUICK, "--out", tmp_path / "out", "-q", "--", path)
    assert names(tmp_path) == sorted([name, "out"])
    assert names(tmp_path / "out") == sorted(f"{path.stem}.{x}" for x in ENDINGS)


# the terminal


def shell(command):
    """Status, stdout and stderr of the program started by a shell that closes streams."""
    line = f"exec {sys.executable} -m interpass.commands.app {command}"
    done = subprocess.run(
        ["bash", "-c", line], cwd=ROOT, text=True, capture_output=True, check=False
    )
    return done.returncode, done.stdout, done.stderr


@pytest.mark.parametrize(
    ("command", "ended"),
    [
        ("check cases/sampling-stub.toml >&-", (0, "", "")),
        ("check cases/sampling-stub.toml <&- >&- 2>&-", (0, "", "")),
        ("check cases/none.toml 2>&-", (3, "", "")),
        ("check cases/none.toml 2>/dev/full", (3, "", "")),
        (
            "check cases/sampling-stub.toml >/dev/full",
            (3, "", "Error: standard output: No space left on device\n"),
        ),
        (
            "--version >/dev/full",
            (3, "", "Error: standard output: No space left on device\n"),
        ),
    ],
)
def test_streams_that_are_closed_or_full(command, ended):
    assert shell(command) == ended


# Ctrl-C


@pytest.mark.parametrize("moment", range(12))
@pytest.mark.parametrize("error", [KeyboardInterrupt, OSError(5, "Input/output error")])
def test_stopped_at_any_step_of_writing(run, tmp_path, plain, monkeypatch, moment, error):
    """The disk fails, or Ctrl-C comes, at each step that touches a file in turn."""
    expected = results_of(run, tmp_path / "whole")
    old_results(tmp_path / "out")
    steps = count()

    def stopping(step):
        def call(*arguments, **options):
            if next(steps) == moment:
                raise error
            return step(*arguments, **options)

        return call

    for name in ("chmod", "replace"):
        monkeypatch.setattr(Path, name, stopping(getattr(Path, name)))
    monkeypatch.setattr(files.os, "fdopen", opened(stopping, os.fdopen))
    status, _, err = run(*QUICK, STUB, "--out", tmp_path / "out")
    changed = assert_whole(tmp_path / "out", expected)
    assert changed == moment // 3
    if error is KeyboardInterrupt:
        assert status == ExitStatus.INTERRUPTED
        written = f"{changed} files" if changed else "no file"
        assert err.endswith(
            f"Stopped by Ctrl-C at writing the files; {written} written.\n"
        )
    else:
        assert status == ExitStatus.CASE
        assert err.endswith(": Input/output error\n")
        assert "Error: None" not in err


def opened(stopping, really):
    """Make an ``os.fdopen`` whose stream may stop halfway through what it is given."""

    def fdopen(handle, mode):
        stream = really(handle, mode)

        class Stream:
            def __enter__(self):
                return self

            def __exit__(self, *_):
                stream.close()

            def write(self, content):
                stream.write(content[: len(content) // 2])
                stopping(stream.write)(content[len(content) // 2 :])

        return Stream()

    return fdopen


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(16))
def test_real_interrupt_at_a_random_moment(tmp_path, seed):
    """From before the case is read until after the last file is written."""

    def heed():  # some shells start children that ignore the signal
        signal.signal(signal.SIGINT, signal.SIG_DFL)

    out = tmp_path / "out"
    old_results(out)
    with start(*QUICK, STUB, "--out", out, preexec_fn=heed) as process:
        time.sleep(random.Random(seed).uniform(0.3, 5.0))
        process.send_signal(signal.SIGINT)
        _, err = process.communicate(timeout=60)
    assert process.returncode in {0, ExitStatus.INTERRUPTED, -signal.SIGINT}
    if process.returncode == ExitStatus.INTERRUPTED:
        assert "Stopped by Ctrl-C" in err
    assert not [name for name in names(out) if name.startswith(".")]
    for path in out.iterdir():
        whole = path.read_bytes()
        assert whole == OLD or ends_as_it_should(path.suffix, whole)


def ends_as_it_should(suffix, content):
    """Whether a file of this kind is there to its end."""
    ends = {".svg": b"</svg>\n", ".png": b"IEND\xaeB`\x82", ".json": b"}\n"}
    return content.endswith(ends.get(suffix, b"\n"))


# two at once


def test_two_writers_of_one_file_never_mix(tmp_path):
    path = tmp_path / "result"
    contents = [letter * 50_000 for letter in (b"a", b"b")]
    replace_file(path, contents[0])
    seen = []

    def write(content):
        for _ in range(60):
            replace_file(path, content, force=True)

    writers = [threading.Thread(target=write, args=(one,)) for one in contents]
    for writer in writers:
        writer.start()
    while any(writer.is_alive() for writer in writers):
        seen.append(path.read_bytes())
    for writer in writers:
        writer.join()
    assert set(seen) <= set(contents)
    assert path.read_bytes() in contents
    assert names(tmp_path) == ["result"]


@pytest.mark.slow
def test_two_runs_into_one_folder(tmp_path):
    """Both end well, and what they leave is what one alone leaves."""
    single, shared = tmp_path / "single", tmp_path / "shared"
    runs = [start(*QUICK, STUB, "--out", folder) for folder in (single, shared, shared)]
    for process in runs:
        with process:
            process.communicate(timeout=120)
        assert process.returncode == ExitStatus.OK
    assert names(shared) == names(single)
    for path in single.iterdir():
        assert (shared / path.name).read_bytes() == path.read_bytes()
