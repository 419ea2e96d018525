"""How the doubt about a number is split: what a shop has in common, what is of each joint.

What it computes: ``thermo/MODEL.md``, section 9.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from ..text.arrays import Array
from ..trade.rows import table_rows

AS_SPLIT, HALF, NOTHING, ONE_LESS = 0.30, 0.25, 0.25, 0.20
"""How likely, before any reading: the shares of the table, half of each, none of them, all but
one of them. A guess; among 42 twin shops it costs little where the table is right and
saves the bands where a shop has less in common."""
MODEL, OFFSET = "model", "offset"  # rows of the table that are no number of a case


@dataclass(frozen=True, eq=False)
class Split:
    """Where the scores of shop and joints stand in one row, and how large each part is."""

    keys: tuple[str, ...]  # of the numbers, those of the next joint first, then "model"
    instruments: tuple[str, ...]
    shares: Array  # (keys,) of the variance that is common
    offset: float  # the same of an instrument's error
    joints: int

    @property
    def common(self) -> int:
        """How many scores the shop has; those of the joints follow, joint by joint."""
        return len(self.keys) + len(self.instruments)

    @property
    def size(self) -> int:
        """How many scores there are."""
        return self.common + self.joints * len(self.keys)


def ways_to_split(split: Split) -> Iterator[tuple[float, Split]]:
    """Split the doubt as the table does, and in other ways; each with its weight.

    The share of the model's error, which is computed, stays.
    """

    def times(factor: Array) -> Split:
        return replace(split, shares=split.shares * np.append(factor, 1.0))

    numbers = np.flatnonzero(split.shares[:-1])
    all_alike = np.ones(split.shares.size - 1)
    yield AS_SPLIT, split
    yield HALF, times(0.5 * all_alike)
    yield NOTHING, times(0.0 * all_alike)
    for n in numbers:
        yield (
            ONE_LESS / len(numbers),
            times(np.where(np.arange(all_alike.size) == n, 0.0, 1.0)),
        )


def shares() -> dict[str, dict[str, str]]:
    """Rows of the table of the split, by the last word of a key."""
    return {row["number"]: row for row in table_rows("shop")}


def share_of(key: str) -> float:
    """Share of a number's variance that a shop has in common; 0 where no row says it."""
    row = shares().get(key.rpartition(".")[2])
    return float(row["share"]) if row else 0.0
