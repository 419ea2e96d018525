"""The parts of a joint as shapes to draw: pipe, fitting, beads; and what is round them.

Shapes are in the plane of the section, (z, r) in m. Parts are told apart by the way they
are hatched, as on a drawing; beads by their shade and their number.
"""

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import PathPatch
from matplotlib.path import Path

from ..joint.beads import Fillet
from ..joint.case import Box, Case
from ..joint.outline import TOUCH, Outline, make_outline
from ..text.arrays import Array

PIPE_STYLE: dict[str, Any] = {"facecolor": "#dcebf5", "hatch": "///"}
FITTING_STYLE: dict[str, Any] = {"facecolor": "#f6ead2", "hatch": "\\\\\\"}
HATCHING = "#b4b4b4"
BEADS = ("#d55e00", "#f0c59b")  # in turn: vermilion of Okabe and Ito, and a tint of it
EDGE = "black"
MARGIN = 0.9  # of the pipe's outside diameter: pipe shown beside the weld


@dataclass(frozen=True)
class View:
    """What of the joint is shown [m]."""

    outline: Outline
    z_low: float
    z_high: float
    cut_low: bool  # the piece goes on beyond
    cut_high: bool

    @property
    def r_out(self) -> float:
        """Largest radius in the view."""
        shown = [b.r_out for b in self.outline.fitting if b.z_start < self.z_high]
        return max([self.outline.pipe.r_out, *shown])


def view_of(case: Case, leg: float, stretch: float = 1.0) -> View:
    """Choose what to show: the weld, some pipe and the socket with what follows it.

    ``leg`` is the longest along the pipe; ``stretch`` shows more or less to either side.
    """
    outline = make_outline(case)
    beside = MARGIN * stretch * case.pipe.outside_diameter
    ends = outline.far
    low = max(outline.pipe.z_start, -leg - beside)
    beyond = 0.6 * beside if outline.fitting else leg + beside
    high = min(ends, outline.socket_depth + beyond)
    return View(
        outline,
        low,
        high,
        low > outline.pipe.z_start + TOUCH or not outline.pipe_end_open,
        high < ends - TOUCH or not outline.fitting_end_open,
    )


def box_shape(box: Box, view: View, sign: int = 1) -> Path | None:
    """Rectangle of a ring, cut to the view; below the axis when ``sign`` is -1."""
    low, high = max(box.z_start, view.z_low), min(box.z_end, view.z_high)
    if high - low < TOUCH:
        return None
    z = [low, high, high, low, low]
    r = [box.r_in, box.r_in, box.r_out, box.r_out, box.r_in]
    return Path(np.column_stack([z, sign * np.array(r)]), closed=True)


def fitting_shape(view: View, sign: int = 1) -> Path:
    """Outer line of the fitting's rings, cut to the view, without lines between rings."""
    if not view.outline.fitting:
        return Path(np.empty((0, 2)))
    inner, outer = [], []
    for box in sorted(view.outline.fitting, key=lambda b: (b.z_start, b.r_in)):
        low, high = max(box.z_start, view.z_low), min(box.z_end, view.z_high)
        if high - low > TOUCH:
            inner.append((low, high, box.r_in))
            outer.append((low, high, box.r_out))
    breaks = sorted({z for low, high, _ in inner for z in (low, high)})
    below = [(z, r) for z, r in _steps(breaks, inner, min)]
    above = [(z, r) for z, r in _steps(breaks, outer, max)]
    line = np.array([*below, *reversed(above), below[0]])
    return Path(line * (1, sign), closed=True)


def _steps(
    breaks: list[float], spans: list[tuple[float, float, float]], choose: Any
) -> list[tuple[float, float]]:
    """Staircase of the least or the greatest radius along z."""
    line = []
    for low, high in pairwise(breaks):
        r = choose(x for a, b, x in spans if a < high - TOUCH and b > low + TOUCH)
        line += [(low, r), (high, r)]
    return line


def bead_shape(root: float, before: Fillet, after: Fillet, sign: int = 1) -> Path | None:
    """Return what one pass adds to the fillet: a triangle, or a strip on the one before."""
    if after.area - before.area < 1e-12:
        return None
    outer = [(0.0, root + after.leg_socket), (-after.leg_pipe, root)]
    inner = [(-before.leg_pipe, root), (0.0, root + before.leg_socket)]
    line = np.array([*outer, *inner, outer[0]]) * (1, sign)
    return Path(line, closed=True)


def fillet_shape(root: float, fillet: Fillet, sign: int = 1) -> Path | None:
    """Return the whole fillet; None when there is none yet."""
    return bead_shape(root, Fillet(0.0, 0.0), fillet, sign)


def draw_parts(axes: Axes, view: View, sign: int = 1, *, filled: bool = True) -> None:
    """Draw pipe and fitting, hatched and filled or as lines."""
    pipe = box_shape(view.outline.pipe, view, sign)
    for shape, style in ((pipe, PIPE_STYLE), (fitting_shape(view, sign), FITTING_STYLE)):
        if shape is None:
            continue
        if filled:  # hatched in the colour of its edge, so the edge is drawn by itself
            axes.add_patch(PathPatch(shape, edgecolor=HATCHING, lw=0.0, **style))
        axes.add_patch(PathPatch(shape, facecolor="none", edgecolor=EDGE, lw=0.9))
    _draw_cuts(axes, view, sign)


def draw_beads(
    axes: Axes,
    root: float,
    grown: tuple[Fillet, ...],
    sign: int = 1,
    *,
    filled: bool = True,
) -> None:
    """Draw the beads laid so far, ``grown`` from none to the last."""
    for n, (before, after) in enumerate(pairwise(grown)):
        shape = bead_shape(root, before, after, sign)
        if shape is not None:
            face = BEADS[n % len(BEADS)] if filled else "none"
            axes.add_patch(PathPatch(shape, facecolor=face, edgecolor=EDGE, lw=0.9))


def _draw_cuts(axes: Axes, view: View, sign: int) -> None:
    """Rub out the border where the piece goes on, and break it off with a wave."""
    ends: list[tuple[float, bool, tuple[Box, ...], int]] = [
        (view.z_low, view.cut_low, (view.outline.pipe,), 1),
        (view.z_high, view.cut_high, view.outline.fitting or (view.outline.pipe,), -1),
    ]
    for z, is_cut, boxes, inward in ends:
        if not is_cut:
            continue
        there = [b for b in boxes if b.z_start < z + TOUCH and b.z_end > z - TOUCH]
        for box in there:
            r, wave = _wave(box.r_in, box.r_out)
            line = np.column_stack([z + inward * wave, sign * r])
            beyond, over = z - inward * 2 * wave.max(), 0.06 * (r[-1] - r[0])
            rim = [(line[-1, 0], sign * (r[-1] + over)), (beyond, sign * (r[-1] + over))]
            rim += [(beyond, sign * (r[0] - over)), (line[0, 0], sign * (r[0] - over))]
            cover = Path(np.array([*line, *rim, line[0]]), closed=True)
            axes.add_patch(PathPatch(cover, facecolor="white", edgecolor="none"))
            axes.plot(line[:, 0], line[:, 1], color=EDGE, lw=0.7)


def _wave(r_in: float, r_out: float) -> tuple[Array, Array]:
    """Freehand line across a wall: radii and how far it strays [m]."""
    r = np.linspace(r_in, r_out, 25)
    share = (r - r_in) / (r_out - r_in)
    return r, (r_out - r_in) * (0.16 + 0.12 * np.sin(2 * np.pi * share))


def wider(view: View, extra: float) -> View:
    """Show so much more along the axis where there is more [m]."""
    if extra <= 0.0:
        return view
    outline = view.outline
    ends = outline.far
    high = min(ends, view.z_high + 0.4 * extra)
    low = max(outline.pipe.z_start, view.z_low - extra + high - view.z_high)
    return replace(
        view,
        z_low=low,
        z_high=high,
        cut_low=low > outline.pipe.z_start + TOUCH or not outline.pipe_end_open,
        cut_high=high < ends - TOUCH or not outline.fitting_end_open,
    )
