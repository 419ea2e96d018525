"""Twin shops: several joints of one kind with hidden numbers, some common, some of each joint.

The machinery of hidden truth is that of `twins`; a shop draws the common part of every
number once, and the rest anew for every joint.
"""

from dataclasses import dataclass, replace

import numpy as np
from interpass.doubt.priors import priors
from interpass.doubt.samples import joint_at
from interpass.heat.waits import plan
from interpass.joint import arc
from interpass.logs.as_welded import as_welded
from interpass.logs.burns import Burn, LoggedPass
from interpass.logs.log import Log
from interpass.readings.reading import Reading
from interpass.readings.shop import ReadJoint, fit_joints
from interpass.readings.split import OFFSET, share_of
from interpass.text.errors import RunError
from twins import FINE, NOISE, USUAL, at_waits, find_joint

FLAT = replace(USUAL, ring=1)
FLAT_TRUTH = replace(FINE, ring=1, cell=0.8e-3)
SOONEST = 60.0  # s after arc off of the first reading of a wait
FARTHEST = 3.0  # of a score


@dataclass(frozen=True)
class TwinShop:
    """One shop: what was said of its last joint, and what was true."""

    seed: int
    fitted: object  # ShopFit of all joints but the last
    common: np.ndarray  # (numbers,) true scores of the shop's part
    scores: np.ndarray  # (joints, numbers) true scores of every joint
    true_waits: tuple[float, ...]  # s of the last joint
    true_at_best: tuple[
        float, ...
    ]  # K hottest of the last joint at the waits now planned
    drift: float  # K the thermometer reads too high


def true_scores(rng, found, joints, shares=None):
    """Scores of shop and joints, by the table's split or by another."""
    if shares is None:
        shares = np.array([share_of(p.key) for p in found])
    drawn = np.clip(rng.standard_normal((joints + 1, len(found))), -FARTHEST, FARTHEST)
    common = np.sqrt(shares) * drawn[0]
    return common, common + np.sqrt(1 - shares) * drawn[1:]


def welded_log(truth, true):
    """The log of a joint that was welded: every burn of it, and the waits it had."""
    passes = tuple(
        LoggedPass(
            p.number,
            tuple(
                Burn(0, done.arc_on + b.arc_on, done.arc_on + b.arc_off, *4 * (None,))
                for b in arc.stretches(p)
            ),
        )
        for p, done in zip(truth.passes, true.passes, strict=True)
    )
    return Log("twin.csv", passes, (), None, None)


def read_joint(rng, case, truth, waits, drift):
    """Weld the true joint at some waits and read it twice in each."""
    true = at_waits(truth, waits)
    shown = []
    for p, wait in zip(true.passes[:-1], waits[1:], strict=True):
        for since in (min(SOONEST, 0.4 * wait), 0.9 * wait):
            T = np.interp(p.arc_off + since, true.time, true.traces[-1].temperature)
            alone = NOISE * np.sqrt(1 - share_of(OFFSET)) * rng.standard_normal()
            T = float(T + drift + alone)
            shown.append(Reading(p.number, float(since), T, T))
    log = welded_log(truth, true)
    return ReadJoint("twin.csv", as_welded(case, log), tuple(shown))


def twin_shop(seed, joints=5, usual=FLAT, fine=FLAT_TRUTH, samples=1024, *, shares=None):
    """Weld all joints of a shop but the last, fit them, and weld the last; None: no shop."""
    rng = np.random.default_rng(seed)
    case, history = find_joint(rng, usual)
    found = priors(case)
    common, scores = true_scores(rng, found, joints, shares and shares(found))
    drift = NOISE * float(np.sqrt(share_of(OFFSET)) * rng.standard_normal())
    waits = [p.wait for p in history.passes]
    model = replace(fine, end_after=0.0)
    truths = [replace(joint_at(case, found, row), model=model) for row in scores]
    try:
        read = [read_joint(rng, case, truth, waits, drift) for truth in truths[:-1]]
        fitted = fit_joints(case, read, samples=samples)
        true = plan(truths[-1])
        best = at_waits(truths[-1], [p.wait for p in fitted.next.history.passes])
    except (RunError, ValueError, IndexError):
        return None  # hotter than metal can be, or a joint that needs no wait
    if not (true.complete and best.complete):
        return None
    return TwinShop(
        seed,
        fitted,
        common,
        scores,
        tuple(p.wait for p in true.passes),
        tuple(p.at_arc_on.hottest for p in best.passes),
        drift,
    )
