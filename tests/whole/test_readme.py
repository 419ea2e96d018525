"""README: only commands there are, and the output they print. The guides: what is there."""

import re
import shlex

import pytest
import typer
from interpass.case_file.read import parse_case
from interpass.commands import app
from terminal import ROOT

README = (ROOT / "README.md").read_text(encoding="utf-8")
PACKAGE = ROOT / "thermo" / "interpass"


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


# ------------------------------------------------------------------- the guides
def named_in(document):
    """What stands in backticks in a document of the project."""
    return re.findall(r"`([^`\n]+)`", (ROOT / document).read_text(encoding="utf-8"))


def test_every_test_that_the_guide_names_is_there():
    """``test_begins_like_this...`` stands for one that begins so."""
    code = "\n".join(p.read_text(encoding="utf-8") for p in ROOT.glob("tests/**/*.py"))
    named = [
        n for n in named_in("DEVELOPERS.md") if re.fullmatch(r"test_\w+(\.\.\.)?", n)
    ]
    assert len(named) > 40
    for name in named:
        rest = r"\w*" if name.endswith("...") else ""
        assert re.search(rf"^ *def {name.rstrip('.')}{rest}\(", code, re.MULTILINE), name


@pytest.mark.parametrize("document", ["DEVELOPERS.md", "thermo/MODEL.md"])
def test_every_module_that_a_guide_names_is_there(document):
    """``heat/march``, ``heat/near_arc.py`` or a name in it, ``trade/data/doubt.csv``."""
    wings = {p.name for p in PACKAGE.iterdir() if p.is_dir()}
    named = [n for n in named_in(document) if n.partition("/")[0] in wings and "/" in n]
    named = [n for n in named if re.fullmatch(r"[\w/.]+", n)]
    assert len(named) > 15
    for name in named:
        module, _, inside = name.partition(".")
        files = [PACKAGE / name, PACKAGE / f"{module}.py", ROOT / "tests" / name]
        assert any(f.exists() for f in files), name
        if files[1].exists() and inside not in ("", "py"):
            assert inside in files[1].read_text(encoding="utf-8"), name
