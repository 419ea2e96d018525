"""What goes out: numbers JSON can hold, cells a spreadsheet leaves alone, plain words."""

import csv
import io
import json
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from interpass.text.records import csv_text, harmless, json_text, plain_text, rounded

ESCAPES = [
    "\x1b[31mred\x1b[0m",
    "\x07",
    "\x1b]0;title\x07",
    "\x9b31m",
    "\x7f",
    "\u202e",
    "\x00",
]


@pytest.mark.parametrize("text", ESCAPES)
def test_nothing_that_steers_a_terminal_gets_through(text):
    shown = plain_text(f"before {text} after\n\tline")
    assert shown.startswith("before ")
    assert shown.endswith(" after\n\tline")
    assert not [c for c in shown if c not in "\n\t" and not c.isprintable()]


@given(st.text())
def test_any_text_is_shown_without_control(text):
    shown = plain_text(text)
    assert all(c in "\n\t" or ord(c) >= 32 for c in shown)
    assert plain_text(shown) == shown


@given(
    st.dictionaries(
        st.text(), st.text() | st.floats(allow_nan=False, allow_infinity=False)
    )
)
def test_json_shown_on_a_terminal_is_the_same_json(data):
    assert json.loads(plain_text(json_text(data))) == data


def test_json_has_no_nan():
    with pytest.raises(ValueError, match="not JSON compliant"):
        json_text({"a": float("nan")})


@pytest.mark.parametrize("value", [None, float("nan"), float("inf"), -float("inf")])
def test_what_json_cannot_hold_is_nothing(value):
    assert rounded(value, 2) is None


def test_rounded_has_no_negative_zero():
    assert str(rounded(-0.001, 2)) == "0.0"


@given(st.lists(st.lists(st.text(), min_size=2, max_size=2), min_size=1))
def test_any_cell_comes_back_as_text_that_computes_nothing(rows):
    back = list(csv.reader(io.StringIO(csv_text(rows), newline="")))
    assert [[*map(str, map(harmless, row))] for row in rows] == back
    for cell in (cell for row in back for cell in row):
        is_formula = cell.lstrip().startswith(("=", "+", "-", "@"))
        assert not is_formula or re.fullmatch(r"-\d+\.\d+", cell, re.ASCII)


def test_numbers_stay_numbers_and_nothing_is_empty():
    assert csv_text([[-1.5, None, "=1+1", True, "a,b"]]) == '-1.5,,\'=1+1,True,"a,b"\n'
