"""The hand check: the piece as one lump, beside what the model found.

One lump of heat capacity C, losing heat with the time constant tau, is what anyone can
work out on paper; where the model differs, the difference is heat that has not spread.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import exp, isfinite, log, nan

import numpy as np

from .history import History
from .joint import Case

SETTLED = 0.5  # of the last cooling, left out before the model's time constant is read


@dataclass(frozen=True)
class LumpPass:
    """One pass by hand and by the model [K, s]; nan where there is nothing to say."""

    number: int
    rise: float  # of the lump, net energy over heat capacity
    joint_rise: float  # of the joint's mean in the model, arc on to arc off
    wait: float  # before this pass: of the lump, to the limit or as given
    model_wait: float


def by_hand(case: Case, history: History) -> list[LumpPass]:
    """Follow the lump through the passes the model has run.

    An automatic wait ends when the lump is at the interpass limit; a given one lasts as
    long as given. Heat lost while the arc is on is left out.
    """
    waits = [nan, *_lump_waits(case, history)]
    return [
        LumpPass(
            number=done.number,
            rise=history.lumped.rise_per_pass[n],
            joint_rise=done.at_arc_off.mean - done.at_arc_on.mean,
            wait=waits[n],
            model_wait=done.wait if n else nan,
        )
        for n, done in enumerate(history.passes)
    ]


def _lump_waits(case: Case, history: History) -> Iterator[float]:
    air, tau = case.surroundings.air, history.lumped.time_constant
    limit = case.limits.interpass_max - air
    above = case.surroundings.start - air
    for n, (_, following) in enumerate(pairwise(history.passes)):
        above += history.lumped.rise_per_pass[n]
        wait = following.wait
        if following.wait_is_auto:
            wait = _lump_wait(above, limit, tau)
        yield wait
        above *= exp(-wait / tau) if isfinite(wait) else 1.0


def _lump_wait(above: float, limit: float, tau: float) -> float:
    """Time for a lump to fall to the limit, both relative to air [s]."""
    if above <= limit:
        return 0.0
    return tau * log(above / limit) if limit > 0.0 and isfinite(tau) else nan


def model_time_constant(case: Case, history: History) -> float:
    """Read the model's time constant off the mean of the joint, late in the last cooling [s].

    nan when the run ends too soon, or the joint is as cold as the air.
    """
    if not history.passes or not history.complete:
        return nan
    arc_off, end = history.passes[-1].arc_off, float(history.time[-1])
    begin = arc_off + SETTLED * (end - arc_off)
    above = history.mean - case.surroundings.air
    early, late = np.interp([begin, end], history.time, above)
    if not late > 1.0 or not early > late:
        return nan
    return (end - begin) / log(early / late)
