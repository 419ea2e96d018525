"""Times as people note them: seconds, min:s, or the clock on the wall, past midnight too."""

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
)

_MINUTES = re.compile(r"([0-9]{1,3}):([0-9]{2}(?:[.,][0-9]+)?)")


@dataclass(frozen=True)
class Clock:
    """A time of day."""

    seconds: float  # since midnight
    day: int | None = None  # number of the day, where a date was written


def parse_clock(text: str) -> Clock | None:
    """Time of day written in full, h:min:s; None when the text is none.

    Examples
    --------
    >>> parse_clock("14:05:30").seconds, parse_clock("2:05:30 PM").seconds
    (50730.0, 50730.0)
    >>> parse_clock("14:05")  # may be min:s as well
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
    return Clock(3600.0 * hour + 60.0 * minute + second, day)


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
    passed midnight.

    Examples
    --------
    >>> elapsed(Clock(86000.0), Clock(100.0)), elapsed(Clock(500.0), Clock(400.0))
    (500.0, None)
    """
    gone = after.seconds - before.seconds
    if before.day is not None and after.day is not None:
        gone += DAY * (after.day - before.day)
    elif gone < -HALF_DAY:
        gone += DAY
    return gone if gone >= 0 else None


def clock_words(seconds: float) -> str:
    """Time of day in full, to the second.

    Examples
    --------
    >>> clock_words(50730.4), clock_words(86400.0 + 60)
    ('14:05:30', '00:01:00')
    """
    whole = round(seconds) % int(DAY)
    return f"{whole // 3600:02d}:{whole // 60 % 60:02d}:{whole % 60:02d}"


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
