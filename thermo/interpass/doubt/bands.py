"""Bands: how far waits and temperatures may be off, and what makes them so.

Low, best and high are the 5 %, the best estimate and the 95 % of the plausible joints.
These are drawn from the doubt about the numbers of the case and run on the
quick model; see `heat/stand_in` for how that is corrected to the full run.

What it computes: ``thermo/MODEL.md``, section 8.
"""

from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from ..heat import stand_in as quickly
from ..heat.history import History
from ..heat.more import Quick
from ..joint.case import Case
from ..text.arrays import Array
from ..text.progress import Progress
from .count import SAMPLES
from .families import Family, make_families
from .moments import best_moments
from .priors import priors
from .samples import (
    SEED,
    Ensemble,
    design_scores,
    normal_scores,
    run_ensemble,
)
from .unsaid import Gripped, if_gripped


@dataclass(frozen=True)
class Band:
    """One number and how far it may be off."""

    low: float  # 5 in 100 plausible joints are below
    best: float  # with every doubtful number at its best estimate
    high: float  # 5 in 100 are above


@dataclass(frozen=True)
class PassBand:
    """Doubt about one pass, as planned."""

    number: int
    wait: Band | None  # s before this arc on; None when the wait is given, or pass 1
    allow: float | None  # s that hold the limit for 9 in 10 plausible joints
    hottest: Band  # K at this arc on, after the best wait
    reading: Band  # K at the measuring place just before this arc on, after it
    strike_at: float | None = None  # K, see `strike_at`; None before pass 1
    read_after: float | None = None  # s after arc off: when a reading teaches most


@dataclass(frozen=True)
class DoubtShare:
    """How much of the doubt about the waits one number of the case brings in."""

    key: str  # "arc.efficiency"
    words: str  # "arc efficiency"
    share: float  # of the variance explained; all shares sum to 1


@dataclass(frozen=True, eq=False)
class Bands:
    """Doubt about a whole plan; arrays are (n,) over ``time``."""

    passes: tuple[PassBand, ...]
    shares: tuple[DoubtShare, ...]  # largest first
    time: Array  # s since the first arc on, at the best waits
    low: Array  # K, 5 % of the hottest point
    high: Array  # K, 95 %
    reading_low: Array  # K, the same of a reading at the measuring place
    reading_high: Array
    samples: int
    seed: int
    how: str  # how the samples were computed, a sentence
    gripped: Gripped | None = None  # where the case does not say what holds the piece
    joints: tuple[Quick, Ensemble] | None = field(default=None, repr=False)  # behind it

    @cached_property
    def families(self) -> tuple[Family, ...]:
        """One per wait that is "auto", run when first asked for: readings alone need them."""
        return make_families(*self.joints) if self.joints else ()


LOW, HIGH, ALLOW = 0.05, 0.95, 0.90


def find_bands(
    case: Case,
    history: History,
    progress: Progress | None = None,
    samples: int = SAMPLES,
    *,
    seed: int = SEED,
) -> Bands:
    """Bands of a plan.

    Parameters
    ----------
    case : Case
        The best estimate.
    history : History
        Its full run, with every auto wait found.
    progress : callable, optional
        Told how far it is, 0 to 1, and what is being done.
    samples : int
        Plausible joints; some 24 to 40 are run, the others follow from those.
    """
    found = priors(case)
    scores = normal_scores(samples, len(found), seed)
    design = design_scores(found, seed)
    quick = quickly.prepare(case, history)
    ensemble = run_ensemble(quick, found, scores, progress, design=design)
    return bands_of(quick, history, ensemble, seed)


def bands_of(quick: Quick, history: History, ensemble: Ensemble, seed: int) -> Bands:
    """Take the quantiles of an ensemble."""
    low, high = np.quantile(ensemble.hottest, (LOW, HIGH), axis=0)
    reading_low, reading_high = np.quantile(ensemble.reading, (LOW, HIGH), axis=0)
    moments = best_moments(quick, ensemble)
    return Bands(
        passes=tuple(
            replace(
                _pass_band(history, ensemble, p.number - 1),
                read_after=moments.get(p.number),
            )
            for p in history.passes
        ),
        shares=doubt_shares(ensemble),
        time=quick.time,
        low=low,
        high=high,
        reading_low=reading_low,
        reading_high=reading_high,
        samples=len(ensemble.scores),
        seed=seed,
        how=(
            f"{len(ensemble.scores)} plausible joints, from {ensemble.runs} runs of the "
            "quick axisymmetric model, "
            f"corrected to the {history.model} run of the best estimate"
        ),
        gripped=if_gripped(quick),
        joints=(quick, ensemble),
    )


def _pass_band(history: History, ensemble: Ensemble, n: int) -> PassBand:
    """Quantiles at one arc on."""
    done = history.passes[n]
    wait = allow = None
    if done.wait_is_auto:
        wait = _band(ensemble.waits[:, n], done.wait)
        allow = float(np.quantile(ensemble.waits[:, n], ALLOW))
    return PassBand(
        number=done.number,
        wait=wait,
        allow=allow,
        hottest=_band(ensemble.at_on[:, n], done.at_arc_on.hottest),
        reading=_band(ensemble.reading_on[:, n], done.expect_reading),
        strike_at=strike_at(ensemble, n) if n else None,
    )


def strike_at(ensemble: Ensemble, n: int) -> float:
    """Highest reading at the measuring place at which the arc of pass n + 1 may strike.

    9 in 10 plausible joints that read this, and are cooling, have their hottest metal at
    or below the limit. The error of the instrument itself is not taken off: it belongs
    to the instrument in hand. Where the limit applies to the reading it is the limit.
    """
    limits = ensemble.case.limits
    if limits.by_reading:
        return limits.interpass_max
    return float(np.quantile(ensemble.at_limit[:, n], 1 - ALLOW))


def _band(values: Array, best: float) -> Band:
    low, high = np.quantile(values, (LOW, HIGH))
    return Band(float(low), best, float(high))


def doubt_shares(ensemble: Ensemble) -> tuple[DoubtShare, ...]:
    """Tell what the doubt comes from, largest first.

    Squared rank correlation (Spearman) of each number with the sum of the waits, or
    with the hottest point at the last arc on where no wait is free; scaled to sum to 1.
    Source: the usual first-order measure for nearly monotone answers.
    """
    total = ensemble.waits.sum(axis=1)
    if np.ptp(total) == 0:
        total = ensemble.at_on[:, -1]
    if np.ptp(total) == 0 or not ensemble.priors:
        return ()
    ranks = _ranks(total)
    found = [np.corrcoef(_ranks(s), ranks)[0, 1] for s in ensemble.scores.T]
    squares = np.array(found) ** 2
    shares = squares / squares.sum()
    rows = [
        DoubtShare(p.key, p.words, float(share))
        for p, share in zip(ensemble.priors, shares, strict=True)
    ]
    return tuple(sorted(rows, key=lambda row: -row.share))


def _ranks(values: Array) -> Array:
    ranks = np.empty(values.size)
    ranks[np.argsort(values)] = np.arange(values.size)
    return ranks
