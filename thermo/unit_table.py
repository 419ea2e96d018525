"""Kinds of quantity, how each is written, and what every common unit of it is in SI."""

from fractions import Fraction
from math import pi

FORMS = {
    "length": "1.6 mm",
    "area": "12 mm^2",
    "time": "75 s",
    "speed": "60 mm/min",
    "rotation": "0.8 rev/min",
    "angle": "90 deg",
    "flow": "8 l/min",
    "temperature": "175 degC",
    "temperature difference": "10 K",
    "current": "80 A",
    "voltage": "11 V",
    "power": "900 W",
    "energy": "60 kJ",
    "energy per length": "0.7 kJ/mm",
    "mass": "0.4 kg",
    "mass flow": "0.5 kg/h",
    "density": "7850 kg/m^3",
    "conductivity": "14.9 W/m/K",
    "specific heat": "455 J/kg/K",
    "latent heat": "270 kJ/kg",
    "heat transfer coefficient": "150 W/m^2/K",
    "dimensionless": "0.75",
}
"""The kinds of quantity, and how one of each is written."""

Factors = dict[str, Fraction]


def _factors(**texts: str) -> Factors:
    """Exact factors from their decimal spelling."""
    return {unit: Fraction(text) for unit, text in texts.items()}


def _per(top: Factors, *bottoms: Factors) -> Factors:
    """Every unit of ``top`` over every unit of each of ``bottoms`` in turn."""
    for bottom in bottoms:
        top = {f"{a}/{b}": top[a] / bottom[b] for a in top for b in bottom}
    return top


def _power(units: Factors, exponent: int) -> Factors:
    """Squares or cubes of lengths."""
    return {f"{unit}^{exponent}": f**exponent for unit, f in units.items()}


_INCH = Fraction("0.0254")
_METRIC = _factors(m="1", cm="0.01", mm="0.001", um="1e-6")
_LENGTH = _METRIC | {"in": _INCH, "inch": _INCH, "ft": 12 * _INCH, "thou": _INCH / 1000}
_TIME = _factors(s="1", ms="0.001", min="60", h="3600", hr="3600", hour="3600")
_MASS = _factors(kg="1", g="0.001", mg="1e-6", lb="0.45359237")
_POWER = _factors(W="1", kW="1000", mW="0.001")
_ENERGY = _factors(J="1", kJ="1000", MJ="1e6")
_KELVIN = _factors(K="1", degC="1") | {"degF": Fraction(5, 9)}
_TURN = 2 * Fraction(pi)
_ANGLE = {"rad": Fraction(1), "deg": _TURN / 360, "rev": _TURN, "turn": _TURN}
_VOLUME = _power(_LENGTH, 3) | _factors(l="1e-3", L="1e-3", ml="1e-6")
_FLOW = _per(_VOLUME, _TIME)
_SPEED = _per(_LENGTH, _TIME)

FACTORS: dict[str, Factors] = {
    "length": _LENGTH,
    "area": _power(_LENGTH, 2),
    "time": _TIME,
    "speed": _SPEED | {"ipm": _SPEED["in/min"]},
    "rotation": _per(_ANGLE, _TIME) | {"rpm": _TURN / 60},
    "angle": _ANGLE,
    "flow": _FLOW | {"cfh": _FLOW["ft^3/h"], "lpm": _FLOW["l/min"]},
    "temperature": _KELVIN,  # of one degree; where zero is, see units
    "temperature difference": _KELVIN | {"delta_degC": _KELVIN["degC"]},
    "current": _factors(A="1", mA="0.001", amp="1", amps="1"),
    "voltage": _factors(V="1", mV="0.001", volt="1", volts="1"),
    "power": _POWER,
    "energy": _ENERGY,
    "energy per length": _per(_ENERGY, _LENGTH),
    "mass": _MASS,
    "mass flow": _per(_MASS, _TIME),
    "density": _per(_MASS, _power(_LENGTH, 3)),
    "conductivity": _per(_POWER, _METRIC, _KELVIN),
    "specific heat": _per(_ENERGY, _MASS, _KELVIN),
    "latent heat": _per(_ENERGY, _MASS),
    "heat transfer coefficient": _per(_POWER, _power(_METRIC, 2), _KELVIN),
    "dimensionless": {"": Fraction(1), "%": Fraction(1, 100)},
}
"""SI value of one unit, exactly, for every unit read without pint."""

SI_UNITS = {kind: next(iter(factors)) for kind, factors in FACTORS.items()}
"""The unit of the number ``units.parse`` returns, for each kind."""
