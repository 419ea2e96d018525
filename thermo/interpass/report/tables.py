"""The tables people may look into: rows as text by column, source and standing last."""

from collections.abc import Callable

from ..case_file.weld import LEG_FACTOR, LEG_SOURCE, RESTATED
from ..joint.beads import throat
from ..physics.metals import (
    conductivity_at,
    enthalpy_at,
    material,
    material_names,
    sources,
    specific_heat_at,
)
from ..rules.quantities import JOINT, OF_PASSES, OF_RUNS, PASS, RUN, RUN_PASS
from ..rules.sets import shipped_sets
from ..text.kinds import ZERO_CELSIUS, ending, to_degC
from ..trade.rows import table_rows

TableRow = dict[str, str]
CURVE_STEP = 50  # K
HIDDEN = ("wall_in_from_memory", "elbow_45_mm", "is_default", "is_reported")


def _of_file(name: str) -> Callable[[], list[TableRow]]:
    """Rows of a table in ``thermo/data`` as they are, some columns left out."""

    def rows() -> list[TableRow]:
        return [
            {key: text for key, text in row.items() if key not in HIDDEN}
            for row in table_rows(name)
        ]

    return rows


def _limits() -> list[TableRow]:
    """Interpass limits, with a word for those used by default."""
    return [
        {"family": row["family"], "p_number": row["p_number"],
         "maximum_degC": row["maximum_degC"], "maximum_degF": row["maximum_degF"],
         "minimum_degC": row["minimum_degC"],
         "used": "default" if row["is_default"] == "1" else "",
         "source": row["source"], "standing": row["standing"]}
        for row in table_rows("limits")
    ]  # fmt: skip


def _legs() -> list[TableRow]:
    """Least leg and its throat for every pipe in every class of socket."""
    found = []
    for pipe in table_rows("pipe"):
        for socket in table_rows("socket"):
            if socket["size"] == pipe["size"]:
                found.append(_leg(pipe, socket))
    return found


def _leg(pipe: TableRow, socket: TableRow) -> TableRow:
    wall, socket_wall = float(pipe["wall_mm"]), float(socket["wall_min_mm"])
    leg = min(LEG_FACTOR * wall, socket_wall)
    return {
        "size": pipe["size"],
        "schedules": pipe["schedules"],
        "pressure_class": socket["pressure_class"],
        "wall_mm": pipe["wall_mm"],
        "socket_wall_min_mm": socket["wall_min_mm"],
        "leg_mm": f"{leg:.3f}",
        "throat_mm": f"{throat(leg, leg):.3f}",
        "governed_by": "socket wall" if socket_wall < LEG_FACTOR * wall else "pipe wall",
        "source": LEG_SOURCE,
        "standing": RESTATED,
    }


def _materials() -> list[TableRow]:
    """Single numbers of every metal; its sources, one after another."""
    found = []
    for name in material_names():
        metal = material(name)
        at = ZERO_CELSIUS + 20.0
        told = (f"{quantity}: {source}" for quantity, source, _ in sources(name))
        standings = dict.fromkeys(standing for *_, standing in sources(name))
        found.append(
            {
                "name": name,
                "family": metal.family,
                "carbon_percent": f"{metal.carbon_percent:g}",
                "density_kg_per_m3": f"{metal.density:g}",
                "conductivity_20degC_W_per_m_K": f"{conductivity_at(metal, at):.1f}",
                "specific_heat_20degC_J_per_kg_K": f"{specific_heat_at(metal, at):.0f}",
                "solidus_degC": f"{to_degC(metal.solidus):.0f}",
                "liquidus_degC": f"{to_degC(metal.liquidus):.0f}",
                "latent_heat_kJ_per_kg": f"{metal.latent_heat * 1e-3:g}",
                "source": "; ".join(told),
                "standing": ", ".join(standings),
            }
        )
    return found


def _curves() -> list[TableRow]:
    """Conductivity, specific heat and enthalpy of every metal against temperature."""
    return [row for name in material_names() for row in curve_of(name)]


def curve_of(name: str) -> list[TableRow]:
    """Properties of one metal from 20 degC to its liquidus, as the model uses them."""
    metal = material(name)
    sourced = [
        row for row in sources(name) if row[0] in ("conductivity", "specific heat")
    ]
    told = {
        "source": "; ".join(dict.fromkeys(source for _, source, _ in sourced)),
        "standing": ", ".join(dict.fromkeys(standing for *_, standing in sourced)),
    }
    steps = range(CURVE_STEP, int(to_degC(metal.liquidus)) + 1, CURVE_STEP)
    return [
        {
            "material": name,
            "temperature_degC": f"{celsius}",
            "conductivity_W_per_m_K": f"{conductivity_at(metal, T):.2f}",
            "specific_heat_J_per_kg_K": f"{specific_heat_at(metal, T):.0f}",
            "enthalpy_MJ_per_m3": f"{enthalpy_at(metal, T) * 1e-6:.1f}",
            **told,
        }
        for celsius in (20, *steps)
        for T in [celsius + ZERO_CELSIUS]
    ]


def _rules() -> list[TableRow]:
    """Every rule shipped."""
    return [
        {
            "set": rule.rule_set,
            "rule": rule.name,
            "value": rule.value.text,
            "must_be": rule.requirement,
            "when": rule.when.text if rule.when else "",
            "verdict": rule.verdict,
            "source": rule.source,
            "standing": rule.standing,
        }
        for one in shipped_sets()
        for rule in one.rules
    ]


def _quantities() -> list[TableRow]:
    """Names a rule may use."""
    return [
        {
            "name": quantity.name,
            "what": quantity.words,
            "kind": "" if ending(quantity.name) else quantity.measures,
            "of": "pass" if quantity.name in OF_PASSES else "joint",
            "needs": "heat run" if quantity.name in OF_RUNS else "",
        }
        for quantity in (*JOINT, *PASS, *RUN, *RUN_PASS)
    ]


WORDS = {
    "pipe": "outside diameters and walls, NPS 1/8 to 4",
    "sockets": "socket-welding fittings of ASME B16.11",
    "flanges": "socket-welding flanges of ASME B16.5, class 150",
    "legs": "least fillet leg and throat for every pipe and class",
    "materials": "metals: what the model takes for each",
    "curves": "conductivity, specific heat, enthalpy against temperature",
    "fillers": "fillers and the metal whose properties they have",
    "wires": "filler wires and their mass",
    "tungsten": "currents an electrode carries",
    "currents": "currents for a wall or a pipe",
    "limits": "interpass maximum by family of metals",
    "preheat": "preheat of ASME B31.3, two editions",
    "efficiency": "arc efficiencies, and the k of EN 1011-1",
    "sensitising": "time for carbides to form, by carbon",
    "touch": "temperatures at which bare metal burns skin",
    "shop": "share of each doubt that joints of one shop have in common",
    "rules": "the rules 'check' judges by",
    "quantities": "names that rules of one's own may use",
    "list": "this list",
}
"""What each table holds."""


def _list() -> list[TableRow]:
    """Every table and what it holds."""
    return [{"table": name, "holds": words} for name, words in WORDS.items()]


TABLES: dict[str, Callable[[], list[TableRow]]] = {
    "pipe": _of_file("pipe"),
    "sockets": _of_file("socket"),
    "flanges": _of_file("flange"),
    "legs": _legs,
    "materials": _materials,
    "curves": _curves,
    "fillers": _of_file("filler"),
    "wires": _of_file("wires"),
    "tungsten": _of_file("tungsten"),
    "currents": _of_file("current"),
    "limits": _limits,
    "preheat": _of_file("preheat"),
    "efficiency": _of_file("efficiency"),
    "sensitising": _of_file("sensitising"),
    "touch": _of_file("touch"),
    "shop": _of_file("shop"),
    "rules": _rules,
    "quantities": _quantities,
    "list": _list,
}
"""Every table by the name it is asked for."""
