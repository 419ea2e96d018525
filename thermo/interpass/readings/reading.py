"""A reading of the joint's temperature, plain data in SI units, and how far a prediction misses it.

What it computes: ``thermo/MODEL.md``, section 9.
"""

from dataclasses import dataclass
from math import erfc, inf, log, log1p, pi, sqrt

import numpy as np

from ..doubt.priors import READING_ERROR
from ..joint.case import Case

FAR_OUT = -30.0  # standard deviations


@dataclass(frozen=True)
class Reading:
    """What somebody read, when and where.

    ``low`` and ``high`` are equal for a pyrometer; a crayon gives an interval: melted at
    150 degC is (150 degC, inf), not melted at 200 degC is (-inf, 200 degC).
    """

    after_pass: int  # number of the pass
    since: float  # s since that pass's arc off
    low: float  # K
    high: float  # K
    on: str = "pipe"  # or "fitting"
    from_toe: float | None = None  # m along the surface; None: the case's place
    angle: float | None = None  # rad; None: the case's place
    error: float = READING_ERROR  # K, standard deviation of the instrument
    file: str = ""
    line: int = 0
    instrument: str = ""


def misfit(reading: Reading, predicted: float) -> float:
    """Count the standard deviations from a reading up to a prediction.

    For an interval: the likelihood that the instrument stayed within it, relative to
    the best place inside, turned into the same measure; a narrow interval is a reading
    of its middle.

    Examples
    --------
    >>> round(misfit(Reading(1, 40.0, 450.0, 450.0, error=5.0), 460.0), 3)
    2.0
    >>> round(misfit(Reading(1, 40.0, 449.99, 450.01, error=5.0), 460.0), 3)
    2.0
    >>> round(abs(misfit(Reading(1, 40.0, 450.0, inf, error=5.0), 500.0)), 3)
    0.0
    """
    if reading.low == reading.high:
        return (predicted - reading.low) / reading.error
    below = (predicted - reading.low) / reading.error
    above = (reading.high - predicted) / reading.error
    half = (below + above) / 2
    size = sqrt(max(2 * (log_within(half, half) - log_within(below, above)), 0.0))
    return size if below > above else -size


def log_within(below: float, above: float) -> float:
    """Log of the probability that a standard normal is in (-below, above).

    Exact in the tails, where the difference of two nearly equal numbers would be lost.

    Examples
    --------
    >>> round(log_within(1.0, 1.0), 4)  # log 0.6827
    -0.3817
    """
    near, far = min(below, above), max(below, above)
    if near >= 0:
        return float(np.log1p(-(erfc(near / sqrt(2)) + erfc(far / sqrt(2))) / 2))
    a, b = _log_below(near), _log_below(-far)
    return a + float(np.log(-np.expm1(b - a))) if b > -inf else a


def _log_below(x: float) -> float:
    """Log of the probability that a standard normal is below ``x``, which is not above 0.

    Far out by its asymptotic series, to 1e-11; `scipy.special` takes 0.1 s to load.
    """
    if x > FAR_OUT:
        return log(erfc(-x / sqrt(2)) / 2)
    u = 1 / x**2
    return (
        -(x**2) / 2
        - log(-x * sqrt(2 * pi))
        + log1p(u * (-1 + u * (3 + u * (105 * u - 15))))
    )


def is_at_own_place(case: Case, reading: Reading, *, number: bool = True) -> bool:
    """Whether a reading is of the case's measuring place, and (``number``) no crayon's."""
    own = case.measure
    return (
        (reading.low == reading.high or not number)
        and reading.on == own.on
        and reading.from_toe in (None, own.from_toe)
        and reading.angle in (None, own.angle)
    )
