"""What happens at a weld, event by event, and the log CSV that it makes.

The log is the state. Every event stands in it as a comment, and as a row once it makes
one: a burn at arc off, a reading at once. ``interpass review`` reads the rows, the desk
reads the comments, and both find the same weld.
"""

import csv
import io
import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

from ..logs.log import parse_log
from ..text.errors import CaseError, ThermoError, said
from ..text.records import harmless
from ..text.times import DAY, zone_words
from ..text.units import parse

LOG_MARK = "# desk "

HEAD = ("pass", "arc_on", "arc_off", "amps", "volts", "time", "temperature",
        "instrument", "note")  # fmt: skip

SHORTEST_ARC = 1.0  # s; a shorter one was a slip of the finger
LONGEST_VALUE = 80  # letters
LATEST = 1e11  # s of Unix time, and
MOST_IN_LOG = 1000  # of a joint: beyond them a log was not written by a desk
WHAT_HAPPENS = ("on", "off", "amps", "volts", "read", "note", "undo", "end")


class RefusedEvent(ThermoError):
    """An event that cannot be meant; nothing is written."""


@dataclass(frozen=True)
class Event:
    """One thing that happened.

    ``name`` is made by the page, so that the same tap sent twice counts once.
    """

    name: str
    kind: str
    at: float  # s, of the wall clock (Unix time)
    number: int = 0  # pass, of "on"
    value: str = ""  # as typed, with its unit
    east: float | None = None  # s the clock here was ahead of UTC; None: not noted


@dataclass(frozen=True)
class ArcSeen:
    """One burn; ``off`` is None while it burns."""

    number: int
    on: float  # Unix time
    off: float | None = None
    east: float | None = None  # at arc on
    amps: str = ""
    volts: str = ""
    note: str = ""


@dataclass(frozen=True)
class Seen:
    """Where a weld has got to."""

    arcs: tuple[ArcSeen, ...] = ()
    readings: tuple[Event, ...] = ()
    ended: bool = False

    @property
    def burning(self) -> bool:
        """Whether an arc is on."""
        return bool(self.arcs) and self.arcs[-1].off is None

    @property
    def number(self) -> int:
        """Pass that was struck last; 0 before the first."""
        return self.arcs[-1].number if self.arcs else 0


def seen(events: Iterable[Event]) -> Seen:
    """Put events together; what was taken back did not happen."""
    found = Seen()
    for event in standing(events):
        found = _after(found, event)
    return found


def standing(events: Iterable[Event]) -> list[Event]:
    """Events without those taken back."""
    kept: list[Event] = []
    for event in events:
        if event.kind == "undo":
            kept = [e for e in kept if e.name != event.value]
        else:
            kept.append(event)
    return kept


def _after(found: Seen, event: Event) -> Seen:
    if event.kind == "on":
        return replace(
            found, arcs=(*found.arcs, ArcSeen(event.number, event.at, east=event.east))
        )
    if event.kind == "read":
        return replace(found, readings=(*found.readings, event))
    if event.kind == "end":
        return replace(found, ended=True)
    last = found.arcs[-1]
    if event.kind == "off":
        last = replace(last, off=event.at)
    elif event.kind == "note":
        last = replace(last, note=event.value)
    elif event.kind == "amps":
        last = replace(last, amps=event.value)
    else:
        last = replace(last, volts=event.value)
    return replace(found, arcs=(*found.arcs[:-1], last))


def refuse_unless_meant(before: list[Event], event: Event, passes: int) -> None:
    """Check that an event can follow those before it.

    Raises
    ------
    RefusedEvent
        With what is wrong, and what to do.
    """
    now = seen(before)
    if words := _against(now, event, passes, before):
        raise RefusedEvent(words)
    text = log_text([*before, event])
    if any(arc.off for arc in seen([*before, event]).arcs):
        try:
            parse_log(text, passes)
        except CaseError as error:
            told = "; ".join(said(m.problem, m.remedy) for m in error.mistakes)
            raise RefusedEvent(told) from None


def _against(now: Seen, event: Event, passes: int, before: list[Event]) -> str:
    """Say why an event cannot be; "" when it can."""
    if event.kind == "undo":
        last = standing(before)[-1:]
        fits = bool(last) and last[0].name == event.value
        return "" if fits else "only what was told last can be taken back"
    if now.ended:
        return "this weld has ended; take that back first"
    if event.kind in ("on", "off"):
        is_on = event.kind == "on"
        return (
            _against_arc(now, event.number, passes) if is_on else _against_off(now, event)
        )
    if event.kind in ("read", "end") and now.burning:
        return "the arc is on; readings are taken between passes, and a weld ends after"
    if event.kind in ("amps", "volts", "note") and not now.arcs:
        return "no arc was on yet"
    return _against_value(event, bool(now.arcs))


def _against_off(now: Seen, event: Event) -> str:
    if not now.burning:
        return "no arc is on"
    if event.at - now.arcs[-1].on < SHORTEST_ARC:
        return "the arc was on for less than a second; if it was no arc, take it back"
    return ""


def _against_arc(now: Seen, number: int, passes: int) -> str:
    if now.burning:
        return f"the arc of pass {now.number} is on already"
    if number not in (now.number, now.number + 1) or not 1 <= number <= passes:
        return f"pass {number} cannot be next: pass {now.number} of {passes} was the last"
    return ""


def _against_value(event: Event, later: bool) -> str:
    """Check the value of amps and volts, and of a reading that no log checks yet."""
    kinds = {"amps": "current", "volts": "voltage"} | (
        {} if later else {"read": "temperature"}
    )
    if event.kind in kinds:
        try:
            parse(event.value, kinds[event.kind])
        except ThermoError as error:
            return str(error)
    return ""


def log_text(events: Sequence[Event], title: str = "") -> str:
    """Log CSV of a weld, comments and rows; it grows at its end unless the past changes."""
    out = io.StringIO()
    kept = {e.name for e in standing(events)}
    out.write(f"# interpass desk: {json.dumps(title)}\n")
    _row(out, HEAD)
    for n, event in enumerate(events):
        out.write(LOG_MARK + json.dumps(asdict(event)) + "\n")
        if event.name in kept:
            for row in _rows(event, events[: n + 1], events):
                _row(out, row)
    return out.getvalue()


def _rows(
    event: Event, so_far: Sequence[Event], events: Sequence[Event]
) -> Iterator[list[str]]:
    """Row an event makes; amps noted later stand in the row of their arc all the same."""
    if event.kind == "read":
        yield ["", "", "", "", "", stamp(event.at, event.east), event.value, "", ""]
    elif event.kind == "off":
        place = len(seen(e for e in so_far if e in standing(events)).arcs) - 1
        arc = seen(events).arcs[place]
        times = [stamp(arc.on, arc.east), stamp(event.at, event.east)]
        note = harmless(arc.note)
        yield [str(arc.number), *times, arc.amps, arc.volts, "", "", "", note]


def _row(out: io.StringIO, cells: Iterable[str]) -> None:
    csv.writer(out, lineterminator="\n").writerow(cells)


def stamp(at: float, east: float | None = None) -> str:
    """Day and clock on the wall to a tenth of a second, with the zone where it was noted.

    With it the text depends on the event alone, wherever and when it is written again.
    """
    zone = None if east is None else timezone(timedelta(seconds=east))
    moment = datetime.fromtimestamp(round(at, 1), UTC).astimezone(zone)
    shown = f"{moment:%Y-%m-%d %H:%M:%S}.{moment.microsecond // 100000}"
    return shown if east is None else shown + zone_words(east)


def east_now(events: Sequence[Event], at: float) -> float | None:
    """Zone of this machine for an event [s ahead of UTC]; None in a log begun without."""
    if events and events[0].east is None:
        return None
    ahead = datetime.fromtimestamp(at, UTC).astimezone().utcoffset()
    return None if ahead is None else ahead.total_seconds()


def events_of(text: str) -> list[Event]:
    """Events of a log; a last line cut short by a crash is left out."""
    whole = text[: text.rfind("\n") + 1]
    found = []
    for line in whole.splitlines():
        if line.startswith(LOG_MARK):
            try:
                found.append(_event(json.loads(line[len(LOG_MARK) :])))
            except (ValueError, TypeError, RecursionError):
                continue
    return found


def _event(entry: Any) -> Event:
    """Return the event of an entry; TypeError where it is none."""
    event = Event(**entry)
    numbers = (event.at, event.number, 0.0 if event.east is None else event.east)
    words = (event.name, event.kind, event.value)
    is_one = all(isinstance(word, str) and word.isprintable() for word in words) and all(
        isinstance(n, int | float) and abs(n) < most
        for n, most in zip(numbers, (LATEST, MOST_IN_LOG, DAY), strict=True)
    )
    if not is_one or event.kind not in WHAT_HAPPENS:
        msg = "not an event of a weld"
        raise TypeError(msg)
    return event


def hold_together(events: Sequence[Event], passes: int) -> bool:
    """Whether each event can follow those before it."""
    before: list[Event] = []
    for event in events:
        if _against(seen(before), event, passes, before):
            return False
        before.append(event)
    return True
