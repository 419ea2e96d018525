"""Heat laid over the section of a joint: colours, and lines of one temperature."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import Normalize
from matplotlib.path import Path

from ..heat.history import Snapshot
from ..heat.model import Model, make_model
from ..heat.section import part_of_cells
from ..joint.case import Case
from ..joint.outline import FITTING, PIPE
from ..text.arrays import Array
from .parts import View, box_shape, fillet_shape, fitting_shape

COLOURS = "inferno"  # even to the eye and in grey; as the picture of the ring
CLIP = 1073.15  # K, 800 degC: above is the pool and its glow


@dataclass(frozen=True)
class Heat:
    """Temperatures to lay over a section, and how to show them."""

    model: Model
    temperature: Array  # (nr, nz) K; nan without metal
    colours: Normalize  # K
    levels: tuple[float, ...] = ()  # K, isotherms
    limit: float | None = None  # K, marked
    words: tuple[str, ...] = ()  # one per level


def heat_of(
    case: Case,
    snapshot: Snapshot,
    colours: Normalize,
    *,
    angle: float | None = None,
    levels: tuple[float, ...] = (),
    words: tuple[str, ...] = (),
    model: Model | None = None,
) -> Heat:
    """Take the section of a snapshot at one angle [rad]; the mean round the ring if None."""
    ring = snapshot.temperature
    n = ring.shape[1]
    if angle is None:
        T = ring.mean(axis=1)
    else:
        T = ring[:, int(np.floor(angle / (2 * np.pi) * n)) % n]
    limit = case.limits.interpass_max
    return Heat(model or make_model(case), T, colours, levels, limit, words)


def draw_heat(axes: Axes, view: View, laid: tuple[Any, ...], heat: Heat) -> None:
    """Fill the metal with its temperature and draw the isotherms."""
    lines = heat.model.lines
    z, r = nodes(lines.z), nodes(lines.r)
    first = max(int(np.searchsorted(z, view.z_low)) - 1, 0)
    seen = slice(first, int(np.searchsorted(z, view.z_high)) + 1)
    for part, shape in _regions(view, laid, heat):
        T = np.pad(_filled(part), 1, "edge")[:, seen]
        mesh = axes.pcolormesh(
            z[seen],
            r,
            T,
            shading="gouraud",
            cmap=COLOURS,
            norm=heat.colours,
            rasterized=True,
        )
        mesh.set_clip_path(shape, axes.transData)
        levels = [x for x in heat.levels if T.min() < x < T.max()]
        _contour(axes, (z[seen], r, T), levels, shape, lw=0.9)
        if heat.limit is not None and T.min() < heat.limit < T.max():
            _contour(axes, (z[seen], r, T), [heat.limit], shape, lw=2.4, dashed=True)


def _contour(
    axes: Axes,
    field: tuple[Array, Array, Array],
    levels: list[float],
    shape: Path,
    lw: float,
    *,
    dashed: bool = False,
) -> None:
    """Draw lines of one temperature, white on a dark edge, inside a shape."""
    if not levels:
        return
    for width, colour, style in (
        (lw + 1.2, "black", "solid"),
        (lw, "white", "dashed" if dashed else "solid"),
    ):
        drawn = axes.contour(
            *field, levels=levels, colors=colour, linewidths=width, linestyles=style
        )
        drawn.set_clip_path(shape, axes.transData)


def _regions(
    view: View, laid: tuple[Any, ...], heat: Heat
) -> Iterator[tuple[Array, Path]]:
    """Fields (nr, nz) and the shape each is shown in.

    Heat jumps across the clearance: inside the socket neither part lends the other its
    temperatures.
    """
    o, T = view.outline, heat.temperature
    part = part_of_cells(o, heat.model.lines)
    outside = fillet_shape(o.root, laid[-1])
    pipe = box_shape(o.pipe, view)
    fitting = np.where(part == PIPE, np.nan, T)
    yield fitting, fitting_shape(view)
    if pipe is not None:
        beyond = heat.model.lines.z[:-1] >= 0.0
        yield np.where((part == FITTING) & beyond, np.nan, T), pipe
    if outside is not None:
        yield T, outside


def label_isotherms(axes: Axes, view: View, heat: Heat) -> None:
    """Write each level once on either side, in the middle of pipe and socket walls."""
    o, lines = view.outline, heat.model.lines
    socket = max([b.r_out for b in o.fitting if b.z_start == 0.0] or [o.pipe.r_in])
    z = (lines.z[1:] + lines.z[:-1]) / 2
    least = 0.055 * (view.z_high - view.z_low)
    legs = heat.model.fillets[-1]
    sides = [
        ((o.pipe.r_in + o.pipe.r_out) / 2, z < -legs.leg_pipe / 2),
        ((o.socket_bore + socket) / 2, z > 0.0),
    ]
    for r, side in sides:
        row = int(np.searchsorted(lines.r, r)) - 1
        T = heat.temperature[row]
        seen = (
            side & (z > view.z_low + least) & (z < view.z_high - least) & np.isfinite(T)
        )
        taken: list[float] = []
        for x, words in _crossings(z[seen], T[seen], heat):
            if all(abs(x - other) > least for other in taken):
                taken.append(x)
                axes.text(
                    x, r, words, fontsize=8, ha="center", va="center", rotation=90,
                    color="black", bbox={"boxstyle": "round,pad=0.15", "fc": "white",
                                         "ec": "none", "alpha": 0.85},
                )  # fmt: skip


def _crossings(z: Array, T: Array, heat: Heat) -> Iterator[tuple[float, str]]:
    """Where the levels lie along one row, hottest first, with their words."""
    for level, words in sorted(zip(heat.levels, heat.words, strict=True), reverse=True):
        above = level < T
        for n in np.flatnonzero(above[1:] != above[:-1]):
            share = (level - T[n]) / (T[n + 1] - T[n])
            yield float(z[n] + share * (z[n + 1] - z[n])), words


def nodes(edges: Array) -> Array:
    """Middles of the cells, and the two ends."""
    return np.concatenate([edges[:1], (edges[1:] + edges[:-1]) / 2, edges[-1:]])


def _filled(T: Array) -> Array:
    """Give cells without metal the temperature of the nearest with some."""
    return T[nearest_metal(np.isnan(T))]


def nearest_metal(empty: Array) -> tuple[Array, Array]:
    """Rows and columns of the nearest cell with metal, each (nr, nz)."""
    from scipy.ndimage import distance_transform_edt  # noqa: PLC0415 - slow to load

    i, j = distance_transform_edt(empty, return_distances=False, return_indices=True)
    return i, j
