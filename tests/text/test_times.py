"""Clocks with zones, and the nights on which clocks are changed, against the time zone database."""

import datetime as dt
import zoneinfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from interpass.text.times import (
    BACK,
    FORWARD,
    Clock,
    changed_between,
    elapsed,
    parse_clock,
    zone_words,
)

YEARS = range(2026, 2034)
LUNAR = {"Africa/Casablanca", "Africa/El_Aaiun", "Asia/Gaza", "Asia/Hebron"}  # Ramadan
ONE_ZONE_TWO_HOURS = {"Antarctica/Troll"}


def changes(name):
    """Every change of the clocks of a zone: the moment, and how far they are moved [s]."""
    zone, month = zoneinfo.ZoneInfo(name), dt.timedelta(days=28)
    low = dt.datetime(YEARS[0], 1, 1, tzinfo=dt.UTC)
    while low.year < YEARS[-1]:
        high = low + month
        before, after = (t.astimezone(zone).utcoffset() for t in (low, high))
        if before != after:
            yield _moment(zone, low, high), before, after
        low = high


def _moment(zone, low, high):
    before = low.astimezone(zone).utcoffset()
    while high - low > dt.timedelta(seconds=1):
        middle = low + (high - low) / 2
        if middle.astimezone(zone).utcoffset() == before:
            low = middle
        else:
            high = middle
    return high.replace(microsecond=0)


def on_the_wall(moment, offset):
    shown = moment + offset
    seconds = shown.hour * 3600.0 + shown.minute * 60.0 + shown.second
    return Clock(seconds, shown.toordinal())


def test_every_change_of_the_database_is_doubted():
    """Two minutes before to two minutes after: 64 minutes by the clock, or 56 back."""
    names = sorted(zoneinfo.available_timezones() - LUNAR - ONE_ZONE_TWO_HOURS)
    if not names:
        pytest.skip("no time zone database here")
    aside, seen = dt.timedelta(minutes=2), set()
    for name in names:
        for moment, before, after in changes(name):
            step = (after - before).total_seconds()
            if abs(step) != 3600.0:
                continue  # half an hour on Lord Howe Island
            way = FORWARD if step > 0 else BACK
            late = aside if step > 0 else aside + dt.timedelta(hours=1)
            pair = on_the_wall(moment - aside, before), on_the_wall(moment + late, after)
            assert changed_between(*pair) == way, (name, moment)
            seen.add(way)
    assert seen == {FORWARD, BACK}


def test_days_and_weeks_without_a_change_are_not_doubted():
    """Working hours never; nights of January, June and July never, nor those of Tuesdays."""
    for day in range(dt.date(2026, 1, 1).toordinal(), dt.date(2027, 1, 1).toordinal()):
        assert changed_between(Clock(5 * 3600.0, day), Clock(9 * 3600.0, day)) is None
        on = dt.date.fromordinal(day)
        if on.month in (1, 6, 7) or on.weekday() == 1:
            assert changed_between(Clock(3600.0, day), Clock(3 * 3600.0, day)) is None


def test_without_a_date_only_an_hour_of_the_night_is_doubted():
    assert changed_between(Clock(7000.0), Clock(7300.0)) is None
    assert changed_between(Clock(7000.0), Clock(10700.0)) == FORWARD
    assert changed_between(Clock(85000.0), Clock(3600.0)) == FORWARD
    assert changed_between(Clock(50000.0), Clock(54000.0)) is None
    assert changed_between(Clock(7000.0), Clock(7000.0 + 7 * 3600.0)) is None


QUARTERS = st.integers(-15 * 4, 15 * 4)


@given(st.integers(0, 2**31), st.integers(0, 6 * 3600), st.tuples(QUARTERS, QUARTERS))
def test_zones_make_no_difference_to_what_has_elapsed(begin, gone, quarters):
    """As the standard library has it; each time in a zone of its own."""
    clocks = []
    for seconds, east in zip((begin, begin + gone), quarters, strict=True):
        zone = dt.timezone(dt.timedelta(minutes=15 * east))
        text = dt.datetime.fromtimestamp(seconds, zone).isoformat()
        clocks.append(parse_clock(text))
        assert clocks[-1].east == 900.0 * east
        assert parse_clock(text[:-6] + zone_words(900.0 * east)) == clocks[-1]
    assert elapsed(*clocks) == gone


@pytest.mark.parametrize(
    ("text", "east"),
    [
        ("2026-03-29T01:58:00Z", 0.0),
        ("2026-03-29 01:58:00 +0100", 3600.0),
        ("01:58:00.5-03:30", -12600.0),
        ("01:58:00 AM +05", 18000.0),
        ("01:58:00\u221205:00", -18000.0),
    ],
)
def test_zones_as_they_are_written(text, east):
    assert parse_clock(text).east == east


@pytest.mark.parametrize("text", ["01:58:00 CET", "01:58:00+1", "01:58:00+25:00", "01:58:00+01:75",
                                  "01:58:00[Europe]"])  # fmt: skip
def test_what_is_no_zone(text):
    assert parse_clock(text) is None
