"""Several joints of one kind, welded in one shop: what is common, what is of each joint.

Every doubtful number of a joint is the sum of two: what the shop does alike in all joints, and
what is of this joint alone. Both have a score of their own; how the variance of the
prior is split between them stands in ``trade/data/shop.csv``. That split is in doubt
too: it is also tried with half of every share, with none, and with each number in turn as one that
the shop has nothing in common in; each of these answers counts as much as the readings
speak for it.

The search is that of one joint (`posterior.find_peak`), the joints side by side; what
each would show is told by a surface through few runs of it (`doubt.surface`).

What it computes: ``thermo/MODEL.md``, section 9.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from math import sqrt

import numpy as np

from ..doubt.bands import Band, find_bands
from ..doubt.count import SAMPLES
from ..doubt.priors import EDGE, Prior, priors, value_at
from ..heat.history import History
from ..heat.waits import plan
from ..joint.case import Case
from ..text.arrays import Array
from ..text.progress import Progress
from .fit import Fit, part_of, planned_again, silent, stop_if_not_reached
from .flags import Checks, ReadingCheck, sort_out
from .posterior import (
    Likeliest,
    Posterior,
    find_peak,
    find_places,
)
from .reading import Reading
from .split import MODEL, OFFSET, Split, share_of, shares, ways_to_split
from .told import ToldReadings, lifted, look_up, told_of


@dataclass(frozen=True)
class ReadJoint:
    """One joint of the shop: as it was welded, and what was read on it."""

    file: str
    case: Case
    readings: tuple[Reading, ...]
    is_logged: bool = False  # by a log, with the waits as they were
    remarks: tuple[str, ...] = ()  # on that log


@dataclass(frozen=True)
class ShopNumber:
    """One doubtful number: what the shop has in common, and what each joint had [SI]."""

    key: str
    words: str
    share: float  # of the variance of the prior that is the shop's
    source: str  # of that share
    standing: str
    before: Band  # of the shop's own part, no reading known
    after: Band
    learnt: float  # share of its variance that the readings took away
    differs: float  # how likely it is that the shop has nothing in common here
    joints: tuple[Band | None, ...]  # of each; None where that joint has no doubt of it


@dataclass(frozen=True)
class Thermometer:
    """What one instrument reads too high, by all joints together [K]."""

    instrument: str
    before: Band
    after: Band


@dataclass(frozen=True, eq=False)
class ShopFit:
    """What several joints said of a shop, and of its next joint."""

    joints: tuple[ReadJoint, ...]
    numbers: tuple[ShopNumber, ...]
    thermometers: tuple[Thermometer, ...]
    next: Fit  # of the next joint of this kind; its readings are those of all joints
    miss: float  # K rms by which the surfaces miss runs that they have not seen
    runs: int  # of the stand-in


@dataclass(frozen=True, eq=False)
class _Known:
    """One joint made ready: what it would show at any scores."""

    joint: ReadJoint
    told: ToldReadings
    rows: tuple[int, ...]  # of the readings that are kept
    checks: Checks  # over all of them

    @property
    def priors(self) -> tuple[Prior, ...]:
        """Doubtful numbers of this joint."""
        return self.told.priors

    @property
    def kept(self) -> tuple[Reading, ...]:
        """Readings that it could give."""
        return tuple(self.joint.readings[n] for n in self.rows)


def fit_joints(
    case: Case,
    joints: Sequence[ReadJoint],
    *,
    history: History | None = None,
    progress: Progress | None = None,
    samples: int = SAMPLES,
) -> ShopFit:
    """Fit a shop to the readings of several joints of one kind.

    Parameters
    ----------
    case : Case
        The kind of joint, as planned; the next one is taken to be like it.
    joints : sequence of ReadJoint
        Their readings are of passes they have. Those no joint could give are flagged
        and left out.
    history : History, optional
        Full run of ``case``, to save its time.

    Raises
    ------
    RunError
        When a joint cannot be run, or never gets to a pass that was read after.
    """
    tell = progress or silent
    tell(0.0, "full run")
    before = find_bands(case, history or plan(case), part_of(tell, 0.05, 0.15), samples)
    known = _all_ready(joints, part_of(tell, 0.15, 0.75))
    found = priors(case)
    split = _split_of(found, known)
    known = _brought_near(split, known)
    tried = _try_all(split, known)
    own = _own_scores(tried, len(known))
    upcoming = _mixed([(w, *_next_joint(s, peak, len(found))) for w, s, peak in tried])
    runs, miss = sum(k.told.runs for k in known), max(k.told.miss for k in known)
    return ShopFit(
        joints=tuple(joints),
        numbers=tuple(_numbers(found, split, known, tried, own)),
        thermometers=tuple(_thermometers(split, known, tried)),
        next=planned_again(
            case,
            Posterior(found, *upcoming),
            before,
            _all_checked(known, split, own),
            progress=part_of(tell, 0.75, 1.0),
            samples=samples,
            agreement=lambda: _agreement(runs, miss),
        ),
        miss=miss,
        runs=runs,
    )


def _agreement(runs: int, miss: float) -> str:
    """Say what the answer rests on, and how well that agrees with the model."""
    return (
        f"{runs} runs of the stand-in and a surface through those of each joint, "
        f"which misses a run it has not seen by {miss:.1f} K rms"
    )


def _all_ready(joints: Sequence[ReadJoint], tell: Progress) -> list[_Known]:
    """Make every joint ready, one after the other."""
    known = []
    for n, joint in enumerate(joints):
        tell(n / len(joints), f"joint {n + 1} of {len(joints)}")
        known.append(_make_ready(joint))
    return known


def _make_ready(joint: ReadJoint) -> _Known:
    """Run a joint at some plausible numbers, and leave out what it could not show."""
    case, readings, found = joint.case, joint.readings, priors(joint.case)
    history = plan(case)
    stop_if_not_reached(readings, history)
    told = told_of(find_places(case, readings, history), case, found, readings)
    checks, kept = sort_out(partial(look_up, told), readings, len(found) + 1)
    return _Known(joint, told, kept, checks)


def _brought_near(split: Split, known: Sequence[_Known]) -> list[_Known]:
    """Lift every surface to the joint's most likely numbers by the surface so far."""
    peak, near = _peak(split, known), []
    for n, one in enumerate(known):
        scores = (_way(split, one, n) @ peak.centre)[:-1]
        near.append(replace(one, told=lifted(one.told, scores)))
    return near


def _split_of(found: tuple[Prior, ...], known: Sequence[_Known]) -> Split:
    """Split every number as the table has it."""
    of_joints = [prior.key for one in known for prior in one.priors]
    keys = (*dict.fromkeys([*(p.key for p in found), *of_joints]), MODEL)
    instruments = dict.fromkeys(r.instrument.lower() for k in known for r in k.kept)
    return Split(
        keys=keys,
        instruments=tuple(instruments),
        shares=np.array([share_of(key) for key in keys]),
        offset=share_of(OFFSET),
        joints=len(known),
    )


def _try_all(
    split: Split, known: Sequence[_Known]
) -> list[tuple[float, Split, Likeliest]]:
    """Fit as the table splits and in other ways; weigh each by what the readings say."""
    tried = [(np.log(weight), one) for weight, one in ways_to_split(split)]
    peaks = [_peak(one, known) for _, one in tried]
    logs = np.array([w + p.evidence for (w, _), p in zip(tried, peaks, strict=True)])
    weights = np.exp(logs - logs.max())
    weights /= weights.sum()
    return [
        (float(w), one, peak)
        for w, (_, one), peak in zip(weights, tried, peaks, strict=True)
    ]


def _peak(split: Split, known: Sequence[_Known]) -> Likeliest:
    """Fit shop and joints together."""
    alone = sqrt(1 - split.offset)
    readings = [replace(r, error=r.error * alone) for k in known for r in k.kept]
    way = [_way(split, one, n) for n, one in enumerate(known)]
    drift = [_drift(split, one) for one in known]

    def look(scores: Array) -> tuple[Array, Array]:
        told, slopes = [], []
        for one, turn, read in zip(known, way, drift, strict=True):
            predicted, slope = look_up(one.told, turn @ scores)
            told.append(predicted[[*one.rows]] + read @ scores)
            slopes.append(slope[[*one.rows]] @ turn + read)
        return np.concatenate(told), np.concatenate(slopes)

    return find_peak(look, readings, split.size)


def _way(split: Split, one: _Known, n: int) -> Array:
    """From all scores to those of one joint: what is common and what is its own."""
    keys = [split.keys.index(key) for key in (*(p.key for p in one.priors), MODEL)]
    first = split.common + n * len(split.keys)
    way = np.zeros((len(keys), split.size))
    rows = np.arange(len(keys))
    way[rows, keys] = np.sqrt(split.shares[keys])
    way[rows, first + np.array(keys)] = np.sqrt(1 - split.shares[keys])
    return way


def _drift(split: Split, one: _Known) -> Array:
    """From all scores to what the thermometers read too high, (readings, scores) [K]."""
    drift = np.zeros((len(one.kept), split.size))
    for row, reading in enumerate(one.kept):
        n = split.instruments.index(reading.instrument.lower())
        drift[row, len(split.keys) + n] = reading.error * sqrt(split.offset)
    return drift


Normal = tuple[Array, Array]  # mean and covariance


def _next_joint(split: Split, peak: Likeliest, numbers: int) -> Normal:
    """Scores of a joint that was not read: the shop's part known, its own not."""
    rows = [*range(numbers), len(split.keys) - 1]
    root = np.sqrt(split.shares[rows])
    covariance = np.outer(root, root) * peak.covariance[np.ix_(rows, rows)]
    return root * peak.centre[rows], covariance + np.diag(1 - split.shares[rows])


def _of_joint(split: Split, peak: Likeliest, n: int) -> Normal:
    """Scores of one joint that was read, of all keys."""
    count, first = len(split.keys), split.common + n * len(split.keys)
    way = np.zeros((count, split.size))
    way[:, :count] = np.diag(np.sqrt(split.shares))
    way[:, first : first + count] = np.diag(np.sqrt(1 - split.shares))
    return way @ peak.centre, way @ peak.covariance @ way.T


def _mixed(parts: Sequence[tuple[float, Array, Array]]) -> Normal:
    """Mean and covariance of several answers, each as likely as its weight."""
    mean = np.sum([w * centre for w, centre, _ in parts], axis=0)
    spread = [w * (v + np.outer(c - mean, c - mean)) for w, c, v in parts]
    return mean, np.sum(spread, axis=0)


def _checked(
    one: _Known, split: Split, centre: Array, covariance: Array
) -> tuple[ReadingCheck, ...]:
    """Set the readings of one joint beside what was expected of it."""
    rows = [split.keys.index(key) for key in (*(p.key for p in one.priors), MODEL)]
    return one.checks(centre[rows], covariance[np.ix_(rows, rows)])


def _all_checked(
    known: Sequence[_Known], split: Split, own: Sequence[Normal]
) -> tuple[ReadingCheck, ...]:
    """Set the readings of all joints beside what was expected, joint by joint."""
    pairs = zip(known, own, strict=True)
    return tuple(
        check for one, scores in pairs for check in _checked(one, split, *scores)
    )


def _own_scores(
    tried: Sequence[tuple[float, Split, Likeliest]], joints: int
) -> list[Normal]:
    """Scores of every joint that was read, over the ways to split."""
    return [
        _mixed([(w, *_of_joint(one, peak, n)) for w, one, peak in tried])
        for n in range(joints)
    ]


def _numbers(
    found: tuple[Prior, ...],
    split: Split,
    known: Sequence[_Known],
    tried: Sequence[tuple[float, Split, Likeliest]],
    own: Sequence[Normal],
) -> Iterator[ShopNumber]:
    """Tell of every number what the shop has in common and what each joint had."""
    table = shares()
    before = np.sum(
        [w * one.shares for w, one in ways_to_split(split)], axis=0
    )  # variances
    for n, prior in enumerate(found):
        share = float(split.shares[n])
        parts = []
        for w, one, peak in tried:
            root = sqrt(one.shares[n])
            mean, wide = root * peak.centre[n], one.shares[n] * peak.covariance[n, n]
            parts.append((w, np.array([mean]), np.array([[wide]])))
        centre, variance = (float(x.item()) for x in _mixed(parts))
        row = table.get(prior.key.rpartition(".")[2], {})
        yield ShopNumber(
            key=prior.key,
            words=prior.words,
            share=share,
            source=row.get("source", "nothing is known of it: taken as joint by joint"),
            standing=row.get("standing", "common practice"),
            before=_band(prior, 0.0, sqrt(before[n])),
            after=_band(prior, centre, sqrt(max(variance, 0.0))),
            learnt=1 - variance / float(before[n]) if share else 0.0,
            differs=sum(w for w, one, _ in tried if not one.shares[n]),
            joints=tuple(
                _own_band(one, prior.key, float(c[n]), sqrt(v[n, n]))
                for one, (c, v) in zip(known, own, strict=True)
            ),
        )


def _own_band(one: _Known, key: str, centre: float, deviation: float) -> Band | None:
    """Band of a number of one joint about its own best estimate."""
    prior = next((p for p in one.priors if p.key == key), None)
    return _band(prior, centre, deviation) if prior else None


def _band(prior: Prior, centre: float, deviation: float) -> Band:
    low, best, high = (
        value_at(prior, centre + way * EDGE * deviation) for way in (-1, 0, 1)
    )
    return Band(low, best, high)


def _thermometers(
    split: Split,
    known: Sequence[_Known],
    tried: Sequence[tuple[float, Split, Likeliest]],
) -> Iterator[Thermometer]:
    """Tell what every instrument reads too high, for its usual error."""
    for n, name in enumerate(split.instruments):
        of = (r.error for k in known for r in k.kept if r.instrument.lower() == name)
        size = max(of) * sqrt(split.offset)
        k = len(split.keys) + n
        parts = [(w, p.centre[[k]], p.covariance[np.ix_([k], [k])]) for w, _, p in tried]
        centre, variance = (float(x.item()) for x in _mixed(parts))
        wide = EDGE * sqrt(variance) * size
        after = Band(centre * size - wide, centre * size, centre * size + wide)
        yield Thermometer(name, Band(-EDGE * size, 0.0, EDGE * size), after)
