"""The joint as shapes that a page can draw: points in mm, along the axis and from it."""

from itertools import pairwise
from typing import Any

from ..joint.beads import fillets
from ..joint.case import Box, Case
from ..joint.outline import TOUCH, make_outline
from ..joint.places import measuring_place

BESIDE = 1.1  # of the outside diameter: pipe shown beside the weld


def joint_shapes(case: Case) -> dict[str, Any]:
    """Half section above the axis: parts and beads as polygons, and what is marked.

    Returns
    -------
    dict
        ``view_mm`` [low, high] along the axis; ``pipe``, ``fitting`` and ``beads``, lists
        of polygons of [z, r] in mm; ``mark``, where the pyrometer goes; ``sizes_mm``.
    """
    outline, grown = make_outline(case), fillets(case)
    place = measuring_place(case)
    beside = BESIDE * case.pipe.outside_diameter
    ends = outline.far
    low = max(outline.pipe.z_start, min(-grown[-1].leg_pipe - beside, place.z - 2e-3))
    high = min(ends, max(outline.socket_depth + 0.6 * beside, place.z + 2e-3))
    root = outline.root
    beads = [
        [(-before.leg_pipe, root), (-after.leg_pipe, root),
         (0.0, root + after.leg_socket), (0.0, root + before.leg_socket)]
        for before, after in pairwise(grown)
        if after.area - before.area > 1e-12
    ]  # fmt: skip
    return {
        "view_mm": _mm([low, high]),
        "pipe": [_points(p) for p in _cut([outline.pipe], low, high)],
        "fitting": [_points(p) for p in _cut(outline.fitting, low, high)],
        "beads": [_points(p) for p in beads],
        "mark": {"at": _mm([place.z, place.r]), "words": place.name,
                 "from_toe_mm": round(1e3 * place.from_toe, 1)},
        "cut": [low > outline.pipe.z_start + TOUCH, high < ends - TOUCH],
        "sizes_mm": {
            "outside": round(2e3 * root, 2),
            "wall": round(1e3 * case.pipe.wall, 2),
            "socket depth": round(1e3 * outline.socket_depth, 2),
            "end gap": round(1e3 * case.end_gap, 2),
            "leg": round(1e3 * grown[-1].leg_pipe, 2),
        },
    }  # fmt: skip


def _cut(
    boxes: list[Box] | tuple[Box, ...], low: float, high: float
) -> list[list[tuple[float, float]]]:
    """Rectangles of rings, cut to the view."""
    found = []
    for b in boxes:
        start, end = max(b.z_start, low), min(b.z_end, high)
        if end - start > TOUCH:
            found.append(
                [(start, b.r_in), (end, b.r_in), (end, b.r_out), (start, b.r_out)]
            )
    return found


def _points(line: list[tuple[float, float]]) -> list[list[float]]:
    return [_mm(list(point)) for point in line]


def _mm(values: list[float]) -> list[float]:
    return [round(1e3 * v, 3) for v in values]
