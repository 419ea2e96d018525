"""What a chart runs over: names, lists and ranges into values of a case file."""

from dataclasses import replace

import pytest
from interpass.case_file.change import ChartError, find_key, short_names, with_setting
from interpass.case_file.read import case_from_table
from interpass.charts.axes import column, combinations, parse_axes, parse_axis
from interpass.text.toml import case_table
from interpass.text.units import parse


@pytest.mark.parametrize(
    ("text", "key", "values"),
    [
        ("current=60 A..120 A/20 A", "pass.current", ("60 A", "80 A", "100 A", "120 A")),
        ("current=60..100 A/20", "pass.current", ("60 A", "80 A", "100 A")),
        ("current=100 A..60 A/20 A", "pass.current", ("100 A", "80 A", "60 A")),
        ("current=60 A..115 A/20 A", "pass.current", ("60 A", "80 A", "100 A")),
        ("amps=80 A", "pass.current", ("80 A",)),
        ("travel=50 mm/min..70 mm/min/10 mm/min", "pass.travel",
         ("50 mm/min", "60 mm/min", "70 mm/min")),
        ("length=1 in..1 1/2 in/1/4 in", "pipe.length", ("1 in", "1.25 in", "1.5 in")),
        ("limit=150 degC..200 degC/25 K", "limits.interpass_max",
         ("150 degC", "175 degC", "200 degC")),
        ("limit=250 degF..350 degF/50 degF", "limits.interpass_max",
         ("250 degF", "300 degF", "350 degF")),
        ("air=-10 degC..10 degC/10 degC", "surroundings.air",
         ("-10 degC", "0 degC", "10 degC")),
        ("size=1/2, 3/4,1 1/2", "pipe.size", ("NPS 1/2", "NPS 3/4", "NPS 1 1/2")),
        ("size=DN 20", "pipe.size", ("DN 20",)),
        ("class=3000,6000", "fitting.class", (3000, 6000)),
        ("ring=1..4", "model.ring", (1, 2, 3, 4)),
        ("efficiency=0.65..0.75/0.05", "pass.efficiency", (0.65, 0.7, 0.75)),
        ("leg=code,5 mm", "joint.leg", ("code", "5 mm")),
        ("metal_in_place=true,false", "joint.metal_in_place", (True, False)),
        ("pass.2.current=80 A", "pass.2.current", ("80 A",)),
        ("limits.watch.1.max=100 degC", "limits.watch.1.max", ("100 degC",)),
        ("bore=open,argon purge", "surroundings.bore", ("open", "argon purge")),
    ],
)  # fmt: skip
def test_axis(text, key, values):
    axis = parse_axis(text)
    assert (axis.key, axis.values) == (key, values)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("current", "no axis; write name=values"),
        ("current=", "no axis"),
        ("current=60 A,,80 A", "comma with nothing beside it"),
        ("curent=60 A", "did you mean 'current'"),
        ("weather=sunny", "usual names are size"),
        ("pass.2.curent=60 A", "did you mean 'current'"),
        ("pass=60 A", "could be|did you mean|usual names"),
        ("model=1", "did you mean|usual names"),
        ("current=60,80 A", "'60' is a bare number"),
        ("length=1,5 mm", "'1' is a bare number"),
        ("current=60 mm", "measures length, not current"),
        ("current=60 A..120 A", "from..to/step"),
        ("current=60 A..120 A/0 A", "leads nowhere"),
        ("current=1 A..400 A/0.1 A", "at most 200"),
        ("current=60 A,60000 mA", "stands twice"),
        ("class=three", "no whole number"),
        ("position=fixd", "did you mean 'fixed'"),
        ("size=1/2..1/1/4", "is no number; list its values"),
        ("direction=clockwse", "did you mean 'clockwise'"),
    ],
)
def test_what_cannot_be_read_is_told(text, words):
    with pytest.raises(ChartError, match=words):
        parse_axis(text)


def test_one_to_three_axes_of_different_things():
    with pytest.raises(ChartError, match="one to three"):
        parse_axes([])
    with pytest.raises(ChartError, match="one to three"):
        parse_axes(["size=1/2"] * 4)
    with pytest.raises(ChartError, match=r"pass\.current twice"):
        parse_axes(["current=60 A", "amps=80 A"])
    many = [f"{name}=1 mm..100 mm/1 mm" for name in ("length", "end_gap", "leg")]
    with pytest.raises(ChartError, match="1000000 joints"):
        parse_axes(many)


def test_the_last_axis_runs_fastest():
    axes = parse_axes(["size=1/2,3/4", "current=60 A,80 A"])
    assert combinations(axes) == [(0, 0), (0, 1), (1, 0), (1, 1)]


def test_columns_are_numbers_in_the_unit_that_was_written():
    assert column(parse_axis("limit=300 degF,350 degF")) == ("limit_degF", (300.0, 350.0))
    assert column(parse_axis("current=60 A,80000 mA")) == ("current_A", (60.0, 80.0))
    assert column(parse_axis("leg=code,5 mm")) == ("leg", ("code", "5 mm"))


@pytest.mark.parametrize("name", short_names())
def test_every_short_name_leads_somewhere(name):
    where = find_key(name)
    assert find_key(where.key) == replace(where, name=where.key)


def test_a_value_takes_away_what_it_replaces():
    table = {
        "pipe": {"outside_diameter": "20 mm", "wall": "2 mm"},
        "pass": [{"turn": "1"}],
    }
    sized = with_setting(table, "pipe.size", "NPS 1/2")
    assert sized["pipe"] == {"size": "NPS 1/2"}
    assert with_setting(table, "pass.travel", "1 m/min")["pass"] == [
        {"travel": "1 m/min"}
    ]
    assert table["pass"] == [{"turn": "1"}]


def test_fan_in_a_table_keeps_when_it_blows():
    table = {"surroundings": {"fan": {"speed": "1 m/s", "during": "waits"}}}
    blown = with_setting(table, "surroundings.fan", "2 m/s")
    assert blown["surroundings"]["fan"] == {"speed": "2 m/s", "during": "waits"}


def test_fitting_of_the_same_metal_follows_the_pipe():
    table = {
        "pipe": {"material": "316L"},
        "fitting": {"material": "316L"},
        "joint": {"filler": "ER316L"},
    }
    other = with_setting(table, "pipe.material", "2205")
    assert other["fitting"]["material"] == "2205"
    assert "filler" not in other["joint"]
    table["fitting"]["material"] = "A105"
    mixed = with_setting(table, "pipe.material", "2205")
    assert mixed["fitting"]["material"] == "A105"


def test_values_of_a_range_arrive_in_the_case():
    text = """
    pipe = { size = "NPS 1", schedule = "80", material = "316L" }
    fitting = { kind = "coupling" }
    pass = [{ current = "80 A", travel = "60 mm/min" }]
    """
    for value in parse_axis("current=60 A..61 A/0.1 A").values:
        case = case_from_table(with_setting(case_table(text), "pass.current", value))
        assert case.passes[0].current == parse(value, "current")
