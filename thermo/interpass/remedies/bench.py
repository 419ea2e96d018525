"""Several joints in turn: how many on the bench so that the welder never stands still.

The welder goes round: pass 1 on every joint, then pass 2 on every joint, and so on, and
strikes each arc as soon as that joint's own wait is over. The joints are alike; moving
from one to the next is not counted.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

MOST = 50  # joints; a longer bench is no answer


@dataclass(frozen=True)
class Round:
    """A bench of alike joints, welded in turn from the first arc on to the last arc off."""

    joints: int
    time: float  # s
    idle: float  # s in which no joint is ready and the welder stands still
    longest_wait: float  # s any joint waits between two of its passes

    @property
    def per_joint(self) -> float:
        """Time per joint [s]."""
        return self.time / self.joints


@dataclass(frozen=True)
class Bench:
    """What welding in turn gives."""

    alone: Round  # one joint at a time
    busy: Round | None  # the fewest joints without a pause; None beyond MOST
    between: tuple[Round, ...] = ()  # some smaller benches, fewest joints first


def go_round(arcs: Sequence[float], waits: Sequence[float], joints: int) -> Round:
    """Weld a bench of joints in turn.

    Parameters
    ----------
    arcs : sequence of float
        How long each pass takes, pauses in it counted [s].
    waits : sequence of float
        Least wait before each pass [s]; that before the first does not count.
    joints : int
        How many are on the bench.

    Examples
    --------
    Two passes of 90 s and 380 s between them:

    >>> go_round((90, 90), (0, 380), 1).time, go_round((90, 90), (0, 380), 6).idle
    (560.0, 0.0)
    """
    now = idle = longest = 0.0
    off = [float("-inf")] * joints  # last arc off of each joint
    for number, (arc, wait) in enumerate(zip(arcs, waits, strict=True)):
        for joint in range(joints):
            start = now if number == 0 else max(now, off[joint] + wait)
            if number > 0:
                longest = max(longest, start - off[joint])
            idle += start - now
            now = off[joint] = start + arc
    return Round(joints, now, idle, longest)


def fewest(arcs: Sequence[float], waits: Sequence[float]) -> int:
    """Fewest joints with which the welder who goes round never stands still.

    Between pass k and k + 1 of a joint the others get one of the two: the wait is over
    in time when (joints - 1) x the shorter of the two passes covers it.

    Examples
    --------
    >>> fewest((90, 90), (0, 380)), fewest((60, 80, 90), (0, 120, 200))
    (6, 4)
    """
    needed = [
        1 + ceil(wait / min(before, after) - 1e-9)
        for before, after, wait in zip(arcs, arcs[1:], waits[1:], strict=False)
    ]
    return max(needed, default=1)


def find_bench(arcs: Sequence[float], waits: Sequence[float]) -> Bench:
    """Say how many joints keep a welder busy, and what fewer would give."""
    alone, needed = go_round(arcs, waits, 1), fewest(arcs, waits)
    if needed > MOST:
        return Bench(alone, None, (go_round(arcs, waits, 2),))
    smaller = sorted({2, (needed + 1) // 2} - {needed, 1} if needed > 2 else set())
    between = tuple(go_round(arcs, waits, n) for n in smaller)
    return Bench(alone, go_round(arcs, waits, needed), between)
