"""What the tables of ``thermo/data`` hold about each metal: curves and single numbers."""

from functools import cache

from .curves import Curve, Piece, held, melting_curve, points_curve
from .tables import ZERO_CELSIUS, table_rows

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
