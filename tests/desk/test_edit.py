"""Changing one value of a case's text, and leaving the rest as it was."""

import tomllib
from pathlib import Path

import pytest
from interpass.case_file.read import parse_case
from interpass.desk.edit import with_changes, with_passes, with_text_value
from interpass.desk.form import described
from interpass.heat.waits import plan
from interpass.remedies.trials import find_helps
from terminal import ROOT

CASES = sorted((ROOT / "cases").glob("*.toml"))
STUB = (ROOT / "cases" / "sampling-stub.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_a_change_leaves_every_other_line_alone(path: Path):
    text = path.read_text(encoding="utf-8")
    done = with_text_value(text, "pipe.length", "77 mm")
    assert done.kept
    before, after = text.splitlines(), done.text.splitlines()
    assert tomllib.loads(done.text)["pipe"]["length"] == "77 mm"
    assert sum(line not in before for line in after) == 1


def test_a_remark_behind_the_value_stays():
    done = with_text_value(
        '[pipe]\nsize = "NPS 1"  # "as #1" drawn\n', "pipe.size", "NPS 2"
    )
    assert done.text == '[pipe]\nsize = "NPS 2" # "as #1" drawn\n'


@pytest.mark.parametrize(
    ("key", "value", "found"),
    [
        ("pass.2.current", "90 A", "90 A"),
        ("pass.1.wire.feed", "140 mm/min", "140 mm/min"),
        ("surroundings.fan", "2 m/s", "2 m/s"),
        ("surroundings.emissivity", "0.55", 0.55),
        ("fitting.class", "6000", 6000),
        ("measure.on", "fitting", "fitting"),
        ("title", 'odd "words" # </script>', 'odd "words" # </script>'),
    ],
)
def test_any_key_can_be_set_and_comments_stay(key, value, found):
    done = with_text_value(STUB, key, value)
    place = tomllib.loads(done.text)
    for part in key.split("."):
        place = place[int(part) - 1] if isinstance(place, list) else place[part]
    assert place == found
    assert done.kept
    assert done.text.startswith("# A 316L sampling stub")


def test_an_empty_value_takes_the_key_away_and_travel_takes_turn_away():
    assert "purge_flow" not in with_text_value(STUB, "surroundings.purge_flow", " ").text
    turned = with_text_value(STUB, "pass.1.turn", "0.8 rev/min")
    assert set(tomllib.loads(turned.text)["pass"][0]) == {"current", "turn", "wire"}


def test_a_joint_becomes_a_bare_pipe_and_a_joint_again():
    """What is of a fitting goes with it, and the form speaks of the pipe alone."""
    held = with_text_value(STUB, "surroundings.holding", "fitting in a vice").text
    bare = with_text_value(held, "fitting.kind", "bare pipe").text
    form = described(bare)
    assert (form["mistakes"], parse_case(bare).is_bare) == ([], True)
    fields = {field["key"]: field for field in form["fields"]}
    assert "joint.band" in fields
    assert not {"fitting.class", "joint.leg", "joint.filler", "pass.1.wire.feed"} & {
        *fields
    }
    assert fields["pipe.length"]["about"] == "from the bead to its end"
    assert "fitting in a chuck" not in fields["surroundings.holding"]["choices"]
    banded = with_text_value(bare, "joint.band", "8 mm").text
    again = with_text_value(banded, "fitting.kind", "cap").text
    assert "band" not in again
    form = described(with_text_value(again, "fitting.length", "").text)
    assert (form["mistakes"], form["drawing"] is None) == ([], False)
    (kind,) = (field for field in form["fields"] if field["key"] == "fitting.kind")
    assert kind["choices"][-1] == "bare pipe"


def test_a_value_over_several_lines_is_written_anew_and_told():
    text = STUB.replace('"NPS 3/4"', '"""\nNPS 3/4"""')
    done = with_text_value(text, "pipe.size", "NPS 1")
    assert not done.kept
    assert parse_case(done.text).pipe.size == "NPS 1"


@pytest.mark.parametrize("count", [1, 2, 3, 5])
def test_passes_are_added_and_taken_away(count):
    done = with_passes(STUB, count)
    assert done.kept
    assert len(parse_case(done.text).passes) == count
    assert done.text.startswith("# A 316L sampling stub")


def test_a_remedy_becomes_text_that_runs_as_the_remedy_did():
    case = parse_case(STUB)
    helps = find_helps(case, plan(case))
    assert helps.best
    for one in helps.best:
        told = parse_case(with_changes(STUB, one.changes))
        for name in ("current", "travel"):
            wanted = [getattr(p, name) for p in one.case.passes]
            assert [getattr(p, name) for p in told.passes] == pytest.approx(wanted)
        assert told.surroundings.fan == one.case.surroundings.fan
        assert told.pipe.length == one.case.pipe.length
