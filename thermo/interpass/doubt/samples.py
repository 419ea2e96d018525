"""Plausible joints by a Sobol sequence, each run twice on the stand-in.

Plausible joints: the same ones for the same seed, spread evenly over the doubt.

Plausible joints, each run twice on the quick model.
"""

import warnings
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from ..heat import stand_in as quickly
from ..heat.stand_in import Course, Quick
from ..joint.case import Case
from ..text.arrays import Array
from .priors import Prior, plausible, value_at

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


Progress = Callable[[float, str], None]


@dataclass(frozen=True, eq=False)
class Ensemble:
    """Plausible joints and what each of them does; rows are joints."""

    priors: tuple[Prior, ...]
    scores: Array  # (samples, numbers)
    waits: Array  # (samples, passes) s each joint needs
    at_limit: (
        Array  # (samples, passes) K read when its hottest is at the limit; nan first
    )
    courses: tuple[Course, ...]  # each joint at the waits of the plan
    case: Case  # that the priors speak of
    middle: Array  # (numbers,) scores of the best estimate


def run_ensemble(
    quick: Quick,
    found: tuple[Prior, ...],
    scores: Array,
    progress: Progress | None = None,
    *,
    case: Case | None = None,
    middle: Array | None = None,
) -> Ensemble:
    """Run every plausible joint twice: for its waits, and at the waits of the plan.

    Parameters
    ----------
    quick : Quick
        Prepared at the best estimate.
    found : tuple of Prior
        The doubtful numbers.
    scores : (samples, numbers) array
        Plausible joints.
    case, middle : Case, (numbers,) array
        The case the priors speak of and the scores of the best estimate, where that
        is not the case itself, as after a fit.
    """
    case = case or quick.case
    waits, readings, courses = [], [], []
    for n, row in enumerate(scores):
        if progress:
            progress(n / len(scores), "plausible joints")
        x = as_quick(quick, joint_at(case, found, row))
        needed, read = quickly.waits_and_readings(quick, x)
        waits.append(needed)
        readings.append(read)
        courses.append(quickly.follow(quick, x))
    return Ensemble(
        priors=found,
        scores=scores,
        waits=np.array(waits),
        at_limit=np.array(readings),
        courses=tuple(courses),
        case=case,
        middle=np.zeros(len(found)) if middle is None else middle,
    )


def as_quick(quick: Quick, case: Case) -> Case:
    """Give a case the options, and the passes run, of the quick model."""
    passes = case.passes[: len(quick.waits)]
    return replace(case, model=quick.case.model, passes=passes)
