"""What a case is taken to say where it says nothing, and who says so."""

from dataclasses import dataclass

from ..joint.arc import VOLTAGE
from ..joint.case import ModelOptions
from ..trade.practice import efficiency

CUSTOM = "common practice"
_OPTIONS = ModelOptions()
_EFFICIENCY = efficiency("GTAW")


@dataclass(frozen=True)
class Default:
    """A value as a user would write it, its kind of quantity, and its source."""

    value: str
    kind: str  # of units.FORMS, or "word"
    source: str
    standing: str


DEFAULTS: dict[tuple[str, str], Default] = {
    ("pipe", "length"): Default(
        "long", "word", "a run of pipe long enough that its far end stays cool", CUSTOM
    ),
    ("pipe", "far_end"): Default("air", "word", "an open end in still air", CUSTOM),
    ("fitting", "far_end"): Default("air", "word", "an open end in still air", CUSTOM),
    ("joint", "end_gap"): Default(
        "1.6 mm",
        "length",
        "ASME B31.3-2010 Fig. 328.5.2C, approximately 1/16 in before welding",
        "published restatement",
    ),
    ("joint", "band"): Default("6 mm", "length", "a bead of usual width", CUSTOM),
    ("joint", "band_depth"): Default(
        "wall", "word", "through the wall, as a girth weld", CUSTOM
    ),
    ("joint", "leg"): Default("code", "word", "the least leg a code allows", CUSTOM),
    ("arc", "process"): Default("GTAW", "word", "the process modelled", CUSTOM),
    ("arc", "position"): Default(
        "rotated", "word", "the pipe turned, arc on top", CUSTOM
    ),
    ("arc", "voltage"): Default(
        f"{VOLTAGE:g} V", "voltage", "short argon arc on small pipe, 10 to 13 V", CUSTOM
    ),
    ("arc", "efficiency"): Default(
        f"{_EFFICIENCY.value:g}",
        "dimensionless",
        _EFFICIENCY.source,
        _EFFICIENCY.standing,
    ),
    ("arc", "start_angle"): Default("0 deg", "angle", "where pass 1 starts", CUSTOM),
    ("arc", "direction"): Default(
        "counter-clockwise", "word", "no matter to a symmetric joint", CUSTOM
    ),
    ("arc", "overlap"): Default("0 deg", "angle", "no tie-in unless given", CUSTOM),
    ("arc", "pause"): Default("15 s", "time", "to move over to the other half", CUSTOM),
    ("limits", "applies_to"): Default(
        "hottest metal",
        "word",
        "ISO 13916, 3.2: weld and adjacent parent metal",
        "published restatement",
    ),
    ("limits", "wait_max"): Default("1 h", "time", "a longer wait is no plan", CUSTOM),
    ("surroundings", "air"): Default("20 degC", "temperature", "a shop", CUSTOM),
    ("surroundings", "axis"): Default("horizontal", "word", "pipe lying", CUSTOM),
    ("surroundings", "fan"): Default("0 m/s", "speed", "still air", CUSTOM),
    ("surroundings", "during"): Default("always", "word", "the fan is left on", CUSTOM),
    ("surroundings", "bore"): Default("still air", "word", "far ends closed", CUSTOM),
    ("surroundings", "purge_flow"): Default(
        "8 l/min", "flow", "low purge once the air is displaced, 5 to 10 l/min", CUSTOM
    ),
    ("surroundings", "holding"): Default(
        "nothing",
        "word",
        "not said; what grips the piece takes heat and shortens the waits",
        CUSTOM,
    ),
    ("surroundings", "emissivity"): Default(
        "0.5", "dimensionless", "between 0.3 bright and 0.8 oxidised", CUSTOM
    ),
    ("surroundings", "film_factor"): Default(
        "1", "dimensionless", "the correlations as they are", "computed"
    ),
    ("joint", "clearance_factor"): Default(
        "1", "dimensionless", "the clearance as drawn", "computed"
    ),
    ("probe", "angle"): Default("0 deg", "angle", "where pass 1 starts", CUSTOM),
    ("measure", "on"): Default("pipe", "word", "easiest to reach", CUSTOM),
    ("measure", "from_toe"): Default(
        "5 mm",
        "length",
        "beside the toe, where a contact probe fits; ISO 13916, 3.2 says adjacent",
        CUSTOM,
    ),
    ("measure", "angle"): Default("0 deg", "angle", "where pass 1 starts", CUSTOM),
    ("model", "cell"): Default(
        f"{1e3 * _OPTIONS.cell:g} mm",
        "length",
        "numerical choice of this program",
        "computed",
    ),
    ("model", "ring"): Default(
        f"{_OPTIONS.ring}",
        "dimensionless",
        "numerical choice: 1 is the axisymmetric model",
        "computed",
    ),
    ("model", "tolerance"): Default(
        f"{_OPTIONS.tolerance:g} K",
        "temperature difference",
        "numerical choice: predictor error allowed per time step",
        "computed",
    ),
    ("model", "bead"): Default(
        "at once", "word", "waits within 0.6 % of metal behind the arc", "computed"
    ),
    ("model", "end_after"): Default(
        f"{_OPTIONS.end_after:g} s", "time", "followed after the last arc off", CUSTOM
    ),
}
"""Defaults by table and key; those of a pass stand under [arc]."""

MATCHING_FILLER = {
    "304L": "ER308L",
    "304": "ER308L",
    "316L": "ER316L",
    "316": "ER316L",
    "321": "ER347",
    "347": "ER347",
    "carbon steel": "ER70S-6",
    "1.25Cr-0.5Mo": "ER80S-B2",
    "2205": "ER2209",
    "625": "ERNiCrMo-3",
    "copper": "ERCu",
}
"""Filler customary for a material to itself (common practice)."""

DISSIMILAR_FILLER = {frozenset({"carbon steel", "austenitic"}): "ER309L"}
"""Filler customary between two material families (common practice)."""
