"""A chart as text for the terminal, as CSV and as JSON."""

import csv
import io
import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from math import isfinite
from typing import Any

from .chart import Chart
from .chart_axes import column, unit_in_key
from .chart_rows import DONE, Row
from .layout import NOTHING, clock, columns, paragraph, shop_time
from .spreadsheet import harmless
from .units import SI, UnitSystem

SCHEMA = 1


@dataclass
class Footnotes:
    """Remarks with the number each was given, in order of appearance."""

    numbers: dict[str, int] = field(default_factory=dict)

    def mark(self, remark: str) -> str:
        """Return the mark of a remark, the same for the same words."""
        return f"[{self.numbers.setdefault(remark, len(self.numbers) + 1)}]"


def remarks(row: Row) -> list[str]:
    """Everything to know about a row that is no number."""
    rules = [f"not met: {rule}" for rule in row.failed]
    return [remark for remark in (row.reason, *rules, row.note) if remark]


def in_shop(row: Row) -> list[float]:
    """Return waits as a shop times them [s]; a given wait stays as given."""
    pairs = zip(row.waits, row.is_auto, strict=True)
    return [shop_time(wait) if auto else wait for wait, auto in pairs]


def total_in_shop(row: Row) -> float | None:
    """Total time with the waits of the shop [s]."""
    if row.total is None:
        return None
    return row.total + sum(in_shop(row)) - sum(row.waits)


def found(chart: Chart, row: Row) -> float | None:
    """Value looked for, in its unit."""
    if chart.search is None or row.solved is None:
        return None
    span = chart.search.span
    return round((row.solved - span.zero) / span.one, 6)


def passes_waiting(rows: Sequence[Row]) -> int:
    """Most waits of any row."""
    return max((len(row.waits) for row in rows), default=0)


def text(chart: Chart, rows: Sequence[Row], units: UnitSystem = SI) -> str:
    """Table of a chart, complete or not, and what its marks mean.

    Parameters
    ----------
    chart : Chart
        What was asked for.
    rows : sequence of Row
        What is there, in any order.
    units : UnitSystem
        For the temperatures.
    """
    rows = sorted(rows, key=lambda row: row.number)
    notes = Footnotes()
    n = passes_waiting(rows)
    heads, groups = _heads(chart, n, units)
    table = columns(
        heads,
        [_line(chart, row, n, units, notes) for row in rows],
        left=[*range(len(chart.axes)), len(heads) - 1],
        groups=groups,
    )
    lines = [*paragraph(chart.title), *_subject(chart), "", *table, ""]
    for remark, number in notes.numbers.items():
        lines += paragraph(remark, f"[{number}] ")
    return "\n".join([*lines, *paragraph(_legend(chart, rows, n))]) + "\n"


def _subject(chart: Chart) -> list[str]:
    return paragraph(f"Looking for {chart.search.words()}.") if chart.search else []


def _heads(
    chart: Chart, waits: int, units: UnitSystem
) -> tuple[list[str], list[tuple[str, int, int]]]:
    """Heads of the columns, and the titles over several of them."""
    heads = [axis.name for axis in chart.axes]
    if chart.search:
        heads.append(f"{chart.search.name}\n{chart.search.span.unit}".strip())
    groups = []
    for name in ("wait, min:s", "allow, min:s")[: 1 + chart.allow]:
        if waits:
            groups.append((name, len(heads), len(heads) + waits - 1))
            heads += [f"\npass {number}" for number in range(2, waits + 2)]
    heads += ["total\nmin:s", f"hottest\n{units.temperature_unit}", "notes"]
    return heads, groups


def _line(
    chart: Chart, row: Row, waits: int, units: UnitSystem, notes: Footnotes
) -> list[str]:
    """Cells of one row."""
    place = chart.places[row.number]
    cells = [axis.labels[n] for axis, n in zip(chart.axes, place, strict=True)]
    if chart.search:
        value = found(chart, row)
        cells.append(NOTHING if value is None else f"{value:g}")
    cells += _padded([clock(wait) for wait in in_shop(row)], waits)
    if chart.allow:
        allow = [NOTHING if a is None else clock(shop_time(a)) for a in row.allow]
        cells += _padded(allow, waits)
    total = total_in_shop(row)
    hot = row.hottest
    cells.append(NOTHING if total is None else clock(total))
    cells.append(NOTHING if hot is None else f"{units.value('temperature', hot):.0f}")
    return [*cells, " ".join(notes.mark(remark) for remark in remarks(row))]


def _padded(cells: list[str], count: int) -> list[str]:
    return cells + [NOTHING] * (count - len(cells))


def _legend(chart: Chart, rows: Sequence[Row], waits: int) -> str:
    """Say what the columns are."""
    words = []
    if waits:
        words.append(
            "Wait: from arc off to the next arc on, rounded up to 5 s unless the case "
            "gives it."
        )
    if chart.allow:
        words.append("Allow: holds the limit for 9 in 10 of the plausible joints.")
    words.append(
        "Total: first arc on to last arc off. Hottest: the joint at an arc on, at the "
        "exact wait."
    )
    missing = len(chart.places) - len(rows)
    if missing:
        words.append(f"{missing} of {len(chart.places)} joints are not computed yet.")
    return " ".join(words)


def results(chart: Chart, rows: Sequence[Row]) -> dict[str, Any]:
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


def json_text(chart: Chart, rows: Sequence[Row]) -> str:
    """Write the object of ``results`` as text."""
    made = json.dumps(results(chart, rows), indent=1, ensure_ascii=False, allow_nan=False)
    return made + "\n"


def _entry(chart: Chart, row: Row) -> Iterator[tuple[str, Any]]:
    place = chart.places[row.number]
    values = [column(axis) for axis in chart.axes]
    over = {name: v[n] for (name, v), n in zip(values, place, strict=True)}
    yield "over", over
    yield "state", row.state
    if chart.search:
        yield _found_key(chart), found(chart, row)
    yield "waits_s", [_round(wait) for wait in row.waits]
    yield "waits_in_shop_s", [_round(wait) for wait in in_shop(row)]
    if chart.allow:
        yield "allow_s", [_round(a) for a in row.allow]
    yield "total_s", _round(row.total)
    yield "hottest_interpass_degC", _degC(row.hottest)
    yield "interpass_max_degC", _degC(row.limit)
    yield "rules_not_met", list(row.failed)
    yield "reason", row.reason
    yield "note", row.note


def _found_key(chart: Chart) -> str:
    """Name of what was looked for, with its unit."""
    search = chart.search
    parts = ("found", search.name, unit_in_key(search.span.unit)) if search else ()
    return "_".join(part.replace(".", "_") for part in parts if part)


def _round(value: float | None) -> float | None:
    if value is None or not isfinite(value):
        return None
    return round(float(value), 2) + 0.0  # -0.0 becomes 0.0


def _degC(T: float | None) -> float | None:
    return None if T is None else _round(T - 273.15)


def csv_text(chart: Chart, rows: Sequence[Row]) -> str:
    """Rows as CSV, one joint a line, units in the heads."""
    rows = sorted(rows, key=lambda row: row.number)
    waits = passes_waiting(rows)
    entries = [_flat(chart, row, waits) for row in rows]
    out = io.StringIO()
    write = csv.writer(out, lineterminator="\n").writerow
    if entries:
        write([harmless(head) for head in entries[0]])
    for entry in entries:
        write([harmless(value) for value in entry.values()])
    return out.getvalue()


def _flat(chart: Chart, row: Row, waits: int) -> dict[str, Any]:
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


def is_any_done(rows: Sequence[Row]) -> bool:
    """Whether any joint has an answer."""
    return any(row.state == DONE for row in rows)
