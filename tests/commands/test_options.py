"""Words the shell completes."""

import os
import subprocess
import sys

import pytest
from interpass.commands import options as completion
from terminal import ROOT


def test_case_files_of_a_folder(monkeypatch):
    monkeypatch.chdir(ROOT)
    assert "cases/" in completion.case_files("ca")
    assert completion.case_files("cases/samp") == ["cases/sampling-stub.toml"]
    assert not [f for f in completion.case_files("cases/") if f.endswith(".csv")]
    assert completion.case_files("no/such/") == []


def test_names_of_the_tables():
    assert "NPS 3/4" in completion.sizes("nps 3")
    assert completion.metals("316") == ["316L"]
    assert "ER316L" in completion.fillers("er3")
    assert completion.kinds("cou") == ["coupling"]


@pytest.mark.parametrize(
    ("typed", "offered"),
    [
        ("interpass plan cases/steam", "cases/steam-drain.toml"),
        ("interpass new --kind half", "half coupling"),
    ],
)
def test_shell_asks_the_program(typed, offered):
    words = {"COMP_WORDS": typed, "COMP_CWORD": str(len(typed.split()) - 1)}
    done = subprocess.run(
        [sys.executable, "-c", "from interpass.commands.app import main; main()"],
        env=os.environ | words | {"_INTERPASS_COMPLETE": "complete_bash"},
        capture_output=True, text=True, check=False, cwd=ROOT,
    )  # fmt: skip
    assert offered in done.stdout.splitlines(), done.stderr
