"""Every rule shipped at pass, exactly at its limit and at fail; the choice of sets."""

import pytest
from interpass.case_file.read import parse_case
from interpass.rules import judge as rules
from interpass.rules.quantities import KINDS
from interpass.rules.sets import chosen, rules_of, shipped_sets
from interpass.text.errors import CaseError, CatalogueError, ExitStatus
from interpass.trade.rows import STANDINGS, table_rows
from rule_cases import BASE

SOCKET = {"fitting_kind": "elbow", "pipe_wall_mm": 4.55, "socket_wall_min_mm": 4.98}
THICK = SOCKET | {"pipe_wall_mm": 6.35}  # Sch 160 in class 3000: the socket wall governs
FLANGE = {"fitting_kind": "flange", "pipe_wall_mm": 4.55, "socket_wall_min_mm": 7.366}
DUPLEX = {"pipe_family": "duplex", "fitting_family": "austenitic"}
SUPER = {"pipe_family": "austenitic", "fitting_family": "super duplex"}
CARBON = {"carbon_steel": True, "carbon_percent": 0.30, "thickness_mm": 5.0}
OPEN_BORE = {"pipe_family": "austenitic", "bore": "still air"}

# name of the rule: what else it needs, the value it judges, and that value where the rule
# is met, where it is exactly at its limit, and where it is not met
EITHER_CODE = {
    "fillet leg asked for": (SOCKET, "leg_mm", 5.0, 4.9595, 4.95),
    "fillet leg built by the deposit": (THICK, "leg_built_mm", 5.0, 4.98, 4.97),
    "fillet leg asked for, flange": (FLANGE, "leg_mm", 6.4, 6.37, 6.36),
    "fillet leg built by the deposit, flange": (
        FLANGE | {"pipe_wall_mm": 6.35}, "leg_built_mm", 7.4, 7.366, 7.36,
    ),
    "end gap, pipe not on the bottom": ({}, "end_gap_mm", 1.6, 1e-3, 0.0),
    "end gap before welding": ({}, "end_gap_mm", 1.6, 1.5, 1.4),
}  # fmt: skip
TABLE = {
    "good practice": {
        "number of passes": ({}, "passes", 3, 2, 1),
        "leg along the pipe against vibration": (SOCKET, "leg_pipe_mm", 10, 9.919, 9.9),
        "insertion of the pipe": ({}, "insertion_mm", 10.9, 6.0, 5.9),
        "socket bore for this pipe": (
            {"socket_bore_max_mm": 34.3}, "socket_bore_mm", 33.9, 34.3, 34.4,
        ),
        "fitting class for this pipe": (
            {"pipe_wall_mm": 4.55}, "rating_wall_mm", 6.35, 4.55, 4.5,
        ),
        "arc energy maximum": (
            {"arc_energy_max_kJ_per_mm": 1.2}, "arc_energy_kJ_per_mm", 1.0, 1.2, 1.21,
        ),
        "arc energy minimum": (
            {"arc_energy_min_kJ_per_mm": 0.6}, "arc_energy_kJ_per_mm", 1.0, 0.6, 0.59,
        ),
        "heat input maximum": (
            {"heat_input_max_kJ_per_mm": 0.72}, "heat_input_kJ_per_mm", 0.7, 0.72, 0.73,
        ),
        "heat input minimum": (
            {"heat_input_min_kJ_per_mm": 0.4}, "heat_input_kJ_per_mm", 0.7, 0.4, 0.39,
        ),
        "arc energy for duplex, most": (DUPLEX, "arc_energy_kJ_per_mm", 1.0, 2.5, 2.6),
        "arc energy for duplex, least": (DUPLEX, "arc_energy_kJ_per_mm", 1.0, 0.5, 0.4),
        "arc energy for super duplex, most": (
            SUPER, "arc_energy_kJ_per_mm", 1.0, 1.5, 1.6,
        ),
        "arc energy for super duplex, least": (
            SUPER, "arc_energy_kJ_per_mm", 1.0, 0.5, 0.4,
        ),
        "current for this wall, most": (
            {"current_table_max_A": 110.0}, "current_A", 80, 110, 111,
        ),
        "current for this wall, least": (
            {"current_table_min_A": 75.0}, "current_A", 80, 75, 74,
        ),
        "current for this tungsten, most": (
            {"tungsten_max_A": 160.0}, "current_A", 80, 160, 161,
        ),
        "current for this tungsten, least": (
            {"tungsten_min_A": 50.0}, "current_A", 80, 50, 49,
        ),
        "share of the heat that melts the filler": ({}, "filler_share", 0.1, 0.48, 0.49),
        "deposition rate by hand": ({}, "deposition_kg_per_h", 0.4, 1.0, 1.01),
        "temperature before pass 1": (
            {"heat_run": False, "preheat_min_degC": 10.0}, "start_degC", 20, 10, 9,
        ),
        "interpass maximum near the usual": (
            {"interpass_usual_degC": 175.0}, "interpass_max_degC", 175, 200, 201,
        ),
        "current near the tables": (
            {"current_table_max_A": 100.0}, "current_A", 80, 130, 131,
        ),
        "travel a hand can follow, most": ({}, "travel_mm_per_min", 60, 300, 301),
        "travel a hand can keep, least": ({}, "travel_mm_per_min", 60, 15, 14),
        "interpass maximum used": (
            {"interpass_usual_degC": 175.0}, "interpass_max_degC", 350 / 1.8 - 32 / 1.8,
            177.0, 177.1,
        ),
        "interpass maximum, strictest in use": (
            {"interpass_strictest_degC": 150.0}, "interpass_max_degC", 140, 150, 151,
        ),
        "bore without purge gas": (OPEN_BORE, "peak_at_bore_degC", 200, 290, 291),
        "bore not melted": (
            {"solidus_degC": 1400.0}, "peak_at_bore_degC", 1200, 1399.99, 1400.0,
        ),
        "bore well below melting": (
            {"solidus_degC": 1400.0}, "peak_at_bore_degC", 1200, 1250.0, 1250.1,
        ),
        "root corner fused": (
            {"solidus_degC": 1400.0}, "root_corner_degC", 1500, 1400.0, 1399.9,
        ),
        "time in the range where carbides form": (
            {"sensitising_s": 30.0}, "dwell_s", 20, 30, 31,
        ),
    },
    "process piping": EITHER_CODE | {
        "throat built by the deposit": (
            SOCKET, "throat_built_mm", 3.6, 0.707 * 4.9595, 3.5,
        ),
        "fillet leg by older editions": (
            SOCKET | {"pipe_wall_mm": 2.0}, "leg_mm", 3.1, 3.0, 2.9,
        ),
        "preheat asked for": ({"preheat_degC": 120.0}, "preheat_min_degC", 150, 120, 119),
        "preheat by the edition of 2010": (
            {"preheat_2010_degC": 149.0}, "preheat_min_degC", 150, 149, 148,
        ),
    },
    "power piping": EITHER_CODE | {
        "preheat, carbon steel": (CARBON, "preheat_min_degC", 20, 10, 9),
        "preheat, thick carbon steel with more than 0.30 % carbon": (
            CARBON | {"carbon_percent": 0.31, "thickness_mm": 25.1},
            "preheat_min_degC", 95, 80, 79,
        ),
    },
    "class society": {
        "throat asked for": ({"pipe_wall_mm": 4.55}, "throat_mm", 4.6, 4.55, 4.54),
        "throat built by the deposit": (
            {"pipe_wall_mm": 4.55}, "throat_built_mm", 4.6, 4.55, 4.54,
        ),
        "socket wall": ({"pipe_wall_mm": 4.0}, "socket_wall_mm", 5.1, 4.98, 4.97),
        "clearance on the diameter": ({}, "diametral_clearance_mm", 0.5, 0.8, 0.81),
        "end gap before welding": ({}, "end_gap_mm", 1.6, 1.5, 1.4),
        "size that may be socket welded": ({}, "outside_diameter_mm", 48.3, 60.3, 73.0),
    },
    "company practice": {
        "number of passes": ({}, "passes", 3, 2, 1),
        "temperature before any arc": ({}, "preheat_min_degC", 20, 10, 9),
        "forced cooling by fan": ({}, "fan_m_per_s", 0, 0, 0.5),
    },
}  # fmt: skip
SHIPPED = {(rule.rule_set, rule.name): rule for s in shipped_sets() for rule in s.rules}
ROWS = [(a, b, *row) for a, of_set in TABLE.items() for b, row in of_set.items()]


@pytest.mark.parametrize(
    ("rule_set", "name", "others", "judged", "met", "limit", "missed"),
    ROWS,
    ids=[f"{row[0]}: {row[1]}" for row in ROWS],
)
def test_rule_at_pass_at_its_limit_and_at_fail(
    rule_set, name, others, judged, met, limit, missed
):
    """Limits by hand from the sources each rule names."""
    rule = SHIPPED[rule_set, name]
    missing = "note" if rule.verdict == "warn" else rule.verdict
    wanted = {met: "pass", limit: "pass", missed: missing}
    for value, verdict in wanted.items():
        check = rules.judge(rule, others | {judged: value})
        assert check.verdict == verdict, value
        assert check.strong is (rule.verdict == "warn" and value == missed)
        assert (check.advice == "") is (verdict == "pass" or not rule.advice)


def test_the_table_of_this_test_has_every_rule_that_requires_something():
    required = {key for key, rule in SHIPPED.items() if rule.required}
    assert required == {(row[0], row[1]) for row in ROWS}


@pytest.mark.parametrize("rule", SHIPPED.values(), ids=lambda rule: rule.name)
def test_every_rule_says_who_says_so(rule):
    assert len(rule.source) > 10
    assert rule.standing in (*STANDINGS, "given") or rule.standing.startswith("{")
    assert rule.names <= set(KINDS)


def test_rule_without_requirement_is_a_note():
    rule = SHIPPED["power piping", "face weld inside the flange"]
    for wall, weld in ((4.55, 4.55e-3), (9.09, 6e-3)):  # tn or 6 mm, the smaller
        check = rules.judge(rule, {"pipe_wall_mm": wall, "fitting_kind": "flange"})
        assert (check.verdict, check.required) == ("note", "")
        assert check.value == pytest.approx(weld)


@pytest.mark.parametrize(
    ("name", "others"),
    [
        ("fillet leg asked for", SOCKET | {"fitting_kind": "flange"}),
        ("fillet leg asked for, flange", SOCKET),
        ("fillet leg asked for", {"fitting_kind": "elbow"}),  # walls unknown
    ],
)
def test_rule_is_silent_where_it_does_not_apply(name, others):
    assert rules.judge(SHIPPED["process piping", name], others | {"leg_mm": 1.0}) is None


def test_purged_bore_needs_no_advice():
    rule = SHIPPED["good practice", "bore without purge gas"]
    purged = OPEN_BORE | {"bore": "argon purge", "peak_at_bore_degC": 900.0}
    assert rules.judge(rule, purged) is None


def test_default_is_process_piping_and_the_case_may_say_otherwise():
    assert [s.name for s in rules.sets_for(parse_case(BASE))] == ["process piping"]
    named = '[limits]\nrules = "power piping, class society"\n'
    sets = rules.sets_for(parse_case(BASE + named))
    assert [s.name for s in sets] == ["power piping", "class society"]
    sets = rules.sets_for(parse_case(BASE + named), ["process piping"])
    assert [s.name for s in sets] == ["process piping"]


def test_company_rule_replaces_the_one_it_builds_on():
    found = rules_of(chosen(["company practice"]))
    passes = [rule for rule in found if rule.name == "number of passes"]
    assert [(rule.rule_set, rule.verdict) for rule in passes] == [
        ("company practice", "fail")
    ]
    assert {rule.rule_set for rule in found} == {
        "company practice",
        "process piping",
        "good practice",
    }


def test_every_set_at_once_has_each_rule_once():
    found = rules_of(chosen(["all"]))
    assert len(found) == len(set(found)) == len(SHIPPED)


def test_unknown_rule_set_is_wrong_usage():
    with pytest.raises(CatalogueError, match="did you mean 'power piping'") as caught:
        rules.checks(parse_case(BASE), rules=["pwoer piping"])
    assert caught.value.status == ExitStatus.USAGE


def test_unknown_rule_set_in_a_case_is_a_mistake_of_the_case():
    case = parse_case(BASE + '[limits]\nrules = "pwoer piping"\n', "x.toml")
    with pytest.raises(CaseError) as caught:
        rules.checks(case)
    assert str(caught.value).startswith("x.toml:12: limits.rules: no rule set 'pwoer")
    assert caught.value.status == ExitStatus.CASE


@pytest.mark.parametrize("name", ["current", "touch", "sensitising"])
def test_tables_behind_the_rules_have_sources(name):
    for row in table_rows(name):
        assert row["source"]
        assert row["standing"] in STANDINGS


def test_more_carbon_less_time():
    """Nose of the curve by carbon, order of magnitude (from memory)."""
    rows = table_rows("sensitising")
    times = [float(row["time_max_s"]) for row in rows]
    assert times == sorted(times, reverse=True)
    assert all(float(r["time_min_s"]) <= float(r["time_max_s"]) for r in rows)
