"""The weld under way, computed: what to wait for before the next pass, and the review."""

from collections.abc import Callable
from typing import Any

from ..doubt.bands import Bands, find_bands
from ..heat.history import History
from ..heat.waits import plan
from ..joint.case import Case
from ..logs.as_welded import as_welded
from ..logs.log import Log, parse_log
from ..logs.review import review, with_free_waits
from ..readings.fit import Fit, fit
from ..report import review as review_report
from ..report.strike import Strike, reading_text, strike_line, strikes
from ..results.review import csv_text
from ..text.kinds import SI, UNIT_SYSTEMS, US, to_degC
from .jobs import desk_case

Progress = Callable[[float, str], None]


def next_waits(progress: Progress, *, text: str, file: str, log: str) -> dict[str, Any]:
    """Find waits and readings before the passes that are left, by the full fit.

    Parameters
    ----------
    text, file : str
        Case and its name.
    log : str
        Log so far; "" before the first burn is over: then it is the plan.
    """
    case = desk_case(text, file)
    if not log:
        history = plan(case, progress)
        return _told(case, history, find_bands(case, history, progress), "plan")
    welded_log = parse_log(log, len(case.passes))
    welded = with_free_waits(as_welded(case, welded_log), len(welded_log.passes))
    history = plan(welded, progress)
    if not welded_log.readings:
        bands = find_bands(welded, history, progress)
        return _told(welded, history, bands, "weld", welded_log)
    found = fit(welded, welded_log.readings, history=history, progress=progress)
    return _told(found.case, found.history, found.after, "readings", welded_log, found)


def _told(
    case: Case,
    history: History,
    bands: Bands,
    by: str,
    log: Log | None = None,
    found: Fit | None = None,
) -> dict[str, Any]:
    """Rows of the passes that are left."""
    done = len(log.passes) if log else 0
    flagged = [one for one in found.readings if one.is_flagged] if found else []
    return {
        "by": by,
        "stopped": history.stopped_because,
        "limit_degC": round(to_degC(case.limits.interpass_max), 2),
        "left_out": len(flagged),
        "rows": [
            _strike_entry(one, history) for one in strikes(case, history, bands)[done:]
        ],
    }


def _strike_entry(one: Strike, history: History) -> dict[str, Any]:
    done = history.passes[one.number - 1]
    return {
        "number": one.number,
        "wait_s": one.wait,
        "kind": one.kind,
        "typical_s": one.typical,
        "strike_degC": round(to_degC(one.reading), 2),
        "expect_degC": round(to_degC(done.expect_reading), 2),
        "reading": {units.name: reading_text(one, units) for units in (SI, US)},
        "line": {units.name: strike_line(one, units) for units in (SI, US)},
    }


def reviewed(
    progress: Progress, *, text: str, file: str, log: str, units: str
) -> dict[str, Any]:
    """Review of a weld as the command line prints it, and its record as CSV."""
    case = desk_case(text, file)
    found = review(case, parse_log(log, len(case.passes), file), progress=progress)
    return {
        "report": review_report.text(found, UNIT_SYSTEMS[units]),
        "record": csv_text(found),
        "verdict": found.verdict,
    }
