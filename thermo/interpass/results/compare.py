"""Cases side by side: JSON and CSV."""

from collections.abc import Sequence
from typing import Any

from ..charts.compare import Compared, inputs, outcomes
from ..report.compare import _unit
from ..text.kinds import SI
from ..text.records import csv_text as as_csv
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


def csv_text(compared: Sequence[Compared]) -> str:
    """One quantity a line, a column for each case; times in s."""
    rows: list[list[Any]] = [
        ["what", "unit", *(one.letter for one in compared)],
        ["title", "", *(one.case.title for one in compared)],
        ["file", "", *(one.case.file for one in compared)],
    ]
    for line in (*inputs(compared), *outcomes(compared)):
        unit = "s" if line.kind == "wait" else _unit(line.kind, SI)
        values = (_exact(value, line.kind) for value in line.values)
        rows.append([line.name, unit, *values])
    return as_csv(rows)


def _exact(value: float | str | None, kind: str) -> Any:
    if value is None or isinstance(value, str):
        return value
    if kind == "wait":
        return round(value, 2)
    number = value / 1e3 if kind == "energy" else float(SI.value(kind, value))
    return round(number, 5)
