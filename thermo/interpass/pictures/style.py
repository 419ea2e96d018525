"""What all pictures share: style, palette, canvas, heading, marks of a limit, bytes."""

import io
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.markers import CARETDOWN

from ..joint.case import Case
from ..text.files import MADE_BY
from .sheet import width, wrapped

HOT, MEAN = "#0072b2", "#d55e00"  # blue and vermilion of Okabe and Ito
LIMIT, ARC = "black", "#d9d9d9"
SIZE = (7.0, 4.6)  # inch
IN_MINUTES = 100.0  # s: from here on waits are minutes and seconds

STYLE: Any = {
    "font.size": 10,
    "svg.hashsalt": "interpass",
    "axes.titlesize": 11,
    "text.parse_math": False,  # a title may hold a $
}

METADATA: dict[
    str, dict[str, str | None]
] = {  # no date: the same picture, the same bytes
    "pdf": {"CreationDate": None, "Producer": None, "Creator": MADE_BY},
    "svg": {"Date": None, "Creator": MADE_BY},
    "png": {"Software": MADE_BY},
}

TITLE_LINES = 3
TITLE_ROOM = 145.0  # mm; from the axes to the edge of the narrowest picture
Span = tuple[float, float, str]  # begin, end [s], label


@contextmanager
def canvas(
    size: tuple[float, float], more: dict[str, Any] | None = None
) -> Iterator[Figure]:
    """Give an empty figure of a size [inch] to draw on, in the style of all pictures."""
    with rc_context(STYLE | (more or {})):
        figure = Figure(figsize=size, layout="constrained")
        FigureCanvasAgg(figure)
        yield figure


def bare(axes: Axes, *more: str) -> None:
    """Take away the frame above and on the right, and the sides named."""
    axes.spines[["top", "right", *more]].set_visible(False)


GATE = 0.025  # of the time axis: length of the mark of a limit


def gates(
    axes: Axes, places: Iterable[tuple[float, float]], words: str, end: float
) -> None:
    """Mark what must be reached at each arc on: a short bar, and a tip that points down.

    A limit holds for one curve at one moment, so no line goes across the picture.
    ``places`` are times and temperatures as shown, ``end`` is that of the time axis.
    """
    times, shown = zip(*places, strict=True) if (places := list(places)) else ((), ())
    axes.hlines(
        shown, [t - GATE * end for t in times], times, color=LIMIT, lw=2.4, zorder=4,
    )  # fmt: skip
    axes.plot(
        times, shown, marker=CARETDOWN, color=LIMIT, ms=7, ls="none", zorder=5,
        label=words, clip_on=False,
    )  # fmt: skip


def whole_seconds(seconds: float) -> str:
    """Time as a number of seconds."""
    return f"{seconds:.0f}"


def spread(places: Sequence[float], room: float) -> list[float]:
    """Move sorted places apart to at least ``room``, each as little as it takes.

    Examples
    --------
    >>> spread([0.0, 10.0, 11.0], 3.0)
    [0.0, 9.0, 12.0]
    """
    groups: list[tuple[float, int]] = []  # centre and number of members
    for place in places:
        centre, members = place, 1
        while groups and centre - (members + groups[-1][1]) / 2 * room < groups[-1][0]:
            before, more = groups.pop()
            centre = (before * more + centre * members) / (more + members)
            members += more
        groups.append((centre, members))
    return [
        centre + (n - (members - 1) / 2) * room
        for centre, members in groups
        for n in range(members)
    ]


def heading(case: Case, more: str = "") -> str:
    """Return the title of a picture: the case's, in lines, and ``more`` after it.

    Letters the type does not have are replaced; what would take more than
    TITLE_LINES is cut.
    """
    size = STYLE["axes.titlesize"]
    lines = wrapped(case.title, size, TITLE_ROOM, most=TITLE_LINES) or [""]
    if width(lines[-1] + more, size) <= TITLE_ROOM:
        lines[-1] += more
    else:
        lines.append(more.removeprefix(": "))
    return "\n".join(lines)


def picture(figure: Figure, kind: str) -> bytes:
    """Bytes of a figure as "svg" or "png"; the same figure gives the same bytes."""
    out = io.BytesIO()
    metadata = METADATA[kind]
    with rc_context(STYLE):
        figure.savefig(out, format=kind, dpi=150, metadata=metadata)
    return out.getvalue()
