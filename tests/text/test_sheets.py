"""CSV texts as spreadsheets and people write them; what is none is refused by its line."""

from pathlib import Path

import pytest
from interpass.text.cells import count, quantity, temperature_range
from interpass.text.errors import CaseError
from interpass.text.files import LARGEST, csv_text, decoded
from interpass.text.sheets import MOST_MISTAKES, MOST_ROWS, Column, parse_csv, unit_named

COLUMNS = {
    "pass": Column("", ("run",)),
    "seconds": Column("time", ("since",), "s"),
    "temperature": Column("temperature", ("temp",)),
    "amps": Column("current", ("current",), "A"),
    "note": Column(),
}


def sheet_of(text):
    return parse_csv(text, "f.csv", COLUMNS)


def cells_of(text):
    return [row.cells for row in sheet_of(text).rows]


def mistakes_of(text):
    with pytest.raises(CaseError) as caught:
        sheet_of(text).stop_if_wrong()
    return [str(one) for one in caught.value.mistakes]


def degC_of(text):
    """Temperatures of every row."""
    sheet = sheet_of(text)
    found = [quantity(sheet, row, "temperature") for row in sheet.rows]
    sheet.stop_if_wrong()
    return [pytest.approx(T - 273.15) for T in found]


@pytest.mark.parametrize(
    "text",
    [
        "pass,temperature_degC\n1,195.5\n",
        "pass;temperature_degC\n1;195,5\n",
        "pass\ttemperature_degC\n1\t195,5\n",
        "\n# a comment\npass,temperature_degC\n\n  # another\n1,195.5\n,\n",
        "pass,temperature_degC\r\n1,195.5\r\n",
        "pass,temperature_degC\r1,195.5",
        'pass,temperature_degC\n1,"195,5"\n',
        "sep=;\npass;temperature_degC\n1;195,5\n",
        " Temperature [degC] , PASS\n195.5 ,1\n",
        "Temp (°C),Run\n195.5,1\n",
        "pass,temperature\n1,195.5 degC\n",
        "pass,temp\n1,195.5 C\n",
        "pass,temp\n1,195.5°C\n",
        "pass,temp_degF\n1,383.9\n",
        "pass,temp_F\n1,383.9\n",
        "pass,temp,\n1,383.9 F,\n",
        "pass,temp\n1,468.65 K\n",
    ],
)
def test_one_temperature_in_many_spellings(text):
    sheet = sheet_of(text)
    (row,) = sheet.rows
    assert count(sheet, row, "pass") == 1
    assert degC_of(text) == [195.5]


def test_byte_order_mark_is_passed_over():
    text = decoded("\ufeffpass,temp_degC\n1,20\n".encode(), "f.csv")
    assert degC_of(text) == [20.0]


def test_rows_keep_the_line_of_the_file():
    sheet = sheet_of("# first\n\npass,note\n1,a\n\n2,b\n")
    assert [row.line for row in sheet.rows] == [4, 6]


def test_a_formula_is_text_and_nothing_else():
    text = 'pass,note\n1,"=HYPERLINK(""x"")"\n1,@SUM(A1)\n'
    assert [c["note"] for c in cells_of(text)] == ['=HYPERLINK("x")', "@SUM(A1)"]


def test_bare_number_shows_the_right_form():
    (told,) = mistakes_after("temperature", "pass,temperature\n1,195\n")
    assert told == (
        "f.csv:2: temperature: '195' is a bare number: 195 degF (90.6 degC) or 195 degC "
        "(383 degF)? write the unit, or name the column temperature_degC"
    )


def mistakes_after(name, text, read=quantity):
    """Mistakes of a column once it was read."""
    sheet = sheet_of(text)
    for row in sheet.rows:
        assert read(sheet, row, name) is None
    with pytest.raises(CaseError) as caught:
        sheet.stop_if_wrong()
    return [str(one) for one in caught.value.mistakes]


@pytest.mark.parametrize(
    ("cell", "told"),
    [
        ("383 F", "under a header that says degC"),
        ('"1,234"', "may be thousands or decimals"),
        ("hot", "does not start with a number"),
        ("nan", "does not start with a number"),
        ("inf", "does not start with a number"),
        ("1e999", "no number a joint could have"),
        ("1/0", "no number a joint could have"),
        ("9000", "out of range; allowed: -60 degC to 2000 degC"),
        ("-300", "below absolute zero"),
        ("20 mm", "under a header that says degC"),
        ("195..", ""),
        ("=1+1", ""),
    ],
)
def test_a_cell_that_is_no_temperature_is_refused(cell, told):
    (found,) = mistakes_after("temperature", f"pass,temp_degC\n1,{cell}\n")
    assert found.startswith("f.csv:2: temperature: ")
    assert told in found


@pytest.mark.parametrize("cell", ["0", "-1", "1.5", "x", "100", "1e3", "²"])
def test_a_cell_that_is_no_pass_is_refused(cell):
    (found,) = mistakes_after("pass", f"pass,note\n{cell},a\n", count)
    assert found.startswith("f.csv:2: pass: ")


@pytest.mark.parametrize(
    ("cell", "low", "high"),
    [
        ("195", 195, 195),
        ("melted 150", 150, float("inf")),
        ("Melted at 150", 150, float("inf")),
        ("> 150", 150, float("inf")),
        ("not melted 200", float("-inf"), 200),
        ("did not melt at 200", float("-inf"), 200),
        ("<200", float("-inf"), 200),
    ],
)
def test_crayons_give_intervals(cell, low, high):
    sheet = sheet_of(f"pass,temp_degC\n1,{cell}\n")
    found = temperature_range(sheet, sheet.rows[0], "temperature")
    assert [T - 273.15 for T in found] == pytest.approx([low, high])


def test_header_must_be_known():
    (told,) = mistakes_of("pass,temprature\n1,2\n")
    assert told.startswith(
        "f.csv:1: unknown column 'temprature'; did you mean 'temperature'?"
    )
    assert "known here: pass, seconds" in told


def test_every_unknown_column_is_told():
    assert len(mistakes_of("pass,weather,mood\n1,2,3\n")) == 2


def test_a_column_stands_once():
    assert "two columns for temperature" in mistakes_of("temp,Temperature\n1,2\n")[0]


def test_header_with_a_unit_of_another_kind():
    assert "mm is no unit for a temperature" in mistakes_of("temp_mm\n1\n")[0]


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("1,195,5", "3 cells in a line, 2 in the header"),
        ('1,"195', "close every quote"),
        ('1,"195"x', "close every quote"),
    ],
)
def test_a_line_that_is_no_row_is_refused(line, told):
    (found,) = mistakes_of(f"pass,temp_degC\n{line}\n")
    assert found.startswith("f.csv:2: ")
    assert told in found


def test_a_cell_under_no_name_is_refused():
    assert "without a name" in mistakes_of("pass,,temp\n1,x,2\n")[0]


def test_all_mistakes_at_once_but_not_endlessly():
    text = "pass,note\n" + "1,2,3\n" * 40
    found = mistakes_of(text)
    assert len(found) == MOST_MISTAKES + 1
    assert found[0] == f"f.csv: and {40 - MOST_MISTAKES} more mistakes"


@pytest.mark.parametrize(
    ("raw", "told"),
    [
        (b"pass\n1\n\0", "f.csv:3: this is not a text"),
        (b"pass\n\xff\n", "f.csv:2: this is not UTF-8 text; save it as CSV, UTF-8"),
        ("pass\n1\n".encode("utf-16"), "zero bytes"),
        (b"x" * (LARGEST + 1), "f.csv: more than 1 MB"),
    ],
)
def test_bytes_that_are_no_text(raw, told):
    with pytest.raises(CaseError) as caught:
        decoded(raw, "f.csv")
    assert told in str(caught.value)


@pytest.mark.parametrize("text", ["", "\n\n", "# only a comment\n", "sep=;\n", ",,,\n"])
def test_a_file_without_a_header(text):
    assert "the first line names the columns" in mistakes_of(text)[0]


def test_too_many_rows():
    assert "is it the right file" in mistakes_of("pass\n" + "1\n" * (MOST_ROWS + 1))[0]


def test_files_that_cannot_be_read(tmp_path):
    for path, told in (
        (tmp_path, "this is a directory"),
        (tmp_path / "none.csv", "there is no such file"),
        (Path("a\0b"), "cannot be read"),
    ):
        with pytest.raises(CaseError) as caught:
            csv_text(path)
        assert told in str(caught.value)


@pytest.mark.parametrize(
    ("text", "unit"),
    [("degC", "degC"), ("° F", "degF"), ("Celsius", "degC"), ("MM", "mm"), ("arc", "")],
)
def test_units_over_a_column(text, unit):
    assert unit_named(text) == unit
