"""The card on paper.

One small page for the booth: the waits and the readings to strike by, settings, drawing,
cautions, and room to write in what was read. Drawn on matplotlib's object interface; black
on white, so that any printer will do. The same card gives the same bytes.
"""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.backend_bases import RendererBase
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.transforms import Bbox

from ..joint.case import Case
from ..joint.places import measuring_place
from ..pictures.section import draw_dimensions
from ..pictures.sheet import (
    LEADING,
    POINT,
    Paper,
    box,
    fitting_size,
    new_sheet,
    put,
    rule,
    set_paragraph,
    stroke,
    width,
    wrapped,
)
from ..pictures.style import METADATA
from ..report.joint import short_joint_words
from ..report.strike import SAFE, TYPICAL
from ..rules.limits import FAIL
from ..text.kinds import SI, UnitSystem
from ..text.times import clock
from .card import (
    Card,
    basis_words,
    caution_words,
    held_words,
    limit_words,
    measure_words,
    note_words,
    setting_heads,
    setting_rows,
    start_words,
    strike_words,
    verdict_words,
    why_words,
)

STYLE: Any = {
    "font.family": "DejaVu Sans", "font.size": 7, "lines.linewidth": 0.8,
    "text.hinting": "none",  # as measured, so that no line is longer on a screen
}  # fmt: skip

TEXT, SMALL, HEAD = 7.5, 6.6, 7.0  # points
TALLEST = 16.0  # mm of one row of waits
DRAWING_LEAST = 36.0  # mm of height
LETTERING = 8.0  # points, on the drawing
TWO_COLUMNS = 5  # more rows of waits than this stand in two columns
GREY = "#e4e4e4"
MILLIMETRES = {"settings": 4.3, "head": 7.2, "gap": 2.0}


def card_pdf(card: Card, paper: str = "a5", units: UnitSystem = SI) -> bytes:
    """Return the card as a PDF of one page, "a5" or "half-letter"."""
    out = io.BytesIO()
    with rc_context(STYLE):
        figure = draw_card(card, paper, units)
        figure.savefig(out, format="pdf", metadata=METADATA["pdf"])
    return out.getvalue()


def draw_card(card: Card, paper: str = "a5", units: UnitSystem = SI) -> Figure:
    """Lay out the page: from the top down, then the foot; the drawing fills the rest."""
    with rc_context(STYLE):
        sheet = new_sheet(paper)
        foot = _foot_height(sheet, card, units)
        _head(sheet, card, units)
        _failure(sheet, card, units)
        _waits(sheet, card, units, foot)
        _settings(sheet, card, units)
        _drawing(sheet, card, units, foot)
        _foot(sheet, card, units, foot)
    return sheet.figure


def _head(sheet: Paper, card: Card, units: UnitSystem) -> None:
    """Title, joint, and what is written in by hand."""
    sheet.y -= 1.5
    set_paragraph(sheet, card.case.title, 12.5, bold=True, most=2)
    sheet.y += 0.6
    set_paragraph(
        sheet, short_joint_words(card.case, units, names_process=True), TEXT, most=3
    )
    sheet.y += 6.0
    wide = (sheet.room - GUTTER * (len(FIELDS) - 1)) / len(FIELDS)
    for n, name in enumerate(FIELDS):
        _field(sheet, sheet.margin + n * (wide + GUTTER), wide, name)
    sheet.y += 2.2
    rule(sheet, 1.5)


FIELDS = ("Date", "Welder", "Joint")  # written in by hand


def _field(sheet: Paper, x: float, wide: float, name: str) -> None:
    """Draw a line to write on, behind its name."""
    put(sheet, x, sheet.y, name, HEAD)
    stroke(sheet, (x + width(name, HEAD) + 1.0, x + wide), sheet.y + 0.6)


def _failure(sheet: Paper, card: Card, units: UnitSystem) -> None:
    """Say in white on black that a limit is not met."""
    if card.verdict != FAIL:
        return
    first, _, rest = verdict_words(card, units).partition(". ")
    size, step = 8.0, LEADING * 8.0 * POINT
    lines = wrapped(rest, size, sheet.room - 6, bold=True, most=5)
    sheet.y += 1.5
    height = 8.5 + step * len(lines) + 2.0
    box(sheet, sheet.y, height, "black")
    put(sheet, sheet.margin + 3, sheet.y + 7.0, first, 17, bold=True, colour="white")
    for n, line in enumerate(lines):
        y = sheet.y + 7.5 + step * (n + 1)
        put(sheet, sheet.margin + 3, y, line, size, bold=True, colour="white")
    sheet.y += height


def _waits(sheet: Paper, card: Card, units: UnitSystem, foot: float) -> None:
    """Set waits and readings to strike by as large as the page allows."""
    if not card.waits:
        _no_wait(sheet, card)
    rows = _wait_rows(card, units)
    if not rows:
        return
    columns = 2 if len(rows) > TWO_COLUMNS else 1
    down = -(-len(rows) // columns)
    why = wrapped(why_words(card, units), SMALL, sheet.room)
    below = MILLIMETRES["head"] + _row_height(card) * len(card.case.passes) + 14.0
    below += LEADING * SMALL * POINT * (len(why) + len(note_words(card, units)))
    free = sheet.height - foot - sheet.y - below - DRAWING_LEAST - 6.0
    height = min(TALLEST, max(free / down, 4.0))
    wide = (sheet.room - GUTTER * (columns - 1)) / columns
    type_ = _wait_type(rows, wide, height)
    top = sheet.y + 4.2
    for column in range(columns):
        _wait_heads(sheet, card, sheet.margin + column * (wide + GUTTER), top, wide)
    for n, row in enumerate(rows):
        x = sheet.margin + (n // down) * (wide + GUTTER)
        y = top + (n % down + 1) * height - 0.2 * height
        _wait(sheet, row, type_, (x, y, wide))
    sheet.y = top + down * height + 0.6
    for line in why:
        sheet.y += LEADING * SMALL * POINT
        put(sheet, sheet.margin, sheet.y, line, SMALL)
    sheet.y += 1.8
    rule(sheet)


def _no_wait(sheet: Paper, card: Card) -> None:
    only = len(card.case.passes) == 1
    words = "One pass, no wait." if only else "No wait was found."
    sheet.y += 2.0
    set_paragraph(sheet, words, 14.0, bold=True)
    sheet.y += 1.0


GUTTER = 5.0  # mm between two columns

# Right ends of the columns, as shares of the width of a row: pass, wait, typical wait,
# reading to strike by; what is left is the line to write on. And how much of the width
# the words of each may take.
ENDS, ROOMS = (0.13, 0.41, 0.535, 0.825), (0.13, 0.26, 0.11, 0.265)
OR_LESS = 0.45  # size of "or less" to that of the reading before it


@dataclass(frozen=True)
class _WaitRow:
    """One row of waits in words."""

    label: str
    wait: str  # min:s; empty before pass 1
    typical: str  # min:s, or that the wait is given
    reading: str  # "304 degF"
    bound: str  # "or less"


def _wait_rows(card: Card, units: UnitSystem) -> list[_WaitRow]:
    rows = []
    for strike in card.strikes:
        reading, bound = strike_words(strike, units)
        typical = ""
        if strike.number > 1:
            typical = "given" if strike.typical is None else clock(strike.typical)
        if strike.kind == TYPICAL:  # it stands in the large column already
            typical = ""
        wait = clock(strike.wait) if strike.number > 1 else ""
        rows.append(_WaitRow(f"pass {strike.number}", wait, typical, reading, bound))
    return rows


def _wait_type(rows: Sequence[_WaitRow], wide: float, height: float) -> list[float]:
    """Sizes of type of the columns of words, the same in all rows [points]."""
    tallest = 0.68 * height / POINT
    most = (min(tallest, 11.0), tallest, min(0.5 * tallest, 11.0), 0.62 * tallest)
    words = [
        [row.label for row in rows],
        [row.wait for row in rows],
        [row.typical for row in rows],
        [row.reading for row in rows],
    ]
    return [
        fitting_size(column, room * wide, size)
        for column, room, size in zip(words, ROOMS, most, strict=True)
    ]


def _wait_heads(sheet: Paper, card: Card, x: float, y: float, wide: float) -> None:
    """Name the columns of the waits."""
    kinds = {wait.strike.kind for wait in card.waits}
    safe, typical = SAFE in kinds, TYPICAL in kinds
    heads = [
        "safe wait, min:s"
        if safe
        else "typical wait, min:s"
        if typical
        else "wait, min:s",
        "typical" if safe else "",
        "strike only if it reads",
    ]
    size = min(HEAD, fitting_size([heads[0]], (ROOMS[0] + ROOMS[1]) * wide, HEAD))
    size = fitting_size([heads[2]], ROOMS[3] * wide, size)
    put(sheet, x, y, "before", size)
    for head, end in zip(heads, ENDS[1:], strict=True):
        put(sheet, x + end * wide, y, head, size, align="right")
    put(sheet, x + wide, y, "it read", size, align="right")


def _wait(
    sheet: Paper, row: _WaitRow, size: list[float], place: tuple[float, float, float]
) -> None:
    """Write one row on its baseline, and draw the line for what was read."""
    x, y, wide = place
    label, wait, typical, reading = (x + end * wide for end in ENDS)
    put(sheet, label, y, row.label, size[0], bold=True, align="right")
    put(sheet, wait, y, row.wait, size[1], bold=True, align="right")
    put(sheet, typical, y, row.typical, size[2], align="right")
    under = OR_LESS * size[3]
    put(sheet, reading, y - 1.35 * under * POINT, row.reading, size[3], bold=True,
        align="right")  # fmt: skip
    put(sheet, reading, y, row.bound, under, align="right")
    stroke(sheet, (reading + 0.03 * wide, x + wide), y + 0.3)


def _row_height(card: Card) -> float:
    """Height of one row of settings [mm]; many passes stand closer."""
    return min(MILLIMETRES["settings"], 48.0 / len(card.case.passes))


COLUMNS = (0.05, 0.21, 0.33, 0.47, 0.64, 0.68)  # of the width; the last is flush left


def _settings(sheet: Paper, card: Card, units: UnitSystem) -> None:
    """Table of the settings of every pass."""
    for n, head in enumerate(setting_heads(units)):
        for m, line in enumerate(head.split("\n")):
            _cell(sheet, n, sheet.y + 3.6 + 3.0 * m, line, HEAD)
    sheet.y += MILLIMETRES["head"]
    height = _row_height(card)
    size = min(8.5, 0.75 * height / POINT)
    for m, row in enumerate(setting_rows(card, units)):
        if m % 2 == 0:
            box(sheet, sheet.y, height, GREY)
        for n, words in enumerate(row):
            _cell(sheet, n, sheet.y + 0.72 * height, words, size)
        sheet.y += height
    for words in (start_words(card), *note_words(card, units)):
        if words:
            sheet.y += 0.4
            set_paragraph(sheet, words, SMALL, most=3)


def _cell(sheet: Paper, column: int, y: float, words: str, size: float) -> None:
    x = sheet.margin + COLUMNS[column] * sheet.room
    align = "left" if column == len(COLUMNS) - 1 else "right"
    put(sheet, x, y, words, size, align=align)


def _drawing(sheet: Paper, card: Card, units: UnitSystem, foot: float) -> None:
    """Say where to measure; fill what is left with the joint in section."""
    sheet.y += 1.2
    lines = wrapped(measure_words(card, units, marked=True), TEXT, sheet.room, bold=True)
    top = sheet.y + LEADING * TEXT * POINT * len(lines) + 1.5
    bottom = sheet.height - foot - 1.0
    rectangle = (
        sheet.margin / sheet.width,
        1 - bottom / sheet.height,
        sheet.room / sheet.width,
        (bottom - top) / sheet.height,
    )
    axes = sheet.figure.add_axes(rectangle)
    marked = draw_joint(axes, card.case, units, size=LETTERING)
    set_paragraph(sheet, measure_words(card, units, marked=marked), TEXT, bold=True)


def _foot_lines(sheet: Paper, card: Card, units: UnitSystem) -> list[tuple[str, float]]:
    """Cautions, limit and what the numbers rest on: lines and sizes of type."""
    lines = []
    for caution in caution_words(card, units):
        first, *more = wrapped(caution, SMALL, sheet.room - 2.5)
        lines += [(f"- {first}", SMALL), *((f"  {line}", SMALL) for line in more)]
    small = (limit_words(card, units), held_words(card, units), basis_words(card))
    lines += [(line, 5.6) for words in small for line in wrapped(words, 5.6, sheet.room)]
    return lines


def _foot_height(sheet: Paper, card: Card, units: UnitSystem) -> float:
    steps = (LEADING * size * POINT for _, size in _foot_lines(sheet, card, units))
    return sum(steps) + sheet.margin + 1.5


def _foot(sheet: Paper, card: Card, units: UnitSystem, height: float) -> None:
    sheet.y = sheet.height - height
    rule(sheet)
    sheet.y += 0.6
    for line, size in _foot_lines(sheet, card, units):
        sheet.y += LEADING * size * POINT
        put(sheet, sheet.margin, sheet.y, line, size)


MARK = 8.0  # points, height of the triangle
BELOW, ABOVE = -1, 1


def draw_joint(
    axes: Axes, case: Case, units: UnitSystem = SI, *, size: float = 9.0
) -> bool:
    """Draw section and dimensions, and a triangle that points at the measuring place.

    The axes must have their place on the figure already. Returns whether the place is
    on the drawing; far from the weld it may not be.
    """
    draw_dimensions(axes, case, units, size=size)
    place = measuring_place(case)
    low, high = sorted(axes.get_xlim())
    if not low < place.z < high:
        return False
    words = _boxes(axes)
    spots = [_spot(axes, place.z, place.r, side) for side in (BELOW, ABOVE)]
    free = [n for n, spot in enumerate(spots) if not spot.count_overlaps(words)]
    n = free[0] if free else 0  # the joint is the same above and below
    x, y = axes.transData.inverted().transform(
        ((spots[n].x0 + spots[n].x1) / 2, (spots[n].y0 + spots[n].y1) / 2)
    )
    axes.plot([x], [y], marker="^v"[n], ms=MARK, color="black", mec="none", zorder=9)
    return True


def _boxes(axes: Axes) -> list[Bbox]:
    """Boxes of the writing on the drawing [pixels]."""
    renderer = _renderer(axes)
    return [text.get_window_extent(renderer) for text in axes.texts]


def _renderer(axes: Axes) -> RendererBase:
    figure = axes.get_figure(root=True)
    if not isinstance(figure, Figure):
        msg = "axes stand on no figure"
        raise TypeError(msg)
    return FigureCanvasAgg(figure).get_renderer()


def _spot(axes: Axes, z: float, r: float, side: int) -> Bbox:
    """Box of a triangle that touches the surface from outside [pixels]."""
    tall = MARK * axes.figure.dpi / 72
    x, y = axes.transData.transform((z, side * r))
    middle = y + side * tall * 0.6
    return Bbox.from_bounds(x - tall / 2, middle - tall / 2, tall, tall)
