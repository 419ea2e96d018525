"""When a reading teaches most: the moment of each wait that leaves the least doubt.

Readings and waits of the plausible joints are taken to be normal together; a reading then
leaves of a wait's variance what it does not explain, its own error counted.

What it computes: ``thermo/MODEL.md``, section 8.
"""

import numpy as np

from ..heat.more import Quick
from ..heat.stand_in import MODEL_ERROR
from ..text.arrays import Array
from .priors import READING_ERROR
from .samples import Ensemble

SOONEST = 15.0  # s after arc off: torch away, pyrometer in hand
EARLIEST = 0.05  # of the joints need no longer: a reading must come before
CHOICES = 24  # moments of a wait that are compared


def best_moments(quick: Quick, ensemble: Ensemble) -> dict[int, float]:
    """Find when to read in every wait that is "auto" [s after arc off], by its pass.

    Each is the moment that leaves the least variance, summed over this wait and the later
    ones, with a reading at the moments found for the waits before it.
    """
    count = len(ensemble.reading)
    waits = ensemble.waits[:count]
    auto = [p.number for p in quick.case.passes[1:] if p.wait is None]
    found: dict[int, float] = {}
    known = np.empty((count, 0))
    for number in auto:
        end = min(np.quantile(waits[:, number - 1], EARLIEST), quick.waits[number - 1])
        times = np.linspace(min(SOONEST, end), end, CHOICES)
        readings = _readings(quick, ensemble, number, times)
        later = waits[:, [n - 1 for n in auto if n >= number]]
        left = [_left(np.column_stack([known, r]), later) for r in readings.T]
        n = int(np.argmin(left))
        found[number] = float(times[n])
        known = np.column_stack([known, readings[:, n]])
    return found


def _readings(quick: Quick, ensemble: Ensemble, number: int, times: Array) -> Array:
    """Tell what each joint shows at moments of the wait before a pass, (joints, moments)."""
    when = quick.knots[2 * number - 3] + times
    return np.array([np.interp(when, quick.time, row) for row in ensemble.reading])


def _left(readings: Array, waits: Array) -> float:
    """Sum the variances of waits that some readings do not explain [s²]."""
    x, y = readings - readings.mean(axis=0), waits - waits.mean(axis=0)
    error = np.eye(x.shape[1]) * READING_ERROR**2 + MODEL_ERROR**2
    both = x.T @ y / len(x)
    told = both * np.linalg.solve(x.T @ x / len(x) + error, both)
    return float((y**2).mean(axis=0).sum() - told.sum())
