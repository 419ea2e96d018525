"""The command ``tables``: every row with its source, filters, CSV, JSON and figure."""

import csv
import io
import json

import pytest
from interpass.physics.metals import material, material_names
from interpass.report import lookup as table_view
from interpass.report.lookup import (
    find_rows,
    in_units,
    table_csv,
    table_json,
    table_text,
)
from interpass.report.tables import TABLES, WORDS
from interpass.rules.quantities import KINDS
from interpass.text.errors import CatalogueError, ExitStatus
from interpass.text.kinds import US
from interpass.trade.rows import STANDINGS

UNSOURCED = ("quantities", "list")  # names of the program, not data


@pytest.mark.parametrize("table", TABLES)
def test_table_fits_the_page_and_every_row_has_a_source(table):
    text = table_text(table)
    body = text.split("\n\n")[0] if "\n  " not in text else text
    assert max(map(len, body.splitlines())) <= 100
    assert text.endswith("\n")
    for row in TABLES[table]():
        if table not in UNSOURCED:
            assert row["source"]
            told = row["standing"].split(", ")
            assert all(one in (*STANDINGS, "given") or one[0] == "{" for one in told)


@pytest.mark.parametrize("table", TABLES)
def test_csv_and_json_hold_the_rows(table):
    rows = TABLES[table]()
    assert list(csv.DictReader(io.StringIO(table_csv(table)))) == rows
    data = json.loads(table_json(table))
    assert (data["schema"], data["table"]) == (1, table)
    assert len(data["rows"]) == len(rows)
    for plain, row in zip(data["rows"], rows, strict=True):
        for key, text in row.items():
            value = plain[key]
            assert value == (
                float(text) if isinstance(value, int | float) else text or None
            )


def test_tables_are_all_explained():
    assert list(WORDS) == list(TABLES)
    assert {row["table"] for row in find_rows("list")} == set(TABLES)


def test_every_quantity_of_the_rules_is_listed():
    assert [row["name"] for row in find_rows("quantities")] == list(KINDS)


@pytest.mark.parametrize(
    ("table", "words", "column", "values"),
    [
        ("pipe", ["3/4"], "schedules",
         ["5S 5", "10S 10", "40S 40 STD", "80S 80 XS", "160", "XXS"]),
        ("pipe", ["NPS 1 1/2", "80S"], "wall_mm", ["5.08"]),
        ("pipe", ["NPS", "1", "1/2", "XS"], "wall_mm", ["5.08"]),
        ("pipe", ["DN", "20", "160"], "wall_mm", ["5.56"]),
        ("pipe", ["DN 20", "Sch 160"], "wall_mm", ["5.56"]),
        ("pipe", ["1"], "outside_diameter_mm", ["33.4"] * 6),  # not 1 1/4, nor 1.65
        ("sockets", ["1/2", "class", "6000"], "bore_mm", ["21.8"]),
        ("legs", ["1", "160", "3000"], "leg_mm", ["4.980"]),
        ("materials", ["TP316L"], "name", ["316L"]),
        ("materials", ["304"], "name", ["304L"]),
        ("materials", ["carbon steel"], "name", ["carbon steel"]),
        ("materials", ["austenitic"], "name", ["304L", "316L", "321", "347"]),
        ("wires", ["2"], "mass_g_per_m", ["24.662"]),
        ("wires", ["1.60"], "mass_g_per_m", ["15.783"]),
        ("limits", ["norsok"], "maximum_degC", ["175", "150", "250"]),
        ("efficiency", ["gtaw", "standard k"], "value", ["0.6"]),
        ("rules", ["class society", "wall"], "rule", None),
    ],
)  # fmt: skip
def test_filter(table, words, column, values):
    """Sizes of B36.10M and B16.11 as the catalogue's own tests have them."""
    found = [row[column] for row in find_rows(table, words)]
    assert found
    assert values is None or found == values


def test_filter_without_a_match_is_wrong_usage():
    with pytest.raises(CatalogueError, match="did you mean '3/4'") as caught:
        find_rows("pipe", ["3/4x"])
    assert caught.value.status == ExitStatus.USAGE
    with pytest.raises(CatalogueError, match="did you mean 'austenitic'"):
        find_rows("limits", ["austenitc"])
    with pytest.raises(CatalogueError, match="did you mean 'pipe'"):
        find_rows("pipes")


def test_curve_is_what_the_sources_print():
    """EN 1993-1-2: 53.334 and 50.67 W/m/K, 439.8 and 487.6 J/kg/K (restatement)."""
    at = {row["temperature_degC"]: row for row in find_rows("curves", ["A106"])}
    k = [float(at[celsius]["conductivity_W_per_m_K"]) for celsius in ("20", "100")]
    # the model's own table has a point every 2.5 K
    assert k == pytest.approx([53.334, 50.67], abs=0.02)
    assert float(at["100"]["specific_heat_J_per_kg_K"]) == pytest.approx(488, abs=1)
    assert at["20"]["enthalpy_MJ_per_m3"] == "0.0"


def test_sources_are_lettered_only_where_they_differ():
    assert "Source:" in table_text("wires")
    mixed = table_text("pipe", ["1/8"])
    assert "[from memory]" in mixed
    assert mixed.splitlines()[1].endswith("source")


def test_wide_tables_become_paragraphs(monkeypatch):
    monkeypatch.setattr(table_view, "WIDEST", 40)
    text = table_text("limits", ["duplex"])
    assert text.startswith("duplex\n  P-10H: maximum degC 150")
    assert max(map(len, text.splitlines())) <= 80


def test_text_in_us_units():
    """NPS 3/4 80S: 1.050 and 0.154 in by B36.10M (from memory); 350 degF by API RP 582."""
    pipe = table_text("pipe", ["3/4", "80S"], US)
    assert "1.051" in pipe  # 26.7 mm as the library prints it
    assert "0.154" in pipe
    limits = table_text("limits", ["austenitic"], US)
    assert "350" in limits
    assert "302" in limits  # 150 degC of NORSOK M-601
    for table in TABLES:
        heads = "".join(in_units(table_view.TABLES[table]()[0], US))
        assert "_mm" not in heads.replace("_mm2", ""), table
        assert not heads.endswith("_degC"), table


# the command


def test_command_prints_rows(run):
    status, out, err = run("tables", "pipe", "NPS", "3/4", "80S")
    assert (status, err) == (ExitStatus.OK, "")
    assert "26.7" in out
    assert run("tables", "pipe", "NPS 3/4", "80S")[1] == out
    us = run("tables", "pipe", "NPS", "3/4", "80S", "--units", "us")[1]
    assert "0.154" in us
    assert "3.91" not in us
    as_json = ("tables", "pipe", "3/4", "80S", "--json")
    assert run(*as_json, "--units", "us") == run(*as_json)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("pipes",), "did you mean 'pipe'?"),
        (("pipe", "9/4"), "no row of pipe with '9/4'"),
        (("pipe", "--json", "--csv"), "exclude one another"),
        (("materials", "--figure", "x.svg"), "name one of 304L"),
        (("wires", "--figure", "x.svg"), "has no curves"),
        (("materials", "316L", "--figure", "x.gif"), "must end in .svg or .png"),
    ],
    ids=str,
)
def test_wrong_usage(run, arguments, words, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    status, out, err = run("tables", *arguments)
    assert (status, out) == (ExitStatus.USAGE, "")
    assert words in " ".join(err.split())
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("kind", ["svg", "png"])
def test_figure_is_the_same_twice(run, tmp_path, kind):
    paths = [tmp_path / f"{name}.{kind}" for name in "ab"]
    for path in paths:
        status, out, err = run("tables", "curves", "304", "--figure", path)
        assert (status, err) == (ExitStatus.OK, f"Wrote {path}\n")
        assert "304L" in out
    assert paths[0].read_bytes() == paths[1].read_bytes()


@pytest.mark.parametrize("name", material_names())
def test_figure_shows_the_curve_and_keeps_its_scale(name):
    """The heat of melting, thousands of J/kg/K, must not flatten the curve."""
    from interpass.pictures.metal import material_figure

    metal = material(name)
    above, below = material_figure(metal).axes
    k = above.lines[0].get_ydata()
    assert 0.99 * metal.conductivity.min() <= k.min() < k.max()
    solid = below.lines[0].get_xdata() < metal.solidus - 273.15 - 5
    assert below.get_ylim()[1] < 1.2 * below.lines[0].get_ydata()[solid].max() + 400


def test_us_units_of_what_has_no_inch_in_it():
    """NIST SP 811: 1 ksi 6.894757 MPa, 1 Btu(IT)/(h ft degF) 1.730735 W/m/K, 1 lb/in^3
    27679.9 kg/m^3, 1 Btu(IT)/lb 2326 J/kg, 1 Btu(IT)/(lb degF) 4186.8 J/kg/K, 1 lb/ft
    1.488164 kg/m (from memory)."""
    row = {
        "a_MPa": "6.894757", "b_W_per_m_K": "1.730735", "c_kg_per_m3": "27679.90",
        "d_kJ_per_kg": "2.326000", "e_J_per_kg_K": "4186.800", "f_g_per_m": "1488.164",
    }  # fmt: skip
    shown = in_units(row, US)
    assert [float(value) for value in shown.values()] == pytest.approx([1] * 6, rel=1e-6)
    text = table_text("materials", ["316L"], US)
    assert "Btu/h/ft/degF" in text
    assert "lb/in^3" in text
    assert "68degF" in text
