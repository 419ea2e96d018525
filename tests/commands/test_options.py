"""Words the shell completes."""

import os
import subprocess
import sys
from inspect import signature

import pytest
from interpass.commands import options as completion
from interpass.commands.app import main
from terminal import ROOT
from typer import BadParameter


def test_case_files_of_a_folder(monkeypatch):
    monkeypatch.chdir(ROOT)
    assert "cases/" in completion.case_files("ca")
    assert completion.case_files("cases/samp") == ["cases/sampling-stub.toml"]
    assert not [f for f in completion.case_files("cases/") if f.endswith(".csv")]
    assert completion.case_files("no/such/") == []


def test_names_of_the_tables():
    assert "NPS 3/4" in completion.sizes("nps 3")
    assert completion.metal_names("316") == ["316L"]
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


def test_a_group_of_options_stands_where_the_command_takes_it():
    @completion.with_groups
    def command(case: str, *, arc: completion.ArcOptions, last: int = 3) -> None:
        told.append((case, arc.cells, last))

    told: list[tuple[str, int | None, int]] = []
    assert list(signature(command).parameters) == ["case", "axisymmetric", "ring", "last"]
    command(case="a", axisymmetric=True, ring=None, last=1)
    assert told == [("a", 1, 1)]
    with pytest.raises(BadParameter, match="one of the two"):
        command(case="a", axisymmetric=True, ring=24, last=1)


def test_chart_and_compare_say_how_many_processes(capsys):
    files = ["cases/sampling-stub.toml", "cases/us-manifold.toml"]
    assert main(["compare", *files, "--axisymmetric", "--verbose"]) == 0
    assert "2 cases; 1 processes" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("case", "asked", "units"),
    [("us-manifold", (), "us"), ("us-manifold", ("--units", "si"), "si"),
     ("sampling-stub", (), "si")],
)  # fmt: skip
def test_desk_opens_in_the_units_of_its_case(run, monkeypatch, case, asked, units):
    opened = {}
    monkeypatch.delenv("INTERPASS_UNITS", raising=False)
    monkeypatch.setattr(
        "interpass.desk.opening.open_desk", lambda *_, **told: opened.update(told)
    )
    status, _, _ = run("desk", ROOT / "cases" / f"{case}.toml", "--no-browser", *asked)
    assert (status, opened["units"]) == (0, units)
