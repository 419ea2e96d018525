"""Surroundings and model options of a case, from checked values."""

from typing import Any

from ..joint.case import Fitting, Holding, Measure, ModelOptions, Pipe, Surroundings
from ..joint.held import (
    LEAST_GRIP,
    NOTHING,
    Device,
    device_of,
    device_on,
    devices,
    usual_grip,
)
from ..joint.outline import TOUCH
from ..joint.places import NAMED
from ..text.toml import KeyPath
from .draft import Draft, Incomplete, form, keep_one, label
from .keys import TABLES
from .weld import Weld

FEWEST_CELLS = 8  # round the ring, unless it is one
_AIR = ("surroundings",)
HELD = (*_AIR, "holding")


def build_surroundings(draft: Draft) -> Surroundings:
    """Air, posture, fan, bore and surfaces; what holds the piece comes later."""
    air = draft.default((*_AIR, "air"))
    fan, during = _fan(draft)
    bore, flow = _bore(draft)
    film = draft.get((*_AIR, "film_coefficient"))
    if film is None:
        source = "natural or forced convection from tabulated correlations"
        draft.assume((*_AIR, "film_coefficient"), "computed", source, "computed")
    return Surroundings(
        air=air,
        start=_start(draft, air),
        axis=draft.default((*_AIR, "axis")),
        fan=fan,
        fan_during=during,
        bore=bore,
        purge_flow=flow,
        emissivity=draft.default((*_AIR, "emissivity")),
        film_coefficient=film,
        film_factor=draft.default((*_AIR, "film_factor")),
        holding_is_said=draft.has(HELD),
    )


def _start(draft: Draft, air: float) -> float:
    """Temperature of the piece before pass 1 [K]."""
    start = draft.get((*_AIR, "start"))
    if start is not None:
        return float(start)
    text = draft.texts.get((*_AIR, "air"), "20 degC")
    draft.assume((*_AIR, "start"), text, "the piece is as warm as the air", "computed")
    return air


def _fan(draft: Draft) -> tuple[float, str]:
    """Air speed across the joint [m/s], and when."""
    path = (*_AIR, "fan")
    if draft.is_wrong(path):
        raise Incomplete
    spots: list[KeyPath] = [(*_AIR, "during"), (*_AIR, "fan_during"), (*path, "during")]
    given = [spot for spot in spots if draft.has(spot)]
    if len(given) > 1:
        keep_one(draft, _AIR, [".".join(map(str, spot[1:])) for spot in given])
    if given and not draft.has(path):
        problem = "surroundings.during speaks of a fan, and there is none"
        raise draft.stop(given[0], problem, 'give fan, like "2 m/s"')
    speed = draft.default(path)
    if speed is None:  # a table
        speed = draft.get((*path, "speed"))
    if speed is None:
        raise Incomplete
    if given:
        return speed, draft.get(given[0])
    return speed, draft.default((*_AIR, "during")) if speed else "always"


def _bore(draft: Draft) -> tuple[str, float]:
    """Find what is in the bore, and the purge flow [m³/s]."""
    path, flow = (*_AIR, "bore"), (*_AIR, "purge_flow")
    bore = draft.default(path)
    if bore is None:  # a table that names the gas
        if draft.has(flow):
            raise draft.stop(flow, "surroundings.purge_flow is given twice", "keep one")
        if draft.has((*path, "flow")):
            return "argon purge", draft.get((*path, "flow"))
        return "argon purge", draft.default(flow)
    if bore == "argon purge":
        return bore, draft.default(flow)
    if draft.has(flow):
        problem = f"surroundings.purge_flow does not go with bore '{bore}'"
        raise draft.stop(flow, problem, 'write bore = "argon purge", or leave it out')
    return bore, 0.0


def build_measure(draft: Draft) -> Measure:
    """Find where readings are taken."""
    on, angle = (draft.default(("measure", key)) for key in ("on", "angle"))
    return Measure(on, _from_toe(draft), angle)


def _from_toe(draft: Draft) -> float | None:
    """Distance from the toe [m], or None for the standard's own."""
    distance = draft.default(("measure", "from_toe"))
    return NAMED[distance] if isinstance(distance, str) else distance


def build_holding(
    draft: Draft, pipe: Pipe, fitting: Fitting, weld: Weld
) -> tuple[Holding, ...]:
    """Find what holds the piece: one entry, or none."""
    said = draft.default(HELD)
    if said == NOTHING:
        return ()
    on, by = draft.get((*HELD, "on")), draft.get((*HELD, "by"))
    device = device_of(said) if said else device_on(on, by)
    if on is None and device is None:
        raise Incomplete
    names = ("from_face", "length", "share", "conductance")
    values: dict[str, Any] = {n: draft.get((*HELD, n)) for n in names if _has(draft, n)}
    if device:
        on, by = device.on, device.by
        values = _usual(draft, device, values, pipe, fitting, weld)
    if not {"from_face", "length", "conductance"} <= set(values):
        raise Incomplete
    holding = Holding(on=on, by=by or "", **values)
    _check_holding(draft, HELD, holding, pipe, fitting, weld)
    return (holding,)


def _has(draft: Draft, name: str) -> bool:
    return draft.has((*HELD, name))


def check_holding(draft: Draft) -> None:
    """Refuse a table that names neither a device nor all the numbers of one."""
    if not draft.has(HELD) or draft.get(HELD) is not None:
        return
    on, by = draft.get((*HELD, "on")), draft.get((*HELD, "by"))
    if by and on and not device_on(on, by):
        known = ", ".join(device.by for device in devices() if device.on == on)
        problem = f"surroundings.holding.by: a {on} is not held by '{by}'"
        raise draft.stop((*HELD, "by"), problem, f"known here: {known}; or give numbers")
    if by:
        return
    for name in ("from_face", "length", "conductance"):
        if not _has(draft, name):
            remedy = f'give {form(TABLES["holding"][name])}, or by, like "chuck"'
            draft.refuse((*HELD, name), f"{label((*HELD, name))} is missing", remedy)


def _usual(
    draft: Draft,
    device: Device,
    given: dict[str, Any],
    pipe: Pipe,
    fitting: Fitting,
    weld: Weld,
) -> dict[str, Any]:
    """Fill in what is usual of a device for what is not given [SI]."""
    if device.on == "fitting" and fitting.kind == "none":
        problem = "surroundings.holding: a bare pipe has no fitting to hold"
        raise draft.stop(HELD, problem, 'write "pipe in a chuck"')
    start = given.get("from_face")
    grip = usual_grip(device, pipe, fitting, weld.leg_pipe, start)
    if grip.length < LEAST_GRIP - TOUCH and "length" not in given:
        problem = f"surroundings.holding: the {grip.on} leaves no room for a {grip.by}"
        raise draft.stop(HELD, problem, "give from_face and length")
    texts = {
        "from_face": f"{1e3 * grip.from_face:.4g} mm",
        "length": f"{1e3 * grip.length:.4g} mm",
        "share": f"{grip.share:g}",
        "conductance": f"{grip.conductance:g} W/m^2/K",
    }
    for name, text in texts.items():
        if name not in given:
            draft.assume((*HELD, name), text, device.source, device.standing)
    return {name: given.get(name, getattr(grip, name)) for name in texts}


def _check_holding(
    draft: Draft,
    path: KeyPath,
    holding: Holding,
    pipe: Pipe,
    fitting: Fitting,
    weld: Weld,
) -> None:
    """Refuse a holding device off the part, or on the weld."""
    whole = pipe.length if holding.on == "pipe" else fitting.length
    if holding.from_face + holding.length > whole + TOUCH:
        end = f"{1e3 * whole:.4g} mm"
        problem = (
            f"surroundings.holding reaches beyond the end of the {holding.on}, {end}"
        )
        raise draft.stop(path, problem, "it spans from_face to from_face + length")
    if holding.on == "pipe" and holding.from_face < weld.leg_pipe - TOUCH:
        problem = (
            f"surroundings.holding sits on the weld, leg {1e3 * weld.leg_pipe:.4g} mm"
        )
        raise draft.stop((*path, "from_face"), problem, "move it away from the face")


def build_options(draft: Draft) -> ModelOptions:
    """How finely the heat is computed."""
    options = {
        name: draft.default(("model", name))
        for name in ("cell", "ring", "tolerance", "end_after", "bead")
    }
    ring = int(options.pop("ring"))
    if 1 < ring < FEWEST_CELLS:
        problem = f"model.ring: {ring} cells are too few to resolve the ring"
        remedy = f"write 1 (axisymmetric) or {FEWEST_CELLS} and more, like 48"
        raise draft.stop(("model", "ring"), problem, remedy)
    return ModelOptions(ring=ring, **options)
