"""The review of a weld as data: one JSON object, and the record for the inspector as CSV.

Always in degC, s, mm and kJ, whatever units the report speaks.
"""

from typing import Any

from ..doubt.bands import Band
from ..logs.as_welded import noted
from ..logs.next_wait import NextWait
from ..logs.review import Review, ReviewedPass, burned, since_off
from ..report.deviations import deviations
from ..report.review import verdict_text
from ..text.kinds import kJ_per_mm
from ..text.records import csv_text as as_csv
from ..text.records import degC
from ..text.records import json_text as as_json
from .check import check_entry
from .fit import fit_entry, reading_entry
from .measured import measured_entry

SCHEMA = 1


def results(found: Review) -> dict[str, Any]:
    """Everything a review found, as one object for JSON."""
    log = found.log
    return {
        "schema": SCHEMA,
        "title": found.case.title,
        "log": log.file,
        "model": found.history.model,
        "passes_planned": len(found.case.passes),
        "passes_welded": len(log.passes),
        "first_arc_on": log.shown(0.0) if log.clock else None,
        "limit": {
            "interpass_max_degC": degC(found.case.limits.interpass_max),
            "source": found.case.limits.interpass_max_source,
        },
        "passes": [_pass(found, one) for one in found.passes],
        "readings": [reading_entry(r) for r in log.readings],
        "read_before_pass_1": reading_entry(log.at_start) if log.at_start else None,
        "fit": fit_entry(found.fit) if found.fit else None,
        "deviations": list(deviations(found)),
        "remarks": list(log.remarks),
        "logger": measured_entry(found.measured) if found.measured else None,
        "checks": [check_entry(check) for check in found.checks],
        "next": _next(found, found.next) if found.next else None,
        "verdict": found.verdict,
        "verdict_text": verdict_text(found),
    }


def json_text(found: Review) -> str:
    """Write the object of ``results`` as text."""
    entries = results(found)
    return as_json(entries)


def _pass(found: Review, one: ReviewedPass) -> dict[str, Any]:
    done, planned = one.done, one.planned
    p = found.welded.passes[one.logged.number - 1]
    amps, volts = noted(one.logged)
    burns, log = one.logged.burns, found.log
    clocks = [log.shown(t) if log.clock else None for t in (burns[0].on, burns[-1].off)]
    return {
        "number": one.logged.number,
        "arc_on_clock": clocks[0],
        "arc_off_clock": clocks[1],
        "arc_on_s": round(burns[0].on, 2),
        "arc_off_s": round(burns[-1].off, 2),
        "arc_burns_s": round(burned(one), 2),
        "wait_s": round(done.wait, 2),
        "planned_wait_s": round(planned.wait, 2) if planned else None,
        "current_A": _number(p.current, 2),
        "current_is_noted": amps,
        "voltage_V": _number(p.voltage, 3),
        "voltage_is_noted": volts,
        "travel_mm_per_min": round(6e4 * p.travel, 3),
        "arc_energy_kJ_per_mm": _per_mm(one.as_logged.arc_energy),
        "heat_input_kJ_per_mm": _per_mm(one.as_logged.heat_input),
        "net_energy_kJ": round(one.as_logged.net_energy / 1e3, 4),
        "predicted_hottest_degC": _band(done.at_arc_on.hottest, one.hottest),
        "expect_to_read_degC": _band(done.expect_reading, one.reading),
        "strike_at_degC": degC(one.strike_at),
        "measured": reading_entry(one.measured) if one.measured else None,
        "measured_before_arc_s": round(one.before_arc, 2) if one.measured else None,
        "outcome": one.outcome if one.by else None,
        "by": one.by,
        "notes": list(one.logged.notes),
    }


def _number(value: float, digits: int) -> float | None:
    return None if value != value else round(value, digits)  # noqa: PLR0124 - nan


def _per_mm(energy: float | None) -> float | None:
    return None if energy is None else round(kJ_per_mm(energy), 5)


def _band(best: float, band: Band | None) -> dict[str, float | None]:
    low, high = (band.low, band.high) if band else (None, None)
    return {"best": degC(best), "low": degC(low), "high": degC(high)}


def _next(found: Review, following: NextWait) -> dict[str, Any]:
    now = found.now

    def left(wait: float | None) -> float | None:
        if wait is None or now is None:
            return None
        return round(max(wait - since_off(found), 0.0), 2)

    return {
        "number": following.number,
        "best_s": None if following.best is None else round(following.best, 2),
        "allow_s": None if following.allow is None else round(following.allow, 2),
        "given_in_case_s": following.given,
        "expect_to_read_degC": degC(following.expect),
        "strike_at_degC": degC(following.strike_at),
        "best_from_now_s": left(following.best),
        "allow_from_now_s": left(following.allow),
        "reading": reading_entry(following.reading) if following.reading else None,
        "reading_refused": following.refused,
        "why_not": following.why,
        "stopped_by": reading_entry(following.hot) if following.hot else None,
    }


def csv_text(found: Review) -> str:
    """Write the record: one line for each pass welded."""
    rows = [_record(found, one) for one in found.passes]
    return as_csv([list(rows[0]), *(list(row.values()) for row in rows)])


def _record(found: Review, one: ReviewedPass) -> dict[str, Any]:
    """Cells of one pass; text of others is made harmless."""
    entry = _pass(found, one)
    bands = {
        "predicted_hottest": entry.pop("predicted_hottest_degC"),
        "expect_to_read": entry.pop("expect_to_read_degC"),
    }
    measured, notes = entry.pop("measured"), entry.pop("notes")
    outcome, by = entry.pop("outcome"), entry.pop("by")
    flat = {f"{name}_{end}_degC": T for name, b in bands.items() for end, T in b.items()}
    read = measured or {}
    return {
        "title": found.case.title,
        **entry,
        **flat,
        "read_at_least_degC": read.get("at_least_degC"),
        "read_at_most_degC": read.get("at_most_degC"),
        "instrument": read.get("instrument", ""),
        "limit_degC": degC(found.case.limits.interpass_max) if one.by else None,
        "outcome": outcome,
        "by": by,
        "notes": "; ".join(notes),
    }
