"""What readings taught, as data: numbers, readings and waits, before and after.

Always in SI shop units, whatever units the report speaks.
"""

from collections.abc import Iterator
from math import degrees
from typing import Any

from ..case_file.keys import kind_of
from ..doubt.bands import Band, Bands
from ..joint.case import Case
from ..readings.fit import Fit, FittedNumber
from ..readings.flags import ReadingCheck
from ..readings.reading import Reading
from ..report.block import block, used
from ..text.kinds import SI
from ..text.records import degC
from ..text.records import json_text as as_json

SCHEMA = 1


def results(case: Case, found: Fit) -> dict[str, Any]:
    """Everything a fit found, as one object for JSON, unit in every key."""
    return {"schema": SCHEMA, "title": case.title, **fit_entry(found)}


def json_text(case: Case, found: Fit) -> str:
    """Write the object of ``results`` as text."""
    entries = results(case, found)
    return as_json(entries)


def fit_entry(found: Fit) -> dict[str, Any]:
    """Fit as data, always in SI shop units."""
    return {
        "numbers": [_number_entry(number) for number in found.numbers],
        "readings": [_check_entry(one) for one in found.readings],
        "readings_used": used(found),
        "go_ahead": not found.hot,
        "not_identified": list(found.not_identified),
        "agreement": found.agreement,
        "complete": found.history.complete,
        "stopped_because": found.history.stopped_because,
        "waits_before": list(_wait_entries(found.before)),
        "waits_after": [] if found.stopped_by else list(_wait_entries(found.after)),
        "block": block(found),
    }


def _number_entry(number: FittedNumber) -> dict[str, Any]:
    key = number.key
    return {
        "key": number.key,
        "name": number.words,
        "unit": SI.unit(kind_of(key)) or "1",
        "before": number_band(key, number.before),
        "after": number_band(key, number.after),
        "learnt": round(number.learnt, 4) + 0.0,
        "is_identified": number.is_identified,
    }


def number_band(key: str, band: Band) -> dict[str, float]:
    """Band of a doubtful number in its SI shop unit."""
    kind = kind_of(key)
    return {n: round(SI.value(kind, v), 6) for n, v in vars(band).items()}


def _check_entry(one: ReadingCheck) -> dict[str, Any]:
    return {
        **reading_entry(one.reading),
        "expected_before_degC": degC(one.before),
        "before_error_K": round(one.before_error, 2),
        "expected_after_degC": degC(one.after),
        "after_error_K": round(one.after_error, 2),
        "is_flagged": one.is_flagged,
        "is_hotter_than_the_joint_can_be": one.is_hot,
        "why": one.why,
    }


def reading_entry(reading: Reading) -> dict[str, Any]:
    """Return a reading as data."""
    r = reading
    return {
        "file": r.file,
        "line": r.line,
        "after_pass": r.after_pass,
        "since_arc_off_s": round(r.since, 2),
        "on": r.on,
        "from_toe_mm": None if r.from_toe is None else round(1e3 * r.from_toe, 3),
        "angle_deg": None if r.angle is None else round(degrees(r.angle), 2),
        "at_least_degC": degC(r.low),
        "at_most_degC": degC(r.high),
        "error_K": round(r.error, 3),
        "instrument": r.instrument,
    }


def _wait_entries(bands: Bands) -> Iterator[dict[str, Any]]:
    for row in bands.passes:
        if row.wait:
            yield {
                "pass": row.number,
                "best_s": round(row.wait.best, 2),
                "low_s": round(row.wait.low, 2),
                "high_s": round(row.wait.high, 2),
                "allow_s": None if row.allow is None else round(row.allow, 2),
                "strike_at_degC": degC(row.strike_at),
            }
