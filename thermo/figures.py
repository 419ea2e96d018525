"""Pictures of a run: temperature against time, with its passes, waits and limit.

Drawn on matplotlib's object interface, without a window. Colours are told apart by the
colour-blind, and the lines by their dashes in grey. The same run gives the same bytes.
"""

import io
from collections.abc import Sequence

from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from .history import History
from .joint import Case
from .layout import shop_time
from .units import SI, UnitSystem

HOT, MEAN = "#0072b2", "#d55e00"  # blue and vermilion of Okabe and Ito
LIMIT, ARC = "black", "#d9d9d9"
SIZE = (8.0, 4.6)  # inch
ROOM = 0.034  # of the time axis: least distance between two labels of the strip
STYLE = {"font.size": 10, "svg.hashsalt": "interpass", "axes.titlesize": 11}


def temperature_figure(case: Case, history: History, units: UnitSystem = SI) -> Figure:
    """Temperature of the joint against time.

    Hottest point and mean of the joint as lines, passes as grey bands, waits as arrows
    with their seconds in a strip above, the interpass limit as a dotted line.
    """
    with rc_context(STYLE):
        figure = Figure(figsize=SIZE, layout="constrained")
        FigureCanvasAgg(figure)
        strip, axes = figure.subplots(
            2, 1, sharex=True, gridspec_kw={"height_ratios": [1, 5], "hspace": 0.02}
        )
        _lines(axes, case, history, units)
        for done in history.passes:
            for ax in (strip, axes):
                ax.axvspan(done.arc_on, done.arc_off, color=ARC, linewidth=0)
        _strip(strip, history)
        strip.set_title(case.title, loc="left")
    return figure


def _lines(axes: Axes, case: Case, history: History, units: UnitSystem) -> None:
    """Draw the curves and the limit."""
    degrees = [units.value("temperature", T) for T in (history.hottest, history.mean)]
    hottest, mean = degrees
    axes.plot(history.time, hottest, color=HOT, lw=1.6, label="hottest point of the joint")
    axes.plot(
        history.time, mean, color=MEAN, lw=1.6, ls=(0, (5, 2)), label="mean of the joint"
    )
    limit = case.limits.interpass_max
    words = f"interpass limit, {units.temperature(limit)}"
    level = units.value("temperature", limit)
    axes.axhline(level, color=LIMIT, lw=1.2, ls=":", label=words)
    axes.set_xlim(0.0, float(history.time[-1]))
    axes.set_ylim(0.0, 1.08 * float(max(hottest.max(), level)))
    axes.set_xlabel("Time since the first arc on, s")
    axes.set_ylabel(f"Temperature, {units.temperature_unit}")
    axes.legend(loc="upper right", framealpha=0.9)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)


def _strip(strip: Axes, history: History) -> None:
    """Write passes and waits above the curves, each label clear of its neighbours."""
    strip.set_ylim(0.0, 1.0)
    strip.set_axis_off()
    end = float(history.time[-1])
    spans = [(d.arc_on, d.arc_off, f"pass {d.number}") for d in history.passes]
    waits = [
        (d.arc_on - d.wait, d.arc_on, f"{shop_time(d.wait) if d.wait_is_auto else d.wait:.0f} s")
        for d in history.passes
        if d.wait > 0
    ]
    for begin, until, _ in waits:
        strip.annotate(
            "", (begin, 0.12), (until, 0.12), arrowprops={"arrowstyle": "<->", "lw": 0.8}
        )
    labels = sorted(spans + [(a, b, f"wait {words}") for a, b, words in waits])
    upright = any((b - a) / end < 0.0135 * len(words) for a, b, words in labels)
    places = spread([(a + b) / 2 for a, b, _ in labels], ROOM * end if upright else 0.0)
    for x, (_, _, words) in zip(places, labels, strict=True):
        strip.text(
            x, 0.24, words, ha="center", va="bottom", rotation=90 if upright else 0
        )


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


def picture(figure: Figure, kind: str) -> bytes:
    """Bytes of a figure as "svg" or "png"; the same figure gives the same bytes."""
    out = io.BytesIO()
    metadata = {"Date": None} if kind == "svg" else {"Software": None}
    with rc_context(STYLE):
        figure.savefig(out, format=kind, dpi=150, metadata=metadata)
    return out.getvalue()
