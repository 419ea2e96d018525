"""Plan the waits: run each pass, cool until the limit holds, and go on.

What it computes: ``thermo/MODEL.md``, section 6.
"""

from dataclasses import replace
from functools import lru_cache

import numpy as np

from ..joint import arc
from ..joint.case import Case, Pass, Probe, Watch
from ..joint.places import MeasuringPlace, measuring_place
from ..text.errors import RunError
from ..text.progress import Progress
from . import evening, march
from . import notes as noting
from .history import History, PassResult, Trace
from .lump import lumped_check
from .model import make_model
from .probes import make_probes, no_colder_than_surroundings


def plan(
    case: Case, progress: Progress | None = None, frames: float | None = None
) -> History:
    """Run a case from the first arc to ``end_after`` past the last.

    Waits that are "auto" end when the hottest point of the interpass zone has fallen to
    the limit, or the reading at the marked place has, where the limit applies to that;
    given waits are run as they are.

    Parameters
    ----------
    case : Case
        The joint and its passes.
    progress : callable, optional
        Called with the share done and what is being done.
    frames : float, optional
        Keep snapshots of the whole piece: 0 at every arc on and off, more also about
        every so many seconds. None keeps none.

    Raises
    ------
    RunError
        When the solver meets a temperature no metal can have; ``history`` holds the run
        up to then.
    """
    model = make_model(case)
    state = march.start(model, make_probes(model))
    notes = noting.begin(state, frames)
    results: list[PassResult] = []
    why = ""
    march.note_now(state)
    try:
        for p in case.passes:
            if progress:
                progress((p.number - 1) / len(case.passes), f"pass {p.number}")
            why = _wait_for(state, p) if results else ""
            if why:
                break
            if results:
                noting.peak(notes)
            results.append(_run_pass(notes, p, results))
        if not why:
            march.cool(state, case.model.end_after)
    except RunError as error:
        error.history = make_history(notes, results, str(error))
        raise
    return make_history(notes, results, why)


def _wait_for(state: march.State, p: Pass) -> str:
    """Cool before a pass; say why when the limit is out of reach."""
    limits, air = state.model.case.limits, state.model.case.surroundings.air
    if p.wait is not None:
        march.cool(state, p.wait)
        return ""
    if not limits.by_reading and march.judged(state) <= limits.interpass_max:
        return ""
    if march.cool(state, limits.wait_max, limits.interpass_max):
        return ""
    now, what = march.judged(state), "reading" if limits.by_reading else "joint"
    return (
        f"pass {p.number}: after {limits.wait_max:.0f} s of waiting the {what} is still at "
        f"{now - 273.15:.0f} degC, above the limit of {limits.interpass_max - 273.15:.0f} "
        f"degC (air is at {air - 273.15:.0f} degC); cool it another way, use less heat, "
        "or raise [limits] wait_max"
    )


def _run_pass(notes: noting.Notes, p: Pass, before: list[PassResult]) -> PassResult:
    """Strike the arc, go round, and note the temperatures at either end."""
    state = notes.state
    case = state.model.case
    burns = arc.stretches(p)
    arc_on = state.time
    at_on = march.joint_temperature(state, burns[0].start_angle)
    reading = float(march.probe_temperatures(state)[-1])
    noting.picture(notes, "arc on", p.number)
    march.begin_pass(state, p.number)
    began = state.time
    for burn in burns:
        if (pause := began + burn.arc_on - state.time) > 1e-9:
            march.cool(state, pause)
        duration = burn.arc_off - burn.arc_on
        march.heat(state, p.net_power, duration, burn.start_angle, burn.end_angle)
    march.finish_bead(state)
    noting.picture(notes, "arc off", p.number)
    known = p.has_current  # not when the case gives a net power
    welding = (p.current, p.voltage, p.travel)
    following = case.passes[p.number] if p.number < len(case.passes) else p
    return PassResult(
        number=p.number,
        wait=arc_on - before[-1].arc_off if before else 0.0,
        wait_is_auto=p.wait is None and bool(before),
        arc_on=arc_on,
        arc_off=state.time,
        arc_energy=arc.arc_energy(*welding) if known else None,
        heat_input=arc.heat_input(*welding, case.process) if known else None,
        net_energy=p.net_power * arc.burning_time(p),
        at_arc_on=at_on,
        at_arc_off=march.joint_temperature(state, following.start_angle),
        expect_reading=reading,
    )


def make_history(notes: noting.Notes, results: list[PassResult], why: str) -> History:
    """Gather what a run left behind."""
    state = notes.state
    if results or state.work.peak.any():  # one that failed on its way counts as well
        evening.refine(state)
        noting.peak(notes)
    model = state.model
    time, ring, mean, coldest, probe = (
        np.concatenate([getattr(r, name) for r in state.records])
        for name in ("time", "ring", "mean", "coldest", "probe")
    )
    probe = no_colder_than_surroundings(model.case, probe)
    places: list[Probe | Watch | MeasuringPlace] = [*model.case.probes]
    places += [*model.case.limits.watch, measuring_place(model.case)]
    return History(
        model="axisymmetric" if model.n_theta == 1 else "ring",
        time=time,
        hottest=ring.max(axis=1),
        coldest=coldest,
        mean=mean,
        passes=tuple(results),
        traces=tuple(
            Trace(x.name, x.r, x.z, getattr(x, "angle", 0.0), probe[:, n])
            for n, x in enumerate(places)
        ),
        ledger=march.ledger(state),
        lumped=lumped_check(model),
        complete=not why,
        stopped_because=why,
        cells=model.cells,
        steps=state.steps,
        solve_time=state.seconds,
        ring=ring,
        heat=noting.heat_flow(notes),
        snapshots=tuple(notes.snapshots),
        peaks=tuple(notes.peaks),
    )


def axisymmetric_waits(case: Case) -> tuple[float, ...]:
    """Find the waits with the arc averaged round the ring [s]; none where that run fails."""
    options = replace(case.model, ring=1, end_after=0.0)
    return _waits(replace(case, model=options, report_units=""))


@lru_cache(maxsize=1)  # text, data and remedies of one run all ask for it
def _waits(case: Case) -> tuple[float, ...]:
    try:
        return tuple(p.wait for p in plan(case).passes)
    except RunError:
        return ()
