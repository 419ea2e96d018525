"""The program as tests start it, the cases they give it, and how they read its JSON."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent
STUB = str(ROOT / "cases" / "sampling-stub.toml")
SHORT = str(ROOT / "cases" / "check-joint.toml")  # given waits, too short


def start(*arguments, **options):
    """Start the program as a process of its own."""
    command = [sys.executable, "-m", "interpass.commands.app", *map(str, arguments)]
    pipes = {"stdin": subprocess.DEVNULL, "stdout": subprocess.PIPE}
    return subprocess.Popen(
        command, cwd=ROOT, text=True, **pipes | {"stderr": subprocess.PIPE} | options
    )


def changed(tmp_path, *changes):
    """The stub's case with some text replaced, in a file of its own."""
    text = Path(STUB).read_text(encoding="utf-8")
    for old, new in changes:
        if old not in text:
            raise ValueError(old)
        text = text.replace(old, new)
    path = tmp_path / "changed.toml"
    path.write_text(text, encoding="utf-8")
    return path


def no_constant(word):
    """For ``json.loads``: NaN and Infinity are not JSON."""
    msg = f"{word} is not JSON"
    raise AssertionError(msg)
