"""Picture of where the heat went: stacked over time, from the arc on down."""

from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from ..heat.history import History
from ..heat.split import (
    BORE,
    FAN,
    FAR,
    HOLDING,
    NEAR,
    RADIATION,
    STILL,
    HeatSplit,
    split_heat,
)
from ..joint.case import Case
from ..text.kinds import SI, UnitSystem
from .style import ARC, SIZE, bare, canvas, heading, spread

LOOKS = {  # Okabe and Ito, and tints; hatches tell them apart in grey
    NEAR: ("#d55e00", ""),
    FAR: ("#f7d9c4", "..."),
    RADIATION: ("#f0e442", "\\\\\\\\"),
    STILL: ("#a8d8f5", "///"),
    FAN: ("#0072b2", ""),
    BORE: ("#e0e0e0", "---"),
    HOLDING: ("#009e73", "xx"),
}

STORED = (NEAR, FAR)
LINE = 0.062  # of the height: least distance between two labels
ESTIMATE = "How much was radiated and how much went to the air is an estimate."
HATCHING = "#7a7a7a"


def heat_figure(case: Case, history: History, units: UnitSystem = SI) -> Figure:
    """Where the heat went: still in the piece, and lost, by what took it.

    Radiation, still air and fan are an estimate (see ``heat_split``); their sum, and all
    else, is the ledger's.

    Raises
    ------
    ValueError
        For a history that did not note its heat, or has no finished pass.
    """
    split = split_heat(case, history)
    with canvas(SIZE, {"hatch.linewidth": 0.6}) as figure:
        axes = figure.subplots()
        _stack(axes, split, units)
        axes.plot(split.time, split.given / 1e3, color="black", lw=1.6)
        _name_passes(axes, history)
        axes.set_xlim(0.0, float(split.time[-1]))
        axes.set_ylim(0.0, 1.1 * float(split.given.max()) / 1e3)
        axes.set_xlabel("Time since the first arc on, s", loc="left")
        axes.set_ylabel("Heat, kJ")
        bare(axes)
        figure.supxlabel(ESTIMATE, x=0.01, ha="left", fontsize=8.5)
        axes.set_title(heading(case, ": where the heat went"), loc="left")
    return figure


def _stack(axes: Axes, split: HeatSplit, units: UnitSystem) -> None:
    """Stack the parts, each named beside its end with its share."""
    low, middles, words = 0.0 * split.time, [], []
    whole = float(split.given[-1])
    for name, heat in split.parts.items():
        high = low + heat / 1e3
        colour, hatch = LOOKS[name]
        axes.fill_between(
            split.time, low, high, facecolor=colour, hatch=hatch, edgecolor=HATCHING,
            lw=0.0,
        )  # fmt: skip
        axes.plot(split.time, high, color="black", lw=0.6)
        middles.append(float(low[-1] + high[-1]) / 2)
        words.append(f"{_label(name, split, units)}, {100 * heat[-1] / whole:.0f} %")
        low = high
    room = LINE * 1.1 * whole / 1e3 * (1 + max(w.count("\n") for w in words))
    for y, middle, label in zip(spread(middles, room), middles, words, strict=True):
        style: Any = {
            "arrowstyle": "-",
            "lw": 0.6,
            "shrinkA": 0,
            "shrinkB": 0,
            "relpos": (0.0, 0.5),
        }
        axes.annotate(
            label, (1.0, middle), (1.03, y), xycoords=("axes fraction", "data"),
            textcoords=("axes fraction", "data"), va="center", fontsize=9,
            arrowprops=style, linespacing=1.0,
        )  # fmt: skip


def _label(name: str, split: HeatSplit, units: UnitSystem) -> str:
    """Say what a part is, in two lines at most."""
    near = units.length(split.near, 0 if units.length_unit == "mm" else 1)
    if name == NEAR:
        return f"still in the joint\n({near} either side)"
    if name == FAR:
        return "still in the piece,\nfurther along"
    told = {RADIATION: "radiated", STILL: "to still air", FAN: "more by the fan"}
    return f"{told.get(name, name)}"


def _name_passes(axes: Axes, history: History) -> None:
    """Mark when the arc burns, on top of the picture."""
    above = axes.get_xaxis_transform()
    for done in history.passes:
        axes.axvspan(done.arc_on, done.arc_off, color=ARC, lw=0, zorder=0)
        centre = (done.arc_on + done.arc_off) / 2
        axes.text(centre, 0.99, f"{done.number}", ha="center", va="top", transform=above)
