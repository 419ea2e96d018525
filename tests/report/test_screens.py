"""First screens: those of the shipped cases to the letter, and how little they say.

The texts in ``tests/data/screens/`` are remade, where numbers have moved on purpose, by
``REMAKE_SCREENS=1 pytest --runslow tests/report/test_screens.py``; read the difference before it is kept.
"""

import os
import re
from collections import Counter
from functools import cache

import pytest
from interpass.case_file.read import parse_case
from interpass.commands import plan as command
from interpass.heat.waits import plan
from interpass.report import plan as report
from interpass.text.kinds import UNIT_SYSTEMS
from terminal import ROOT

SCREENS = ROOT / "tests" / "data" / "screens"
CASES = sorted(path.stem for path in (ROOT / "cases").glob("*.toml"))
READINGS = ("fit", "cases/sampling-stub.toml", "cases/sampling-stub-readings.csv")
LOG = ("review", "cases/sampling-stub.toml", "cases/sampling-stub-log.csv")
COMMANDS = {
    **{name: ("plan", f"cases/{name}.toml") for name in CASES},
    "sampling-stub.quick": ("plan", "cases/sampling-stub.toml", "--quick"),
    "sampling-stub.fit": READINGS,
    "sampling-stub.review": (*LOG, "--now", "14:20:00"),
    "us-manifold.us": ("plan", "cases/us-manifold.toml", "--units", "us"),
}
TABLES = {  # tables that must fit, by name of their text
    "sampling-stub.check": ("check", "cases/sampling-stub.toml"),
    "us-manifold.us.check": ("check", "cases/us-manifold.toml", "--units", "us"),
    "sampling-stub.chart": (
        *("chart", "cases/sampling-stub.toml", "--axisymmetric"),
        *("--over", "size=1/2,3/4", "--over", "current=60 A,80 A"),
    ),
    "sampling-stub.compare": (
        *("compare", "cases/sampling-stub.toml", "cases/mixed-drain.toml"),
        "--axisymmetric",
    ),
}
ALWAYS = ("sampling-stub", "sampling-stub.fit", "us-manifold", "check-joint")
MOST, MOST_WITH_WARNINGS = 15, 20  # lines at 80 columns


def printed(run, monkeypatch, name, columns="80"):
    monkeypatch.chdir(ROOT)
    monkeypatch.setenv("COLUMNS", columns)
    return run(*(COMMANDS | TABLES)[name], "--quiet")[1]


def kept(name, text):
    """The text of a name; the one given when texts are remade."""
    path = SCREENS / f"{name}.txt"
    if os.environ.get("REMAKE_SCREENS"):
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return path.read_text(encoding="utf-8")


@pytest.mark.parametrize("name", TABLES)
def test_tables_to_the_letter_and_on_a_narrow_terminal(run, monkeypatch, name):
    text = printed(run, monkeypatch, name)
    assert text == kept(name, text)
    assert max(map(len, text.splitlines())) <= 80
    if "compare" not in name:
        narrow = printed(run, monkeypatch, name, columns="60")
        assert max(map(len, narrow.splitlines())) <= 60


@pytest.mark.parametrize(
    "name",
    [n if n in ALWAYS else pytest.param(n, marks=pytest.mark.slow) for n in COMMANDS],
)
def test_first_screen_to_the_letter(run, monkeypatch, name):
    text = printed(run, monkeypatch, name)
    assert text == kept(name, text)
    lines = text.splitlines()
    warned = any(
        line.startswith(("  FAIL", "  WARN", "  NOTE", "  FLAG")) for line in lines
    )
    assert len(lines) <= (MOST_WITH_WARNINGS if warned else MOST)
    assert max(map(len, lines)) <= 80
    assert text.rpartition("Verdict: ")[2].count("\n") <= 3
    assert text.isascii()


def test_first_screen_of_a_narrow_terminal(run, monkeypatch):
    text = printed(run, monkeypatch, "sampling-stub.quick", columns="60")
    assert max(map(len, text.splitlines())) <= 60
    assert "(typical)" in text


def test_parts_are_those_of_the_report():
    assert tuple(report.SECTIONS) == command.PARTS


def test_a_part_alone_can_be_asked_for(run):
    out = run("plan", ROOT / "cases" / "steam-drain.toml", "--axisymmetric", "--quick",
              "--show", "energy")[1]  # fmt: skip
    assert "Energy of the passes" in out
    assert "Passes\n" not in out
    assert "Checks" not in out
    assert out.splitlines()[-1].startswith(("Verdict: ", "before pass"))


def test_a_part_there_is_not_is_told(run):
    status, out, err = run("plan", ROOT / "cases" / "steam-drain.toml", "--show", "heat")
    assert (status, out) == (2, "")
    assert "one or more of waits" in " ".join(err.split())


# how little is said of ordinary joints

ORDINARY = {  # size, schedule, metal, filler, fitting, amps of two passes, purge
    "NPS 1/2 304L coupling": ("1/2", "80S", "304L", "ER308L", "coupling", 65, 70, True),
    "NPS 3/4 316L elbow": ("3/4", "80S", "316L", "ER316L", "elbow", 75, 80, True),
    "NPS 1 316L tee": ("1", "80S", "316L", "ER316L", "tee", 80, 85, True),
    "NPS 1 304L coupling, no purge": (
        "1",
        "80S",
        "304L",
        "ER308L",
        "coupling",
        80,
        85,
        False,
    ),
    "NPS 1 1/2 316L coupling": (
        "1 1/2",
        "80S",
        "316L",
        "ER316L",
        "coupling",
        85,
        90,
        True,
    ),
    "NPS 1/2 carbon steel cap": (
        "1/2",
        "80",
        "carbon steel",
        "ER70S-6",
        "cap",
        70,
        75,
        False,
    ),
    "NPS 3/4 carbon steel tee": (
        "3/4",
        "80",
        "carbon steel",
        "ER70S-6",
        "tee",
        75,
        80,
        False,
    ),
    "NPS 1 carbon steel elbow": (
        "1",
        "80",
        "carbon steel",
        "ER70S-6",
        "elbow",
        85,
        90,
        False,
    ),
    "NPS 1 1/2 carbon steel": (
        "1 1/2",
        "80",
        "carbon steel",
        "ER70S-6",
        "coupling",
        90,
        95,
        False,
    ),
    "NPS 3/4 2205 coupling": ("3/4", "80S", "2205", "ER2209", "coupling", 75, 80, True),
}


def ordinary(name):
    size, schedule, metal, filler, fitting, first, second, purged = ORDINARY[name]
    bore = 'bore = "argon purge"\npurge_flow = "6 l/min"' if purged else ""
    return parse_case(f'''
pipe = {{ size = "NPS {size}", schedule = "{schedule}", material = "{metal}" }}
fitting = {{ kind = "{fitting}", material = "{metal}" }}
joint = {{ end_gap = "1.6 mm", filler = "{filler}" }}
[arc]
voltage = "11 V"
travel = "60 mm/min"
[[pass]]
current = "{first} A"
[[pass]]
current = "{second} A"
[surroundings]
{bore}
[model]
ring = 24
cell = "1.5 mm"
''')


@cache
def screen_of(name):
    case = ordinary(name)
    return report.first_screen(case, plan(case), UNIT_SYSTEMS["si"])


def test_no_note_is_told_of_most_joints():
    """What holds of nearly every joint is no news of this one."""
    told = Counter(
        note[1]
        for name in ORDINARY
        for note in re.finditer(r"^  NOTE ([^:,]+)", screen_of(name), re.MULTILINE)
    )
    assert all(count <= len(ORDINARY) / 2 for count in told.values()), told


@pytest.mark.parametrize("name", ORDINARY)
def test_ordinary_joint_has_two_notes_at_most(name):
    case, text = ordinary(name), screen_of(name)
    notes = [line for line in text.splitlines() if line.startswith("  NOTE")]
    assert len(notes) <= 2, text
    if case.surroundings.bore == "argon purge":
        assert "tint" not in text
    for words in ("older editions", "vibration", "tungsten", "cool enough", "strictest"):
        assert words not in text
