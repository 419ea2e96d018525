"""Own metals, pipe and fitting of a case, from checked values."""

import re
from math import inf
from typing import Any

from ..joint import fittings
from ..joint.case import Fitting, Pipe
from ..joint.outline import TOUCH
from ..physics import metals as materials
from ..physics.metals import Material
from ..text.toml import KeyPath
from ..trade import pipes as catalogue
from .defaults import CUSTOM
from .draft import Draft, Incomplete, attempt, given_of, label, one_of, shown, together
from .keys import NO_FITTING, NOT_BARE, OF_CATALOGUE, SLEEVE_SIZES

Metals = dict[str, Material]


def own_metals(draft: Draft) -> Metals:
    """Metals the file defines itself, by name; those with mistakes left out."""
    metals = {}
    for name in draft.values.get(("materials",), ()):
        path: KeyPath = ("materials", name)
        try:
            metals[name] = _own_metal(draft, path)
        except Incomplete:
            continue
    return metals


def _own_metal(draft: Draft, path: KeyPath) -> Material:
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


def find_metal(draft: Draft, path: KeyPath, metals: Metals) -> Material:
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
    path: KeyPath = ("joint", "filler")
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


def nominal(draft: Draft, path: KeyPath) -> str:
    """Pipe size by its name in the trade."""
    text = draft.get(path)
    # A huge exponent would be read as a number that fills the memory.
    if re.search(r"(?i)\de", text):
        problem = f"{label(path)}: {shown(text)} is no pipe size"
        raise draft.stop(path, problem, 'write it like "NPS 3/4"')
    return f"NPS {draft.look_up(path, catalogue.nominal_size, text)}"


def note_length(draft: Draft, path: KeyPath, length: float, row: Any) -> None:
    """Note a length of a catalogue row among the numbers used."""
    draft.assume(path, f"{1e3 * length:.4g} mm", row.source, row.standing)


LOOSEST = 2e-3  # m of radial clearance


def build_fitting(draft: Draft, pipe: Pipe, metals: Metals) -> Fitting:
    """Fitting of the catalogue, or a sleeve with sizes of its own."""
    kind = plain_kind(draft.get(("fitting", "kind")))
    if kind is None:
        raise Incomplete
    no_strangers(draft, kind)
    material, far_end = together(
        lambda: _fitting_metal(draft, pipe, metals),
        lambda: draft.default(("fitting", "far_end")),
    )
    if kind == "none":
        return fittings.no_fitting(pipe, _beyond(draft, pipe), far_end)
    make = _sleeve if kind == "sleeve" else _catalogue_fitting
    fitting = make(draft, kind, pipe, material, far_end)
    _check_fit(draft, pipe, fitting)
    return fitting


def plain_kind(word: str | None) -> str | None:
    """Kind of a fitting as the model has it: a bare pipe has none."""
    return NO_FITTING[0] if word in NO_FITTING else word


def _beyond(draft: Draft, pipe: Pipe) -> float:
    """How far a bare pipe goes on beyond its band [m]: as far as on this side."""
    given = draft.get(("fitting", "length"))
    if given is not None:
        return inf if given == "long" else float(given)
    text = "long" if pipe.length == inf else f"{1e3 * pipe.length:.4g} mm"
    draft.assume(("fitting", "length"), text, "as the pipe on the other side", CUSTOM)
    return pipe.length


def _fitting_metal(draft: Draft, pipe: Pipe, metals: Metals) -> Material:
    """Metal of the fitting: the pipe's, unless given."""
    path: KeyPath = ("fitting", "material")
    if draft.has(path):
        return find_metal(draft, path, metals)
    draft.assume(path, pipe.material.name, "as the pipe", CUSTOM)
    return pipe.material


def no_strangers(draft: Draft, kind: str | None) -> None:
    """Refuse sizes of a sleeve on another fitting, and the other way round."""
    remedy = "only a sleeve has sizes of its own; leave it out"
    strangers: tuple[str, ...] = SLEEVE_SIZES
    if kind == "sleeve":
        remedy = "a sleeve is given by its own sizes; leave it out"
        strangers = OF_CATALOGUE
    if kind == "none":
        remedy = "a bare pipe goes on as it is: only length and far_end count"
        strangers = NOT_BARE["fitting"]
    found = given_of(draft, ("fitting",), strangers)
    for name in found:
        problem = f"fitting.{name} does not go with kind '{kind}'"
        draft.refuse(("fitting", name), problem, remedy)
    if found:
        raise Incomplete


def _sleeve(
    draft: Draft, kind: str, _: Pipe, material: Material, far_end: str
) -> Fitting:
    """Sleeve of the sizes given."""
    missing = [n for n in (*SLEEVE_SIZES, "length") if not draft.has(("fitting", n))]
    for name in missing:
        remedy = f"a {kind} is given by its own sizes"
        draft.refuse(("fitting", name), f"fitting.{name} is missing", remedy)
    need = {name: draft.get(("fitting", name)) for name in (*SLEEVE_SIZES, "length")}
    if need["bore"] >= need["outside_diameter"]:
        problem = "fitting.bore is not smaller than the outside diameter"
        raise draft.stop(("fitting", "bore"), problem, "check both")
    if need["body_bore"] > need["bore"]:
        problem = "fitting.body_bore is bigger than the socket bore"
        remedy = "the body must stop the pipe; check both"
        raise draft.stop(("fitting", "body_bore"), problem, remedy)
    return draft.look_up(
        ("fitting", "kind"),
        fittings.make_sleeve,
        material,
        socket_bore=need["bore"],
        outside_diameter=need["outside_diameter"],
        socket_depth=need["socket_depth"],
        body_bore=need["body_bore"],
        length=_long(draft, need["length"], need["socket_depth"]),
        far_end=far_end,
    )


def _long(draft: Draft, length: Any, depth: float) -> float:
    """Length from the socket face; inf for "long"."""
    if length == "long":
        return inf
    if length <= depth + TOUCH:
        problem = f"fitting.length ends in the socket, {1e3 * depth:.4g} mm deep"
        raise draft.stop(("fitting", "length"), problem, "it counts from the socket face")
    return float(length)


def _catalogue_fitting(
    draft: Draft, kind: str, pipe: Pipe, material: Material, far_end: str
) -> Fitting:
    """Fitting by size and class."""
    size = _fitting_size(draft, pipe)
    pressure_class = _pressure_class(draft, kind)
    row: Any = draft.look_up(
        ("fitting", "class" if draft.has(("fitting", "class")) else "kind"),
        catalogue.flange if kind == "flange" else catalogue.socket,
        size,
        pressure_class,
    )
    for name, length in (("socket_bore", row.bore), ("socket_depth", row.depth)):
        note_length(draft, ("fitting", name), length, row)
    length = draft.get(("fitting", "length"))
    if length is not None:
        length = _long(draft, length, row.depth)
    fitting = draft.look_up(
        ("fitting", "kind"),
        fittings.make_fitting,
        kind,
        material,
        size=size,
        pressure_class=pressure_class,
        length=length,
        pipe_outside_diameter=pipe.outside_diameter,
        pipe_wall=pipe.wall,
        far_end=far_end,
    )
    if length is None:
        text = "long" if fitting.length == inf else f"{1e3 * fitting.length:.4g} mm"
        draft.assume(("fitting", "length"), text, f"a {kind} of its own", "computed")
    return fitting


def _fitting_size(draft: Draft, pipe: Pipe) -> str:
    """Size of the socket: the pipe's, unless given."""
    if draft.has(("fitting", "size")):
        return nominal(draft, ("fitting", "size"))
    if not pipe.size:
        remedy = 'give it, like "NPS 1": the pipe is given by its diameter'
        raise draft.stop(("fitting", "size"), "fitting.size is missing", remedy)
    draft.assume(("fitting", "size"), pipe.size, "as the pipe", CUSTOM)
    return pipe.size


def _pressure_class(draft: Draft, kind: str) -> int:
    """Class given, or the one customary."""
    given = draft.get(("fitting", "class"))
    if given is not None:
        return int(given)
    usual = 150 if kind == "flange" else 3000
    draft.assume(("fitting", "class"), str(usual), "the class in most use", CUSTOM)
    return usual


def _check_fit(draft: Draft, pipe: Pipe, fitting: Fitting) -> None:
    """Refuse a socket that the pipe does not enter, or in which it is lost."""
    clearance = (fitting.socket_bore - pipe.outside_diameter) / 2
    bore = f"{1e3 * fitting.socket_bore:.4g} mm"
    outside = f"{1e3 * pipe.outside_diameter:.4g} mm"
    named = [n for n in ("bore", "size", "kind") if draft.has(("fitting", n))]
    if clearance < -TOUCH:
        problem = f"the socket, bore {bore}, is smaller than the pipe, {outside}"
        raise draft.stop(("fitting", named[0]), problem, "choose a fitting of its size")
    if clearance > LOOSEST:
        problem = f"the socket, bore {bore}, is far too big for the pipe, {outside}"
        remedy = f"the radial clearance may be {1e3 * LOOSEST:g} mm at most"
        raise draft.stop(("fitting", named[0]), problem, remedy)
