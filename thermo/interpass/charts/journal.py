"""The rows of a chart as they finish, in a file that survives being killed.

One line per row, on the disk before the next is computed on; the first line says which
chart they belong to. A line that was cut short is the last one, and is left out.
"""

import fcntl
import json
import os
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from io import FileIO
from math import inf
from pathlib import Path
from typing import Any

from ..text.errors import ExitStatus, ThermoError
from .joints import ChartRow, as_entry, from_entry

Header = Mapping[str, Any]
"""What tells charts apart: "chart"; why: "parts"; for people: "words"; how many: "joints"."""

START = b'{"chart"'  # of the first line
Append = Callable[[ChartRow], None]


class JournalError(ThermoError):
    """Rows kept in a file that cannot be used for this chart."""

    status = ExitStatus.USAGE


def journal_path(output: Path) -> Path:
    """Where the rows are kept until a file of results is whole.

    Examples
    --------
    >>> journal_path(Path("wall/chart.csv")).name
    'chart.csv.rows'
    """
    return output.with_name(f"{output.name}.rows")


@contextmanager
def journal(
    path: Path, header: Header, *, resume: bool
) -> Iterator[tuple[list[ChartRow], Append]]:
    """Open the rows kept for a chart.

    Parameters
    ----------
    path : Path
        The file; made when there is none.
    header : mapping
        "chart" tells this chart from every other, "words" says what it is.
    resume : bool
        Whether to go on with the rows that are there.

    Yields
    ------
    list of ChartRow, callable
        The rows that are there, and a function that adds one.

    Raises
    ------
    JournalError
        The rows belong to another chart, are damaged, would be lost, or are being
        written by another process.
    OSError
        The file cannot be written; the error names it.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("a+b", buffering=0) as stream:
        _lock(stream, path)
        stream.seek(0)
        rows = _take_up(stream, path, header, resume=resume)

        def append(row: ChartRow) -> None:
            _write(stream, as_entry(row))

        yield rows, append


def _lock(stream: FileIO, path: Path) -> None:
    try:
        fcntl.flock(stream, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        msg = f"{path}: another chart is writing there"
        raise JournalError(msg, "wait for it, or name another file") from None


def _take_up(
    stream: FileIO, path: Path, header: Header, *, resume: bool
) -> list[ChartRow]:
    """Rows that are there; what was cut short is cut off."""
    raw = stream.read()
    if not START.startswith(raw[: len(START)]):
        msg = f"{path}: these are no rows of a chart"
        raise JournalError(msg, "name another file for the results")
    whole = raw[: raw.rfind(b"\n") + 1]
    lines = whole.splitlines()
    entries = [_entry(line, n, path) for n, line in enumerate(lines, 1)]
    if not entries:
        stream.truncate(0)
        _begin(stream, path, header)
        return []
    _refuse_other(entries[0], len(entries) - 1, path, header, resume=resume)
    rows = _rows(entries[1:], path, header.get("joints", inf))
    stream.truncate(len(whole))
    return rows


def _begin(stream: FileIO, path: Path, header: Header) -> None:
    """Write the first line; a file that cannot take it is not left behind."""
    try:
        _write(stream, header)
    except OSError:
        path.unlink(missing_ok=True)
        raise


def _entry(line: bytes, number: int, path: Path) -> dict[str, Any]:
    try:
        found = json.loads(line)
    except ValueError:
        found = None
    if not isinstance(found, dict):
        msg = f"{path}:{number}: this is no row of a chart"
        raise JournalError(msg, "delete the file to begin again")
    return found


def _refuse_other(
    first: Mapping[str, Any], count: int, path: Path, header: Header, *, resume: bool
) -> None:
    if first.get("chart") != header["chart"]:
        other, this = first.get("words", "unknown"), header["words"]
        msg = (
            f"{path}: these rows belong to another chart ({other}); this one is "
            f"{this}{_changed(first, header)}"
        )
        raise JournalError(msg, "name another file, or delete that one")
    if not resume:
        msg = f"{path}: {count} rows of this chart are there already"
        remedy = "go on with --resume, or delete the file to begin again"
        raise JournalError(msg, remedy)


def _changed(first: Mapping[str, Any], header: Header) -> str:
    """Say which parts of a chart are not what they were."""
    before, now = first.get("parts"), header.get("parts", {})
    if not isinstance(before, dict):
        return ""
    names = [name for name, digest in now.items() if before.get(name) != digest]
    return f"; what changed: {', '.join(names)}" if names else ""


def _rows(entries: list[dict[str, Any]], path: Path, joints: float) -> list[ChartRow]:
    rows: dict[int, ChartRow] = {}
    for number, entry in enumerate(entries, 2):
        try:
            row = from_entry(entry)
            if row.number >= joints:
                msg = f"row {row.number} of a chart of {joints} joints"
                raise TypeError(msg)
        except TypeError as error:
            msg = f"{path}:{number}: {error}"
            raise JournalError(msg, "delete the file to begin again") from None
        rows[row.number] = row
    return list(rows.values())


def _write(stream: FileIO, entry: Mapping[str, Any]) -> None:
    """Put one line on the disk, whole or, when killed meanwhile, cut short."""
    rest = json.dumps(dict(entry), allow_nan=False).encode() + b"\n"
    try:
        while rest:
            rest = rest[stream.write(rest) :]
        os.fsync(stream.fileno())
    except OSError as error:
        raise OSError(error.errno, error.strerror, str(stream.name)) from error
