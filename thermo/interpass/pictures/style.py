"""One style, one palette, new_figure, heading, spread, picture."""

import io
from collections.abc import Sequence
from typing import Any

from matplotlib import rc_context
from matplotlib.figure import Figure

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


TITLE_ROOM = 145.0  # mm; from the axes to the edge of the narrowest picture


Span = tuple[float, float, str]  # begin, end [s], label


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
    """Return the title of a picture: the case's, cut so that ``more`` has room after it.

    Letters the type does not have are replaced.
    """
    room = TITLE_ROOM - width(more, STYLE["axes.titlesize"])
    line, *_ = wrapped(case.title, STYLE["axes.titlesize"], room, most=1) or [""]
    return line + more


def picture(figure: Figure, kind: str) -> bytes:
    """Bytes of a figure as "svg" or "png"; the same figure gives the same bytes."""
    out = io.BytesIO()
    metadata = METADATA[kind]
    with rc_context(STYLE):
        figure.savefig(out, format=kind, dpi=150, metadata=metadata)
    return out.getvalue()
