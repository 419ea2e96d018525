"""Cells, faces, surfaces and heat shares of one pass, as the solver reads them.

What it computes: ``thermo/MODEL.md``, section 2.
"""

from collections.abc import Sequence
from math import inf

import numpy as np
from numpy.typing import NDArray

from ..joint.outline import FILLER, FITTING, PIPE, Outline
from ..text.arrays import Array
from .arrays import (
    ARC_SHARE,
    GAIN,
    PLANE,
    R_ABOVE,
    R_BELOW,
    RADIUS,
    VOLUME,
    Z_ABOVE,
    Z_BELOW,
    Body,
)  # fmt: skip
from .grid import Lines
from .section import Stage

ZONE = 5.0e-3  # m from either toe: parent metal that counts for the interpass temperature
PARTS_OF_A_CELL = 8  # each way, to find how much of it lies in the zone
AUTOGENOUS_REACH = 2.0e-3  # m round the root that a pass without metal heats
PARTS = {PIPE: "pipe", FITTING: "fitting", FILLER: "weld"}

Zone = tuple[NDArray[np.int64], Array, Array]  # see `zone_of`


def make_body(
    outline: Outline,
    lines: Lines,
    part: NDArray[np.int64],
    pair: tuple[Stage, Stage],
    zones: tuple[Zone, Zone],
    source: Array,
) -> Body:
    """Arrays of one pass for the solver: [0] before its bead, [1] with it."""
    both = [_faces(stage, lines) for stage in pair]
    active = (pair[0].volume > 0) | (pair[1].volume > 0)
    moved, moved_volume, gain = _moves(*pair)
    film_row, film = _film(outline, lines, pair[1])
    link, link_area = _links(outline, lines)
    surface = [_surface_arrays(s, max(q.surface.i.size for q in pair)) for s in pair]
    first = np.argmax(active, axis=1)
    last = active.shape[1] - np.argmax(active[:, ::-1], axis=1)
    return Body(
        span=np.stack([first, last]).astype(np.int64),
        material=part,
        section=_section(pair, both, source, gain),
        film_row=film_row,
        film=np.stack(film),
        link=link,
        link_area=link_area,
        surface=np.stack([s[0] for s in surface]),
        surface_rows=np.stack([_first_of_rows(s) for s in pair]),
        surface_size=np.stack([[s[n] for s in surface] for n in (1, 2)]),
        zone=_padded([z[0] for z in zones]),
        zone_size=np.stack(
            [_padded([z[1] for z in zones]), _padded([z[2] for z in zones], zeros=True)]
        ),
        moved=moved,
        moved_volume=moved_volume,
    )


def _section(
    pair: tuple[Stage, Stage],
    faces: Sequence[tuple[Array, ...]],
    source: Array,
    gain: Array,
) -> Array:
    """Arrays over the section, each before and with the bead."""
    section = np.empty((GAIN + 1, 2, *gain.shape))
    section[VOLUME] = [stage.volume for stage in pair]
    section[PLANE] = [stage.plane for stage in pair]
    for n, row in enumerate((R_BELOW, R_ABOVE, Z_BELOW, Z_ABOVE)):
        section[row] = [paths[n] for paths in faces]
    section[ARC_SHARE], section[RADIUS], section[GAIN] = source, pair[1].r, gain
    return section


def _faces(stage: Stage, lines: Lines) -> tuple[Array, Array, Array, Array]:
    """Half distance over area on either side of every face [rad/m]; inf: no metal."""
    out = tuple(np.full(stage.volume.shape, inf) for _ in range(4))
    r_area, z_area = stage.r_area[1:-1], stage.z_area[:, 1:-1]
    with np.errstate(divide="ignore"):
        out[0][1:] = np.abs(lines.r[1:-1, None] - stage.r[:-1]) / r_area
        out[1][1:] = np.abs(stage.r[1:] - lines.r[1:-1, None]) / r_area
        out[2][:, 1:] = np.abs(lines.z[None, 1:-1] - stage.z[:, :-1]) / z_area
        out[3][:, 1:] = np.abs(stage.z[:, 1:] - lines.z[None, 1:-1]) / z_area
    for below, above in (out[0:2], out[2:4]):
        below[np.isnan(below)] = inf
        above[np.isnan(above)] = inf
    return out[0], out[1], out[2], out[3]


def _film(
    outline: Outline, lines: Lines, stage: Stage
) -> tuple[int, tuple[Array, Array, Array]]:
    """Row outside the clearance; area and metal paths of each of its cells."""
    row = int(np.argmin(np.abs(lines.r - outline.root)))
    if not outline.fitting:
        return row + 1, (np.zeros(lines.z.size - 1),) * 3
    socket_end = max(
        b.z_end for b in outline.fitting if abs(b.r_in - outline.socket_bore) < 1e-9
    )
    end = max(min(outline.pipe.z_end, socket_end), 0.0)
    z = np.clip(lines.z, 0.0, end)
    length = np.diff(z)
    area = length * (outline.root + outline.socket_bore) / 2
    area[stage.volume[row] == 0] = 0.0
    with np.errstate(divide="ignore", invalid="ignore"):
        below = (outline.root - stage.r[row - 1]) / (outline.root * length)
        above = np.maximum(stage.r[row] - outline.socket_bore, 0.0)
        above = above / (outline.socket_bore * length)
    return row, (area, np.where(area > 0, below, 0.0), np.where(area > 0, above, 0.0))


def _links(outline: Outline, lines: Lines) -> tuple[NDArray[np.int64], Array]:
    """Cells of the pipe's end and of the socket's bottom that face one another."""
    pipe = outline.pipe
    end = int(np.searchsorted(lines.z, pipe.z_end - 1e-9) - 1)
    bottom = int(np.searchsorted(lines.z, outline.socket_depth + 1e-9) - 1)
    area = np.zeros(lines.r.size - 1)
    for box in outline.fitting:
        if abs(box.z_start - outline.socket_depth) < 1e-9:
            r = np.clip(
                lines.r,
                max(pipe.r_in, box.r_in),
                max(min(pipe.r_out, box.r_out), pipe.r_in),
            )
            area += np.maximum(np.diff(r**2), 0.0) / 2
    rows = np.flatnonzero(area > 0)
    link = np.array([(i, end, i, bottom) for i in rows], dtype=np.int64).reshape(-1, 4)
    return link, area[rows]


def _surface_arrays(stage: Stage, size: int) -> tuple[NDArray[np.int64], Array, Array]:
    """Surface elements padded to one length: (size, 3) cell and kind, area, depth."""
    s = stage.surface
    order = np.lexsort((s.j, s.i))
    place = np.zeros((size, 3), dtype=np.int64)
    place[: s.i.size] = np.stack([s.i, s.j, s.kind], axis=1)[order]
    place[s.i.size :] = place[0]
    area, depth = np.zeros(size), np.zeros(size)
    area[: s.i.size] = s.area[order]
    node = s.normal_r * stage.r[s.i, s.j] + s.normal_z * stage.z[s.i, s.j]
    depth[: s.i.size] = np.abs(node - s.offset)[order]
    return place, area, depth


def _first_of_rows(stage: Stage) -> NDArray[np.int64]:
    """First surface element of each row of cells, one past the last, (nr + 1,)."""
    rows = np.arange(stage.volume.shape[0] + 1)
    return np.searchsorted(np.sort(stage.surface.i), rows).astype(np.int64)


def zone_of(stage: Stage, lines: Lines, outline: Outline) -> Zone:
    """Points of the interpass zone: its cells, and where grid lines leave it.

    The hottest point often lies on the zone's edge, inside the socket: taking cells alone
    would move it by up to half a cell. Each point (n, 4) lies between two cells, at a
    share (n,) of the way; the metal (n,) it stands for in the mean is what its cell, or
    the cell beyond the edge, has within the zone.
    """
    root, edge = outline.root, outline.band[0] / 2
    toes = (
        (root, -stage.fillet.leg_pipe - edge),
        (root + stage.fillet.leg_socket, edge),
    )
    near = np.any([np.hypot(stage.r - r, stage.z - z) <= ZONE for r, z in toes], axis=0)
    metal = stage.volume > 0
    inside = metal & (near | (stage.fillet_volume > 0))
    volume = stage.volume * _share_within(stage, lines, toes)
    cells = np.argwhere(inside)
    out = _leaving(stage, inside, metal)
    share = np.array([_crossing(stage, pair, toes) for pair in out])
    out, share = out[share > 0.0], share[share > 0.0]
    flat = out[:, 2] * metal.shape[1] + out[:, 3]
    often = np.bincount(flat, minlength=metal.size)[flat]
    return (
        np.concatenate([np.hstack([cells, cells]), out]).astype(np.int64),
        np.concatenate([np.zeros(len(cells)), share]),
        np.concatenate([volume[inside], volume.ravel()[flat] / often]),
    )


def _share_within(
    stage: Stage, lines: Lines, toes: tuple[tuple[float, float], ...]
) -> Array:
    """Share of each cell that lies in the interpass zone, by a grid of points in it."""
    part = (np.arange(PARTS_OF_A_CELL) + 0.5) / PARTS_OF_A_CELL
    rows, columns = (
        _reached(edges, [toe[n] for toe in toes])
        for n, edges in enumerate((lines.r, lines.z))
    )
    r = (lines.r[:-1, None] + np.diff(lines.r)[:, None] * part)[rows, None, :, None]
    z = (lines.z[:-1, None] + np.diff(lines.z)[:, None] * part)[None, columns, None, :]
    near = np.any([np.hypot(r - a, z - b) <= ZONE for a, b in toes], axis=0)
    share = np.zeros(stage.volume.shape)
    share[rows, columns] = near.mean(axis=(2, 3))
    return np.where(stage.fillet_volume > 0, 1.0, share)


def _reached(edges: Array, places: list[float]) -> slice:
    """Cells between such lines that may have something of the zone."""
    first = int(np.searchsorted(edges, min(places) - ZONE)) - 1
    last = int(np.searchsorted(edges, max(places) + ZONE))
    return slice(max(first, 0), max(last, 0))


def _leaving(
    stage: Stage, inside: NDArray[np.bool_], metal: NDArray[np.bool_]
) -> NDArray[np.int64]:
    """Pairs of cells joined by metal, the first in the zone, the second not, (n, 4)."""
    pairs = []
    for area, along in (
        (stage.r_area[1:-1], np.array([1, 0])),
        (stage.z_area[:, 1:-1], np.array([0, 1])),
    ):
        rows, columns = area.shape
        here = (slice(None, rows), slice(None, columns))
        there = (slice(along[0], None), slice(along[1], None))
        joined = (area > 0) & metal[here] & metal[there]
        up = np.argwhere(joined & inside[here] & ~inside[there])
        down = np.argwhere(joined & inside[there] & ~inside[here])
        pairs += [np.hstack([up, up + along]), np.hstack([down + along, down])]
    return np.concatenate(pairs)


def _crossing(
    stage: Stage, pair: NDArray[np.int64], toes: tuple[tuple[float, float], ...]
) -> float:
    """Share of the way from one cell to the next at which the zone ends; 0 nowhere."""
    i, j, p, q = pair
    along = np.array([stage.r[p, q] - stage.r[i, j], stage.z[p, q] - stage.z[i, j]])
    reached = 0.0
    for r, z in toes:
        off = np.array([stage.r[i, j] - r, stage.z[i, j] - z])
        a, b, c = along @ along, off @ along, off @ off - ZONE**2
        if c <= 0.0:
            reached = max(reached, float(np.sqrt(b * b - a * c) - b) / float(a))
    return min(reached, 1.0)


def _padded(arrays: list[NDArray], *, zeros: bool = False) -> NDArray:
    """Stack arrays of unlike length; padding repeats the first entry or is zero."""
    size = max(len(a) for a in arrays)
    rows = []
    for a in arrays:
        fill = np.zeros_like(a[:1]) if zeros else a[:1]
        rows.append(np.concatenate([a, *[fill] * (size - len(a))]))
    return np.ascontiguousarray(np.stack(rows))  # one layout: compiled once


def _moves(before: Stage, after: Stage) -> tuple[NDArray[np.int64], Array, Array]:
    """Metal that changes owner when a bead is laid, and what each cell gains."""
    columns = before.volume.shape[1]
    old, new = before.owner.ravel(), after.owner.ravel()
    there = before.fillet_volume.ravel()
    cells = np.flatnonzero((there > 0) & (old != new))
    moved = np.stack(
        [old[cells] // columns, old[cells] % columns, new[cells] // columns,
         new[cells] % columns], axis=1,
    )  # fmt: skip
    added = (after.fillet_volume - before.fillet_volume).ravel()
    gain = np.bincount(new, added, minlength=new.size).reshape(before.volume.shape)
    return moved.astype(np.int64), there[cells], np.maximum(gain, 0.0)


def source_shares(
    stages: tuple[Stage, ...], p: int, outline: Outline, *, in_place: bool
) -> Array:
    """Share of the arc's heat per cell for pass ``p``: before its bead, and with it."""
    with_bead = _bead_share(stages, p, outline, stages[-1] if in_place else stages[p + 1])
    if in_place:
        return np.stack([with_bead, with_bead])
    ahead = _beside(stages[p], stages[p + 1], with_bead)
    return np.stack([ahead, with_bead])


def _bead_share(
    stages: tuple[Stage, ...], p: int, outline: Outline, owner_stage: Stage
) -> Array:
    """Spread over the new bead; without new metal the last one, or round the root."""
    for q in range(p, -1, -1):
        added = stages[q + 1].fillet_volume - stages[q].fillet_volume
        if added.sum() > 0:
            owned = np.bincount(owner_stage.owner.ravel(), added.ravel(), added.size)
            owned = np.maximum(owned, 0.0).reshape(added.shape)
            return owned / owned.sum()
    metal = owner_stage.volume > 0
    distance = np.hypot(owner_stage.r - outline.root, owner_stage.z)
    nearest = float(distance[metal].min())  # on coarse cells it may lie beyond the reach
    there = distance <= max(AUTOGENOUS_REACH, nearest)
    if outline.band[0]:
        width, depth = outline.band
        deep_enough = owner_stage.r > outline.root - depth
        there = deep_enough & (np.abs(owner_stage.z) < width / 2)
    near = np.where(there, owner_stage.volume, 0.0)
    return near / near.sum()


def _beside(before: Stage, after: Stage, share: Array) -> Array:
    """Metal already there that the new bead will touch, by area of contact."""
    old = before.volume > 0
    contact = np.zeros_like(share)
    new = share > 0
    r_area, z_area = after.r_area, after.z_area
    contact[:-1] += np.where(new[1:], r_area[1:-1], 0.0)
    contact[1:] += np.where(new[:-1], r_area[1:-1], 0.0)
    contact[:, :-1] += np.where(new[:, 1:], z_area[:, 1:-1], 0.0)
    contact[:, 1:] += np.where(new[:, :-1], z_area[:, 1:-1], 0.0)
    contact[~old] = 0.0
    if contact.sum() == 0.0:  # no new metal, or none that touches
        contact = np.where(old, share, 0.0)
    return contact / contact.sum() if contact.sum() > 0 else share
