"""What a key of a file may hold; the keys of a case file, with kind and range of each."""

from collections.abc import Mapping
from dataclasses import dataclass

from ..joint.fittings import KINDS
from ..joint.held import devices, ways
from ..joint.places import NAMED
from ..text.kinds import FORMS


@dataclass(frozen=True)
class Key:
    """What one key may hold.

    ``kind`` is a kind of quantity (a key of ``units.FORMS``) or one of "count", "text",
    "texts", "flag", "word", "curve", "table", "tables", "named tables".
    """

    kind: str
    low: str = ""  # allowed range, both ends included, as a user writes it
    high: str = ""
    longest: int = 0  # letters of a text that may be wrapped; 0: a short one, on one line
    words: tuple[str, ...] = ()  # accepted instead of a value
    table: str = ""  # keys of the table the value is, or may be
    required: bool = False
    of: str = ""  # kind of quantity of a curve
    doubt: bool = False  # whether { best, low, high } may stand for the value
    also: str = ""  # key beside it that is meant when the value is of that one's kind
    marks: tuple[str, ...] = ()  # what may stand round a whole number in quotes


def _words(*words: str, required: bool = False) -> Key:
    return Key("word", words=words, required=required)


_END = _words("air", "insulated")
_REACH = Key("length", "5 mm", "100 m", words=("long",))
_LEG = Key("length", "0.5 mm", "40 mm")
_TEXT = Key("text", required=True)
_PER_LENGTH = Key("energy per length", "0.01 kJ/mm", "20 kJ/mm")
_FLOW = Key("flow", "0.1 l/min", "100 l/min")

_WELDING = {
    "current": Key("current", "5 A", "400 A", doubt=True),
    "voltage": Key("voltage", "6 V", "30 V", doubt=True),
    "efficiency": Key("dimensionless", "0.3", "1", doubt=True),
    "net_power": Key("power", "20 W", "10 kW", doubt=True),
    "travel": Key("speed", "5 mm/min", "1000 mm/min", doubt=True, also="turn"),
    "turn": Key("rotation", "0.01 rev/min", "20 rev/min"),
    "arc_time": Key("time", "1 s", "2 h"),
    "wire": Key("word", words=("none",), table="wire"),
    "deposit": Key("area", "0 mm^2", "400 mm^2"),
    "start_angle": Key("angle", "-360 deg", "360 deg"),
    "direction": _words("counter-clockwise", "clockwise"),
    "overlap": Key("angle", "0 deg", "180 deg"),
    "pause": Key("time", "0 s", "1 h"),
    "segments": Key("tables", table="segment"),
    "source_spread": Key("length", "0.1 mm", "20 mm"),
    "tungsten": Key("length", "0.5 mm", "6.4 mm"),
    "cup": Key("text"),
    "stick_out": Key("length", "0 mm", "50 mm"),
    "gas_flow": _FLOW,
    "purge_flow": _FLOW,
    "technique": Key("text"),
}

NO_FITTING = ("none", "bare pipe")
"""Either word of the case file for a pipe without a fitting; the first is the model's."""

FITTING_KINDS = (*KINDS, *NO_FITTING)

SLEEVE_SIZES = ("bore", "outside_diameter", "socket_depth", "body_bore")
OF_CATALOGUE = ("class", "size")
NOT_BARE = {
    "fitting": (*SLEEVE_SIZES, *OF_CATALOGUE, "material"),
    "joint": (
        "end_gap", "leg", "leg_pipe", "leg_socket", "clearance_conductance",
        "clearance_factor", "metal_in_place",
    ),
    "pass": ("wire", "deposit"),
}  # fmt: skip
"""Keys, by table, that mean nothing without a fitting."""

OF_BAND = ("band", "band_depth")
"""Keys of the joint that mean nothing but on a bare pipe."""

Schema = Mapping[str, Mapping[str, Key]]
"""Keys of every table of a file, by the table's name; "" is the file itself."""

TABLES: Schema = {
    "": {
        "title": Key("text"),
        "pipe": Key("table", table="pipe", required=True),
        "fitting": Key("table", table="fitting", required=True),
        "joint": Key("table", table="joint"),
        "arc": Key("table", table="arc"),
        "pass": Key("tables", table="pass"),
        "limits": Key("table", table="limits"),
        "surroundings": Key("table", table="surroundings"),
        "materials": Key("named tables", table="material"),
        "probe": Key("tables", table="probe"),
        "measure": Key("table", table="measure"),
        "model": Key("table", table="model"),
        "report": Key("table", table="report"),
    },
    "pipe": {
        "size": Key("text"),
        "schedule": Key("text"),
        "outside_diameter": Key("length", "5 mm", "170 mm"),
        "wall": Key("length", "0.3 mm", "40 mm"),
        "material": _TEXT,
        "length": _REACH,
        "far_end": _END,
    },
    "fitting": {
        "kind": _words(*FITTING_KINDS, required=True),
        "class": Key(
            "count", "100", "10000", marks=("class", "cl.", "cl", "lbs", "lb", "#")
        ),
        "size": Key("text"),
        "material": Key("text"),
        "length": _REACH,
        "far_end": _END,
        "bore": Key("length", "5 mm", "180 mm"),
        "outside_diameter": Key("length", "6 mm", "400 mm"),
        "socket_depth": Key("length", "2 mm", "60 mm"),
        "body_bore": Key("length", "0 mm", "180 mm"),
    },
    "joint": {
        "end_gap": Key("length", "0 mm", "20 mm", doubt=True),
        "leg": Key("length", "0.5 mm", "40 mm", words=("code", "lip")),
        "leg_pipe": _LEG,
        "leg_socket": _LEG,
        "filler": Key("text"),
        "clearance_conductance": Key(
            "heat transfer coefficient", "0 W/m^2/K", "100000 W/m^2/K", doubt=True
        ),
        "clearance_factor": Key("dimensionless", "0.05", "20", doubt=True),
        "metal_in_place": Key("flag"),
        "band": Key("length", "0.5 mm", "10 mm"),
        "band_depth": Key("length", "0.1 mm", "40 mm", words=("wall",)),
    },
    "arc": {
        "process": _words("GTAW"),
        "position": _words("rotated", "fixed"),
        **_WELDING,
    },
    "pass": {
        **_WELDING,
        "wait": Key("time", "0 s", "24 h", words=("auto",)),
    },
    "wire": {
        "diameter": Key("length", "0.5 mm", "5 mm", required=True),
        "feed": Key("speed", "10 mm/min", "10000 mm/min", required=True),
    },
    "segment": {
        "start": Key("angle", "-720 deg", "720 deg", required=True),
        "end": Key("angle", "-720 deg", "720 deg", required=True),
        "pause": Key("time", "0 s", "1 h"),
    },
    "limits": {
        "interpass_max": Key("temperature", "30 degC", "1000 degC"),
        "interpass_min": Key("temperature", "-40 degC", "600 degC"),
        "preheat_min": Key("temperature", "-40 degC", "600 degC"),
        "wait_max": Key("time", "1 s", "24 h"),
        "applies_to": _words("hottest metal", "reading"),
        "rules": Key("text"),
        "heat_input_min": _PER_LENGTH,
        "heat_input_max": _PER_LENGTH,
        "arc_energy_min": _PER_LENGTH,
        "arc_energy_max": _PER_LENGTH,
        "watch": Key("tables", table="watch"),
        "examine": Key("tables", table="examination"),
    },
    "examination": {
        "name": _TEXT,
        "max": Key("temperature", "-40 degC", "600 degC", required=True),
    },
    "watch": {
        "name": _TEXT,
        "at": Key("table", table="place", required=True),
        "max": Key("temperature", "-40 degC", "1500 degC", required=True),
    },
    "place": {
        "from_face": Key("length", "0 mm", "20 m"),
        "on": _words("bore", "outside"),
        "part": _words("fitting", "pipe"),
        "r": Key("length", "0 mm", "400 mm"),
        "z": Key("length", "-20 m", "20 m"),
    },
    "surroundings": {
        "air": Key("temperature", "-40 degC", "50 degC", doubt=True),
        "start": Key("temperature", "-40 degC", "600 degC"),
        "axis": _words("horizontal", "vertical"),
        "fan": Key("speed", "0 m/s", "30 m/s", table="fan"),
        "during": _words("always", "waits"),
        "fan_during": _words("always", "waits"),
        "bore": Key(
            "word",
            words=("still air", "open", "argon purge", "insulated"),
            table="purge",
        ),
        "purge_flow": Key("flow", "0.1 l/min", "100 l/min"),
        "emissivity": Key("dimensionless", "0", "1", doubt=True),
        "film_coefficient": Key(
            "heat transfer coefficient", "0 W/m^2/K", "2000 W/m^2/K", doubt=True
        ),
        "film_factor": Key("dimensionless", "0.1", "10", doubt=True),
        "holding": Key("word", words=ways(), table="holding"),
    },
    "fan": {
        "speed": Key("speed", "0 m/s", "30 m/s", required=True),
        "during": _words("always", "waits"),
    },
    "purge": {
        "gas": _words("argon", required=True),
        "flow": Key("flow", "0.1 l/min", "100 l/min"),
    },
    "holding": {
        "on": _words("pipe", "fitting", required=True),
        "by": _words(*dict.fromkeys(device.by for device in devices())),
        "from_face": Key("length", "0 mm", "20 m"),
        "length": Key("length", "1 mm", "5 m"),
        "share": Key("dimensionless", "0.001", "1"),
        "conductance": Key(
            "heat transfer coefficient", "0 W/m^2/K", "100000 W/m^2/K", doubt=True
        ),
    },
    "material": {
        "density": Key("density", "500 kg/m^3", "25000 kg/m^3", required=True),
        "conductivity": Key(
            "curve", "0.1 W/m/K", "1000 W/m/K", of="conductivity", required=True
        ),
        "specific_heat": Key(
            "curve", "50 J/kg/K", "20000 J/kg/K", of="specific heat", required=True
        ),
        "solidus": Key("temperature", "100 degC", "3000 degC", required=True),
        "liquidus": Key("temperature", "100 degC", "3000 degC", required=True),
        "latent_heat": Key("latent heat", "0 kJ/kg", "2000 kJ/kg"),
    },
    "probe": {
        "name": _TEXT,
        "r": Key("length", "0 mm", "400 mm", required=True),
        "z": Key("length", "-100 m", "100 m", required=True),
        "angle": Key("angle", "-720 deg", "720 deg"),
    },
    "measure": {
        "on": _words("pipe", "fitting"),
        "from_toe": Key("length", "0 mm", "500 mm", words=tuple(NAMED)),
        "angle": Key("angle", "-720 deg", "720 deg"),
    },
    "report": {"units": _words("si", "us")},
    "model": {
        "cell": Key("length", "0.1 mm", "5 mm"),
        "ring": Key("count", "1", "720"),
        "tolerance": Key("temperature difference", "0.001 K", "50 K"),
        "end_after": Key("time", "0 s", "24 h"),
        "bead": _words("at once", "behind the arc"),
    },
}
"""Keys of every table of a case file, by the table's name."""

ALIASES = {
    "thickness": "wall",
    "wall_thickness": "wall",
    "od": "outside_diameter",
    "outer_diameter": "outside_diameter",
    "diameter": "outside_diameter",
    "nps": "size",
    "dn": "size",
    "sch": "schedule",
    "grade": "material",
    "type": "kind",
    "rating": "class",
    "pressure_class": "class",
    "gap": "end_gap",
    "fillet": "leg",
    "throat": "leg",
    "electrode": "filler",
    "amps": "current",
    "ampere": "current",
    "amperage": "current",
    "volts": "voltage",
    "speed": "travel",
    "travel_speed": "travel",
    "rpm": "turn",
    "rotation": "turn",
    "power": "net_power",
    "time": "arc_time",
    "area": "deposit",
    "interpass": "interpass_max",
    "max_interpass": "interpass_max",
    "preheat": "preheat_min",
    "max_wait": "wait_max",
    "ambient": "air",
    "room": "air",
    "wind": "fan",
    "chuck": "holding",
    "vice": "holding",
    "held": "holding",
    "clamp": "holding",
    "purge": "bore",
    "weld": "joint",
    "passes": "pass",
    "run": "pass",
    "runs": "pass",
    "limit": "limits",
    "environment": "surroundings",
    "material": "materials",
    "probes": "probe",
    "mesh": "cell",
    "grid": "cell",
    "n_theta": "ring",
    "cp": "specific_heat",
    "heat_capacity": "specific_heat",
    "k": "conductivity",
    "rho": "density",
}
"""Other words people use for a key, where spelling alone does not lead to it."""


def kind_of(key: str) -> str:
    """Return the kind of quantity a key holds, "" where it holds none.

    Examples
    --------
    >>> kind_of("pass.2.travel"), kind_of("limits.watch.1.at.r"), kind_of("title")
    ('speed', 'length', '')
    """
    table, found = TABLES[""], None
    for part in key.split("."):
        if part.isdecimal() or part not in table:
            continue  # of several; a range round a best value
        found = table[part]
        table = TABLES.get(found.table, {}) if found.table else {}
    return found.kind if found and found.kind in FORMS else ""
