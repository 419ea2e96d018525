"""The wait before the next pass of a weld under way, and the reading that picks it."""

from dataclasses import dataclass, replace
from math import hypot

import numpy as np

from ..doubt.bands import Bands
from ..doubt.families import Family, pick
from ..heat.history import History
from ..heat.stand_in import MODEL_ERROR
from ..joint.case import Case
from ..readings.flags import is_above, why_impossible
from ..readings.reading import Reading, is_at_own_place
from ..text.arrays import Array
from .log import Log


@dataclass(frozen=True)
class NextWait:
    """The wait before the next pass, from the last arc off."""

    number: int  # of the next pass
    best: float | None  # s; None when the limit is out of reach
    allow: float | None  # s, holds the limit for 9 in 10; None without bands
    given: float | None  # s the case gives; None where it has the wait planned
    reading: Reading | None  # that picked it
    refused: str  # why the newest reading was not used; ""
    why: str  # there is no best; ""
    expect: float | None = None  # K to be read at the end of the best wait
    strike_at: float | None = None  # K, as planned; see `doubt.bands.strike_at`
    hot: Reading | None = None  # hotter than the joint can be: no wait, it must be met


def newest_reading(case: Case, log: Log) -> tuple[Reading | None, tuple[Reading, ...]]:
    """Tell the reading that picks the next wait from those that are fitted."""
    last = len(log.passes)
    fresh = [
        r
        for r in log.readings
        if r.after_pass == last < len(case.passes) and is_at_own_place(case, r)
    ]
    newest = fresh[-1] if fresh else None
    return newest, tuple(r for r in log.readings if r is not newest)


def next_wait(
    case: Case,
    log: Log,
    history: History,
    bands: Bands | None,
    newest: Reading | None,
    strikes: tuple[float | None, ...],
    hot: Reading | None = None,
) -> NextWait | None:
    """Wait before the next pass; None when all are welded.

    Parameters
    ----------
    newest : Reading or None
        That picks the wait; it is not among those fitted.
    strikes : tuple
        Readings to strike by before every pass, as planned [K]; None where not known.
    hot : Reading or None
        The last one fitted, when it was hotter than the joint can be.
    """
    n = len(log.passes)
    if n == len(case.passes):
        return None
    if n >= len(history.passes):
        given, why = case.passes[n].wait, history.stopped_because
        return NextWait(n + 1, None, None, given, None, "", why, strike_at=strikes[n])
    done = history.passes[n]
    plain = NextWait(
        number=n + 1,
        best=done.wait,
        allow=bands.passes[n].allow if bands else None,
        given=case.passes[n].wait,
        reading=None,
        refused="",
        why="",
        expect=done.expect_reading,
        strike_at=strikes[n],
    )
    family = (
        next((f for f in bands.families if f.number == n + 1), None) if bands else None
    )
    if newest is None or family is None:
        return _stopped(plain, hot, "") if hot else plain
    refused, is_hot = _why_impossible(family, newest)
    if refused and is_hot:
        return _stopped(plain, newest, refused)
    if refused:
        plain = replace(plain, refused=refused)
        return _stopped(plain, hot, refused) if hot else plain
    return _picked(plain, family, newest)


def _stopped(plain: NextWait, hot: Reading, why: str) -> NextWait:
    """No wait by the clock: it is until the reading is met."""
    return replace(plain, best=None, allow=None, expect=None, hot=hot, refused=why)


def _picked(plain: NextWait, family: Family, newest: Reading) -> NextWait:
    """Wait of the member that a reading picks; never over while it reads too hot."""
    score, best, allow = pick(family, newest.since, newest.low)
    curve = _member(family, score)
    strike_at = plain.strike_at
    if strike_at is not None and newest.low > strike_at and best <= newest.since:
        allow = max(allow, _until(family, curve, newest, strike_at))
        best = newest.since
    expect = float(np.interp(best, family.time, curve))
    return replace(plain, best=best, allow=allow, reading=newest, expect=expect)


def _until(family: Family, curve: Array, newest: Reading, strike_at: float) -> float:
    """Time at which a reading will have cooled to another, along a curve [s]."""
    above = newest.low - float(np.interp(newest.since, family.time, curve))
    later = family.time > newest.since
    time = np.concatenate([[newest.since], family.time[later]])
    falling = np.minimum.accumulate(np.concatenate([[newest.low], curve[later] + above]))
    return float(np.interp(-strike_at, -falling, time))


def _why_impossible(family: Family, reading: Reading) -> tuple[str, bool]:
    """Say why no plausible joint gives a reading, "" when one does; whether it is hot."""
    cooler, expected, hotter = (
        float(np.interp(reading.since, family.time, _member(family, score)))
        for score in (-1.0, 0.0, 1.0)
    )
    error = hypot((hotter - cooler) / 2, MODEL_ERROR)
    return why_impossible(reading, expected, error), is_above(reading, expected)


def _member(family: Family, score: float) -> Array:
    """Cooling curve of the member at a score, (n,) [K]."""
    return np.array(
        [np.interp(score, family.score, column) for column in family.reading.T]
    )
