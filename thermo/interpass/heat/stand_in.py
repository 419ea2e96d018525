"""A model quick enough for hundreds of plausible joints, corrected to the full run.

It is the same solver, axisymmetric and on coarse cells. What the full run of the best
estimate has more than the quick run of the same joint, at the same moment of the same
pass, is added to every quick run in proportion to the heat of the pass: the hot flank
that a travelling arc leaves, and what coarse cells get wrong.

What it computes: ``thermo/MODEL.md``, section 8.
"""

from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ..joint import arc
from ..joint.case import Case, Pass
from ..text.arrays import Array
from . import march
from .arrays import Field, Probes
from .history import History
from .model import Model, make_films, make_model
from .probes import make_probes

CELL = 2.0e-3  # m
TOLERANCE = 3.0  # K; finer cells and steps correct no better
LEAST_SHARE = 0.3  # of the best wait: where the search for the limit begins

MODEL_ERROR = (
    1.5  # K, of this model at the place read, when all numbers are known: 1.3 rms
)
# against a finer ring over 28 waits of 16 joints (2.1 a tenth into a wait, 0.5 at its end)

GAP_STEP = 0.4e-3  # m; 0.8 to 2.6 mm of end gap move a wait by 0.5 to 1 %
BELOW = 1.0  # K under the limit, so that the crossing is inside the curve


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
    redrawn: dict[int, Model] = field(default_factory=dict)  # by end gap, as needed


@dataclass(frozen=True, eq=False)
class Course:
    """A quick run at given waits, corrected, over the times of the full run."""

    at_on: Array  # (passes,) hottest at arc on [K]
    traces_on: Array  # (passes, probes) just before it
    hottest: Array  # (n,)
    traces: Array  # (n, probes)


@dataclass(frozen=True, eq=False)
class Cooling:
    """The joint after one pass, corrected, as long as somebody may wait."""

    since: Array  # (n,) s since arc off
    hottest: Array  # K
    traces: Array  # (n, probes)


def prepare(case: Case, history: History) -> Quick:
    """Run the quick model of the best estimate beside its full run."""
    options = replace(case.model, ring=1, cell=max(CELL, case.model.cell))
    options = replace(options, tolerance=max(TOLERANCE, case.model.tolerance))
    done = len(history.passes)
    quick_case = replace(case, model=options, passes=case.passes[:done])
    model = make_model(quick_case)
    knots = [t for p in history.passes for t in (p.arc_on, p.arc_off)]
    traces = np.stack([t.temperature for t in history.traces], axis=1)
    bare = Quick(
        case=quick_case,
        model=model,
        probes=make_probes(model),
        waits=tuple(p.wait for p in history.passes),
        time=history.time,
        knots=np.array([*knots, float(history.time[-1])]),
        hottest_more=np.zeros_like(history.time),
        traces_more=np.zeros_like(traces),
        on_more=np.zeros(done),
    )
    run = follow(bare, quick_case)
    on = np.array([p.at_arc_on.hottest for p in history.passes])
    return replace(
        bare,
        hottest_more=history.hottest - run.hottest,
        traces_more=traces - run.traces,
        on_more=on - run.at_on,
    )


def follow(quick: Quick, case: Case) -> Course:
    """Run a plausible joint at the waits of the full run."""
    state = _start(quick, case)
    at_on, traces_on, knots = [], [], []
    for p, wait in zip(case.passes, quick.waits, strict=True):
        if wait > 0:
            march.cool(state, wait)
        at_on.append(_hottest(state))
        traces_on.append(march.probe_temperatures(state))
        knots.append(state.time)
        weld(state, p)
        knots.append(state.time)
    rest = float(quick.knots[-1] - quick.knots[-2])
    if rest > 0:
        march.cool(state, rest)
    # Arc times differ with the travel: moments are matched pass by pass.
    mapped = np.interp(quick.time, quick.knots, [*knots, state.time])
    time, hottest, traces = _record(state)
    ratio = np.array(heat_ratios(quick, case))
    before = np.concatenate([[1.0], ratio[:-1]])
    share = ratio[_pass_index(quick)]
    count = traces.shape[1]
    follows = np.stack(
        [np.interp(mapped, time, traces[:, n]) for n in range(count)], axis=1
    )
    rows = np.searchsorted(quick.time, quick.knots[:-1:2], side="right") - 1
    return Course(
        at_on=np.array(at_on) + before * quick.on_more,
        traces_on=np.array(traces_on) + before[:, None] * quick.traces_more[rows],
        hottest=np.interp(mapped, time, hottest) + share * quick.hottest_more,
        traces=follows + share[:, None] * quick.traces_more,
    )


def plan_waits(quick: Quick, case: Case) -> tuple[float, ...]:
    """Find the waits before each pass of a plausible joint [s]; a given wait is kept.

    A limit out of reach gives the longest wait allowed.
    """
    return waits_and_readings(quick, case)[0]


def waits_and_readings(
    quick: Quick, case: Case
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Find the waits [s], and the readings that go with the limit before each pass [K].

    Each reading is that of the measuring place at the moment the hottest metal has come
    down to the limit, whatever wait is given; nan before pass 1.
    """
    state, waits, readings = _start(quick, case), [0.0], [float("nan")]
    for before, p in pairwise(case.passes):
        weld(state, before)
        course = cooling(quick, case, state, before.number)
        needed = limit_time(course, case)
        wait = needed if p.wait is None else p.wait
        march.cool(state, wait)
        waits.append(wait)
        readings.append(reading_at_limit(course, case, needed))
    return tuple(waits), tuple(readings)


def reading_at_limit(course: Cooling, case: Case, needed: float) -> float:
    """Find the reading at the measuring place when the hottest metal is at the limit [K].

    Where the limit is out of reach, the last reading less what is still too hot.
    """
    over = max(float(course.hottest[-1]) - case.limits.interpass_max, 0.0)
    return float(np.interp(needed, course.since, course.traces[:, -1])) - over


def after_pass(quick: Quick, case: Case, number: int, longest: float = 0.0) -> Cooling:
    """Cooling after a pass, the waits before it as in the full run."""
    state = _start(quick, case)
    for p, wait in zip(case.passes[:number], quick.waits, strict=False):
        if wait > 0:
            march.cool(state, wait)
        weld(state, p)
    return cooling(quick, case, state, number, longest)


def cooling(
    quick: Quick, case: Case, state: march.State, number: int, longest: float = 0.0
) -> Cooling:
    """Cool a copy of the joint after a pass until its limit surely holds.

    ``longest`` s at least; ``state`` stays as it is.
    """
    limits, ratio = case.limits, heat_ratios(quick, case)[number - 1]
    since, hot_more, trace_more = _more_after(quick, number)
    wait = quick.waits[number] if number < len(quick.waits) else 0.0
    first = max(LEAST_SHARE * wait, longest, 1.0)
    more = trace_more[:, -1] if limits.by_reading else hot_more
    late = more[since >= min(first, float(since[-1]))]
    target = limits.interpass_max - ratio * float(late.max(initial=0.0)) - BELOW
    copied = _branch(state)
    march.note_now(copied)
    march.cool(copied, first)
    if limits.by_reading or march.judged(copied) > target:
        march.cool(copied, max(limits.wait_max - first, 0.0), target)
    time, hottest, traces = _record(copied)
    time = time - state.time
    more = np.interp(time, since, hot_more)
    beside = [np.interp(time, since, trace_more[:, n]) for n in range(traces.shape[1])]
    return Cooling(
        since=time,
        hottest=hottest + ratio * more,
        traces=traces + ratio * np.stack(beside, axis=1),
    )


def limit_time(course: Cooling, case: Case) -> float:
    """Time after arc off from which the limit holds [s]; ``wait_max`` at most."""
    T, t, limits = course.hottest, course.since, case.limits
    if limits.by_reading:
        T = course.traces[:, -1]
    above = np.flatnonzero(limits.interpass_max < T)
    if above.size == 0:  # a reading that still rises says nothing yet
        return float(t[T.argmax()]) if limits.by_reading else 0.0
    n = int(above[-1])
    if n + 1 >= t.size:
        return limits.wait_max
    share = (T[n] - limits.interpass_max) / (T[n] - T[n + 1])
    return float(t[n] + share * (t[n + 1] - t[n]))


def weld(state: march.State, p: Pass) -> None:
    """Go round once: every burn of a pass and the pauses between."""
    march.begin_pass(state, p.number)
    began = state.time
    for burn in arc.stretches(p):
        if (pause := began + burn.arc_on - state.time) > 1e-9:
            march.cool(state, pause)
        duration = burn.arc_off - burn.arc_on
        march.heat(state, p.net_power, duration, burn.start_angle, burn.end_angle)
    march.finish_bead(state)


def heat_ratios(quick: Quick, case: Case) -> list[float]:
    """Heat of each pass over that of the best estimate."""
    return [
        p.net_power * p.arc_time / (best.net_power * best.arc_time)
        for p, best in zip(case.passes, quick.case.passes, strict=True)
    ]


def _start(quick: Quick, case: Case) -> march.State:
    """Joint before its first arc: the drawing of the best estimate, its own films."""
    always = case.surroundings.fan_during == "always"
    waiting = make_films(case, with_fan=True)
    arcs = waiting if always else make_films(case, with_fan=False)
    drawn = _drawn(quick, case)
    model = replace(drawn, case=case, films_arc=arcs, films_wait=waiting)
    state = march.start(model, quick.probes)
    march.note_now(state)
    return state


def _drawn(quick: Quick, case: Case) -> Model:
    """Give the model with the end gap of a joint, drawn once for every `GAP_STEP`."""
    best = quick.case.end_gap
    steps = round((case.end_gap - best) / GAP_STEP)
    if steps == 0:
        return quick.model
    if steps not in quick.redrawn:
        gap = max(best + steps * GAP_STEP, 0.0)
        quick.redrawn[steps] = make_model(replace(quick.case, end_gap=gap))
    return quick.redrawn[steps]


def _branch(state: march.State) -> march.State:
    """Copy of the joint that can cool by itself; the room for a step is shared."""
    T, H, built = state.field
    field = Field(T.copy(), H.copy(), built.copy())
    return replace(state, field=field, lost=state.lost.copy(), records=[])


def _hottest(state: march.State) -> float:
    return march.joint_temperature(state, 0.0).hottest


def _record(state: march.State) -> tuple[Array, Array, Array]:
    """Join times (n,), hottest (n,) and probes (n, probes) of a run so far."""
    records = state.records
    time = np.concatenate([r.time for r in records])
    hottest = np.concatenate([r.ring for r in records])[:, 0]
    return time, hottest, np.concatenate([r.probe for r in records])


def _pass_index(quick: Quick) -> NDArray[np.int64]:
    """Index of the last pass begun at each time of the full run, (n,)."""
    begun = np.searchsorted(quick.knots[:-1:2], quick.time, side="right") - 1
    return np.clip(begun, 0, len(quick.waits) - 1)


def _more_after(quick: Quick, number: int) -> tuple[Array, Array, Array]:
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
