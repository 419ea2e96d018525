"""A chart as boxes on a wall: which box stands where, and what is written in it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ..case_file.change import with_setting
from ..charts.axes import Axis
from ..charts.chart import Chart, found
from ..charts.joints import DONE, ChartRow, in_shop, passes_waiting, total_in_shop
from ..report.chart import Footnotes, remarks
from ..text.times import clock, shop_time

MOST_LINES = 4  # waits in one box; beyond it the longest stands alone
DASH = "\u2013"
TOLD = ("pipe", "fitting", "arc")  # tables the heading tells
AROUND = ("air", "fan", "bore", "holding")  # and of the surroundings these

PLAIN = (
    "size",
    "schedule",
    "material",
    "kind",
    "current",
    "voltage",
    "process",
    "travel",
)
"""Keys whose values speak for themselves."""


@dataclass(frozen=True)
class ChartBox:
    """One box: its lines, the first in bold, how dark it is, and its marks."""

    lines: tuple[str, ...] = ()
    shade: float | None = None  # 0 light to 1 dark; None is white
    marks: str = ""
    is_hatched: bool = False


@dataclass(frozen=True)
class Panel:
    """One table of boxes."""

    title: str
    row_name: str
    column_name: str
    rows: tuple[str, ...]
    columns: tuple[str, ...]
    boxes: tuple[tuple[ChartBox, ...], ...]  # by row


@dataclass(frozen=True)
class Wall:
    """Everything on the page but its heading."""

    panels: tuple[Panel, ...]
    notes: dict[str, int]  # remark and its number
    scale: tuple[str, str] | None  # what the lightest and the darkest box mean
    in_a_box: str  # a sentence


def wall(chart: Chart, rows: Sequence[ChartRow]) -> Wall:
    """Lay a chart out: one thing varied is a list, two a table, three several tables."""
    known = {row.number: row for row in rows}
    notes = Footnotes()
    measures = {
        n: m for n, row in known.items() if (m := _measure(chart, row)) is not None
    }
    low, high = min(measures.values(), default=0.0), max(measures.values(), default=0.0)
    shades = {n: (m - low) / (high - low) for n, m in measures.items() if high > low}
    by_place = {
        place: _Known(known.get(n), shades.get(n)) for n, place in enumerate(chart.places)
    }
    waits = passes_waiting(rows)
    if len(chart.axes) == 1:
        panels = [_listed(chart, by_place, notes, waits)]
    else:
        panels = list(_tables(chart, by_place, notes))
    what = chart.search.name if chart.search else "longest wait"
    ends = (f"{what} {_told(chart, low)}", _told(chart, high))
    scale = ends if shades else None
    return Wall(tuple(panels), notes.numbers, scale, _in_a_box(chart, waits))


@dataclass(frozen=True)
class _Known:
    """What is known of one joint."""

    row: ChartRow | None
    shade: float | None


BoxPlaces = Mapping[tuple[int, ...], _Known]


def _measure(chart: Chart, row: ChartRow) -> float | None:
    """Return what makes a box dark: its longest wait, or the value found."""
    if row.state != DONE:
        return None
    return found(chart, row) if chart.search else max(row.waits, default=0.0)


def _told(chart: Chart, measure: float) -> str:
    """Measure in words."""
    if chart.search:
        return f"{measure:g} {chart.search.span.unit}"
    return clock(shop_time(measure))


def _in_a_box(chart: Chart, waits: int) -> str:
    """Say what stands in a box."""
    allow = ": typical / safe, which holds for 9 in 10 plausible joints"
    allow, kind = (allow, "") if chart.allow else ("", "typical ")
    if len(chart.axes) == 1:
        return f"{kind}waits in min:s from arc off{allow}.".capitalize()
    if chart.search:
        what = f"{chart.search.name}, then the longest {kind}wait in min:s{allow}"
        return f"In a box: the {what}."
    if waits <= 1:
        return f"In a box: the {kind}wait before pass 2 in min:s from arc off{allow}."
    if waits > MOST_LINES:
        return f"In a box: the longest {kind}wait in min:s from arc off{allow}."
    numbers = ", ".join(str(n) for n in range(2, waits + 2))
    return (
        f"In a box, from the top: the {kind}waits before pass {numbers} in min:s from arc "
        f"off{allow}."
    )


def _listed(chart: Chart, places: BoxPlaces, notes: Footnotes, waits: int) -> Panel:
    """One axis: a row for each value, a column for each number."""
    axis = chart.axes[0]
    heads = [f"before pass {n}" for n in range(2, waits + 2)]
    heads = [chart.search.name, *heads] if chart.search else heads
    boxes = [
        tuple(_list_boxes(chart, places[(n,)], notes, len(heads) + 1))
        for n in range(len(axis.values))
    ]
    return Panel("", axis.name, "", axis.labels, (*heads, "total"), tuple(boxes))


def _list_boxes(
    chart: Chart, known: _Known, notes: Footnotes, count: int
) -> Iterator[ChartBox]:
    """Boxes of one row of a list; the marks stand in the last."""
    row = known.row
    if row is None or row.state != DONE:
        empty = _box(chart, known, notes)
        yield from [ChartBox(is_hatched=empty.is_hatched)] * (count - 1)
        yield empty
        return
    lines = [*_waits(row)]
    if chart.search:
        lines.insert(0, _value(chart, row))
    lines += [DASH] * (count - 1 - len(lines))
    yield from (ChartBox((line,), known.shade) for line in lines)
    total = total_in_shop(row)
    marks = " ".join(notes.mark(remark) for remark in remarks(row))
    yield ChartBox((DASH if total is None else clock(total),), None, marks)


def _tables(chart: Chart, places: BoxPlaces, notes: Footnotes) -> Iterator[Panel]:
    """Two axes make one table, three as many as the first has values."""
    *first, down, across = chart.axes
    for n in range(len(first[0].values)) if first else [None]:
        before = () if n is None else (n,)
        title = f"{first[0].name}: {first[0].labels[n]}" if n is not None else ""
        yield _table(chart, places, notes, (title, before, down, across))


def _table(
    chart: Chart,
    places: BoxPlaces,
    notes: Footnotes,
    what: tuple[str, tuple[int, ...], Axis, Axis],
) -> Panel:
    """Table of the last two axes at one value of the first."""
    title, before, down, across = what
    boxes = tuple(
        tuple(
            _box(chart, places[(*before, r, c)], notes) for c in range(len(across.values))
        )
        for r in range(len(down.values))
    )
    return Panel(title, down.name, across.name, down.labels, across.labels, boxes)


def _box(chart: Chart, known: _Known, notes: Footnotes) -> ChartBox:
    """Box of one joint."""
    row = known.row
    if row is None:
        return ChartBox((DASH,))
    marks = " ".join(notes.mark(remark) for remark in remarks(row))
    if row.state != DONE:
        return ChartBox((), None, marks, is_hatched=True)
    waits = _waits(row)
    if chart.search or len(waits) > MOST_LINES:
        longest = max(range(len(waits)), key=row.waits.__getitem__, default=None)
        waits = [] if longest is None else [waits[longest]]
    lines = [_value(chart, row), *waits] if chart.search else waits or ["no wait"]
    return ChartBox(tuple(lines), known.shade, marks)


def _value(chart: Chart, row: ChartRow) -> str:
    """Value found, with its unit."""
    unit = chart.search.span.unit if chart.search else ""
    return f"{found(chart, row):g} {unit}".strip()


def _waits(row: ChartRow) -> list[str]:
    """Write waits in min:s, with what holds for 9 in 10 behind."""
    waits = [clock(wait) for wait in in_shop(row)]
    if not row.allow:
        return waits
    return [
        w if a is None else f"{w} / {clock(shop_time(a))}"
        for w, a in zip(waits, row.allow, strict=True)
    ]


def kept_as_given(chart: Chart) -> str:
    """Tell what the case says of the joint and its passes, but for what is varied."""
    table = dict(chart.table)
    varied = [(axis.key, axis.values[0]) for axis in chart.axes]
    if chart.search:
        varied.append((chart.search.key, chart.search.span.value(chart.search.span.low)))
    for key, value in varied:  # what a value replaces is not kept either
        table = with_setting(table, key, value)
    keys = {key for key, _ in varied}
    parts = [(name.capitalize(), table.get(name), name) for name in TOLD]
    given = table.get("surroundings")
    around = given if isinstance(given, Mapping) else {}
    told = {key: around[key] for key in AROUND if key in around}
    parts.append(("Around", told, "surroundings"))
    parts += [(f"Pass {n}", t, "pass") for n, t in enumerate(table.get("pass", []), 1)]
    said = ((head, _said(table, name, keys)) for head, table, name in parts)
    return " ".join(f"{head}: {words}." for head, words in said if words)


def _said(table: Any, name: str, varied: set[str]) -> str:
    """Values of one table in a row."""
    if not isinstance(table, Mapping):
        return ""
    items = ((k, v) for k, v in table.items() if f"{name}.{k}" not in varied)
    return ", ".join(_shown(key, value) for key, value in items)


def _shown(key: str, value: Any) -> str:
    """Value as a person reads it, with its name where that is not plain."""
    if isinstance(value, Mapping):
        values = [value["best"]] if "best" in value else value.values()
        return f"{key} " + " ".join(str(v) for v in values)
    if isinstance(value, list):
        return f"{len(value)} {key}"
    is_plain = isinstance(value, str) and key in PLAIN
    shown = str(value).lower() if isinstance(value, bool) else str(value)
    return shown if is_plain else f"{key.replace('_', ' ')} {shown}"
