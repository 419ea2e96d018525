"""Picture of the ring unrolled: angle against time, temperature as colour.

Above, the hottest point of the joint at every angle, so that the arc is seen to travel
and its heat to spread; below, how far apart the joint is at each arc on. Drawn on
matplotlib's object interface; the same run gives the same bytes.
"""

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from ..heat.history import History, PassResult, planned_wait
from ..joint.arc import stretches
from ..joint.case import Case
from ..report.strike import limit_text
from ..text.arrays import Array
from ..text.kinds import SI, UnitSystem
from ..text.times import clock
from .isotherms import CLIP, COLOURS
from .style import IN_MINUTES, Span, bare, canvas, heading, spread

COLUMNS = 900  # of the picture, along time
AFTER = 0.3  # of the time until the last arc off, shown after it
WIDTH, MAP, ROW, REST = 8.0, 3.6, 0.3, 1.5  # inch
LETTER = 0.0115  # of the time axis: width of one letter, and a little

MARKS = {
    "hottest": ("D", 10.0, "#d55e00"),
    "start_point": ("o", 6.5, "#0072b2"),
    "mean": ("|", 12.0, "black"),
    "coldest": ("s", 7.0, "#56b4e9"),
}  # Okabe and Ito; shapes tell them apart in grey


def draw_ring(case: Case, history: History, units: UnitSystem = SI) -> Figure:
    """Ring against time with passes, waits and limit, and the joint at each arc on.

    Raises
    ------
    ValueError
        For a history without a ring (an axisymmetric run).
    """
    if history.ring.shape[1] < 3 or not history.passes:
        msg = "history has no ring to draw; run the case with [model] ring and a pass"
        raise ValueError(msg)
    rows = shown_passes(history)
    height = MAP + REST + ROW * len(rows)
    with canvas((WIDTH, height)) as figure:
        ring, spots = figure.subplots(
            2, 1, gridspec_kw={"height_ratios": [MAP, 0.5 + ROW * len(rows)]}
        )
        _draw_map(figure, ring, case, history, units)
        _draw_spots(spots, rows, case, units)
        ring.set_title(heading(case), loc="left", pad=40)
    return figure


def shown_passes(history: History) -> tuple[PassResult, ...]:
    """Choose the passes that follow another; the only one where none does."""
    return history.passes[1:] or history.passes


def shown_until(history: History) -> float:
    """Last moment in the picture [s]."""
    last = history.passes[-1].arc_off
    return min(float(history.time[-1]), (1 + AFTER) * last)


def unrolled(history: History) -> tuple[Array, Array, Array]:
    """Spread the ring: times (COLUMNS,) [s], angles (n_theta,) [rad], temperature [K]."""
    n = history.ring.shape[1]
    times = np.linspace(0.0, shown_until(history), COLUMNS)
    ring = [np.interp(times, history.time, history.ring[:, m]) for m in range(n)]
    return times, (np.arange(n) + 0.5) * 2 * np.pi / n, np.array(ring)


def _draw_map(
    figure: Figure, axes: Axes, case: Case, history: History, units: UnitSystem
) -> None:
    """Draw the colours, the limit as a line and the places where an arc begins."""
    times, angles, ring = unrolled(history)
    T = units.value("temperature", ring)
    coldest = units.value("temperature", float(history.ring.min()))
    image = axes.imshow(
        T, cmap=COLOURS, vmin=coldest, vmax=units.value("temperature", CLIP),
        origin="lower", aspect="auto", extent=(0.0, times[-1], 0.0, 360.0),
        interpolation="nearest",
    )  # fmt: skip
    bar = figure.colorbar(image, ax=axes, extend="max", pad=0.01)
    bar.set_label(f"Hottest at this angle, {units.temperature_unit}")
    _draw_limit(axes, (times, angles, T), case, units)
    _draw_starts(axes, case, history)
    _write_spans(axes, history)
    axes.set_yticks([0, 90, 180, 270, 360])
    axes.set_ylabel("Angle round the pipe, deg")
    axes.set_xlabel("Time since the first arc on, s", loc="left")
    axes.legend(
        loc="upper right", bbox_to_anchor=(1.0, -0.07), ncols=2, fontsize=9,
        facecolor="#404040", labelcolor="white", edgecolor="none", framealpha=1.0,
    )  # fmt: skip


def _draw_limit(
    axes: Axes, ring: tuple[Array, Array, Array], case: Case, units: UnitSystem
) -> None:
    """Draw where the joint is at the limit; the ring is closed by one more cell a side."""
    times, angles, T = ring
    degrees = np.degrees(angles)
    closed = np.concatenate([degrees[-1:] - 360, degrees, degrees[:1] + 360])
    limit = units.value("temperature", case.limits.interpass_max)
    T = np.concatenate([T[-1:], T, T[:1]])
    if T.min() < limit < T.max() and not case.limits.by_reading:
        axes.contour(times, closed, T, levels=[limit], colors="white", linewidths=1.2)
        words = f"interpass limit {limit_text(case, units)}"
        axes.plot([], [], color="white", lw=1.2, label=words)
    axes.set_ylim(0.0, 360.0)


def _draw_starts(axes: Axes, case: Case, history: History) -> None:
    """Mark where each burn begins."""
    burns = [
        (done.arc_on + burn.arc_on, np.degrees(burn.start_angle) % 360)
        for planned, done in zip(case.passes, history.passes, strict=False)
        for burn in stretches(planned)
    ]
    axes.plot(
        [time for time, _ in burns], [angle for _, angle in burns], ">", color="white",
        mec="black", ms=7, zorder=3, clip_on=False, label="arc on",
    )  # fmt: skip


def _write_spans(axes: Axes, history: History) -> None:
    """Name passes and waits above the map, each over a bar as long as it lasts."""
    done, end = history.passes, shown_until(history)
    passes = [(d.arc_on, d.arc_off, f"pass {d.number}") for d in done]
    waits = [
        (d.arc_on - d.wait, d.arc_on, f"wait {_told(planned_wait(d))}")
        for d in done
        if d.wait > 0
    ]
    _write_row(axes, passes, 1.11, "black", end)
    _write_row(axes, waits, 1.03, "#999999", end)


def _told(seconds: float) -> str:
    """Time in seconds, or in minutes and seconds where it is long."""
    return f"{clock(seconds)} min" if seconds >= IN_MINUTES else f"{seconds:.0f} s"


def _write_row(axes: Axes, spans: list[Span], y: float, colour: str, end: float) -> None:
    """Draw the bars of one row; their labels lose a word where there is no room."""
    above = axes.get_xaxis_transform()
    for begin, until, _ in spans:
        bar: Any = {"color": colour, "lw": 2, "solid_capstyle": "butt", "clip_on": False}
        axes.plot([begin, until], [y - 0.01] * 2, transform=above, **bar)
    labels = [words for _, _, words in spans]
    if len(spans) * _room(labels, end) > end:
        labels = [words.split()[1] for words in labels]
    centres = [(begin + until) / 2 for begin, until, _ in spans]
    places = spread(centres, _room(labels, end))
    for x, words in zip(places, labels, strict=True):
        axes.text(x, y, words, ha="center", va="bottom", fontsize=9, transform=above)


def _room(labels: list[str], end: float) -> float:
    """Time that the longest label covers [s]."""
    return max((len(words) for words in labels), default=0) * LETTER * end


def _draw_spots(
    axes: Axes, rows: tuple[PassResult, ...], case: Case, units: UnitSystem
) -> None:
    """Draw hottest, start point, mean and coldest at each arc on, one row per pass."""
    height = np.arange(len(rows))[::-1]
    spots = {
        name: units.value(
            "temperature", np.array([getattr(d.at_arc_on, name) for d in rows])
        )
        for name in MARKS
    }
    axes.hlines(height, spots["coldest"], spots["hottest"], color="#b0b0b0", lw=3)
    for name, (marker, size, colour) in MARKS.items():
        axes.plot(
            spots[name], height, marker, color=colour, ms=size, mew=1.8 if marker == "|" else 1,
            label=name.replace("start_point", "where this pass starts"), clip_on=False,
        )  # fmt: skip
    if not case.limits.by_reading:
        limit = units.value("temperature", case.limits.interpass_max)
        axes.axvline(limit, color="black", ls=":", lw=1.2, label="limit")
    axes.set_yticks(height, [f"pass {d.number}" for d in rows])
    axes.set_ylim(-0.7, len(rows) - 0.3)
    axes.set_xlabel(f"Joint at arc on, {units.temperature_unit}")
    axes.legend(
        loc="upper center", bbox_to_anchor=(0.5, 1 + 0.45 / (0.5 + ROW * len(rows))),
        ncols=5, frameon=False, fontsize=9, columnspacing=1.2, handletextpad=0.3,
    )  # fmt: skip
    bare(axes, "left")
    axes.tick_params(axis="y", length=0)
