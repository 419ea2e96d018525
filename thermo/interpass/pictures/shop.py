"""A picture of a shop: readings against what was expected, and what its joints have alike.

Numbers are drawn over their best estimate, so air and what is zero are left out.
"""

from collections.abc import Callable
from math import isfinite

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from ..doubt.priors import AIR, EDGE
from ..joint.case import Case
from ..readings.flags import ReadingCheck
from ..readings.shop import ShopFit, ShopNumber
from ..text.kinds import SI, UnitSystem
from .fit import BAND, FLAGGED
from .style import HOT, MEAN, bare, canvas, heading

WIDE, A_ROW, HEADROOM = 8.0, 0.34, 5.0  # inch
BESIDE = 0.18  # of a row: before and after stand so far apart


def shop_figure(case: Case, found: ShopFit, units: UnitSystem = SI) -> Figure:
    """Draw readings less what was expected, before and after, over the numbers of the shop.

    Parameters
    ----------
    case : Case
        For the heading.
    found : ShopFit
        The joints, their readings, and what they have in common.
    units : UnitSystem
        Units of the readings.
    """
    numbers = [n for n in found.numbers if n.share and n.key != AIR and n.before.best]
    with canvas((WIDE, HEADROOM + A_ROW * len(numbers))) as figure:
        heights = {"height_ratios": (3.0, 1.0 + A_ROW * len(numbers))}
        above, below = figure.subplots(2, 1, gridspec_kw=heights)
        _readings(above, found, units)
        _numbers(below, numbers)
        figure.suptitle(heading(case), x=0.01, ha="left", fontsize=11)
    return figure


def _readings(axes: Axes, found: ShopFit, units: UnitSystem) -> None:
    """Draw every reading less what was expected of it, joint after joint."""

    def shown(T: float) -> float:
        return float(units.value("temperature difference", T))

    first = 0
    for n, joint in enumerate(found.joints, start=1):
        checks = found.next.readings[first : first + len(joint.readings)]
        x = first + n
        for k, one in enumerate(checks):
            _reading(axes, x + k, one, shown)
        middle = x + (len(checks) - 1) / 2
        axes.annotate(
            f"joint {n}", (middle, 0), (0, 2), xycoords=("data", "axes fraction"),
            textcoords="offset points", ha="center", va="bottom", fontsize=9,
        )  # fmt: skip
        axes.axvline(x + len(checks), color=BAND, lw=0.8)
        first += len(joint.readings)
    axes.axhline(0.0, color="black", lw=0.8)
    axes.set_xticks([])
    unit = units.unit("temperature difference")
    axes.set_ylabel(f"Read less expected, {unit}")
    _legend(axes)
    bare(axes, "bottom")


def _reading(
    axes: Axes, x: float, one: ReadingCheck, shown: Callable[[float], float]
) -> None:
    """Draw one reading against both expectations, each with its band; crayons by an end."""
    read = one.reading.low if isfinite(one.reading.low) else one.reading.high
    pairs = (
        (one.before, one.before_error, -BESIDE, BAND, "before"),
        (one.after, one.after_error, BESIDE, HOT, "after"),
    )
    for expected, error, side, colour, name in pairs:
        reach = EDGE * float(np.hypot(error, one.reading.error))
        left_out = one.is_flagged
        axes.errorbar(
            [x + side], [shown(read - expected)], yerr=[shown(reach)], fmt="x" if left_out else "o",
            color=FLAGGED if left_out else colour, ms=5, capsize=3, lw=1.4,
            label="left out" if left_out else f"{name} the readings, 9 in 10",
        )  # fmt: skip


def _numbers(axes: Axes, numbers: list[ShopNumber]) -> None:
    """Draw each number over its best estimate before: the shop's part, and every joint."""
    for row, one in enumerate(reversed(numbers)):
        best = one.before.best
        axes.barh(row, (one.before.high - one.before.low) / best, 0.62,
                  one.before.low / best, color=BAND, label="the shop's part before")  # fmt: skip
        axes.barh(row, (one.after.high - one.after.low) / best, 0.26,
                  one.after.low / best, color=HOT, label="after")  # fmt: skip
        joints = [band.best / best for band in one.joints if band is not None]
        axes.plot(joints, [row] * len(joints), ls="none", marker="|", ms=14, mew=1.6,
                  color=MEAN, label="each joint")  # fmt: skip
    axes.axvline(1.0, color="black", lw=0.8)
    axes.set_yticks(range(len(numbers)), [one.words for one in reversed(numbers)])
    axes.set_xlabel("Over the best estimate of the case (bars: 9 in 10)")
    _legend(axes)
    bare(axes, "left")


def _legend(axes: Axes) -> None:
    """Name every look once, above the axes."""
    handles, labels = axes.get_legend_handles_labels()
    unique = dict(zip(labels, handles, strict=True))
    axes.legend(
        unique.values(), unique.keys(), frameon=False, fontsize=9, ncols=3,
        loc="lower left", bbox_to_anchor=(0, 1.0),
    )  # fmt: skip
