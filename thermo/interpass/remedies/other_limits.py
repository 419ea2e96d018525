"""What the waits would be under another interpass limit."""

from dataclasses import dataclass, replace

import numpy as np

from ..heat.history import History
from ..heat.stand_in import plan_waits, prepare
from ..joint.case import Case
from ..text.arrays import Array
from ..text.errors import RunError

LOW, HIGH, STEP = 373.15, 523.15, 10.0  # K: 100 to 250 degC, about as limits are set
BESIDE = 20.0  # K: the case's own limit is no nearer to the end of the range
ABOVE_AIR = 30.0  # K: a joint never gets to the air's own temperature


@dataclass(frozen=True, eq=False)
class LimitWaits:
    """Waits (n, passes - 1) s over interpass limits (n,) K; nan when out of reach."""

    limit: Array
    wait: Array


def waits_over_limits(case: Case, history: History) -> LimitWaits:
    """Plan every wait anew for limits from 100 to 250 degC, and round the case's own.

    Each is a run of the quick axisymmetric model, corrected to the full run of the case
    (see ``quick``); waits the case gives are planned too.

    Raises
    ------
    ValueError
        For a run with a single pass, or one that did not get to its end.
    """
    if len(history.passes) < max(2, len(case.passes)):
        msg = "there is no wait to plan: the run has fewer than two finished passes"
        raise ValueError(msg)
    free = replace(case, passes=tuple(replace(p, wait=None) for p in case.passes))
    model = prepare(free, history)
    limits = _limits(case)
    waits = []
    for limit in limits:
        wanted = replace(case.limits, interpass_max=float(limit))
        joint = replace(model.case, limits=wanted)
        try:
            waits.append(plan_waits(replace(model, case=joint), joint)[1:])
        except RunError:  # the next pass, begun that hot, melts the piece
            waits.append((np.nan,) * (len(case.passes) - 1))
    found = np.array(waits)
    found[found >= case.limits.wait_max - 1.0] = np.nan
    return LimitWaits(limits, found)


def _limits(case: Case) -> Array:
    """Limits to try, the case's own among them [K]."""
    own = case.limits.interpass_max
    low = max(min(LOW, own - BESIDE), case.surroundings.air + ABOVE_AIR)
    steps = np.arange(low, max(HIGH, own + BESIDE) + 0.5, STEP)
    return np.unique(np.append(steps, own))
