"""A picture of what readings taught: the band before and after, the readings on it."""

from math import isfinite
from typing import Any

from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from ..doubt.bands import Bands
from ..heat.history import History
from ..joint.case import Case
from ..readings.reading import Reading, is_at_own_place
from ..report.strike import band_of, strike_at
from ..text.kinds import SI, UnitSystem
from .style import ARC, HOT, MEAN, bare, canvas, gates, heading

SIZE, ONE_PANEL = (8.0, 7.2), (8.0, 4.4)  # inch
BAND = "#9ecae1"  # pale blue; the line in it is dark
FLAGGED = "#7f7f7f"
MORE = 1.12  # of the highest reading or curve
ARROW = 0.07  # length of a crayon's arrow, of the axis


def fit_figure(
    case: Case,
    before: tuple[History, Bands],
    after: tuple[History, Bands] | None,
    readings: tuple[tuple[Reading, bool], ...],
    units: UnitSystem = SI,
) -> Figure:
    """Temperature at the measuring place before and after the fit, all readings on both.

    Parameters
    ----------
    case : Case
        As it was fitted.
    before, after : (History, Bands)
        Best estimate and band of either; no ``after`` where nothing was fitted.
    readings : tuple of (Reading, bool)
        The flag tells that it was left out. Those of other places are hollow, for the
        curve is not theirs.
    units : UnitSystem
        Units of the axes.
    """
    found = [("before the readings", before)]
    found += [("after the readings", after)] if after else []
    with canvas(SIZE if after else ONE_PANEL) as figure:
        panels = figure.subplots(len(found), 1, sharex=True, sharey=True, squeeze=False)
        top = _top([one for _, one in found], readings, units)
        for axes, (name, one) in zip(panels[:, 0], found, strict=True):
            _panel(axes, case, one, units)
            if after:
                axes.set_title(name, loc="left", fontsize=10)
            _readings(axes, (case, one[0]), readings, units, top)
            axes.set_ylim(min(0.0, axes.get_ylim()[0]), top)
        panels[0, 0].set_xlim(0.0, max(float(h.time[-1]) for _, (h, _) in found))
        panels[-1, 0].set_xlabel("Time since the first arc on, s")
        figure.suptitle(heading(case), x=0.01, ha="left", fontsize=11)
        handles, labels = _unique(*panels[:, 0])
        figure.legend(
            handles,
            labels,
            loc="outside lower center",
            ncols=3,
            frameon=False,
            fontsize=9,
        )
    return figure


def _unique(*panels: Axes) -> tuple[list[Artist], list[str]]:
    """Return the handles of both panels, each label once."""
    found: dict[str, Artist] = {}
    for axes in panels:
        for handle, label in zip(*axes.get_legend_handles_labels(), strict=True):
            found.setdefault(label, handle)
    return list(found.values()), list(found)


def _top(
    found: list[tuple[History, Bands]],
    readings: tuple[tuple[Reading, bool], ...],
    units: UnitSystem,
) -> float:
    """Top of the temperature axis: curves and readings that were used."""
    peaks = [float(bands.reading_high.max()) for _, bands in found]
    for reading, is_flagged in readings:
        if not is_flagged:
            peaks += [T for T in (reading.low, reading.high) if isfinite(T)]
    return MORE * float(units.value("temperature", max(peaks)))


def _panel(
    axes: Axes, case: Case, found: tuple[History, Bands], units: UnitSystem
) -> None:
    """Band, best estimate, passes, and the reading to strike each by."""
    history, bands = found

    def shown(T: Any) -> Any:
        return units.value("temperature", T)

    for done in history.passes:
        axes.axvspan(done.arc_on, done.arc_off, color=ARC, linewidth=0)
    axes.fill_between(
        bands.time,
        shown(bands.reading_low),
        shown(bands.reading_high),
        color=BAND,
        linewidth=0,
        label="9 in 10 plausible joints",
    )
    best = shown(history.traces[-1].temperature)
    axes.plot(history.time, best, color=HOT, lw=1.6, label="best estimate")
    marks = [
        (done.arc_on, shown(strike_at(case, done, band_of(bands, done.number))))
        for done in history.passes[1:]
    ]
    words = "highest reading to strike by"
    gates(axes, marks, words, float(history.time[-1]))
    axes.set_ylabel(f"At the measuring place, {units.temperature_unit}")
    bare(axes)


def _readings(
    axes: Axes,
    welded: tuple[Case, History],
    readings: tuple[tuple[Reading, bool], ...],
    units: UnitSystem,
    top: float,
) -> None:
    """Draw the readings: points with their error, crayons as arrows and brackets."""
    case, history = welded
    for reading, is_flagged in readings:
        at = history.passes[reading.after_pass - 1].arc_off + reading.since
        low, high = (
            float(units.value("temperature", T)) for T in (reading.low, reading.high)
        )
        colour = FLAGGED if is_flagged else MEAN
        is_own = is_at_own_place(case, reading, number=False)
        label = "reading" if is_own else "reading at another place"
        label += ", left out" if is_flagged else ""
        if low == high:
            error = units.value("temperature difference", reading.error)
            mark = "x" if is_flagged else "o"
            axes.errorbar(
                [at], [min(low, 0.97 * top)], yerr=[error], fmt=mark, color=colour,
                ms=6, capsize=3, lw=1.2, label=label, zorder=6,
                mfc=colour if is_own else "white",
            )  # fmt: skip
        else:
            _crayon(
                axes, at, (low, high), top, (colour, label.replace("reading", "crayon"))
            )


def _crayon(
    axes: Axes,
    at: float,
    interval: tuple[float, float],
    top: float,
    look: tuple[str, str],
) -> None:
    """Bracket from the crayon that melted to the one that did not; open ends as arrows."""
    low, high = interval
    colour, label = look
    room = ARROW * top
    ends = [T for T in (low, high) if isfinite(T)]
    axes.plot([at] * len(ends), ends, color=colour, lw=1.6, marker="_", ms=12, mew=1.6,
              label=label, zorder=5)  # fmt: skip
    for T, other, way in ((low, high, room), (high, low, -room)):
        if isfinite(T) and not isfinite(other):
            arrow = {"arrowstyle": "->", "color": colour, "lw": 1.6, "shrinkA": 0}
            axes.annotate("", (at, T + way), (at, T), arrowprops=arrow, zorder=5)
