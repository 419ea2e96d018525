"""How far the answer may be off: plain data, as a run's doubt leaves it.

Low, best and high are the 5 %, the best estimate and the 95 % of the plausible joints.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


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


@dataclass(frozen=True)
class DoubtShare:
    """How much of the doubt about the waits one number of the case brings in."""

    key: str  # "arc.efficiency"
    words: str  # "arc efficiency"
    share: float  # of the variance explained; all shares sum to 1


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


@dataclass(frozen=True, eq=False)
class Bands:
    """Doubt about a whole plan; arrays are (n,) over ``time``."""

    passes: tuple[PassBand, ...]
    shares: tuple[DoubtShare, ...]  # largest first
    families: tuple[Family, ...]  # one per wait that is "auto"
    time: Array  # s since the first arc on, at the best waits
    low: Array  # K, 5 % of the hottest point
    high: Array  # K, 95 %
    reading_low: Array  # K, the same of a reading at the measuring place
    reading_high: Array
    samples: int
    seed: int
    how: str  # how the samples were computed, a sentence
