"""Cases side by side: JSON and CSV."""

import csv
import io
import json
from collections.abc import Sequence
from typing import Any

from ..charts.compare import Compared, inputs, outcomes
from ..report.compare import _unit
from ..text.kinds import SI
from ..text.records import harmless
from .plan import results as plan_results

SCHEMA = 1


def results(compared: Sequence[Compared]) -> dict[str, Any]:
    """Gather the inputs that differ, and the results of every case."""
    cases = []
    for one in compared:
        found = plan_results(one.case, one.history)
        found.pop("probes")
        cases.append({"letter": one.letter, "file": one.case.file, **found})
    letters = [one.letter for one in compared]
    return {
        "schema": SCHEMA,
        "inputs_that_differ": [
            {"key": line.name, **dict(zip(letters, line.values, strict=True))}
            for line in inputs(compared)
        ],
        "cases": cases,
    }


def json_text(compared: Sequence[Compared]) -> str:
    """Write the object of ``results`` as text."""
    made = results(compared)
    return json.dumps(made, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def csv_text(compared: Sequence[Compared]) -> str:
    """One quantity a line, a column for each case; times in s."""
    out = io.StringIO()
    write = csv.writer(out, lineterminator="\n").writerow
    write(["what", "unit", *(one.letter for one in compared)])
    write(["title", "", *(harmless(one.case.title) for one in compared)])
    write(["file", "", *(harmless(one.case.file) for one in compared)])
    for line in (*inputs(compared), *outcomes(compared)):
        unit = "s" if line.kind == "wait" else _unit(line.kind, SI)
        values = (_exact(value, line.kind) for value in line.values)
        write([harmless(line.name), unit, *values])
    return out.getvalue()


def _exact(value: float | str | None, kind: str) -> Any:
    if value is None:
        return ""
    if isinstance(value, str):
        return harmless(value)
    if kind == "wait":
        return round(value, 2)
    number = value / 1e3 if kind == "energy" else float(SI.value(kind, value))
    return round(number, 5)
