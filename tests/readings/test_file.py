"""Files of readings: what they say, and what is refused with its line."""

from math import inf, pi
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from interpass.doubt.priors import READING_ERROR
from interpass.logs.log import parse_log
from interpass.readings.file import parse_readings, read_readings
from interpass.text.errors import CaseError
from interpass.text.files import decoded

ROOT = Path(__file__).parents[2]
SHIPPED = ROOT / "cases" / "sampling-stub-readings.csv"
LOG = ROOT / "cases" / "sampling-stub-log.csv"


def mistakes_of(text, passes=2):
    with pytest.raises(CaseError) as caught:
        parse_readings(text, passes, "r.csv")
    return [str(one) for one in caught.value.mistakes]


def test_the_file_shipped():
    first, second, third = read_readings(SHIPPED, 2)
    assert (first.after_pass, first.since, first.line) == (1, 40.0, 3)
    assert first.low == first.high == pytest.approx(424 + 273.15)
    assert first.error == READING_ERROR
    assert second.since == 120.0
    assert (third.low, third.high) == (pytest.approx(150 + 273.15), inf)
    assert third.error < READING_ERROR  # a crayon


def test_everything_a_line_may_say():
    text = (
        "instrument;error_K;angle_deg;from_toe_mm;on;melted;not_melted;time;pass;note\n"
        "sticks;2,5;90;12,5;Fitting;150 degC;200 degC;1:20;2;windy\n"
    )
    (one,) = parse_readings(text, 2)
    assert (one.after_pass, one.since, one.on) == (2, 80.0, "fitting")
    assert (one.low, one.high) == (423.15, 473.15)
    assert one.angle == pytest.approx(pi / 2)
    assert (one.from_toe, one.error) == (pytest.approx(0.0125), 2.5)
    assert one.instrument == "sticks"


@pytest.mark.parametrize(
    ("cells", "since"),
    [
        ("40,", 40), ("40 s,", 40), ("1:20,", 80),
        (",40 s", 40), (",1:20", 80), (",2 min", 120),
    ],
)  # fmt: skip
def test_times_after_arc_off(cells, since):
    (one,) = parse_readings(f"pass,seconds,time,temp_degC\n1,{cells},195\n", 1)
    assert one.since == pytest.approx(since)


@pytest.mark.parametrize(
    ("off", "at", "since"),
    [
        ("14:03:35", "14:04:15", 40),
        ("23:59:40", "00:00:20", 40),
        ("11:59:40 PM", "12:00:20 AM", 40),
        ("2:03:35 pm", "14:04:15", 40),
        ("2024-02-29 23:59:40", "2024-03-01 00:00:20", 40),
    ],
)
def test_clock_beside_arc_off(off, at, since):
    (one,) = parse_readings(f"pass,arc_off,time,temp_degC\n1,{off},{at},195\n", 1)
    assert one.since == pytest.approx(since)


def test_clock_with_a_log():
    from interpass.logs.log import by_clock

    log = parse_log(LOG.read_text(encoding="utf-8"), 2)
    text = "pass,time,temp_degC\n1,14:04:20,331\n2,14:13:00,400\n"
    first, second = parse_readings(text, 2, by_clock=by_clock(log))
    assert (first.since, second.since) == (45.0, 47.0)
    with pytest.raises(CaseError, match=r"14 s before the arc of pass 2 went out"):
        parse_readings("pass,time,temp_degC\n2,14:11:59,9\n", 2, by_clock=by_clock(log))


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("pass,temp_degC\n1,195\n", "r.csv:1: no column seconds"),
        ("seconds,temp_degC\n40,195\n", "r.csv:1: no column pass"),
        ("pass,seconds\n1,40\n", "r.csv:1: no column temperature_degC"),
        ("pass,seconds,temp\n1,40,195\n", "r.csv:2: temperature: '195' is a bare number"),
        ("pass,time,temp_degC\n1,40,195\n", "r.csv:2: time: '40' is a bare number"),
        ("pass,seconds,temp_degC\n3,40,195\n", "r.csv:2: pass 3, but the case has 2"),
        ("pass,seconds,temp_degC\n,40,195\n", "r.csv:2: no pass"),
        ("pass,seconds,temp_degC\n1,,195\n", "r.csv:2: no time"),
        ("pass,seconds,temp_degC\n1,40,\n", "r.csv:2: no temperature"),
        (
            "pass,seconds,temp_degC\n1,-40,195\n",
            "r.csv:2: seconds: '-40' is out of range",
        ),
        ("pass,seconds,temp_degC\n1,1:75,195\n", "r.csv:2: seconds: '1:75' is no time"),
        ("pass,seconds,temp_C\n1,2 min,195\n", "'2 min' under a header that says s"),
        ("pass,time,temp_degC\n1,25:00:00,195\n", "r.csv:2: time: '25:00:00' is no time"),
        ("pass,time,temp_degC\n1,14:00:00,195\n", "but not when the arc went out"),
        ("pass,arc_off,time,temp_degC\n1,14:00:30,14:00:00,195\n", "before the arc went"),
        ("pass,arc_off,time,temp_degC\n1,x,14:00:00,195\n", "arc_off: 'x' is no time of"),
        ("pass,seconds,time,temp_degC\n1,40,40 s,195\n", "two times"),
        ("pass,seconds,temp_degC,melted\n1,40,1,1 degC\n", "temperature and melted"),
        (
            "pass,seconds,melted_C,not_melted_C\n1,40,200,150\n",
            "200 degC melted and that",
        ),
        (
            "pass,seconds,temp_C,on\n1,40,195,pump\n",
            "on: 'pump' is not known here; write",
        ),
        ("pass,seconds,temp_C\n", "r.csv:1: there is no reading in it"),
    ],
)
def test_what_is_refused(text, told):
    assert told in mistakes_of(text)[0]


def test_all_mistakes_of_all_lines_at_once():
    found = mistakes_of("pass,seconds,temp\n9,40,195\n1,x,20 degC\n1,40,5000 degC\n")
    assert [one.split(": ")[0] for one in found] == [
        "r.csv:2",
        "r.csv:2",
        "r.csv:3",
        "r.csv:4",
    ]


@pytest.mark.parametrize(
    ("instrument", "error"),
    [("IR / infrared gun", 15.0), ("thermocouple K", 3.0), ("", READING_ERROR)],
)
def test_usual_error_by_instrument(instrument, error):
    text = f"pass,seconds,temp_degC,instrument\n1,40,195,{instrument}\n"
    assert parse_readings(text, 1)[0].error == error


PIECES = [b'"', b",", b";", b"\n", b"\r", b"=", b"-", b"nan", b"1e999", b"14:", b"\xff",
          b"\0", b"#", b"not melted ", b"1/0", b"\xc2\xbd", b"\xe2\x80\xa8"]  # fmt: skip


@settings(max_examples=300, deadline=None)
@given(
    st.sampled_from([SHIPPED, LOG]),
    st.lists(
        st.tuples(
            st.floats(0, 1), st.integers(0, 5),
            st.one_of(st.sampled_from(PIECES), st.binary(max_size=3)),
        ),
        min_size=1,
        max_size=4,
    ),
)  # fmt: skip
def test_noise_ends_in_a_mistake_or_in_readings(path, changes):
    """Bytes changed anywhere: never a traceback, always the file and mostly the line."""
    raw = bytearray(path.read_bytes())
    for share, length, piece in changes:
        start = int(share * len(raw))
        raw[start : start + length] = piece
    read = parse_log if path == LOG else parse_readings
    mistakes = []
    try:
        read(decoded(bytes(raw), "n.csv"), 2, "n.csv")
    except CaseError as error:
        mistakes = error.mistakes
    assert all(str(one).startswith("n.csv:") and one.problem for one in mistakes)
