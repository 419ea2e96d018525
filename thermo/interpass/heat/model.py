"""A case made ready for the solver: cells, films and tables that fit together.

What it computes: ``thermo/MODEL.md``, section 2.
"""

from dataclasses import dataclass
from functools import partial

import numpy as np

from ..joint.beads import Fillet, fillets
from ..joint.case import Case
from ..joint.outline import SURFACES, Outline, make_outline
from ..physics import films as surfaces
from ..physics.metals import TABLE_START, TABLE_STEP, TABLE_TEMPERATURE, Material
from ..text.arrays import Array
from ..text.errors import RunError
from .arrays import Body, Films, Tables
from .body import make_body, source_shares, zone_of
from .grid import Lines
from .section import Stage, make_lines, make_stage, part_of_cells

SMALLEST_GAP = 0.3e-3  # m of end gap; below, the explicit gap exchange would limit steps
TOUCHING = 1.0e-5  # m of clearance taken for a pipe that touches all round

STIRRING = (
    2.0  # times the conductivity of still liquid: flow in the pool; common practice
)

SPREAD = 3.0e-3  # m, standard deviation of the arc along its path; common practice
MOST_CELLS = 2_000_000  # some 300 MB; a step takes 0.1 s


@dataclass(frozen=True)
class Model:
    """Everything the solver reads, fixed for the whole run."""

    case: Case
    outline: Outline
    lines: Lines
    fillets: tuple[Fillet, ...]  # before pass 1 and after each pass
    stages: tuple[Stage, ...]
    bodies: tuple[Body, ...]  # one per pass
    films_arc: Films
    films_wait: Films
    tables: Tables
    materials: tuple[Material, ...]  # pipe, fitting, filler

    @property
    def n_theta(self) -> int:
        """Cells round the ring."""
        return self.case.model.ring

    @property
    def cells(self) -> int:
        """Cells that hold metal at the end, all angles."""
        return int((self.stages[-1].volume > 0).sum()) * self.n_theta


def make_model(case: Case) -> Model:
    """Mesh the joint and tabulate its surfaces.

    Raises
    ------
    RunError
        When the joint would need more cells than MOST_CELLS.
    """
    outline = make_outline(case)
    grown = fillets(case)
    lines = make_lines(outline, grown[-1], case.model.cell)
    _refuse_too_many(lines, case)
    stages = tuple(make_stage(outline, f, lines) for f in grown)
    part = part_of_cells(outline, lines)
    last = len(case.passes)
    held = case.metal_in_place
    zones = tuple(zone_of(stage, lines, outline) for stage in stages)
    pairs = [(last, last) if held else (p, p + 1) for p in range(last)]
    bodies = tuple(
        make_body(
            outline,
            lines,
            part,
            (stages[before], stages[after]),
            (zones[before], zones[after]),
            source_shares(stages, p, outline, in_place=held),
        )
        for p, (before, after) in enumerate(pairs)
    )
    materials = (case.pipe.material, case.fitting.material, case.filler)
    films_arc, films_wait = films_of(case)
    return Model(
        case=case,
        outline=outline,
        lines=lines,
        fillets=grown,
        stages=stages,
        bodies=bodies,
        films_arc=films_arc,
        films_wait=films_wait,
        tables=Tables(
            TABLE_START,
            TABLE_STEP,
            np.stack([_stirred(m) for m in materials]),
            np.stack([m.enthalpy for m in materials]),
        ),
        materials=materials,
    )


def _refuse_too_many(lines: Lines, case: Case) -> None:
    """Refuse what would fill the memory, before it does."""
    section = (lines.r.size - 1) * (lines.z.size - 1)
    if section * case.model.ring > MOST_CELLS:
        msg = (
            f"the joint would take {section * case.model.ring} cells, {section} in section "
            f"and {case.model.ring} round the ring, and at most {MOST_CELLS} are computed; "
            "use a larger [model] cell or a smaller ring"
        )
        raise RunError(msg)


def _stirred(material: Material) -> Array:
    """Conductivity with the stirring of the pool in it: ramped from solidus to liquidus."""
    width = max(material.liquidus - material.solidus, TABLE_STEP)
    melted = np.clip((TABLE_TEMPERATURE - material.solidus) / width, 0.0, 1.0)
    return material.conductivity * (1 + (STIRRING - 1) * melted)


def films_of(case: Case) -> tuple[Films, Films]:
    """Make the films while an arc burns, and those while none does."""
    s, waiting = case.surroundings, make_films(case, with_fan=True)
    if s.fan_during == "always" or s.fan <= 0.0:
        return waiting, waiting
    return make_films(case, with_fan=False), waiting


def make_films(case: Case, *, with_fan: bool) -> Films:
    """Conductances of all surfaces and gaps against temperature."""
    s, T = case.surroundings, TABLE_TEMPERATURE
    fan = s.fan if with_fan else 0.0
    outside = partial(
        surfaces.outside_film,
        T,
        s.air,
        axis=s.axis,
        fan=fan,
        emissivity=s.emissivity,
        film_coefficient=s.film_coefficient,
        film_factor=s.film_factor,
    )
    bore = partial(
        surfaces.bore_film,
        T,
        s.air,
        condition=s.bore,
        purge_flow=s.purge_flow,
        emissivity=s.emissivity,
        axis=s.axis,
    )
    pipe_size = case.pipe.outside_diameter
    socket_size = case.fitting.socket_bore + 2 * case.fitting.socket_wall
    sizes = np.array([[pipe_size], [(pipe_size + socket_size) / 2], [socket_size]])
    pipe, fillet, fitting = np.broadcast_to(outside(sizes), (3, T.size))
    pipe_bore = pipe_size - 2 * case.pipe.wall
    body_bore, inside = case.fitting.body_bore or pipe_bore, bore(pipe_bore)
    film = {
        "pipe": pipe,
        "fillet": fillet,
        "fitting": fitting,
        "faces": fitting,
        "pipe bore": inside,
        "fitting bore": inside if body_bore == pipe_bore else bore(body_bore),
        "holding": np.full(T.size, s.holding.conductance if s.holding else 0.0),
    }
    gas = surfaces.bore_gas(s.bore)
    if case.clearance_conductance is None:
        width = max(case.clearance, TOUCHING)
        clearance = surfaces.clearance_conductance(T, width, gas, s.emissivity)
    else:
        clearance = np.full(T.size, case.clearance_conductance)
    clearance = clearance * case.clearance_factor
    if s.bore == "insulated":
        gap = np.zeros(T.size)
    else:
        gap = surfaces.gap_conductance(
            T, max(case.end_gap, SMALLEST_GAP), gas, s.emissivity
        )
    return Films(np.stack([film[name] for name in SURFACES]), clearance, gap, s.air)
