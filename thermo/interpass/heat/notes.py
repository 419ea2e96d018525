"""Note a run as it goes: where the heat went, and pictures of the whole piece.

What it computes: ``thermo/MODEL.md``, section 5.
"""

from dataclasses import dataclass, field
from math import inf

import numpy as np

from . import evening, march
from .history import HeatFlow, Ledger, Peak, Snapshot
from .state import Observer, State

# Steps between two rows of the ledger: under the arc, and in a wait, where steps are long.
NOTE_EVERY = (12, 4)
NOTE_EVERY_QUICKLY = (32, 32)  # axisymmetric: a call costs as much as a step


@dataclass
class Notes:
    """What has been noted of a run under way."""

    state: State
    frames: float | None  # s between frames; 0 none but arc on and off; None no pictures
    every: tuple[int, int]  # steps between two rows of the ledger: arc, wait
    due: float = inf  # s: time of the next frame
    steps: int = 0  # of the run at the last row
    rows: list[tuple[float, Ledger]] = field(default_factory=list)
    snapshots: list[Snapshot] = field(default_factory=list)
    peaks: list[Peak] = field(default_factory=list)


def begin(state: State, frames: float | None = None) -> Notes:
    """Note from now on; with frames the solver is looked at after every step.

    Parameters
    ----------
    frames : float, optional
        None for no pictures, 0 for one at every arc on and off, more for frames besides,
        each at the first step past every so many seconds [s].

    Raises
    ------
    ValueError
        When ``frames`` is negative or no number.
    """
    if frames is not None and not 0.0 <= frames < inf:
        msg = f"frames is {frames}; give the seconds between two, 0 for none, or None"
        raise ValueError(msg)
    every = NOTE_EVERY if state.model.n_theta > 1 else NOTE_EVERY_QUICKLY
    notes = Notes(state, frames, every)
    state.chunk = every[0]
    if frames:
        state.chunk, notes.due = 1, frames
    state.observe = _observer(notes)
    _row(notes)
    return notes


def _observer(notes: Notes) -> Observer:
    """Make what the solver calls after each chunk of steps."""

    def observe(state: State, is_over: bool) -> None:
        burns = state.arc_energy > notes.rows[-1][1].arc
        pace = notes.every[0 if burns else 1]
        if not notes.frames:
            state.chunk = pace
        if is_over or state.steps >= notes.steps + pace:
            _row(notes)
        if state.time >= notes.due and notes.frames:
            picture(notes, "frame", state.number)
            notes.due = notes.frames * (state.time // notes.frames + 1)

    return observe


def picture(notes: Notes, what: str, number: int) -> None:
    """Keep the piece as it is now, if pictures are wanted; replaces a frame of the time."""
    if notes.frames is None:
        return
    state, before = notes.state, notes.snapshots
    if before and before[-1].what == "frame" and before[-1].time == state.time:
        before.pop()
    n_theta, built = state.model.n_theta, state.field.built
    T = evening.finer(state.field.temperature, n_theta, 1).copy()
    built = np.repeat(built, n_theta // built.size)
    volume = state.body.volume[built].transpose(1, 0, 2)
    T[volume == 0.0] = np.nan
    before.append(Snapshot(what, number, state.time, T))


def peak(notes: Notes) -> None:
    """Note how hot the pass has made every cell; called when it is over, wait included."""
    state = notes.state
    stage, body = state.model.stages[state.number], state.body
    if state.model.case.metal_in_place:
        stage = state.model.stages[-1]
    T = state.work.peak.copy()
    T[np.broadcast_to((body.volume[1] == 0.0)[:, None, :], T.shape)] = np.nan
    notes.peaks.append(Peak(state.number, T, stage.r, stage.z, body.material))


def heat_flow(notes: Notes) -> HeatFlow:
    """Gather the rows of the ledger."""
    ledgers = [ledger for _, ledger in notes.rows]
    names = list(ledgers[-1].lost)
    return HeatFlow(
        time=np.array([time for time, _ in notes.rows]),
        arc=np.array([x.arc for x in ledgers]),
        stored=np.array([x.stored for x in ledgers]),
        lost={n: np.array([x.lost.get(n, 0.0) for x in ledgers]) for n in names},
    )


def _row(notes: Notes) -> None:
    """Note the ledger now."""
    state = notes.state
    notes.steps = state.steps
    if not notes.rows or state.time > notes.rows[-1][0]:
        notes.rows.append((state.time, march.ledger(state)))
