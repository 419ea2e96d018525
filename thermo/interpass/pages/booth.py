"""The card on paper.

The card for the booth: one small page with drawing, settings, waits and cautions.

Drawn on matplotlib's object interface; black on white, so that any printer will do. The
same card gives the same bytes.

The joint of a card in section, with its dimensions and where to measure.
"""

import io
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
    new_sheet,
    paragraph,
    put,
    rule,
    wrapped,
)
from ..rules.limits import FAIL
from ..text.kinds import SI, UnitSystem
from ..text.times import clock
from .card import (
    Card,
    CardWait,
    caution_words,
    joint_words,
    limit_words,
    model_words,
    place_words,
    reading_words,
    setting_heads,
    setting_rows,
    start_words,
    verdict_words,
)

STYLE: Any = {"font.family": "DejaVu Sans", "font.size": 7, "lines.linewidth": 0.8}


TEXT, SMALL, HEAD = 7.5, 6.6, 7.0  # points


LIMIT_SIZE, TALLEST = 19.0, 17.0  # points; mm of one row of waits


DRAWING_LEAST = 36.0  # mm of height


LETTERING = 8.0  # points, on the drawing


TWO_COLUMNS = 4  # more waits than this stand in two columns


GREY = "#e4e4e4"


MILLIMETRES = {"settings": 4.3, "head": 7.2, "gap": 2.0}


def card_pdf(card: Card, paper: str = "a5", units: UnitSystem = SI) -> bytes:
    """Return the card as a PDF of one page, "a5" or "half-letter"."""
    out = io.BytesIO()
    metadata = {"CreationDate": None, "Producer": None, "Creator": "interpass"}
    with rc_context(STYLE):
        figure = draw_card(card, paper, units)
        figure.savefig(out, format="pdf", metadata=metadata)
    return out.getvalue()


def draw_card(card: Card, paper: str = "a5", units: UnitSystem = SI) -> Figure:
    """Lay out the page: from the top down, then the foot; the drawing fills the rest."""
    with rc_context(STYLE):
        sheet = new_sheet(paper)
        foot = _foot_height(sheet, card, units)
        _head(sheet, card, units)
        _limit(sheet, card, units)
        _failure(sheet, card, units)
        _waits(sheet, card, units, foot)
        _settings(sheet, card, units)
        _drawing(sheet, card, units, foot)
        _foot(sheet, card, units, foot)
    return sheet.figure


def _head(sheet: Paper, card: Card, units: UnitSystem) -> None:
    """Title and joint."""
    sheet.y -= 1.5
    paragraph(sheet, card.case.title, 12.5, bold=True, most=2)
    sheet.y += 1.0
    paragraph(sheet, joint_words(card, units), TEXT, most=3)
    sheet.y += 2.2
    rule(sheet, 1.5)


def _limit(sheet: Paper, card: Card, units: UnitSystem) -> None:
    """Write the limit, large."""
    large, small = limit_words(card, units)
    sheet.y += LIMIT_SIZE * POINT + 1.0
    put(sheet, sheet.margin, sheet.y, "Before each arc on:", 9.0)
    put(
        sheet,
        sheet.width - sheet.margin,
        sheet.y,
        large,
        LIMIT_SIZE,
        bold=True,
        align="right",
    )
    sheet.y += 1.2
    paragraph(sheet, small, SMALL, most=3)
    sheet.y += 2.0
    rule(sheet)


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
    """Set the waits as large as the page allows."""
    if not card.waits:
        _no_wait(sheet, card)
        return
    columns = 2 if len(card.waits) > TWO_COLUMNS else 1
    rows = -(-len(card.waits) // columns)
    below = MILLIMETRES["head"] + _row_height(card) * len(card.case.passes) + 14.0
    free = sheet.height - foot - sheet.y - below - DRAWING_LEAST - 6.0
    height = min(TALLEST, max(free / rows, 4.0))
    top = sheet.y + 4.2
    wide = (sheet.room - GUTTER * (columns - 1)) / columns
    for column in range(columns):
        _wait_heads(sheet, card, sheet.margin + column * (wide + GUTTER), top, wide)
    for n, wait in enumerate(card.waits):
        x = sheet.margin + (n // rows) * (wide + GUTTER)
        _wait(sheet, wait, units, (x, top + (n % rows + 1) * height, wide, height))
    sheet.y = top + rows * height + 1.8
    rule(sheet)


def _no_wait(sheet: Paper, card: Card) -> None:
    only = len(card.case.passes) == 1
    words = "One pass, no wait." if only else "No wait was found."
    sheet.y += 2.0
    paragraph(sheet, words, 14.0, bold=True)
    sheet.y += 2.5
    rule(sheet)


GUTTER = 5.0  # mm between two columns of waits


BEST_AT, ALLOW_AT = 0.46, 0.745  # of the width of a row: right ends of the figures


def _wait_heads(sheet: Paper, card: Card, x: float, y: float, wide: float) -> None:
    """Name the columns of the waits."""
    put(sheet, x, y, "wait before", HEAD)
    put(sheet, x + BEST_AT * wide, y, "best, min:s", HEAD, align="right")
    if any(wait.allow is not None for wait in card.waits):
        put(sheet, x + ALLOW_AT * wide, y, "allow, min:s", HEAD, align="right")
    put(sheet, x + 0.99 * wide, y, "then read", HEAD, align="right")


def _wait(
    sheet: Paper,
    wait: CardWait,
    units: UnitSystem,
    place: tuple[float, float, float, float],
) -> None:
    """Write one wait on its baseline: best, allow, and what to read then."""
    x, y, wide, height = place
    size = 0.70 * height / POINT
    size = min(size, 0.27 * wide / POINT / 3.0)  # five figures must fit their column
    y -= 0.22 * height
    put(sheet, x, y, f"pass {wait.number}", min(size, 11.0), bold=True)
    put(sheet, x + BEST_AT * wide, y, clock(wait.best), size, bold=True, align="right")
    if wait.allow is not None:
        put(
            sheet,
            x + ALLOW_AT * wide,
            y,
            clock(wait.allow),
            size,
            bold=True,
            align="right",
        )
    elif wait.is_given:
        put(sheet, x + (BEST_AT + 0.02) * wide, y, "as given", HEAD)
    _reading(sheet, wait, units, (x + 0.99 * wide, y, height))


def _reading(
    sheet: Paper, wait: CardWait, units: UnitSystem, place: tuple[float, float, float]
) -> None:
    """Write what to read, and under it the range."""
    x, y, height = place
    words, _, span = reading_words(wait, units).partition(" (")
    size = max(min(11.0, 0.4 * height / POINT), 6.0)
    lift = 0.28 * height if span else 0.0
    put(sheet, x, y - lift, words, size, bold=True, align="right")
    if span:
        put(sheet, x, y, span.rstrip(")"), 0.75 * size, align="right")


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
    if words := start_words(card):
        sheet.y += 0.4
        paragraph(sheet, words, SMALL, most=3)


def _cell(sheet: Paper, column: int, y: float, words: str, size: float) -> None:
    x = sheet.margin + COLUMNS[column] * sheet.room
    align = "left" if column == len(COLUMNS) - 1 else "right"
    put(sheet, x, y, words, size, align=align)


def _drawing(sheet: Paper, card: Card, units: UnitSystem, foot: float) -> None:
    """Say where to measure; fill what is left with the joint in section."""
    sheet.y += 1.2
    lines = wrapped(place_words(card, units, marked=True), TEXT, sheet.room, bold=True)
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
    paragraph(sheet, place_words(card, units, marked=marked), TEXT, bold=True)


def _foot_lines(sheet: Paper, card: Card, units: UnitSystem) -> list[tuple[str, float]]:
    """Cautions and what the numbers rest on: lines and sizes of type."""
    lines = []
    for caution in caution_words(card, units):
        first, *more = wrapped(caution, SMALL, sheet.room - 2.5)
        lines += [(f"- {first}", SMALL), *((f"  {line}", SMALL) for line in more)]
    lines += [(line, 5.6) for line in wrapped(model_words(card), 5.6, sheet.room)]
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
