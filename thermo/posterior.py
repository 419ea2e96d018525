"""What readings leave of the doubt: best fit and curvature, and a check of both.

Least squares over standard normal scores, one per doubtful number, with the priors as
equations of their own; one more score is the error of the model itself, common to all
readings.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .joint import Case
from .misfit import misfit
from .priors import Prior
from .quick import MODEL_ERROR
from .reading_places import Places, predict
from .readings import Reading
from .sampling import joint_at, normal_scores

Array = NDArray[np.float64]

STEP = 0.2  # of a score: differences over it do not see the steps of the solver
ROUNDS = 20
CLOSE = 2e-3  # of all scores: converged
FARTHEST = 2.0  # scores in one round; the answer is nearly a straight line in them
DRAWS = 32  # joints that are weighted
WIDER = 1.2  # proposals of the importance weights, times the doubt left


@dataclass(frozen=True, eq=False)
class Posterior:
    """Best fit and doubt left; the last score is the model's own error."""

    priors: tuple[Prior, ...]
    centre: Array  # (numbers + 1,) scores of the best fit
    covariance: Array  # (numbers + 1, numbers + 1)
    predicted: Array  # (readings,) K at the best fit, model error and all
    slope: Array  # (readings, numbers + 1) K per score there


@dataclass(frozen=True)
class Weighed:
    """The same doubt by importance weights, for comparison."""

    mean: Array  # (numbers + 1,) scores
    deviation: Array  # (numbers + 1,)
    effective: float  # number of equally weighted draws that would say as much
    draws: int


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
    """Best fit by Gauss-Newton, and the inverse of the curvature there.

    The curvature is that of Gauss and Newton: exact where readings change in proportion
    to the scores, as they nearly do here.
    """
    scores = np.zeros(len(found) + 1)
    for _ in range(ROUNDS):
        predicted = predicted_at(places, case, found, readings, scores)
        slope = slopes_at(places, case, found, readings, scores)
        off, weight = _residuals(readings, predicted)
        weighted = weight[:, None] * slope
        curvature = np.eye(scores.size) + weighted.T @ weighted
        step = np.linalg.solve(curvature, -(weighted.T @ off + scores))
        step *= min(1.0, FARTHEST / max(float(np.abs(step).max()), 1e-12))
        if np.abs(step).max() < CLOSE:
            break
        scores = scores + step
    left = np.linalg.inv(curvature).astype(float)
    return Posterior(found, scores, left, predicted, slope)


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
