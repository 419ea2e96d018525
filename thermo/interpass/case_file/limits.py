"""Limits, watched points and probes of a case, from checked values."""

from functools import partial
from typing import Any

from ..joint.case import Examination, Fitting, Limits, Pipe, Probe, Surroundings, Watch
from ..joint.outline import TOUCH
from ..joint.places import is_metal, surface_radius
from ..physics.metals import Material
from ..text.errors import CatalogueError
from ..text.kinds import UNIT_SYSTEMS, to_degC
from ..text.toml import KeyPath
from ..text.units import parse
from ..trade.practice import interpass_limit, preheat_min
from .defaults import DEFAULTS
from .draft import Draft, Incomplete, given_of, keep_one, label, one_of, together
from .units import written_in
from .weld import Weld

STANDARD_AIR = parse(DEFAULTS["surroundings", "air"].value, "temperature")


def build_limits(
    draft: Draft, pipe: Pipe, fitting: Fitting, weld: Weld, surroundings: Surroundings
) -> Limits:
    """Interpass limit, preheat and the watched points."""
    maximum, source, standing = _interpass_max(draft, pipe.material, fitting.material)
    least, preheat, preheat_source = _least(draft, pipe, fitting)
    _check_order(draft, surroundings.air, maximum, least, preheat)
    wait_max = draft.default(("limits", "wait_max"))
    return Limits(
        interpass_max=maximum,
        interpass_max_source=source,
        interpass_max_standing=standing,
        interpass_min=least,
        preheat_min=preheat,
        preheat_min_source=preheat_source,
        watch=_watches(draft, pipe, fitting, weld, surroundings.air),
        wait_max=wait_max,
        rules=draft.get(("limits", "rules")) or "",
        examine=_examinations(draft, surroundings.air),
        applies_to=draft.default(("limits", "applies_to")),
        **_per_length(draft),
    )


def check_limits(draft: Draft) -> None:
    """Compare the limits that are given, whatever the parts are."""
    air = draft.values.get(("surroundings", "air"), STANDARD_AIR)
    given = [("limits", n) for n in ("interpass_max", "interpass_min", "preheat_min")]
    maximum, least, preheat = (draft.values.get(path) for path in given)
    if maximum is not None:
        _check_order(draft, air, maximum, least, preheat)


def _interpass_max(
    draft: Draft, pipe: Material, fitting: Material
) -> tuple[float, str, str]:
    """Limit given, or the stricter of the two metals' [K]."""
    path = ("limits", "interpass_max")
    given = draft.get(path)
    if given is not None:
        return given, "given in the case", "given"
    rows = [_limit(draft, metal) for metal in (pipe, fitting)]
    row = min(rows, key=lambda one: one.maximum)
    draft.assume(path, _customary(draft, row.maximum), row.source, row.standing)
    return row.maximum, row.source, row.standing


def _limit(draft: Draft, metal: Material) -> Any:
    try:
        return interpass_limit(metal).told_in(written_in(draft.texts.values()))
    except CatalogueError as error:
        problem = (
            f"limits.interpass_max is missing, and none is customary for {metal.name}"
        )
        remedy = 'give it, like interpass_max = "175 degC"'
        raise draft.stop(("limits", "interpass_max"), problem, remedy) from error


def _least(draft: Draft, pipe: Pipe, fitting: Fitting) -> tuple[float | None, float, str]:
    """Interpass minimum, if any, and preheat minimum [K] with its source."""
    least = draft.get(("limits", "interpass_min"))
    if least is None and not draft.has(("limits", "interpass_max")):
        rows = [_limit(draft, part.material) for part in (pipe, fitting)]
        known = [row for row in rows if row.minimum is not None]
        if known:
            row = max(known, key=lambda one: one.minimum)
            least = row.minimum
            draft.assume(
                ("limits", "interpass_min"),
                _customary(draft, row.minimum),
                row.source,
                row.standing,
            )
    path = ("limits", "preheat_min")
    given = draft.get(path)
    if given is not None:
        return least, given, "given in the case"
    wall = max(pipe.wall, fitting.socket_wall)
    preheats = [preheat_min(part.material, wall) for part in (pipe, fitting)]
    need = max(preheats, key=lambda one: one.minimum)
    draft.assume(path, _degC(need.minimum), need.source, need.standing)
    return least, need.minimum, need.source


def _per_length(draft: Draft) -> dict[str, float | None]:
    """Bounds of the procedure on arc energy and heat input, where it has any [J/m]."""
    bounds: dict[str, float | None] = {}
    for quantity in ("heat_input", "arc_energy"):
        names = (f"{quantity}_min", f"{quantity}_max")
        low, high = (draft.get(("limits", name)) for name in names)
        if low is not None and high is not None and low > high:
            problem = f"limits.{names[0]} is above {names[1]}"
            raise draft.stop(("limits", names[0]), problem, "swap them")
        bounds |= {names[0]: low, names[1]: high}
    return bounds


def _examinations(draft: Draft, air: float) -> tuple[Examination, ...]:
    """Read what has to wait for the joint to cool, each with its temperature."""
    count = draft.get(("limits", "examine")) or 0
    found = []
    for index in range(count):
        path: KeyPath = ("limits", "examine", index)
        name, most = (draft.get((*path, key)) for key in ("name", "max"))
        if name is None or most is None:
            raise Incomplete
        if most <= air:
            problem = f"{label((*path, 'max'))} is not above the air, {_degC(air)}"
            raise draft.stop((*path, "max"), problem, "no wait is long enough")
        found.append(Examination(name, most))
    return tuple(found)


def _customary(draft: Draft, T: float) -> str:
    """Temperature in the units the case is written in."""
    return UNIT_SYSTEMS[written_in(draft.texts.values())].temperature(T)


def _degC(T: float) -> str:
    return f"{to_degC(T):.4g} degC"


def _check_order(
    draft: Draft, air: float, maximum: float, least: float | None, preheat: float | None
) -> None:
    """Refuse limits that nothing can meet."""
    top = ("limits", "interpass_max")
    shown = _degC(maximum)
    if maximum <= air:
        problem = f"limits.interpass_max, {shown}, is not above the air, {_degC(air)}"
        raise draft.stop(top, problem, "no wait is long enough; raise it or cool the air")
    for name, low in (("interpass_min", least), ("preheat_min", preheat)):
        if low is not None and low > maximum:
            spot = ("limits", name) if draft.has(("limits", name)) else top
            problem = f"limits.{name}, {_degC(low)}, is above interpass_max, {shown}"
            raise draft.stop(spot, problem, "lower one or raise the other")


def _watches(
    draft: Draft, pipe: Pipe, fitting: Fitting, weld: Weld, air: float
) -> tuple[Watch, ...]:
    """Points with a limit of their own."""
    count = draft.get(("limits", "watch")) or 0
    steps = [partial(_watch, draft, n, pipe, fitting, weld, air) for n in range(count)]
    return tuple(together(*steps))


def _watch(
    draft: Draft, index: int, pipe: Pipe, fitting: Fitting, weld: Weld, air: float
) -> Watch:
    path: KeyPath = ("limits", "watch", index)
    place, maximum, name = together(
        lambda: _place(draft, (*path, "at"), pipe, fitting, weld),
        lambda: draft.get((*path, "max")),
        lambda: draft.get((*path, "name")),
    )
    if maximum <= air:
        problem = f"{label((*path, 'max'))} is not above the air, {_degC(air)}"
        raise draft.stop((*path, "max"), problem, "no wait is long enough")
    r, z = place
    return Watch(name, r, z, maximum)


def _place(
    draft: Draft, path: KeyPath, pipe: Pipe, fitting: Fitting, weld: Weld
) -> tuple[float, float]:
    """Point (r, z) of a table that names it by r and z, or on a surface."""
    draft.get(path)
    if one_of(draft, path, ("from_face", "r")) == "r":
        for name in ("on", "part"):
            keep_one(draft, path, ["r", *given_of(draft, path, (name,))])
        r, z = draft.get((*path, "r")), draft.need((*path, "z"), "give r and z")
        if not is_metal(r, z, pipe, fitting, weld.end_gap, weld.fillet):
            raise draft.stop(path, f"{label(path)} is not in the metal", _METAL_HINT)
        return r, z
    keep_one(draft, path, ["from_face", *given_of(draft, path, ("z",))])
    away, on = draft.get((*path, "from_face")), draft.get((*path, "on")) or "outside"
    part = draft.get((*path, "part")) or "fitting"
    whole = fitting.length if part == "fitting" else pipe.length
    if away > whole + TOUCH:
        problem = f"{label(path)} is beyond the end of the {part}, {1e3 * whole:.4g} mm"
        raise draft.stop((*path, "from_face"), problem, "measure from the socket face")
    z = away if part == "fitting" else -away
    return surface_radius(z, on, pipe, fitting, weld.end_gap), z


_METAL_HINT = (
    "z = 0 is the socket face, positive into the fitting; r counts from the axis"
)


def build_probes(
    draft: Draft, pipe: Pipe, fitting: Fitting, weld: Weld
) -> tuple[Probe, ...]:
    """Places whose temperature is followed."""
    count = draft.get(("probe",)) or 0
    steps = [partial(_probe, draft, n, pipe, fitting, weld) for n in range(count)]
    return tuple(together(*steps))


def _probe(draft: Draft, index: int, pipe: Pipe, fitting: Fitting, weld: Weld) -> Probe:
    path: KeyPath = ("probe", index)
    name, r, z = (draft.get((*path, key)) for key in ("name", "r", "z"))
    if not is_metal(r, z, pipe, fitting, weld.end_gap, weld.fillet):
        raise draft.stop(path, f"probe '{name}' is not in the metal", _METAL_HINT)
    return Probe(name, r, z, draft.default((*path, "angle")))
