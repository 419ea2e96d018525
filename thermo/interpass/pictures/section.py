"""The joint in section: drawn metal with its beads, its heat, or its dimensions."""

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from matplotlib import patheffects
from matplotlib.axes import Axes

from ..joint.beads import Fillet, fillets
from ..joint.case import Case
from ..text.kinds import SI, UnitSystem
from .isotherms import Heat, draw_heat, label_isotherms
from .parts import View, bead_shape, draw_beads, draw_parts, view_of, wider
from .sheet import POINT, width

LETTERING: Any = {"fontsize": 9, "ha": "center", "va": "center"}
Point = tuple[float, float]  # z, r [m]
HALO = [patheffects.withStroke(linewidth=2.5, foreground="white")]


def draw_section(
    axes: Axes,
    case: Case,
    *,
    number: int | None = None,
    heat: Heat | None = None,
    labels: bool = True,
    stretch: float = 1.0,
) -> None:
    """Draw the joint cut along its axis, the half above it; axes are in m, (z, r).

    Parameters
    ----------
    axes : Axes
        Taken over whole: equal scales, no frame.
    number : int, optional
        Passes laid so far; all of them when left out.
    heat : Heat, optional
        Temperatures over the metal, see :func:`heat_of`; without, parts are hatched.
    labels : bool
        Name the parts and number the beads.
    stretch : float
        Shows so much more, or less, of pipe and fitting beside the weld.
    """
    grown = fillets(case)
    view = view_of(case, grown[-1].leg_pipe, stretch)
    laid = grown[: (len(case.passes) if number is None else number) + 1]
    root = view.outline.root
    if heat is not None:
        draw_heat(axes, view, laid, heat)
    draw_parts(axes, view, filled=heat is None)
    draw_beads(axes, root, laid, filled=heat is None)
    if heat is not None:
        label_isotherms(axes, view, heat)
    if labels:
        _name_parts(axes, case, view, laid)
    height = view.r_out - view.outline.pipe.r_in
    room = 0.38 * height if labels else 0.06 * height
    axes.set_xlim(view.z_low, view.z_high)
    axes.set_ylim(view.outline.pipe.r_in - 0.08 * height, view.r_out + room)
    axes.set_aspect("equal")
    axes.set_axis_off()


def _name_parts(axes: Axes, case: Case, view: View, laid: tuple[Any, ...]) -> None:
    """Write the names into pipe and fitting, and the numbers of the passes on leaders."""
    o = view.outline
    leg = fillets(case)[-1].leg_pipe
    z, r = (view.z_low - leg) / 2, (o.pipe.r_in + o.pipe.r_out) / 2
    axes.text(z, r, "pipe", path_effects=HALO, **LETTERING)
    if not o.fitting:
        return
    socket = max(b.r_out for b in o.fitting if b.z_start == 0.0)
    z, r = o.socket_depth / 2, (o.socket_bore + socket) / 2
    axes.text(z, r, case.fitting.kind, path_effects=HALO, **LETTERING)
    _number_beads(axes, view, laid)


def _number_beads(axes: Axes, view: View, laid: tuple[Fillet, ...]) -> None:
    """Write the numbers of the beads that have metal, on leaders, in a column."""
    root, height = view.outline.root, view.r_out - view.outline.pipe.r_in
    made = [
        (n, _bead_middle(root, before, after))
        for n, (before, after) in enumerate(pairwise(laid), 1)
        if bead_shape(root, before, after) is not None
    ]
    step = min(0.19 * height, 0.85 * height / max(len(made), 1))
    x = -laid[-1].leg_pipe - 0.3 * height
    for place, (n, middle) in enumerate(made):
        axes.annotate(
            f"pass {n}", middle, (x, root + 0.16 * height + place * step),
            fontsize=9, ha="right", va="center",
            arrowprops={"arrowstyle": "-", "lw": 0.7, "shrinkA": 1, "shrinkB": 0},
        )  # fmt: skip


def _bead_middle(root: float, before: Fillet, after: Fillet) -> tuple[float, float]:
    """Find a point inside a bead: of its triangle, or half-way along its strip."""
    if before.area == 0.0:
        return -after.leg_pipe / 3, root + after.leg_socket / 3
    z = -(before.leg_pipe + after.leg_pipe) / 4
    return z, root + (before.leg_socket + after.leg_socket) / 4


@dataclass(frozen=True)
class Drawing:
    """A drawing on its axes: how many m of the joint one point of paper shows."""

    axes: Axes
    view: View
    point: float  # m
    size: float  # of the lettering, points


def draw_dimensions(
    axes: Axes, case: Case, units: UnitSystem = SI, *, size: float = 9.0
) -> None:
    """Draw the whole joint along its axis with the dimensions a welder checks.

    Outside diameter, wall and bore of the pipe, socket depth, end gap and the legs. More
    pipe is shown where the axes are long; they are taken over whole, without a frame, and
    must have their place on the figure already.

    Parameters
    ----------
    size : float
        Of the lettering [points].
    """
    grown = fillets(case)
    drawing = _drawing(axes, case, grown[-1], size)
    for sign in (1, -1):
        draw_parts(axes, drawing.view, sign)
        draw_beads(axes, drawing.view.outline.root, grown, sign)
    low, high = drawing.view.z_low, drawing.view.z_high
    chain: dict[str, Any] = {"color": "black", "lw": 0.7, "ls": (0, (12, 3, 2, 3))}
    axes.plot([low - 4 * drawing.point, high + 4 * drawing.point], [0.0, 0.0], **chain)
    _across(drawing, case, units)
    _along(drawing, case, grown[-1], units)
    axes.set_axis_off()


def _drawing(axes: Axes, case: Case, fillet: Fillet, size: float) -> Drawing:
    """Find the scale: the joint and room for its dimensions fill the axes."""
    figure = axes.get_figure(root=True)
    if figure is None:
        msg = "axes to draw on must stand on a figure"
        raise ValueError(msg)
    box = axes.get_position()
    wide, tall = (
        side * share * 72.0
        for side, share in zip(
            figure.get_size_inches(), (box.width, box.height), strict=True
        )
    )
    left, right, above = 2.2 * size, 0.8 * size, 3.0 * size  # points
    room, height = max(wide - left - right, 0.2 * wide), max(tall - 2 * above, 0.2 * tall)
    view = view_of(case, fillet.leg_pipe)
    point = 0.0
    for _ in range(2):  # what a wider view shows may be thicker, and the scale smaller
        across, along = 2 * view.r_out / height, (view.z_high - view.z_low) / room
        point = max(point, across, along)
        view = wider(view, room * point - (view.z_high - view.z_low))
    point = max(point, 2 * view.r_out / height)
    middle = (view.z_low - left * point + view.z_high + right * point) / 2
    axes.set_xlim(middle - wide * point / 2, middle + wide * point / 2)
    axes.set_ylim(-tall * point / 2, tall * point / 2)
    return Drawing(axes, view, point, size)


def _across(drawing: Drawing, case: Case, units: UnitSystem) -> None:
    """Give the diameters and the wall of the pipe."""
    pipe, point, size = case.pipe, drawing.point, drawing.size
    low, root = drawing.view.z_low, case.pipe.outside_diameter / 2
    bore = root - pipe.wall
    x = low - 0.9 * size * point
    for sign in (1, -1):
        _line(drawing, (low, sign * root), (x - 3 * point, sign * root))
    _arrow(drawing, (x, -root), (x, root))
    words = f"outside {units.length(2 * root)}"
    _write(drawing, (x - 0.75 * size * point, 0.0), words, rotation=90)
    inside = low + (0.0 - low) * 0.45
    _arrow(drawing, (inside, -bore), (inside, bore))
    words = f"bore {units.length(2 * bore)}"
    _write(drawing, (inside + 0.4 * size * point, 0.5 * bore), words, ha="left")
    x = low + 1.4 * size * point
    _pinch(drawing, (x, bore), (x, root))
    words = f"wall {units.length(pipe.wall)}"
    _write(drawing, (x + 0.4 * size * point, root + 1.0 * size * point), words, ha="left")


def _along(drawing: Drawing, case: Case, fillet: Fillet, units: UnitSystem) -> None:
    """Give socket depth above, the end gap below, and the legs at the fillets."""
    point, size, outline = drawing.point, drawing.size, drawing.view.outline
    depth, end, root = outline.socket_depth, outline.pipe.z_end, outline.root
    if not outline.fitting:
        return
    socket = max(b.r_out for b in outline.fitting if b.z_start == 0.0)
    y = drawing.view.r_out + 0.9 * size * point
    _line(drawing, (0.0, socket), (0.0, y + 3 * point))
    _line(drawing, (depth, outline.socket_bore), (depth, y + 3 * point))
    _arrow(drawing, (0.0, y), (depth, y))
    words = f"socket depth {units.length(depth)}"
    x = _kept_inside(drawing, 2 * point, words)
    _write(drawing, (x, y + 0.9 * size * point), words, ha="left")
    _legs(drawing, fillet, units, y, x - 4 * point)
    if case.end_gap > 0.0:
        y = -drawing.view.r_out - 0.9 * size * point
        for z, r in ((end, -root), (depth, -outline.socket_bore)):
            _line(drawing, (z, r), (z, y - 3 * point))
        _pinch(drawing, (end, y), (depth, y))
        words = f"end gap {units.length(case.end_gap)}"
        x = _kept_inside(drawing, end - _reach(drawing, words) / 2, words)
        _write(drawing, (x, y - 0.9 * size * point), words, ha="left")


def _kept_inside(drawing: Drawing, x: float, words: str) -> float:
    """Where words from ``x`` on begin so that they end on the axes [m]."""
    spare = 2 * drawing.point
    return min(x, drawing.axes.get_xlim()[1] - _reach(drawing, words) - spare)


def _reach(drawing: Drawing, words: str) -> float:
    """Length of words as written [m]."""
    return width(words, drawing.size) / POINT * drawing.point


def _legs(
    drawing: Drawing, fillet: Fillet, units: UnitSystem, y: float, end: float
) -> None:
    """Give the leg in line with the socket depth, its words up to ``end`` [m].

    Below stands the other leg, if it differs.
    """
    point, size, root = drawing.point, drawing.size, drawing.view.outline.root
    toe, other = fillet.leg_pipe, fillet.leg_socket
    if fillet.area == 0.0:
        return
    _line(drawing, (-toe, root), (-toe, y + 3 * point))
    _arrow(drawing, (-toe, y), (0.0, y))
    both = abs(toe - other) < 5e-5
    words = f"leg {units.length(toe)}" if both else f"leg on pipe {units.length(toe)}"
    _write(drawing, (end, y + 0.9 * size * point), words, ha="right")
    if both:
        return
    x = -toe - 0.9 * size * point
    for r in (root, root + other):
        begin = -toe if r == root else 0.0
        _line(drawing, (begin, -r), (x - 3 * point, -r))
    _arrow(drawing, (x, -root), (x, -root - other))
    words = f"leg on face {units.length(other)}"
    _write(
        drawing, (x - 0.4 * size * point, -root - 0.9 * size * point), words, ha="right"
    )


def _arrow(drawing: Drawing, begin: Point, end: Point) -> None:
    """Draw a dimension line with a head at either end."""
    style = {"arrowstyle": "<|-|>,head_width=0.15,head_length=0.3", "lw": 0.7,
             "shrinkA": 0, "shrinkB": 0, "fc": "black"}  # fmt: skip
    drawing.axes.annotate("", begin, end, arrowprops=style)


def _pinch(drawing: Drawing, begin: Point, end: Point) -> None:
    """Draw two heads from outside on a distance too short for a dimension line."""
    step = np.subtract(end, begin)
    step = step / np.hypot(*step) * 1.4 * drawing.size * drawing.point
    style = {"arrowstyle": "-|>,head_width=0.15,head_length=0.3", "lw": 0.7,
             "shrinkA": 0, "shrinkB": 0, "fc": "black"}  # fmt: skip
    for tip, tail in ((begin, begin - step), (end, end + step)):
        drawing.axes.annotate("", tip, tuple(tail), arrowprops=style)


def _line(drawing: Drawing, begin: Point, end: Point) -> None:
    """Draw an extension line."""
    x, y = zip(begin, end, strict=True)
    drawing.axes.plot(x, y, color="black", lw=0.5)


def _write(
    drawing: Drawing,
    place: Point,
    words: str,
    *,
    ha: str = "center",
    rotation: float = 0.0,
) -> None:
    """Write a dimension, legible over lines and hatching."""
    drawing.axes.text(
        *place, words, fontsize=drawing.size, ha=ha, va="center", rotation=rotation,
        path_effects=HALO,
    )  # fmt: skip
