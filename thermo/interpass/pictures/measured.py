"""A picture of a logger's file: every channel over the curve and the band computed there."""

from math import isfinite

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from ..joint.case import Case
from ..logs.measured import ChannelCheck, Measured
from ..report.measured import channel_place
from ..text.kinds import SI, UnitSystem
from .fit import BAND
from .style import ARC, HOT, MEAN, bare, canvas, heading

WIDE, HIGH = 4.2, 2.1  # inch of a panel
TWO_ROWS = 3  # more channels than this stand in two columns
FEW = 200  # samples from which points are drawn smaller


def measured_figure(case: Case, found: Measured, units: UnitSystem = SI) -> Figure:
    """Measured points on the computed curve and its band, a panel for each channel.

    Parameters
    ----------
    case : Case
        For the heading.
    found : Measured
        The channels.
    units : UnitSystem
        Units of the axes.
    """
    count = len(found.channels)
    wide = 1 if count <= TWO_ROWS else 2
    deep = -(-count // wide)
    with canvas((WIDE * max(wide, 1.7), 1.3 + HIGH * deep)) as figure:
        panels = figure.subplots(deep, wide, sharex=True, squeeze=False).ravel()
        for axes, one in zip(panels, found.channels, strict=False):
            _panel(axes, found, one, units)
        for axes in panels[count:]:
            axes.set_axis_off()
        for axes in panels[max(count - wide, 0) : count]:
            axes.set_xlabel("Time since the first arc on, s")
            axes.tick_params(labelbottom=True)
        figure.suptitle(heading(case), x=0.01, ha="left", fontsize=11)
        handles, labels = panels[0].get_legend_handles_labels()
        figure.legend(
            handles,
            labels,
            loc="outside lower center",
            ncols=4,
            frameon=False,
            fontsize=9,
        )
    return figure


def _panel(axes: Axes, found: Measured, one: ChannelCheck, units: UnitSystem) -> None:
    """Draw one channel."""

    def shown(T):  # type: ignore[no-untyped-def]
        return units.value("temperature", T)

    for done in found.history.passes:
        axes.axvspan(done.arc_on, done.arc_off, color=ARC, linewidth=0, label="_arc")
    time = one.channel.time
    axes.fill_between(
        time, shown(one.low), shown(one.high), color=BAND, linewidth=0,
        label="9 in 10 plausible joints",
    )  # fmt: skip
    axes.plot(time, shown(one.computed), color=HOT, lw=1.4, label="computed")
    axes.plot(
        time, shown(one.channel.temperature), ls="none", marker=".", color=MEAN,
        ms=4 if time.size < FEW else 2, label="measured",
    )  # fmt: skip
    size = units.value("temperature difference", one.rms)
    place = channel_place(one, units)
    words = f"{one.channel.name}: " if one.channel.name not in place else ""
    unit = units.unit("temperature difference")
    far = f"rms {size:.0f} {unit}" if isfinite(size) else "no sample while cooling"
    title = f"{words}{place}; {far}"
    axes.set_title(title, loc="left", fontsize=9)
    axes.set_ylabel(units.temperature_unit)
    axes.set_xlim(0.0, max(float(time[-1]), 1.0) if time.size else 1.0)
    bare(axes)
