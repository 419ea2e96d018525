"""Where and when readings were taken, and what a plausible joint would have shown there."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from . import quick as quickly
from .history import History
from .joint import Case, Measure, Probe
from .places import measuring_place
from .quick import Quick
from .readings import Reading
from .waits import plan

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Places:
    """The joint with a probe at every place that was read."""

    quick: Quick
    history: History
    column: tuple[int, ...]  # of each reading, in the probes
    longest: dict[int, float]  # s read at after each pass that was read


def find_places(
    case: Case, readings: Sequence[Reading], history: History | None = None
) -> Places:
    """Run the best estimate with probes at the places read, and its quick model.

    ``history`` is used as it is when every reading is at the case's own place.
    """
    places = [_measure(case, reading) for reading in readings]
    own = all(place == case.measure for place in places)
    if history is None or not own:
        case = replace(case, probes=(*case.probes, *(_probe(case, p) for p in places)))
        history = plan(case)
    first = len(case.probes) - len(places)
    columns = range(first, first + len(places))
    if own:
        columns_used = tuple(len(history.traces) - 1 for _ in readings)
    else:
        columns_used = tuple(columns)
    longest: dict[int, float] = {}
    for reading in readings:
        after = reading.after_pass
        longest[after] = max(longest.get(after, 0.0), reading.since)
    quick = quickly.prepare(case, history)
    return Places(quick, history, columns_used, longest)


def _measure(case: Case, reading: Reading) -> Measure:
    """Place of one reading; what it leaves out is the case's own."""
    own = case.measure
    is_own = reading.on == own.on and reading.from_toe in (None, own.from_toe)
    angle = own.angle if reading.angle is None else reading.angle
    return Measure(reading.on, own.from_toe if is_own else reading.from_toe, angle)


def _probe(case: Case, measure: Measure) -> Probe:
    place = measuring_place(replace(case, measure=measure))
    return Probe("reading", place.r, place.z, place.angle)


def predict(places: Places, case: Case, readings: Sequence[Reading]) -> Array:
    """Temperature of a plausible joint at every reading [K]."""
    quick = places.quick
    options = replace(
        case, model=quick.case.model, passes=case.passes[: len(quick.waits)]
    )
    courses = {
        after: quickly.after_pass(quick, options, after, longest + 1.0)
        for after, longest in places.longest.items()
    }
    return np.array(
        [
            np.interp(
                reading.since,
                courses[reading.after_pass].since,
                courses[reading.after_pass].traces[:, column],
            )
            for reading, column in zip(readings, places.column, strict=True)
        ]
    )
