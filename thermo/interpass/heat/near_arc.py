"""Near the arc: pool, heat-affected zone and bore, by Rosenthal from the model's state.

The grid gives the temperature the arc meets; the moving-source solution gives what the
grid is too coarse for. Each pass is looked at where it meets the warmest metal: at its
start or, with the ring resolved, near the end of the turn. Heat that melts the filler is
taken off first; the pool would otherwise be told to melt it twice.
"""

from dataclasses import dataclass
from functools import lru_cache
from math import pi

import numpy as np

from ..joint import arc
from ..joint.beads import bead_areas
from ..joint.case import Case, Pass
from ..physics import handbook as cooling
from ..physics import moving_source as rosenthal
from ..physics.metals import Material, conductivity_at, enthalpy_at
from .history import History, PassResult

LATE = 0.9  # of the last burn: where the end of a turn is looked at


DISTANCES = (0.5e-3, 1e-3, 2e-3, 4e-3)  # m from the edge of the melt, for dwell


FERRITIC = ("carbon steel", "low alloy")


HAZ_DEGC = {"carbon steel": 730.0, "low alloy": 730.0}  # A1; others: 850


T_85 = (773.15, 1073.15)  # K, 500 to 800 degC


DWELL = (723.15, 1123.15)  # K, 450 to 850 degC


BACKGROUND_MAX = (
    573.15  # K: on warmer metal an endless wall would never cool; the grid does
)


@dataclass(frozen=True)
class NearArc:
    """One pass in the wall of the pipe; an estimate, the model's own far field aside."""

    number: int
    start: float  # K the arc meets, the hotter of start and end of the turn
    melted_width: float  # m
    melted_depth: float
    haz_width: float  # m from the middle of the weld to `haz_limit`
    haz_limit: float  # K
    peak_at_bore: float  # K
    melts_through: bool
    cooling_time_85: float | None  # s, ferritic steel on metal below 300 degC only
    cooling_time_85_grid: float | None  # s, ferritic steel only: slowest angle's hottest
    cooling_time_85_standard: float | None  # s, EN 1011-2 (from memory)
    dwell: tuple[tuple[float, float], ...]  # (m from the melt, s in 450..850 degC)
    dwell_of_hottest: float  # s the hottest point of any angle spends there, by the grid
    cautions: tuple[str, ...]


@lru_cache(maxsize=1)  # text, data and rules of one run all ask for it
def near_arc(case: Case, history: History) -> tuple[NearArc, ...]:
    """Near field of every pass that was run, in the wall of the pipe.

    Empty for the axisymmetric model: it has no place that the arc comes to.
    """
    if history.model == "axisymmetric":
        return ()
    return tuple(
        _of_pass(case, p, result, history)
        for p, result in zip(case.passes, history.passes, strict=False)
    )


def _of_pass(case: Case, p: Pass, result: PassResult, history: History) -> NearArc:
    start = max(result.at_arc_on.start_point, _background_late(p, result, history))
    source = moving_source(case, p, start)
    pool = rosenthal.melted_width_and_depth(source)
    family = case.pipe.material.family
    haz_limit = HAZ_DEGC.get(family, 850.0) + 273.15
    bore = rosenthal.peak_at_bore(source)
    half = pool.width / 2
    cool_enough = family == "austenitic" and start < BACKGROUND_MAX
    dwell = [
        (d, rosenthal.time_between(source, *DWELL, y=half + d))
        for d in DISTANCES
        if cool_enough
    ]
    return NearArc(
        number=p.number,
        start=start,
        melted_width=pool.width,
        melted_depth=pool.depth,
        haz_width=rosenthal.isotherm_half_width(source, max(haz_limit, start + 1.0)),
        haz_limit=haz_limit,
        peak_at_bore=bore,
        melts_through=pool.bigger_than_wall,
        cooling_time_85=(
            cooling.cooling_time_85(source)
            if family in FERRITIC and start < BACKGROUND_MAX
            else None
        ),
        cooling_time_85_grid=(
            _time_in(history, result, T_85) if family in FERRITIC else None
        ),
        cooling_time_85_standard=_standard(case, p, start, family),
        dwell=tuple(dwell),
        dwell_of_hottest=_time_in(history, result, DWELL),
        cautions=pool.cautions,
    )


def moving_source(case: Case, p: Pass, start: float) -> rosenthal.MovingSource:
    """Share of the arc that runs in the pipe's wall, with properties halfway to melting.

    >>> DWELL[0] - 273.15
    450.0
    """
    metal = case.pipe.material
    melting = (metal.solidus + metal.liquidus) / 2
    halfway = (start + melting) / 2
    k = float(conductivity_at(metal, halfway))
    socket_k = float(conductivity_at(case.fitting.material, halfway))
    share, _ = cooling.fillet_shares(
        case.pipe.wall, case.fitting.socket_wall, k, socket_k
    )
    return rosenthal.MovingSource(
        power=max(p.net_power - _filler_power(case, p), 0.1 * p.net_power) * share,
        speed=p.travel,
        k=k,
        alpha=k / _mean_capacity(metal, start, melting),
        wall=case.pipe.wall,
        start=start,
        melting=melting,
        turn=pi * case.pipe.outside_diameter,
    )


def _filler_power(case: Case, p: Pass) -> float:
    """Power that goes into melting the deposit [W]."""
    metal = case.filler
    cold = enthalpy_at(metal, case.surroundings.air)
    per_volume = float(enthalpy_at(metal, metal.liquidus) - cold)
    return bead_areas(case)[p.number - 1] * p.travel * per_volume


def _mean_capacity(metal: Material, start: float, melting: float) -> float:
    """Density x specific heat from the start to the solidus [J/m³/K]; no latent heat."""
    top = min(melting, metal.solidus)
    rise = enthalpy_at(metal, top) - enthalpy_at(metal, start)
    return float(rise) / (top - start)


def _background_late(p: Pass, result: PassResult, history: History) -> float:
    """Warmth of the ring away from the arc as it nears the end of its turn [K].

    Where the ring is coolest: the arc's own glow is in the moving-source solution.
    """
    burn = arc.stretches(p)[-1]
    time = result.arc_off - (1 - LATE) * (burn.arc_off - burn.arc_on)
    row = int(np.argmin(np.abs(history.time - time)))
    return float(history.ring[row].min())


def _time_in(history: History, result: PassResult, limits: tuple[float, float]) -> float:
    """Longest time any angle's hottest point is between two temperatures [s].

    From this pass's arc on to the next one; heating counts, but is over in seconds.
    """
    later = [p.arc_on for p in history.passes if p.arc_on > result.arc_on]
    end = min(later, default=float(history.time[-1]))
    here = (history.time > result.arc_on) & (history.time <= end)
    step = np.diff(history.time, prepend=0.0)[here]
    inside = (history.ring[here] > limits[0]) & (history.ring[here] < limits[1])
    return float((inside * step[:, None]).sum(axis=0).max(initial=0.0))


def _standard(case: Case, p: Pass, start: float, family: str) -> float | None:
    """EN 1011-2's own cooling time for a fillet [s]; its formula ends below 500 degC."""
    known = np.isfinite(p.current)
    if family not in FERRITIC or start >= 773.15 or not known:
        return None
    heat_input = arc.heat_input(p.current, p.voltage, p.travel, case.process)
    found = cooling.cooling_time_85_en1011(
        heat_input, case.pipe.wall, start, two_way=0.45, three_way=0.67
    )
    return found.time
