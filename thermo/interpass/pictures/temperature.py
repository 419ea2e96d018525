"""Pictures of a run: temperature against time, with its passes, waits and limit.

Drawn on matplotlib's object interface, without a window. Colours are told apart by the
colour-blind, and the lines by their dashes in grey. The same run gives the same bytes.
"""

from collections.abc import Sequence

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from ..doubt.bands import Bands
from ..heat.history import History, planned_wait
from ..joint.case import Case
from ..report.strike import limit_text
from ..text.arrays import Array
from ..text.kinds import SI, UnitSystem
from ..text.times import clock, shop_time
from .style import (
    ARC,
    HOT,
    IN_MINUTES,
    MEAN,
    SIZE,
    Span,
    bare,
    canvas,
    gates,
    heading,
    spread,
    whole_seconds,
)

LETTER = 0.0145  # of the time axis: width of one letter, and a little
ROW = 0.24  # inch: height of a row of the strip
BAND = "#b9d7ea"  # a tint of HOT
POOL = 1.4  # hotter than this times the mean is the pool, and would flatten the rest


def temperature_figure(
    case: Case, history: History, units: UnitSystem = SI, bands: Bands | None = None
) -> Figure:
    """Temperature of the joint against time.

    Hottest point and mean of the joint as lines, passes as grey bands, waits as arrows
    with their times in a strip above, the interpass limit as a mark at each arc on. A
    limit that is for the reading has the curve of the reading instead of the mean.

    Parameters
    ----------
    bands : Bands, optional
        How far the plan may be off: the hottest point of 9 in 10 plausible joints as a
        light band, and the safe waits in the strip.
    """
    rows = _rows(history, bands)
    strip_height = ROW * (len(rows) + 0.6)
    with canvas(SIZE) as figure:
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
    words = "hottest point of 9 in 10 plausible joints"
    axes.fill_between(
        bands.time, low, high, facecolor=BAND, edgecolor=HOT, lw=0.4, alpha=0.8,
        label=words, zorder=1,
    )  # fmt: skip


def _lines(axes: Axes, case: Case, history: History, units: UnitSystem) -> None:
    """Draw the curves and the limit."""
    limit, by_reading = case.limits.interpass_max, case.limits.by_reading
    shown = units.value("temperature", limit)
    hottest = units.value("temperature", history.hottest)
    second = history.traces[-1].temperature if by_reading else history.mean
    mean = units.value("temperature", second)
    top, remark = _top(hottest, mean, shown, units)
    axes.plot(history.time, hottest, color=HOT, lw=1.6, label=f"hottest point{remark}")
    dashes = (0, (5, 2))
    name = "at the measuring place" if by_reading else "mean of the joint"
    axes.plot(history.time, mean, color=MEAN, lw=1.6, ls=dashes, label=name)
    end = float(history.time[-1])
    of = "reading" if by_reading else "hottest"
    words = f"interpass limit {limit_text(case, units)}, for the {of}"
    gates(axes, [(done.arc_on, shown) for done in history.passes[1:]], words, end)
    axes.set_xlim(0.0, end)
    axes.set_ylim(min(0.0, float(mean.min())), top)
    axes.set_xlabel("Time since the first arc on, s")
    axes.set_ylabel(f"Temperature of the joint, {units.temperature_unit}")
    bare(axes)


def _top(
    hottest: Array, mean: Array, limit: float, units: UnitSystem
) -> tuple[float, str]:
    """Top of the temperature axis, and a remark where the pool is beyond it."""
    interest, peak = max(float(mean.max()), limit), float(hottest.max())
    if peak <= POOL * interest:
        return 1.08 * peak, " of the joint"
    return POOL * interest, f" (pool, to {peak:.0f} {units.temperature_unit}, cut off)"


def _rows(history: History, bands: Bands | None) -> list[tuple[str, list[Span]]]:
    """Rows of the strip from the top: passes, safe waits, and typical ones."""
    done = history.passes
    waits = [d for d in done if d.wait > 0]
    rows = [("pass", [(d.arc_on, d.arc_off, f"{d.number}") for d in done])]
    allowed = {}
    if bands is not None:
        allowed = {b.number: b.allow for b in bands.passes if b.allow is not None}
    times = [planned_wait(d) for d in waits] + list(allowed.values())
    in_minutes = max(times, default=0.0) >= IN_MINUTES
    unit, told = ("min:s", clock) if in_minutes else ("s", whole_seconds)
    if allowed:
        row = [
            (d.arc_on - d.wait, d.arc_on, told(shop_time(allowed[d.number])))
            for d in waits
            if d.number in allowed
        ]
        rows.append((f"safe wait, {unit}", row))
    if waits:
        name = "typical" if allowed else "wait"
        row = [(d.arc_on - d.wait, d.arc_on, told(planned_wait(d))) for d in waits]
        rows.append((f"{name}, {unit}", row))
    return rows


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
