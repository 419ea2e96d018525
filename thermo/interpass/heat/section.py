"""The joint drawing turned into cells: exact clipped volumes, faces and surfaces.

The section is the pipe (one rectangle), the fitting (rectangles) and the fillet (a
right triangle with its root at the pipe's outside and the socket face). Cells that the
hypotenuse crosses keep their exact share, so metal volume and outer surface do not
depend on the grid. The least slivers are given to a neighbour, and their faces are lost:
larger ones are kept, for the bead touches pipe and socket through them.

All areas and volumes are per radian of azimuth. The radial clearance and the end gap
hold no metal; the gap column is part of the first column of the socket.

What it computes: ``thermo/MODEL.md``, section 2.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..joint.beads import Fillet
from ..joint.case import Box
from ..joint.outline import FILLER, FITTING, PIPE, TOUCH, Outline
from ..text.arrays import Array
from .exposure import Surface, exposed
from .grid import (
    Lines,
    cells_in_reach,
    clip_fillet,
    corners,
    graded_lines,
    moments,
    overlap,
    washer,
)

THIN = 0.4  # of a cell: least metal beside the clearance
LEAST_CELLS = 2  # through the wall of the pipe and along a leg of the fillet
SLIVER = 0.05  # share of a full cell below which metal joins a neighbour
BESIDE_BAND = 5.0e-3  # m on either side of the heated band of a bare pipe that are fine


@dataclass(frozen=True)
class Stage:
    """The section at one moment of the job; (nr, nz) arrays unless said otherwise."""

    fillet: Fillet
    volume: Array  # m³/rad of metal owned by the cell
    plane: Array  # m²
    r: Array  # centroid
    z: Array
    r_area: Array  # (nr + 1, nz) metal across each face [m²/rad]
    z_area: Array  # (nr, nz + 1)
    fillet_volume: Array  # m³/rad of fillet lying in the cell, before slivers move
    owner: NDArray[np.int64]  # (nr, nz) flat index of the cell that owns this metal
    surface: Surface


def make_lines(outline: Outline, fillet: Fillet, cell: float) -> Lines:
    """Grid lines on every edge of the drawing, finest round the fillet.

    A thin wall and a small leg get at least so many cells as LEAST_CELLS.
    """
    wall = outline.pipe.r_out - outline.pipe.r_in
    least = min(wall, fillet.leg_pipe or wall, fillet.leg_socket or wall)
    cell = min(cell, least / LEAST_CELLS)
    boxes = (outline.pipe, *outline.fitting)
    root = outline.root
    r = [root, root + fillet.leg_socket]
    edges = [edge for b in boxes for edge in (b.r_in, b.r_out)]
    r += [x for x in edges if not root < x < outline.socket_bore + TOUCH]
    z = [0.0, -fillet.leg_pipe]
    z += [edge for b in boxes for edge in (b.z_start, b.z_end)]
    if outline.holding:
        z += outline.holding[1:]
    fine_r = (outline.pipe.r_in, root + fillet.leg_socket)
    low, high = outline.pipe.z_start, outline.far
    # Fine to beyond the socket's bottom: the heat crosses clearance and shoulder there.
    fine_z = (-2 * fillet.leg_pipe, min(outline.socket_depth + fillet.leg_pipe, high))
    width, deep = outline.band
    if width:
        r.append(root - deep)
        z += [-width / 2, width / 2]
        fine_z = (-width / 2 - BESIDE_BAND, width / 2 + BESIDE_BAND)
    z = [x for x in z if low <= x <= high]
    first = outline.socket_bore + THIN * cell  # the clearance shares this column
    if first - root > cell:
        r.append(first)  # or the column at the root would be two cells wide
    lines = graded_lines(r, fine_r, cell)
    too_near = (lines > root + TOUCH) & (lines < first - TOUCH)
    return Lines(lines[~too_near], graded_lines(z, fine_z, cell))


def make_stage(outline: Outline, fillet: Fillet, lines: Lines) -> Stage:
    """Section with this much fillet; cells and surfaces clipped exactly."""
    parts = [_box_cells(box, lines) for box in (outline.pipe, *outline.fitting)]
    weld = _fillet_cells(outline.root, fillet, lines)
    plane = sum(p[0] for p in parts) + weld[0]
    moment_r = sum(p[1] for p in parts) + weld[1]
    moment_z = sum(p[2] for p in parts) + weld[2]
    safe = np.where(plane > 0, plane, 1.0)
    mid_r, mid_z = _middles(lines.r), _middles(lines.z)
    stage = Stage(
        fillet=fillet,
        volume=moment_r,  # Pappus: area times the centroid's radius
        plane=plane,
        r=np.where(plane > 0, moment_r / safe, mid_r[:, None]),
        z=np.where(plane > 0, moment_z / safe, mid_z[None, :]),
        r_area=_r_faces(outline, fillet, lines),
        z_area=_z_faces(outline, fillet, lines),
        fillet_volume=weld[1],
        owner=np.arange(plane.size).reshape(plane.shape),
        surface=exposed(outline, fillet, lines),
    )
    return _without_slivers(stage, lines, weld[0])


def part_of_cells(outline: Outline, lines: Lines) -> NDArray[np.int64]:
    """Which part each cell belongs to, (nr, nz): PIPE, FITTING or FILLER."""
    part = np.full((lines.r.size - 1, lines.z.size - 1), FILLER)
    for box in outline.fitting:
        part[_box_cells(box, lines)[0] > 0] = FITTING
    part[_box_cells(outline.pipe, lines)[0] > 0] = PIPE
    return part


def _middles(x: Array) -> Array:
    return (x[:-1] + x[1:]) / 2


def _box_cells(box: Box, lines: Lines) -> tuple[Array, Array, Array]:
    """Area and first moments (r, z) of a rectangle in each cell."""
    r0, r1 = overlap(lines.r, box.r_in, box.r_out)
    z0, z1 = overlap(lines.z, box.z_start, box.z_end)
    area = np.outer(r1 - r0, z1 - z0)
    moment_r = np.outer((r1**2 - r0**2) / 2, z1 - z0)
    moment_z = np.outer(r1 - r0, (z1**2 - z0**2) / 2)
    return area, moment_r, moment_z


def _fillet_cells(root: float, fillet: Fillet, lines: Lines) -> tuple[Array, ...]:
    """Area and first moments (r, z) of the fillet in each cell."""
    shape = (lines.r.size - 1, lines.z.size - 1)
    area, moment_r, moment_z = np.zeros(shape), np.zeros(shape), np.zeros(shape)
    if fillet.area == 0.0:
        return area, moment_r, moment_z
    for i, j in cells_in_reach(root, fillet, lines):
        polygon = clip_fillet(corners(lines, i, j), root, fillet)
        if len(polygon) > 2:
            area[i, j], moment_r[i, j], moment_z[i, j] = moments(polygon)
    return area, moment_r, moment_z


def _r_faces(outline: Outline, fillet: Fillet, lines: Lines) -> Array:
    """Metal that crosses each line of constant r, (nr + 1, nz) [m²/rad]."""
    length = np.zeros((lines.r.size, lines.z.size - 1))
    for box in (outline.pipe, *outline.fitting):
        z0, z1 = overlap(lines.z, box.z_start, box.z_end)
        inside = (lines.r > box.r_in + TOUCH) & (lines.r < box.r_out - TOUCH)
        length[inside] += z1 - z0
    for a in outline.fitting:
        for b in outline.fitting:
            low, high = max(a.z_start, b.z_start), min(a.z_end, b.z_end)
            if abs(a.r_out - b.r_in) < TOUCH and low < high:
                z0, z1 = overlap(lines.z, low, high)
                length[np.abs(lines.r - a.r_out) < TOUCH] += z1 - z0
    if fillet.area > 0.0:
        for n in np.flatnonzero(lines.r > outline.root - TOUCH):
            reach = 1 - (lines.r[n] - outline.root) / fillet.leg_socket
            if reach > 0.0:
                z0, z1 = overlap(lines.z, -fillet.leg_pipe * reach, 0.0)
                length[n] += z1 - z0
    return length * lines.r[:, None]


def _z_faces(outline: Outline, fillet: Fillet, lines: Lines) -> Array:
    """Metal that crosses each line of constant z, (nr, nz + 1) [m²/rad]."""
    area = np.zeros((lines.r.size - 1, lines.z.size))
    for box in (outline.pipe, *outline.fitting):
        inside = (lines.z > box.z_start + TOUCH) & (lines.z < box.z_end - TOUCH)
        area[:, inside] += washer(lines.r, box.r_in, box.r_out)[:, None]
    for a in outline.fitting:
        for b in outline.fitting:
            low, high = max(a.r_in, b.r_in), min(a.r_out, b.r_out)
            if abs(a.z_end - b.z_start) < TOUCH and low < high:
                at_edge = np.abs(lines.z - a.z_end) < TOUCH
                area[:, at_edge] += washer(lines.r, low, high)[:, None]
    if fillet.area > 0.0:
        toe = outline.root + fillet.leg_socket
        at_face = np.abs(lines.z) < TOUCH
        area[:, at_face] += washer(lines.r, outline.socket_bore, toe)[:, None]
        below = (lines.z < -TOUCH) & (lines.z > -fillet.leg_pipe)
        for n in np.flatnonzero(below):
            reach = 1 + lines.z[n] / fillet.leg_pipe
            edge = outline.root + fillet.leg_socket * reach
            area[:, n] += washer(lines.r, outline.root, edge)
    return area


def _without_slivers(stage: Stage, lines: Lines, weld: Array) -> Stage:
    """Give each sliver of fillet to the neighbour it touches most."""
    full = np.outer(np.diff(lines.r), np.diff(lines.z))
    small = (weld > 0) & (weld < SLIVER * full)
    if not small.any():
        return stage
    fields = ("volume", "plane", "r", "z", "r_area", "z_area", "owner")
    new = {name: getattr(stage, name).copy() for name in fields}
    moves = {}
    for i, j in sorted(zip(*np.nonzero(small), strict=True), key=lambda c: weld[c]):
        host = _host(stage, small, weld, int(i), int(j))
        if host is not None:
            _merge(new, (int(i), int(j)), host)
            moves[i * full.shape[1] + j] = host[0] * full.shape[1] + host[1]
    surface = stage.surface
    flat = surface.i * full.shape[1] + surface.j
    flat = np.array([moves.get(c, c) for c in flat])
    surface = replace(surface, i=flat // full.shape[1], j=flat % full.shape[1])
    return replace(stage, **new, surface=surface)


def _host(
    stage: Stage, small: NDArray[np.bool_], weld: Array, i: int, j: int
) -> tuple[int, int] | None:
    """Neighbour in the fillet with the widest face to a sliver, if there is one."""
    faces = {
        (i - 1, j): stage.r_area[i, j],
        (i + 1, j): stage.r_area[i + 1, j],
        (i, j - 1): stage.z_area[i, j],
        (i, j + 1): stage.z_area[i, j + 1],
    }
    rows, columns = weld.shape
    fit = {
        c: area
        for c, area in faces.items()
        if area > 0 and 0 <= c[0] < rows and 0 <= c[1] < columns
        and weld[c] > 0 and not small[c]
    }  # fmt: skip
    return max(fit, key=fit.__getitem__) if fit else None


def _merge(new: dict[str, Array], sliver: tuple[int, int], host: tuple[int, int]) -> None:
    (i, j), (p, q) = sliver, host
    total = new["plane"][host] + new["plane"][sliver]
    for name in ("r", "z"):
        both = new[name][host] * new["plane"][host]
        both += new[name][sliver] * new["plane"][sliver]
        new[name][host] = both / total
    new["plane"][host], new["plane"][sliver] = total, 0.0
    new["volume"][host] += new["volume"][sliver]
    new["volume"][sliver] = 0.0
    new["r_area"][i : i + 2, j] = 0.0
    new["z_area"][i, j : j + 2] = 0.0
    new["owner"][sliver] = p * new["plane"].shape[1] + q
