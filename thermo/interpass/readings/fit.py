"""Fit the doubtful numbers of a case to readings, and plan again from there.

What it computes: ``thermo/MODEL.md``, section 9.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import sqrt

import numpy as np

from ..doubt.bands import Band, Bands, bands_of, find_bands
from ..doubt.count import SAMPLES
from ..doubt.priors import EDGE, priors, value_at
from ..doubt.samples import (
    SEED,
    WIDER,
    Ensemble,
    joint_at,
    run_ensemble,
    runs_for,
)
from ..heat import stand_in as quickly
from ..heat.history import History
from ..heat.waits import plan
from ..joint.case import Case, Doubt
from ..text.arrays import Array
from ..text.errors import RunError
from ..text.progress import Progress
from .flags import ReadingCheck, sort_out
from .posterior import (
    Posterior,
    Weighed,
    draw,
    find_places,
    find_posterior,
    look_at,
    weigh,
)
from .reading import Reading

LEARNT = 0.1  # of the variance: less is nothing learnt
LEAST = 0.05  # of the variance of a number: how far its band is narrowed at most
TANGLED = 0.3  # correlation from which two numbers cannot be told apart


@dataclass(frozen=True)
class FittedNumber:
    """One doubtful number before and after the readings [SI]."""

    key: str
    words: str
    before: Band
    after: Band
    learnt: float  # share of the variance of its score that the readings removed
    is_identified: bool  # they said something of it


@dataclass(frozen=True, eq=False)
class Fit:
    """What readings said of a joint."""

    numbers: tuple[FittedNumber, ...]
    readings: tuple[ReadingCheck, ...]
    case: Case  # with the fitted values and what is left of the doubt
    history: History  # its full run
    before: Bands
    after: Bands
    not_identified: tuple[str, ...]  # sentences
    agreement: str  # least squares against importance weights, a sentence

    @property
    def hot(self) -> tuple[ReadingCheck, ...]:
        """Readings hotter than the joint can be: none is dropped silently."""
        return tuple(one for one in self.readings if one.is_hot)

    @property
    def stopped_by(self) -> ReadingCheck | None:
        """The last reading that counts, when it is hotter than the joint can be.

        No wait then: it is until a reading is met.
        """
        counts = [one for one in self.readings if one.is_hot or not one.is_flagged]
        last = max(
            counts, key=lambda o: (o.reading.after_pass, o.reading.since), default=None
        )
        return last if last is not None and last.is_hot else None


def fit(
    case: Case,
    readings: Sequence[Reading],
    *,
    history: History | None = None,
    progress: Progress | None = None,
    samples: int = SAMPLES,
) -> Fit:
    """Fit a case to readings.

    Parameters
    ----------
    case : Case
        The best estimate; what was welded already with the waits there were.
    readings : sequence of Reading
        Of passes the case has. Those no joint could give are flagged and left out.
    history : History, optional
        Full run of ``case``, to save its time.

    Raises
    ------
    RunError
        When a plausible joint cannot be run, or the best estimate never gets to a pass
        that was read after.
    """
    tell = progress or silent
    tell(0.0, "full run")
    history = history or plan(case)
    stop_if_not_reached(readings, history)
    before = find_bands(case, history, part_of(tell, 0.1, 0.3), samples)
    found = priors(case)
    places = find_places(case, readings, history)
    tell(0.4, "fitting")
    checks, kept = sort_out(
        look_at(places, case, found, readings), readings, len(found) + 1
    )
    used = replace(places, column=tuple(places.column[n] for n in kept))
    known = [readings[n] for n in kept]
    posterior = find_posterior(used, case, found, known)
    tell(0.6, "full run")
    return planned_again(
        case,
        posterior,
        before,
        checks(posterior.centre, posterior.covariance),
        progress=part_of(tell, 0.6, 1.0),
        samples=samples,
        agreement=lambda: _agreement(posterior, weigh(used, case, posterior, known)),
    )


def planned_again(
    case: Case,
    posterior: Posterior,
    before: Bands,
    readings: tuple[ReadingCheck, ...],
    *,
    progress: Progress,
    samples: int,
    agreement: Callable[[], str],
) -> Fit:
    """Plan a joint again with what is known of its numbers, and say what was learnt.

    Parameters
    ----------
    case : Case
        That the priors speak of.
    posterior : Posterior
        What is known now.
    before : Bands
        Of the case as it was.
    """
    found = posterior.priors
    fitted = joint_at(case, found, posterior.centre[:-1])
    history = plan(fitted)
    quick = quickly.prepare(fitted, history)
    scores = draw(posterior, samples)[:, :-1]
    design = draw(posterior, runs_for(len(found)), WIDER)[:, :-1]
    middle = posterior.centre[:-1]
    telling = part_of(progress, 0.25, 1.0)
    ensemble = run_ensemble(
        quick, found, scores, telling, design=design, case=case, middle=middle
    )
    return Fit(
        numbers=_numbers(posterior),
        readings=readings,
        case=replace(fitted, doubt=_doubt_left(posterior, ensemble)),
        history=history,
        before=before,
        after=bands_of(quick, history, ensemble, SEED),
        not_identified=_not_identified(posterior),
        agreement=agreement(),
    )


def stop_if_not_reached(readings: Sequence[Reading], history: History) -> None:
    """Refuse readings after passes that the run of the best estimate never got to."""
    done = len(history.passes)
    for reading in readings:
        if reading.after_pass > done:
            message = (
                f"line {reading.line}: read after pass {reading.after_pass}, but by the "
                f"model the weld gets no further than pass {done}: "
                f"{history.stopped_because}; give the waits as they were, with --log"
            )
            raise RunError(message, history)


def silent(_share: float, _what: str) -> None:
    """Nobody listens."""


def part_of(tell: Progress, begin: float, end: float) -> Progress:
    """Progress of a part of the work."""
    return lambda share, what: tell(begin + share * (end - begin), what)


def _doubt_left(posterior: Posterior, ensemble: Ensemble) -> tuple[Doubt, ...]:
    """Bands that leave the waits as doubtful as the fit does.

    The fit knows some numbers better together than apart: bands of their own would
    forget that, so those are narrowed until the doubt about the waits is the same.
    """
    way = _pull(ensemble)
    alone = np.diag(posterior.covariance)[:-1]
    together = way @ posterior.covariance[:-1, :-1] @ way
    learnt = np.array([n.is_identified for n in _numbers(posterior)])
    apart = way**2 * alone
    share = (together - apart[~learnt].sum()) / max(float(apart[learnt].sum()), 1e-12)
    narrower = np.where(learnt, sqrt(min(max(share, LEAST), 1.0)), 1.0)
    return tuple(
        Doubt(prior.key, value_at(prior, c - reach), value_at(prior, c + reach))
        for prior, c, reach in zip(
            posterior.priors,
            posterior.centre[:-1],
            EDGE * narrower * np.sqrt(alone),
            strict=True,
        )
    )


def _pull(ensemble: Ensemble) -> Array:
    """How strongly every score pulls at the waits, or at the last arc on, (numbers,)."""
    answer = ensemble.waits.sum(axis=1)
    if np.ptp(answer) == 0:
        answer = ensemble.at_on[:, -1]
    columns = np.column_stack([np.ones(answer.size), ensemble.scores])
    return np.linalg.lstsq(columns, answer, rcond=None)[0][1:]


def _numbers(posterior: Posterior) -> tuple[FittedNumber, ...]:
    """Every number with its band before and after."""
    deviation = np.sqrt(np.diag(posterior.covariance))
    rows = []
    for n, prior in enumerate(posterior.priors):
        centre, spread = float(posterior.centre[n]), EDGE * float(deviation[n])
        band = [value_at(prior, centre + way * spread) for way in (-1, 0, 1)]
        learnt = 1 - float(deviation[n]) ** 2
        rows.append(
            FittedNumber(
                key=prior.key,
                words=prior.words,
                before=Band(prior.low, prior.best, prior.high),
                after=Band(*band),
                learnt=learnt,
                is_identified=learnt >= LEARNT,
            )
        )
    return tuple(rows)


def _not_identified(posterior: Posterior) -> tuple[str, ...]:
    """Say what these readings cannot tell."""
    rows = _numbers(posterior)
    unknown = [row.words for row in rows if not row.is_identified]
    deviation = np.sqrt(np.diag(posterior.covariance))
    correlation = posterior.covariance / np.outer(deviation, deviation)
    sentences = [
        f"{a.words} and {b.words} cannot be told apart by these readings: "
        "what one gains the other loses"
        for i, a in enumerate(rows)
        for j, b in enumerate(rows[:i])
        if abs(correlation[i, j]) > TANGLED and a.is_identified and b.is_identified
    ]
    if unknown:
        sentences.append(f"the readings say next to nothing of {', '.join(unknown)}")
    return tuple(sentences)


def _agreement(posterior: Posterior, weighed: Weighed) -> str:
    """Compare least squares with importance weights, on the number learnt most of."""
    n = int(np.argmin(np.diag(posterior.covariance)[:-1]))
    prior = posterior.priors[n]
    spread = sqrt(posterior.covariance[n, n])

    def words(centre: float, deviation: float) -> str:
        low, best, high = (
            value_at(prior, centre + way * EDGE * deviation) for way in (-1, 0, 1)
        )
        return f"{best:.3g} ({low:.3g} to {high:.3g})"

    return (
        f"{prior.words} by least squares and curvature "
        f"{words(posterior.centre[n], spread)}; by importance weights "
        f"{words(weighed.mean[n], weighed.deviation[n])}, {weighed.effective:.0f} of "
        f"{weighed.draws} draws effective"
    )
