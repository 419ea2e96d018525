"""A chart: JSON and CSV."""

from collections.abc import Iterator, Sequence
from typing import Any

from ..charts.axes import column, unit_in_key
from ..charts.chart import Chart, found
from ..charts.joints import ChartRow, in_shop, passes_waiting
from ..text.records import csv_text as as_csv
from ..text.records import degC, rounded

SCHEMA = 1


def results(chart: Chart, rows: Sequence[ChartRow]) -> dict[str, Any]:
    """Everything a chart found, as one object for JSON; nothing in it is nan."""
    rows = sorted(rows, key=lambda row: row.number)
    return {
        "schema": SCHEMA,
        "title": chart.title,
        "over": [
            {"name": axis.name, "key": axis.key, "values": list(axis.labels)}
            for axis in chart.axes
        ],
        "looking_for": chart.search.words() if chart.search else None,
        "joints": len(chart.places),
        "complete": len(rows) == len(chart.places),
        "rows": [dict(_entry(chart, row)) for row in rows],
    }


def _entry(chart: Chart, row: ChartRow) -> Iterator[tuple[str, Any]]:
    place = chart.places[row.number]
    values = [column(axis) for axis in chart.axes]
    over = {name: v[n] for (name, v), n in zip(values, place, strict=True)}
    yield "over", over
    yield "state", row.state
    if chart.search:
        yield _found_key(chart), found(chart, row)
    yield "waits_s", [rounded(wait, 2) for wait in row.waits]
    yield "waits_in_shop_s", [rounded(wait, 2) for wait in in_shop(row)]
    if chart.allow:
        yield "allow_s", [rounded(a, 2) for a in row.allow]
    yield "total_s", rounded(row.total, 2)
    yield "hottest_interpass_degC", degC(row.hottest)
    yield "interpass_max_degC", degC(row.limit)
    yield "rules_not_met", list(row.failed)
    yield "reason", row.reason
    yield "note", row.note


def _found_key(chart: Chart) -> str:
    """Name of what was looked for, with its unit."""
    search = chart.search
    parts = ("found", search.name, unit_in_key(search.span.unit)) if search else ()
    return "_".join(part.replace(".", "_") for part in parts if part)


def csv_text(chart: Chart, rows: Sequence[ChartRow]) -> str:
    """Rows as CSV, one joint a line, units in the heads."""
    rows = sorted(rows, key=lambda row: row.number)
    waits = passes_waiting(rows)
    entries = [_flat(chart, row, waits) for row in rows]
    return as_csv([*map(list, entries[:1]), *(list(entry.values()) for entry in entries)])


def _flat(chart: Chart, row: ChartRow, waits: int) -> dict[str, Any]:
    """One row with a column for every number."""
    flat: dict[str, Any] = {}
    for name, value in _entry(chart, row):
        if name == "over":
            flat |= value
        elif name in ("waits_s", "waits_in_shop_s", "allow_s"):
            stem = name.removesuffix("_s").replace("waits", "wait")
            padded = [*value, *[None] * (waits - len(value))]
            flat |= {f"{stem}_{n}_s": x for n, x in enumerate(padded, 2)}
        else:
            flat[name] = "; ".join(value) if isinstance(value, list) else value
    return flat
