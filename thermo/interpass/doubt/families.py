"""Families of cooling curves: what one reading says about the wait.

Before each pass the plausible joints lie, nearly, along one line from cooler to hotter;
its members are run on the quick model. A reading picks the member in between.

What it computes: ``thermo/MODEL.md``, section 9.
"""

from dataclasses import dataclass

import numpy as np

from ..heat import stand_in as quickly
from ..heat.more import Quick
from ..heat.stand_in import MODEL_ERROR
from ..text.arrays import Array
from .priors import READING_ERROR
from .samples import Ensemble, as_quick, joint_at


@dataclass(frozen=True, eq=False)
class Later:
    """What the members of a family need before one of the passes after their own."""

    number: int  # of the later pass
    wait: Array  # (m,) s from the arc off before it until the limit holds
    allow: Array  # (m,) s that hold it for 9 in 10 of the joints that read alike
    link: float  # correlation of the readings before the two passes, joint by joint


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
    later: tuple[Later, ...] = ()  # the waits after this one that are "auto" too


MEMBERS = np.linspace(-3.0, 3.0, 9)  # scores
ROWS = 60  # times of a curve
LONGEST = 1.5  # times the longest wait: how long the curves go on
NOMINAL = 45.0  # s after arc off: a reading soon after the pass
ALLOW_SCORE = 1.2815515655446004  # standard normal score of 90 %


def make_families(quick: Quick, ensemble: Ensemble) -> tuple[Family, ...]:
    """One family per wait that is "auto"."""
    numbers = [p.number for p in quick.case.passes[1:] if p.wait is None]
    read = {number: _readings(quick, ensemble, number) for number in numbers}
    return tuple(_family(quick, ensemble, read, number) for number in numbers)


def _family(
    quick: Quick, ensemble: Ensemble, read: dict[int, Array], number: int
) -> Family:
    """Family before one pass; ``read`` is what each joint shows before every pass."""
    waits = ensemble.waits[: read[number].size, number - 1]
    way = _way(ensemble, read[number])
    longest = float(np.quantile(waits, 0.98)) * LONGEST + 30.0
    middle, runs = ensemble.middle, []
    for score in MEMBERS:
        member = joint_at(ensemble.case, ensemble.priors, middle + score * way)
        x = as_quick(quick, member)
        runs.append(quickly.after_pass_and_on(quick, x, number - 1, longest))
    time = longest * np.linspace(0.0, 1.0, ROWS) ** 2
    reading = np.stack([np.interp(time, c.since, c.traces[:, -1]) for c, _ in runs])
    needed = np.array([[need.wait for need in needs] for _, needs in runs])
    rising = np.maximum.accumulate(needed)
    wait = rising[:, 0]
    error = float(np.hypot(READING_ERROR, MODEL_ERROR))
    left = _score_left(time, reading, wait, error)
    allow = wait + _safety(wait, _scatter(read[number], waits), left)
    later = [k for k in read if k > number]
    return Family(
        number, time, MEMBERS, reading, wait, allow, error,
        tuple(_later(ensemble, read, number, k, rising[:, k - number], left) for k in later),
    )  # fmt: skip


def _later(
    ensemble: Ensemble,
    read: dict[int, Array],
    number: int,
    later: int,
    wait: Array,
    left: Array,
) -> Later:
    """Take the waits before a later pass, after the member's own wait."""
    waits = ensemble.waits[: read[number].size, later - 1]
    scatter = _scatter(read[number], waits)
    spread = read[number].std() * read[later].std()
    link = (
        float(np.cov(read[number], read[later], ddof=0)[0, 1] / spread) if spread else 0.0
    )
    return Later(later, wait, wait + _safety(wait, scatter, left), link)


def _readings(quick: Quick, ensemble: Ensemble, number: int) -> Array:
    """Tell what each joint shows soon after the pass before, (samples,) [K]."""
    since = min(NOMINAL, quick.waits[number - 1] / 2)
    when = quick.knots[2 * number - 3] + since
    return np.array([np.interp(when, quick.time, row) for row in ensemble.reading])


def _way(ensemble: Ensemble, readings: Array) -> Array:
    """Scores per standard deviation of a reading.

    Along this line a reading moves the most likely joint: it is the covariance of the
    scores with the reading over the reading's deviation.
    """
    scores = ensemble.scores[: readings.size]
    spread = float(readings.std())
    if spread == 0.0:
        return np.zeros(ensemble.scores.shape[1])
    along = (readings - readings.mean()) / spread
    way: Array = (scores - scores.mean(axis=0)).T @ along / along.size
    return way


def _scatter(readings: Array, waits: Array) -> float:
    """Find the standard deviation of the waits off their curve over the readings [s]."""
    if readings.std() == 0.0:
        return float(waits.std())
    along = (readings - readings.mean()) / readings.std()
    line = np.polynomial.polynomial.polyfit(along, waits, 2)
    return float((waits - np.polynomial.polynomial.polyval(along, line)).std())


def _score_left(time: Array, reading: Array, wait: Array, error: float) -> Array:
    """Find the standard deviation of each member's score once a reading picked it.

    A reading leaves the score within 1 / sqrt(1 + (slope / error)²); taken a third of
    the wait after arc off.
    """
    rise = np.gradient(reading, MEMBERS, axis=0)
    slope = np.array(
        [np.interp(w / 3, time, row) for w, row in zip(wait, rise, strict=True)]
    )
    return 1 / np.sqrt(1 + (slope / error) ** 2)


def _safety(wait: Array, scatter: float, left: Array) -> Array:
    """Tell what to add to each member's wait so that it holds for 9 in 10 [s]."""
    return ALLOW_SCORE * np.hypot(scatter, np.gradient(wait, MEMBERS) * left)


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
