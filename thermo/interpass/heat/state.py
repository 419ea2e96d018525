"""A run under way: what changes as it goes on, and the room it needs.

What it computes: ``thermo/MODEL.md``, section 5.
"""

from collections.abc import Callable
from dataclasses import dataclass
from dataclasses import field as made_by

import numpy as np

from ..joint.outline import SURFACES
from ..text.arrays import Array
from .arrays import CAPACITY, DRIFT, LANES, Body, Field, K, Probes, Record, Work
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
    """Room for one step."""
    _, n_theta, nz = shape
    cell = np.zeros((DRIFT + 1, *shape))
    cell[[K, CAPACITY]] = 1.0
    return Work(
        cell=cell,
        lines=cell.reshape(DRIFT + 1, -1, nz),
        line=np.zeros((2, n_theta, nz)),
        lanes=np.zeros((3, nz + 1, LANES)),
        G_surface=np.zeros((n_theta, surfaces)),
        around=np.zeros((2, n_theta)),
        lost=np.zeros(len(SURFACES)),
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
