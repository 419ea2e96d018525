"""Logs of welds and readings drawn at random for a joint; nothing asserts.

What a shop writes, in every spelling the readers know, and now and then what it should not.
"""

from datetime import UTC, datetime, timedelta, timezone

INSTRUMENTS = (
    "",
    "contact pyrometer",
    "thermocouple",
    "infrared",
    "crayon",
    "hand held to it",
)
PLACES = ("", "", "pipe", "fitting") * 12 + ("weld",)
NOTES = ("", "first pass", "=1+1", '"quoted, twice"', "\u2603", "wind")
HEAD = ("pass", "arc_on", "arc_off", "amps", "volts", "start_deg", "end_deg", "interpass", "time",
        "seconds", "temperature", "melted", "not_melted", "on", "from_toe_mm", "angle_deg",
        "error", "instrument", "note")  # fmt: skip


def random_log(r, case):
    """Text of a log of some of the passes of a case; about one in six is refused."""
    say, rows, clock = _clock(r), [], 0.0
    welded = r.randint(1, len(case.passes))
    for number in range(1, welded + 1):
        planned = case.passes[number - 1]
        wait = r.choice((r.uniform(1, 60), r.uniform(30, 900), r.uniform(600, 7200)))
        clock += 0.0 if number == 1 else wait
        if number > 1 and r.random() < 0.4:
            early = clock - r.uniform(0.0, wait)
            rows.append(_reading(r) | {"time": say(early)})
        for row, end in _burns(r, planned, number, clock, say):
            rows.append(row)
            clock = end
        if r.random() < 0.2:
            rows.append(
                _reading(r) | {"pass": number, "seconds": f"{r.uniform(0, 900):.0f}"}
            )
    if r.random() < 0.3:
        rows.append(_reading(r) | {"time": say(clock + r.uniform(0, 600))})
    if r.random() < 0.1:
        r.shuffle(rows)
    return _text(r, rows, HEAD)


def random_readings(r, case, history=None):
    """Text of a file of readings after passes of a case, near its history where one is given."""
    rows = []
    for _ in range(r.randint(1, 6)):
        number = r.randint(1, len(case.passes))
        since = r.choice((r.uniform(0, 30), r.uniform(20, 600), r.uniform(0, 7200)))
        row = _reading(r, _near(r, history, number, since))
        rows.append(
            row
            | {"pass": number, "seconds": r.choice((f"{since:.0f}", f"{since:.1f} s"))}
        )
    head = tuple(name for name in HEAD if name not in ("arc_on", "arc_off", "amps", "volts",
                 "start_deg", "end_deg", "interpass", "time"))  # fmt: skip
    return _text(r, rows, head)


def _near(r, history, number, since):
    """What might be read: the history's own reading, off by a little or by much [degC]."""
    if history is None or r.random() < 0.2 or number > len(history.passes):
        return None
    at = history.passes[number - 1].arc_off + since
    n = min(int((history.time < at).sum()), len(history.time) - 1)
    return history.traces[-1].temperature[n] - 273.15 + r.gauss(0, r.choice((3, 15)))


def _clock(r):
    """One way to write every time of a log: how long since the first arc, or a clock."""
    begin = r.randrange(1_600_000_000, 1_900_000_000) + r.random()
    zone = timezone(timedelta(minutes=15 * r.randint(-48, 56)))
    ways = {
        "seconds": lambda t: f"{t:.1f} s",
        "minutes": lambda t: f"{t / 60:.3f} min",
        "bare": lambda t: f"{_at(begin + t, UTC):%H:%M:%S}",
        "am pm": lambda t: f"{_at(begin + t, UTC):%I:%M:%S %p}",
        "dated": lambda t: f"{_at(begin + t, UTC):%Y-%m-%d %H:%M:%S}",
        "zone": lambda t: _at(begin + t, zone).isoformat(),
        "utc": lambda t: f"{_at(begin + t, UTC):%Y-%m-%dT%H:%M:%S}Z",
    }
    return ways[r.choice(tuple(ways))]


def _at(seconds, zone):
    return datetime.fromtimestamp(seconds, zone)


def _burns(r, planned, number, clock, say):
    """Rows of the burns of a pass, and when each ended."""
    count = r.choice((1, 1, 1, 2, 3))
    has_angles = r.random() < 0.2
    for n in range(count):
        on = clock + (r.uniform(0, 90) if n else 0.0)
        clock = on + max(planned.arc_time * r.uniform(0.5, 1.6) / count, 1.0)
        row = {"pass": number, "arc_on": say(on), "arc_off": say(clock)}
        if r.random() < 0.8:
            row["amps"] = f"{min(planned.current * r.uniform(0.6, 1.5), 400):.0f}"
        if r.random() < 0.6:
            row["volts"] = f"{planned.voltage * r.uniform(0.7, 1.4):.1f}"
        if has_angles:
            row |= {"start_deg": r.randint(-360, 360), "end_deg": r.randint(-360, 360)}
        if r.random() < (0.02 if n else 0.3):
            row["interpass"] = f"{r.uniform(5, 400):.0f} degC"
        yield row | {"note": r.choice(NOTES)}, clock


def _reading(r, near=None):
    """Cells of one reading, its time left out."""
    value = (
        near if near is not None else r.choice((r.uniform(-30, 60), r.uniform(20, 900)))
    )
    unit = r.choice((" degC", " degC", " degF"))
    shown = f"{value * 1.8 + 32:.0f}{unit}" if "F" in unit else f"{value:.0f}{unit}"
    row = {"instrument": r.choice(INSTRUMENTS), "on": r.choice(PLACES)}
    if r.random() < 0.15:
        row[r.choice(("melted", "not_melted"))] = shown
    else:
        row["temperature"] = shown
    if r.random() < 0.3:
        row["from_toe_mm"] = f"{r.choice((0, 2, 5, 12, 25, 80)):.0f}"
    if r.random() < 0.2:
        row["angle_deg"] = r.randint(-180, 540)
    if r.random() < 0.1:
        row["error"] = f"{r.uniform(0.5, 30):.1f} degC"
    return row


def _text(r, rows, head):
    """Rows as CSV, with the separator and the line ends of one program or another."""
    mark, end = r.choice((",", ",", ";", "\t")), r.choice(("\n", "\n", "\r\n"))
    used = [name for name in head if any(str(row.get(name, "")) for row in rows)]
    if r.random() < 0.3:
        r.shuffle(used)
    lines = [mark.join(used)]
    lines += [mark.join(_cell(row.get(name, ""), mark) for name in used) for row in rows]
    return end.join(lines) + end


def _cell(value, mark):
    text = str(value)
    return (
        f'"{text.replace(chr(34), chr(34) * 2)}"' if mark in text or '"' in text else text
    )
