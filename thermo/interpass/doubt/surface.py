"""A quadratic surface through a few runs, in place of a run for every plausible joint.

The answer is smooth in the logarithms of the doubtful numbers and the numbers are few
against the runs that a full quadratic needs, so the coefficients are held small, those of
squares and products more than the slopes (ridge regression).

What it computes: ``thermo/MODEL.md``, section 8.
"""

from dataclasses import dataclass

import numpy as np

from ..text.arrays import Array

BENT = 0.1  # deviation of a square's or product's coefficient over that of a slope
ROUGH = 0.05  # what no quadratic follows, over the spread of the answer


@dataclass(frozen=True, eq=False)
class Surface:
    """Coefficients over terms made of coordinates of zero mean and unit spread."""

    centre: Array  # (numbers,) of the coordinates
    spread: Array  # (numbers,)
    mean: Array  # (answers,)
    coefficients: Array  # (terms, answers)
    miss: Array  # (answers,) rms of every run as told by all the others


def surface_of(coordinates: Array, answers: Array) -> Surface:
    """Fit a surface to runs.

    Parameters
    ----------
    coordinates : (runs, numbers) array
        Of every run.
    answers : (runs, answers) array
        What each gave.
    """
    centre, spread = coordinates.mean(axis=0), coordinates.std(axis=0)
    spread = np.where(spread > 0, spread, 1.0)
    mean, size = answers.mean(axis=0), answers.std(axis=0)
    terms, width = _terms((coordinates - centre) / spread)
    wide = terms * width**2
    noise = ROUGH**2 * np.eye(len(terms))
    inverse = np.linalg.inv(wide @ terms.T + noise)
    weights = inverse @ ((answers - mean) / np.where(size > 0, size, 1.0))
    left_out = weights / np.diag(inverse)[:, None]  # residual of each run left out
    return Surface(
        centre=centre,
        spread=spread,
        mean=mean,
        coefficients=wide.T @ weights * size,
        miss=np.sqrt((left_out**2).mean(axis=0)) * size,
    )


def at(surface: Surface, coordinates: Array) -> Array:
    """Tell the answers at other coordinates, (samples, answers)."""
    terms, _ = _terms((coordinates - surface.centre) / surface.spread)
    return surface.mean + terms @ surface.coefficients


def _terms(x: Array) -> tuple[Array, Array]:
    """Terms of a quadratic, (rows, terms), and how large their coefficients may be."""
    n = x.shape[1]
    first, second = np.triu_indices(n)
    ones = np.ones((len(x), 1))
    terms = np.concatenate([ones, x, x[:, first] * x[:, second]], axis=1)
    return terms, np.concatenate([np.ones(n + 1), np.full(first.size, BENT)])
