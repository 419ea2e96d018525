"""Cases side by side: what differs, and the numbers of their single plans."""

import csv
import io
import json
from dataclasses import replace
from pathlib import Path

import pytest
from interpass.case_file.read import read_case
from interpass.charts.compare import Compared, inputs, outcomes, read_cases, run_cases
from interpass.heat.waits import plan
from interpass.pictures.compare import compare_figure
from interpass.pictures.style import picture
from interpass.report import compare as compare_report
from interpass.results import compare as compare_data
from interpass.results.compare import csv_text
from interpass.results.plan import results
from interpass.text.errors import CaseError
from interpass.text.kinds import US
from interpass.text.records import json_text
from terminal import no_constant

TAPPING = Path(__file__).parents[1] / "data" / "gauge-tapping.toml"


def varied(tmp_path, name, *changes):
    text = TAPPING.read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    path = tmp_path / f"{name}.toml"
    path.write_text(text, encoding="utf-8")
    return str(path)


@pytest.fixture
def files(tmp_path):
    """The same joint three times: as it is, hotter, and with a given wait."""
    hotter = varied(tmp_path, "hot", ("70 A", "80 A"), ("Gauge tapping", "=Hot one"))
    third = '"300 degC"\n[surroundings]\nfan = "2 m/s"'
    return [str(TAPPING), hotter, varied(tmp_path, "fan", ('"300 degC"', third))]


@pytest.fixture
def compared(files):
    return run_cases(read_cases(files))


def test_only_what_differs_is_listed(compared):
    found = {line.name: line.values for line in inputs(compared)}
    assert found["pass.1.current"] == ("70 A", "80 A", "70 A")
    assert found["surroundings.fan"][2] == "2 m/s"
    assert "pass.2.current" not in found
    assert "pipe.size" not in found


def test_lengths_are_told_in_the_units_asked_for(tmp_path):
    """4.5 in is 114.3 mm; words, and what has inches of its own, stay as they are."""
    long = [("80 mm", "4.5 in"), ("1/2", "3/4")]
    pair = read_cases([str(TAPPING), varied(tmp_path, "long", *long)])
    done = plan(replace(pair[0], model=replace(pair[0].model, ring=1, cell=2e-3)))
    both = [Compared(letter, one, done) for letter, one in zip("AB", pair, strict=True)]
    rows = {line.split()[0]: line.split()[1:] for line in
            compare_report.text(both, US).splitlines() if line.startswith("pipe.")}  # fmt: skip
    assert rows["pipe.length"] == ["3.150", "in", "4.5", "in"]
    assert rows["pipe.outside_diameter"][1] == "mm"
    assert rows["pipe.wall"][1::2] == ["in", "in"]
    assert "114.30 mm" in compare_report.text(both)


def test_one_value_in_two_units_does_not_differ(tmp_path):
    """20 degC is 68 degF and 80 mm is 3.149606 in; 300 degC is 572 degF, not 573."""
    us = [("80 mm", "3.149606 in"), ('"11 V"', '"11.0 V"'), ("300 degC", "572 degF")]
    surroundings = '\n[surroundings]\nair = "{}"\n'
    cases = []
    for n, (air, changes) in enumerate(
        (("20 degC", []), ("68 degF", us), ("68 degF", [("300 degC", "573 degF")]))
    ):
        path = Path(varied(tmp_path, str(n), *changes))
        text = path.read_text(encoding="utf-8") + surroundings.format(air)
        path.write_text(text, encoding="utf-8")
        cases.append(Compared("ABC"[n], read_case(str(path)), None))
    assert [line.name for line in inputs(cases[:2])] == []
    assert [line.name for line in inputs(cases)] == ["limits.interpass_max"]


def test_numbers_are_those_of_the_single_plans(compared):
    found = {line.name: line.values for line in outcomes(compared)}
    for n, one in enumerate(compared):
        history = plan(read_case(one.case.file))
        ledger = history.ledger
        assert one.history.passes == history.passes
        assert (
            found["hottest at arc on, pass 2"][n] == history.passes[1].at_arc_on.hottest
        )
        assert found["stored at the end"][n] + found["lost until the end"][n] == (
            pytest.approx(ledger.arc, rel=1e-9)
        )
    waits = found["wait before pass 2"]
    assert waits[1] > waits[0] > waits[2]
    assert found["total against A"][0] == "+0 %"


@pytest.mark.slow
def test_processes_give_the_same_bits(files, compared):
    other = run_cases(read_cases(files), workers=2)
    assert [one.history.passes for one in other] == [
        one.history.passes for one in compared
    ]


def test_text_has_a_column_for_each(compared):
    words = compare_report.text(compared)
    assert max(map(len, words.splitlines())) <= 80
    assert "pass.1.current" in words
    assert "572" in compare_report.text(compared, US)  # 300 degC in degF


def test_text_of_cases_that_do_not_differ(files):
    words = compare_report.text(run_cases(read_cases([files[0], files[0]])))
    assert "do not differ" in words


def test_json_holds_the_results_of_each(compared):
    data = json.loads(
        json_text(compare_data.results(compared)), parse_constant=no_constant
    )
    for one, entry in zip(compared, data["cases"], strict=True):
        expected = results(one.case, one.history)
        assert entry["passes"] == expected["passes"]
        assert entry["energy"] == expected["energy"]
    assert data["inputs_that_differ"][0]["key"]


def test_csv_holds_no_formula(compared):
    rows = list(csv.reader(io.StringIO(csv_text(compared))))
    assert rows[0] == ["what", "unit", "A", "B", "C"]
    assert rows[1][3] == "'=Hot one"
    wait = next(row for row in rows if row[0] == "wait before pass 2")
    assert float(wait[3]) > float(wait[2])


def test_mistakes_of_all_files_are_told_at_once(tmp_path):
    bad = [
        varied(tmp_path, "first", ("70 A", "70")),
        varied(tmp_path, "second", ("half coupling", "bottle")),
    ]
    with pytest.raises(CaseError) as caught:
        read_cases(bad)
    assert "first.toml:18" in str(caught.value)
    assert "second.toml:11" in str(caught.value)


def test_an_incomplete_run_is_said(tmp_path, files):
    stuck = varied(
        tmp_path, "stuck", ('"300 degC"', '"300 degC"\nwait_max = "5 s"'),
    )  # fmt: skip
    words = compare_report.text(run_cases(read_cases([files[0], stuck])))
    assert "B stopped: pass 2: after 5 s" in " ".join(words.split())


@pytest.mark.parametrize("count", [2, 6])
def test_picture_fits_and_is_the_same_again(compared, count):
    many = [
        replace(compared[n % 3], letter=letter)
        for n, letter in enumerate("ABCDEF"[:count])
    ]
    figure = compare_figure(many)
    figure.canvas.draw()
    drawn = figure.get_tightbbox().padded(-0.01)  # inch
    assert drawn.x0 >= 0
    assert drawn.y0 >= 0
    assert drawn.x1 <= figure.get_size_inches()[0]
    assert drawn.y1 <= figure.get_size_inches()[1]
    assert picture(compare_figure(many), "svg") == picture(compare_figure(many), "svg")


def test_command(run, files, tmp_path):
    table, drawing = tmp_path / "out.csv", tmp_path / "out.png"
    status, words, _ = run("compare", *files, "--csv", table, "--figure", drawing)
    assert status in (0, 5)
    assert words.startswith("A  Gauge tapping")
    assert table.read_text(encoding="utf-8").startswith("what,unit,A,B,C")
    assert drawing.read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize("count", [1, 7])
def test_command_takes_two_to_six(run, count):
    status, _, said = run("compare", *[TAPPING] * count)
    assert status == 2
    assert "two to six" in said
