"""Weld of a case: gap, legs and filler, from checked values."""

from math import nan
from typing import NamedTuple

from ..joint.beads import Fillet
from ..joint.case import Fitting, Pipe
from ..joint.outline import TOUCH
from ..physics import metals as materials
from ..physics.metals import Material
from ..trade import pipes as catalogue
from .defaults import CUSTOM, DISSIMILAR_FILLER, MATCHING_FILLER
from .draft import Draft, given_of, keep_one, together
from .keys import NOT_BARE, OF_BAND
from .parts import Metals, find_filler

LEG_FACTOR = 1.09
LEG_FACTOR_FLANGE = 1.4
LEG_SOURCE = "1.09 x nominal wall or socket wall, the smaller: ASME B31.3 Fig. 328.5.2C"

LEG_SOURCE_FLANGE = (
    "1.4 x nominal wall or hub thickness, the smaller: ASME B31.1-2016 Fig. 127.4.4(B)"
)

RESTATED = "published restatement"
LIP_SOURCE = "out to the edge of the socket face: clearance and socket wall"


class Weld(NamedTuple):
    """What the case says of the weld itself [m]."""

    end_gap: float
    leg_pipe: float
    leg_socket: float
    leg_rule: str
    filler: Material
    filler_name: str
    clearance_conductance: float | None
    metal_in_place: bool
    clearance_factor: float = 1.0
    leg_code: float = nan
    band: float = 0.0
    band_depth: float = 0.0

    @property
    def fillet(self) -> Fillet:
        """The fillet when it is finished."""
        return Fillet(self.leg_pipe, self.leg_socket)


def build_weld(draft: Draft, pipe: Pipe, fitting: Fitting, metals: Metals) -> Weld:
    """Gap, legs and filler; of a bare pipe the band that is heated."""
    if fitting.kind == "none":
        return _band(draft, pipe, fitting, metals)
    for name in given_of(draft, ("joint",), OF_BAND):
        problem = f"joint.{name} is for a bare pipe, fitting kind 'none'"
        raise draft.stop(("joint", name), problem, "leave it out: the arc heats the bead")
    end_gap, legs, filler, conductance = together(
        lambda: _end_gap(draft, fitting),
        lambda: _legs(draft, pipe, fitting),
        lambda: _filler(draft, pipe, fitting, metals),
        lambda: draft.get(("joint", "clearance_conductance")),
    )
    if conductance is None:
        text, source = "computed", "gas film and radiation across the clearance"
        draft.assume(("joint", "clearance_conductance"), text, source, "computed")
    leg_pipe, leg_socket, leg_rule, leg_code = legs
    return Weld(
        end_gap=end_gap,
        leg_pipe=leg_pipe,
        leg_socket=leg_socket,
        leg_rule=leg_rule,
        filler=filler,
        filler_name=filler.name,
        clearance_conductance=conductance,
        metal_in_place=bool(draft.get(("joint", "metal_in_place"))),
        clearance_factor=draft.default(("joint", "clearance_factor")),
        leg_code=leg_code,
    )


def _band(draft: Draft, pipe: Pipe, fitting: Fitting, metals: Metals) -> Weld:
    """Band of a bare pipe: nothing is laid, half its width stands for a leg."""
    for name in given_of(draft, ("joint",), NOT_BARE["joint"]):
        problem = f"joint.{name} does not go with a bare pipe, fitting kind 'none'"
        raise draft.stop(
            ("joint", name), problem, "leave it out; its keys are band, band_depth"
        )
    filler = _filler(draft, pipe, fitting, metals)
    band, depth = (draft.default(("joint", name)) for name in ("band", "band_depth"))
    if depth == "wall":
        depth = pipe.wall
    if depth > pipe.wall + TOUCH:
        wall = f"{1e3 * pipe.wall:.4g} mm"
        problem = f"joint.band_depth is more than the wall of the pipe, {wall}"
        raise draft.stop(("joint", "band_depth"), problem, 'write "wall" for all of it')
    if band / 2 > min(pipe.length, fitting.length) - TOUCH:
        problem = "joint.band reaches beyond the end of the pipe"
        raise draft.stop(("joint", "band"), problem, "give a narrower band or more pipe")
    return Weld(
        end_gap=0.0,
        leg_pipe=band / 2,
        leg_socket=band / 2,
        leg_rule="given",
        filler=filler,
        filler_name=filler.name,
        clearance_conductance=None,
        metal_in_place=True,
        band=band,
        band_depth=float(depth),
    )


def _end_gap(draft: Draft, fitting: Fitting) -> float:
    end_gap = draft.default(("joint", "end_gap"))
    if end_gap >= fitting.socket_depth - TOUCH:
        depth = f"{1e3 * fitting.socket_depth:.4g} mm"
        problem = f"joint.end_gap is deeper than the socket, {depth}"
        raise draft.stop(("joint", "end_gap"), problem, "the pipe must enter the socket")
    return float(end_gap)


def _legs(draft: Draft, pipe: Pipe, fitting: Fitting) -> tuple[float, float, str, float]:
    """Legs along pipe and socket face [m], who says so, and the code's least leg [m]."""
    given = check_legs_given(draft)
    both = draft.default(("joint", "leg")) if given in ([], ["leg"]) else "code"
    legs = {name: draft.get(("joint", name)) for name in given if name != "leg"}
    code, source = _code_leg(draft, pipe, fitting)
    if both == "code":
        both = code
        for name in ("leg_pipe", "leg_socket"):
            if name not in legs:
                text = f"{1e3 * code:.3f} mm"
                draft.assume(("joint", name), text, source, RESTATED)
    if both == "lip":
        both = (fitting.socket_bore - pipe.outside_diameter) / 2 + fitting.socket_wall
        for name in ("leg_pipe", "leg_socket"):
            text = f"{1e3 * both:.3f} mm"
            draft.assume(("joint", name), text, LIP_SOURCE, "computed")
    leg_pipe, leg_socket = (legs.get(n, both) for n in ("leg_pipe", "leg_socket"))
    _check_legs(draft, pipe, fitting, leg_pipe, leg_socket)
    word = draft.values.get(("joint", "leg"), "code")
    rule = word if not legs and word in ("code", "lip") else "given"
    return leg_pipe, leg_socket, rule, code


def check_legs_given(draft: Draft) -> list[str]:
    """Names of the legs the file gives; ``leg`` stands for both."""
    given = given_of(draft, ("joint",), ("leg", "leg_pipe", "leg_socket"))
    if given[:1] == ["leg"]:
        keep_one(draft, ("joint",), given)
    return given


def _code_leg(draft: Draft, pipe: Pipe, fitting: Fitting) -> tuple[float, str]:
    """Least leg of the code [m], and the rule."""
    if fitting.kind == "flange":
        return min(LEG_FACTOR_FLANGE * pipe.wall, fitting.socket_wall), LEG_SOURCE_FLANGE
    wall = fitting.socket_wall
    if fitting.kind != "sleeve" and fitting.pressure_class:
        size = draft.values.get(("fitting", "size")) or pipe.size
        wall = catalogue.socket(size, fitting.pressure_class).wall_min
    return min(LEG_FACTOR * pipe.wall, wall), LEG_SOURCE


def _check_legs(
    draft: Draft, pipe: Pipe, fitting: Fitting, leg_pipe: float, leg_socket: float
) -> None:
    """Refuse legs that leave the metal they lie on."""
    clearance = (fitting.socket_bore - pipe.outside_diameter) / 2
    room = clearance + fitting.socket_wall
    if leg_socket <= clearance + TOUCH:
        spot = "leg_socket" if draft.has(("joint", "leg_socket")) else "leg"
        problem = f"joint.{spot} does not bridge the clearance, {1e3 * clearance:.4g} mm"
        raise draft.stop(("joint", spot), problem, "give a longer leg")
    for name, leg, limit, what in (
        ("leg_socket", leg_socket, room, "the socket face allows, wall + clearance"),
        ("leg_pipe", leg_pipe, pipe.length, "the pipe outside the socket,"),
    ):
        if leg > limit + TOUCH:
            spot = name if draft.has(("joint", name)) else "leg"
            problem = f"joint.{spot}, {1e3 * leg:.4g} mm, is longer than {what}"
            problem += f" {1e3 * limit:.4g} mm"
            raise draft.stop(("joint", spot), problem, "give a shorter leg")


def _filler(draft: Draft, pipe: Pipe, fitting: Fitting, metals: Metals) -> Material:
    """Weld metal named, or the one customary between the two metals."""
    path = ("joint", "filler")
    if not draft.has(path):
        name = _usual_filler(pipe.material, fitting.material)
        if not name:
            metals_text = f"{pipe.material.name} to {fitting.material.name}"
            problem = f"joint.filler is missing, and none is customary for {metals_text}"
            raise draft.stop(path, problem, 'name one, like "ER309L"')
        draft.assume(path, name, "the filler in most use for these metals", CUSTOM)
        return materials.filler(name)
    return find_filler(draft, metals)


def _usual_filler(pipe: Material, fitting: Material) -> str:
    """Filler customary between two metals, or nothing."""
    if pipe.name == fitting.name:
        return MATCHING_FILLER.get(pipe.name, "")
    return DISSIMILAR_FILLER.get(frozenset({pipe.family, fitting.family}), "")
