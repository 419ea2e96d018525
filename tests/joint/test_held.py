"""What holds the piece: the usual devices, and where they find room."""

from dataclasses import replace
from math import inf

import pytest
from interpass.case_file.change import with_setting
from interpass.case_file.read import case_from_table, parse_case
from interpass.joint.held import LEAST_GRIP, device_on, devices, usual_grip
from interpass.text.errors import CaseError
from interpass.text.toml import case_table

CASE = """
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
[surroundings]
"""


def held(line):
    return parse_case(CASE + line + "\n").surroundings


def test_every_way_of_the_table_reads_and_finds_its_row():
    for device in devices():
        grip = held(f'holding = "{device.words}"').holding
        assert (grip.on, grip.by) == (device.on, device.by)
        assert grip.conductance == device.conductance > 0
        assert grip.share == device.share < 1


def test_nothing_that_is_said_is_not_a_silence():
    said, silent = held('holding = "nothing"'), held("")
    assert said.holding is None
    assert silent.holding is None
    assert (said.holding_is_said, silent.holding_is_said) == (True, False)


def test_silence_stands_among_the_assumptions():
    rows = {row.key: row for row in parse_case(CASE).assumptions}
    row = rows["surroundings.holding"]
    assert row.value == "nothing"
    assert "shortens" in row.source


def test_numbers_of_a_device_can_be_ones_own():
    line = 'holding = { on = "fitting", by = "chuck", share = 0.3, from_face = "12 mm" }'
    grip = held(line).holding
    assert (grip.share, grip.from_face) == (0.3, pytest.approx(0.012))
    assert grip.conductance == 300.0


def test_numbers_alone_take_the_whole_girth():
    """As before there were devices: the conductance is that of the whole band."""
    line = (
        'holding = { on = "pipe", from_face = "80 mm", length = "25 mm", '
        'conductance = "500 W/m^2/K" }'
    )
    grip = held(line).holding
    assert (grip.share, grip.by, grip.conductance) == (1.0, "", 500.0)


@pytest.mark.parametrize("length", [0.04, 0.12, inf])
def test_pipe_is_gripped_at_its_far_end_clear_of_the_weld(length):
    case = parse_case(CASE)
    pipe = replace(case.pipe, length=length)
    grip = usual_grip(device_on("pipe", "chuck"), pipe, case.fitting, case.leg_pipe)
    assert grip.from_face >= case.leg_pipe + 9.9e-3
    assert grip.from_face + grip.length <= length + 1e-12


def test_fitting_is_gripped_on_its_widest_part():
    case = parse_case(CASE)
    grip = usual_grip(
        device_on("fitting", "chuck"), case.pipe, case.fitting, case.leg_pipe
    )
    widest = max(b.r_out for b in case.fitting.boxes)
    end = max(b.z_end for b in case.fitting.boxes if b.r_out == widest)
    assert 0 < grip.from_face < grip.from_face + grip.length <= end + 1e-12
    assert grip.length > LEAST_GRIP


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ('holding = "a vice"', "did you mean 'pipe in a vice'"),
        ('holding = { on = "fitting", by = "rollers" }', "not held by 'rollers'"),
        ('holding = { on = "pipe" }', "or by, like"),
        ('holding = { by = "chuck" }', "holding.on is missing"),
    ],
)
def test_mistakes_are_told(line, told):
    with pytest.raises(CaseError, match=told):
        held(line)


def test_too_short_a_stub_leaves_no_room():
    text = CASE.replace("120 mm", "15 mm")
    with pytest.raises(CaseError, match="leaves no room for a chuck"):
        parse_case(text + 'holding = "pipe in a chuck"\n')


def test_a_key_of_a_hold_told_in_words_can_be_set():
    """As the desk and a chart do: the words become the table they stand for."""
    told = case_table(CASE + 'holding = "fitting in a chuck"\n')
    key = "surroundings.holding.conductance"
    grip = case_from_table(with_setting(told, key, "450 W/m^2/K")).surroundings.holding
    assert (grip.on, grip.by, grip.conductance) == ("fitting", "chuck", 450.0)
    words = with_setting(told, "surroundings.holding", "pipe on rollers")
    assert case_from_table(words).surroundings.holding.by == "rollers"
    table = case_table(CASE + 'holding = { on = "pipe", by = "vice" }\n')
    replaced = with_setting(table, "surroundings.holding", "nothing")
    assert case_from_table(replaced).surroundings.holding is None
