"""Passes of a case: current, travel, metal and waits, from checked values."""

from functools import partial
from math import degrees, pi
from typing import Any

from ..joint.arc import (
    arc_time_from_travel,
    deposit_area,
    net_power,
    travel_from_arc_time,
    travel_from_turn,
    two_halves,
)
from ..joint.case import Fitting, Pass, Pipe, Segment, Settings, Wire
from ..text.toml import KeyPath
from .draft import Draft, Incomplete, given_of, keep_one, label, together
from .weld import Weld

MOST_PASSES = 12
STEEPEST = 2.0  # leg along the pipe over leg on the face, when the face is full
NAN = float("nan")
_TRAVEL = ("travel", "turn", "arc_time")
_POWER = ("current", "net_power")
_METAL = ("wire", "deposit")
_PATH = ("start_angle", "direction", "overlap")


def build_passes(
    draft: Draft, pipe: Pipe | None, fitting: Fitting | None, weld: Weld | None
) -> tuple[Pass, ...]:
    """All passes; each takes from [arc] what it does not say itself.

    Where the other parts could not be made the passes are looked at all the same, so
    that their own mistakes are found.
    """
    count = draft.get(("pass",))
    if not count:
        remedy = "give at least one, with a current and a travel"
        raise draft.stop(("pass",), "there is no [[pass]]", remedy)
    if count > MOST_PASSES:
        problem = f"there are {count} passes; at most {MOST_PASSES} can be planned"
        raise draft.stop(("pass", MOST_PASSES), problem, "leave some out")
    position = draft.default(("arc", "position"))
    steps = [partial(_pass, draft, n, pipe, weld, position) for n in range(count)]
    passes = together(*steps)
    if pipe is None or fitting is None or weld is None:
        raise Incomplete
    _check_metal(draft, passes, pipe, fitting, weld)
    return tuple(passes)


def _pass(
    draft: Draft, index: int, pipe: Pipe | None, weld: Weld | None, position: str
) -> Pass:
    """One pass; every part is looked at, so that all its mistakes are found."""
    parts: dict[str, Any] = {}
    steps = (_energy, _electrode, _speed, _metal, _way, _wait)
    failed = False
    for step in steps:
        try:
            parts |= step(draft, index, pipe, weld, position, parts)
        except Incomplete:
            failed = True
    if failed:
        raise Incomplete
    return Pass(number=index + 1, **parts)


def _where(draft: Draft, index: int, names: tuple[str, ...]) -> KeyPath | None:
    """Table that gives any of these keys: the pass, else [arc], else None."""
    for table in (("pass", index), ("arc",)):
        found = given_of(draft, table, names)
        if found:
            keep_one(draft, table, found)
            return (*table, found[0])
    return None


def _default(draft: Draft, index: int, name: str) -> Any:
    """Value of the pass, else of [arc], else the default."""
    if draft.has(("pass", index, name)):
        return draft.get(("pass", index, name))
    if draft.has(("arc", name)):
        return draft.get(("arc", name))
    return draft.default(("pass", index, name), "arc")


def _energy(draft: Draft, index: int, *_: Any) -> dict[str, Any]:
    """Find current, voltage and efficiency, or the net power."""
    path = _where(draft, index, _POWER)
    if path is None:
        problem = f"{label(('pass', index))} has no current"
        remedy = 'give current, like "80 A", here or in [arc]'
        raise draft.stop(("pass", index, "current"), problem, remedy)
    spread = draft.get(_where(draft, index, ("source_spread",)) or ("",))
    if path[-1] == "net_power":
        for name in ("voltage", "efficiency"):
            if draft.has((*path[:-1], name)):
                keep_one(draft, path[:-1], ["net_power", name])
        power = draft.get(path)
        return {
            "current": NAN,
            "voltage": NAN,
            "efficiency": 1.0,
            "net_power": power,
            "source_spread": spread,
        }
    current = draft.get(path)
    voltage = _default(draft, index, "voltage")
    efficiency = _default(draft, index, "efficiency")
    return {
        "current": current,
        "voltage": voltage,
        "efficiency": efficiency,
        "net_power": net_power(current, voltage, efficiency),
        "source_spread": spread,
    }


def _electrode(draft: Draft, index: int, *_: Any) -> dict[str, Any]:
    """Diameter of the tungsten, where it is given [m], and what else the welder sets."""
    said = {}
    for name in ("tungsten", *Settings.__dataclass_fields__):
        path = _where(draft, index, (name,))
        said[name] = draft.get(path) if path else None
    return {"tungsten": said.pop("tungsten"), "settings": Settings(**said)}


def _speed(draft: Draft, index: int, pipe: Pipe | None, *_: Any) -> dict[str, Any]:
    """Travel along the toe circle of the pipe, and the time for the ring."""
    path = _where(draft, index, _TRAVEL)
    if path is None:
        problem = f"{label(('pass', index))} has no travel, turn or arc_time"
        remedy = 'give one of them, like travel = "60 mm/min", here or in [arc]'
        raise draft.stop(("pass", index, "travel"), problem, remedy)
    given = draft.get(path)
    if pipe is None:
        raise Incomplete
    diameter = pipe.outside_diameter
    travel = {
        "travel": lambda: given,
        "turn": lambda: travel_from_turn(given, diameter),
        "arc_time": lambda: travel_from_arc_time(given, diameter),
    }[str(path[-1])]()
    arc_time = given if path[-1] == "arc_time" else arc_time_from_travel(travel, diameter)
    said = str(path[-1]).replace("_", " ")
    source = f"from the {said} said and the pipe's circumference"
    here = ("pass", index)
    if path[-1] != "travel":
        draft.assume((*here, "travel"), f"{6e4 * travel:.1f} mm/min", source, "computed")
    if path[-1] != "arc_time":
        draft.assume((*here, "arc_time"), f"{arc_time:.1f} s", source, "computed")
    return {"travel": travel, "arc_time": arc_time}


def _metal(
    draft: Draft, index: int, _: Any, weld: Weld | None, __: str, parts: dict[str, Any]
) -> dict[str, Any]:
    """Section of metal laid down [m²], and the wire it comes from."""
    path = _where(draft, index, _METAL)
    if path is None:
        if weld and not weld.metal_in_place:
            source = "the passes share what is left of the leg wanted"
            draft.assume(("pass", index, "deposit"), "its share", source, "computed")
        return {"deposit": None, "wire": None}
    given = draft.get(path)
    if given == "none":
        return {"deposit": 0.0, "wire": None}
    if weld and weld.metal_in_place:
        if weld.band:
            problem = f"{label(path)} adds metal, but a bare pipe is heated as it is"
            raise draft.stop(
                path, problem, "leave it out: its heat is in the arc's power"
            )
        problem = f"{label(path)} adds metal, but joint.metal_in_place is true"
        raise draft.stop(path, problem, "keep one of them")
    if path[-1] == "deposit":
        return {"deposit": given, "wire": None}
    diameter, feed = draft.get((*path, "diameter")), draft.get((*path, "feed"))
    if diameter is None or feed is None or "travel" not in parts:
        raise Incomplete
    deposit = deposit_area(diameter, feed, parts["travel"])
    source = f"section of the wire x feed / travel, from {label(path)}"
    text = f"{1e6 * deposit:.2f} mm^2"
    draft.assume(("pass", index, "deposit"), text, source, "computed")
    return {"deposit": deposit, "wire": Wire(diameter, feed)}


def _way(
    draft: Draft, index: int, _: Any, __: Any, position: str, ___: Any
) -> dict[str, Any]:
    """Where the arc starts and the way it goes round."""
    table = (_where(draft, index, ("segments",)) or ("",))[:-1]
    if table:
        for name in _PATH:
            if draft.has((*table, name)):
                keep_one(draft, table, ["segments", name])
        segments = _segments(draft, (*table, "segments"))
        return {"start_angle": segments[0].start_angle, "segments": segments}
    start, overlap = (
        _default(draft, index, "start_angle"),
        _default(draft, index, "overlap"),
    )
    direction = 1 if _default(draft, index, "direction") == "counter-clockwise" else -1
    way = {"start_angle": start, "direction": direction, "overlap": overlap}
    if position == "fixed":
        halves = two_halves(start, _default(draft, index, "pause"))
        way["segments"] = halves if direction > 0 else _mirrored(start, halves)
    return way


def _mirrored(start: float, halves: tuple[Segment, ...]) -> tuple[Segment, ...]:
    """Turn stretches the other way round."""
    return tuple(
        Segment(2 * start - s.start_angle, 2 * start - s.end_angle, s.pause)
        for s in halves
    )


def _segments(draft: Draft, path: KeyPath) -> tuple[Segment, ...]:
    """Stretches as listed; together they must close the ring."""
    segments = []
    for index in range(draft.get(path)):
        start, end = (draft.get((*path, index, name)) for name in ("start", "end"))
        if start is None or end is None:
            raise Incomplete
        if start == end:
            problem = f"{label((*path, index))} has no length"
            raise draft.stop((*path, index), problem, "give different start and end")
        pause = draft.get((*path, index, "pause")) or 0.0
        segments.append(Segment(start, end, pause))
    gap = _open_angle(segments)
    if gap > 1e-6:
        problem = f"{label(path)} leave {degrees(gap):.4g} deg of the ring without weld"
        raise draft.stop(path, problem, "let them close the ring, 360 deg")
    return tuple(segments)


def _open_angle(segments: list[Segment]) -> float:
    """Angle of the ring that no segment reaches [rad]."""
    spans: list[tuple[float, float]] = []
    for segment in segments:
        low, high = sorted((segment.start_angle, segment.end_angle))
        turns = low // (2 * pi) * 2 * pi
        spans += [
            (low - turns, high - turns),
            (low - turns - 2 * pi, high - turns - 2 * pi),
        ]
    reached, gap = 0.0, 0.0
    for low, high in sorted(spans):
        gap += max(0.0, min(low, 2 * pi) - reached)
        reached = min(max(reached, high), 2 * pi)
    return gap + 2 * pi - reached


def _wait(draft: Draft, index: int, *_: Any) -> dict[str, Any]:
    """Wait before the pass [s]; None is found by the run."""
    path = ("pass", index, "wait")
    given = draft.get(path)
    if index == 0:
        if given:
            problem = "pass.1.wait: there is nothing to wait for before the first pass"
            raise draft.stop(path, problem, "leave it out")
        return {"wait": 0.0}
    if given is None:
        draft.assume(path, "auto", "until the hottest point is at the limit", "computed")
    return {"wait": None if given in (None, "auto") else given}


def _check_metal(
    draft: Draft, passes: list[Pass], pipe: Pipe, fitting: Fitting, weld: Weld
) -> None:
    """Refuse more metal than the socket face can carry."""
    if weld.metal_in_place:
        return
    room = (fitting.socket_bore - pipe.outside_diameter) / 2 + fitting.socket_wall
    ratio = max(weld.leg_pipe / weld.leg_socket, STEEPEST)
    most = ratio * room**2 / 2
    total = 0.0
    for index, one in enumerate(passes):
        total += one.deposit or 0.0
        if total > most * (1 + 1e-9):
            path = _where(draft, index, _METAL) or ("pass", index)
            problem = (
                f"{label(('pass', index))}: {1e6 * total:.4g} mm^2 of metal so far is"
                f" more than the socket face, {1e3 * room:.4g} mm, can carry,"
                f" {1e6 * most:.4g} mm^2"
            )
            raise draft.stop(path, problem, "less wire, faster travel or fewer passes")
