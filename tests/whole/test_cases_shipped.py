"""The cases shipped: what they are, and that together they use every key there is."""

from dataclasses import replace
from math import isnan
from pathlib import Path

import pytest
from interpass.case_file.keys import TABLES
from interpass.case_file.read import parse_case, read_case
from interpass.text.toml import case_table

ROOT = Path(__file__).parents[2]
CASES = sorted((ROOT / "cases").glob("*.toml"))
EXAMPLE = ROOT / "tests" / "data" / "example.toml"
PIPE = '[pipe]\nsize = "NPS 1"\nschedule = "80"\nmaterial = "316L"\n'
FITTING = '[fitting]\nkind = "coupling"\n'
PASS = '[[pass]]\ncurrent = "80 A"\ntravel = "60 mm/min"\n'

MORE_KEYS = """
[joint]
leg_pipe = "6 mm"
leg_socket = "5 mm"
[limits]
interpass_max = "170 degC"
rules = "process piping"
applies_to = "reading"
heat_input_min = "0.3 kJ/mm"
heat_input_max = "0.9 kJ/mm"
arc_energy_min = "0.5 kJ/mm"
arc_energy_max = "1.5 kJ/mm"
[[limits.watch]]
name = "seat"
at = { r = "15 mm", z = "5 mm" }
max = "150 degC"
[[limits.watch]]
name = "flange face"
at = { from_face = "20 mm", on = "outside", part = "pipe" }
max = "150 degC"
[[limits.examine]]
name = "dye penetrant"
max = "52 degC"
[surroundings]
start = "60 degC"
fan = "2 m/s"
fan_during = "waits"
holding = { on = "fitting", by = "chuck", share = 0.2 }
[[probe]]
name = "half way"
r = "15 mm"
z = "-10 mm"
angle = "180 deg"
[measure]
on = "fitting"
from_toe = "12 mm"
angle = "90 deg"
[report]
units = "us"
[model]
bead = "behind the arc"
ring = 48
tolerance = "0.5 K"
[[pass]]
wait = "90 s"
net_power = "600 W"
arc_time = "1 min"
deposit = "3 mm^2"
source_spread = "2.5 mm"
tungsten = "2.4 mm"
cup = "8"
stick_out = "6 mm"
gas_flow = "8 l/min"
purge_flow = "6 l/min"
technique = "stringer"
start_angle = "30 deg"
direction = "clockwise"
overlap = "10 deg"
[[pass]]
current = "80 A"
travel = "60 mm/min"
segments = [
  { start = "0 deg", end = "180 deg" },
  { start = "0 deg", end = "-180 deg", pause = "10 s" },
]
"""


def keys_of(table, keys, found):
    """Schema entries a TOML table uses, (table, key)."""
    for name, value in table.items():
        key = TABLES[keys][name]
        found.add((keys, name))
        inner = value if isinstance(value, list) else [value]
        if key.kind == "named tables":
            inner = list(value.values())
        for one in inner:
            if isinstance(one, dict) and "best" not in one:
                keys_of(one, key.table, found)
    return found


def test_every_key_of_the_schema_is_read_somewhere():
    """No key is listed that no accepted file uses: cases shipped and texts of this test."""
    texts = [path.read_text(encoding="utf-8") for path in (*CASES, EXAMPLE)]
    texts.append(PIPE + FITTING + PASS + 'wire = "none"\n' + MORE_KEYS)
    texts.append(PIPE + FITTING + 'size = "NPS 1"\n' + PASS)
    found = set()
    for text in texts:
        parse_case(text)
        keys_of(case_table(text), "", found)
    shared = set(TABLES["arc"]) & set(TABLES["pass"])  # [arc] speaks for the passes
    found = {("arc" if t == "pass" and key in shared else t, key) for t, key in found}
    every = {
        (table, key)
        for table, keys in TABLES.items()
        for key in keys
        if (table, key) not in {("pass", name) for name in shared}
    }
    assert found == every


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_case_shipped(path):
    """Parses, says what it is for, stays small, and has the arc energy of the trade.

    0.75 to 1.5 kJ/mm: GTAW root passes on 38 to 60 mm pipe, 75 to 100 A, 11 to 13 V,
    40 to 50 mm/min (machine manual, a maker page), and a little below for smaller pipe. A
    bead on a bare pipe is no root pass and has less.
    """
    case = read_case(path)
    assert path.read_text(encoding="utf-8").startswith("# ")
    assert case.pipe.outside_diameter <= 48.3e-3  # NPS 1 1/2
    for one in case.passes:
        energy = one.current * one.voltage / one.travel * 1e-6
        assert isnan(energy) or case.is_bare or 0.75 <= energy <= 1.5
    filled = sum(one.deposit or 0.0 for one in case.passes)
    assert filled <= case.leg_pipe * case.leg_socket / 2 * 1.35


def test_there_are_cases_of_every_sort():
    cases = [read_case(path) for path in CASES]
    families = {
        (case.pipe.material.family, case.fitting.material.family) for case in cases
    }
    assert {("austenitic",) * 2, ("carbon steel",) * 2, ("duplex",) * 2} <= families
    assert ("carbon steel", "austenitic") in families


def test_values_of_the_keys_for_checks():
    """The idealising keys, as tests against other codes use them."""
    case = read_case(ROOT / "cases" / "check-joint.toml")
    assert case.metal_in_place
    assert (
        case.pipe.far_end == case.fitting.far_end == case.surroundings.bore == "insulated"
    )
    assert [p.wait for p in case.passes] == [0.0, 90.0, 120.0]
    assert {(p.net_power, p.arc_time, p.efficiency) for p in case.passes} == {
        (900, 60, 1.0)
    }
    assert case.fitting.socket_wall == pytest.approx(5.69e-3)  # B16.11 NPS 1 class 3000
    assert case.model.cell == 0.5e-3
    assert [probe.z for probe in case.probes] == pytest.approx(
        [-2e-3, -20e-3, 5e-3, 25e-3, -1.2e-3]
    )


def test_us_units_give_the_same_joint():
    """The same joint written in US and in metric units, to round-off."""
    text = (ROOT / "cases" / "us-manifold.toml").read_text(encoding="utf-8")
    swaps = {
        '"6 in"': '"152.4 mm"', '"1/16 in"': '"1.5875 mm"', '"0.16 in"': '"4.064 mm"',
        '"2.3 in/min"': '"58.42 mm/min"', '"2.2 in/min"': '"55.88 mm/min"',
        '"6 in/min"': '"152.4 mm/min"', '"350 degF"': '"449.8166666666667 K"',
        '"50 degF"': '"10 degC"', '"77 degF"': '"25 degC"', '"400 ft/min"': '"2.032 m/s"',
        '"15 cfh"': '"7.0792116 l/min"',
    }  # fmt: skip
    metric = text
    for us, si in swaps.items():
        assert us in metric
        metric = metric.replace(us, si)
    a, b = (replace(parse_case(t), assumptions=(), units="") for t in (text, metric))
    assert a.passes[0].deposit == pytest.approx(b.passes[0].deposit, rel=1e-12)
    assert a.surroundings.purge_flow == pytest.approx(b.surroundings.purge_flow, rel=1e-9)
    level = {"deposit": None, "travel": 0.0, "arc_time": 0.0}
    flat = [
        replace(
            case,
            passes=tuple(replace(p, **level) for p in case.passes),
            surroundings=replace(case.surroundings, purge_flow=0.0),
            limits=replace(case.limits, interpass_max=0.0),
            assumptions=(),
        )
        for case in (a, b)
    ]
    assert flat[0] == flat[1]
    assert [p.travel for p in a.passes] == pytest.approx([p.travel for p in b.passes])
    assert a.limits.interpass_max == pytest.approx(b.limits.interpass_max)
