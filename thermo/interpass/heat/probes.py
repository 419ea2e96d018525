"""Temperatures at chosen places: each probe a weighted sum of nearby cells.

What it computes: ``thermo/MODEL.md``, section 6.
"""

from math import pi

import numpy as np
from numpy.typing import NDArray

from ..joint.case import Case
from ..joint.places import measuring_place
from ..text.arrays import Array
from .arrays import Probes
from .model import Model
from .section import Stage

Weights = dict[tuple[int, int], float]
MOST = 10  # cells a probe can draw on: 5 in the section, at two angles


def make_probes(model: Model, n_theta: int | None = None) -> Probes:
    """Weights for the case's probes, its watch points, then its measuring place.

    ``n_theta`` is the number of cells round the ring where it is not the model's.
    """
    n_theta = n_theta or model.n_theta
    places = [(p.r, p.z, p.angle) for p in model.case.probes]
    places += [(w.r, w.z, 0.0) for w in model.case.limits.watch]
    reading = measuring_place(model.case)
    places.append((reading.r, reading.z, reading.angle))
    cell = np.zeros((len(places), MOST, 3), dtype=np.int64)
    weight = np.zeros((len(places), MOST))
    for n, (r, z, angle) in enumerate(places):
        entries = [
            ((i, m, j), share * w)
            for m, share in around(angle, n_theta).items()
            for (i, j), w in section_weights(model, r, z).items()
        ]
        for q, (where, w) in enumerate(entries):
            cell[n, q], weight[n, q] = where, w
    return Probes(cell, weight)


def around(angle: float, n_theta: int) -> dict[int, float]:
    """Cells of the ring either side of an angle and their shares, linear between.

    >>> around(0.0, 1)
    {0: 1.0}
    """
    if n_theta == 1:
        return {0: 1.0}
    x = angle / (2 * pi) * n_theta - 0.5
    m = int(np.floor(x))
    return {m % n_theta: 1 - (x - m), (m + 1) % n_theta: x - m}


def section_weights(model: Model, r: float, z: float) -> Weights:
    """Cell that holds the point, corrected by the slope to its neighbours.

    Where a neighbour is missing, or is another part's metal, the slope comes from the
    other side alone, so that a probe on a surface is extrapolated and not flattened.
    """
    stage = model.stages[-1]
    part = model.bodies[-1].material
    i, j = nearest_cell(stage, model, r, z)
    weights: Weights = {(i, j): 1.0}
    for axis, offset in ((0, r - stage.r[i, j]), (1, z - stage.z[i, j])):
        sides = _neighbours(stage, part, i, j, axis)
        place = stage.r if axis == 0 else stage.z
        if len(sides) == 2:
            a, b = sides
        elif sides:
            a, b = (sides[0], (i, j)) if sides[0] < (i, j) else ((i, j), sides[0])
        else:
            continue
        slope = offset / (place[b] - place[a])
        weights[b] = weights.get(b, 0.0) + slope
        weights[a] = weights.get(a, 0.0) - slope
    return weights


def no_colder_than_surroundings(case: Case, temperature: Array) -> Array:
    """Temperatures of probes, none below both air and the piece as it began [K].

    No cell ever is. A place beyond the middle of its cell is drawn along the slope there, and
    while the heat of a new arc arrives that slope is steeper than the one beyond: by up to 3 K
    too cold on 1 mm cells, 8 K on 2 mm.
    """
    least = min(case.surroundings.air, case.surroundings.start)
    return np.maximum(temperature, least)


def nearest_cell(stage: Stage, model: Model, r: float, z: float) -> tuple[int, int]:
    """Cell that owns the metal at a place, or the closest metal."""
    i = int(np.clip(np.searchsorted(model.lines.r, r) - 1, 0, stage.r.shape[0] - 1))
    j = int(np.clip(np.searchsorted(model.lines.z, z) - 1, 0, stage.r.shape[1] - 1))
    i, j = divmod(int(stage.owner[i, j]), stage.r.shape[1])
    if stage.volume[i, j] > 0:
        return i, j
    distance = np.hypot(stage.r - r, stage.z - z)
    distance[stage.volume == 0] = np.inf
    i, j = divmod(int(distance.argmin()), stage.r.shape[1])
    return i, j


def _neighbours(
    stage: Stage, part: NDArray[np.int64], i: int, j: int, axis: int
) -> list[tuple[int, int]]:
    """Cells of the same metal joined to this one along an axis, lower first."""
    found = []
    for step in (-1, 1):
        p, q = (i + step, j) if axis == 0 else (i, j + step)
        face = max(i, p) if axis == 0 else max(j, q)
        area = stage.r_area[face, j] if axis == 0 else stage.z_area[i, face]
        inside = 0 <= p < part.shape[0] and 0 <= q < part.shape[1]
        if inside and area > 0 and part[p, q] == part[i, j]:
            found.append((p, q))
    return found
