"""The command ``new``: its answers, its questions, and that what it writes is a case."""

import io
import sys
from dataclasses import replace
from itertools import product

import pytest
from interpass.case_file.conversation import ask
from interpass.case_file.questions import (
    BARE,
    QUESTIONS,
    answers_from,
    offered_kinds,
    option,
)
from interpass.case_file.read import parse_case
from interpass.case_file.write import new_case_text
from interpass.heat.waits import plan
from interpass.physics.metals import material_names
from interpass.rules import judge as rules
from interpass.text.errors import CatalogueError, ExitStatus
from interpass.text.kinds import US

STUB = {"size": "NPS 3/4", "material": "316L"}
PER_METAL = {"copper": {"interpass": "200 degC"}}


def new(**given):
    return new_case_text(answers_from(STUB | given))


@pytest.mark.parametrize(
    ("size", "metal", "kind"),
    [
        *product(["DN 15", "1 1/2"], material_names(), ["coupling"]),
        *product(
            ["1"],
            ["316L"],
            offered_kinds(),
        ),
    ],
)
def test_what_is_written_is_a_right_joint(size, metal, kind):
    """Every size, metal and kind gives a case that the rules accept, the preheat aside."""
    text = new(size=size, material=metal, kind=kind, **PER_METAL.get(metal, {}))
    case = parse_case(text)
    assert case.pipe.material.name == metal
    assert case.fitting.kind == ("none" if kind == BARE else kind)
    missed = [check.rule for check in rules.failed(rules.checks(case))]
    cold = metal == "1.25Cr-0.5Mo"  # wants 120 degC
    assert missed == (["temperature before pass 1"] if cold else [])


def test_usual_answers():
    """80 A for 3.91 mm of wall, 80S for stainless, filler of the metal: common practice."""
    found = answers_from(STUB)
    assert list(found) == [question.name for question in QUESTIONS]
    assert (found["schedule"], found["kind"], found["class"]) == (
        "80S",
        "coupling",
        "3000",
    )
    assert (found["filler"], found["passes"], found["amps"]) == ("ER316L", "2", "80 A")
    steel = answers_from({"size": "1/2", "material": "A105", "kind": "flange"})
    assert (steel["schedule"], steel["class"]) == ("80", "150")
    assert (steel["filler"], steel["material"]) == ("ER70S-6", "carbon steel")


def test_answers_reach_the_case():
    text = new(
        schedule="160", kind="Elbow", passes="3", amps="75", travel="2.2 in/min",
        fitting_material="A105", interpass="160C", title='A "trial" joint',
        **{"class": "6000"},
    )  # fmt: skip
    case = parse_case(text)
    assert case.title == 'A "trial" joint'
    assert (case.pipe.schedule, case.fitting.pressure_class) == ("160", 6000)
    assert case.fitting.material.name == "carbon steel"
    assert case.filler_name == "ER309L"
    assert [p.current for p in case.passes] == [75.0] * 3
    assert case.passes[0].travel == pytest.approx(2.2 * 0.0254 / 60)
    assert case.limits.interpass_max == pytest.approx(160 + 273.15)
    assert case.limits.interpass_max_standing == "given"


def test_a_bare_pipe_is_asked_only_what_it_has():
    asked = []

    def answer(prompt):
        asked.append(prompt)
        return {"Fi": "Bare pipe", "Pi": "1"}.get(prompt[:2], "")

    found = ask({"size": "1", "material": "316L", "length": "5 in"}, answer, asked.append)
    assert not [q for q in asked if "fitting" in q or "Filler" in q or "Class" in q]
    assert any("What holds the pipe" in q and "pipe in a vice" in q for q in asked)
    case = parse_case(new_case_text(found, US))
    assert (case.is_bare, case.title) == (True, "Bead round NPS 1 pipe")
    assert case.fitting.length == case.pipe.length == pytest.approx(5 * 0.0254)
    assert case.band == pytest.approx(0.25 * 0.0254)
    assert found == answers_from(
        {"size": "1", "material": "316L", "length": "5 in", "kind": "none"}
    )


def test_customary_limit_is_a_remark_with_its_standing():
    assert '# interpass_max = "175 degC"    # customary (from memory)' in new()
    assert parse_case(new()).limits.interpass_max_standing == "from memory"


def test_customary_limit_of_a_case_in_us_units():
    """350 degF by API RP 582 (from memory), not the 347 that 175 degC is; 482 by NORSOK."""
    for metal, degF in (("316L", 350), ("carbon steel", 482)):
        joint = {"size": "NPS 3/4", "material": metal}
        text = new_case_text(answers_from(joint, US), US)
        assert f'# interpass_max = "{degF} degF"' in text
        case = parse_case(text)
        assert case.limits.interpass_max * 1.8 - 459.67 == pytest.approx(degF)
        (row,) = (r for r in case.assumptions if r.key == "limits.interpass_max")
        assert row.value == f"{degF} degF"
        found = [c for c in rules.checks(case) if c.rule.startswith("interpass maximum")]
        assert found
        assert rules.failed(found) == []


@pytest.mark.parametrize("metal", ["316L", "carbon steel"])
def test_new_case_can_be_planned(metal):
    case = parse_case(new(material=metal))
    quick = replace(case, model=replace(case.model, ring=1, cell=2e-3))
    history = plan(quick)
    assert history.complete
    assert len(history.passes) == 2


@pytest.mark.parametrize("kind", ["coupling", BARE])
def test_remarks_can_be_taken_up(kind):
    """Every line behind a # that is a key is right as it stands."""
    lines = []
    for line in new(kind=kind).splitlines():
        bare = line.removeprefix("# ")
        is_key = bare != line and (bare.startswith("[[") or " = " in bare)
        lines.append(bare if is_key and "rules =" not in bare else line)
    case = parse_case("\n".join(lines))
    assert case.limits.watch
    assert case.limits.examine
    assert (case.passes[0].wire is None) == (kind == BARE)
    assert case.passes[0].tungsten == pytest.approx(2.4e-3)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"size": "5/8"}, "--size: no pipe size '5/8'"),
        ({"material": "316X"}, "--material: no material '316X'; did you mean"),
        ({"schedule": "90"}, "--schedule: no NPS 3/4 pipe of schedule '90'"),
        ({"kind": "elbo"}, "--kind: no fitting kind 'elbo'; did you mean 'elbow'"),
        ({"kind": "sleeve"}, "--kind: no fitting kind 'sleeve'"),
        ({"class": "300"}, "--class: no NPS 3/4 socket fitting of class '300'"),
        ({"class": "heavy"}, "--class: class 'heavy' is not a whole number"),
        ({"passes": "13"}, "--passes: passes 13; expected 1 to 12"),
        ({"amps": "many"}, "--amps: 'many' does not start with a number"),
        ({"amps": "80 V"}, "--amps: '80 V' measures voltage"),
        (
            {"amps": "9000"},
            "--amps: current '9000 A' is out of range; allowed: 5 to 400 A",
        ),
        ({"length": "2 mm"}, "--length: length '2 mm' is out of range"),
        ({"length": "short"}, "--length: 'short' does not start with a number"),
        ({"travel": "90 rev/min"}, "--travel: turn '90 rev/min' is out of range"),
        (
            {"material": "P11", "interpass": "100 degC"},
            "these answers make no joint: limits.preheat_min",
        ),
        ({"material": "copper"}, "--interpass is needed"),
        ({"fitting_material": "2205"}, "--filler is needed"),
        ({"kind": "bare pipe", "class": "3000"}, "--class does not go with a bare pipe"),
        (
            {"kind": "none", "held": "fitting in a chuck"},
            "--held: no way of holding the piece 'fitting in a chuck'; did you mean 'pipe in",
        ),
        ({"title": "a\nb"}, "--title: this is no title; give 1 to 100 characters"),
    ],
)
def test_wrong_answers_name_their_option(given, words):
    with pytest.raises(CatalogueError) as caught:
        new(**given)
    assert words in str(caught.value)
    assert caught.value.status == ExitStatus.USAGE


def test_missing_answers_are_named():
    with pytest.raises(CatalogueError, match="needs --size and --material; give them"):
        answers_from({})
    with pytest.raises(CatalogueError, match="needs --material; give them"):
        answers_from({"size": "1"})


# asking


def test_questions_show_their_default_and_come_again():
    typed = iter(["", "9/4", "1/2", "316", *[""] * 20])
    asked, said = [], []

    def answer(prompt):
        asked.append(prompt)
        return next(typed)

    found = ask({"kind": "elbow"}, answer, said.append)
    assert asked[:3] == ["Pipe size, like NPS 3/4 or DN 20: "] * 3
    assert said[0] == "This one has no default."
    assert "no pipe size '9/4'" in said[1]
    assert "Schedule of the pipe [80S]: " in asked
    assert not [prompt for prompt in asked if prompt.startswith("Fitting (")]
    assert (found["size"], found["kind"], found["material"]) == (
        "NPS 1/2",
        "elbow",
        "316",
    )
    assert found == answers_from({"size": "1/2", "material": "316", "kind": "elbow"})


def test_a_refused_answer_comes_again_at_once():
    """Whether it was typed or came as an option; nothing is left for the end."""
    typed = iter(
        ["", "1/2", "316L", *[""] * 7, "9000", "75", "", "20 degC", "", "hand", "", ""]
    )
    asked, said = [], []

    def answer(prompt):
        asked.append(prompt)
        return next(typed)

    found = ask({"kind": "elbo"}, answer, said.append)
    assert (found["amps"], found["kind"]) == ("75 A", "coupling")
    amps = [n for n, prompt in enumerate(asked) if prompt.startswith("Current")]
    assert amps[1] == amps[0] + 1
    assert any("current '9000 A' is out of range" in words for words in said)
    assert any("--kind: no fitting kind 'elbo'" in words for words in said)
    assert any("interpass_max '20 degC' is out of range" in words for words in said)
    assert any("no way of holding the piece 'hand'" in words for words in said)


def test_turn_and_length_reach_the_case(run):
    """0.85 rev/min on 26.7 mm (NPS 3/4, ASME B36.10M): pi d n = 71.3 mm/min."""
    joint = ("new", "--size", "3/4", "--material", "316L")
    status, out, _ = run(*joint, "--turn", "0.85 rev/min", "--length", "75 mm")
    case = parse_case(out)
    assert status == ExitStatus.OK
    assert 'turn = "0.85 rev/min"' in out
    assert case.pipe.length == pytest.approx(0.075)
    assert case.passes[1].travel * 6e4 == pytest.approx(71.3, abs=0.05)
    for wrong, words in (
        (("--turn", "1 rev/min", "--travel", "60"), "exclude one another"),
        (("--turn", "60 mm/min"), "--turn: '60 mm/min' measures speed"),
    ):
        status, out, err = run(*joint, *wrong)
        assert (status, out) == (ExitStatus.USAGE, "")
        assert words in " ".join(err.split())


def test_questions_and_case_in_us_units(run, monkeypatch):
    """Examples and usual answers are US, and so is the case after that."""
    lines = (
        "3/4\n316L\n\n\na foot\n3 in\n"
        + "\n" * 5
        + "2.5 in/min\n350F\nfitting in a vise\n\n"
    )
    monkeypatch.setenv("INTERPASS_UNITS", "us")
    monkeypatch.setattr(sys, "stdin", Terminal(lines))
    status, out, err = run("new")
    assert status == ExitStatus.OK
    assert "like 3 in; long" in err
    assert "[2.4 in/min]" in err
    assert "like 350 degF" in err
    assert "write it like '3 in'" in err
    assert not [unit for unit in ("mm", "degC", "m/s") if unit in out + err]
    case = parse_case(out)
    assert case.units == "us"
    assert (case.surroundings.holding.on, case.surroundings.holding.by) == (
        "fitting",
        "vice",
    )
    assert case.pipe.length == pytest.approx(3 * 0.0254)
    assert case.passes[0].travel == pytest.approx(2.5 * 0.0254 / 60)
    assert case.limits.interpass_max == pytest.approx((350 + 459.67) / 1.8)
    monkeypatch.delenv("INTERPASS_UNITS")
    asked = run("new", "--size", "3/4", "--material", "316L", "--units", "us")[1]
    assert parse_case(asked).units == "us"
    assert parse_case(new()).units == "si"


@pytest.mark.parametrize(
    ("option", "number", "readings"),
    [
        ("--interpass", "350", "350 degF (177 degC) or 350 degC (662 degF)?"),
        ("--travel", "60", "60 in/min (1520 mm/min) or 60 mm/min (2.36 in/min)?"),
        ("--length", "75", "75 in (1900 mm) or 75 mm (2.95 in)?"),
    ],
)
@pytest.mark.parametrize("units", ["si", "us"])
def test_a_bare_number_is_refused_with_both_readings(
    run, monkeypatch, units, option, number, readings
):
    joint = ("new", "--size", "3/4", "--material", "316L", "--units", units)
    status, out, err = run(*joint, option, number)
    assert (status, out) == (ExitStatus.USAGE, "")
    assert f"'{number}' is a bare number: {readings} write the unit" in " ".join(
        err.split()
    )
    monkeypatch.setattr(sys, "stdin", Terminal("3/4\n316L\n\n\n75\n75 mm\n" + "\n" * 20))
    status, out, err = run("new", "--units", units)
    assert status == ExitStatus.OK  # asked again at once
    assert "75 in (1900 mm) or 75 mm (2.95 in)?" in " ".join(err.split())
    assert parse_case(out).pipe.length == pytest.approx(0.075)


class Terminal(io.StringIO):
    """Somebody at the keyboard, or at least somebody's lines."""

    def isatty(self):
        return True


def test_terminal_is_asked_on_stderr(run, monkeypatch):
    monkeypatch.setattr(sys, "stdin", Terminal("3/4\n316L\n" + "\n" * 12))
    status, out, err = run("new")
    assert status == ExitStatus.OK
    assert "Pipe size" in err
    assert "Pipe size" not in out
    assert out == new()


def test_an_answer_that_clashes_is_refused_at_once_and_taken_when_meant(run, monkeypatch):
    """P11 wants more preheat than an interpass maximum of 100 degC leaves room for."""
    before, after = "3/4\nP11\n" + "\n" * 9, "\n\n"
    monkeypatch.setattr(sys, "stdin", Terminal(before + "100 degC\n250 degC\n" + after))
    status, out, err = run("new")
    assert (status, err.count("make no joint")) == (ExitStatus.OK, 1)
    assert '"250 degC"' in out
    monkeypatch.setattr(sys, "stdin", Terminal(before + "100 degC\n100 degC\n" + after))
    status, out, err = run("new")
    assert (status, out) == (ExitStatus.USAGE, "")
    assert err.count("make no joint") == 2  # when it was asked, and at the end


def test_terminal_is_not_asked_when_options_are_enough(run, monkeypatch):
    monkeypatch.setattr(sys, "stdin", Terminal(""))
    status, out, err = run("new", "--size", "3/4", "--material", "316L")
    assert (status, out, err) == (ExitStatus.OK, new(), "")


def test_input_that_ends_writes_nothing(run, monkeypatch, tmp_path):
    monkeypatch.setattr(sys, "stdin", Terminal("3/4\n"))
    status, out, err = run("new", tmp_path / "x.toml")
    assert (status, out) == (ExitStatus.USAGE, "")
    assert "the input ended before all was answered" in err
    assert not list(tmp_path.iterdir())


def test_no_terminal_is_never_asked(run, monkeypatch):
    monkeypatch.setattr(sys, "stdin", io.StringIO("3/4\n316L\n"))
    status, out, err = run("new")
    assert (status, out) == (ExitStatus.USAGE, "")
    assert err.startswith("Error: a new case needs --size and --material")
    assert sys.stdin.read() == "3/4\n316L\n"  # nothing was taken from it


# the file


def test_file_is_written_once(run, tmp_path):
    path = tmp_path / "stub.toml"
    arguments = ("new", path, "--size", "3/4", "--material", "316L")
    assert run(*arguments) == (ExitStatus.OK, "", f"Wrote {path}\n")
    assert path.read_text(encoding="utf-8") == new()
    status, _, err = run(*arguments, "--passes", "3")
    assert status == ExitStatus.USAGE
    assert "is there already" in " ".join(err.split())
    assert path.read_text(encoding="utf-8") == new()
    assert run(*arguments, "--passes", "3", "--force")[0] == ExitStatus.OK
    assert path.read_text(encoding="utf-8") == new(passes="3")


def test_every_question_has_its_option(run):
    told = run("new", "--help")[1]
    for question in QUESTIONS:
        assert option(question.name) in told
