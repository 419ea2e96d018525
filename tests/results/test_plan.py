"""The results as data: the contract of the JSON, and the histories as CSV."""

import csv
import io
import json

import numpy as np
import pytest
from interpass.report import plan as report
from interpass.results.plan import csv_text, json_text, results
from terminal import no_constant

NO_UNIT = {
    "schema", "number", "cells", "ring", "steps", "closure", "value", "required",
    "share_of_girth",
}  # fmt: skip
UNITS_OF_KEYS = (
    "_degC",
    "_s",
    "_kJ",
    "_kJ_per_mm",
    "_mm",
    "_deg",
    "_kg",
    "_K",
    "_W_per_m2K",
    "_J_per_K",
)


def test_json_keeps_the_contract(stub):
    """Keys people script against; more may be added, none may go."""
    case, history = stub
    found = json.loads(json_text(case, history), parse_constant=no_constant)
    assert found["schema"] == 1
    assert found["model"] == "axisymmetric"
    wanted = {"title", "limit", "passes", "probes", "energy", "checks", "verdict"}
    assert wanted <= set(found)
    assert {"interpass_max_degC", "source"} <= set(found["limit"])
    assert {
        "number", "wait_s", "arc_on_s", "arc_off_s", "arc_energy_kJ_per_mm",
        "heat_input_kJ_per_mm", "net_energy_kJ", "interpass_degC", "end_degC",
    } <= set(found["passes"][1])  # fmt: skip
    assert {"hottest", "start_point", "mean", "coldest"} <= set(
        found["passes"][1]["interpass_degC"]
    )
    assert {"hottest", "mean"} <= set(found["passes"][1]["end_degC"])
    assert {"name", "r_mm", "z_mm", "angle_deg", "time_s", "temperature_degC"} <= set(
        found["probes"][0]
    )
    assert {"arc_kJ", "stored_kJ", "lost_kJ", "closure"} <= set(found["energy"])
    assert {"rule", "verdict", "value", "required", "source"} <= set(found["checks"][0])


def numbers(found, unit=""):
    """Every number of the object, with the key that should name its unit."""
    items = found.items() if isinstance(found, dict) else ((unit, x) for x in found)
    for key, value in items:
        carried = unit if unit.endswith(UNITS_OF_KEYS) else key
        if isinstance(value, dict | list):
            yield from numbers(value, carried)
        elif isinstance(value, int | float) and not isinstance(value, bool):
            yield carried


def test_every_number_of_the_json_has_its_unit_in_its_key(shipped_run):
    found = results(*shipped_run)
    bare = {k for k in numbers(found) if not k.endswith(UNITS_OF_KEYS)}
    assert bare <= NO_UNIT
    assert all(c["unit"] for c in found["checks"] if not isinstance(c["value"], str))


def test_json_and_text_say_the_same(stub):
    case, history = stub
    found, text = results(case, history), report.text(case, history)
    assert f"{found['passes'][1]['wait_s']:.1f}" in text
    assert f"{found['energy']['arc_kJ']:.2f}" in text
    assert found["verdict_text"].split()[-3:] == text.split()[-3:]


def test_energy_of_the_json_closes(shipped_run):
    energy = results(*shipped_run)["energy"]
    assert abs(energy["closure"]) < 1e-3
    total = energy["stored_kJ"] + energy["lost_kJ"]
    assert total == pytest.approx(energy["arc_kJ"], rel=1e-3)
    assert sum(energy["lost_by_surface_kJ"].values()) == pytest.approx(
        energy["lost_kJ"], abs=1e-3
    )


def test_csv_is_the_history_in_degC(stub):
    _, history = stub
    rows = list(csv.DictReader(io.StringIO(csv_text(history))))
    assert len(rows) == history.time.size
    assert {row["phase"] for row in rows} == {"pass 1", "wait 2", "pass 2", "cooling"}
    hottest = [float(row["hottest_degC"]) for row in rows]
    assert np.allclose(hottest, history.hottest - 273.15, atol=0.006)
    assert all(f"{trace.name}_degC" in rows[0] for trace in history.traces)
