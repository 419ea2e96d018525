"""Metals and pipe of a case, from checked values."""

import re
from math import inf
from typing import Any

from . import catalogue, materials
from .case_draft import Draft, Incomplete, attempt, one_of, together
from .case_wording import label, shown
from .joint import Pipe
from .materials import Material
from .toml_lines import Path

Metals = dict[str, Material]

TOUCH = 1e-9  # m; closer than this is equal


def own_metals(draft: Draft) -> Metals:
    """Metals the file defines itself, by name; those with mistakes left out."""
    metals = {}
    for name in draft.values.get(("materials",), ()):
        path: Path = ("materials", name)
        try:
            metals[name] = _own_metal(draft, path)
        except Incomplete:
            continue
    return metals


def _own_metal(draft: Draft, path: Path) -> Material:
    def value(key: str) -> Any:
        found = draft.get((*path, key))
        if found is None and key != "latent_heat":
            raise Incomplete
        return found

    solidus, liquidus = value("solidus"), value("liquidus")
    if solidus > liquidus:
        problem = f"{label((*path, 'solidus'))} is above the liquidus"
        raise draft.stop((*path, "solidus"), problem, "swap the two")
    return draft.look_up(
        path,
        materials.own_material,
        str(path[-1]),
        value("density"),
        value("conductivity"),
        value("specific_heat"),
        solidus,
        liquidus,
        value("latent_heat") or 0.0,
    )


def find_metal(draft: Draft, path: Path, metals: Metals) -> Material:
    """Metal named at ``path``: one of the file's own, or of the catalogue."""
    name = draft.need(path, 'name one, like "316L"')
    if name in draft.values.get(("materials",), ()):
        if name not in metals:
            raise Incomplete
        return metals[name]
    return draft.look_up(path, materials.material, name)


def check_names(draft: Draft, metals: Metals) -> None:
    """Look up every name that needs no other part, so that all mistakes are found."""
    for table in ("pipe", "fitting"):
        if draft.has((table, "material")):
            attempt(find_metal, draft, (table, "material"), metals)
        if draft.has((table, "size")):
            attempt(nominal, draft, (table, "size"))
    if draft.has(("joint", "filler")):
        attempt(find_filler, draft, metals)


def find_filler(draft: Draft, metals: Metals) -> Material:
    """Weld metal named: one of the file's own, or of the catalogue."""
    path: Path = ("joint", "filler")
    name = draft.get(path)
    if name in draft.values.get(("materials",), ()):
        return find_metal(draft, path, metals)
    return draft.look_up(path, materials.filler, name)


def build_pipe(draft: Draft, metals: Metals) -> Pipe:
    """Pipe by size and schedule, or by diameter and wall."""
    material, sizes, length, far_end = together(
        lambda: find_metal(draft, ("pipe", "material"), metals),
        lambda: _pipe_sizes(draft),
        lambda: draft.default(("pipe", "length")),
        lambda: draft.default(("pipe", "far_end")),
    )
    outside_diameter, wall, size, schedule = sizes
    if wall >= outside_diameter / 2 - TOUCH:
        radius = f"{outside_diameter * 500:.4g} mm"
        problem = f"pipe.wall is thicker than the radius of the pipe, {radius}"
        raise draft.stop(("pipe", "wall"), problem, "check wall and outside diameter")
    return Pipe(
        outside_diameter=outside_diameter,
        wall=wall,
        length=inf if length == "long" else length,
        material=material,
        far_end=far_end,
        size=size,
        schedule=schedule,
    )


def _pipe_sizes(draft: Draft) -> tuple[float, float, str, str]:
    """Outside diameter and wall [m], size and schedule."""
    first, second = together(
        lambda: one_of(draft, ("pipe",), ("size", "outside_diameter")),
        lambda: one_of(draft, ("pipe",), ("schedule", "wall")),
    )
    by_schedule = second == "schedule"
    if first != "size":
        if by_schedule:
            problem = "pipe.schedule says nothing without a size"
            raise draft.stop(("pipe", "schedule"), problem, "give size, or wall instead")
        outside_diameter = draft.get(("pipe", "outside_diameter"))
        return outside_diameter, draft.get(("pipe", "wall")), "", ""
    size = nominal(draft, ("pipe", "size"))
    wanted = draft.get(("pipe", "schedule")) if by_schedule else "STD"
    spot = ("pipe", "schedule" if by_schedule else "size")
    row = draft.look_up(spot, catalogue.pipe, size, wanted)
    note_length(draft, ("pipe", "outside_diameter"), row.outside_diameter, row)
    if not by_schedule:
        return row.outside_diameter, draft.get(("pipe", "wall")), row.size, ""
    note_length(draft, ("pipe", "wall"), row.wall, row)
    return row.outside_diameter, row.wall, row.size, row.schedule


def nominal(draft: Draft, path: Path) -> str:
    """Pipe size by its name in the trade."""
    text = draft.get(path)
    # A huge exponent would be read as a number that fills the memory.
    if re.search(r"(?i)\de", text):
        problem = f"{label(path)}: {shown(text)} is no pipe size"
        raise draft.stop(path, problem, 'write it like "NPS 3/4"')
    return f"NPS {draft.look_up(path, catalogue.nominal_size, text)}"


def note_length(draft: Draft, path: Path, length: float, row: Any) -> None:
    """Note a length of a catalogue row among the numbers used."""
    draft.assume(path, f"{1e3 * length:.4g} mm", row.source, row.standing)
