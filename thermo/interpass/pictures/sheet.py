"""A sheet of paper to write on: places in mm from the top left, text that is measured.

Text is set as it stands (no mathematics in it), and wrapped by its real width.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache

from matplotlib import get_data_path
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties, findfont, get_font
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle
from matplotlib.textpath import TextToPath

INCH = 25.4  # mm
POINT = INCH / 72  # mm
LEADING = 1.28  # line to line over the size of the type
PAPERS = {"a5": (148.0, 210.0), "half-letter": (139.7, 215.9)}  # mm; ISO 216, ANSI
MISSING = "?"  # for letters the type does not have


@dataclass
class Paper:
    """A page and how far down it is filled [mm]."""

    figure: Figure
    width: float
    height: float
    margin: float
    y: float

    @property
    def room(self) -> float:
        """Width between the margins."""
        return self.width - 2 * self.margin


def new_sheet(paper: str, margin: float = 8.0) -> Paper:
    """Return an empty page of a paper named in PAPERS."""
    width, height = PAPERS[paper]
    figure = Figure(figsize=(width / INCH, height / INCH))
    FigureCanvasAgg(figure)
    return Paper(figure, width, height, margin, margin)


def put(
    sheet: Paper,
    x: float,
    y: float,
    words: str,
    size: float,
    *,
    bold: bool = False,
    align: str = "left",
    colour: str = "black",
) -> None:
    """Write one line with its baseline at (x, y) mm; ``size`` in points."""
    if not words:
        return
    sheet.figure.text(
        x / sheet.width,
        1 - y / sheet.height,
        printable(words),
        fontsize=size,
        weight="bold" if bold else "normal",
        ha=align,
        va="baseline",
        color=colour,
        parse_math=False,
    )


def set_paragraph(
    sheet: Paper, words: str, size: float, *, bold: bool = False, most: int = 99
) -> None:
    """Write wrapped lines under what is there; beyond ``most`` lines it is cut."""
    for line in wrapped(words, size, sheet.room, bold=bold, most=most):
        sheet.y += LEADING * size * POINT
        put(sheet, sheet.margin, sheet.y, line, size, bold=bold)


def rule(sheet: Paper, thick: float = 0.6, colour: str = "black") -> None:
    """Draw a line across the page where it is filled to; ``thick`` in points."""
    y = 1 - sheet.y / sheet.height
    x = sheet.margin / sheet.width
    line = Line2D([x, 1 - x], [y, y], lw=thick, color=colour, transform=None)
    line.set_transform(sheet.figure.transSubfigure)
    sheet.figure.add_artist(line)


def stroke(sheet: Paper, span: tuple[float, float], y: float) -> None:
    """Draw a thin line to write on, from x to x [mm]."""
    line = Line2D(
        [x / sheet.width for x in span], [1 - y / sheet.height] * 2,
        lw=0.6, color="black", transform=None,
    )  # fmt: skip
    line.set_transform(sheet.figure.transSubfigure)
    sheet.figure.add_artist(line)


def box(sheet: Paper, top: float, height: float, colour: str) -> None:
    """Fill the page between the margins from ``top`` down."""
    sheet.figure.add_artist(
        Rectangle(
            (sheet.margin / sheet.width, 1 - (top + height) / sheet.height),
            sheet.room / sheet.width,
            height / sheet.height,
            color=colour,
            lw=0,
            zorder=0.5,
            transform=sheet.figure.transSubfigure,
        )
    )


def wrapped(
    words: str, size: float, room: float, *, bold: bool = False, most: int = 99
) -> list[str]:
    """Lines no wider than ``room`` mm; a word that is too long is broken."""
    lines, line = [], ""
    for word in printable(words).split():
        longer = f"{line} {word}".strip()
        if width(longer, size, bold=bold) <= room:
            line = longer
            continue
        if line:
            lines.append(line)
        *full, line = broken(word, size, room, bold=bold)
        lines += full
    lines += [line] if line else []
    if len(lines) > most:
        lines = lines[:most]
        lines[-1] = cut(f"{lines[-1]} ...", size, room, bold=bold)
    return lines


def broken(word: str, size: float, room: float, *, bold: bool) -> list[str]:
    """Pieces of one word, each no wider than ``room``."""
    pieces = [""]
    for letter in word:
        if pieces[-1] and width(pieces[-1] + letter, size, bold=bold) > room:
            pieces.append("")
        pieces[-1] += letter
    return pieces


def cut(line: str, size: float, room: float, *, bold: bool) -> str:
    """Take letters off before the dots at the end until the line fits."""
    while len(line) > 4 and width(line, size, bold=bold) > room:
        line = line[:-5].rstrip() + " ..."
    return line


def width(words: str, size: float, *, bold: bool = False) -> float:
    """Width of a line as printed [mm]."""
    return _points(printable(words), bold=bold) * size / _SIZE * POINT


def fitting_size(words: Sequence[str], room: float, most: float) -> float:
    """Return the largest type in which bold words are no wider than ``room`` mm [points].

    Examples
    --------
    >>> fitting_size(["5:05"], 100.0, 20.0), fitting_size(["10:05"], 10.0, 20.0) < 10
    (20.0, True)
    """
    widest = max((width(text, 1.0, bold=True) for text in words), default=0.0)
    return min(most, room / widest) if widest else most


_SIZE = 10.0  # points, at which widths are measured


@lru_cache(maxsize=4096)
def _points(words: str, *, bold: bool) -> float:
    """Width of a line at _SIZE [points]."""
    across, _, _ = TextToPath().get_text_width_height_descent(
        words, _type(bold=bold), ismath=False
    )
    return float(across)


@cache
def _type(*, bold: bool) -> FontProperties:
    """Return the type that comes with the drawing library, the same on every machine."""
    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    return FontProperties(fname=f"{get_data_path()}/fonts/ttf/{name}", size=_SIZE)


@cache
def _letters() -> frozenset[int]:
    """Letters both the plain and the bold type have."""
    plain, heavy = (
        set(get_font(findfont(_type(bold=b))).get_charmap()) for b in (False, True)
    )
    return frozenset(plain & heavy)


def printable(words: str) -> str:
    r"""Replace what the type cannot print.

    Examples
    --------
    >>> printable("a\tb")
    'a b'
    """
    known = _letters()
    words = "".join(" " if letter.isspace() else letter for letter in words)
    return "".join(
        letter if ord(letter) in known and letter.isprintable() else MISSING
        for letter in words
    )
