"""Fewer cells round the ring while the joint evens out in a wait, and all of them again.

Neighbours that are nearly alike become one cell with the heat of both, two and two as long
as the number is even, then all. What is lost is the bend of the temperature between them, so
a ring of fewer cells must be evener. The heat is kept exactly either way.

What it computes: ``thermo/MODEL.md``, section 5.
"""

import numpy as np

from ..physics.metals import temperature_at
from ..text.arrays import Array
from .arrays import make_field
from .probes import make_probes
from .state import State, make_work

EVEN = 1.0  # K that a cell is off the line through its neighbours, twice,
FINE_RING = 24  # in a ring of so many cells or more; less in proportion


def evenness(state: State) -> float:
    """How far the ring may bend for neighbours to become one [K]; 0 is never."""
    built = state.field.built
    alike = built.size > 1 and bool(np.all(built == built[0]))
    return EVEN * min(1.0, built.size / FINE_RING) if alike else 0.0


def coarsen(state: State) -> None:
    """Go on with half as many cells, or with one where the number is odd."""
    n = state.field.built.size
    by = 2 if n % 2 == 0 else n
    if n == state.model.n_theta:
        state.peak = state.work.peak.copy()
    keep_peak(state)
    slope = _merged(state.work.slope, by)
    _take_up(state, _merged(state.field.enthalpy, by))
    state.work.slope[:] = slope


def refine(state: State) -> None:
    """Go on with all cells, straight lines between those there are."""
    if state.field.built.size < state.model.n_theta:
        keep_peak(state)
        _take_up(state, finer(state.field.enthalpy, state.model.n_theta, 1))
        state.work.peak[:] = state.peak


def keep_peak(state: State) -> None:
    """Note how hot the cells of the whole ring have been."""
    here = finer(state.work.peak, state.model.n_theta, 1)
    np.maximum(state.peak, here, out=state.peak)


def finer(values: Array, n_theta: int, axis: int) -> Array:
    """Values of more cells round the ring, along ``axis``; each old cell keeps its mean.

    Straight lines within the old cells, level where neither neighbour is higher or neither
    lower, so that nothing is hotter or colder than it was.

    >>> finer(np.array([0.0, 1.0, 0.0, -1.0]), 8, 0)
    array([-0.25,  0.25,  1.  ,  1.  ,  0.25, -0.25, -1.  , -1.  ])
    """
    by = n_theta // values.shape[axis]
    if by == 1:
        return values
    up, down = np.roll(values, -1, axis) - values, values - np.roll(values, 1, axis)
    steepest = 2 * np.minimum(np.abs(up), np.abs(down))
    slope = np.where(up * down > 0.0, np.clip((up + down) / 2, -steepest, steepest), 0.0)
    place = (np.arange(n_theta) % by + 0.5) / by - 0.5
    place = place.reshape([-1 if n == axis else 1 for n in range(values.ndim)])
    return np.repeat(values, by, axis) + place * np.repeat(slope, by, axis)


def _merged(values: Array, by: int) -> Array:
    """Means of so many neighbours along the second axis."""
    nr, n, nz = values.shape
    return np.ascontiguousarray(values).reshape(nr, n // by, by, nz).mean(axis=2)


def _take_up(state: State, enthalpy: Array) -> None:
    """Make a ring of other cells the state; its temperatures follow from the heat."""
    n = enthalpy.shape[1]
    T = np.full(enthalpy.shape, state.model.case.surroundings.air)
    for number, metal in enumerate(state.model.materials):
        of_it = state.body.material == number
        rows, columns = np.nonzero(of_it)
        T[rows, :, columns] = temperature_at(metal, enthalpy[rows, :, columns])
    built = np.full(n, state.field.built[0])
    state.field = make_field(T, enthalpy, built)
    state.work = make_work(enthalpy.shape, state.work.G_surface.shape[0])
    state.probes = make_probes(state.model, n)
