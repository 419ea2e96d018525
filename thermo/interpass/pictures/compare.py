"""Picture of several cases: how the time goes in each, and how hot each gets."""

from collections.abc import Sequence
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from ..charts.compare import Compared
from ..heat.history import History, planned_wait
from ..text.kinds import SI, UnitSystem
from ..text.times import clock
from .sheet import wrapped
from .style import bare, canvas

LINES: tuple[tuple[str, Any], ...] = (  # Okabe and Ito; the dashes tell them apart in grey
    ("#0072b2", "-"), ("#d55e00", (0, (6, 2))), ("#009e73", (0, (1.5, 1.5))),
    ("#000000", (0, (6, 2, 1.5, 2))), ("#cc79a7", (0, (3, 1.2))), ("#7f6a00", (0, (9, 1.5))),
)  # fmt: skip

BURNING, WAITING = "#5a5a5a", "#e2e2e2"
WIDTH, CURVES, ROW = 8.0, 3.8, 0.42  # inch
ROOM = 1.25  # top of the curves over the hottest between the arcs
LETTER = 0.0125  # of the time axis: width of one letter, and a little
TITLE_ROOM = 165.0  # mm; a title in the legend goes on below


def compare_figure(compared: Sequence[Compared], units: UnitSystem = SI) -> Figure:
    """Bars of passes and waits, a row for each case; below, the hottest point."""
    rows = 0.5 + ROW * len(compared)
    with canvas((WIDTH, CURVES + rows)) as figure:
        bars, axes = figure.subplots(
            2, 1, sharex=True, gridspec_kw={"height_ratios": [rows, CURVES]}
        )
        end = 1.04 * max(_end(one.history) for one in compared)
        _bars(bars, compared, end)
        _curves(axes, compared, units, end)
        figure.legend(loc="outside lower left", ncols=1, frameon=False, fontsize=9)
    return figure


def _end(history: History) -> float:
    """Last moment shown [s]: a little after the last arc off."""
    last = history.passes[-1].arc_off if history.passes else 1.0
    return min(1.15 * last, float(history.time[-1])) or 1.0


def _bars(axes: Axes, compared: Sequence[Compared], end: float) -> None:
    """Draw when the arc burns and when the welder waits."""
    for row, one in enumerate(compared):
        for done in one.history.passes:
            begin, until = done.arc_on, done.arc_off
            if done.wait > 0:
                axes.barh(
                    row, done.wait, left=begin - done.wait, height=0.62, color=WAITING
                )
                _label(
                    axes, row, (begin - done.wait, begin), clock(planned_wait(done)), end
                )
            axes.barh(row, until - begin, left=begin, height=0.62, color=BURNING)
            _label(axes, row, (begin, until), str(done.number), end, "white")
    axes.set_ylim(len(compared) - 0.45, -0.75)
    axes.set_yticks(range(len(compared)), [one.letter for one in compared])
    axes.set_title("Passes (dark, with their number) and waits (min:s)", loc="left")
    axes.tick_params(axis="both", length=0)
    bare(axes, "left", "bottom")


def _label(
    axes: Axes,
    row: int,
    span: tuple[float, float],
    words: str,
    end: float,
    colour: str = "black",
) -> None:
    """Write in a bar, where there is room."""
    begin, until = span
    if until - begin > (len(words) + 0.3) * LETTER * end:
        axes.text(
            (begin + until) / 2, row, words, ha="center", va="center", color=colour,
            fontsize=9,
        )  # fmt: skip


def _curves(
    axes: Axes, compared: Sequence[Compared], units: UnitSystem, end: float
) -> None:
    """Draw the hottest point of each case; the pool is beyond the top."""
    hottest_kept = [one for one in compared if not one.case.limits.by_reading]
    limits = {one.case.limits.interpass_max for one in hottest_kept}
    highest = max([*limits, *(_hottest_waiting(one.history) for one in compared)])
    lowest = min(float(one.history.coldest.min()) for one in compared)
    alike = len({one.case.title for one in compared}) < len(compared)
    for one, (colour, dashes) in zip(compared, LINES, strict=False):
        name = f"{one.case.title} ({one.case.file})" if alike else one.case.title
        hottest = units.value("temperature", one.history.hottest)
        label = f"{one.letter}  " + "\n".join(wrapped(name, 9.0, TITLE_ROOM))
        axes.plot(one.history.time, hottest, color=colour, ls=dashes, lw=1.6, label=label)
        if len(limits) > 1 and one in hottest_kept:
            limit = units.value("temperature", one.case.limits.interpass_max)
            axes.axhline(limit, color=colour, lw=1.0, ls=":")
    if len(limits) == 1:
        axes.axhline(
            units.value("temperature", limits.pop()), color="black", lw=1.2, ls=":"
        )
    axes.set_xlim(0.0, end)
    air = units.value("temperature", lowest)
    top = units.value("temperature", lowest + ROOM * (highest - lowest))
    axes.set_ylim(min(0.0, air), top)
    axes.set_xlabel("Time since the first arc on, s")
    axes.set_ylabel(f"Hottest point of the joint, {units.temperature_unit}")
    peak = max(float(one.history.hottest.max()) for one in compared)
    beyond = (
        " (the pool is beyond the top)" if units.value("temperature", peak) > top else ""
    )
    dotted = "; dotted: interpass limit" if limits else ""
    axes.set_title(f"Hottest point{beyond}{dotted}", loc="left")
    bare(axes)


def _hottest_waiting(history: History) -> float:
    """Hottest mean of the joint [K], which the pool does not move much."""
    return float(history.mean.max())
