"""Pictures of a run: temperature against time, with its passes, waits and limit.

Drawn on matplotlib's object interface, without a window. Colours are told apart by the
colour-blind, and the lines by their dashes in grey. The same run gives the same bytes.
"""

import io
from collections.abc import Sequence
from typing import Any

from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from .bands import Bands
from .card_sheet import width, wrapped
from .history import Array, History
from .joint import Case
from .layout import clock, shop_time
from .report_passes import planned_wait
from .units import SI, UnitSystem

HOT, MEAN = "#0072b2", "#d55e00"  # blue and vermilion of Okabe and Ito
LIMIT, ARC = "black", "#d9d9d9"
SIZE = (7.0, 4.6)  # inch
LETTER = 0.0145  # of the time axis: width of one letter, and a little
ROW = 0.24  # inch: height of a row of the strip
IN_MINUTES = 100.0  # s: from here on waits are minutes and seconds
BAND = "#b9d7ea"  # a tint of HOT
POOL = 1.4  # hotter than this times the mean is the pool, and would flatten the rest
STYLE: Any = {
    "font.size": 10,
    "svg.hashsalt": "interpass",
    "axes.titlesize": 11,
    "text.parse_math": False,  # a title may hold a $
}

TITLE_ROOM = 145.0  # mm; from the axes to the edge of the narrowest picture

Span = tuple[float, float, str]  # begin, end [s], label


def temperature_figure(
    case: Case, history: History, units: UnitSystem = SI, bands: Bands | None = None
) -> Figure:
    """Temperature of the joint against time.

    Hottest point and mean of the joint as lines, passes as grey bands, waits as arrows
    with their times in a strip above, the interpass limit as a dotted line.

    Parameters
    ----------
    bands : Bands, optional
        How far the plan may be off: the hottest point of 90 in 100 plausible joints as a
        light band, and the waits to allow in the strip.
    """
    rows = _rows(history, bands)
    strip_height = ROW * (len(rows) + 0.6)
    with rc_context(STYLE):
        figure = Figure(figsize=SIZE, layout="constrained")
        FigureCanvasAgg(figure)
        strip, axes = figure.subplots(
            2,
            1,
            sharex=True,
            gridspec_kw={
                "height_ratios": [strip_height, SIZE[1] - 1.2 - strip_height],
                "hspace": 0.02,
            },
        )
        _lines(axes, case, history, units)
        if bands is not None:
            _band(axes, bands, units)
        for done in history.passes:
            for ax in (strip, axes):
                ax.axvspan(done.arc_on, done.arc_off, color=ARC, linewidth=0, zorder=0)
        _strip(strip, history, rows)
        strip.set_title(heading(case), loc="left")
        figure.legend(loc="outside lower center", ncols=2, frameon=False, fontsize=9)
    return figure


def _band(axes: Axes, bands: Bands, units: UnitSystem) -> None:
    """Fill between the 5 % and the 95 % of the hottest point."""
    low, high = (units.value("temperature", T) for T in (bands.low, bands.high))
    words = "hottest point of 90 in 100 plausible joints"
    axes.fill_between(
        bands.time, low, high, facecolor=BAND, edgecolor=HOT, lw=0.4, alpha=0.8,
        label=words, zorder=1,
    )  # fmt: skip


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


def _rows(history: History, bands: Bands | None) -> list[tuple[str, list[Span]]]:
    """Rows of the strip from the top: passes, waits, and the waits to allow."""
    done = history.passes
    waits = [d for d in done if d.wait > 0]
    rows = [("pass", [(d.arc_on, d.arc_off, f"{d.number}") for d in done])]
    allowed = {}
    if bands is not None:
        allowed = {b.number: b.allow for b in bands.passes if b.allow is not None}
    times = [planned_wait(d) for d in waits] + list(allowed.values())
    in_minutes = max(times, default=0.0) >= IN_MINUTES
    unit, told = ("min:s", clock) if in_minutes else ("s", whole_seconds)
    if waits:
        name = "best" if allowed else "wait"
        row = [(d.arc_on - d.wait, d.arc_on, told(planned_wait(d))) for d in waits]
        rows.append((f"{name}, {unit}", row))
    if allowed:
        row = [
            (d.arc_on - d.wait, d.arc_on, told(shop_time(allowed[d.number])))
            for d in waits
            if d.number in allowed
        ]
        rows.append((f"allow, {unit}", row))
    return rows


def whole_seconds(seconds: float) -> str:
    """Time as a number of seconds."""
    return f"{seconds:.0f}"


def _strip(strip: Axes, history: History, rows: Sequence[tuple[str, list[Span]]]) -> None:
    """Write passes and waits above the curves, with an arrow as long as each wait."""
    strip.set_ylim(-0.6, float(len(rows)))
    strip.set_axis_off()
    for done in history.passes:
        if done.wait > 0:
            arrow = {"arrowstyle": "<->", "lw": 0.8, "shrinkA": 0, "shrinkB": 0}
            ends = (done.arc_on - done.wait, -0.3), (done.arc_on, -0.3)
            strip.annotate("", *ends, arrowprops=arrow)
    end = float(history.time[-1])
    for n, (name, spans) in enumerate(rows):
        row = len(rows) - n - 0.5
        strip.text(-0.01 * end, row, name, ha="right", va="center", fontsize=9)
        _labels(strip, row, spans, end)


def _labels(strip: Axes, row: float, spans: list[Span], end: float) -> None:
    """Label spans of time, none over another."""
    centres = [(begin + until) / 2 for begin, until, _ in spans]
    longest = max((len(label) for _, _, label in spans), default=0)
    places = spread(centres, (longest + 0.4) * LETTER * end)
    for x, (_, _, label) in zip(places, spans, strict=True):
        strip.text(x, row, label, ha="center", va="center")


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
    metadata = {"Date": None} if kind == "svg" else {"Software": None}
    with rc_context(STYLE):
        figure.savefig(out, format=kind, dpi=150, metadata=metadata)
    return out.getvalue()
