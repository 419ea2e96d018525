"""The quick look: a moving source on the wall of the pipe, before any heat is run.

Rosenthal's solution is right for a bare pipe or a plate. The arc of a fillet stands in the
corner and heats bead, socket and pipe: as a source on the pipe's wall it comes within 60 K
of the ring at the bore in pass 1 and is 120 to 230 K above it later, when the bead lies
between (shipped cases). It costs nothing, and it tells how the two legs share the heat. Heat that melts the filler is taken off first; the pool would
otherwise be told to melt it twice.

What it computes: ``thermo/MODEL.md``, section 7.
"""

from dataclasses import dataclass
from math import pi

import numpy as np

from ..joint.beads import bead_areas
from ..joint.case import Case, Pass
from ..physics import moving_source as rosenthal
from ..physics.handbook import fillet_shares
from ..physics.metals import Material, conductivity_at, enthalpy_at

PLACES = 300  # behind the arc that are looked at


@dataclass(frozen=True)
class QuickLook:
    """One pass before it is run, in later passes an upper estimate."""

    number: int
    start: float  # K the arc meets: the piece, or the interpass limit from pass 2 on
    share_of_pipe: float  # of the heat that flows off; the socket takes the rest
    peak_at_bore: float  # K


def quick_look(case: Case) -> tuple[QuickLook, ...]:
    """Every pass of a case, from the temperature it is struck at."""
    found = []
    for p in case.passes:
        start = case.surroundings.start if p.number == 1 else case.limits.interpass_max
        source = moving_source(case, p, start)
        bore = _peak_at_bore(source)
        found.append(QuickLook(p.number, start, _shares(case, start)[0], bore))
    return tuple(found)


def _peak_at_bore(source: rosenthal.MovingSource) -> float:
    """As `rosenthal.peak_at_bore` to 0.1 %, but without loading a search: it comes at once."""
    behind = -np.geomspace(1e-2, 30.0, PLACES) * source.wall
    return float(rosenthal.temperature(source, behind, 0.0, source.wall).max())


def moving_source(case: Case, p: Pass, start: float) -> rosenthal.MovingSource:
    """Share of the arc that runs in the pipe's wall, with properties halfway to melting."""
    metal = case.pipe.material
    melting = _melting(metal)
    k = float(conductivity_at(metal, (start + melting) / 2))
    return rosenthal.MovingSource(
        power=max(p.net_power - _filler_power(case, p), 0.1 * p.net_power)
        * _shares(case, start)[1],
        speed=p.travel,
        k=k,
        alpha=k / _mean_capacity(metal, start, melting),
        wall=case.pipe.wall,
        start=start,
        melting=melting,
        turn=pi * case.pipe.outside_diameter,
    )


def _melting(metal: Material) -> float:
    return (metal.solidus + metal.liquidus) / 2


def _shares(case: Case, start: float) -> tuple[float, float]:
    """Share of the heat that flows into the pipe, and what stands for a run on it."""
    if case.fitting.kind == "none":
        return 1.0, 1.0
    halfway = (start + _melting(case.pipe.material)) / 2
    k, socket_k = (
        float(conductivity_at(metal, halfway))
        for metal in (case.pipe.material, case.fitting.material)
    )
    share, other = fillet_shares(case.pipe.wall, case.fitting.socket_wall, k, socket_k)
    return share / (share + other / 2), share


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
