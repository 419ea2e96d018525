"""Readings no joint could give: found before the fit, and again after it.

A wrong unit, place or time would bend every number of the joint; such a reading is
flagged, with what it looks like, and left out.

What it computes: ``thermo/MODEL.md``, section 9.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import hypot, sqrt

import numpy as np

from ..text.arrays import Array
from .posterior import Look
from .reading import Reading, misfit

IMPOSSIBLE = 3.5  # standard deviations of joint, model and instrument together
STRANGE = 2.0  # from here on another unit that fits well is believed
FITS = 1.5  # how well that other unit must fit
LOOKS = "looks like"

SWAPS = (
    ("degF taken for degC", lambda T: (T - 273.15 - 32) / 1.8 + 273.15),
    ("degC taken for degF", lambda T: (T - 273.15) * 1.8 + 32 + 273.15),
)


@dataclass(frozen=True)
class ReadingCheck:
    """One reading beside what was expected [K]."""

    reading: Reading
    before: float  # expected before the fit
    before_error: float  # standard deviation of that, instrument not counted
    after: float  # expected after the fit
    after_error: float
    is_flagged: bool
    why: str  # of the flag

    @property
    def is_hot(self) -> bool:
        """Whether it is hotter than this joint can be, by the model."""
        return self.is_flagged and is_above(self.reading, self.before)

    @property
    def highest(self) -> float:
        """Highest reading that would have passed for one of this joint [K]."""
        many = STRANGE if self.why.startswith(LOOKS) else IMPOSSIBLE
        return self.before + many * hypot(self.before_error, self.reading.error)


def is_above(reading: Reading, expected: float) -> bool:
    """Whether a reading says more than was expected [K]."""
    return misfit(reading, expected) < 0


Checks = Callable[[Array, Array], tuple[ReadingCheck, ...]]
"""Of the scores fitted and their covariance."""


def sort_out(
    look: Look, readings: Sequence[Reading], count: int
) -> tuple[Checks, tuple[int, ...]]:
    """Tell the readings a joint could give from those it could not.

    Parameters
    ----------
    look : callable
        Predicts them all.
    count : int
        Scores that it takes.

    Returns
    -------
    Checks, which readings are kept
        The checks are complete once the fit is known.
    """
    expected, slope = look(np.zeros(count))
    error = np.sqrt((slope**2).sum(axis=1))
    flags = [
        why_impossible(reading, T, e)
        for reading, T, e in zip(readings, expected, error, strict=True)
    ]
    kept = tuple(n for n, why in enumerate(flags) if not why)

    def checks(centre: Array, covariance: Array) -> tuple[ReadingCheck, ...]:
        after, steep = look(centre)
        left = np.sqrt(np.einsum("ij,jk,ik->i", steep, covariance, steep))
        rows = zip(readings, expected, error, after, left, flags, strict=True)
        return tuple(
            ReadingCheck(r, float(b), float(be), float(a), float(ae), bool(w), w)
            for r, b, be, a, ae, w in rows
        )

    return checks, kept


def why_impossible(reading: Reading, expected: float, error: float) -> str:
    """Say why no plausible joint gives a reading; "" when one does."""
    off = _off(reading, expected, error)
    if off <= STRANGE:
        return ""
    looks = [
        name
        for name, turn in SWAPS
        if _off(_turned(reading, turn), expected, error) < min(FITS, off / 2)
    ]
    if looks:
        return f"{LOOKS} {looks[0]}"
    if off <= IMPOSSIBLE:
        return ""
    return (
        f"{off:.0f} standard deviations from what this joint can show; "
        "look at place, time and unit"
    )


def _off(reading: Reading, expected: float, error: float) -> float:
    """Misfit in standard deviations of joint, model and instrument together."""
    wider = replace(reading, error=sqrt(reading.error**2 + error**2))
    return abs(misfit(wider, expected))


def _turned(reading: Reading, turn: Callable[[float], float]) -> Reading:
    return replace(reading, low=turn(reading.low), high=turn(reading.high))
