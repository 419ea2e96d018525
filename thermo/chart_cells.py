"""The joints of a chart: each one's case, its run, and the row it gives."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite
from typing import Any

from .case import case_from_table
from .chart_keys import with_setting
from .chart_rows import DONE, IMPOSSIBLE, OUT_OF_REACH, Row
from .doubt import find_bands
from .errors import CaseError, ThermoError
from .history import History
from .joint import Case
from .report_passes import total_time
from .rules import checks, failed
from .waits import plan

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


def run_cell(cell: Cell) -> Row:
    """Run one joint; what makes it impossible becomes part of the row."""
    try:
        case = case_of(cell)
        history = plan(case)
        return row_of(cell, case, history)
    except ThermoError as error:
        return Row(cell.number, IMPOSSIBLE, reason_of(error))


def row_of(cell: Cell, case: Case, history: History) -> Row:
    """Row of a run."""
    later = history.passes[1:]
    hot = max((p.at_arc_on.hottest for p in later), default=None)
    row = Row(
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


def reason_of(error: ThermoError) -> str:
    """Say in one line why there is no such joint, without the file's name."""
    if not isinstance(error, CaseError):
        return " ".join(str(error).split())
    each = (m.problem + (f" ({m.remedy})" if m.remedy else "") for m in error.mistakes)
    return "; ".join(dict.fromkeys(each))
