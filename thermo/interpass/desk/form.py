"""The form that describes a joint: its fields, what may be chosen, what was understood.

Fields follow from the text of the case. The choices are those of the catalogue: only
schedules and classes that exist for the size. Beside them stands the joint, drawn.
"""

from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Any, NamedTuple

from ..case_file.change import ChartError, find_key
from ..case_file.keys import NO_FITTING, NOT_BARE, OF_BAND, Key
from ..case_file.questions import offered_kinds
from ..case_file.read import case_from_table
from ..joint.beads import fillets
from ..joint.case import Box, Case
from ..joint.held import ways, ways_of_pipe
from ..joint.outline import TOUCH, make_outline
from ..joint.places import measuring_place
from ..physics.metals import filler_names, material_names
from ..report.strike import place_text
from ..rules.sets import shipped_sets
from ..text.errors import CaseError, Mistake, ThermoError, said
from ..text.kinds import SI, US
from ..text.toml import KeyPath, Positions, case_table, scan
from ..text.units import parse
from ..trade.pipes import nominal_size
from ..trade.rows import table_rows

FOOT_A_MINUTE = 0.3048 / 60  # m/s
PIPE_SHOWN = 0.6  # of the outside diameter: pipe shown beside the weld


class FormField(NamedTuple):
    """One field of the form."""

    key: str
    label: str
    group: str
    about: str = ""  # what it is, for whoever does not know


ONCE = (
    FormField("title", "Title", "Joint"),
    FormField("fitting.kind", "Fitting", "Joint"),
    FormField("pipe.size", "Pipe size", "Joint"),
    FormField("pipe.schedule", "Schedule", "Joint"),
    FormField("fitting.class", "Class", "Joint"),
    FormField("pipe.material", "Metal of the pipe", "Joint"),
    FormField("fitting.material", "Metal of the fitting", "Joint"),
    FormField("joint.filler", "Filler", "Joint"),
    FormField("pipe.length", "Length of the pipe", "Joint", "outside the socket"),
    FormField(
        "fitting.length",
        "Length of the fitting",
        "Joint",
        "from the socket face; long: a run goes on behind it",
    ),
    FormField("joint.band", "Width of the bead", "Joint", "no metal is added"),
    FormField("joint.band_depth", "Depth that the arc heats", "Joint"),
    FormField("joint.leg", "Leg of the fillet", "Joint"),
    FormField(
        "joint.end_gap", "End gap", "Joint", "pipe end to socket bottom, before welding"
    ),
    FormField("arc.position", "Position", "Arc"),
    FormField("arc.voltage", "Voltage", "Arc"),
    FormField(
        "arc.efficiency",
        "Efficiency",
        "Arc",
        "share of the arc's heat that enters the metal, 0.65 to 0.82",
    ),
    FormField("limits.interpass_max", "Interpass maximum", "Limits"),
    FormField("limits.applies_to", "It applies to", "Limits"),
    FormField("limits.preheat_min", "Preheat", "Limits"),
    FormField("limits.rules", "Rules", "Limits"),
    FormField("measure.on", "Measured on", "Limits"),
    FormField("measure.from_toe", "Measured from the toe", "Limits"),
    FormField("surroundings.air", "Air", "Surroundings"),
    FormField("surroundings.axis", "Axis of the pipe", "Surroundings"),
    FormField("surroundings.fan", "Fan", "Surroundings"),
    FormField("surroundings.during", "Fan runs", "Surroundings"),
    FormField("surroundings.bore", "Bore", "Surroundings"),
    FormField("surroundings.purge_flow", "Purge flow", "Surroundings"),
    FormField(
        "surroundings.emissivity",
        "Emissivity",
        "Surroundings",
        "0.3 bright, 0.8 oxidised",
    ),
    FormField("surroundings.holding", "Held by", "Surroundings"),
    FormField("surroundings.holding.on", "Held on", "Surroundings"),
    FormField("surroundings.holding.from_face", "Held from the face", "Surroundings"),
    FormField("surroundings.holding.length", "Length of the hold", "Surroundings"),
    FormField("surroundings.holding.conductance", "Contact of the hold", "Surroundings"),
)

ON_A_BARE_PIPE = {  # where the words differ
    "pipe.length": ("Length of the pipe", "from the bead to its end"),
    "fitting.length": ("The other way", "from the bead to the other end"),
}

EACH_PASS = (
    ("current", "Current"),
    ("travel", "Travel"),
    ("turn", "Turning speed"),
    ("voltage", "Voltage of this pass"),
    ("wire.diameter", "Wire"),
    ("wire.feed", "Wire feed"),
    ("wait", "Wait before"),
)

CLASS_TABLES = {"flange": "flange", "cap": "elbow_cap", "elbow": "elbow_cap",
                "tee": "elbow_cap"}  # fmt: skip


def described(text: str, file: str = "case.toml") -> dict[str, Any]:
    """Everything the form shows of a text: fields, mistakes, the drawing.

    A text that is no TOML has no fields, only its mistake.
    """
    found = scan(text)
    try:
        table = case_table(text, file, found)
    except CaseError as error:
        told = [vars(m) | {"key": ""} for m in error.mistakes]
        return {"fields": [], "mistakes": told, "drawing": None, "title": "", "passes": 0}
    case, mistakes = _read(table, file, found)
    keyed = [vars(m) | {"key": _key_of(m, found)} for m in mistakes]
    passes = table.get("pass")
    return {
        "title": str(table.get("title", "")),
        "passes": len(passes) if isinstance(passes, list) else 0,
        "fields": list(_fields(table, case, keyed)),
        "mistakes": keyed,
        "drawing": joint_shapes(case) if case else None,
    }


def _read(
    table: dict[str, Any], file: str, found: Positions
) -> tuple[Case | None, list[Mistake]]:
    """Case, or what is wrong."""
    try:
        return case_from_table(table, file, found), []
    except CaseError as error:
        return None, error.mistakes


def _key_of(mistake: Mistake, found: Positions) -> str:
    """Dotted key a mistake is about: what it says itself, or what its words begin with."""
    if key := getattr(mistake, "key", ""):
        return str(key)
    label, colon, _ = mistake.problem.partition(":")
    word = label.split(" ")[0].rstrip(",")
    if colon and word.replace(".", "").replace("_", "").isalnum():
        return word
    first = word if "." in word else ""
    at = [path for path, line in found.lines.items() if line == mistake.line]
    return first or (_dotted(max(at, key=len)) if at else "")


def _dotted(path: KeyPath) -> str:
    return ".".join(str(p + 1) if isinstance(p, int) else p for p in path)


def _fields(
    table: Mapping[str, Any], case: Case | None, mistakes: list[dict[str, Any]]
) -> Iterator[dict[str, Any]]:
    """Fields as data, those of every pass after the common ones."""
    usual = {a.key: (a.value, a.source) for a in case.assumptions} if case else {}
    passes = table.get("pass")
    count = len(passes) if isinstance(passes, list) else 0
    lists = _lists(table)
    each = [
        FormField(f"pass.{n}.{name}", label, f"Pass {n}")
        for n in range(1, count + 1)
        for name, label in EACH_PASS
        if n > 1 or name != "wait"
    ]
    is_bare = _value_at(table, "fitting.kind") in NO_FITTING
    put = (_of_this(field, is_bare=is_bare) for field in (*ONCE, *each))
    for field in (one for one in put if one is not None):
        holds = _holds(field.key)
        if holds is None:
            continue
        given = _value_at(table, field.key)
        told = [m for m in mistakes if m["key"] == field.key]
        yield {
            **field._asdict(),
            "given": given,
            "usual": usual.get(field.key, ("", "")),
            "choices": lists.get(field.key) or _words_of(holds),
            "understood": _understood(given or usual.get(field.key, ("",))[0], holds),
            "mistakes": [said(m["problem"], m["remedy"]) for m in told],
        }


def _of_this(field: FormField, *, is_bare: bool) -> FormField | None:
    """Field as it is put for a joint, or for a bare pipe; None where it means nothing."""
    table, name = field.key.partition(".")[0], field.key.rpartition(".")[-1]
    if not is_bare:
        return None if table == "joint" and name in OF_BAND else field
    if name in NOT_BARE.get(table, ()) or ".wire." in field.key or name == "filler":
        return None
    label, about = ON_A_BARE_PIPE.get(field.key, (field.label, field.about))
    return field._replace(label=label, about=about)


def _holds(key: str) -> Key | None:
    try:
        return find_key(key).holds if "." in key else Key("text")
    except ChartError:
        return None  # a key that this version of the case file does not have


def _value_at(table: Any, key: str) -> str:
    """Value as the file has it, as a text; "" where it has none."""
    for part in key.split("."):
        try:
            table = table[int(part) - 1] if isinstance(table, list) else table[part]
        except (KeyError, IndexError, TypeError, ValueError):
            return ""
    if isinstance(table, dict):
        return str(table.get("best", table.get("speed", "")))
    return str(table).lower() if isinstance(table, bool) else str(table)


def _understood(value: str, holds: Key) -> dict[str, str]:
    """Quantity in either system of units; nothing for words."""
    if not value or value in holds.words or not SI.has_unit(holds.kind):
        return {}
    try:
        number = parse(value, holds.kind)
    except ThermoError:
        return {}
    if holds.table == "fan":  # air is faster than a torch
        return {"si": f"{number:.1f} m/s", "us": f"{number / FOOT_A_MINUTE:.0f} ft/min"}
    return {s.name: s.text(holds.kind, number) for s in (SI, US)}


def _lists(table: Mapping[str, Any]) -> dict[str, list[str]]:
    """List what may be chosen of the catalogue, in the words of the file."""
    size = _value_at(table, "pipe.size")
    kind = _value_at(table, "fitting.kind")
    own = table.get("materials")
    metals = [*material_names(), *(own if isinstance(own, dict) else ())]
    return {
        "fitting.kind": [*offered_kinds(), *(["sleeve"] if kind == "sleeve" else [])],
        "pipe.size": list(dict.fromkeys(f"NPS {r['size']}" for r in table_rows("pipe"))),
        "pipe.schedule": _schedules(size),
        "fitting.class": _classes(size, kind),
        "pipe.material": metals,
        "fitting.material": metals,
        "joint.filler": list(filler_names()),
        "limits.rules": [one.name for one in shipped_sets()],
        "surroundings.holding": list(ways_of_pipe() if kind in NO_FITTING else ways()),
    }


OF_NEW = {  # question of a new joint: the key that holds its answer, where one chooses
    "size": "pipe.size", "material": "pipe.material", "schedule": "pipe.schedule",
    "kind": "fitting.kind", "class": "fitting.class",
    "fitting_material": "fitting.material", "filler": "joint.filler",
    "held": "surroundings.holding",
}  # fmt: skip


def choices_of_new(answers: Mapping[str, str]) -> dict[str, list[str]]:
    """List what may be chosen for the questions of a new joint, by question."""
    table = {
        "pipe": {"size": answers.get("size", "")},
        "fitting": {"kind": answers.get("kind", "")},
    }
    lists = _lists(table)
    return {name: lists[key] for name, key in OF_NEW.items()}


def _words_of(holds: Key) -> list[str]:
    """List the words a key may be, where it may be nothing else."""
    return list(holds.words) if holds.kind == "word" and not holds.table else []


def _schedules(size: str) -> list[str]:
    """Every name of a wall that is made in this size."""
    try:
        name = nominal_size(size)
    except ThermoError:
        return []
    rows = [row for row in table_rows("pipe") if row["size"] == name]
    return [word for row in rows for word in row["schedules"].split()]


def _classes(size: str, kind: str) -> list[str]:
    """Pressure classes the fitting is made in, in this size."""
    try:
        name = nominal_size(size)
    except ThermoError:
        return []
    rows = table_rows(CLASS_TABLES.get(kind, "socket"))
    return [row["pressure_class"] for row in rows if row["size"] == name]


def joint_shapes(case: Case) -> dict[str, Any]:
    """Half section above the axis: parts and beads as polygons, and what is marked.

    Returns
    -------
    dict
        ``view_mm`` [low, high] along the axis; ``pipe``, ``fitting``, ``beads`` and the
        ``band`` of a bare pipe, lists of polygons of [z, r] in mm; ``mark``, where the pyrometer goes; ``sizes_mm``.
    """
    outline, grown = make_outline(case), fillets(case)
    place = measuring_place(case)
    beside = PIPE_SHOWN * case.pipe.outside_diameter
    ends = outline.far
    low = max(outline.pipe.z_start, min(-grown[-1].leg_pipe - beside, place.z - 2e-3))
    depth = case.band / 2 if case.is_bare else outline.socket_depth
    high = min(ends, max(depth + 0.6 * beside, place.z + 2e-3))
    root = outline.root
    beads = [
        [(-before.leg_pipe, root), (-after.leg_pipe, root),
         (0.0, root + after.leg_socket), (0.0, root + before.leg_socket)]
        for before, after in pairwise(grown)
        if after.area - before.area > 1e-12
    ]  # fmt: skip
    return {
        "view_mm": _mm([low, high]),
        "pipe": [_points(p) for p in _cut([outline.pipe], low, high)],
        "fitting": [_points(p) for p in _cut(outline.fitting, low, high)],
        "beads": [_points(p) for p in beads],
        "band": [_points(p) for p in _cut([_band(case)], low, high)] if case.is_bare else [],
        "mark": {"at": _mm([place.z, place.r]),
                 "words": {s.name: place_text(case, s) for s in (SI, US)},
                 "from_toe_mm": round(1e3 * place.from_toe, 1)},
        "cut": [low > outline.pipe.z_start + TOUCH, high < ends - TOUCH],
        "sizes_mm": _sizes(case, root, outline.socket_depth, grown[-1].leg_pipe),
    }  # fmt: skip


def _sizes(case: Case, root: float, depth: float, leg: float) -> dict[str, float]:
    """Sizes to write under the drawing [mm]."""
    sizes = {"outside": 2 * root, "wall": case.pipe.wall}
    if case.is_bare:
        sizes |= {"bead": case.band}
    else:
        sizes |= {"socket depth": depth, "end gap": case.end_gap, "leg": leg}
    return {name: round(1e3 * size, 2) for name, size in sizes.items()}


def _band(case: Case) -> Box:
    """Stretch of a bare pipe that the arc heats."""
    outside = case.pipe.outside_diameter / 2
    return Box(outside - case.band_depth, outside, -case.band / 2, case.band / 2)


def _cut(
    boxes: list[Box] | tuple[Box, ...], low: float, high: float
) -> list[list[tuple[float, float]]]:
    """Rectangles of rings, cut to the view."""
    found = []
    for b in boxes:
        start, end = max(b.z_start, low), min(b.z_end, high)
        if end - start > TOUCH:
            found.append(
                [(start, b.r_in), (end, b.r_in), (end, b.r_out), (start, b.r_out)]
            )
    return found


def _points(line: list[tuple[float, float]]) -> list[list[float]]:
    return [_mm(list(point)) for point in line]


def _mm(values: list[float]) -> list[float]:
    return [round(1e3 * v, 3) for v in values]
