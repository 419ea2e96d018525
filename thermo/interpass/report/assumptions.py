"""Every number a run uses, where it came from, and how far that can be trusted."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from ..case_file.keys import kind_of
from ..case_file.units import written_in
from ..heat import body, march, model
from ..joint.case import Assumption, Case
from ..joint.outline import LONG_FILM, LONG_FINS
from ..physics.metals import (
    TABLE_START,
    TABLE_STEP,
    Material,
    conductivity_at,
    specific_heat_at,
)
from ..text.kinds import SI, US, UnitSystem
from ..text.layout import WIDTH, paragraph
from ..text.units import UnitError, parse, unit_of

OWN = "choice of this program"
"""Source of numbers that are neither physics nor trade."""

ADJACENT = "ISO 13916, 3.2 says adjacent without a distance"
CUSTOM, OURS = "common practice", "computed"


def all_assumptions(case: Case, units: UnitSystem = SI) -> tuple[Assumption, ...]:
    """Numbers of the case, of its metals and of the model itself.

    Those of the case are as written in it, but for what US has another unit for; the
    others follow ``units``.
    """
    of_case = (replace(row, value=_spoken(row, units)) for row in case.assumptions)
    return (*of_case, *_shape(case), *_metals(case, units), *_built_in(units))


def _spoken(row: Assumption, units: UnitSystem) -> str:
    """Value of a row; a metric one in US units where those are spoken."""
    kind = kind_of(row.key)
    if not kind and unit_of(row.value) == "mm":
        kind = "length"  # of the catalogue: socket_bore is no key
    is_other = units is US and US.units.get(kind) != SI.units.get(kind)
    if not is_other or written_in([row.value]) == "us":
        return row.value
    try:
        return units.text(kind, parse(row.value, kind))
    except UnitError:
        return row.value  # a word, a range, a table


def _shape(case: Case) -> Iterator[Assumption]:
    """How the kind of fitting was turned into rings."""
    if case.fitting.equivalent:
        yield Assumption("fitting.shape", "rings", case.fitting.equivalent, "computed")


def _metals(case: Case, units: UnitSystem) -> Iterator[Assumption]:
    """Properties of the metals of pipe, fitting and filler."""
    metals = (case.pipe.material, case.fitting.material, case.filler)
    limit = case.limits.interpass_max
    seen = set()
    for metal in metals:
        if metal.name in seen:
            continue
        seen.add(metal.name)
        for quantity, value in _properties(metal, limit, units):
            yield from _sourced(metal, quantity, value)


def _properties(
    metal: Material, limit: float, units: UnitSystem
) -> Iterator[tuple[str, str]]:
    """Quantity and value of each property, the curves at 20 degC and at the limit."""
    T = np.array([293.15, limit])
    at = " and ".join(units.temperature(x) for x in T)
    k, c = conductivity_at(metal, T), specific_heat_at(metal, T)
    yield "density", f"{metal.density:g} kg/m^3"
    yield "conductivity", f"{k[0]:.1f}, {k[1]:.1f} W/m/K at {at}"
    yield "specific heat", f"{c[0]:.0f}, {c[1]:.0f} J/kg/K at {at}"
    yield "solidus", units.temperature(metal.solidus)
    yield "liquidus", units.temperature(metal.liquidus)
    yield "latent_heat", f"{metal.latent_heat / 1e3:g} kJ/kg"


def _sourced(metal: Material, quantity: str, value: str) -> Iterator[Assumption]:
    """One row per source of a property; most have one."""
    sources = [row for row in metal.sources if row[0] == quantity]
    if not sources and quantity in ("solidus", "liquidus", "latent_heat"):
        sources = [row for row in metal.sources if row[0] == "melting"]
    for n, (_, source, standing) in enumerate(sources or [("", "not recorded", "")]):
        key = f"{metal.name}.{quantity.replace(' ', '_')}"
        yield Assumption(key, "as above" if n else value, source, standing)


def _built_in(units: UnitSystem) -> Iterator[Assumption]:
    """Numbers of the model that no case sets."""
    length, temperature = units.length, units.temperature
    span = f"{temperature(TABLE_START)} to {temperature(march.HOTTEST_POSSIBLE)}"
    warm = temperature(march.EASE_ABOVE)
    reach = f"{LONG_FINS:g} fin lengths at {LONG_FILM:g} W/m^2/K"
    for key, value, source, standing in (
        (
            "zone",
            length(body.ZONE),
            f"parent metal that counts as joint; {ADJACENT}",
            CUSTOM,
        ),
        ("arc_spread", length(model.SPREAD), "where the case gives none", CUSTOM),
        ("long_end", reach, f"how far a long end is followed; {OWN}", OURS),
        ("smallest_gap", length(model.SMALLEST_GAP), f"least end gap; {OWN}", OURS),
        (
            "autogenous_reach",
            length(body.AUTOGENOUS_REACH),
            "heated without metal",
            CUSTOM,
        ),
        (
            "pool_stirring",
            f"{model.STIRRING:g} x",
            "conductivity of melted metal, for the flow in the pool; 2 to 4 is usual",
            CUSTOM,
        ),
        ("step_max", f"{march.STEP_MAX:g} s", f"longest time step; {OWN}", OURS),
        (
            "steps_per_spread",
            f"{march.STEPS_PER_SPREAD:g}",
            f"time steps while the arc moves its own spread; {OWN}",
            OURS,
        ),
        (
            "ring_tolerance",
            f"{march.RING_TOLERANCE:g} x",
            f"model.tolerance in the ring, more above {warm}; {OWN}",
            OURS,
        ),
        ("tables", f"{span}, every {TABLE_STEP:g} K", f"end of a run; {OWN}", OURS),
    ):
        yield Assumption(f"model.{key}", value, source, standing)


def assumption_lines(case: Case, units: UnitSystem = SI, width: int = WIDTH) -> list[str]:
    """Lines of the list: key and value, then source and standing under them."""
    rows = all_assumptions(case, units)
    wide = max(len(row.key) for row in rows)
    as_written = "in US units" if units is US else "as written in it"
    lines = [f"Every number used; those of the case {as_written}"]
    for row in rows:
        lines += paragraph(row.value, f"  {row.key:<{wide}}  ", " " * 6, width)
        standing = f" [{row.standing}]" if row.standing else ""
        lines += paragraph(f"{row.source}{standing}", " " * 6, width=width)
    return lines
