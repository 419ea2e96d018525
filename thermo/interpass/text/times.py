"""Times as people note them: seconds, min:s, or the clock on the wall, past midnight too.

A clock may bear its zone, as ISO 8601 writes it: ``2026-03-29T01:58:00+01:00``, ``00:58:00Z``.
Without one nobody knows whether clocks were changed between two times; this machine's own zone
says nothing about where a log was kept, so what is asked is the night alone.
"""

import re
from dataclasses import dataclass
from datetime import date
from math import ceil, floor

SHOP_STEP = 5.0  # s, the finest wait anyone times on a shop floor
DAY = 86400.0  # s
HALF_DAY = DAY / 2  # a clock that goes back by more than this is on the next day

_CLOCK = re.compile(
    r"(?:(?P<year>[0-9]{4})-(?P<month>[0-9]{2})-(?P<day>[0-9]{2})(?:[T ]| T))?\s*"
    r"(?P<hour>[0-9]{1,2}):(?P<minute>[0-9]{2}):(?P<second>[0-9]{2}(?:[.,][0-9]+)?)"
    r"\s*(?P<half>[AaPp]\.?[Mm]\.?)?"
    r"\s*(?P<zone>[Zz]|(?P<sign>[-+\u2212])(?P<ahead>[01][0-9])(?::?(?P<minutes>[0-5][0-9]))?)?"
)

_MINUTES = re.compile(r"([0-9]{1,3}):([0-9]{2}(?:[.,][0-9]+)?)")


@dataclass(frozen=True)
class Clock:
    """A time of day."""

    seconds: float  # since midnight
    day: int | None = None  # number of the day, where a date was written
    east: float | None = None  # s that its zone is ahead of UTC, where one was written


def parse_clock(text: str) -> Clock | None:
    """Time of day written in full, h:min:s; None when the text is none.

    Examples
    --------
    >>> parse_clock("14:05:30").seconds, parse_clock("2:05:30 PM").seconds
    (50730.0, 50730.0)
    >>> parse_clock("14:05")  # may be min:s as well
    >>> parse_clock("2026-03-29T01:58:00+01:00").east, parse_clock("00:58:00Z").east
    (3600.0, 0.0)
    """
    found = _CLOCK.fullmatch(text.strip())
    if not found:
        return None
    hour, minute = int(found["hour"]), int(found["minute"])
    second = float(found["second"].replace(",", "."))
    if half := found["half"]:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if half[0] in "pP" else 0)
    if hour > 23 or minute > 59 or second >= 60:
        return None
    day = None
    if found["year"]:
        try:
            parts = (int(found[name]) for name in ("year", "month", "day"))
            day = date(*parts).toordinal()
        except ValueError:
            return None
    return Clock(3600.0 * hour + 60.0 * minute + second, day, _east(found))


def _east(found: re.Match[str]) -> float | None:
    """Seconds ahead of UTC that a clock says; None when it says nothing."""
    if not found["zone"]:
        return None
    if not found["sign"]:
        return 0.0
    ahead = 3600.0 * int(found["ahead"]) + 60.0 * int(found["minutes"] or 0)
    return ahead if found["sign"] == "+" else -ahead


def parse_minutes(text: str) -> float | None:
    """Seconds of a time written min:s; None when the text is none.

    Examples
    --------
    >>> parse_minutes("1:20"), parse_minutes("1:75")
    (80.0, None)
    """
    found = _MINUTES.fullmatch(text.strip())
    if not found:
        return None
    second = float(found[2].replace(",", "."))
    return 60.0 * int(found[1]) + second if second < 60 else None


def elapsed(before: Clock, after: Clock) -> float | None:
    """Seconds from one time to a later one; None when it is not later.

    With dates, as they say. Without, a clock that goes back by more than half a day has
    passed midnight. Zones count where both bear one; see `changed_between` where none does.

    Examples
    --------
    >>> elapsed(Clock(86000.0), Clock(100.0)), elapsed(Clock(500.0), Clock(400.0))
    (500.0, None)
    >>> elapsed(parse_clock("01:58:00+01:00"), parse_clock("03:02:00+02:00"))
    240.0
    """
    gone = after.seconds - before.seconds
    if before.east is not None and after.east is not None:
        gone += before.east - after.east
    if before.day is not None and after.day is not None:
        gone += DAY * (after.day - before.day)
    elif gone < -HALF_DAY:
        gone += DAY
    return gone if gone >= 0 else None


HOUR = 3600.0  # s that clocks are put forward or back
LONG_COLD = 6 * HOUR  # after so long an hour more or less tells nothing of a small joint
FORWARD, BACK = "forward", "back"
_MONTHS = (3, 4, 9, 10, 11)
_NIGHTS = (  # day of the week (0 is Monday), from and to [s since midnight]
    (4, 0.0, 4 * HOUR),
    (5, 0.0, 4 * HOUR),
    (5, 22 * HOUR, DAY),
    (6, 0.0, 4 * HOUR),
)
"""When clocks are changed, by the clock before: all of today's rules of summer time but those that
follow a lunar month (`tests/text/test_times.py` compares with the time zone database)."""


def changed_between(before: Clock, after: Clock) -> str | None:
    """Whether clocks may have been put forward, or back, before a time without zone.

    Asked only where it matters: within `LONG_COLD`, over a night on which clocks are changed
    somewhere; over any night, where no dates say which. Put back is told only of a date, and
    forward only of times an hour apart: less cannot be.

    Examples
    --------
    >>> changed_between(parse_clock("2026-03-29 01:58:00"), parse_clock("2026-03-29 03:02:00"))
    'forward'
    >>> changed_between(parse_clock("2026-10-25 02:58:00"), parse_clock("2026-10-25 03:02:00"))
    'back'
    >>> changed_between(parse_clock("2026-03-29 13:58:00"), parse_clock("2026-03-29 15:02:00"))
    """
    gone = elapsed(before, after)
    if after.east is not None:
        return None
    if gone is None or gone > LONG_COLD or not _is_over_night(before, gone):
        return None
    if gone >= HOUR:
        return FORWARD
    return BACK if before.day is not None else None


def _is_over_night(before: Clock, gone: float) -> bool:
    """Whether a stretch of time touches hours in which clocks are changed."""
    begin = before.seconds
    if before.day is None:
        return begin % DAY <= 4 * HOUR or begin + gone >= DAY
    for later in (0, 1):
        on = date.fromordinal(before.day + later)
        low, high = begin - later * DAY, begin + gone - later * DAY
        nights = (n for n in _NIGHTS if n[0] == on.weekday() and on.month in _MONTHS)
        if any(low <= end and high >= start for _, start, end in nights):
            return True
    return False


def moved(start: Clock, seconds: float) -> Clock:
    """Return the clock so many seconds after a time, in the same zone.

    Examples
    --------
    >>> moved(Clock(86000.0, 7), 500.0)
    Clock(seconds=100.0, day=8, east=None)
    """
    days, left = divmod(start.seconds + seconds, DAY)
    return Clock(left, None if start.day is None else start.day + int(days), start.east)


def clock_words(seconds: float) -> str:
    """Time of day in full, to the second.

    Examples
    --------
    >>> clock_words(50730.4), clock_words(86400.0 + 60)
    ('14:05:30', '00:01:00')
    """
    whole = round(seconds) % int(DAY)
    return f"{whole // 3600:02d}:{whole // 60 % 60:02d}:{whole % 60:02d}"


def zone_words(east: float) -> str:
    """Zone as ISO 8601 writes it, from seconds ahead of UTC.

    Examples
    --------
    >>> zone_words(-12600.0)
    '-03:30'
    """
    minutes = round(abs(east) / 60)
    return f"{'-' if east < 0 else '+'}{minutes // 60:02d}:{minutes % 60:02d}"


def shop_time(seconds: float) -> float:
    """Wait rounded up to what a shop can time [s]; never rounded down.

    Examples
    --------
    >>> shop_time(311.2), shop_time(315.0), shop_time(0.0)
    (315.0, 315.0, 0.0)
    """
    return SHOP_STEP * ceil(seconds / SHOP_STEP - 1e-9)


def spelled(seconds: float) -> str:
    """Time in hours, minutes and whole seconds.

    Examples
    --------
    >>> spelled(45), spelled(315), spelled(300), spelled(3720)
    ('45 s', '5 min 15 s', '5 min', '1 h 2 min')
    """
    whole = floor(seconds + 0.5)
    minutes, s = divmod(whole, 60)
    h, minutes = divmod(minutes, 60)
    parts = [f"{h} h" if h else "", f"{minutes} min" if minutes else ""]
    parts.append(f"{s} s" if s or whole == 0 else "")
    return " ".join(part for part in parts if part)


def clock(seconds: float) -> str:
    """Time as minutes and whole seconds with a colon, for tables.

    Examples
    --------
    >>> clock(45), clock(390), clock(3725)
    ('0:45', '6:30', '62:05')
    """
    minutes, s = divmod(floor(seconds + 0.5), 60)
    return f"{minutes}:{s:02d}"
