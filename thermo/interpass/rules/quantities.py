"""The list of quantities rules may name; each is computed in ``of_joint`` or ``of_run``."""

from collections.abc import Callable, Iterator, Mapping
from functools import partial
from typing import Any

from ..joint import arc
from ..joint.beads import legs_built, throat
from ..joint.case import Case, Pass
from . import of_joint as v
from . import of_run as rule_run
from .language import TEXT, TRUTH, Value
from .of_joint import Quantity
from .of_run import Run


def _told(
    of: Callable[..., tuple[Any, ...] | None], *names: tuple[str, ...]
) -> Iterator[Quantity]:
    """Quantities that one answer holds side by side: name, words and kind of each."""
    for place, (name, words, *kind) in enumerate(names):
        yield Quantity(name, words, partial(_part, of, place), *kind)


def _part(of: Callable[..., tuple[Any, ...] | None], place: int, *given: Any) -> Any:
    """One part of an answer; None where there is no answer."""
    found = of(*given)
    return None if found is None else found[place]


JOINT: tuple[Quantity, ...] = (
    Quantity("pipe_size", "size of the pipe, like 'NPS 1'", lambda c: c.pipe.size, TEXT),
    Quantity("schedule", "schedule of the pipe", lambda c: c.pipe.schedule, TEXT),
    Quantity("outside_diameter_mm", "of the pipe", lambda c: c.pipe.outside_diameter),
    Quantity("pipe_wall_mm", "nominal wall of the pipe", lambda c: c.pipe.wall),
    Quantity("fitting_kind", "coupling, elbow, ...", lambda c: c.fitting.kind, TEXT),
    Quantity("fitting_class", "pressure class", lambda c: c.fitting.pressure_class),
    Quantity("rating_wall_mm", "pipe wall the class is rated as", v.rating_wall),
    Quantity("socket_bore_mm", "diameter", lambda c: c.fitting.socket_bore),
    Quantity("socket_bore_max_mm", "largest of B16.11 for the size", v.socket_bore_max),
    Quantity(
        "socket_wall_mm", "average; a flange's hub", lambda c: c.fitting.socket_wall
    ),
    Quantity("socket_wall_min_mm", "least; a flange's hub", v.socket_wall_min),
    Quantity("socket_depth_mm", "of the socket", lambda c: c.fitting.socket_depth),
    Quantity("thickness_mm", "the thicker of pipe and socket wall", v.thickness),
    Quantity("end_gap_mm", "pipe end to socket bottom", lambda c: c.end_gap),
    Quantity(
        "insertion_mm",
        "pipe inside the socket",
        lambda c: c.fitting.socket_depth - c.end_gap,
    ),
    Quantity("clearance_mm", "radial, round the pipe", lambda c: c.clearance),
    Quantity("diametral_clearance_mm", "on the diameter", lambda c: 2 * c.clearance),
    Quantity("leg_pipe_mm", "leg asked for, along the pipe", lambda c: c.leg_pipe),
    Quantity("leg_socket_mm", "leg asked for, on the face", lambda c: c.leg_socket),
    Quantity(
        "leg_mm", "the shorter leg asked for", lambda c: min(c.leg_pipe, c.leg_socket)
    ),
    Quantity("throat_mm", "throat asked for", lambda c: throat(c.leg_pipe, c.leg_socket)),
    Quantity("leg_built_pipe_mm", "leg the deposit builds", lambda c: legs_built(c)[0]),
    Quantity("leg_built_socket_mm", "leg the deposit builds", lambda c: legs_built(c)[1]),
    Quantity("leg_built_mm", "the shorter leg built", lambda c: min(legs_built(c))),
    Quantity("throat_built_mm", "throat built", lambda c: throat(*legs_built(c))),
    Quantity("passes", "how many", lambda c: len(c.passes)),
    Quantity("process", "GTAW", lambda c: c.process, TEXT),
    Quantity("position", "rotated or fixed", lambda c: c.position, TEXT),
    Quantity("pipe_material", "its name", lambda c: c.pipe.material.name, TEXT),
    Quantity("fitting_material", "its name", lambda c: c.fitting.material.name, TEXT),
    Quantity("filler", "its name", lambda c: c.filler_name, TEXT),
    Quantity("pipe_family", "its family", lambda c: c.pipe.material.family, TEXT),
    Quantity("fitting_family", "its family", lambda c: c.fitting.material.family, TEXT),
    Quantity(
        "carbon_steel",
        "pipe or fitting is carbon steel",
        lambda c: any(m.family == "carbon steel" for m in v.both_metals(c)),
        TRUTH,
    ),
    Quantity(
        "carbon_percent",
        "of pipe or fitting, the higher",
        lambda c: max(m.carbon_percent for m in v.both_metals(c)),
    ),
    Quantity("solidus_degC", "of the pipe", lambda c: c.pipe.material.solidus),
    Quantity("interpass_max_degC", "limit of the case", lambda c: c.limits.interpass_max),
    *_told(
        v.usual_limit,
        ("interpass_usual_degC", "customary limit"),
        ("interpass_usual_source", "who says so", TEXT),
        ("interpass_usual_standing", "how far to trust it", TEXT),
    ),
    *_told(
        v.strictest_limit,
        ("interpass_strictest_degC", "lowest limit in use"),
        ("interpass_strictest_source", "who says so", TEXT),
        ("interpass_strictest_standing", "how far to trust it", TEXT),
    ),
    Quantity("preheat_min_degC", "preheat of the case", lambda c: c.limits.preheat_min),
    Quantity(
        "preheat_min_source",
        "who says so",
        lambda c: c.limits.preheat_min_source or "given in the case",
        TEXT,
    ),
    Quantity("preheat_min_standing", "how far to trust it", v.preheat_standing, TEXT),
    *_told(
        lambda c: v.preheat(c, 2014),
        ("preheat_degC", "of ASME B31.3-2014"),
        ("preheat_source", "which row", TEXT),
    ),
    *_told(
        lambda c: v.preheat(c, 2010),
        ("preheat_2010_degC", "of ASME B31.3-2010"),
        ("preheat_2010_source", "which row", TEXT),
    ),
    Quantity("arc_energy_min_kJ_per_mm", "given", lambda c: c.limits.arc_energy_min),
    Quantity("arc_energy_max_kJ_per_mm", "given", lambda c: c.limits.arc_energy_max),
    Quantity("heat_input_min_kJ_per_mm", "given", lambda c: c.limits.heat_input_min),
    Quantity("heat_input_max_kJ_per_mm", "given", lambda c: c.limits.heat_input_max),
    Quantity("air_degC", "surroundings", lambda c: c.surroundings.air),
    Quantity("start_degC", "piece before pass 1", lambda c: c.surroundings.start),
    Quantity("bore", "still air, argon purge, ...", lambda c: c.surroundings.bore, TEXT),
    Quantity("fan_m_per_s", "wind across the joint", lambda c: c.surroundings.fan),
    Quantity(
        "holding",
        "part that is held: pipe or fitting",
        lambda c: c.surroundings.holding and c.surroundings.holding.on,
        TEXT,
    ),
)
"""Of the joint as a whole: functions of the case."""

PASS: tuple[Quantity, ...] = (
    Quantity("pass_number", "counted from 1", lambda _, p: p.number),
    Quantity("current_A", "of the arc", lambda _, p: p.current),
    Quantity("voltage_V", "of the arc", lambda _, p: p.voltage),
    Quantity("net_power_W", "into the metal", lambda _, p: p.net_power),
    Quantity("travel_mm_per_min", "along the toe of the pipe", lambda _, p: p.travel),
    Quantity(
        "arc_energy_kJ_per_mm",
        "U I / v, as ASME IX",
        lambda _, p: arc.energy_of_pass(p),
    ),
    Quantity(
        "heat_input_kJ_per_mm",
        "k U I / v, as EN 1011-1",
        lambda c, p: arc.heat_input_of_pass(p, c.process),
    ),
    Quantity("deposit_mm2", "section of metal added", v.deposit),
    Quantity("deposition_kg_per_h", "filler while the arc burns", v.deposition),
    Quantity("filler_share", "of net power that melts filler", v.filler_share),
    Quantity("wire_diameter_mm", "filler wire", lambda _, p: p.wire and p.wire.diameter),
    Quantity("wire_feed_mm_per_min", "filler wire", lambda _, p: p.wire and p.wire.feed),
    Quantity("tungsten_mm", "electrode, where given", lambda _, p: p.tungsten),
    *_told(
        lambda _, p: v.tungsten_range(p),
        ("tungsten_min_A", "least it carries"),
        ("tungsten_max_A", "most it carries"),
    ),
    Quantity(
        "tungstens",
        "electrodes that carry the current",
        v.tungstens_in_words,
        TEXT,
    ),
    *_told(
        v.table_currents,
        ("current_table_min_A", "least of printed tables for this pipe"),
        ("current_table_max_A", "most of printed tables for this pipe"),
    ),
)
"""Of one pass: functions of the case and the pass."""

RUN: tuple[Quantity, ...] = (
    Quantity("heat_run", "whether the heat was computed", lambda _: True, TRUTH),
    Quantity("dwell_s", "longest in 450 to 850 degC", rule_run.dwell),
    Quantity("sensitising_s", "time for carbides to form", rule_run.sensitising_time),
    Quantity("sensitising_source", "who says so", rule_run.sensitising_source, TEXT),
    Quantity("root_corner_degC", "upper estimate, best pass", rule_run.corner_peak),
    Quantity("hottest_end_degC", "joint at the end of the run", rule_run.hottest_at_end),
)
"""Of a heat run: functions of the run."""

RUN_PASS: tuple[Quantity, ...] = (
    Quantity("peak_at_bore_degC", "hottest under the pass", rule_run.bore_peak),
    Quantity("interpass_degC", "hottest of the joint at arc on", rule_run.interpass),
    Quantity("wait_s", "before the pass", rule_run.wait),
)
"""Of one pass of a heat run: functions of the run and the pass."""

KINDS: dict[str, str] = {
    quantity.name: quantity.measures for quantity in (*JOINT, *PASS, *RUN, *RUN_PASS)
}
"""Kind of every name a rule may use."""

OF_SOCKET = tuple(
    quantity.name
    for quantity in JOINT
    if quantity.name.startswith(("socket", "leg", "throat", "rating", "fitting_class"))
    or quantity.name.endswith(("clearance_mm", "gap_mm", "insertion_mm"))
)
"""Names that mean nothing on a bare pipe."""

OF_PASSES = frozenset(quantity.name for quantity in (*PASS, *RUN_PASS))
"""Names that differ from pass to pass."""

OF_RUNS = frozenset(quantity.name for quantity in (*RUN, *RUN_PASS)) - {"heat_run"}
"""Names that need a heat run."""


class Values(Mapping[str, Value | None]):
    """Values by name for a joint, one of its passes and a run; computed when asked for."""

    def __init__(self, case: Case, run: Run | None = None, p: Pass | None = None) -> None:
        self._sources: dict[str, tuple[Quantity, tuple[object, ...]]] = {}
        self._found: dict[str, Value | None] = {"heat_run": False}
        self._add(JOINT, case)
        if case.is_bare:
            self._found |= dict.fromkeys(OF_SOCKET)
        if p is not None:
            self._add(PASS, case, p)
        if run is not None:
            self._add(RUN, run)
        if run is not None and p is not None and run.has(p):
            self._add(RUN_PASS, run, p)

    def _add(self, quantities: tuple[Quantity, ...], *given: object) -> None:
        for quantity in quantities:
            self._sources[quantity.name] = (quantity, given)
            self._found.pop(quantity.name, None)

    def __getitem__(self, name: str) -> Value | None:
        """Value in the unit of the name, or None where there is no such thing."""
        if name not in self._found:
            if name not in self._sources:
                return None
            quantity, given = self._sources[name]
            self._found[name] = v.in_unit_of_name(quantity, quantity.of(*given))
        return self._found[name]

    def __iter__(self):
        """Every name known."""
        return iter(KINDS)

    def __len__(self) -> int:
        """How many names are known."""
        return len(KINDS)
