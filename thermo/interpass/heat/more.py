"""The quick model of one case, and what a full run of it has more at the same moment.

What it computes: ``thermo/MODEL.md``, section 8.
"""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ..joint.case import Case
from ..text.arrays import Array
from .arrays import Probes
from .model import Model


@dataclass(frozen=True, eq=False)
class Quick:
    """The quick model of one case, and what a full run has more than it.

    Arrays are over the recorded times of the full run (n,).
    """

    case: Case  # the best estimate, with the options of the quick model
    model: Model
    probes: Probes
    waits: tuple[float, ...]  # s before each pass, as the full run has them
    time: Array  # s since the first arc on
    knots: Array  # (2 passes + 1,) arc on, arc off, ..., end of the full run
    hottest_more: Array  # K
    traces_more: Array  # (n, probes) K
    on_more: Array  # (passes,) K of the hottest point at arc on
    redrawn: dict[int, tuple[Model, Probes]] = field(default_factory=dict)  # by end gap


def heat_ratios(quick: Quick, case: Case) -> list[float]:
    """Heat of each pass over that of the best estimate."""
    return [
        p.net_power * p.arc_time / (best.net_power * best.arc_time)
        for p, best in zip(case.passes, quick.case.passes, strict=True)
    ]


def pass_index(quick: Quick) -> NDArray[np.int64]:
    """Index of the last pass begun at each time of the full run, (n,)."""
    begun = np.searchsorted(quick.knots[:-1:2], quick.time, side="right") - 1
    return np.clip(begun, 0, len(quick.waits) - 1)


def more_after(quick: Quick, number: int) -> tuple[Array, Array, Array]:
    """Tell what the full run has more after a pass: since arc off (m,), hottest, probes.

    Beyond the next arc on it goes on as it does after the last pass, which is followed
    for long.
    """
    last = len(quick.waits)
    since, hot, traces = _after(quick, number)
    if number == last:
        return since, hot, traces
    late, late_hot, late_traces = _after(quick, last)
    beyond = late > since[-1]
    if not beyond.any():
        return since, hot, traces
    joint_hot = np.interp(since[-1], late, late_hot)
    joint = [np.interp(since[-1], late, column) for column in late_traces.T]
    return (
        np.concatenate([since, late[beyond]]),
        np.concatenate([hot, hot[-1] + late_hot[beyond] - joint_hot]),
        np.concatenate([traces, traces[-1] + late_traces[beyond] - np.array(joint)]),
    )


def _after(quick: Quick, number: int) -> tuple[Array, Array, Array]:
    """Rows between a pass's arc off and the next arc on."""
    off, end = quick.knots[2 * number - 1], quick.knots[2 * number]
    rows = (quick.time >= off - 1e-9) & (quick.time <= end + 1e-9)
    return quick.time[rows] - off, quick.hottest_more[rows], quick.traces_more[rows]
