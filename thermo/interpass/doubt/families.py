"""Families of cooling curves: what one reading says about the wait.

Before each pass the plausible joints lie, nearly, along one line from cooler to hotter;
its members are run on the quick model. A reading picks the member in between.
"""

from dataclasses import dataclass

import numpy as np

from ..heat import stand_in as quickly
from ..heat.stand_in import MODEL_ERROR, Quick
from ..text.arrays import Array
from .priors import READING_ERROR
from .samples import Ensemble, as_quick, joint_at


@dataclass(frozen=True, eq=False)
class Family:
    """Cooling curves of the plausible joints before one pass, coolest first.

    A reading picks the member in between; the wait is that member's.
    """

    number: int  # of the pass the wait comes before
    time: Array  # (n,) s since arc off of the pass before
    score: Array  # (m,) standard deviations from the best estimate, rising with heat
    reading: Array  # (m, n) K at the measuring place
    wait: Array  # (m,) s from that arc off until the limit holds
    allow: Array  # (m,) s that hold it for 9 in 10 of the joints that read like this
    error: float  # K, standard deviation of a reading and of the model under it


MEMBERS = np.linspace(-3.0, 3.0, 9)  # scores


ROWS = 60  # times of a curve


LONGEST = 1.5  # times the longest wait: how long the curves go on


NOMINAL = 45.0  # s after arc off: a reading soon after the pass


ALLOW_SCORE = 1.2815515655446004  # standard normal score of 90 %


def make_families(quick: Quick, ensemble: Ensemble) -> tuple[Family, ...]:
    """One family per wait that is "auto"."""
    numbers = [p.number for p in quick.case.passes[1:] if p.wait is None]
    return tuple(_family(quick, ensemble, number) for number in numbers)


def _family(quick: Quick, ensemble: Ensemble, number: int) -> Family:
    """Family before one pass."""
    waits = ensemble.waits[:, number - 1]
    way, scatter = _way(ensemble, _readings(quick, ensemble, number), waits)
    courses, longest = [], float(np.quantile(waits, 0.98)) * LONGEST + 30.0
    for score in MEMBERS:
        member = joint_at(ensemble.case, ensemble.priors, ensemble.middle + score * way)
        x = as_quick(quick, member)
        courses.append((x, quickly.after_pass(quick, x, number - 1, longest)))
    time = longest * np.linspace(0.0, 1.0, ROWS) ** 2
    reading = np.stack([np.interp(time, c.since, c.traces[:, -1]) for _, c in courses])
    wait = np.maximum.accumulate([quickly.limit_time(c, x) for x, c in courses])
    error = float(np.hypot(READING_ERROR, MODEL_ERROR))
    allow = wait + ALLOW_SCORE * _doubt_left(time, reading, wait, scatter, error)
    return Family(number, time, MEMBERS, reading, wait, allow, error)


def _readings(quick: Quick, ensemble: Ensemble, number: int) -> Array:
    """Tell what each joint shows soon after the pass before, (samples,) [K]."""
    since = min(NOMINAL, quick.waits[number - 1] / 2)
    when = quick.knots[2 * number - 3] + since
    return np.array(
        [np.interp(when, quick.time, c.traces[:, -1]) for c in ensemble.courses]
    )


def _way(ensemble: Ensemble, readings: Array, waits: Array) -> tuple[Array, float]:
    """Scores per standard deviation of a reading, and the waits' scatter off it [s].

    Along this line a reading moves the most likely joint: it is the covariance of the
    scores with the reading over the reading's deviation.
    """
    spread = float(readings.std())
    if spread == 0.0:
        return np.zeros(ensemble.scores.shape[1]), float(waits.std())
    along = (readings - readings.mean()) / spread
    way = (ensemble.scores - ensemble.scores.mean(axis=0)).T @ along / along.size
    line = np.polynomial.polynomial.polyfit(along, waits, 2)
    rest = waits - np.polynomial.polynomial.polyval(along, line)
    return way, float(rest.std())


def _doubt_left(
    time: Array, reading: Array, wait: Array, scatter: float, error: float
) -> Array:
    """Find the standard deviation of each member's wait once a reading picked it [s].

    A reading leaves the score within 1 / sqrt(1 + (slope / error)²); taken a third of
    the wait after arc off.
    """
    slope = np.empty(wait.size)
    rise = np.gradient(reading, MEMBERS, axis=0)
    for n in range(wait.size):
        slope[n] = np.interp(wait[n] / 3, time, rise[n])
    score = 1 / np.sqrt(1 + (slope / error) ** 2)
    return np.hypot(scatter, np.gradient(wait, MEMBERS) * score)


def pick(family: Family, since: float, temperature: float) -> tuple[float, float, float]:
    """Member a reading picks: its score, its wait and what to allow [s].

    Parameters
    ----------
    family : Family
        Before one pass.
    since : float
        Time of the reading after arc off [s].
    temperature : float
        Read at the measuring place [K].

    Returns
    -------
    tuple of float
        The score minimises score² + ((temperature - curve) / error)², curves linear
        between members and times; wait and allow are linear in it.
    """
    curve = np.array([np.interp(since, family.time, row) for row in family.reading])
    best, least = 0.0, np.inf
    for a in range(family.score.size - 1):
        s0, s1 = family.score[a], family.score[a + 1]
        slope = (curve[a + 1] - curve[a]) / (s1 - s0)
        off = temperature - curve[a] + slope * s0  # the curve is off at score 0
        s = np.clip(slope * off / (family.error**2 + slope**2), s0, s1)
        cost = s**2 + ((off - slope * s) / family.error) ** 2
        if cost < least:
            best, least = float(s), float(cost)
    wait, allow = (np.interp(best, family.score, x) for x in (family.wait, family.allow))
    return best, float(wait), float(allow)
