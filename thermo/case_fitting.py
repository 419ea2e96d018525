"""Fitting of a case, from checked values."""

from math import inf
from typing import Any

from . import catalogue, fittings
from .case_defaults import CUSTOM
from .case_draft import Draft, Incomplete, given_of, together
from .case_pipe import TOUCH, Metals, find_metal, nominal, note_length
from .joint import Fitting, Pipe
from .materials import Material
from .toml_lines import Path

LOOSEST = 2e-3  # m of radial clearance
_SLEEVE_SIZES = ("bore", "outside_diameter", "socket_depth", "body_bore")
_OF_CATALOGUE = ("class", "size")


def build_fitting(draft: Draft, pipe: Pipe, metals: Metals) -> Fitting:
    """Fitting of the catalogue, or a sleeve with sizes of its own."""
    kind = draft.get(("fitting", "kind"))
    if kind is None:
        raise Incomplete
    no_strangers(draft, kind)
    material, far_end = together(
        lambda: _fitting_metal(draft, pipe, metals),
        lambda: draft.default(("fitting", "far_end")),
    )
    make = _sleeve if kind == "sleeve" else _catalogue_fitting
    fitting = make(draft, kind, pipe, material, far_end)
    _check_fit(draft, pipe, fitting)
    return fitting


def _fitting_metal(draft: Draft, pipe: Pipe, metals: Metals) -> Material:
    """Metal of the fitting: the pipe's, unless given."""
    path: Path = ("fitting", "material")
    if draft.has(path):
        return find_metal(draft, path, metals)
    draft.assume(path, pipe.material.name, "as the pipe", CUSTOM)
    return pipe.material


def no_strangers(draft: Draft, kind: str) -> None:
    """Refuse sizes of a sleeve on another fitting, and the other way round."""
    remedy = "only a sleeve has sizes of its own; leave it out"
    strangers: tuple[str, ...] = _SLEEVE_SIZES
    if kind == "sleeve":
        remedy = "a sleeve is given by its own sizes; leave it out"
        strangers = _OF_CATALOGUE
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
    missing = [n for n in (*_SLEEVE_SIZES, "length") if not draft.has(("fitting", n))]
    for name in missing:
        remedy = f"a {kind} is given by its own sizes"
        draft.refuse(("fitting", name), f"fitting.{name} is missing", remedy)
    need = {name: draft.get(("fitting", name)) for name in (*_SLEEVE_SIZES, "length")}
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
