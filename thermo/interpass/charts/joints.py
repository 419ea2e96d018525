"""One joint of a chart: its case, its run, and the row it gives.

A row is plain data that a line of text can hold.
"""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, fields
from math import isfinite
from typing import Any

from ..case_file.change import with_setting
from ..case_file.read import case_from_table
from ..doubt.bands import find_bands
from ..heat.history import History, total_time
from ..heat.waits import plan
from ..joint.case import Case
from ..rules.judge import checks, failed
from ..text.errors import CaseError, ThermoError
from ..text.times import shop_time

DONE, IMPOSSIBLE, OUT_OF_REACH = "done", "impossible", "out of reach"


@dataclass(frozen=True)
class ChartRow:
    """One joint of a chart; times in s, temperatures in K.

    ``waits`` are those before pass 2, 3, ...: as the joint needs them, or as the case
    gives them. ``allow`` holds what keeps the limit for 9 in 10 plausible joints, None
    where a wait is given; it is empty when no bands were asked for.
    """

    number: int  # place among the cells, from 0
    state: str  # DONE, IMPOSSIBLE or OUT_OF_REACH
    reason: str = ""  # why there is no answer
    waits: tuple[float, ...] = ()
    is_auto: tuple[bool, ...] = ()
    allow: tuple[float | None, ...] = ()
    total: float | None = None  # first arc on to last arc off
    hottest: float | None = None  # hottest interpass temperature
    limit: float | None = None  # interpass maximum
    failed: tuple[str, ...] = ()  # rules that are not met
    solved: float | None = None  # SI value that was looked for
    note: str = ""  # to know about the value found


def as_entry(row: ChartRow) -> dict[str, Any]:
    """Row as JSON holds it, without what is empty."""
    return {k: v for k, v in asdict(row).items() if v not in ("", (), None)}


def from_entry(entry: dict[str, Any]) -> ChartRow:
    """Row from what ``as_entry`` gave; what JSON turned into lists is tuples again.

    Raises
    ------
    TypeError
        The entry is no row.
    """
    known = {field.name for field in fields(ChartRow)}
    values: dict[str, Any] = {
        name: tuple(v) if isinstance(v, list) else v for name, v in entry.items()
    }
    is_row = (
        set(entry) <= known
        and type(values.get("number")) is int  # true is no number of a row
        and values["number"] >= 0
        and values.get("state") in (DONE, IMPOSSIBLE, OUT_OF_REACH)
        and all(_holds(name, v) for name, v in values.items())
    )
    if not is_row or len(values.get("waits", ())) != len(values.get("is_auto", ())):
        msg = "not a row of a chart"
        raise TypeError(msg)
    return ChartRow(**values)


def _holds(name: str, value: Any) -> bool:
    """Whether a value is of the kind that a field of a row holds."""
    if name in ("state", "reason", "note"):
        return isinstance(value, str)
    if name in ("waits", "is_auto", "allow", "failed"):
        kinds = str if name == "failed" else bool if name == "is_auto" else _SECONDS
        return isinstance(value, tuple) and all(
            isinstance(v, kinds) or (v is None and name == "allow") for v in value
        )
    return isinstance(value, _SECONDS)


_SECONDS = (int, float)
Settings = tuple[tuple[str, Any], ...]  # dotted keys and their values


@dataclass(frozen=True)
class Cell:
    """One joint of a chart, as it is handed to a process."""

    number: int
    table: Mapping[str, Any]  # the case all cells start from
    settings: Settings
    file: str = "case.toml"
    allow: bool = False  # whether to find the waits that hold for 9 in 10


def case_of(cell: Cell, extra: Settings = ()) -> Case:
    """Case of a cell, perhaps with more values changed.

    Raises
    ------
    CaseError
        There is no such joint.
    """
    table = dict(cell.table)
    for key, value in (*cell.settings, *extra):
        table = with_setting(table, key, value)
    return case_from_table(table, cell.file)


def run_cell(cell: Cell) -> ChartRow:
    """Run one joint; whatever makes it impossible becomes part of the row."""
    try:
        case = case_of(cell)
        history = plan(case)
        return row_of(cell, case, history)
    except Exception as error:  # noqa: BLE001 - the other joints have their answers
        return ChartRow(cell.number, IMPOSSIBLE, reason_of(error))


def row_of(cell: Cell, case: Case, history: History) -> ChartRow:
    """Row of a run."""
    later = history.passes[1:]
    hot = max((p.at_arc_on.hottest for p in later), default=None)
    row = ChartRow(
        cell.number,
        DONE if history.complete else OUT_OF_REACH,
        reason=history.stopped_because,
        waits=tuple(float(p.wait) for p in later),
        is_auto=tuple(p.wait_is_auto for p in later),
        allow=_allow(case, history) if cell.allow and later else (),
        total=float(total_time(history)) if history.complete else None,
        hottest=None if hot is None else float(hot),
        limit=case.limits.interpass_max,
        failed=tuple(check.rule for check in failed(checks(case, history)))
        if history.complete
        else (),
    )
    return row


def _allow(case: Case, history: History) -> tuple[float | None, ...]:
    """Find the waits that hold the limit for 9 in 10 plausible joints [s]."""
    if not history.complete:
        return ()
    found = (band.allow for band in find_bands(case, history).passes[1:])
    return tuple(a if a is not None and isfinite(a) else None for a in found)


def reason_of(error: Exception) -> str:
    """Say in one line why there is no such joint, without the file's name."""
    if not isinstance(error, ThermoError):
        return f"a bug of the program: {type(error).__name__}: {' '.join(str(error).split())}"
    if not isinstance(error, CaseError):
        return " ".join(str(error).split())
    each = (m.problem + (f" ({m.remedy})" if m.remedy else "") for m in error.mistakes)
    return "; ".join(dict.fromkeys(each))


def in_shop(row: ChartRow) -> list[float]:
    """Return waits as a shop times them [s]; a given wait stays as given."""
    pairs = zip(row.waits, row.is_auto, strict=True)
    return [shop_time(wait) if auto else wait for wait, auto in pairs]


def total_in_shop(row: ChartRow) -> float | None:
    """Total time with the waits of the shop [s]."""
    if row.total is None:
        return None
    return row.total + sum(in_shop(row)) - sum(row.waits)


def passes_waiting(rows: Sequence[ChartRow]) -> int:
    """Most waits of any row."""
    return max((len(row.waits) for row in rows), default=0)


def is_any_met(rows: Sequence[ChartRow]) -> bool:
    """Whether any joint has an answer that meets every limit and rule."""
    return any(row.state == DONE and not row.failed for row in rows)
