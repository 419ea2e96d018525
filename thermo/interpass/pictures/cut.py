"""Picture of the joint in section at every arc off and arc on, with its isotherms."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.cm import ScalarMappable
from matplotlib.colors import Normalize
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from ..heat.history import History, Snapshot
from ..heat.model import Model, make_model
from ..joint.beads import fillets
from ..joint.case import Case
from ..report.strike import limit_text
from ..text.arrays import Array
from ..text.kinds import SI, UnitSystem
from ..text.times import clock
from .isotherms import CLIP, COLOURS, heat_of
from .parts import view_of
from .section import draw_section
from .style import canvas, heading

WIDTH = 7.0  # inch
ONE_COLUMN = 7  # pictures; more of them stand in two columns
TITLE_ROOM, FOOT = 0.28, 1.25  # inch: above each picture, and for title and scale
STEPS = (1, 2, 5, 10, 20, 25, 50, 100, 200)  # between isotherms, user's degrees
MOST = 8  # isotherms in a picture


def section_figure(case: Case, history: History, units: UnitSystem = SI) -> Figure:
    """Joint in section at each arc off and each arc on after it, hottest first to last.

    All share one scale of colours; the isotherms of each are its own. A ring is cut at
    the angle where the arc is struck next.

    Raises
    ------
    ValueError
        For a history without snapshots (see ``frames`` of ``waits.plan``).
    """
    shots = shown_snapshots(history)
    if not shots:
        msg = "history has no snapshots to draw; run the case with frames=0.0"
        raise ValueError(msg)
    model = make_model(case)
    columns = 1 if len(shots) <= ONE_COLUMN else 2
    rows = -(-len(shots) // columns)
    row = _aspect(case) * (WIDTH - 0.3) / columns + TITLE_ROOM
    air = min(case.surroundings.air, case.surroundings.start)
    colours = Normalize(air, CLIP)
    with canvas((WIDTH, rows * row + FOOT)) as figure:
        grid = figure.subplots(rows, columns, squeeze=False)
        for axes in grid.flat:
            axes.set_axis_off()
        for axes, shot in zip(grid.flat, shots, strict=False):
            _draw_one(axes, case, (history, shot), colours, model, units)
        _draw_scale(figure, list(grid.flat), colours, units)
        figure.suptitle(_title(case, history), x=0.01, ha="left", fontsize=11)
        figure.legend(
            handles=[_limit_line(case, units)], loc="outside lower left", fontsize=9,
            handlelength=3.5, facecolor="#404040", labelcolor="white", edgecolor="none",
            framealpha=1.0,
        )  # fmt: skip
    return figure


def shown_snapshots(history: History) -> tuple[Snapshot, ...]:
    """Choose arc off of every pass, and arc on of all but the first."""
    return tuple(
        s
        for s in history.snapshots
        if s.what == "arc off" or (s.what == "arc on" and s.number > 1)
    )


def cut_angle(case: Case, shot: Snapshot) -> float:
    """Angle where the next arc is struck, or the last one was [rad]."""
    number = shot.number if shot.what == "arc on" else shot.number + 1
    return case.passes[min(number, len(case.passes)) - 1].start_angle


def isotherms(seen: Array, units: UnitSystem) -> tuple[tuple[float, str], ...]:
    """Choose round levels for what is seen: K, and their words in the user's degrees."""
    shown = units.value("temperature", np.minimum(seen, CLIP))
    low, high = float(shown.min()), float(shown.max())
    step = next((s for s in STEPS if (high - low) / s <= MOST), STEPS[-1])
    marks = np.arange(np.ceil(low / step), np.floor(high / step) + 1) * step
    zero = units.value("temperature", 0.0)
    degree = 1 / (units.value("temperature", 1.0) - zero)
    return tuple((float((m - zero) * degree), f"{m:.0f}") for m in marks)


def _draw_one(
    axes: Axes,
    case: Case,
    shot_of: tuple[History, Snapshot],
    colours: Normalize,
    model: Model,
    units: UnitSystem,
) -> None:
    """Draw one section with its title."""
    history, shot = shot_of
    angle = cut_angle(case, shot)
    bare = heat_of(case, shot, colours, angle=angle, model=model)
    view = view_of(case, fillets(case)[-1].leg_pipe)
    z = (model.lines.z[1:] + model.lines.z[:-1]) / 2
    seen = bare.temperature[:, (z > view.z_low) & (z < view.z_high)]
    levels = isotherms(seen[np.isfinite(seen)], units)
    heat = heat_of(
        case, shot, colours, angle=angle, model=model,
        levels=tuple(x for x, _ in levels), words=tuple(w for _, w in levels),
    )  # fmt: skip
    number = shot.number - (shot.what == "arc on")
    draw_section(axes, case, number=number, heat=heat, labels=False)
    words = (
        f"{shot.what}, pass {shot.number}, {clock(shot.time)} min after the first arc on"
    )
    if history.model == "ring":
        words += f"; at {np.degrees(angle) % 360:.0f} deg"
    axes.set_title(words, fontsize=9, loc="left", pad=2)


def _draw_scale(
    figure: Figure, grid: list[Axes], colours: Normalize, units: UnitSystem
) -> None:
    """Give the colours, in the user's degrees."""
    low, high = (units.value("temperature", x) for x in (colours.vmin, colours.vmax))
    shown = ScalarMappable(Normalize(low, high), COLOURS)
    bar = figure.colorbar(
        shown, ax=grid, orientation="horizontal", extend="max", aspect=45, pad=0.02,
        shrink=0.95,
    )  # fmt: skip
    bar.set_label(f"Temperature, {units.temperature_unit}; isotherms as labelled")


def _limit_line(case: Case, units: UnitSystem) -> Line2D:
    """Explain the dashed isotherm."""
    words = f"interpass limit {limit_text(case, units)}"
    return Line2D(
        [], [], color="white", lw=2.4, ls="dashed", label=words, gapcolor="black"
    )


def _title(case: Case, history: History) -> str:
    if history.model == "ring":
        return heading(case, ": cut where the next arc strikes")
    return heading(case, ": heat averaged round the ring")


def _aspect(case: Case) -> float:
    """Height over width of one section."""
    view = view_of(case, fillets(case)[-1].leg_pipe)
    height = 1.14 * (view.r_out - view.outline.pipe.r_in)
    return height / (view.z_high - view.z_low)
