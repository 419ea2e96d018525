"""Pictures of the lesson, one set per comparison, in type large enough for a wall.

Every joint has a strip of its own on one scale of time and temperature; dots are the
moments the lesson is about, and carry their number. Colours are told apart by the
colour-blind; place and writing say the same in grey. The same run gives the same bytes.
"""

from collections.abc import Callable
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, MultipleLocator

from ..joint.case import Case
from ..pictures.limit import MOST_TICKS, TICKS
from ..pictures.style import ARC, HOT, MEAN, bare, canvas, gates, picture, whole_seconds
from ..text.kinds import SI, UnitSystem
from ..text.times import clock, spelled
from .joints import Contrast
from .numbers import Result, Shown

LETTERS = {"font.size": 12, "axes.titlesize": 13, "hatch.linewidth": 0.6}
WIDTH, STRIP, REST = 9.0, 1.55, 1.1  # inch
MARGIN = 1.25  # of the highest number, shown above it
PLATE = "plate"

SHADES = {
    "stored": ("#0072b2", ""),
    "pipe": ("#e69f00", ""),
    "fitting": ("#f0e442", ""),
    "fillet": ("#d55e00", ""),
    "faces": ("#999999", "//"),
    "bore": ("#56b4e9", "\\\\"),
}  # Okabe and Ito; hatches keep the small ones apart in grey

WORDS = {
    "stored": "still in the piece",
    "pipe": "pipe, outside",
    "fitting": "fitting, outside",
    "fillet": "weld",
    "faces": "end faces",
    "bore": "bore",
}


def history_figure(compared: Shown, units: UnitSystem = SI) -> Figure:
    """Temperature of every joint against time, one above the other."""
    rows = len(compared.results) + bool(compared.plate)
    top = _top(compared, units)
    with canvas((WIDTH, STRIP * rows + REST), LETTERS) as figure:
        strips = figure.subplots(rows, 1, sharex=True, squeeze=False)[:, 0]
        end = _end(compared)
        for axes, result in zip(strips, compared.results, strict=False):
            _draw_joint(axes, result, top, units, end)
        if compared.plate:
            _draw_plate(strips[-1], compared, top, units)
        limit = compared.results[0].case.limits.interpass_max
        for axes in strips:
            bare(axes)
        strips[0].set_xlim(0.0, end)
        strips[-1].set_xlabel("Time since the first arc on, s")
        figure.supylabel(f"Temperature, {units.temperature_unit}", fontsize=12)
        _explain(figure, strips[0], units.temperature(limit))
    return figure


def _top(compared: Shown, units: UnitSystem) -> float:
    """Top of the scale: the means are all on it, the pool is not."""
    means = [float(r.history.mean.max()) for r in compared.results]
    dots = [p.at_arc_on.hottest for r in compared.results for p in r.history.passes]
    air = units.value("temperature", compared.results[0].case.surroundings.air)
    highest = units.value("temperature", max(*means, *dots))
    return air + MARGIN * (highest - air)


def _end(compared: Shown) -> float:
    """Last moment shown: soon after the last arc of the slowest joint is off [s]."""
    last = [r.history.passes[-1].arc_off for r in compared.results]
    if compared.plate:
        last.append(compared.plate.arrivals[-1] + compared.plate.plate.arc_time)
    return 1.08 * max(last)


def _draw_joint(
    axes: Axes, result: Result, top: float, units: UnitSystem, end: float
) -> None:
    """Draw the mean of the joint, arcs as bands, and the hottest point at arc on."""
    history = result.history
    for done in history.passes:
        axes.axvspan(done.arc_on, done.arc_off, color=ARC, linewidth=0)
    mean = units.value("temperature", history.mean)
    axes.plot(history.time, mean, color=MEAN, lw=2.2)
    dots = [(d.arc_on, d.at_arc_on.hottest) for d in history.passes]
    _draw_dots(axes, dots, top, units)
    _draw_limit(axes, dots, result.case, units, end)
    _name(axes, result.label)


def _draw_limit(
    axes: Axes, dots: list[tuple[float, float]], case: Case, units: UnitSystem, end: float
) -> None:
    """Mark the limit where it holds: for the hottest point, as an arc is struck."""
    limit = units.value("temperature", case.limits.interpass_max)
    gates(axes, [(t, limit) for t, _ in dots[1:]], "", end)


def _draw_plate(axes: Axes, compared: Shown, top: float, units: UnitSystem) -> None:
    """Draw one point of the seam, which has no mean."""
    run = compared.plate
    if run is None:
        return
    for arrival in run.arrivals:
        axes.axvspan(arrival, arrival + run.plate.arc_time, color=ARC, linewidth=0)
    T = units.value("temperature", run.temperature)
    axes.plot(run.time, T, color=MEAN, lw=2.2, ls=(0, (4, 1.5)))
    dots = list(zip(run.arrivals, run.at_arc_on, strict=True))
    _draw_dots(axes, dots, top, units)
    _draw_limit(axes, dots, compared.results[0].case, units, _end(compared))
    thick = units.length(run.plate.thickness, 1 if units is SI else 3)
    _name(axes, f"{PLATE} {thick} (dashes: one point of its seam)")


def _draw_dots(
    axes: Axes, dots: list[tuple[float, float]], top: float, units: UnitSystem
) -> None:
    """Mark the joint at each arc on, with its temperature."""
    axes.set_ylim(0.0, top)
    for n, (t, T) in enumerate(dots):
        y = units.value("temperature", T)
        axes.plot([t], [y], "o", color=HOT, ms=8, mec="white", zorder=4, clip_on=False)
        if n:  # at the top of the band that begins here, where no curve comes
            axes.annotate(
                f"{y:.0f}", (t, top), (9, -4), textcoords="offset points", va="top",
                weight="bold", color=HOT,
            )  # fmt: skip


def _name(axes: Axes, name: str) -> None:
    """Name the strip above it."""
    axes.set_title(name, loc="left", weight="bold", pad=3)


def _explain(figure: Figure, axes: Axes, limit: str) -> None:
    """Say once what lines, dots and bands are."""
    handles = [
        *axes.plot([], [], color=MEAN, lw=2.2, label="mean of the joint"),
        *axes.plot(
            [], [], "o", color=HOT, ms=8, label="hottest point as the arc is struck"
        ),
        axes.fill_between([], [], color=ARC, label="arc on"),
        *axes.plot([], [], "v", color="black", ms=8, label=f"limit {limit}, for the dot"),
    ]
    figure.legend(
        handles=handles, loc="outside upper left", ncols=4, frameon=False, fontsize=11,
        columnspacing=1.2, handletextpad=0.5,
    )  # fmt: skip


def outcome_figure(compared: Shown, units: UnitSystem = SI) -> Figure:
    """Bars of what the comparison is about: temperatures at arc on, or waits."""
    rows = _outcomes(compared, units)
    passes = len(rows[0][1])
    by_limit = compared.comparison.is_by_limit
    with canvas(
        (WIDTH, 0.32 * passes * len(rows) + 0.25 * len(rows) + 1.0), LETTERS
    ) as figure:
        axes = figure.subplots()
        for n, (_, values) in enumerate(rows):
            _draw_bars(axes, n, values, clock if by_limit else whole_seconds)
        axes.set_yticks(range(len(rows)), [name for name, _ in rows])
        axes.invert_yaxis()
        if by_limit:
            axes.set_xlabel("Wait until the joint is down to the limit, min:s")
            step = next(s for s in TICKS if _reach(rows) / s <= MOST_TICKS)
            axes.xaxis.set_major_locator(MultipleLocator(step))
            axes.xaxis.set_major_formatter(FuncFormatter(lambda x, _: clock(x)))
        else:
            words = f"Hottest point as the arc is struck, {units.temperature_unit}"
            axes.set_xlabel(words)
            limit = compared.results[0].case.limits.interpass_max
            words = f"limit {units.temperature(limit)}"
            x = units.value("temperature", limit)
            axes.axvline(x, color="black", ls=":", lw=1.5, zorder=2)
            axes.set_title(words, x=x / _reach(rows), ha="center", fontsize=12)
        axes.set_xlim(0.0, _reach(rows))
        axes.tick_params(axis="y", length=0)
        bare(axes)
    return figure


def _reach(rows: list[tuple[str, list[float]]]) -> float:
    """End of the scale of the bars: room for what is written beside them."""
    return 1.25 * max(1.0, *(value for _, values in rows for value in values))


def _outcomes(compared: Shown, units: UnitSystem) -> list[tuple[str, list[float]]]:
    """Names, and a number for each pass but the first."""
    rows = []
    for result in compared.results:
        later = result.history.passes[1:]
        T = [units.value("temperature", d.at_arc_on.hottest) for d in later]
        waits = [d.wait for d in later]
        rows.append((result.label, waits if compared.comparison.is_by_limit else T))
    if compared.plate:
        run = compared.plate
        T = [units.value("temperature", x) for x in run.at_arc_on[1:]]
        by_limit = compared.comparison.is_by_limit
        rows.append((PLATE, list(run.waits[1:]) if by_limit else T))
    return rows


def _draw_bars(
    axes: Axes, place: int, values: list[float], told: Callable[[float], str]
) -> None:
    """Draw one bar a pass, each with its number and its pass."""
    height = 0.8 / len(values)
    for n, value in enumerate(values):
        y = place + (n - (len(values) - 1) / 2) * height
        shade = 0.45 + 0.55 * n / max(1, len(values) - 1)
        colour = [
            1 - shade * (1 - part) for part in to_rgb(HOT)
        ]  # paler, not see-through
        axes.barh(y, value, 0.9 * height, color=colour)
        axes.annotate(
            f"{told(value)}  before pass {n + 2}", (value, y), (5, 0), fontsize=11,
            textcoords="offset points", va="center",
            bbox={"boxstyle": "square,pad=0.25", "fc": "white", "ec": "none"}, zorder=3,
        )  # fmt: skip


def balance_figure(compared: Shown, units: UnitSystem = SI) -> Figure:
    """Left, what one pass would warm the piece by; right, where all heat went."""
    rows = len(compared.results)
    with canvas((WIDTH, 0.62 * rows + 2.1), LETTERS) as figure:
        left, right = figure.subplots(1, 2, gridspec_kw={"width_ratios": [1, 1.25]})
        _draw_rises(left, compared, units)
        _draw_ledgers(right, compared.results)
        for axes in (left, right):
            axes.set_yticks(range(rows), [r.label for r in compared.results])
            axes.set_ylim(rows - 0.4, -0.6)
            axes.tick_params(axis="y", length=0)
            bare(axes)
        right.set_yticklabels([])
        handles, names = right.get_legend_handles_labels()
        figure.legend(
            handles, names, loc="outside lower right", ncols=3, frameon=False, fontsize=11,
            columnspacing=1.2,
        )  # fmt: skip
    return figure


def _draw_rises(axes: Axes, compared: Shown, units: UnitSystem) -> None:
    """Draw heat of pass 1 over heat capacity."""
    rises = [units.value("temperature difference", r.rise) for r in compared.results]
    axes.barh(range(len(rises)), rises, 0.6, color=HOT)
    for n, (rise, result) in enumerate(zip(rises, compared.results, strict=True)):
        axes.annotate(
            f"{rise:.0f}: {result.energy / 1e3:.0f} kJ in "
            f"{units.text('mass', result.mass, 2)}",
            (rise, n), (5, 0), textcoords="offset points", va="center", fontsize=11,
        )  # fmt: skip
    axes.set_xlim(0.0, 2.15 * max(rises))
    axes.set_title("Warmed by pass 1, by hand", loc="left")
    axes.set_xlabel(f"{units.temperature_unit}, if it spread evenly")


def _draw_ledgers(axes: Axes, results: tuple[Result, ...]) -> None:
    """Stack where the heat of each joint was at the end of its run, as shares."""
    start = np.zeros(len(results))
    for name, (colour, hatch) in SHADES.items():
        shares = np.array([_share(result, name) for result in results])
        if not shares.max() > 0.001:
            continue
        style: Any = {"color": colour, "hatch": hatch, "ec": "white", "lw": 0.8}
        label = WORDS[name]
        axes.barh(range(len(results)), shares, 0.6, left=start, label=label, **style)
        start += shares
    axes.set_xlim(0.0, 100.0)
    after = results[0].case.model.end_after
    axes.set_title(f"Where the heat is {spelled(after)} after the last arc", loc="left")
    axes.set_xlabel("% of the heat of all passes")


def _share(result: Result, name: str) -> float:
    """One place of the ledger [%]."""
    ledger = result.history.ledger
    names = [n for n in ledger.lost if n == name or n.endswith(f" {name}")]
    heat = ledger.stored if name == "stored" else sum(ledger.lost[n] for n in names)
    return 100 * heat / ledger.arc


def pictures(compared: tuple[Shown, ...], units: UnitSystem = SI) -> dict[str, bytes]:
    """PNG of every figure of the lesson, by file name."""
    return {
        picture_name(one.comparison, kind): picture(draw(one, units), "png")
        for one in compared
        for kind, draw in FIGURES.items()
    }


FIGURES = {
    "history": history_figure,
    "outcome": outcome_figure,
    "balance": balance_figure,
}


def picture_name(comparison: Contrast, kind: str) -> str:
    """File name of one figure."""
    return f"{comparison.key}-{kind}.png"
