"""Run the heat: phases of arc and of cooling, one after another, with a full record.

What it computes: ``thermo/MODEL.md``, section 5.
"""

from math import pi
from time import perf_counter

import numpy as np

from ..joint.outline import SURFACES
from ..physics.metals import TABLE_SIZE, TABLE_START, TABLE_STEP, enthalpy_at
from ..text.arrays import Array
from ..text.errors import RunError
from . import evening, solver
from .arrays import (
    EVEN,
    FAILED,
    FULL,
    REACHED,
    Arc,
    Control,
    Films,
    Probes,
    Record,
    make_field,
)
from .body import PARTS
from .history import JointTemperature, Ledger
from .model import SPREAD, Model
from .state import State, make_record, make_work

FREEZING = 10.0  # s after arc off in which the pool freezes: steps as under the arc
STEP_FREEZING = 1.0  # s
STEP_FIRST = 0.02  # s after every arc on or off
STEP_MAX = 10.0  # s while cooling
STEPS_PER_SPREAD = 2.0  # at least, while the arc moves one standard deviation
ARC_TOLERANCE = 30.0  # times the tolerance, in the pool under a travelling arc
RING_TOLERANCE = 3.0  # times the tolerance: the worst miss is in the pool, not the joint
EASE_ABOVE = 600.0  # K in the ring: the pool may be off by more than the joint
HOTTEST_POSSIBLE = TABLE_START + TABLE_STEP * (TABLE_SIZE - 1)  # K, end of the tables
NO_ARC = Arc(0.0, 0.0, 0.0, 1.0)


def start(model: Model, probes: Probes) -> State:
    """Build the joint as it stands before the first arc."""
    body = model.bodies[0]
    shape = (body.span.shape[1], model.n_theta, body.material.shape[1])
    s = model.case.surroundings
    metal = body.volume[1 if model.case.metal_in_place else 0] > 0
    T = np.full(shape, s.air)
    T[np.broadcast_to(metal[:, None, :], shape)] = s.start
    H, at_air = np.empty(shape), np.empty(body.material.shape)
    for n, material in enumerate(model.materials):
        of_it = body.material == n
        here = np.broadcast_to(of_it[:, None, :], shape)
        H[here] = enthalpy_at(material, T[here])
        at_air[of_it] = enthalpy_at(material, s.air)
    built = np.zeros(model.n_theta, dtype=np.int64)
    state = State(
        model=model,
        field=make_field(T, H, built),
        work=make_work(shape, body.surface_area.shape[1]),
        probes=probes,
        body=body,
        peak=np.zeros(shape),
        at_air=at_air,
    )
    state.stored_at_start = stored(state)
    return state


def begin_pass(state: State, number: int) -> None:
    """Take up the body of a pass; its bead is there at once, or grows with the arc."""
    state.body, state.number = state.model.bodies[number - 1], number
    # As many as this body has: the solver takes the number of surfaces from this array.
    size = (state.body.surface_area.shape[1], state.model.n_theta)
    state.work = state.work._replace(G_surface=np.zeros(size), loss_of=np.zeros(size))
    state.field.built[:] = 0
    state.work.loss[:] = 0.0
    state.work.peak[:] = 0.0
    if state.model.case.model.bead == "at once":
        finish_bead(state)


def finish_bead(state: State) -> None:
    """Lay the bead of the pass at every angle that has none yet."""
    for m in np.flatnonzero(state.field.built == 0):
        solver.run(
            "lay_bead",
            state.body,
            state.model.tables,
            state.field,
            state.work,
            int(m),
            state.model.case.surroundings.air,
        )


def heat(
    state: State, power: float, duration: float, start_angle: float, end_angle: float
) -> None:
    """Burn the arc from one angle to another [W, s, rad]."""
    model = state.model
    turn_rate = (end_angle - start_angle) / duration
    spread = spread_angle(model, state.number)
    if model.n_theta == 1:
        turn_rate, start_angle = 0.0, 0.0
    arc = Arc(power, start_angle, turn_rate, spread)
    tolerance, step_max = model.case.model.tolerance, STEP_MAX
    if turn_rate:
        tolerance *= ARC_TOLERANCE
        furthest = min(spread / STEPS_PER_SPREAD, 2 * pi / model.n_theta)
        step_max = furthest / abs(turn_rate)
    stepping, twice = (tolerance, step_max), turn_rate != 0.0
    _phase(state, arc, model.films_arc, stepping, duration, 0.0, twice=twice)


def cool(state: State, duration: float, stop_below: float = 0.0) -> bool:
    """Wait, at most ``duration`` s; True when the joint fell to ``stop_below``.

    What falls is what the limit applies to: the hottest point, or the reading, which must
    no longer rise either: far from the toe the heat is still on its way.
    """
    tolerance, films = state.model.case.model.tolerance, state.model.films_wait
    if state.model.n_theta == 1:
        stepping = (tolerance, STEP_MAX)
        return _phase(state, NO_ARC, films, stepping, duration, stop_below)
    first, freezing = min(FREEZING, duration), (ARC_TOLERANCE * tolerance, STEP_FREEZING)
    reached = _phase(state, NO_ARC, films, freezing, first, stop_below, twice=True)
    if not reached:
        stepping, rest = (RING_TOLERANCE * tolerance, STEP_MAX), duration - first
        reached = _phase(state, NO_ARC, films, stepping, rest, stop_below, goes_on=True)
    evening.refine(state)
    return reached


def spread_angle(model: Model, number: int = 1) -> float:
    """Spread of a pass's arc (standard deviation) seen from the axis [rad]."""
    spread = model.case.passes[number - 1].source_spread
    return (SPREAD if spread is None else spread) / (model.case.pipe.outside_diameter / 2)


def _phase(
    state: State,
    arc: Arc,
    films: Films,
    stepping: tuple[float, float],
    duration: float,
    stop_below: float,
    *,
    twice: bool = False,
    goes_on: bool = False,
) -> bool:
    """One arc or one wait, in as many calls of the solver as its record needs."""
    model, began, booked = state.model, state.time, state.arc_energy
    end, by_reading = began + duration, model.case.limits.by_reading
    step, status, fresh = STEP_FIRST, FULL, not goes_on
    if fresh:
        state.work.slope[:] = state.work.drift[:] = 0.0
    while status in {FULL, EVEN}:
        n_theta = state.field.built.size
        record = make_record(state.chunk, n_theta, state.probes.weight.shape[0])
        control = Control(
            stepping[0],
            step,
            stepping[1],
            state.time,
            end,
            stop_below,
            HOTTEST_POSSIBLE,
            EASE_ABOVE if model.n_theta > 1 else HOTTEST_POSSIBLE,
            twice=twice,
            even=0.0 if arc.power else evening.evenness(state),
            stop_probe=state.probes.weight.shape[0] - 1 if by_reading else -1,
            fresh=fresh,
        )
        clock = perf_counter()
        status, time, step, count, where, tries = solver.run(
            "march", state.body, films, model.tables, state.field, arc, control,
            state.probes, record, state.lost, state.work,
        )  # fmt: skip
        state.seconds += perf_counter() - clock
        arc = arc._replace(angle=arc.angle + arc.turn_rate * (time - state.time))
        record = Record(*(a[:count] for a in record))
        state.records.append(
            record._replace(ring=evening.finer(record.ring, model.n_theta, 1))
        )
        fresh = False
        if status == EVEN:
            evening.coarsen(state)
        state.time, state.steps = time, state.steps + tries
        if count:  # at once: a run that fails or is stopped keeps an account that closes
            burnt = float(record.time[count - 1]) - began
            state.arc_energy = booked + arc.power * burnt
        if state.observe:
            state.observe(state, status not in {FULL, EVEN})
    if status == FAILED:
        raise RunError(_why(state, where, arc))
    return status == REACHED


def note_now(state: State) -> None:
    """Put the present temperatures into the record."""
    record = make_record(1, state.model.n_theta, state.probes.weight.shape[0])
    T = state.field.T
    mean, coldest = solver.run(
        "zone_temperatures", state.body, T, state.field.built, record.ring[0]
    )
    record.time[0], record.mean[0], record.coldest[0] = state.time, mean, coldest
    record.probe[0] = probe_temperatures(state)
    state.records.append(record)


def probe_temperatures(state: State) -> Array:
    """Temperature of every probe now, (probes,) [K]."""
    cell = state.probes.cell
    values = state.field.temperature[cell[..., 0], cell[..., 1], cell[..., 2]]
    return (values * state.probes.weight).sum(axis=1)


def joint_temperature(state: State, angle: float) -> JointTemperature:
    """Interpass zone as it is now; ``angle`` is where the next pass starts."""
    ring = np.zeros(state.model.n_theta)
    mean, coldest = solver.run(
        "zone_temperatures", state.body, state.field.T, state.field.built, ring
    )
    m = int(np.floor(angle / (2 * pi) * ring.size)) % ring.size
    return JointTemperature(
        float(ring.max()), float(coldest), float(mean), float(ring[m])
    )


def judged(state: State) -> float:
    """Temperature that the interpass limit applies to, now [K]."""
    if state.model.case.limits.by_reading:
        return float(probe_temperatures(state)[-1])
    return joint_temperature(state, 0.0).hottest


def ledger(state: State) -> Ledger:
    """Account for the heat so far."""
    return Ledger(
        arc=state.arc_energy,
        stored=stored(state) - state.stored_at_start,
        lost={
            name: float(heat)
            for name, heat in zip(SURFACES, state.lost, strict=True)
            if heat != 0.0
        },
    )


def stored(state: State) -> float:
    """Heat in the metal above air temperature [J]."""
    built, H, total = state.field.built, state.field.enthalpy, 0.0
    for n in range(state.body.volume.shape[0]):  # without its bead, and with it
        here = built == n
        if not here.any():
            continue
        around = H.sum(axis=1) if here.all() else H[:, here].sum(axis=1)
        above = around - np.count_nonzero(here) * state.at_air
        total += float((state.body.volume[n] * above).sum())
    return total * 2 * pi / built.size


def _why(state: State, where: tuple[int, int, int], arc: Arc) -> str:
    """Say when, where and why the run could not go on."""
    i, m, j = where
    stage, lines = state.body, state.model.lines
    r = (lines.r[i] + lines.r[i + 1]) / 2 * 1e3
    z = (lines.z[j] + lines.z[j + 1]) / 2 * 1e3
    T = state.work.T_new[i, m, j] - 273.15
    part = PARTS[int(stage.material[i, j])]
    place = f"in the {part} at r = {r:.1f} mm, z = {z:.1f} mm"
    if state.model.n_theta > 1:
        place += f", {m * 360 / state.field.built.size:.0f} deg"
    if arc.power > 0.0:
        cause = (
            f"the arc puts {arc.power:.0f} W into more heat than this joint can carry away"
            ": it melts through; check current, voltage, arc_time and deposit"
        )
    else:
        cause = "the time step lost its way; try a smaller [model] cell or tolerance"
    return f"stopped at {state.time:.1f} s: {T:.0f} degC {place}; {cause}"
