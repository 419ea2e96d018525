"""The hand check: the piece as one lump, beside what the model found.

One lump of heat capacity C, losing heat with the time constant tau, is what anyone can
work out on paper; where the model differs, the difference is heat that has not spread.

What it computes: ``thermo/MODEL.md``, section 6.
"""

from dataclasses import dataclass
from math import exp, isfinite, log, nan

import numpy as np

from ..joint import arc
from ..joint.case import Case
from ..joint.outline import SURFACES
from ..physics.metals import TABLE_START, TABLE_STEP, enthalpy_at
from .history import History, Lumped
from .model import Model

SETTLED = 0.5  # of the last cooling, left out before the model's time constant is read


@dataclass(frozen=True)
class LumpPass:
    """One pass by hand and by the model [K, s]; nan where there is nothing to compare."""

    number: int
    rise: float  # of the lump, net energy over heat capacity
    joint_rise: float  # of the joint's mean in the model, arc on to arc off
    wait: float  # before this pass, for the lump to fall to the limit; "auto" only
    at_arc_on: float  # of the lump, after the model's wait
    joint_at_arc_on: float  # mean of the joint in the model


def by_hand(case: Case, history: History) -> list[LumpPass]:
    """Follow the lump through the passes and waits the model has run.

    Heat lost while the arc is on is left out, as one would on paper.
    """
    air, lumped = case.surroundings.air, history.lumped
    above, steps = case.surroundings.start - air, []
    for n, done in enumerate(history.passes):
        wait = _lump_wait(above, case.limits.interpass_max - air, lumped.time_constant)
        above *= exp(-done.wait / lumped.time_constant)
        steps.append(
            LumpPass(
                number=done.number,
                rise=lumped.rise_per_pass[n],
                joint_rise=done.at_arc_off.mean - done.at_arc_on.mean,
                wait=wait if done.wait_is_auto else nan,
                at_arc_on=air + above,
                joint_at_arc_on=done.at_arc_on.mean,
            )
        )
        above += lumped.rise_per_pass[n]
    return steps


def _lump_wait(above: float, limit: float, tau: float) -> float:
    """Time for a lump to fall to the limit, both relative to air [s]."""
    if above <= limit:
        return 0.0
    return tau * log(above / limit) if limit > 0.0 and isfinite(tau) else nan


def model_time_constant(case: Case, history: History) -> float:
    """Time constant of the joint's mean in the model, late in the last cooling [s].

    nan when the run ends too soon, or the joint is as cold as the air.
    """
    if not history.passes or not history.complete:
        return nan
    arc_off, end = history.passes[-1].arc_off, float(history.time[-1])
    begin = arc_off + SETTLED * (end - arc_off)
    above = history.mean - case.surroundings.air
    early, late = np.interp([begin, end], history.time, above)
    if not late > 1.0 or not early > late:
        return nan
    return (end - begin) / log(early / late)


def lumped_check(model: Model) -> Lumped:
    """Compute the hand check: the whole piece as one lump at the interpass limit."""
    case = model.case
    body, limit, air = model.bodies[-1], case.limits.interpass_max, case.surroundings.air
    mass = heat = 0.0
    for n, material in enumerate(model.materials):
        volume = 2 * np.pi * float(body.volume[1][body.material == n].sum())
        rise = max(limit - air, 1.0)
        above = enthalpy_at(material, air + rise) - enthalpy_at(material, air)
        mass += material.density * volume
        heat += volume * float(above) / rise
    films = model.films_wait.surface
    node = np.array([(limit - TABLE_START) / TABLE_STEP])
    film = [np.interp(node, np.arange(row.size), row)[0] for row in films]
    area = np.bincount(
        body.surface[1, :, 2], body.surface_area[1], minlength=len(SURFACES)
    )
    conductance = 2 * np.pi * float(area @ np.array(film))
    energy = [p.net_power * arc.burning_time(p) for p in case.passes]
    return Lumped(
        mass=mass,
        heat_capacity=heat,
        time_constant=heat / conductance if conductance > 0 else float("inf"),
        rise_per_pass=tuple(e / heat for e in energy),
    )
