"""Every command where the machine does not help: each one ends with a status of its own, in
words, and leaves nothing half done."""

import os
import random
import signal
import subprocess
import sys

import pytest
from interpass.text.errors import ExitStatus
from terminal import ROOT, SHORT, STUB
from whole.test_attack_files import mounted

CASES = ROOT / "cases"
ONCE = "--axisymmetric"
COMMANDS = {  # everything a command can write, into the folder it stands in
    "plan": ("plan", STUB, ONCE, "--quick", "--out", ".", "--report", "r.html"),
    "card": ("card", STUB, ONCE, "--quick"),
    "chart": ("chart", STUB, ONCE, "--over", "air=20 degC,21 degC", "--csv", "c.csv"),
    "compare": ("compare", STUB, SHORT, ONCE, "--csv", "c.csv", "--figure", "c.svg"),
    "fit": ("fit", STUB, CASES / "sampling-stub-readings.csv", ONCE, "--samples", "16",
            "--block", "b.toml"),
    "review": ("review", STUB, CASES / "sampling-stub-log.csv", ONCE, "--quick", "--out", "."),
    "lesson": ("lesson", ONCE, "--no-movie", "--size", "1/2,1", "--out", "."),
    "check": ("check", STUB),
    "new": ("new", "n.toml", "--size", "NPS 1", "--material", "316L"),
    "tables": ("tables", "materials", "316L", "--figure", "m.svg"),
}  # fmt: skip
KNOWN = {status.value for status in ExitStatus} - {ExitStatus.BUG, ExitStatus.USAGE}


def started(name, folder, *, before="", **environment):
    """A command as a process of its own, after what a shell does before it."""
    arguments = [sys.executable, "-m", "interpass", *map(str, COMMANDS[name])]
    own = {k: v for k, v in os.environ.items() if k not in environment}
    own |= {k: v for k, v in environment.items() if v is not None}
    return subprocess.Popen(
        ["sh", "-c", f'{before} exec "$@"', "sh", *arguments], cwd=folder, env=own,
        stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip


def assert_sound(process, folder, *, is_loading=False):
    """It ended, in words; what it left is whole. Before our first line Python ends its way."""
    out, err = process.communicate(timeout=300)
    if is_loading and "Traceback" in err and "commands" not in err:
        return ExitStatus.USAGE, out, err
    status = _as_a_shell_has_it(process.returncode)
    assert status in KNOWN, err
    assert "Traceback" not in err
    left = [path.name for path in folder.rglob(".*") if path.is_file()]
    assert not left
    return status, out, err


def _as_a_shell_has_it(status):
    """Python ends by the signal itself where Ctrl-C fell into code that was made at run time."""
    return 128 - status if status < 0 else status


def no_home(name, tmp_path, rng):
    """A service account: no home, no cache folder of a user."""
    home = rng.choice([None, "", "/nonexistent", "/dev/null"])
    process = started(name, tmp_path, HOME=home, XDG_CACHE_HOME=None, MPLCONFIGDIR=None)
    status, _, _ = assert_sound(process, tmp_path)
    assert status in (ExitStatus.OK, ExitStatus.LIMIT)


def closed_streams(name, tmp_path, rng):
    closed = rng.choice(
        ["<&-", ">&-", "2>&-", "<&- >&- 2>&-", ">/dev/full", "2>/dev/full"]
    )
    assert_sound(started(name, tmp_path, before=f"exec {closed};"), tmp_path)


def read_only_folder(name, tmp_path, rng):
    with mounted(tmp_path / "locked", "ro") as folder:
        status, _, err = assert_sound(started(name, folder), folder)
        assert name == "check" or (status == ExitStatus.CASE and "Error: " in err)


def full_disk(name, tmp_path, rng):
    with mounted(tmp_path / "full", f"size={rng.choice([4, 8, 16])}k") as folder:
        status, _, err = assert_sound(started(name, folder), folder)
        if status == ExitStatus.CASE:
            assert "No space left on device" in err


def stopped(name, tmp_path, rng):
    """Ctrl-C at a random moment, from the first on that Python itself has begun."""
    process = started(name, tmp_path)
    try:
        process.wait(rng.choice([rng.uniform(0.08, 0.4), rng.uniform(0.4, 4.0)]))
    except subprocess.TimeoutExpired:
        process.send_signal(signal.SIGINT)
    status, _, err = assert_sound(process, tmp_path, is_loading=True)
    assert status != ExitStatus.INTERRUPTED or "Stopped by Ctrl-C" in err


TROUBLES = (no_home, closed_streams, read_only_folder, full_disk, stopped)
PAIRS = [(name, trouble) for name in COMMANDS for trouble in TROUBLES]
FEW = {(name, TROUBLES[n % len(TROUBLES)]) for n, name in enumerate(COMMANDS)}


@pytest.mark.parametrize(
    ("name", "trouble", "seed"),
    [
        pytest.param(
            name, trouble, seed, id=f"{name} {trouble.__name__} {seed}",
            marks=() if seed == 0 and (name, trouble) in FEW else pytest.mark.slow,
        )
        for name, trouble in PAIRS
        for seed in range(20 if trouble is stopped else 2)
    ],
)  # fmt: skip
def test_command_in_trouble(tmp_path, name, trouble, seed):
    trouble(name, tmp_path, random.Random(f"{name} {seed}"))
