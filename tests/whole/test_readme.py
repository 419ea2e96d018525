"""README: only commands there are, and the output they print."""

import re
import shlex

import pytest
import typer
from interpass.case_file.read import parse_case
from interpass.commands import app
from terminal import ROOT

README = (ROOT / "README.md").read_text(encoding="utf-8")


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
        options = {flag for p in known[name].params for flag in p.opts} | {"--help"}
        assert {a for a in arguments if a.startswith("-")} <= options
        assert all((ROOT / a).is_file() for a in arguments if a.endswith(".toml"))


def test_readme_shows_what_the_program_prints(run, monkeypatch):
    """Its beginning: words exactly; numbers to 2 %, for machines round differently."""
    shown = re.search(r"```text\n(.+?)```", README, re.DOTALL)[1]
    monkeypatch.chdir(ROOT)
    printed = run("plan", "cases/sampling-stub.toml")[1]
    number = re.compile(r"\d+\.?\d*(?:e-\d+)?")
    words = number.sub("#", shown).split()
    assert len(words) > 80
    assert words == number.sub("#", printed).split()[: len(words)]
    pairs = zip(number.findall(shown), number.findall(printed), strict=False)
    for a, b in pairs:
        assert float(a) == pytest.approx(float(b), rel=0.02, abs=1.0)


def test_case_of_readme_is_a_case():
    shown = re.search(r"```toml\n(.+?)```", README, re.DOTALL)[1]
    case = parse_case(shown)
    assert len(case.passes) == 2
    assert case.passes[1].wait is None
