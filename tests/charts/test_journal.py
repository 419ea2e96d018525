"""Rows of a chart on the disk: whatever moment it was killed at, none lost or doubled."""

import json
import multiprocessing

import pytest
from interpass.charts.joints import DONE, IMPOSSIBLE, ChartRow, as_entry, from_entry
from interpass.charts.journal import JournalError, journal, journal_path

HEADER = {"chart": "abc", "words": "'Stub' over size (3)"}
ROWS = [
    ChartRow(0, DONE, waits=(1 / 3, 0.0), is_auto=(True, False), allow=(2 / 3, None),
        total=123.456789, hottest=448.15, limit=448.15, failed=("leg",)),
    ChartRow(2, IMPOSSIBLE, "no such pipe: «é»"),
    ChartRow(1, DONE, waits=(1e-9,), is_auto=(True,), solved=80.0, note="the end"),
]  # fmt: skip


def written(path, rows=ROWS):
    with journal(path, HEADER, resume=False) as (_, append):
        for row in rows:
            append(row)
    return path.read_bytes()


@pytest.mark.parametrize("row", ROWS)
def test_a_row_comes_back_as_it_was(row):
    assert from_entry(json.loads(json.dumps(as_entry(row)))) == row


def test_rows_come_back_in_the_order_they_were_written(tmp_path):
    path = journal_path(tmp_path / "chart.csv")
    written(path)
    with journal(path, HEADER, resume=True) as (rows, _):
        assert rows == ROWS


def test_cut_anywhere_it_goes_on_and_ends_the_same(tmp_path):
    path = tmp_path / "rows"
    whole = written(path)
    for cut in {*range(0, len(whole), 7), *ends(whole)}:
        path.write_bytes(whole[:cut])
        with journal(path, HEADER, resume=True) as (rows, append):
            assert rows == ROWS[: len(rows)]
            assert len(rows) >= whole[:cut].count(b"\n") - 1
            for row in ROWS[len(rows) :]:
                append(row)
        assert path.read_bytes() == whole


def ends(whole):
    """Just before, at and behind the end of every line."""
    marks = [n for n, byte in enumerate(whole) if byte == ord("\n")]
    return {n + d for n in marks for d in (-1, 0, 1)} - {len(whole)}


def test_rows_of_another_chart_are_refused_by_name(tmp_path):
    path = tmp_path / "rows"
    before = written(path)
    other = {"chart": "xyz", "words": "'Drain' over air (2)"}
    with (
        pytest.raises(JournalError, match=r"'Stub' over size.*this one is 'Drain' over"),
        journal(path, other, resume=True),
    ):
        pass
    assert path.read_bytes() == before


def test_rows_that_are_there_are_not_thrown_away(tmp_path):
    path = tmp_path / "rows"
    before = written(path)
    with (
        pytest.raises(JournalError, match=r"3 rows of this chart.*--resume"),
        journal(path, HEADER, resume=False),
    ):
        pass
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    "line", [b"nonsense\n", b"[1]\n", b'{"number": "x"}\n', b"\xff\n"]
)
def test_a_damaged_line_in_the_middle_is_told_with_its_number(tmp_path, line):
    path = tmp_path / "rows"
    first, *rest = written(path).splitlines(keepends=True)
    path.write_bytes(b"".join([first, line, *rest]))
    with (
        pytest.raises(JournalError, match="rows:2: "),
        journal(path, HEADER, resume=True),
    ):
        pass


def hold(path, ready, done):
    with journal(path, HEADER, resume=False):
        ready.set()
        done.wait(10)


def test_two_charts_do_not_write_into_one_file(tmp_path):
    path = tmp_path / "rows"
    context = multiprocessing.get_context("fork")
    ready, done = context.Event(), context.Event()
    other = context.Process(target=hold, args=(path, ready, done))
    other.start()
    assert ready.wait(10)
    try:
        with (
            pytest.raises(JournalError, match="another chart is writing"),
            journal(path, HEADER, resume=True),
        ):
            pass
    finally:
        done.set()
        other.join()


@pytest.mark.parametrize("number", [-1, 3, 10**30, True, 1.0, "1", None, [1]])
def test_a_row_of_no_joint_of_the_chart_is_told(tmp_path, number):
    path = tmp_path / "rows"
    line = json.dumps({"number": number, "state": DONE}).encode() + b"\n"
    path.write_bytes(written(path) + line)
    header = HEADER | {"joints": 3}
    with (
        pytest.raises(JournalError, match="rows:5: "),
        journal(path, header, resume=True),
    ):
        pass


@pytest.mark.parametrize(
    "broken",
    [{"state": "perhaps"}, {"waits": "12"}, {"waits": [1.0]}, {"total": "x"}, {"failed": [1]},
     {"waits": [[1]], "is_auto": [True]}, {"note": 3}, {"allow": [{}]}, {"new": 1}],
)  # fmt: skip
def test_a_row_that_holds_something_else_is_told(tmp_path, broken):
    entry = {"number": 0, "state": DONE} | broken
    with pytest.raises(TypeError, match="not a row"):
        from_entry(json.loads(json.dumps(entry)))


@pytest.mark.parametrize(
    "theirs", [b"my notes", b"my notes\n", b'{"a": 1}\n{"b', b"\0\n"]
)
def test_a_file_of_somebody_else_is_left_as_it_is(tmp_path, theirs):
    path = tmp_path / "rows"
    for resume in (True, False):
        path.write_bytes(theirs)
        with pytest.raises(JournalError), journal(path, HEADER, resume=resume):
            pass
        assert path.read_bytes() == theirs
