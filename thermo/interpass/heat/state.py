"""A run under way: what changes as it goes on, and the room it needs.

What it computes: ``thermo/MODEL.md``, section 5.
"""

from collections.abc import Callable
from dataclasses import dataclass
from dataclasses import field as made_by

import numpy as np

from ..joint.outline import SURFACES
from ..text.arrays import Array
from .arrays import (
    ARC_SHARE,
    CAPACITY,
    DRIFT,
    LANES,
    Body,
    Field,
    Probes,
    Record,
    Work,
)
from .model import Model

CHUNK = 64  # steps per call of the solver; Ctrl-C waits for one call


@dataclass
class State:
    """A run under way; everything in it changes as the run goes on."""

    model: Model
    field: Field
    work: Work
    probes: Probes
    body: Body
    peak: (
        Array  # (nr, n_theta, nz) hottest since the pass began, while cells are fewer [K]
    )
    at_air: Array  # (nr, nz) enthalpy of each cell's metal at air temperature [J/m³]
    number: int = 1  # of the pass the body belongs to
    time: float = 0.0
    lost: Array = made_by(default_factory=lambda: np.zeros(len(SURFACES)))
    stored_at_start: float = 0.0  # J above air temperature, of a preheated piece
    arc_energy: float = 0.0
    steps: int = 0
    seconds: float = 0.0
    records: list[Record] = made_by(default_factory=list)
    chunk: int = CHUNK  # steps per call of the solver
    observe: "Observer | None" = None  # called after each


Observer = Callable[[State, bool], None]  # the bool: the phase is over


def make_work(shape: tuple[int, int, int], surfaces: int) -> Work:
    """Room for one step of a body (nr, n_theta, nz)."""
    nr, n_theta, nz = shape
    rows, size = (1, nz) if n_theta == 1 else (nz, n_theta)
    cell = np.zeros((DRIFT + 1, nr, rows, size))
    cell[CAPACITY] = 1.0
    return Work(
        cell=cell,
        lines=cell.reshape(DRIFT + 1, -1, size),
        room=np.zeros((ARC_SHARE + 1, 1, 1, n_theta)),
        metal=np.zeros((1, n_theta), dtype=np.int64),
        plane=np.ones((2, 2, rows, size)),
        line=np.zeros(size),
        worst=np.zeros((rows, size)),
        edge=np.zeros((2, nr, n_theta)),
        wide=np.zeros(size + 3),
        chain=np.zeros((rows, size)),
        before=np.zeros((nr if n_theta == 1 else 1, rows, size)),
        lanes=np.ones((6, size + 2, LANES)),
        window=np.array([0, rows]),
        G_surface=np.zeros((surfaces, n_theta)),
        around=np.zeros((2, n_theta)),
        loss_of=np.zeros((surfaces, n_theta)),
    )


def make_record(size: int, n_theta: int, probes: int) -> Record:
    """Room for the record of ``size`` steps."""
    return Record(
        np.zeros(size),
        np.zeros((size, n_theta)),
        np.zeros(size),
        np.zeros(size),
        np.zeros((size, probes)),
    )
