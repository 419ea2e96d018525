"""Plausible joints, spread evenly over the doubt, and what each of them does.

The same ones for the same seed. A few are run on the stand-in, each twice; a surface
through those tells all the others.

What it computes: ``thermo/MODEL.md``, section 8.
"""

from dataclasses import dataclass, replace
from statistics import NormalDist

import numpy as np

from ..heat import stand_in as quickly
from ..heat.more import Quick
from ..joint.case import Case
from ..text.arrays import Array
from ..text.progress import Progress
from .priors import EDGE, SHARES, Prior, coordinate, plausible, value_at
from .surface import at, surface_of

RUNS = (24, 40)  # fewest and most of them that are run; the others follow from these
CURVES = 256  # plausible joints whose whole course is told
WIDER = 1.2  # the joints that are run lie so much further out
DRAWN = "joint.end_gap"  # the number that changes the drawing
DRAWN_AT = 1.5  # scores at which it is drawn, beside none: as wide as the others are
TERCILE = 0.4307  # standard normal score of two thirds
SEED = 20


def normal_scores(samples: int, numbers: int, seed: int = SEED) -> Array:
    """Draw standard normal scores, (samples, numbers).

    A Latin hypercube: every number takes the middle of each of as many equally likely
    parts once (McKay, Beckman & Conover 1979); the extremes are kept within 3.5.

    Examples
    --------
    >>> bool(np.all(normal_scores(8, 3) == normal_scores(8, 3)))
    True
    """
    normal = NormalDist()
    parts = [normal.inv_cdf((n + 0.5) / samples) for n in range(samples)]
    rows = np.tile(np.clip(parts, -3.5, 3.5), (numbers, 1))
    return np.random.default_rng(seed).permuted(rows, axis=1).T


def runs_for(numbers: int) -> int:
    """How many joints to run for so many doubtful numbers."""
    return int(np.clip(3 * numbers + 6, *RUNS))


def design_scores(numbers: tuple[Prior, ...], seed: int = SEED) -> Array:
    """Scores of the joints to run, (runs, numbers): spread like `normal_scores`, wider.

    A number that changes the drawing takes three values, as likely: a drawing costs more
    than a run, and three tell a quadratic.
    """
    count = len(numbers)
    scores = WIDER * normal_scores(runs_for(count), count, seed)
    for column, prior in zip(scores.T, numbers, strict=True):
        if prior.key == DRAWN:
            column[:] = DRAWN_AT * np.sign(column) * (abs(column) > WIDER * TERCILE)
    return scores


def joint_at(case: Case, found: tuple[Prior, ...], scores: Array) -> Case:
    """Plausible joint at one row of scores, (numbers,)."""
    values = tuple(value_at(p, float(s)) for p, s in zip(found, scores, strict=True))
    return plausible(case, found, values)


@dataclass(frozen=True, eq=False)
class Ensemble:
    """Plausible joints and what each of them does; rows are joints."""

    priors: tuple[Prior, ...]
    scores: Array  # (samples, numbers)
    waits: Array  # (samples, passes) s each joint needs
    at_limit: Array  # (samples, passes) K read when its hottest is at the limit
    at_on: Array  # (samples, passes) K hottest at arc on, at the waits of the plan
    reading_on: Array  # (samples, passes) K read just before it
    hottest: Array  # (curves, times) K, of the first samples
    reading: Array  # (curves, times) K
    case: Case  # that the priors speak of
    middle: Array  # (numbers,) scores of the best estimate
    runs: int  # joints that were run


def run_ensemble(
    quick: Quick,
    found: tuple[Prior, ...],
    scores: Array,
    progress: Progress | None = None,
    *,
    design: Array | None = None,
    case: Case | None = None,
    middle: Array | None = None,
) -> Ensemble:
    """Tell what every plausible joint needs, and does at the waits of the plan.

    Parameters
    ----------
    quick : Quick
        Prepared at the best estimate.
    found : tuple of Prior
        The doubtful numbers.
    scores : (samples, numbers) array
        Plausible joints.
    design : (runs, numbers) array, optional
        Joints to run for a surface through them; without it every joint is run, and so
        they are when there are no more than these, or when one of these needs no wait
        or cannot reach its limit, because the answer has a corner there.
    case, middle : Case, (numbers,) array
        The case the priors speak of and the scores of the best estimate, where that
        is not the case itself, as after a fit.
    """
    case = case or quick.case
    middle = np.zeros(len(found)) if middle is None else middle

    def run(rows: Array) -> Ensemble:
        return _run_all(quick, found, rows, progress, case=case, middle=middle)

    if design is None or len(scores) <= len(design):
        return run(scores)
    few = run(design)
    if _has_corners(few, case):
        return run(scores[:MANY])
    return _told(few, scores)


MANY = 128  # joints run where no surface can stand for them


def _has_corners(ensemble: Ensemble, case: Case) -> bool:
    """Whether a joint needs no wait, or as long a one as is allowed."""
    auto = [n for n, p in enumerate(case.passes) if n and p.wait is None]
    waits = ensemble.waits[:, [n for n in auto if n < ensemble.waits.shape[1]]]
    return bool(np.any(waits <= 0) or np.any(waits >= case.limits.wait_max))


def _run_all(
    quick: Quick,
    found: tuple[Prior, ...],
    scores: Array,
    progress: Progress | None,
    *,
    case: Case,
    middle: Array,
) -> Ensemble:
    """Run every joint: at the waits of the plan, and for its own."""
    courses, needs = [], []
    for n, row in enumerate(scores):
        if progress:
            progress(n / len(scores), "plausible joints")
        x = as_quick(quick, joint_at(case, found, row))
        course, needed = quickly.follow_and_plan(quick, x)
        courses.append(course)
        needs.append(needed)
    return Ensemble(
        priors=found,
        scores=scores,
        waits=np.array([[need.wait for need in row] for row in needs]),
        at_limit=np.array([[need.reading for need in row] for row in needs]),
        at_on=np.array([c.at_on for c in courses]),
        reading_on=np.array([c.traces_on[:, -1] for c in courses]),
        hottest=np.array([c.hottest for c in courses]),
        reading=np.array([c.traces[:, -1] for c in courses]),
        case=case,
        middle=middle,
        runs=len(scores),
    )


def _told(few: Ensemble, scores: Array) -> Ensemble:
    """Tell what other joints do from those that were run."""
    count, passes = few.waits.shape
    places = coordinates(few.priors, few.scores)
    others = coordinates(few.priors, scores)
    numbers = np.concatenate(
        [np.log1p(few.waits), few.at_limit[:, 1:], few.at_on, few.reading_on], axis=1
    )
    told = at(surface_of(places, numbers), others)
    waits, limit, at_on, reading_on = np.split(
        told, np.cumsum([passes, passes - 1, passes]), axis=1
    )
    curves = np.concatenate([few.hottest, few.reading], axis=1)
    hottest, reading = np.split(
        at(surface_of(places, curves), others[:CURVES]), 2, axis=1
    )
    first = np.full((len(scores), 1), np.nan)
    return replace(
        few,
        scores=scores,
        waits=np.expm1(waits),
        at_limit=np.concatenate([first, limit], axis=1),
        at_on=at_on,
        reading_on=reading_on,
        hottest=hottest,
        reading=reading,
        runs=count,
    )


def coordinates(found: tuple[Prior, ...], scores: Array) -> Array:
    """Logarithms of the numbers over their best estimates, (samples, numbers).

    In them the answer has no bend where a band is wider on one side than on the other.
    """
    columns = [_along(p, column) for p, column in zip(found, scores.T, strict=True)]
    return np.array(columns).T


def _along(prior: Prior, scores: Array) -> Array:
    """Coordinate of one number: straight lines from the best to either end and beyond."""
    ends = [coordinate(prior, value_at(prior, edge)) for edge in (-EDGE, EDGE)]
    most = coordinate(prior, 1.0) if prior.key.endswith(SHARES) else np.inf
    moved = np.where(scores > 0, ends[1] * scores, -ends[0] * scores) / EDGE
    return np.minimum(moved, most)


def as_quick(quick: Quick, case: Case) -> Case:
    """Give a case the options, and the passes run, of the quick model."""
    passes = case.passes[: len(quick.waits)]
    return replace(case, model=quick.case.model, passes=passes)
