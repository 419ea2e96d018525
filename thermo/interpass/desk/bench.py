"""The joints on the bench: a case and a log each, on disk before anybody is told.

A folder holds ``joint-001.toml`` and ``joint-001-log.csv`` and so on. Names are given
here and looked up in a list; nothing of a request becomes part of a path.
"""

import os
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ..text.errors import ThermoError
from ..text.files import replace_file
from .events import (
    Event,
    events_of,
    hold_together,
    log_text,
    refuse_unless_meant,
    seen,
    standing,
)
from .jobs import desk_case

MOST_JOINTS = 200


@dataclass(eq=False)
class BenchWeld:
    """One joint being welded."""

    name: str  # "joint-001"
    folder: Path
    text: str  # of its case
    title: str
    passes: int
    events: list[Event] = field(default_factory=list)
    answer: dict[str, Any] | None = None  # what the lanes found last
    answer_of: int = -1  # events it knows of
    work: Any = None  # under way

    @property
    def log(self) -> str:
        """Its log as it stands on disk."""
        return log_text(self.events, self.title)

    @property
    def log_path(self) -> Path:
        """File of the log."""
        return self.folder / f"{self.name}-log.csv"


def open_bench(folder: Path) -> dict[str, BenchWeld]:
    """Take up the joints of a folder where they were, by name."""
    found: dict[str, BenchWeld] = {}
    for path in sorted(folder.glob("joint-[0-9][0-9][0-9].toml"))[:MOST_JOINTS]:
        try:
            text = path.read_text(encoding="utf-8")
            weld = _weld(path.stem, folder, text)
        except (OSError, UnicodeDecodeError, ThermoError):
            continue  # not ours, or changed by hand since: left alone
        if weld.log_path.exists():
            before = weld.log_path.read_text(encoding="utf-8", errors="replace")
            weld.events = events_of(before)
            if not hold_together(weld.events, weld.passes):
                continue
            if not weld.log.startswith(before[: before.rfind("\n") + 1]):
                continue  # rows were changed by hand
            _put(weld.log_path, before, weld.log)
        found[weld.name] = weld
    return found


def _weld(name: str, folder: Path, text: str) -> BenchWeld:
    case = desk_case(text, f"{name}.toml")
    return BenchWeld(name, folder, text, case.title, len(case.passes))


def begin_weld(bench: dict[str, BenchWeld], folder: Path, text: str) -> BenchWeld:
    """Put a joint on the bench, on disk first.

    Raises
    ------
    CaseError
        The case has mistakes.
    ThermoError
        There are too many joints.
    """
    taken = {int(path.stem[6:9]) for path in folder.glob("joint-[0-9][0-9][0-9].toml")}
    number = max(taken, default=0) + 1
    if number > MOST_JOINTS:
        msg = f"{MOST_JOINTS} joints are in {folder}"
        raise ThermoError(msg, "begin another folder with --out")
    weld = _weld(f"joint-{number:03d}", folder, text)
    folder.mkdir(parents=True, exist_ok=True)
    try:
        replace_file(folder / f"{weld.name}.toml", text.encode())
        _synced(folder / f"{weld.name}.toml")
        _put(weld.log_path, "", weld.log)
    except OSError:
        for path in (folder / f"{weld.name}.toml", weld.log_path):
            path.unlink(missing_ok=True)
        raise
    bench[weld.name] = weld
    return weld


def add_event(weld: BenchWeld, event: Event) -> None:
    """Write an event down; when this returns it is on disk.

    An event that is known already is passed over.

    Raises
    ------
    RefusedEvent
        It cannot be meant.
    OSError
        It could not be written; nothing has changed.
    """
    if any(one.name == event.name for one in weld.events):
        return
    refuse_unless_meant(weld.events, event, weld.passes)
    before = weld.log
    _put(weld.log_path, before, log_text([*weld.events, event], weld.title))
    weld.events.append(event)


def _put(path: Path, before: str, after: str) -> None:
    """Bring a log from one text to another: at its end where that is enough."""
    if before == after and path.exists():
        return
    if after.startswith(before) and (not before or path.exists()):
        _append(path, after[len(before) :].encode())
        return
    replace_file(path, after.encode(), force=True)  # its text is the one we hold
    _synced(path)


def _append(path: Path, content: bytes) -> None:
    """Put bytes at the end of a file and on the disk; a disk that fills takes none of them."""
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o644)
    try:
        size = os.fstat(handle).st_size
        try:
            while content:  # a disk takes what fits before it says that it is full
                content = content[os.write(handle, content) :]
            os.fsync(handle)
        except OSError:
            os.ftruncate(handle, size)
            raise
    finally:
        os.close(handle)


def _synced(path: Path) -> None:
    """Have the disk keep a file and its name."""
    for place in (path, path.parent):
        handle = os.open(place, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def state_of(weld: BenchWeld, now: float) -> dict[str, Any]:
    """Tell what a page shows of a weld; times are ages, so that clocks need not agree."""
    told = seen(weld.events)
    last = told.arcs[-1] if told.arcs else None
    readings = [
        {"value": e.value, "ago_s": round(now - e.at, 1), "after": _pass_before(told, e)}
        for e in told.readings
    ]
    return {
        "joint": weld.name,
        "title": weld.title,
        "passes": weld.passes,
        "events": len(weld.events),
        "last_entry": kept[-1].name if (kept := standing(weld.events)) else "",
        "burning": told.burning,
        "ended": told.ended,
        "number": told.number,
        "on_ago_s": round(now - last.on, 1) if last else None,
        "off_ago_s": round(now - last.off, 1) if last and last.off else None,
        "arcs": [
            {
                "number": a.number,
                "time_s": round((a.off or now) - a.on, 1),
                "off_at": a.off,
                "amps": a.amps,
                "volts": a.volts,
            }
            for a in told.arcs
        ],
        "readings": readings,
        "answer": weld.answer,
        "is_current": weld.answer_of == len(weld.events),
    }


def _pass_before(told: Any, event: Event) -> int:
    """Pass after which a reading was taken."""
    return max((a.number for a in told.arcs if a.off and a.off <= event.at), default=0)
