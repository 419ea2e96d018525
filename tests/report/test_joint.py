"""What is welded, what the welder sets and what holds the piece, in words."""

from dataclasses import replace
from types import SimpleNamespace

import pytest
from interpass.case_file.read import parse_case
from interpass.doubt.bands import find_bands
from interpass.heat.waits import plan
from interpass.joint.beads import over_code
from interpass.joint.case import Doubt
from interpass.report.block import block
from interpass.report.check import check_text
from interpass.report.joint import hold_words, settings_words, unsaid_words
from interpass.report.plan import first_screen, text
from interpass.text.kinds import SI, US
from interpass.text.times import clock, shop_time
from terminal import ROOT

SET = """current = "85 A"
tungsten = "2.4 mm"
cup = "8"
stick_out = "6 mm"
gas_flow = "8 l/min"
technique = "stringer"
"""


@pytest.mark.parametrize(
    ("units", "told"),
    [
        (SI, ["tungsten 2.4 mm", "cup 8", "stick-out 6.00 mm", "gas 8.0 l/min"]),
        (US, ["tungsten 0.094 in", "cup 8", "stick-out 0.236 in", "gas 17 cfh"]),
    ],
)
def test_settings_of_a_pass_in_words(units, told):
    text = (ROOT / "cases/sampling-stub.toml").read_text(encoding="utf-8")
    assert 'current = "85 A"' in text
    case = parse_case(text.replace('current = "85 A"\n', SET))
    assert list(settings_words(case.passes[1], units)) == [*told, "stringer"]
    assert not list(settings_words(case.passes[0], units))


HELD = """
[pipe]
size = "NPS 3/4"
schedule = "80S"
material = "316L"
length = "120 mm"
[fitting]
kind = "coupling"
class = 3000
material = "316L"
[[pass]]
current = "80 A"
travel = "60 mm/min"
[[pass]]
current = "80 A"
travel = "60 mm/min"
[model]
ring = 1
end_after = "0 s"
[surroundings]
"""


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("", "held by nothing that takes heat (the case does not say)"),
        ('holding = "nothing"', "held by nothing that takes heat"),
        ('holding = "fitting in a chuck"', "held with the fitting in a chuck from 10"),
        ('holding = "pipe on rollers"', "held with the pipe on rollers from 100"),
    ],
)
def test_what_holds_the_piece_is_told(line, told):
    assert hold_words(parse_case(HELD + line + "\n"), SI).startswith(told)


def test_a_silence_about_the_hold_tells_what_a_chuck_would_do():
    """The waits told are those of the same case that says so, within the stand-in's 3 %."""
    silent = parse_case(HELD)
    history = plan(silent)
    gripped = find_bands(silent, history, samples=8).gripped
    held = plan(parse_case(HELD + 'holding = "fitting in a chuck"\n'))
    assert gripped.waits[1] == pytest.approx(held.passes[1].wait, rel=0.03)
    assert gripped.waits[1] < 0.85 * history.passes[1].wait
    words = unsaid_words(history, gripped)
    assert clock(shop_time(gripped.waits[1])) in words
    said = parse_case(HELD + 'holding = "nothing"\n')
    assert find_bands(said, plan(said), samples=8).gripped is None


def test_what_a_fit_taught_of_a_grip_names_the_device():
    """The lines stand in a table of their own, which needs to say what it is of."""
    case = parse_case(HELD + 'holding = "fitting in a chuck"\n')
    key = "surroundings.holding.conductance"
    found = SimpleNamespace(
        numbers=(SimpleNamespace(key=key, learnt=0.9),),
        case=replace(case, doubt=(Doubt(key, 200.0, 400.0),)),
    )
    text = HELD.replace("[surroundings]", "") + block(found)
    again = parse_case(text)
    assert again.surroundings.holding.by == "chuck"
    assert again.doubt == (Doubt(key, 200.0, 400.0),)


@pytest.fixture(scope="module")
def lip():
    """The US manifold with a fillet out to the edge, limit said of the reading."""
    text = (ROOT / "cases/us-manifold.toml").read_text(encoding="utf-8")
    assert 'leg = "0.16 in"' in text
    text = text.replace('leg = "0.16 in"', 'leg = "lip"').replace(
        'interpass_max = "350 degF"',
        'interpass_max = "350 degF"\napplies_to = "reading"',
    )
    case = parse_case(text + '\n[model]\nring = 1\ncell = "2 mm"\n')
    return case, plan(case)


def test_a_plan_says_what_a_fillet_out_to_the_edge_costs(lip):
    found = over_code(lip[0])
    told = f"takes {found.passes} passes and not {found.passes_code}"
    for words in (first_screen, text):
        assert told in " ".join(words(*lip).split())


def test_a_limit_and_the_reading_that_is_at_it_are_rounded_alike(lip):
    """350 degF is 176.7 degC: a limit is never told higher than it is."""
    screen = " ".join(first_screen(*lip, SI).split())
    assert "Limit between passes: 176 degC" in screen
    assert "176 degC or less" in screen
    assert "177" not in screen


@pytest.mark.parametrize(("units", "told"), [(SI, "1.6 mm"), (US, "0.063 in")])
def test_rules_speak_in_the_units_asked_for(lip, units, told):
    for report in (check_text(lip[0], (), units), text(*lip, units)):
        line = report.partition("tungsten that carries the current")[2].partition("[")[0]
        assert told in " ".join(line.split())
