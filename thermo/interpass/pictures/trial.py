"""A picture for a trial: the joint in section, and where each thermocouple sits."""

from dataclasses import replace
from math import degrees

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from ..joint.case import Case
from ..joint.places import measuring_place
from ..logs.trial import Trial, TrialPlace
from .section import HALO, draw_section
from .style import HOT, MEAN, canvas

SIZE = (7.2, 2.7)  # inch
STRETCH = 2.2  # so much of pipe and fitting beside the weld
LIFT = 0.45  # of the height of the drawing: from a place to its name
LETTERS = 9  # points


def trial_figure(trial: Trial) -> Figure:
    """Mark the thermocouples on the joint; places at other angles alone are hollow."""
    case = trial.case
    spots: dict[tuple[float, float], list[TrialPlace]] = {}
    for place in trial.places:
        where = measuring_place(replace(case, measure=place.measure))
        spots.setdefault((round(where.z, 6), round(where.r, 6)), []).append(place)
    with canvas(SIZE) as figure:
        axes = figure.subplots()
        draw_section(axes, case, stretch=STRETCH, labels=False)
        low, high = axes.get_ylim()
        tall = high - low
        axes.set_ylim(low - LIFT * tall, high + 0.6 * LIFT * tall)
        left, right = axes.get_xlim()
        name = "pipe" if case.is_bare else case.fitting.kind
        for x, words, side in ((left, "pipe", "left"), (right, name, "right")):
            axes.text(x, high, words, fontsize=LETTERS, ha=side, va="bottom")
        for spot, places in spots.items():
            _mark(axes, case, spot, places, LIFT * tall)
    return figure


def _mark(
    axes: Axes,
    case: Case,
    spot: tuple[float, float],
    places: list[TrialPlace],
    reach: float,
) -> None:
    """Mark one place with the names of all thermocouples there, each with its angle."""
    left, right = axes.get_xlim()
    z, r = min(max(spot[0], left), right), spot[1]
    is_below = places[0].measure.on == "bore"
    is_here = any(one.measure.angle == case.measure.angle for one in places)
    words = "\n".join(f"{one.name}, {degrees(one.measure.angle):.0f}°" for one in places)
    colour = MEAN if is_here else HOT
    axes.annotate(
        words, (z, r), (z, r - 0.8 * reach if is_below else r + reach), fontsize=LETTERS,
        ha="center", va="top" if is_below else "bottom", path_effects=HALO,
        arrowprops={"arrowstyle": "-", "lw": 0.9, "shrinkA": 0, "shrinkB": 3},
    )  # fmt: skip
    axes.plot(
        [z], [r], marker="o", ms=6, color=colour, zorder=8, clip_on=False,
        mfc=colour if is_here else "white",
    )  # fmt: skip
