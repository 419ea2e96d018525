"""Nothing that a command reads is written by it, through any option and any name."""

import shutil
from pathlib import Path

import pytest
import typer
from interpass.commands import app
from interpass.text.errors import ExitStatus
from interpass.text.files import is_ours
from terminal import ROOT, STUB

CASES = ROOT / "cases"
ONCE = "--axisymmetric"
READS = {  # how each command is started, by the files it reads
    "plan": ("plan", "c.toml", ONCE, "--quick"),
    "card": ("card", "c.toml", ONCE, "--quick"),
    "chart": ("chart", "c.toml", ONCE, "--over", "current=60 A,80 A"),
    "compare": ("compare", "c.toml", "d.toml", ONCE),
    "fit": ("fit", "c.toml", "readings.csv", ONCE, "--samples", "16"),
    "review": ("review", "c.toml", "log.csv", ONCE, "--quick"),
    "lesson": ("lesson", "c.toml", ONCE, "--no-movie", "--size", "1/2,1"),
}


def options_that_write(name):
    """Options of a command that name a file it writes."""
    command = typer.main.get_command(app.app).commands[name]
    return [
        (p.opts[0], p.metavar)
        for p in command.params
        if p.param_type_name == "option" and (p.metavar or "").startswith("FILE")
    ]


PAIRS = [(name, *option) for name in READS for option in options_that_write(name)]


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A folder with everything a command reads, the rule file of its case too."""
    text = Path(STUB).read_text(encoding="utf-8")
    rules = 'rules = "process piping, rules.toml"\n[[limits.watch]]'
    assert "[limits]\n" in text
    text = text.replace("[limits]\n", f"[limits]\n{rules.splitlines()[0]}\n", 1)
    for case in ("c.toml", "d.toml"):
        (tmp_path / case).write_text(text, encoding="utf-8")
    (tmp_path / "rules.toml").write_text(RULE, encoding="utf-8")
    shutil.copy(CASES / "sampling-stub-readings.csv", tmp_path / "readings.csv")
    shutil.copy(CASES / "sampling-stub-log.csv", tmp_path / "log.csv")
    monkeypatch.chdir(tmp_path)
    return tmp_path


RULE = """
[[set]]
name = "ours"
[[set.rule]]
name = "passes"
value = "passes"
at_most = "9"
source = "ours"
"""


def test_there_are_options_to_try():
    assert {option for _, option, _ in PAIRS} >= {"--csv", "--figure", "--block", "--out"}


@pytest.mark.parametrize(("name", "option", "metavar"), PAIRS)
def test_an_input_is_refused_before_anything_is_computed(
    run, folder, name, option, metavar
):
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    for target in sorted(before):
        is_read = target in READS[name] or target == "rules.toml"
        if not is_read:
            continue
        ending = {"--figure": ".svg", "--html": ".html", "--report": ".html"}.get(
            option, ""
        )
        ending = ".pdf" if (name, option) == ("card", "--out") else ending
        link = folder / f"link{ending or '.csv'}"
        link.symlink_to(target)
        status, _, err = run(*READS[name], option, link, "--force")
        assert status == ExitStatus.USAGE, err
        assert f"{link}: this command reads it" in err
        link.unlink()
        assert {p.name: p.read_bytes() for p in folder.iterdir()} == before


def test_a_folder_of_results_is_no_way_round(run, folder):
    """``--out .`` writes names made from the case's; one of them may be an input."""
    (folder / "c.json").symlink_to("rules.toml")
    status, _, err = run(*READS["plan"], "--out", folder, "--force")
    assert status == ExitStatus.USAGE
    assert "c.json: this command reads it" in err
    assert (folder / "rules.toml").read_text(encoding="utf-8") == RULE
    assert not (folder / "c.report.txt").exists()


@pytest.mark.parametrize("name", sorted({name for name, *_ in PAIRS}))
def test_a_second_run_replaces_the_first_and_nothing_else(run, folder, name):
    """Every file a command writes carries the program's mark."""
    endings = {
        "--figure": "a.png", "--html": "a.html", "--report": "b.html", "--csv": "a.csv",
        "--block": "a.txt",
    }  # fmt: skip
    options = [
        x
        for _, option, _ in (pair for pair in PAIRS if pair[0] == name)
        for x in (
            option,
            "a.pdf" if name == "card" and option == "--out" else endings[option],
        )
    ]
    status, _, err = run(*READS[name], *options)
    assert "Wrote" in err
    assert run(*READS[name], *options, "--units", "us")[0] == status
    for path in options[1::2]:
        (folder / path).write_text("somebody's own")
    again, _, err = run(*READS[name], *options)
    assert again == ExitStatus.USAGE
    assert "--force" in err
    assert (folder / options[-1]).read_text() == "somebody's own"
    assert run(*READS[name], *options, "--force")[0] == status


@pytest.mark.parametrize("name", ["plan", "review", "lesson"])
def test_a_folder_may_be_filled_again_until_somebody_works_in_it(run, folder, name):
    """Reports, data, pictures and the cases of a lesson: each one is known again."""
    status, _, err = run(*READS[name], "--out", "results")
    files = [path for path in Path("results").rglob("*") if path.is_file()]
    assert len(files) >= 5, err
    assert all(is_ours(path) for path in files if path.suffix != ".toml")
    assert run(*READS[name], "--out", "results", "--units", "us")[0] == status
    page = next(path for path in files if path.suffix in (".txt", ".html"))
    page.write_text("somebody's own")
    others = {path: path.read_bytes() for path in files}
    assert run(*READS[name], "--out", "results")[0] == ExitStatus.USAGE
    assert {path: path.read_bytes() for path in files} == others
