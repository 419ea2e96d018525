"""A logger's file: places in its header, times beside the log, what is refused and why."""

import numpy as np
import pytest
from interpass.case_file.read import parse_case
from interpass.logs.log import parse_log
from interpass.logs.logger import parse_logger
from interpass.text.errors import CaseError
from interpass.text.times import parse_clock
from terminal import STUB

CLOCKED = "pass,arc_on,arc_off\n1,14:00:00,14:01:20\n2,14:08:00,14:09:30\n"
SECONDS = "pass,arc_on,arc_off\n1,0 s,80 s\n2,480 s,570 s\n"


@pytest.fixture(scope="module")
def case():
    from pathlib import Path

    text = Path(STUB).read_text(encoding="utf-8")
    probe = '\n[[probe]]\nname = "Seat"\nr = "12 mm"\nz = "-10 mm"\nangle = "90 deg"\n'
    return parse_case(text + probe)


@pytest.fixture(scope="module")
def log(case):
    return parse_log(SECONDS, len(case.passes))


def read(case, log, text, began=None):
    return parse_logger(text, case, log, "t.csv", began)


def refused(case, log, text, began=None):
    with pytest.raises(CaseError) as caught:
        read(case, log, text, began)
    return str(caught.value)


def test_header_says_where_and_in_which_unit(case, log):
    """On the pipe, the fitting, in the bore, or at a probe of the case."""
    found = read(
        case,
        log,
        "time_s;T1 pipe 5 mm [degC];T2 socket 0.5 in 90 deg (F);bore_-2_mm_degC;seat [K]\n"
        "0;20,5;68;21;294\n2;21,5;70;22;295\n",
    )
    one, two, bore, seat = found.channels
    assert [c.name for c in found.channels] == ["T1", "T2", "bore -2 mm", "Seat"]
    assert (one.place.on, one.place.from_toe, one.place.angle) == ("pipe", 0.005, 0.0)
    assert (two.place.on, two.place.from_toe) == ("fitting", pytest.approx(0.0127))
    assert two.probe.angle == pytest.approx(np.pi / 2)
    assert (bore.place.on, bore.place.from_toe) == ("bore", -0.002)
    assert bore.probe.r == pytest.approx(one.probe.r - case.pipe.wall)
    assert bore.probe.z - one.probe.z == pytest.approx(0.007)
    assert seat.place is None
    assert seat.probe.r == 0.012
    assert one.temperature == pytest.approx([293.65, 294.65])
    assert two.temperature[0] == pytest.approx(293.15)
    assert seat.temperature[0] == 294
    assert found.end == 2


def test_times_are_those_of_the_log(case, log):
    """Clock beside clock, seconds since the first arc, or since a moment that is told."""
    clocked = parse_log(CLOCKED, 2)
    text = "time,pipe 5 mm [degC]\n13:59:50,20\n14:00:10,20\n"
    assert list(read(case, clocked, text).channels[0].time) == [-10, 10]
    own = "time_s,pipe 5 mm [degC]\n5,20\n7,20\n"
    assert list(read(case, log, own).channels[0].time) == [5, 7]
    for began, of in ((parse_clock("13:59:00"), clocked), (-60.0, log)):
        assert list(read(case, of, own, began).channels[0].time) == [-55, -53]
    told = refused(case, clocked, own)
    assert "t.csv:2: times are seconds, but the log log.csv goes by the clock" in told
    assert "--began" in told
    assert "--began is a clock, but the log log.csv counts in seconds; give seconds" in (
        refused(case, log, own, parse_clock("13:59:00"))
    )
    assert "--began has a zone, beside times that have none" in refused(
        case, clocked, own, parse_clock("13:59:00+01:00")
    )
    (unused,) = read(case, clocked, text, parse_clock("13:59:00")).remarks
    assert "--began is not used" in unused
    assert "times are clocks, but the log log.csv counts in seconds" in refused(
        case, log, text
    )


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "t.csv: there is no line in it; the first line names the columns"),
        ("time_s\n0\n", "no column of a thermocouple; head it like T1 pipe 5 mm"),
        ("pass,arc_on,arc_off\n1,0,9\n", "t.csv: this is a log, with arcs on and off"),
        ("pipe 5 mm [degC]\n20\n", "t.csv:1: no column of times; name it time"),
        ("time_s,T1 [degC]\n0,20\n", "t.csv:1: column 'T1 [degC]' does not say where"),
        ("time_s,pipe 5 mm\n0,20\n", "t.csv:1: column 'pipe 5 mm' has no unit"),
        ("time_s,seat\n0,20\n", "t.csv:1: column 'seat' has no unit of temperature"),
        ("time_s,pipe 900 mm [degC]\n0,20\n", "there is no metal so far from the toe"),
        ("time_s,pipe -4 mm [degC]\n0,20\n", "there is no metal so far from the toe"),
        ("time_s,pipe 5 mm [degC]\n", "t.csv:1: there is no sample in it"),
        ("time_s,pipe 5 mm [degC]\n0,20\n9,21\n4,22\n",
         "t.csv:4: time 4 is before 9 s, the time above it"),
        ("time_s,pipe 5 mm [degC]\n0,20\n,21\n", "t.csv:3: no time; every line has one"),
        ("# Monday\ntime_s,pipe 5 mm [degC]\n0,20\n1,OL\n2,9999\n3,21\n",
         "t.csv:4: pipe 5 mm: 2 of 4 values are no temperature of this joint, the first is 'OL'"),
        ("time_s,pipe 5 mm [degC]\n0,20\n1,-200\n", "an open thermocouple, or a channel"),
        ("time_s,pipe 5 mm [degC]\n0,20\n1,nan\n", "1 of 2 values are no temperature"),
        ("time_s,pipe 5 mm [degC]\n0,\n1,-\n", "pipe 5 mm: there is no value in it"),
        ("time_s,pipe 5 mm [degC]\n0,20\n1,20\n2,20\n300,20\n301,20\n",
         "t.csv:5: no sample for 4 min 58 s before this line"),
        ("time_s,pipe 5 mm [degC],pipe 5 mm [degC]\n0,20,20\n", "two columns for"),
        ("time_s,pipe 5 mm [degC]\n0,20,21\n", "3 cells in a line, 2 in the header"),
    ],
)  # fmt: skip
def test_broken_files_say_where_what_and_what_to_do(case, log, text, told):
    found = refused(case, log, text)
    assert told in found
    for line in found.splitlines():
        assert line.startswith("t.csv")


def test_heads_of_other_shops_are_understood(case, log):
    """Decimal commas, brackets, degrees as a sign."""
    found = read(case, log, "sep=;\ntime_s;T1 (pipe, 5,5 mm, 22,5°) °C\n0;20,5\n1;21\n")
    (channel,) = found.channels
    assert (channel.name, channel.place.from_toe) == ("T1", 0.0055)
    assert channel.place.angle == pytest.approx(np.radians(22.5))
    assert channel.temperature[0] == pytest.approx(293.65)


def test_columns_of_no_thermocouple_are_passed_over_and_told(case, log):
    """A logger writes more than temperatures: a number, an alarm, its own supply."""
    text = (
        "No.,time (s),Attic pipe 5 mm [degC],Alarm,Supply V\n1,0,20,-,12.1\n2,1,21,x,12\n"
    )
    found = read(case, log, text)
    assert [c.name for c in found.channels] == ["Attic"]
    assert found.remarks == (
        "columns not used, for want of a place and a unit of temperature: No., Alarm, Supply V",
    )


def test_too_many_rows_or_columns_are_refused(case, log):
    rows = "".join(f"{n},20\n" for n in range(20001))
    told = refused(case, log, "time_s,pipe 5 mm [degC]\n" + rows)
    assert "20001 rows; a file of this sort has 20000 at most" in told
    heads = ",".join(f"T{n} pipe {n + 1} mm [degC]" for n in range(25))
    line = f"time_s,{heads}\n0{',20' * 25}\n"
    assert "25 thermocouples; 24 at most" in refused(case, log, line)
    many = "time_s,pipe 5 mm [degC]\n" + "".join(f"{n},20\n" for n in range(5000))
    assert read(case, log, many).channels[0].time.size == 5000
