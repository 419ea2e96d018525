"""Plausible joints, each run twice on the quick model."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from . import quick as quickly
from .joint import Case
from .priors import Prior
from .quick import Course, Quick
from .sampling import joint_at

Array = NDArray[np.float64]
Progress = Callable[[float, str], None]


@dataclass(frozen=True, eq=False)
class Ensemble:
    """Plausible joints and what each of them does; rows are joints."""

    priors: tuple[Prior, ...]
    scores: Array  # (samples, numbers)
    waits: Array  # (samples, passes) s each joint needs
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
    waits, courses = [], []
    for n, row in enumerate(scores):
        if progress:
            progress(n / len(scores), "plausible joints")
        x = as_quick(quick, joint_at(case, found, row))
        waits.append(quickly.plan_waits(quick, x))
        courses.append(quickly.follow(quick, x))
    return Ensemble(
        priors=found,
        scores=scores,
        waits=np.array(waits),
        courses=tuple(courses),
        case=case,
        middle=np.zeros(len(found)) if middle is None else middle,
    )


def as_quick(quick: Quick, case: Case) -> Case:
    """Give a case the options, and the passes run, of the quick model."""
    passes = case.passes[: len(quick.waits)]
    return replace(case, model=quick.case.model, passes=passes)
