"""Heat in, heat capacity and time constant of a joint, by sums a student can redo.

The piece is taken as one lump: so much metal, so much heat, so much surface. Volumes are
those of cylinders and of a turned triangle, films and specific heat are read at the
interpass limit; the model's own numbers stand beside them.
"""

from dataclasses import dataclass, replace
from functools import cached_property
from math import pi

import numpy as np

from ..heat.history import History
from ..heat.lump import LumpPass, by_hand, model_time_constant
from ..heat.model import make_model
from ..heat.waits import plan
from ..joint.beads import fillets
from ..joint.case import Box, Case
from ..joint.outline import SURFACES, Outline, make_outline
from ..physics.metals import (
    TABLE_START,
    TABLE_STEP,
    Material,
    conductivity_at,
    enthalpy_at,
    specific_heat_at,
)
from ..text.errors import RunError
from ..text.progress import Progress
from .joints import Contrast, Variant
from .plate import PlateRun, make_plate, run_plate, strip_width

PARTS = ("pipe", "fitting", "weld metal")


@dataclass(frozen=True)
class Part:
    """One part of the lump."""

    name: str
    volume: float  # m³
    density: float  # kg/m³
    specific_heat: float  # J/kg/K, mean from air to the limit

    @property
    def mass(self) -> float:
        """Mass [kg]."""
        return self.volume * self.density

    @property
    def heat_capacity(self) -> float:
        """Heat per kelvin [J/K]."""
        return self.mass * self.specific_heat


@dataclass(frozen=True)
class Skin:
    """One surface of the lump."""

    name: str  # of drawing.SURFACES
    area: float  # m²
    film: float  # W/m²/K at the limit, convection and radiation together

    @property
    def conductance(self) -> float:
        """Heat lost per kelvin above air [W/K]."""
        return self.area * self.film


@dataclass(frozen=True, eq=False)
class Result:
    """One joint of a comparison, run, with the sums that go with it."""

    variant: Variant
    history: History
    length: float  # m of pipe outside the socket, as far as the model follows it
    parts: tuple[Part, ...]
    skins: tuple[Skin, ...]
    alpha: float  # m²/s at the limit

    @property
    def case(self) -> Case:
        """The case that was run."""
        return self.variant.case

    @property
    def label(self) -> str:
        """Name of the joint."""
        return self.variant.label

    @cached_property
    def mass(self) -> float:
        """Mass of the piece [kg]."""
        return sum(part.mass for part in self.parts)

    @cached_property
    def heat_capacity(self) -> float:
        """Heat capacity of the piece [J/K]."""
        return sum(part.heat_capacity for part in self.parts)

    @cached_property
    def conductance(self) -> float:
        """Surface x film of the piece [W/K]."""
        return sum(skin.conductance for skin in self.skins)

    @property
    def time_constant(self) -> float:
        """Heat capacity over conductance [s]."""
        return self.heat_capacity / self.conductance

    @property
    def energy(self) -> float:
        """Net energy of pass 1 [J]."""
        return self.history.passes[0].net_energy

    @property
    def rise(self) -> float:
        """Rise of the lump by pass 1 [K]."""
        return self.energy / self.heat_capacity

    @cached_property
    def steps(self) -> list[LumpPass]:
        """Follow the lump through the passes, beside the model."""
        return by_hand(self.case, self.history)

    @cached_property
    def joint_time_constant(self) -> float:
        """Time constant of the joint in the model, late in the last cooling [s]."""
        return model_time_constant(self.case, self.history)

    @property
    def time_to_second(self) -> float:
        """Time from the first arc on to the second [s]."""
        return self.history.passes[1].arc_on

    @property
    def reach(self) -> float:
        """How far to one side heat has got when the second arc is struck [m]."""
        return strip_width(self.alpha, self.time_to_second) / 2


@dataclass(frozen=True, eq=False)
class Shown:
    """A comparison with its joints run, and the plate where there is one."""

    comparison: Contrast
    results: tuple[Result, ...]
    plate: PlateRun | None


def run_joints(
    comparisons: tuple[Contrast, ...],
    thickness: float,
    progress: Progress | None = None,
) -> tuple[Shown, ...]:
    """Run every joint of the lesson; joints that are alike are run once.

    Parameters
    ----------
    comparisons : tuple
        As `lesson_joints.comparisons` makes them.
    thickness : float
        Of the plate [m].
    progress : callable, optional
        Told the share done and what is being done.

    Raises
    ------
    RunError
        The solver stopped, or a joint never came down to the limit.
    """
    known: dict[str, History] = {}
    total = sum(len(comparison.variants) for comparison in comparisons)
    done = 0
    compared = []
    for comparison in comparisons:
        results = []
        for variant in comparison.variants:
            if progress:
                progress(done / total, f"{comparison.key}, {variant.label}")
            results.append(_result(variant, known))
            done += 1
        compared.append(Shown(comparison, tuple(results), None))
    return tuple(_with_plate(one, thickness) for one in compared)


def _result(variant: Variant, known: dict[str, History]) -> Result:
    """Run one joint, unless one just like it was run, and do its sums."""
    alike = repr(replace(variant.case, title="", file="", assumptions=()))
    if alike not in known:
        known[alike] = plan(variant.case)
    if not known[alike].complete:
        msg = f"the lesson stops at {variant.stem}: {known[alike].stopped_because}"
        raise RunError(msg)
    return make_result(variant, known[alike])


def make_result(variant: Variant, history: History) -> Result:
    """Do the sums of one joint."""
    case = variant.case
    metal, limit = case.pipe.material, case.limits.interpass_max
    capacity = metal.density * float(specific_heat_at(metal, limit))
    outline = make_outline(case)
    return Result(
        variant=variant,
        history=history,
        length=-outline.pipe.z_start,
        parts=parts_of(case, outline),
        skins=skins_of(case),
        alpha=float(conductivity_at(metal, limit)) / capacity,
    )


def parts_of(case: Case, outline: Outline) -> tuple[Part, ...]:
    """Volumes by closed form: hollow cylinders, and a turned triangle (Pappus)."""
    fillet = fillets(case)[-1]
    middle = outline.root + fillet.leg_socket / 3
    volumes = (
        _cylinder(outline.pipe),
        sum(_cylinder(box) for box in outline.fitting),
        2 * pi * middle * fillet.area,
    )
    metals = (case.pipe.material, case.fitting.material, case.filler)
    return tuple(
        Part(name, volume, metal.density, _specific_heat(metal, case))
        for name, volume, metal in zip(PARTS, volumes, metals, strict=True)
    )


def _cylinder(box: Box) -> float:
    return pi * (box.r_out**2 - box.r_in**2) * (box.z_end - box.z_start)


def _specific_heat(metal: Material, case: Case) -> float:
    """Mean specific heat from air to the limit [J/kg/K]."""
    air, limit = case.surroundings.air, case.limits.interpass_max
    heat = enthalpy_at(metal, limit) - enthalpy_at(metal, air)
    return float(heat) / (limit - air) / metal.density


def skins_of(case: Case) -> tuple[Skin, ...]:
    """Surfaces of the finished joint, and their films when all of it is at the limit."""
    model = make_model(replace(case, model=replace(case.model, ring=1)))
    surface, area = model.bodies[-1].surface, model.bodies[-1].surface_area
    areas = 2 * pi * np.bincount(surface[1, :, 2], area[1], minlength=len(SURFACES))
    node = (case.limits.interpass_max - TABLE_START) / TABLE_STEP
    films = [
        float(np.interp(node, np.arange(row.size), row))
        for row in model.films_wait.surface
    ]
    return tuple(
        Skin(name, float(a), film)
        for name, a, film in zip(SURFACES, areas, films, strict=True)
        if a > 0
    )


def _with_plate(compared: Shown, thickness: float) -> Shown:
    """Lay the weld of the comparison on a plate, too."""
    if not compared.comparison.has_plate:
        return compared
    case = compared.results[-1].case
    seam = pi * case.pipe.outside_diameter
    plate = make_plate(case, thickness, seam)
    waits = tuple(p.wait for p in case.passes)
    return replace(compared, plate=run_plate(plate, waits, case.limits.interpass_max))
