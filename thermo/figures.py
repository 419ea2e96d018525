"""Pictures of a run: temperature against time, with its passes, waits and limit.

Drawn on matplotlib's object interface, without a window. Colours are told apart by the
colour-blind, and the lines by their dashes in grey. The same run gives the same bytes.
"""

import io
from collections.abc import Sequence
from itertools import pairwise
from typing import Any

from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from .history import Array, History
from .joint import Case
from .report_passes import planned_wait
from .units import SI, UnitSystem

HOT, MEAN = "#0072b2", "#d55e00"  # blue and vermilion of Okabe and Ito
LIMIT, ARC = "black", "#d9d9d9"
SIZE = (8.0, 4.8)  # inch
LETTER = 0.0125  # of the time axis: width of one letter, and a little
PASS_ROW, ARROW_ROW, WAIT_ROW = 0.60, 0.10, 0.18  # heights in the strip
POOL = 1.4  # hotter than this times the mean is the pool, and would flatten the rest
STYLE: Any = {"font.size": 10, "svg.hashsalt": "interpass", "axes.titlesize": 11}

Span = tuple[float, float, str]  # begin, end [s], label


def temperature_figure(case: Case, history: History, units: UnitSystem = SI) -> Figure:
    """Temperature of the joint against time.

    Hottest point and mean of the joint as lines, passes as grey bands, waits as arrows
    with their seconds in a strip above, the interpass limit as a dotted line.
    """
    with rc_context(STYLE):
        figure = Figure(figsize=SIZE, layout="constrained")
        FigureCanvasAgg(figure)
        strip, axes = figure.subplots(
            2, 1, sharex=True, gridspec_kw={"height_ratios": [1, 6], "hspace": 0.02}
        )
        _lines(axes, case, history, units)
        for done in history.passes:
            for ax in (strip, axes):
                ax.axvspan(done.arc_on, done.arc_off, color=ARC, linewidth=0)
        _strip(strip, history)
        strip.set_title(case.title, loc="left")
        figure.legend(loc="outside lower center", ncols=3, frameon=False, fontsize=9)
    return figure


def _lines(axes: Axes, case: Case, history: History, units: UnitSystem) -> None:
    """Draw the curves and the limit."""
    limit = units.value("temperature", case.limits.interpass_max)
    hottest = units.value("temperature", history.hottest)
    mean = units.value("temperature", history.mean)
    top, remark = _top(hottest, mean, limit, units)
    axes.plot(history.time, hottest, color=HOT, lw=1.6, label=f"hottest point{remark}")
    dashes = (0, (5, 2))
    axes.plot(
        history.time, mean, color=MEAN, lw=1.6, ls=dashes, label="mean of the joint"
    )
    words = f"interpass limit {units.temperature(case.limits.interpass_max)}"
    axes.axhline(limit, color=LIMIT, lw=1.2, ls=":", label=words)
    axes.set_xlim(0.0, float(history.time[-1]))
    axes.set_ylim(min(0.0, float(mean.min())), top)
    axes.set_xlabel("Time since the first arc on, s")
    axes.set_ylabel(f"Temperature of the joint, {units.temperature_unit}")
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)


def _top(
    hottest: Array, mean: Array, limit: float, units: UnitSystem
) -> tuple[float, str]:
    """Top of the temperature axis, and a remark where the pool is beyond it."""
    interest, peak = max(float(mean.max()), limit), float(hottest.max())
    if peak <= POOL * interest:
        return 1.08 * peak, " of the joint"
    return POOL * interest, f" (pool, to {peak:.0f} {units.temperature_unit}, cut off)"


def _strip(strip: Axes, history: History) -> None:
    """Write passes and waits in two rows above the curves."""
    strip.set_ylim(0.0, 1.0)
    strip.set_axis_off()
    done = history.passes
    waits = [
        (d.arc_on - d.wait, d.arc_on, f"{planned_wait(d):.0f} s")
        for d in done
        if d.wait > 0
    ]
    for begin, until, _ in waits:
        arrow = {"arrowstyle": "<->", "lw": 0.8, "shrinkA": 0, "shrinkB": 0}
        strip.annotate("", (begin, ARROW_ROW), (until, ARROW_ROW), arrowprops=arrow)
    end = float(history.time[-1])
    _labels(
        strip, PASS_ROW, "pass", [(d.arc_on, d.arc_off, f"{d.number}") for d in done], end
    )
    _labels(strip, WAIT_ROW, "wait", waits, end)


def _labels(strip: Axes, row: float, name: str, spans: list[Span], end: float) -> None:
    """Label spans of time, with their name where there is room, and never overlapping."""
    centres = [(begin + until) / 2 for begin, until, _ in spans]
    if not spans:
        return
    longest = max(len(label) for _, _, label in spans)
    full = (longest + len(name) + 1) * LETTER * end
    is_roomy = all(b - a > full for a, b in pairwise(centres))
    places = spread(centres, (longest + 0.4) * LETTER * end)
    for x, (_, _, label) in zip(places, spans, strict=True):
        words = f"{name} {label}" if is_roomy else label
        strip.text(x, row, words, ha="center", va="bottom")


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
