"""A chart as one page for the wall: large type, shades that read in grey.

A box is the darker the longer the wait; a joint that cannot be is hatched, with the
reason at the foot. The paper grows when the boxes would get too small to read.
"""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil
from typing import Any

from matplotlib import rc_context
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from ..charts.chart import Chart
from ..charts.joints import ChartRow
from ..text.kinds import SI, UnitSystem
from .boxes import ChartBox, Panel, Wall, kept_as_given, wall
from .sheet import INCH, LEADING, POINT, Paper, put, set_paragraph, width, wrapped
from .style import METADATA

STYLE: Any = {
    "font.family": "DejaVu Sans", "hatch.linewidth": 0.7, "hatch.color": "#9a9a9a",
    "svg.hashsalt": "interpass",
}  # fmt: skip

PAPERS = ((297.0, 210.0), (420.0, 297.0), (594.0, 420.0))  # mm, ISO 216 A4, A3, A2
MARGIN, GAP = 11.0, 6.0  # mm
TITLE, SUBTITLE, TEXT, NOTE, MARK = 24.0, 15.0, 10.5, 9.0, 9.0  # points
LARGEST, LEAST = 30.0, 13.0  # points in the boxes
LIGHT, MIDDLE, DARK = (1.0, 1.0, 1.0), (0.99, 0.86, 0.60), (0.94, 0.66, 0.42)
MEASURE = "Measure before you strike: waits are computed, the reading decides."
FOOT_SHARE = 0.3  # of the page at most
LABEL = 0.85  # size of labels over that in the boxes


@dataclass(frozen=True)
class WallPlace:
    """Where a panel goes [mm], and the size of its type [points]."""

    x: float
    y: float
    wide: float
    high: float
    size: float


def wall_chart(
    chart: Chart, rows: Sequence[ChartRow], kind: str, units: UnitSystem = SI
) -> bytes:
    """Bytes of the page as "pdf", "svg" or "png"; the same chart gives the same bytes."""
    out = io.BytesIO()
    with rc_context(STYLE):
        figure = draw_chart(chart, rows, units)
        figure.savefig(out, format=kind, dpi=150, metadata=METADATA[kind])
    return out.getvalue()


def draw_chart(chart: Chart, rows: Sequence[ChartRow], units: UnitSystem = SI) -> Figure:
    """Lay out the page: heading, boxes, and what the marks mean at the foot."""
    whole = wall(chart, rows)
    for paper in PAPERS:
        sheet = _new_sheet(*paper)
        _heading(sheet, chart, rows, units)
        foot = _foot_lines(sheet, whole)
        bottom = sheet.height - MARGIN - _foot_height(foot, whole)
        places = _places(sheet, whole, bottom)
        if places[0].size >= LEAST:
            break
    for panel, place in zip(whole.panels, places, strict=True):
        _panel(sheet, panel, place)
    _foot(sheet, whole, foot, bottom)
    return sheet.figure


def _new_sheet(wide: float, high: float) -> Paper:
    figure = Figure(figsize=(wide / INCH, high / INCH))
    FigureCanvasAgg(figure)
    return Paper(figure, wide, high, MARGIN, MARGIN - 3.0)


def _heading(
    sheet: Paper, chart: Chart, rows: Sequence[ChartRow], units: UnitSystem
) -> None:
    """Write what the chart is about."""
    set_paragraph(sheet, chart.title, TITLE, bold=True, most=2)
    sheet.y += 1.5
    limits = {row.limit for row in rows if row.limit is not None}
    one = len(limits) == 1
    limit = f" Interpass limit {units.temperature(limits.pop())}." if one else ""
    what = "Typical wait before the next arc: every second joint needs longer."
    if chart.allow:
        what = "Wait before the next arc, typical and safe."
    if chart.search:
        words = chart.search.words()
        what = f"{words[0].upper()}{words[1:]}."
    set_paragraph(sheet, what + limit, SUBTITLE, bold=True, most=2)
    set_paragraph(sheet, MEASURE, SUBTITLE, bold=True)
    sheet.y += 1.0
    set_paragraph(sheet, kept_as_given(chart), TEXT, most=3)
    sheet.y += 4.0


def _foot_lines(sheet: Paper, whole: Wall) -> list[str]:
    """Lines of the foot, cut where they would take too much of the page."""
    words = [whole.in_a_box]
    words += [f"[{n}] {remark}" for remark, n in whole.notes.items()]
    lines = [line for one in words for line in wrapped(one, NOTE, sheet.room)]
    most = int(FOOT_SHARE * sheet.height / (LEADING * NOTE * POINT))
    if len(lines) > most:
        lines = [*lines[: most - 1], "More remarks: see the table on the screen."]
    return lines


def _foot_height(foot: Sequence[str], whole: Wall) -> float:
    return LEADING * NOTE * POINT * len(foot) + (9.0 if whole.scale else 2.0)


def _places(sheet: Paper, whole: Wall, bottom: float) -> list[WallPlace]:
    """Arrange the panels so that their type is as large as can be."""
    count = len(whole.panels)
    arranged = [_arranged(sheet, whole, bottom, across) for across in range(1, count + 1)]
    return max(arranged, key=lambda places: places[0].size)


def _arranged(sheet: Paper, whole: Wall, bottom: float, across: int) -> list[WallPlace]:
    """Panels in so many columns, all with the same type."""
    down = ceil(len(whole.panels) / across)
    wide = (sheet.room - GAP * (across - 1)) / across
    high = (bottom - sheet.y - GAP * (down - 1)) / down
    size = min(_fitting_size(panel, wide, high) for panel in whole.panels)
    return [
        WallPlace(
            MARGIN + (n % across) * (wide + GAP),
            sheet.y + (n // across) * (high + GAP),
            wide,
            high,
            size,
        )
        for n in range(len(whole.panels))
    ]


def _fitting_size(panel: Panel, wide: float, high: float) -> float:
    """Return the largest type with which everything fits [points].

    Marks go where they cost least: beside the lines, or below them.
    """
    boxes = [box for row in panel.boxes for box in row]
    beside = max((_width(box.marks, MARK) for box in boxes), default=0.0)
    beside, below = (2 * beside + 2.0, 1.6 * MARK * POINT) if beside else (0.0, 0.0)
    return max(
        _size(panel, wide, high, beside, 0.0), _size(panel, wide, high, 0.0, below)
    )


def _width(words: str, size: float = 1.0) -> float:
    return width(words, size, bold=True)


def _size(panel: Panel, wide: float, high: float, beside: float, below: float) -> float:
    """Type size when every box keeps some room free beside and below its lines [mm]."""
    tall = high - len(panel.rows) * below
    label = LABEL * max(_width(t) for t in (*panel.rows, panel.row_name)) + 0.8 * POINT
    inside = [line for row in panel.boxes for box in row for line in box.lines]
    column = max(_width(line) for line in (*inside, "0:00")) + 1.2 * POINT
    head = LABEL * max(_width(t) for t in panel.columns) + 0.6 * POINT
    count = len(panel.columns)
    return min(
        LARGEST,
        tall / (_line_heights(panel, _lines(panel)) * POINT),
        (wide - count * beside) / (label + count * column),
        wide / (label + count * head),
    )


def _line_heights(panel: Panel, lines: int) -> float:
    """Height of a panel over its type size [points per point]."""
    heads = (1.5 if panel.title else 0.0) + (1.3 if panel.column_name else 0.0) + 1.4
    return heads + len(panel.rows) * (LEADING * lines + 0.75)


def _panel(sheet: Paper, panel: Panel, place: WallPlace) -> None:
    """Draw one table."""
    size, line = place.size, place.size * POINT
    label = LABEL * size
    left = place.x + max(_width(t, label) for t in (*panel.rows, panel.row_name))
    left += 0.8 * line
    y = place.y
    if panel.title:
        put(sheet, place.x, y + 1.1 * line, panel.title, size, bold=True)
        y += 1.5 * line
    across = (place.x + place.wide - left) / len(panel.columns)
    if panel.column_name:
        middle = (left + place.x + place.wide) / 2
        put(sheet, middle, y + line, panel.column_name, label, align="center")
        y += 1.3 * line
    put(sheet, place.x, y + line, panel.row_name, label)
    for n, head in enumerate(panel.columns):
        x = left + (n + 0.5) * across
        put(sheet, x, y + line, head, label, bold=True, align="center")
    y += 1.4 * line
    down = min((place.y + place.high - y) / len(panel.rows), 4.2 * line * _lines(panel))
    for r, name in enumerate(panel.rows):
        top = y + r * down
        put(sheet, place.x, top + down / 2 + 0.35 * label * POINT, name, label, bold=True)
        for c, one in enumerate(panel.boxes[r]):
            _box(sheet, one, (left + c * across, top, across, down), size)


def _lines(panel: Panel) -> int:
    return max((len(box.lines) for row in panel.boxes for box in row), default=1) or 1


def _box(
    sheet: Paper, one: ChartBox, at: tuple[float, float, float, float], size: float
) -> None:
    """Draw one box, its lines in the middle and its marks in the corner."""
    x, y, wide, high = at
    _rectangle(sheet, at, _colour(one.shade), "////" if one.is_hatched else "")
    middle = y + high / 2 - (len(one.lines) - 1) / 2 * LEADING * size * POINT
    for n, words in enumerate(one.lines):
        base = middle + n * LEADING * size * POINT + 0.35 * size * POINT
        put(sheet, x + wide / 2, base, words, size, bold=n == 0, align="center")
    if one.is_hatched and one.marks:
        _rectangle(sheet, _behind(one.marks, at), "white", "")
        base = y + high / 2 + 0.35 * TEXT * POINT
        put(sheet, x + wide / 2, base, one.marks, TEXT, bold=True, align="center")
    elif one.marks:
        put(
            sheet,
            x + wide - 1.0,
            y + high - 1.2,
            one.marks,
            MARK,
            bold=True,
            align="right",
        )


def _behind(
    marks: str, at: tuple[float, float, float, float]
) -> tuple[float, float, float, float]:
    """White patch behind marks on a hatched box."""
    x, y, wide, high = at
    across, tall = _width(marks, TEXT) + 3.0, TEXT * POINT + 2.4
    return x + (wide - across) / 2, y + (high - tall) / 2, across, tall


def _rectangle(
    sheet: Paper, at: tuple[float, float, float, float], colour: Any, hatch: str
) -> None:
    x, y, wide, high = at
    has_edge = bool(hatch) or colour != "white"
    sheet.figure.add_artist(
        Rectangle(
            (x / sheet.width, 1 - (y + high) / sheet.height),
            wide / sheet.width,
            high / sheet.height,
            facecolor=colour,
            edgecolor="#404040" if has_edge else "none",
            lw=0.8 if has_edge else 0.0,
            hatch=hatch or None,
            zorder=0.5,
            transform=sheet.figure.transSubfigure,
        )
    )


def _colour(shade: float | None) -> tuple[float, ...]:
    """From white through straw to a light brown; dark letters read on all of it."""
    if shade is None:
        return LIGHT
    low, high, t = (
        (LIGHT, MIDDLE, 2 * shade) if shade < 0.5 else (MIDDLE, DARK, 2 * shade - 1)
    )
    return tuple(a + (b - a) * t for a, b in zip(low, high, strict=True))


def _foot(sheet: Paper, whole: Wall, foot: Sequence[str], bottom: float) -> None:
    """Write the scale of the shades and the remarks."""
    sheet.y = bottom + (0.0 if whole.scale else 2.0)
    if whole.scale:
        _scale(sheet, whole.scale)
        sheet.y = bottom + 9.0
    for line in foot:
        sheet.y += LEADING * NOTE * POINT
        put(sheet, MARGIN, sheet.y, line, NOTE)


def _scale(sheet: Paper, ends: tuple[str, str]) -> None:
    """Draw the shades from lightest to darkest between what they mean."""
    y, high, wide, steps = sheet.y + 3.5, 4.0, 8.0, 6
    base = y + high - 0.9
    put(sheet, MARGIN, base, ends[0], NOTE)
    x = MARGIN + width(ends[0], NOTE) + 2.0
    for n in range(steps):
        shade = _colour(n / (steps - 1))
        _rectangle(sheet, (x + n * wide, y, wide, high), shade, "")
    put(sheet, x + steps * wide + 2.0, base, ends[1], NOTE)
