"""The hand check: the piece as one lump, beside what the model found.

One lump of heat capacity C, losing heat with the time constant tau, is what anyone can
work out on paper; where the model differs, the difference is heat that has not spread.
"""

from dataclasses import dataclass
from math import exp, isfinite, log, nan

import numpy as np

from .history import History
from .joint import Case

SETTLED = 0.5  # of the last cooling, left out before the model's time constant is read


@dataclass(frozen=True)
class LumpPass:
    """One pass by hand and by the model [K, s]; nan where there is nothing to compare."""

    number: int
    rise: float  # of the lump, net energy over heat capacity
    joint_rise: float  # of the joint's mean in the model, arc on to arc off
    wait: float  # before this pass, for the lump to fall to the limit; "auto" only
    at_arc_on: float  # of the lump, after the model's wait
    joint_at_arc_on: float  # mean of the joint in the model


def by_hand(case: Case, history: History) -> list[LumpPass]:
    """Follow the lump through the passes and waits the model has run.

    Heat lost while the arc is on is left out, as one would on paper.
    """
    air, lumped = case.surroundings.air, history.lumped
    above, steps = case.surroundings.start - air, []
    for n, done in enumerate(history.passes):
        wait = _lump_wait(above, case.limits.interpass_max - air, lumped.time_constant)
        above *= exp(-done.wait / lumped.time_constant)
        steps.append(
            LumpPass(
                number=done.number,
                rise=lumped.rise_per_pass[n],
                joint_rise=done.at_arc_off.mean - done.at_arc_on.mean,
                wait=wait if done.wait_is_auto else nan,
                at_arc_on=air + above,
                joint_at_arc_on=done.at_arc_on.mean,
            )
        )
        above += lumped.rise_per_pass[n]
    return steps


def _lump_wait(above: float, limit: float, tau: float) -> float:
    """Time for a lump to fall to the limit, both relative to air [s]."""
    if above <= limit:
        return 0.0
    return tau * log(above / limit) if limit > 0.0 and isfinite(tau) else nan


def model_time_constant(case: Case, history: History) -> float:
    """Time constant of the joint's mean in the model, late in the last cooling [s].

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
