"""What a case says besides the heat: its units, what the welder sets, and the lip."""

from dataclasses import replace

import pytest
from interpass.case_file.read import parse_case, read_case
from interpass.case_file.units import VARIABLE, units_for, written_in
from interpass.results.check import check_data
from interpass.rules.judge import checks
from interpass.rules.limits import NOTE, strong
from interpass.text.errors import CatalogueError
from interpass.text.kinds import SI, US
from interpass.trade.pipes import NPS_TO_DN, OUTSIDE_INCH, pipe
from joints import ROOT

STUB = (ROOT / "cases" / "sampling-stub.toml").read_text(encoding="utf-8")


def stub(**changes):
    """The sampling stub with some of its text replaced."""
    text = STUB
    for old, new in changes.values():
        assert old in text
        text = text.replace(old, new)
    return parse_case(text)


@pytest.fixture(autouse=True)
def no_variable(monkeypatch):
    monkeypatch.delenv(VARIABLE, raising=False)


@pytest.mark.parametrize(
    ("name", "system"), [("us-manifold", US), ("sampling-stub", SI), ("steam-drain", SI)]
)
def test_a_case_speaks_the_units_it_is_written_in(name, system):
    assert units_for(read_case(ROOT / "cases" / f"{name}.toml")) is system


def test_who_says_otherwise_is_heard_in_order(monkeypatch):
    case = read_case(ROOT / "cases" / "us-manifold.toml")
    metric = replace(case, report_units="si")
    assert units_for(metric) is SI
    monkeypatch.setenv(VARIABLE, "us")
    assert (units_for(metric), units_for(None)) == (SI, US)
    assert units_for(metric, "us") is US
    monkeypatch.setenv(VARIABLE, "furlong")
    with pytest.raises(CatalogueError, match="units in INTERPASS_UNITS"):
        units_for(None)


def test_report_units_of_the_file():
    case = parse_case(STUB + '\n[report]\nunits = "us"\n')
    assert (case.units, case.report_units) == ("si", "us")


def test_as_many_of_either_is_metric():
    assert written_in(["1 in", "1 mm"]) == "si"
    assert written_in(["1 in", "3 in/min", "1 mm"]) == "us"


def test_what_the_welder_sets_stands_pass_by_pass():
    said = (
        'position = "rotated"\ncup = "8"\ntechnique = "stringer"\ngas_flow = "15 cfh"\n'
    )
    own = 'wait = "auto"\ncup = "7"\nstick_out = "1/4 in"\npurge_flow = "6 l/min"\n'
    case = stub(arc=('position = "rotated"\n', said), own=('wait = "auto"\n', own))
    one, two = (p.settings for p in case.passes)
    assert (one.cup, one.technique, one.stick_out) == ("8", "stringer", None)
    assert (two.cup, two.technique) == ("7", "stringer")
    assert two.stick_out == pytest.approx(6.35e-3)
    assert (two.gas_flow, two.purge_flow) == (one.gas_flow, pytest.approx(1e-4))


@pytest.mark.parametrize(
    ("old", "new", "rule"),
    [
        ('"175 degC"', '"350 degC"', "interpass maximum near the usual"),
        ('"80 A"', '"160 A"', "current near the tables, pass 1"),
        ('"60 mm/min"', '"500 mm/min"', "travel a hand can follow, most, pass 1"),
        ('"60 mm/min"', '"12 mm/min"', "travel a hand can keep, least, pass 1"),
    ],
)
def test_what_can_hardly_be_meant_is_a_strong_note(old, new, rule):
    """Common practice, no source: 25 K, 1.3 times the table, 15 to 300 mm/min."""
    case = stub(one=(old, new))
    (found,) = strong(checks(case))
    assert (found.rule, found.verdict) == (rule, NOTE)
    data = check_data(case)
    assert [c["rule"] for c in data["checks"] if c["strong"]] == [rule]
    assert f"WARNING: {rule}" in data["verdict_text"]


def test_usual_joints_warn_of_nothing():
    for path in (ROOT / "cases").glob("*.toml"):
        assert not strong(checks(read_case(path)))


def test_fahrenheit_of_the_trade_is_no_warning():
    assert not strong(checks(stub(one=('"175 degC"', '"350 degF"'))))


def test_lip_goes_out_to_the_edge_and_says_what_it_costs():
    """Edge by B16.11, 3/4 in class 3000: (bore + 2 walls - pipe) / 2."""
    case = stub(leg=('leg = "code"', 'leg = "lip"'))
    edge = case.clearance + case.fitting.socket_wall
    assert (case.leg_pipe, case.leg_socket) == pytest.approx((edge, edge))
    told = check_data(case)["over_code"]
    assert told["area_mm2"] == pytest.approx(edge**2 / 2 * 1e6, abs=1e-3)
    code = stub()
    assert told["area_code_mm2"] == pytest.approx(code.leg_pipe**2 / 2 * 1e6, abs=1e-3)
    bead = case.passes[0].deposit * 1e6  # the one wire given
    assert told["passes"] == -(-told["area_mm2"] // bead)
    more = told["passes"] - told["passes_code"]
    heat = sum(p.net_power * p.arc_time for p in case.passes) / 2
    assert told["heat_more_kJ"] == pytest.approx(more * heat / 1e3, rel=1e-3)
    assert check_data(code)["over_code"] is None


def test_outside_diameters_in_inches_are_those_in_mm():
    """B36.10M prints both; the mm are rounded to 0.1, a few to 0.5 (from memory)."""
    assert list(OUTSIDE_INCH) == list(NPS_TO_DN)
    for size, inches in OUTSIDE_INCH.items():
        assert 25.4 * float(inches) == pytest.approx(
            1e3 * pipe(size, "40").outside_diameter, abs=0.06
        )
