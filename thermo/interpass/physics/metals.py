"""Metals by name: conductivity and volumetric enthalpy tabulated against temperature.

The curves are integrated exactly before they are tabulated, so that neither the peak of
the specific heat of carbon steel at 735 degC nor the heat of melting can fall between
two nodes of the table.

What it computes: ``thermo/MODEL.md``, section 1.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cache

import numpy as np
from numpy.typing import ArrayLike

from ..text.arrays import Array
from ..text.errors import CatalogueError, unknown
from ..text.kinds import ZERO_CELSIUS
from ..trade.practice import check_is_one_metal, spellings
from ..trade.rows import table_rows
from .curves import (
    Curve,
    Piece,
    curve_integral,
    curve_value,
    held,
    melting_curve,
    points_curve,
)

TABLE_START = 200.0  # K
TABLE_STEP = 2.5  # K
TABLE_SIZE = 1321  # nodes, up to 3500 K

TABLE_TEMPERATURE: Array = np.linspace(
    TABLE_START, TABLE_START + TABLE_STEP * (TABLE_SIZE - 1), TABLE_SIZE
)

ENTHALPY_ZERO = ZERO_CELSIUS + 20.0  # K
SHARP_MELTING = 5.0  # K, width given to a melting point without one


@dataclass(frozen=True, eq=False)
class Material:
    """One metal.

    ``conductivity`` [W/m/K] and ``enthalpy`` [J/m³, zero at 20 degC] are (TABLE_SIZE,)
    arrays at ``TABLE_TEMPERATURE``, linear between; enthalpy is strictly increasing.
    """

    name: str
    family: str  # "austenitic", "carbon steel", "low alloy", "duplex", "nickel", ...
    density: float  # kg/m³ at 20 degC, constant: the model keeps mass
    conductivity: Array = field(repr=False)
    enthalpy: Array = field(repr=False)
    solidus: float  # K
    liquidus: float  # K
    latent_heat: float  # J/kg
    emissivity_bright: float
    emissivity_oxidised: float
    carbon_percent: float = 0.0
    sources: tuple[tuple[str, str, str], ...] = field(
        default=(), repr=False
    )  # (quantity, source, standing)


def material_names() -> tuple[str, ...]:
    """Names of the metals held."""
    return tuple(dict.fromkeys(row["material"] for row in table_rows("material")))


def material(name: str) -> Material:
    """Metal of that name, or of one of its names in the trade.

    Raises
    ------
    CatalogueError
        No such metal; the message lists those there are.

    Examples
    --------
    >>> steel = material("carbon steel")
    >>> round(float(conductivity_at(steel, 373.15)), 3)  # EN 1993-1-2
    50.67
    >>> material("TP316L") is material("316L")
    True
    >>> material("A312 TP304L").name, material("ASTM A106 Gr. B").name
    ('304L', 'carbon steel')
    """
    wanted = [folded(one) for one in spellings(name)]
    for known in material_names():
        if folded(known) in wanted:
            return tabulated(known)
    for row in table_rows("alias"):
        if folded(row["alias"]) in wanted:
            return alias_material(row["alias"])
    check_is_one_metal(name)
    aliases = [row["alias"] for row in table_rows("alias")]
    error = unknown("material", name, material_names(), also=aliases)
    raise error


@cache
def alias_material(alias: str) -> Material:
    """Metal behind another name; its own where the carbon differs."""
    row = next(row for row in table_rows("alias") if row["alias"] == alias)
    metal = tabulated(row["material"])
    if not row["carbon_percent"]:
        return metal
    source = (f"{alias} as {metal.name}", row["source"], row["standing"])
    return replace(
        metal,
        name=alias,
        carbon_percent=float(row["carbon_percent"]),
        sources=(*metal.sources, source),
    )


@cache
def filler(name: str) -> Material:
    """Weld metal of a filler, by AWS classification or by the name of a metal.

    Raises
    ------
    CatalogueError
        Neither a filler nor a metal held.

    Examples
    --------
    >>> filler("er309l").name, filler("ER309L").family
    ('ER309L', 'austenitic')
    """
    rows = {folded(row["filler"]): row for row in table_rows("filler")}
    row = rows.get(folded(name))
    if row:
        metal = tabulated(row["material"])
        source = ("filler", row["source"], row["standing"])
        return replace(metal, name=row["filler"], sources=(*metal.sources, source))
    try:
        return material(name)
    except CatalogueError:
        names = [row["filler"] for row in rows.values()]
        error = unknown("filler", name, names, also=material_names())
        raise error from None


def filler_names() -> tuple[str, ...]:
    """Classifications of the fillers held."""
    return tuple(row["filler"] for row in table_rows("filler"))


def folded(name: str) -> str:
    """Name as it is compared: case, spaces and hyphens do not count."""
    return re.sub(r"[\s_-]+", "", str(name)).lower()


@cache
def tabulated(name: str) -> Material:
    """Metal held under this very name."""
    numbers = {
        quantity: scalar(name, quantity)
        for quantity in (
            "density", "solidus", "liquidus", "latent_heat",
            "emissivity_bright", "emissivity_oxidised", "carbon_percent",
        )
    }  # fmt: skip
    return from_curves(
        conductivity_curve(name),
        specific_heat_curve(name),
        name=name,
        family=family(name),
        sources=sources(name),
        **numbers,
    )


def from_curves(conductivity: Curve, specific_heat: Curve, **numbers) -> Material:
    """Tabulate two curves, with the heat of melting spread over its range.

    Notes
    -----
    H(T) = density (integral of c from 20 degC + latent heat x melted fraction), the
    fraction linear between solidus and liquidus. Exact at the nodes.
    """
    T = TABLE_TEMPERATURE
    solidus, liquidus = numbers["solidus"], numbers["liquidus"]
    heat = curve_integral(specific_heat, ENTHALPY_ZERO, T)
    if numbers["latent_heat"]:
        melted = np.clip((T - solidus) / (liquidus - solidus), 0.0, 1.0)
        heat = heat + numbers["latent_heat"] * melted
    tables = (curve_value(conductivity, T), numbers["density"] * heat)
    for table in tables:
        table.flags.writeable = False  # shared by every joint of this metal
    return Material(conductivity=tables[0], enthalpy=tables[1], **numbers)


def own_material(
    name: str,
    density: float,
    conductivity_points: Sequence[tuple[float, float]],
    specific_heat_points: Sequence[tuple[float, float]],
    solidus: float,
    liquidus: float,
    latent_heat: float,
    family: str = "own",
    emissivity_bright: float = 0.3,
    emissivity_oxidised: float = 0.8,
    carbon_percent: float = 0.0,
) -> Material:
    """Metal of the user's own: linear between (T [K], value) points, held outside.

    Parameters
    ----------
    density : float
        At 20 degC [kg/m³].
    conductivity_points, specific_heat_points : sequence of (T, value)
        In rising temperature [K]; [W/m/K] and [J/kg/K].
    solidus, liquidus : float
        Start and end of melting [K]; where they are equal and there is heat of melting,
        it is spread over 5 K.
    latent_heat : float
        Heat of melting [J/kg].

    Notes
    -----
    The reader of case files has seen to it that the numbers are possible.

    Examples
    --------
    >>> metal = own_material("x", 8000, [(293, 15)], [(293, 500)], 1700, 1750, 0)
    >>> round(float(enthalpy_at(metal, 393.15)), 3)  # 8000 x 500 x 100 K
    400000000.0
    """
    if latent_heat and liquidus - solidus < SHARP_MELTING:
        middle = (solidus + liquidus) / 2
        solidus, liquidus = middle - SHARP_MELTING / 2, middle + SHARP_MELTING / 2
    quantities = ("density", "conductivity", "specific heat", "melting")
    return from_curves(
        points_curve(conductivity_points),
        points_curve(specific_heat_points),
        name=name,
        family=family,
        density=density,
        solidus=solidus,
        liquidus=liquidus,
        latent_heat=latent_heat,
        emissivity_bright=emissivity_bright,
        emissivity_oxidised=emissivity_oxidised,
        carbon_percent=carbon_percent,
        sources=tuple((quantity, "the case", "given") for quantity in quantities),
    )


def conductivity_at(material: Material, T: ArrayLike) -> Array:
    """Conductivity from the table [W/m/K]; end values outside 200 to 3500 K."""
    return np.interp(np.asarray(T, dtype=float), TABLE_TEMPERATURE, material.conductivity)


def enthalpy_at(material: Material, T: ArrayLike) -> Array:
    """Enthalpy from the table [J/m³]; end values outside 200 to 3500 K."""
    return np.interp(np.asarray(T, dtype=float), TABLE_TEMPERATURE, material.enthalpy)


def temperature_at(material: Material, H: ArrayLike) -> Array:
    """Temperature [K] at which the table holds the enthalpy H [J/m³]."""
    return np.interp(np.asarray(H, dtype=float), material.enthalpy, TABLE_TEMPERATURE)


def specific_heat_at(material: Material, T: ArrayLike) -> Array:
    """Slope of the enthalpy table over density, heat of melting included [J/kg/K]."""
    position = (np.asarray(T, dtype=float) - TABLE_START) / TABLE_STEP
    node = np.clip(np.floor(position).astype(int), 0, TABLE_SIZE - 2)
    rise = material.enthalpy[node + 1] - material.enthalpy[node]
    return rise / (material.density * TABLE_STEP)


SCALE_ZERO = {"degC": ZERO_CELSIUS, "K": 0.0}
TO_SI = {"degC": (1.0, ZERO_CELSIUS), "kJ/kg": (1e3, 0.0)}


@cache
def conductivity_curve(name: str) -> Curve:
    """Conductivity of a metal held, over all temperatures [W/m/K]."""
    return property_curve(name, "conductivity")


@cache
def specific_heat_curve(name: str) -> Curve:
    """Specific heat without the heat of melting, over all temperatures [J/kg/K]."""
    return property_curve(name, "specific heat")


def property_curve(name: str, quantity: str) -> Curve:
    """Solid, melting and liquid in one curve, from the rows of the tables."""
    solid = (
        held(formulas(name, quantity, "solid"))
        if formulas(name, quantity, "solid")
        else points_curve(points(name, quantity))
    )
    liquid = formulas(name, quantity, "liquid")
    melting = scalar(name, "solidus"), scalar(name, "liquidus")
    return melting_curve(solid, held(liquid) if liquid else None, *melting)


def formulas(name: str, quantity: str, phase: str) -> tuple[Piece, ...]:
    """Pieces a source prints, in order of temperature."""
    return tuple(
        Piece(
            start=float(row["start"]) + SCALE_ZERO[row["scale"]],
            end=float(row["end"]) + SCALE_ZERO[row["scale"]],
            coefficients=tuple(float(row[f"a{n}"] or 0) for n in range(4)),
            factor=float(row["factor"]),
            b=float(row["b"] or 0),
            pole=float(row["pole"] or "nan"),
            zero=SCALE_ZERO[row["scale"]],
        )
        for row in table_rows("curve")
        if (row["material"], row["quantity"], row["phase"]) == (name, quantity, phase)
    )


def points(name: str, quantity: str) -> list[tuple[float, float]]:
    """Tabulated (T [K], value) of one metal."""
    return [
        (float(row["temperature"]) + SCALE_ZERO[row["scale"]], float(row["value"]))
        for row in table_rows("point")
        if (row["material"], row["quantity"]) == (name, quantity)
    ]


def scalar(name: str, quantity: str) -> float:
    """One number of one metal, in SI."""
    for row in table_rows("material"):
        if (row["material"], row["quantity"]) == (name, quantity):
            factor, shift = TO_SI.get(row["unit"], (1.0, 0.0))
            return float(row["value"]) * factor + shift
    raise KeyError((name, quantity))


def family(name: str) -> str:
    """Group of metals that share limits."""
    rows = (row for row in table_rows("material") if row["quantity"] == "family")
    return next(row["value"] for row in rows if row["material"] == name)


def sources(name: str) -> tuple[tuple[str, str, str], ...]:
    """Each (quantity, source, standing) of a metal once."""
    rows = [
        row
        for table in ("material", "curve", "point")
        for row in table_rows(table)
        if row["material"] == name
    ]
    return tuple(
        dict.fromkeys((row["quantity"], row["source"], row["standing"]) for row in rows)
    )
