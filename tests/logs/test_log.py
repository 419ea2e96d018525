"""Logs of welds: clocks, seconds, midnight, partial logs; what is refused with its line."""

from math import pi
from pathlib import Path

import pytest
from interpass.logs.log import parse_log, read_log, since_first
from interpass.text.errors import CaseError
from interpass.text.times import Clock, clock_words, parse_clock

ROOT = Path(__file__).parents[2]
HEAD = "pass,arc_on,arc_off,amps,volts,interpass_degC,time,seconds,temp_degC\n"
FIRST = "1,14:00:00,14:01:30,80,11,,,,\n"
SECOND = "2,14:07:00,14:08:30,85,11,150,,,\n"


def mistakes_of(*lines, passes=2):
    with pytest.raises(CaseError) as caught:
        parse_log(HEAD + "".join(lines), passes, "l.csv")
    return [str(one) for one in caught.value.mistakes]


def times(log):
    return [(b.on, b.off) for p in log.passes for b in p.burns]


def test_the_file_shipped():
    log = read_log(ROOT / "cases" / "sampling-stub-log.csv", 2)
    assert times(log) == [(0.0, 85.0), (510.0, 603.0)]
    assert [(r.after_pass, r.since) for r in log.readings] == [(1, 45.0), (1, 425.0)]
    assert [r.instrument for r in log.readings] == ["contact pyrometer"] * 2
    assert log.passes[0].notes == ("first pass",)
    assert clock_words(log.clock.seconds) == "14:02:10"


@pytest.mark.parametrize(
    "text",
    [
        "pass,arc_on,arc_off\n1,14:00:00,14:01:30\n2,14:07:00,14:08:30\n",
        "pass,arc_on,arc_off\n1,23:58:00,23:59:30\n2,00:05:00,00:06:30\n",
        "pass,arc_on,arc_off\n1,23:59:30,00:01:00\n2,00:06:30,00:08:00\n",
        "pass,arc_on,arc_off\n1,11:58:00 PM,11:59:30 PM\n2,12:05:00 AM,12:06:30 AM\n",
        "pass,arc_on_s,arc_off_s\n1,0,90\n2,420,510\n",
        "pass,arc_on,arc_off\n1,0 s,1.5 min\n2,7 min,510 s\n",
        "pass;arc_on [s];arc_off [s]\n1;100,5;190,5\n2;520,5;610,5\n",
        "\ufeffpass\tarc_on\tarc_off\r\n1\t14:00:00\t14:01:30\r\n2\t14:07:00\t14:08:30\r\n",
        (
            "pass,arc_on,arc_off\n1,2024-12-31 23:59:00,2025-01-01T00:00:30\n"
            "2,2025-01-01 00:06:00,2025-01-01 00:07:30\n"
        ),
    ],
)
def test_the_same_weld_in_many_spellings(text):
    log = parse_log(text.removeprefix("\ufeff"), 2)
    assert times(log) == [(0.0, 90.0), (420.0, 510.0)]


def test_a_log_may_stop_after_any_pass():
    log = parse_log(HEAD + FIRST, 3)
    assert len(log.passes) == 1
    assert log.last_off == 90.0


def test_amps_and_volts_may_be_missing():
    log = parse_log("pass,arc_on,arc_off,amps\n1,14:00:00,14:01:30,\n", 1)
    (burn,) = log.passes[0].burns
    assert (burn.current, burn.voltage) == (None, None)


def test_current_takes_the_unit_of_its_cell_or_its_name():
    for head, cell in (("amps", "80"), ("current_A", "80"), ("current", "80 A")):
        log = parse_log(f"pass,arc_on,arc_off,{head}\n1,14:00:00,14:01:30,{cell}\n", 1)
        assert log.passes[0].burns[0].current == 80.0


def test_several_burns_of_a_pass():
    text = (
        "pass,arc_on,arc_off,start_deg,end_deg\n"
        "1,14:00:00,14:00:40,0,180\n1,14:01:00,14:01:45,0,-180\n"
    )
    (one,) = parse_log(text, 1).passes
    assert [(b.on, b.off) for b in one.burns] == [(0.0, 40.0), (60.0, 105.0)]
    assert one.burns[1].end_angle == pytest.approx(-pi)


@pytest.mark.parametrize(
    ("line", "after", "since"),
    [
        (",,,,,,14:02:10,,300\n", 1, 40.0),
        ("1,,,,,,14:02:10,,300\n", 1, 40.0),
        ("1,,,,,,,40,300\n", 1, 40.0),
        (",,,,,,14:07:00,,150\n", 1, 330.0),  # at arc on
        (",,,,,,14:08:30,,400\n", 2, 0.0),  # at arc off
        (",,,,,,14:10:00,,300\n", 2, 90.0),
        (",,,,,,02:00:00,,25\n", 2, 43200.0 - 510.0),
    ],
)
def test_readings_find_their_pass(line, after, since):
    """Wherever in the file they stand."""
    second = SECOND.replace("150", "")
    for lines in ((FIRST, second, line), (FIRST, line, second), (line, FIRST, second)):
        (one,) = parse_log(HEAD + "".join(lines), 2).readings
        assert (one.after_pass, one.since) == (after, since)


def test_reading_before_the_first_arc_is_of_the_piece():
    log = parse_log(HEAD + ",,,,,,13:55:00,,35\n" + FIRST, 1)
    assert log.readings == ()
    assert log.at_start.low == pytest.approx(308.15)
    log = parse_log(HEAD + "1,14:00:00,14:01:30,80,11,36,,,\n", 1)
    assert log.at_start.low == pytest.approx(309.15)


def test_midnight_between_the_arcs_and_a_reading():
    text = HEAD + "1,23:58:00,23:59:30,80,11,,,,\n,,,,,,00:00:10,,300\n"
    (one,) = parse_log(text, 1).readings
    assert one.since == 40.0


def test_readings_are_in_the_order_of_time():
    log = parse_log(
        HEAD + FIRST + SECOND + ",,,,,,14:03:00,,200\n,,,,,,14:02:00,,250\n", 2
    )
    assert [r.since for r in log.readings] == [30.0, 90.0, 330.0]


def test_since_first_by_clock_and_by_seconds():
    by_clock = parse_log(HEAD + FIRST, 1)
    assert since_first(by_clock, Clock(14 * 3600 + 100.0)) == 100.0
    assert since_first(by_clock, Clock(14 * 3600 - 100.0)) == -100.0
    assert since_first(by_clock, 100.0) is None


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        (("2,14:00:00,14:01:30,,,,,,\n",), "l.csv:2: pass 2 where pass 1 should come"),
        ((FIRST, "3,14:07:00,14:08:30,,,,,,\n"), "l.csv:3: pass 3, but the case has 2"),
        ((FIRST, "2,14:00:30,14:08:30,,,,,,\n"), "l.csv:3: arc_on 14:00:30 is before 14:01:30"),
        ((FIRST, "2,14:07:00,14:06:00,,,,,,\n"), "l.csv:3: arc_off 14:06:00 is before"),
        ((FIRST, "2,14:07:00,,,,,,,\n"), "l.csv:3: no arc_off"),
        ((FIRST, "2,14:07,14:08:30,,,,,,\n"), "'14:07' is no time of day; write the clock"),
        ((FIRST, "2,420 s,510 s,,,,,,\n"), "beside times of the other sort"),
        ((FIRST, "2,420,510,,,,,,\n"), "l.csv:3: arc_on: '420' is a bare number"),
        ((FIRST, "2,14:07:00,17:07:00,,,,,,\n"), "the arc burns for 10800 s"),
        ((FIRST, "2,14:07:00,14:08:30,eighty,,,,,\n"), "l.csv:3: amps: 'eighty'"),
        ((FIRST, "2,14:07:00,14:08:30,8500,,,,,\n"), "out of range; allowed: 1 A to"),
        ((FIRST, ",,,,,,14:01:00,,300\n"), "l.csv:3: read while pass 1 was being welded"),
        ((FIRST, "2,,,,,,,40,300\n"), "l.csv:3: read after pass 2, which the log does not"),
        ((FIRST, SECOND, "1,,,,,,14:09:00,,300\n"), "says pass 1, but its time is after pass 2"),
        ((FIRST, ",,,,,,,,300\n"), "l.csv:3: no time; say when it was read"),
        ((FIRST, ",,,,,,100 s,,300\n"), "beside times of the other sort"),
        ((FIRST, "2,,,,,150,,,\n"), "interpass without the arc it was read before"),
        ((FIRST, "2,,,85,,,,,\n"), "l.csv:3: neither an arc nor a reading"),
        ((FIRST, "1,14:02:00,14:02:30,,,150,,,\n"), "an arc that goes on with pass 1"),
        ((",,,,,,14:09:00,,300\n",), "l.csv:1: no arc in it"),
    ],
)  # fmt: skip
def test_what_is_refused(lines, told):
    found = mistakes_of(*lines)
    assert told in found[0], found


def test_a_mistyped_year_is_told_before_it_is_run():
    dated = "1,2026-11-26 14:00:00,2026-11-26 14:01:30,,,,,,\n"
    for line, told in (
        ("2,2062-11-26 14:07:00,2062-11-26 14:08:30,,,,,,\n",
         "l.csv:3: arc_on 2062-11-26 14:07:00 is 13149 days after the time above it"),
        (",,,,,,2027-11-26 14:07:00,,300\n",
         "l.csv:3: read 365 days after the arc of pass 1"),
    ):  # fmt: skip
        found = mistakes_of(dated, line)
        assert told in found[0]
        assert "check the date" in found[0]


def test_a_burn_that_starts_where_it_ends_is_refused():
    text = "pass,arc_on,arc_off,start,end\n1,14:00:00,14:01:30,90 deg,90 deg\n"
    with pytest.raises(
        CaseError, match=r"l.csv:2: the arc starts where it ends; once round"
    ):
        parse_log(text, 2, "l.csv")


def test_a_weld_may_go_on_after_a_weekend():
    text = "pass,arc_on,arc_off\n1,2026-11-26 14:00:00,2026-11-26 14:01:30\n"
    text += "2,2026-11-30 08:00:00,2026-11-30 08:01:30\n"
    assert times(parse_log(text, 2))[1][0] == 90 * 3600.0


def test_a_log_needs_its_columns():
    with pytest.raises(CaseError, match=r"l.csv:1: no column arc_off"):
        parse_log("pass,arc_on\n1,14:00:00\n", 1, "l.csv")


def test_all_mistakes_at_once():
    found = mistakes_of("1,14:00:00,14:01:30,x,y,,,,\n", "9,14:07:00,14:08:30,,,z,,,\n")
    assert len(found) == 3


SPRING = ("2026-03-29 01:56:30", "2026-03-29 01:58:00", "2026-03-29 03:02:00",
          "2026-03-29 03:03:30")  # fmt: skip
AUTUMN = tuple(t.replace("03-29", "10-25") for t in SPRING)


def two_passes(*clocks):
    return "pass,arc_on,arc_off\n1,{},{}\n2,{},{}\n".format(*clocks)


def test_a_dated_log_over_a_change_of_clocks_is_refused():
    """It would wait an hour that it did not, and pass what fails."""
    with pytest.raises(CaseError) as caught:
        parse_log(two_passes(*SPRING), 2, "l.csv")
    (told,) = map(str, caught.value.mistakes)
    assert told.startswith("l.csv:3: arc_on 2026-03-29 03:02:00 is 1 h 4 min after")
    assert "or 4 min if clocks were put forward that night" in told
    assert "like 2026-03-29T03:02:00+02:00" in told


@pytest.mark.parametrize(
    ("zones", "wait"),
    [
        (("+01:00", "+01:00", "+02:00", "+02:00"), 240.0),
        (("Z", "Z", "Z", "Z"), 3840.0),
        (("-05:00", "-05:00", "-04:00", "-04:00"), 240.0),
        (("+02:00", "+02:00", "+01:00", "+01:00"), 2 * 3600.0 + 240.0),
    ],
)
def test_with_their_zone_times_are_what_they_say(zones, wait):
    text = two_passes(*(c + z for c, z in zip(SPRING, zones, strict=True)))
    log = parse_log(text, 2)
    assert times(log) == [(0.0, 90.0), (90.0 + wait, 180.0 + wait)]
    assert log.remarks == ()
    shown = log.shown(90.0 + wait)
    assert shown == ("03:02:00" if zones[0] == zones[-1] else clock_words(
        parse_clock(SPRING[0]).seconds + 90.0 + wait) + zones[0])  # fmt: skip


def test_without_a_date_or_in_autumn_it_is_remarked():
    """Put back, the joint is colder than said; without a date no night is known."""
    (told,) = parse_log(two_passes(*(c[11:] for c in SPRING)), 2).remarks
    assert "or 4 min if clocks were put forward that night, and the joint hotter" in told
    autumn = [AUTUMN[0], AUTUMN[1], "2026-10-25 02:02:00", "2026-10-25 02:03:30"]
    (told,) = parse_log(two_passes(*autumn), 2).remarks
    assert "if clocks were put back that night, and the joint colder" in told
    assert parse_log(HEAD + FIRST + SECOND, 2).remarks == ()


def test_clocks_that_go_back_ask_for_the_zone():
    text = two_passes(*AUTUMN[:2], "2026-10-25 01:05:00", "2026-10-25 01:06:30")
    with pytest.raises(
        CaseError, match="if clocks were put back in between, write times"
    ):
        parse_log(text, 2)
    zoned = [c + z for c, z in zip((*AUTUMN[:2], "2026-10-25 01:05:00", "2026-10-25 01:06:30"),
                                   ("+01:00", "+01:00", "Z", "Z"), strict=True)]  # fmt: skip
    assert times(parse_log(two_passes(*zoned), 2))[1][0] == 510.0


@pytest.mark.parametrize(
    ("zone", "time", "told"),
    [
        ("", "2026-03-29 03:05:00", "or 7 min if clocks were put forward"),
        ("+01:00", "2026-03-29 03:05:00", "or 7 min if clocks were put forward"),
        ("", "2026-03-29 03:05:00+02:00", "has a zone, beside times that have none"),
        ("", "420 s", "beside times of the other sort"),
    ],
)
def test_readings_over_a_change_of_clocks(zone, time, told):
    text = "pass,arc_on,arc_off,time,temp_degC\n1,{0}{2},{1}{2},,\n,,,{3},200\n"
    with pytest.raises(CaseError) as caught:
        parse_log(text.format(*SPRING[:2], zone, time), 1)
    assert told in str(caught.value)


def test_a_reading_without_zone_is_of_the_zone_of_its_log():
    text = "pass,arc_on,arc_off,time,temp_degC\n1,{0}{2},{1}{2},,\n,,,{3},200\n"
    for time in ("02:00:00", "2026-03-29 02:00:00", "03:00:00+02:00", "01:00:00Z"):
        night = text.format("2026-03-28 23:56:30", "2026-03-28 23:58:00", "", "23:59:00")
        assert parse_log(night, 1).readings[0].since == 60.0
        (one,) = parse_log(text.format(*SPRING[:2], "+01:00", time), 1).readings
        assert one.since == 120.0
