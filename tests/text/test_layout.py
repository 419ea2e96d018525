"""Tables that fit the terminal: heads broken, words folded, columns in parts."""

import pytest
from interpass.text.layout import Table, least_width, table_lines

HEADS = ("size", "current", "wait, min:s", "total time, min:s", "remark")
ROWS = tuple(
    (size, f"{amps} A", "5:10", "17:51", "the limit is out of reach within an hour")
    for size in ("NPS 1/2", "NPS 3/4")
    for amps in (60, 80)
)
TABLE = Table("", HEADS, ROWS, left=(0, 1, 4), names=2)


@pytest.mark.parametrize("width", [80, 70, 60, 50])
def test_no_line_is_wider_than_asked(width):
    assert max(map(len, table_lines(TABLE, width))) <= width


@pytest.mark.parametrize("width", [80, 60, 45, 40])
def test_nothing_is_lost(width):
    told = " ".join(table_lines(TABLE, width)).split()
    for row in ROWS:
        for word in " ".join(row).split():
            assert told.count(word) >= sum(" ".join(r).split().count(word) for r in ROWS)


def test_parts_repeat_every_column_that_names_a_row():
    lines = table_lines(Table("", HEADS[:4], tuple(r[:4] for r in ROWS), names=2), 26)
    parts = "\n".join(lines).split("\n\n")
    assert len(parts) > 1
    for part in parts:
        named = [line.split()[:4] for line in part.splitlines()[-4:]]
        assert [" ".join(words) for words in named] == [
            "NPS 1/2 60 A", "NPS 1/2 80 A", "NPS 3/4 60 A", "NPS 3/4 80 A"
        ]  # fmt: skip


def test_a_unit_stands_by_itself_under_its_words():
    lines = table_lines(Table("", HEADS[:4], tuple(r[:4] for r in ROWS)), 42)
    assert lines[:3] == [
        "                   wait  total time",
        "   size  current  min:s       min:s",
        "NPS 1/2     60 A   5:10       17:51",
    ]


def test_names_of_keys_are_never_cut():
    key = "surroundings.holding.conductance"
    table = Table("", ("", *"ABC"), ((key, "a" * 20, "b" * 20, "c" * 20),), left=(0,))
    lines = table_lines(table, 60)
    assert sum(key in line for line in lines) == 3
    assert least_width(table) > 80
