"""Grid lines: on every feature of the joint, fine near the weld, coarse far from it."""

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

GROWTH_LENGTH = 5.0e-3  # m from the fine region over which the cell doubles
MERGE = 0.3  # features closer than this share of a cell share a line


def graded_lines(features: list[float], fine: tuple[float, float], cell: float) -> Array:
    """Grid lines through ``features``, growing with the distance from ``fine`` [m].

    The wanted cell at ``x`` is ``cell * (1 + distance / GROWTH_LENGTH)``, so that
    halving ``cell`` halves every cell and convergence studies stay clean.

    Parameters
    ----------
    features : list of float
        Positions that must be lines; the outermost two bound the grid [m]. Features
        closer together than ``MERGE * cell`` share the first one's line (the section
        is clipped exactly, so no metal is lost).
    fine : (float, float)
        Where cells have their smallest size [m].
    cell : float
        That size [m].

    Returns
    -------
    (n + 1,) array, strictly increasing [m].

    Examples
    --------
    >>> graded_lines([0.0, 2e-3], (0.0, 2e-3), 1e-3).tolist()
    [0.0, 0.001, 0.002]
    """
    stops = distinct(features, fine, cell)
    pieces = [_interval(low, high, fine, cell)[:-1] for low, high in pairwise(stops)]
    return np.append(np.concatenate(pieces), stops[-1])


def distinct(
    features: list[float], fine: tuple[float, float], cell: float
) -> list[float]:
    """Features far enough apart to be lines; the ends are always kept [m]."""
    low, high = min(features), max(features)
    kept: list[float] = [low, high]
    for x in features:
        wanted = MERGE * _wanted(np.array([x]), fine, cell)[0]
        if all(abs(x - other) > wanted for other in kept):
            kept.append(x)
    return sorted(kept)


def _wanted(x: Array, fine: tuple[float, float], cell: float) -> Array:
    distance = np.maximum(np.maximum(fine[0] - x, x - fine[1]), 0.0)
    return cell * (1 + distance / GROWTH_LENGTH)


def _count_to(x: Array, fine: tuple[float, float], cell: float) -> Array:
    """Cells between ``fine[0]`` and ``x``, as a real number (integral of 1 / wanted)."""
    below = np.minimum(x - fine[0], 0.0)
    above = np.maximum(x - fine[1], 0.0)
    inside = np.clip(x - fine[0], 0.0, fine[1] - fine[0])
    scale = GROWTH_LENGTH / cell
    tails = np.log1p(above / GROWTH_LENGTH) - np.log1p(-below / GROWTH_LENGTH)
    return inside / cell + scale * tails


def _interval(low: float, high: float, fine: tuple[float, float], cell: float) -> Array:
    """Lines from one feature to the next, equidistributing the wanted cell [m]."""
    ends = _count_to(np.array([low, high]), fine, cell)
    n = max(1, int(np.ceil(ends[1] - ends[0] - 1e-6)))
    count = np.linspace(ends[0], ends[1], n + 1)
    inside = fine[0] + np.clip(count, 0.0, (fine[1] - fine[0]) / cell) * cell
    beyond = np.maximum(count - (fine[1] - fine[0]) / cell, 0.0)
    before = np.minimum(count, 0.0)
    lines = inside + GROWTH_LENGTH * (
        np.expm1(beyond * cell / GROWTH_LENGTH) - np.expm1(-before * cell / GROWTH_LENGTH)
    )
    lines[0], lines[-1] = low, high
    return lines
