"""Picture of the waits against the interpass limit: what if the limit were another."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, MultipleLocator

from ..heat.history import History
from ..joint.case import Case
from ..remedies.trials import LimitWaits, waits_over_limits
from ..text.kinds import SI, UnitSystem
from ..text.times import clock
from .style import IN_MINUTES, LIMIT, SIZE, bare, canvas, heading, spread

LINES = (  # Okabe and Ito; dashes and marks tell them apart in grey
    ("#0072b2", "solid", "o"),
    ("#d55e00", (0, (5, 2)), "s"),
    ("#009e73", (0, (1, 1)), "^"),
    ("#cc79a7", (0, (6, 2, 1, 2)), "D"),
    ("#56b4e9", (0, (3, 1)), "v"),
    ("black", (0, (8, 3)), "x"),
)

MARK_EVERY = 2

TICKS = (
    10,
    15,
    20,
    30,
    60,
    120,
    300,
    600,
    900,
    1800,
    3600,
    7200,
    14400,
    28800,
)  # s between two

MOST_TICKS = 9
ROOM = 0.06  # of the height: least distance between two labels


def limit_figure(case: Case, history: History, units: UnitSystem = SI) -> Figure:
    """Wait before each pass against the interpass limit, the present one marked.

    Raises
    ------
    ValueError
        For a run with a single pass, or one that did not get to its end.
    """
    found = waits_over_limits(case, history)
    with canvas(SIZE) as figure:
        axes = figure.subplots()
        _draw_lines(axes, found, units)
        _mark_limit(axes, case, units)
        _set_ticks(axes, float(np.nanmax(found.wait, initial=0.0)))
        axes.set_xlabel(f"Interpass limit, {units.temperature_unit}", loc="left")
        bare(axes)
        axes.grid(visible=True, color="#e0e0e0", lw=0.6)
        axes.set_title(heading(case, ": if the limit were another"), loc="left")
        figure.supxlabel(_remark(history), x=0.01, ha="left", fontsize=8.5)
    return figure


def _draw_lines(axes: Axes, found: LimitWaits, units: UnitSystem) -> None:
    """Draw a line for each wait, named at its low end, where waits are longest."""
    shown = units.value("temperature", found.limit)
    axes.set_xlim(float(shown[0]), float(shown[-1]))
    ends, words = [], []
    for n, wait in enumerate(found.wait.T):
        colour, dashes, mark = LINES[n % len(LINES)]
        axes.plot(
            shown, wait, color=colour, ls=dashes, lw=1.8, marker=mark, ms=4.5,
            markevery=MARK_EVERY, label=f"before pass {n + 2}",
        )  # fmt: skip
        ends.append(wait[-1])
        words.append(f"before\npass {n + 2}")
    top = 1.08 * float(np.nanmax(found.wait, initial=1.0))
    axes.set_ylim(0.0, top)
    order = np.argsort(np.nan_to_num(ends))
    places = spread([float(np.nan_to_num(ends)[n]) for n in order], 2 * ROOM * top)
    for place, n in zip(places, order, strict=True):
        axes.annotate(
            words[n], (1.0, float(np.nan_to_num(ends)[n])), (1.03, place),
            xycoords=("axes fraction", "data"), textcoords=("axes fraction", "data"),
            va="center", fontsize=9, linespacing=1.0, annotation_clip=False,
            arrowprops={"arrowstyle": "-", "lw": 0.6, "shrinkA": 0, "shrinkB": 0, "relpos": (0.0, 0.5)},
        )  # fmt: skip


def _mark_limit(axes: Axes, case: Case, units: UnitSystem) -> None:
    """Draw the present limit."""
    own = case.limits.interpass_max
    x = units.value("temperature", own)
    axes.axvline(x, color=LIMIT, lw=1.2, ls=":")
    left, right = axes.get_xlim()
    on_left = x > (left + right) / 2
    axes.annotate(
        f"present limit {units.temperature(own)}", (x, 0.99),
        xytext=(-4 if on_left else 4, 0), xycoords=axes.get_xaxis_transform(),
        textcoords="offset points", ha="right" if on_left else "left", va="top",
        fontsize=9, bbox={"fc": "white", "ec": "none", "pad": 1.0},
    )  # fmt: skip


def _set_ticks(axes: Axes, longest: float) -> None:
    """Count the waits in seconds, or in minutes and seconds."""
    step = next((s for s in TICKS if longest / s <= MOST_TICKS), TICKS[-1])
    axes.yaxis.set_major_locator(MultipleLocator(step))
    if longest >= IN_MINUTES:
        axes.yaxis.set_major_formatter(FuncFormatter(lambda y, _: clock(y)))
        axes.set_ylabel("Wait, min:s")
    else:
        axes.set_ylabel("Wait, s")


def _remark(history: History) -> str:
    """Say how the waits were found."""
    to = "the ring" if history.model == "ring" else "the run of this case"
    return f"Every wait planned anew, by a quick model corrected to {to}; to about 5 %."
