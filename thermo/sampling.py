"""Plausible joints: the same ones for the same seed, spread evenly over the doubt."""

import warnings

import numpy as np
from numpy.typing import NDArray

from .joint import Case
from .priors import Prior, plausible, value_at

Array = NDArray[np.float64]

SAMPLES = 128  # a power of two, as Sobol's sequence wants
SEED = 20


def normal_scores(samples: int, numbers: int, seed: int = SEED) -> Array:
    """Draw standard normal scores, (samples, numbers), by a scrambled Sobol sequence.

    Source: `scipy.stats.qmc.Sobol`; the extremes are kept within 3.5.

    Examples
    --------
    >>> bool(np.all(normal_scores(8, 3) == normal_scores(8, 3)))
    True
    """
    from scipy.special import ndtri  # noqa: PLC0415 - half a second of a quick run
    from scipy.stats import qmc  # noqa: PLC0415

    with warnings.catch_warnings():  # any number of samples may be asked for
        warnings.filterwarnings("ignore", message="The balance properties of Sobol")
        even = qmc.Sobol(max(numbers, 1), seed=seed).random(samples)
    return np.clip(ndtri(even), -3.5, 3.5)[:, :numbers]


def joint_at(case: Case, found: tuple[Prior, ...], scores: Array) -> Case:
    """Plausible joint at one row of scores, (numbers,)."""
    values = tuple(value_at(p, float(s)) for p, s in zip(found, scores, strict=True))
    return plausible(case, found, values)
