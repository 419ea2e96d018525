"""What a joint would show at the places read, told by a surface through few runs.

For fits that ask for thousands of plausible joints; `posterior.look_at` runs each of them.

What it computes: ``thermo/MODEL.md``, section 9.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..doubt.priors import Prior
from ..doubt.samples import coordinates, design_scores, joint_at
from ..doubt.surface import Surface, at, surface_of
from ..heat.stand_in import MODEL_ERROR
from ..joint.case import Case
from ..text.arrays import Array
from .posterior import STEP, Places, predict
from .reading import Reading


@dataclass(frozen=True, eq=False)
class ToldReadings:
    """One joint that was read, and the surface over its doubtful numbers."""

    places: Places
    case: Case
    priors: tuple[Prior, ...]
    readings: tuple[Reading, ...]
    surface: Surface
    lift: Array  # (readings,) K to add, so that it is exact where it was lifted
    runs: int  # of the stand-in

    @property
    def miss(self) -> float:
        """How far the surface is off a run it has not seen, rms [K]."""
        return float(np.sqrt((self.surface.miss**2).mean()))


def told_of(
    places: Places, case: Case, found: tuple[Prior, ...], readings: Sequence[Reading]
) -> ToldReadings:
    """Run a joint at some plausible numbers and lay a surface through what it shows."""
    design = design_scores(found)
    shown = [predict(places, joint_at(case, found, row), readings) for row in design]
    surface = surface_of(coordinates(found, design), np.array(shown))
    none = np.zeros(len(readings))
    told = ToldReadings(places, case, found, tuple(readings), surface, none, len(design))
    return lifted(told, np.zeros(len(found)))


def lifted(told: ToldReadings, numbers: Array) -> ToldReadings:
    """Lift the surface to a run at some scores (numbers,), to be exact there."""
    joint = joint_at(told.case, told.priors, numbers)
    run = predict(told.places, joint, told.readings)
    here = at(told.surface, coordinates(told.priors, numbers[None]))[0]
    return replace(told, lift=run - here, runs=told.runs + 1)


def look_up(told: ToldReadings, scores: Array) -> tuple[Array, Array]:
    """Tell readings and slopes as `posterior.Look` does; the last score is the model's."""
    step = STEP / 2 * np.eye(len(told.priors))
    rows = scores[:-1] + np.concatenate([0 * step[:1], step, -step])
    all_told = at(told.surface, coordinates(told.priors, rows)) + told.lift
    up, down = np.split(all_told[1:], 2)
    model = np.full((len(told.readings), 1), MODEL_ERROR)
    slope = np.concatenate([(up - down).T / STEP, model], axis=1)
    return all_told[0] + MODEL_ERROR * scores[-1], slope
