"""One verdict, one exit status: what a command ends with is decided by the joint, not by the
command."""

from dataclasses import replace

import pytest
from interpass.report.verdicts import check_words
from interpass.results.check import check_entry
from interpass.rules.limits import SLACK, at_least, at_most
from interpass.text.errors import ExitStatus
from interpass.text.kinds import SI
from interpass.text.layout import lines_of
from terminal import ROOT, changed

LOG = ROOT / "cases" / "sampling-stub-log.csv"
READINGS = ROOT / "cases" / "sampling-stub-readings.csv"
GIVEN = ('wait = "auto"', 'wait = "60 s"')
HIGHER = ('"175 degC"', '"240 degC"')
COARSE = ("[limits]", '[model]\ncell = "2 mm"\nring = 1\n[limits]')
SITUATIONS = {
    "holds": (HIGHER,),
    "over": (GIVEN, ('"175 degC"', '"60 degC"')),
    "out of reach": (
        HIGHER,
        ("preheat_min", 'wait_max = "20 s"\npreheat_min'),
    ),
    "fails": (("80 A", "400 A"), ('"11 V"', '"30 V"')),
    "mistake": (("80 A", "80 apples"),),
    "no such rules": (("preheat_min", 'rules = "nobody"\npreheat_min'),),
}
OK, CASE, RUN, LIMIT = (
    ExitStatus.OK, ExitStatus.CASE, ExitStatus.RUN, ExitStatus.LIMIT,
)  # fmt: skip
USUAL = {
    "holds": OK, "over": LIMIT, "out of reach": LIMIT, "fails": RUN, "mistake": CASE,
    "no such rules": CASE,
}  # fmt: skip
COMMANDS = {  # arguments after the case, and where a command differs: why is beside it
    "plan": (("--quick",), {}),
    "card": (("--quick",), {}),
    "card --trial": (("--quick",), {}),
    "chart": (
        ("--over", "air=20 degC,21 degC"),
        {"fails": LIMIT},
    ),  # a row each, none met
    "compare": (("other",), {}),
    "fit": ((READINGS, "--samples", "16"), {}),
    "review": (
        (LOG, "--quick"),
        {"out of reach": OK, "fails": None},
    ),  # judges what was done
    "check": ((), {"over": OK, "out of reach": OK, "fails": None}),  # runs no heat
}
TABLE = [
    (name, situation, expected)
    for name, (_, differs) in COMMANDS.items()
    for situation, usual in USUAL.items()
    if (expected := differs.get(situation, usual)) is not None
]


@pytest.mark.parametrize(("name", "situation", "expected"), TABLE)
def test_status_of_every_command_in_every_situation(
    run, tmp_path, monkeypatch, name, situation, expected
):
    case = changed(tmp_path, COARSE, *SITUATIONS[situation])
    arguments = [case if a == "other" else a for a in COMMANDS[name][0]]
    monkeypatch.chdir(tmp_path)
    status, out, err = run(*name.split(), case, *arguments)
    assert status == expected, err
    assert "Traceback" not in err
    if situation == "out of reach" and expected == LIMIT:
        assert "after 20 s of waiting" in " ".join(out.split())


def test_every_command_that_judges_is_in_the_table():
    import typer
    from interpass.commands import app

    names = set(typer.main.get_command(app.app).commands)
    assert names - set(COMMANDS) <= {"lesson", "new", "tables", "desk"}


@pytest.mark.parametrize("over", [-1.0, 0.0, SLACK / 2, 2 * SLACK, 0.05, 0.39, 0.5, 1.0])
def test_one_tolerance_for_plan_and_review(over):
    """175.39 against 175 fails wherever 175.05 does."""
    from interpass.logs.review import OVER, against
    from interpass.readings.reading import Reading

    limit = 448.15
    judged = at_most("a rule", limit + over, limit, "a source").verdict
    reading = Reading(1, 300.0, limit + over, limit + over)
    assert (against(reading, limit) == OVER) == (judged == "fail") == (over > SLACK)


@pytest.mark.parametrize("over", [-SLACK / 2, SLACK / 2, 2 * SLACK])
@pytest.mark.parametrize("judge", [at_most, at_least])
def test_a_verdict_that_leans_on_the_tolerance_says_so(judge, over):
    limit = 448.15
    check = judge(
        "a rule", limit + (over if judge is at_most else -over), limit, "a source"
    )
    assert check_entry(check)["tolerance_K"] == SLACK
    line = " ".join(lines_of(check_words([check], SI)))
    leans = 0 < over <= SLACK
    assert ("held by the tolerance of 0.01 K alone" in " ".join(line.split())) == leans
    without = " ".join(lines_of(check_words([replace(check, slack=0.0)], SI)))
    assert "tolerance" not in without
