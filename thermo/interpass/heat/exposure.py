"""Which parts of the drawing are open to air, and on which cells they lie.

Not outer surfaces: the walls of the clearance and of the end gap, the end of the pipe,
the fillet's root across the clearance, and ends where the metal goes on.

What it computes: ``thermo/MODEL.md``, section 2.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..joint.beads import Fillet
from ..joint.case import Box
from ..joint.outline import KIND, TOUCH, Outline
from ..text.arrays import Array
from .grid import (
    Lines,
    cells_in_reach,
    clip_fillet,
    corners,
    level_under,
    overlap,
    washer,
)


@dataclass(frozen=True)
class Surface:
    """Exposed elements of one stage, each on one cell: (n,) arrays."""

    i: NDArray[np.int64]
    j: NDArray[np.int64]
    kind: NDArray[np.int64]
    area: Array  # m²/rad
    normal_r: Array  # the surface is the line normal_r r + normal_z z = offset
    normal_z: Array
    offset: Array  # m


Span = tuple[float, float]
Element = tuple[int, int, int, float, float, float, float]


def exposed(outline: Outline, fillet: Fillet, lines: Lines) -> Surface:
    """Every open surface element: cell, kind, area [m²/rad] and where it lies."""
    elements: list[Element] = []
    elements += _pipe_surfaces(outline, fillet, lines)
    for box in outline.fitting:
        elements += _box_surfaces(outline, fillet, lines, box)
    elements += _hypotenuse(outline.root, fillet, lines)
    columns = list(zip(*elements, strict=True))
    i, j, kind = (np.array(c, dtype=np.int64) for c in columns[:3])
    area, normal_r, normal_z, offset = (np.array(c, dtype=float) for c in columns[3:])
    return Surface(i, j, kind, area, normal_r, normal_z, offset)


def without(spans: list[Span], cut: Span) -> list[Span]:
    """Spans with one stretch taken out.

    >>> without([(0.0, 10.0)], (2.0, 3.0))
    [(0.0, 2.0), (3.0, 10.0)]
    """
    kept = []
    for low, high in spans:
        pieces = [(low, min(high, cut[0])), (max(low, cut[1]), high)]
        kept += [(a, b) for a, b in pieces if b - a > TOUCH]
    return kept


def _pipe_surfaces(outline: Outline, fillet: Fillet, lines: Lines) -> list[Element]:
    pipe = outline.pipe
    end = -fillet.leg_pipe if outline.fitting else pipe.z_end
    open_outside = [(pipe.z_start, end)]
    found = _outside(outline, lines, "pipe", pipe.r_out, open_outside)
    inner = (pipe.z_start, pipe.z_end)
    found += _on_radius(lines, pipe.r_in, inner, "pipe bore", above=True)
    if outline.pipe_end_open:
        span = (pipe.r_in, pipe.r_out)
        found += _on_plane(lines, pipe.z_start, span, "faces", above=True)
    if not outline.fitting and outline.fitting_end_open:
        span = (pipe.r_in, pipe.r_out)
        found += _on_plane(lines, pipe.z_end, span, "faces", above=False)
    return found


def _box_surfaces(
    outline: Outline, fillet: Fillet, lines: Lines, box: Box
) -> list[Element]:
    """Open sides of one ring of the fitting."""
    others = [b for b in outline.fitting if b is not box]
    long_way, wide_way = (box.z_start, box.z_end), (box.r_in, box.r_out)
    touching_out = [b for b in others if abs(b.r_in - box.r_out) < TOUCH]
    touching_in = [b for b in others if abs(b.r_out - box.r_in) < TOUCH]
    before = [b for b in others if abs(b.z_end - box.z_start) < TOUCH]
    after = [b for b in others if abs(b.z_start - box.z_end) < TOUCH]

    outside = _cut(long_way, [(b.z_start, b.z_end) for b in touching_out])
    found = _outside(outline, lines, "fitting", box.r_out, outside)
    inside = _cut(long_way, [(b.z_start, b.z_end) for b in touching_in])
    if abs(box.r_in - outline.socket_bore) < TOUCH:  # the socket that holds the pipe
        inside = without(inside, (0.0, outline.socket_depth))
    if box.r_in > TOUCH:
        for span in inside:
            found += _on_radius(lines, box.r_in, span, "fitting bore", above=True)
    start = _cut(wide_way, [(b.r_in, b.r_out) for b in before])
    end = _cut(wide_way, [(b.r_in, b.r_out) for b in after])
    found += _faces(outline, fillet, lines, box.z_start, start, above=True)
    found += _faces(outline, fillet, lines, box.z_end, end, above=False)
    return found


def _cut(span: Span, cuts: list[Span]) -> list[Span]:
    spans = [span]
    for cut in cuts:
        spans = without(spans, cut)
    return spans


def _outside(
    outline: Outline, lines: Lines, part: str, radius: float, spans: list[Span]
) -> list[Element]:
    """Outer cylinder of a part; where it is held, shared between holder and air."""
    held: list[Span] = []
    if outline.holding and outline.holding[0] == part:
        low, high = outline.holding[1:]
        held = [
            (max(a, low), min(b, high)) for a, b in spans if max(a, low) < min(b, high)
        ]
        spans = without(spans, (low, high))
    found: list[Element] = []
    for span in spans:
        found += _on_radius(lines, radius, span, part, above=False)
    touched = outline.holding_share
    for kind, share in (("holding", touched), (part, 1 - touched)):
        for span in held if share > 0 else ():
            found += _on_radius(lines, radius, span, kind, above=False, share=share)
    return found


def _faces(
    outline: Outline,
    fillet: Fillet,
    lines: Lines,
    z: float,
    spans: list[Span],
    *,
    above: bool,
) -> list[Element]:
    """Flat faces of the fitting at one height: outer faces, or seen from the bore."""
    end = max(b.z_end for b in outline.fitting)
    if abs(z - end) < TOUCH and not above:
        kind, spans = "faces", spans if outline.fitting_end_open else []
    elif abs(z) < TOUCH:
        kind = "faces"
        if fillet.area > 0:
            spans = without(spans, (0.0, outline.root + fillet.leg_socket))
    else:
        kind = "faces"
        if abs(z - outline.socket_depth) < TOUCH and above:  # bottom of the socket
            spans = without(spans, (outline.pipe.r_in, outline.socket_bore))
    found: list[Element] = []
    for span in spans:
        from_bore = span[1] <= outline.socket_bore + TOUCH and abs(z - end) > TOUCH
        name = "fitting bore" if from_bore and abs(z) > TOUCH else kind
        found += _on_plane(lines, z, span, name, above=above)
    return found


def _on_radius(
    lines: Lines,
    radius: float,
    span: Span,
    kind: str,
    *,
    above: bool,
    share: float = 1.0,
) -> list[Element]:
    """Elements of a share of a cylinder; ``above``: its metal lies at larger radii."""
    i = _cell_beside(lines.r, radius, above=above)
    z0, z1 = overlap(lines.z, *span)
    area = share * radius * (z1 - z0)
    return [
        (i, int(j), KIND[kind], float(area[j]), 1.0, 0.0, radius)
        for j in np.flatnonzero(z1 - z0 > 0)
    ]


def _on_plane(
    lines: Lines, z: float, span: Span, kind: str, *, above: bool
) -> list[Element]:
    """Elements of a flat ring; ``above``: its metal lies at larger z."""
    j = _cell_beside(lines.z, z, above=above)
    area = washer(lines.r, *span)
    return [
        (int(i), j, KIND[kind], float(area[i]), 0.0, 1.0, z)
        for i in np.flatnonzero(area > 0)
    ]


def _cell_beside(lines: Array, x: float, *, above: bool) -> int:
    """Cell just above or just below a position."""
    nudge = TOUCH if above else -TOUCH
    return min(max(int(np.searchsorted(lines, x + nudge)) - 1, 0), lines.size - 2)


def _hypotenuse(root: float, fillet: Fillet, lines: Lines) -> list[Element]:
    """Elements of the fillet's face; ring area is exact for a straight edge."""
    if fillet.area == 0.0:
        return []
    found: list[Element] = []
    norm = np.hypot(1 / fillet.leg_socket, 1 / fillet.leg_pipe)
    normal = (1 / fillet.leg_socket / norm, -1 / fillet.leg_pipe / norm)
    offset = (1 + root / fillet.leg_socket) / norm
    for i, j in cells_in_reach(root, fillet, lines):
        polygon = clip_fillet(corners(lines, i, j), root, fillet)
        edge = [p for p in polygon if level_under(p, root, fillet) == 0.0]
        if len(edge) > 1:
            (a, b), (c, d) = edge[0], edge[-1]
            area = float(np.hypot(c - a, d - b) * (a + c) / 2)
            if area > 0.0 and len(polygon) > 2:
                found.append((i, j, KIND["fillet"], area, *normal, offset))
    return found
