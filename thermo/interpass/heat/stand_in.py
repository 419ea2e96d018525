"""A model quick enough for hundreds of plausible joints, corrected to the full run.

It is the same solver, axisymmetric and on coarse cells. What the full run of the best
estimate has more than the quick run of the same joint, at the same moment of the same
pass, is added to every quick run in proportion to the heat of the pass: the hot flank
that a travelling arc leaves, and what coarse cells get wrong.

What it computes: ``thermo/MODEL.md``, section 8.
"""

from dataclasses import dataclass, replace
from itertools import pairwise
from math import inf

import numpy as np

from ..joint import arc
from ..joint.case import Case, Pass
from ..text.arrays import Array
from . import march
from .arrays import Field, Probes
from .history import History
from .model import Model, films_of, make_model
from .more import Quick, heat_ratios, more_after, pass_index
from .probes import make_probes

CELL = 2.0e-3  # m
TOLERANCE = 10.0  # K; finer cells and steps correct no better
PAUSES = 0.25  # of a pass: no longer ones between its burns are welded over
LEAST_SHARE = 0.3  # of the best wait: where the search for the limit begins

MODEL_ERROR = (
    1.5  # K, of this model at the place read, when all numbers are known: 1.3 rms
)
# against a finer ring over 28 waits of 16 joints (2.1 a tenth into a wait, 0.5 at its end)

GAP_STEP = 0.4e-3  # m; 0.8 to 2.6 mm of end gap move a wait by 0.5 to 1 %
BELOW = 1.0  # K under the limit, so that the crossing is inside the curve


@dataclass(frozen=True, eq=False)
class Course:
    """A quick run at given waits, corrected, over the times of the full run."""

    at_on: Array  # (passes,) hottest at arc on [K]
    traces_on: Array  # (passes, probes) just before it
    hottest: Array  # (n,)
    traces: Array  # (n, probes)


@dataclass(frozen=True)
class Need:
    """What one pass needs before it."""

    wait: float  # s, as given or until the limit holds
    reading: float  # K at the measuring place when the hottest metal is at the limit


NO_NEED = Need(0.0, float("nan"))  # of pass 1


@dataclass(frozen=True, eq=False)
class _ArcNoted:
    """When a pass was welded, and what the joint was just before."""

    began: float  # s
    ended: float
    hottest: float  # K
    traces: Array  # (probes,) K


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
    state, arcs = _start(quick, case), []
    for p, wait in zip(case.passes, quick.waits, strict=True):
        _cool(state, wait)
        arcs.append(_weld_noted(state, p))
    return _course(quick, case, state, arcs)


def plan_waits(quick: Quick, case: Case) -> tuple[float, ...]:
    """Find the waits before each pass of a plausible joint [s]; a given wait is kept.

    A limit out of reach gives the longest wait allowed.
    """
    needs = _needs(quick, case, _start(quick, case), 1)
    return tuple(need.wait for need in (NO_NEED, *needs))


def follow_and_plan(quick: Quick, case: Case) -> tuple[Course, tuple[Need, ...]]:
    """Run a joint at the waits of the full run, and find what it needs itself.

    Both are one run up to the first wait that is to be found, and in that wait; after it
    a copy goes on at the joint's own waits.
    """
    state, arcs, needs = _start(quick, case), [], [NO_NEED]
    for p, wait in zip(case.passes, quick.waits, strict=True):
        if len(needs) == p.number - 1:
            own = _branch(state)
            _cool(state, wait)
            course = cooling(quick, case, state, p.number - 1, began=own.time)
            needs.append(_need(course, case, p))
            if p.wait is None:
                needs += _needs(quick, case, own, p.number, needs[-1].wait)
        else:
            _cool(state, wait)
        arcs.append(_weld_noted(state, p))
    return _course(quick, case, state, arcs), tuple(needs)


def _needs(
    quick: Quick, case: Case, state: march.State, number: int, wait: float = 0.0
) -> list[Need]:
    """Find what the passes after one need, the joint about to wait before that one."""
    found: list[Need] = []
    for p, after in pairwise(case.passes[number - 1 :]):
        _cool(state, found[-1].wait if found else wait)
        weld(state, p)
        course = cooling(quick, case, state, p.number)
        found.append(_need(course, case, after))
    return found


def _need(course: Cooling, case: Case, p: Pass) -> Need:
    """Wait of a pass, given or found, by the cooling before it."""
    needed = limit_time(course, case)
    reading = reading_at_limit(course, case, needed)
    return Need(needed if p.wait is None else p.wait, reading)


def _cool(state: march.State, wait: float) -> None:
    if wait > 0:
        march.cool(state, wait)


def _weld_noted(state: march.State, p: Pass) -> _ArcNoted:
    """Go round once, and note what the joint was before."""
    hottest, traces = _hottest(state), march.probe_temperatures(state)
    began = state.time
    weld(state, p)
    return _ArcNoted(began, state.time, hottest, traces)


def _course(
    quick: Quick, case: Case, state: march.State, arcs: list[_ArcNoted]
) -> Course:
    """Cool to the end of the full run, and correct all that was noted by it."""
    _cool(state, float(quick.knots[-1] - quick.knots[-2]))
    # Arc times differ with the travel: moments are matched pass by pass.
    knots = [t for one in arcs for t in (one.began, one.ended)]
    mapped = np.interp(quick.time, quick.knots, [*knots, state.time])
    time, hottest, traces = _record(state)
    ratio = np.array(heat_ratios(quick, case))
    before = np.concatenate([[1.0], ratio[:-1]])
    share = ratio[pass_index(quick)]
    follows = np.stack([np.interp(mapped, time, column) for column in traces.T], axis=1)
    rows = np.searchsorted(quick.time, quick.knots[:-1:2], side="right") - 1
    at_on = np.array([one.hottest for one in arcs])
    traces_on = np.array([one.traces for one in arcs])
    return Course(
        at_on=at_on + before * quick.on_more,
        traces_on=traces_on + before[:, None] * quick.traces_more[rows],
        hottest=np.interp(mapped, time, hottest) + share * quick.hottest_more,
        traces=follows + share[:, None] * quick.traces_more,
    )


def reading_at_limit(course: Cooling, case: Case, needed: float) -> float:
    """Find the reading at the measuring place when the hottest metal is at the limit [K].

    Where the limit is out of reach, the last reading less what is still too hot.
    """
    over = max(float(course.hottest[-1]) - case.limits.interpass_max, 0.0)
    return float(np.interp(needed, course.since, course.traces[:, -1])) - over


def after_pass(
    quick: Quick,
    case: Case,
    number: int,
    longest: float = 0.0,
    *,
    to_limit: bool = True,
) -> Cooling:
    """Cooling after a pass, the waits before it as in the full run."""
    state = _welded(quick, case, number)
    return cooling(quick, case, state, number, longest, to_limit=to_limit)


def after_pass_and_on(
    quick: Quick, case: Case, number: int, longest: float
) -> tuple[Cooling, list[Need]]:
    """Cooling after a pass, and what this joint needs then: next pass, and all later."""
    state = _welded(quick, case, number)
    course = cooling(quick, case, state, number, longest)
    need = _need(course, case, case.passes[number])
    return course, [need, *_needs(quick, case, state, number + 1, need.wait)]


def _welded(quick: Quick, case: Case, number: int) -> march.State:
    """Joint at the end of a pass, the waits before it as in the full run."""
    state = _start(quick, case)
    for p, wait in zip(case.passes[:number], quick.waits, strict=False):
        _cool(state, wait)
        weld(state, p)
    return state


def cooling(
    quick: Quick,
    case: Case,
    state: march.State,
    number: int,
    longest: float = 0.0,
    *,
    began: float | None = None,
    to_limit: bool = True,
) -> Cooling:
    """Cool a copy of the joint after a pass until its limit surely holds.

    ``longest`` s at least, and no longer unless ``to_limit``; ``state`` stays as it is.
    Where it has cooled since the arc went off at ``began``, what was noted of that counts.
    """
    began = state.time if began is None else began
    limits, ratio = case.limits, heat_ratios(quick, case)[number - 1]
    since, hot_more, trace_more = more_after(quick, number)
    wait = quick.waits[number] if number < len(quick.waits) else 0.0
    first = max(LEAST_SHARE * wait, longest, 1.0, state.time - began)
    more = trace_more[:, -1] if limits.by_reading else hot_more
    late = max(float(np.interp(first, since, more)), *more[since >= first], 0.0)
    target = limits.interpass_max - ratio * late - BELOW
    copied = _branch(state, began)
    if not copied.records:
        march.note_now(copied)
    _cool(copied, began + first - state.time)
    if to_limit and (limits.by_reading or march.judged(copied) > target):
        march.cool(copied, max(limits.wait_max - first, 0.0), target)
    time, hottest, traces = _record(copied)
    time = time - began
    more = np.interp(time, since, hot_more)
    beside = [np.interp(time, since, column) for column in trace_more.T]
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
    for burn, power in _burns(p):
        if (pause := began + burn.arc_on - state.time) > 1e-9:
            march.cool(state, pause)
        duration = burn.arc_off - burn.arc_on
        march.heat(state, power, duration, burn.start_angle, burn.end_angle)
    march.finish_bead(state)


def _burns(p: Pass) -> list[tuple[arc.Stretch, float]]:
    """Burns of a pass and their power [W]: one, pauses and all, where these are short."""
    burns = arc.stretches(p)
    began, ended = burns[0].arc_on, burns[-1].arc_off
    share = sum(burn.arc_off - burn.arc_on for burn in burns) / (ended - began)
    if share < 1 - PAUSES:
        return [(burn, p.net_power) for burn in burns]
    whole = arc.Stretch(began, ended, burns[0].start_angle, burns[-1].end_angle)
    return [(whole, share * p.net_power)]


def _start(quick: Quick, case: Case) -> march.State:
    """Joint before its first arc: the drawing of the best estimate, its own films."""
    arcs, waiting = films_of(case)
    drawn, probes = drawn_for(quick, case)
    model = replace(drawn, case=case, films_arc=arcs, films_wait=waiting)
    state = march.start(model, probes)
    march.note_now(state)
    return state


def drawn_for(quick: Quick, case: Case) -> tuple[Model, Probes]:
    """Give the model with the end gap of a joint, drawn once for every `GAP_STEP`.

    Another gap is another grid, so its probes are other cells.
    """
    best = quick.case.end_gap
    steps = round((case.end_gap - best) / GAP_STEP)
    if steps == 0:
        return quick.model, quick.probes
    if steps not in quick.redrawn:
        gap = max(best + steps * GAP_STEP, 0.0)
        model = make_model(replace(quick.case, end_gap=gap))
        quick.redrawn[steps] = model, make_probes(model)
    return quick.redrawn[steps]


def _branch(state: march.State, since: float = inf) -> march.State:
    """Copy of the joint that can go on by itself; the room for a step is shared.

    It keeps the records that end after ``since``.
    """
    T, H, built = state.field
    field = Field(T.copy(), H.copy(), built.copy())
    kept = [r for r in state.records if r.time.size and r.time[-1] > since]
    return replace(state, field=field, lost=state.lost.copy(), records=kept)


def _hottest(state: march.State) -> float:
    return march.joint_temperature(state, 0.0).hottest


def _record(state: march.State) -> tuple[Array, Array, Array]:
    """Join times (n,), hottest (n,) and probes (n, probes) of a run so far."""
    records = state.records
    time = np.concatenate([r.time for r in records])
    hottest = np.concatenate([r.ring for r in records])[:, 0]
    return time, hottest, np.concatenate([r.probe for r in records])
