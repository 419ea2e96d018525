"""Predictions at the places read; Gauss-Newton, importance weights.

What readings leave of the doubt: best fit and curvature, and a check of both.

Least squares over standard normal scores, one per doubtful number, with the priors as
equations of their own; one more score is the error of the model itself, common to all
readings.

Where and when readings were taken, and what a plausible joint would have shown there.

What it computes: ``thermo/MODEL.md``, section 9.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..doubt.priors import Prior
from ..doubt.samples import joint_at, normal_scores
from ..heat import stand_in as quickly
from ..heat.history import History
from ..heat.more import Quick
from ..heat.stand_in import MODEL_ERROR
from ..heat.waits import plan
from ..joint.case import Case, Measure, Probe
from ..joint.places import measuring_place
from ..text.arrays import Array
from .reading import Reading, misfit

STEP = 0.2  # of a score: differences over it do not see the steps of the solver
ROUNDS = 20
CLOSE = 2e-3  # of all scores: converged
FARTHEST = 2.0  # scores in one round; the answer is nearly a straight line in them
DRAWS = 32  # joints that are weighted
WIDER = 1.2  # proposals of the importance weights, times the doubt left


Look = Callable[[Array], tuple[Array, Array]]
"""Of scores (scores,): the readings predicted (readings,) [K] and their slopes (readings, scores)."""


@dataclass(frozen=True, eq=False)
class Likeliest:
    """Most likely scores, and the inverse of the curvature there."""

    centre: Array  # (scores,)
    covariance: Array  # (scores, scores)
    evidence: float  # log of how likely the readings were before any of it was known


@dataclass(frozen=True, eq=False)
class Posterior:
    """Best fit and doubt left; the last score is the model's own error."""

    priors: tuple[Prior, ...]
    centre: Array  # (numbers + 1,) scores of the best fit
    covariance: Array  # (numbers + 1, numbers + 1)


@dataclass(frozen=True)
class Weighed:
    """The same doubt by importance weights, for comparison."""

    mean: Array  # (numbers + 1,) scores
    deviation: Array  # (numbers + 1,)
    effective: float  # number of equally weighted draws that would say as much
    draws: int


@dataclass(frozen=True, eq=False)
class Places:
    """The joint with a probe at every place that was read."""

    quick: Quick
    history: History
    column: tuple[int, ...]  # of each reading, in the probes
    longest: dict[int, float]  # s read at after each pass that was read


def predicted_at(
    places: Places,
    case: Case,
    found: tuple[Prior, ...],
    readings: Sequence[Reading],
    scores: Array,
) -> Array:
    """Predict the readings of the joint at some scores, the model's error added [K]."""
    joint = joint_at(case, found, scores[:-1])
    return predict(places, joint, readings) + MODEL_ERROR * scores[-1]


def slopes_at(
    places: Places,
    case: Case,
    found: tuple[Prior, ...],
    readings: Sequence[Reading],
    scores: Array,
) -> Array:
    """Change of every reading with every score, (readings, numbers + 1) [K]."""
    columns = []
    for n in range(len(found)):
        step = np.zeros(scores.size)
        step[n] = STEP / 2
        up, down = (
            predicted_at(places, case, found, readings, scores + way * step)
            for way in (1, -1)
        )
        columns.append((up - down) / STEP)
    columns.append(np.full(len(readings), MODEL_ERROR))
    return np.stack(columns, axis=1)


def find_posterior(
    places: Places, case: Case, found: tuple[Prior, ...], readings: Sequence[Reading]
) -> Posterior:
    """Best fit of one joint, and the doubt left."""
    look = look_at(places, case, found, readings)
    peak = find_peak(look, readings, len(found) + 1)
    return Posterior(found, peak.centre, peak.covariance)


def look_at(
    places: Places, case: Case, found: tuple[Prior, ...], readings: Sequence[Reading]
) -> Look:
    """Predict readings and their slopes by runs of the joint."""

    def look(scores: Array) -> tuple[Array, Array]:
        predicted = predicted_at(places, case, found, readings, scores)
        return predicted, slopes_at(places, case, found, readings, scores)

    return look


def find_peak(look: Look, readings: Sequence[Reading], count: int) -> Likeliest:
    """Best fit of standard normal scores by Gauss-Newton, and the curvature there.

    The curvature is that of Gauss and Newton: exact where readings change in proportion
    to the scores, as they nearly do here. The evidence is Laplace's: exact in that case.
    """
    scores = np.zeros(count)
    for _ in range(ROUNDS):
        predicted, slope = look(scores)
        off, weight = _residuals(readings, predicted)
        weighted = weight[:, None] * slope
        curvature = np.eye(scores.size) + weighted.T @ weighted
        step = np.linalg.solve(curvature, -(weighted.T @ off + scores))
        step *= min(1.0, FARTHEST / max(float(np.abs(step).max()), 1e-12))
        if np.abs(step).max() < CLOSE:
            break
        scores = scores + step
    left = np.linalg.inv(curvature).astype(float)
    wide = np.linalg.slogdet(curvature)[1]
    return Likeliest(scores, left, float(-(off @ off + scores @ scores + wide) / 2))


def _residuals(readings: Sequence[Reading], predicted: Array) -> tuple[Array, Array]:
    """Misfit of every reading and its slope per K."""
    off = np.array([misfit(r, T) for r, T in zip(readings, predicted, strict=True)])
    step = 0.05 * np.array([r.error for r in readings])
    up, down = (
        np.array(
            [misfit(r, T) for r, T in zip(readings, predicted + way * step, strict=True)]
        )
        for way in (1, -1)
    )
    return off, (up - down) / (2 * step)


def draw(posterior: Posterior, samples: int, wider: float = 1.0) -> Array:
    """Scores of plausible joints after the readings, (samples, numbers + 1)."""
    lower = np.linalg.cholesky(posterior.covariance)
    spread = normal_scores(samples, posterior.centre.size) @ lower.T
    return posterior.centre + wider * spread


def weigh(
    places: Places,
    case: Case,
    posterior: Posterior,
    readings: Sequence[Reading],
    samples: int = DRAWS,
) -> Weighed:
    """Mean and deviation of the scores by importance weights.

    Joints are drawn wider than the doubt left and weighted by what prior and readings
    really say of each, so the fit's straight lines are not taken for granted.
    """
    scores = draw(posterior, samples, WIDER)
    lower = np.linalg.cholesky(posterior.covariance)
    standard = np.linalg.solve(lower, (scores - posterior.centre).T) / WIDER
    logs = np.empty(samples)
    for n, row in enumerate(scores):
        predicted = predicted_at(places, case, posterior.priors, readings, row)
        off = [misfit(r, T) for r, T in zip(readings, predicted, strict=True)]
        logs[n] = -(np.dot(off, off) + row @ row) / 2
    logs += (standard**2).sum(axis=0) / 2
    weight = np.exp(logs - logs.max())
    weight /= weight.sum()
    mean = weight @ scores
    deviation = np.sqrt(weight @ (scores - mean) ** 2)
    return Weighed(mean, deviation, float(1 / (weight**2).sum()), samples)


def find_places(
    case: Case, readings: Sequence[Reading], history: History | None = None
) -> Places:
    """Run the best estimate with probes at the places read, and its quick model.

    ``history`` is used as it is when every reading is at the case's own place.
    """
    places = [_measure(case, reading) for reading in readings]
    own = all(place == case.measure for place in places)
    if history is None or not own:
        case = replace(case, probes=(*case.probes, *(_probe(case, p) for p in places)))
        history = plan(case)
    first = len(case.probes) - len(places)
    columns = range(first, first + len(places))
    if own:
        columns_used = tuple(len(history.traces) - 1 for _ in readings)
    else:
        columns_used = tuple(columns)
    longest: dict[int, float] = {}
    for reading in readings:
        after = reading.after_pass
        longest[after] = max(longest.get(after, 0.0), reading.since)
    quick = quickly.prepare(case, history)
    return Places(quick, history, columns_used, longest)


def _measure(case: Case, reading: Reading) -> Measure:
    """Place of one reading; what it leaves out is the case's own."""
    own = case.measure
    angle = own.angle if reading.angle is None else reading.angle
    from_toe = own.from_toe if reading.from_toe is None else reading.from_toe
    return Measure(reading.on, from_toe, angle)


def _probe(case: Case, measure: Measure) -> Probe:
    place = measuring_place(replace(case, measure=measure))
    return Probe("reading", place.r, place.z, place.angle)


def predict(places: Places, case: Case, readings: Sequence[Reading]) -> Array:
    """Temperature of a plausible joint at every reading [K]."""
    quick = places.quick
    options = replace(
        case, model=quick.case.model, passes=case.passes[: len(quick.waits)]
    )
    courses = {
        after: quickly.after_pass(quick, options, after, longest + 1.0, to_limit=False)
        for after, longest in places.longest.items()
    }
    return np.array(
        [
            np.interp(
                reading.since,
                courses[reading.after_pass].since,
                courses[reading.after_pass].traces[:, column],
            )
            for reading, column in zip(readings, places.column, strict=True)
        ]
    )
