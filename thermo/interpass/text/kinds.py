"""Kinds of quantity, how each is written, and what every common unit of it is in SI."""

from dataclasses import dataclass, field
from fractions import Fraction
from math import pi
from typing import Any

INCH = 0.0254  # m
ZERO_CELSIUS = 273.15  # K


@dataclass(frozen=True)
class UnitSystem:
    """The units a report speaks in.

    ``units`` holds the unit and the usual number of decimals of each kind; kinds that no
    shop has a unit of its own for are shown in SI. The methods named after a quantity
    return text with its unit; ``value`` returns the number (or array) alone, for tables
    and figures.

    Examples
    --------
    >>> SI.temperature(448.15), US.temperature(448.15)
    ('175 degC', '347 degF')
    >>> SI.energy_per_length(0.72e6), US.length(0.0381)
    ('0.720 kJ/mm', '1.500 in')
    """

    name: str
    units: dict[str, tuple[str, int]] = field(hash=False)

    @property
    def temperature_unit(self) -> str:
        """Unit of temperature and of temperature difference."""
        return self.unit("temperature")

    @property
    def length_unit(self) -> str:
        """Unit of length."""
        return self.unit("length")

    @property
    def energy_per_length_unit(self) -> str:
        """Unit of arc energy and heat input."""
        return self.unit("energy per length")

    def has_unit(self, kind: str) -> bool:
        """Whether this system shows ``kind`` with a unit; texts and plain numbers it does not."""
        return bool(self.units.get(kind, ("",))[0])

    def unit(self, kind: str) -> str:
        """Return the unit in which this system shows ``kind``."""
        return self.units[kind][0] if kind in self.units else SI_UNITS[kind]

    def digits(self, kind: str) -> int:
        """Usual number of decimals; of what a shop has no unit for, two or none."""
        return self.units[kind][1] if kind in self.units else 0 if SI_UNITS[kind] else 2

    def value(self, kind: str, si: Any) -> Any:
        """Return the number or array in this system's unit of ``kind``, from SI."""
        if kind == "temperature":
            return to_degF(si) if self.unit(kind) == "degF" else to_degC(si)
        return si / float(FACTORS[kind][self.unit(kind)]) if kind in self.units else si

    def text(self, kind: str, si: float, digits: int | None = None) -> str:
        """Value and unit of one quantity, rounded as usual for its kind."""
        places = self.digits(kind) if digits is None else digits
        return f"{self.value(kind, si):.{places}f} {self.unit(kind)}"

    def temperature(self, T: float, digits: int | None = None) -> str:
        """Text of a temperature given in K."""
        return self.text("temperature", T, digits)

    def temperature_difference(self, dT: float, digits: int | None = None) -> str:
        """Text of a temperature difference given in K."""
        return self.text("temperature difference", dT, digits)

    def length(self, length: float, digits: int | None = None) -> str:
        """Text of a length given in m."""
        return self.text("length", length, digits)

    def speed(self, speed: float, digits: int | None = None) -> str:
        """Text of a speed given in m/s."""
        return self.text("speed", speed, digits)

    def energy_per_length(self, energy: float, digits: int | None = None) -> str:
        """Text of an energy per length given in J/m."""
        return self.text("energy per length", energy, digits)


SI = UnitSystem(
    "si",
    {
        "temperature": ("degC", 0),
        "temperature difference": ("degC", 0),
        "length": ("mm", 2),
        "area": ("mm^2", 1),
        "speed": ("mm/min", 0),
        "energy per length": ("kJ/mm", 3),
        "mass": ("kg", 3),
        "mass flow": ("kg/h", 2),
        "time": ("s", 0),
        "current": ("A", 0),
        "voltage": ("V", 1),
        "power": ("W", 0),
        "flow": ("l/min", 1),
    },
)
"""Metric shop units."""

US = UnitSystem(
    "us",
    {
        "temperature": ("degF", 0),
        "temperature difference": ("degF", 0),
        "length": ("in", 3),
        "area": ("in^2", 4),
        "speed": ("in/min", 1),
        "energy per length": ("kJ/in", 1),
        "mass": ("lb", 3),
        "mass flow": ("lb/h", 2),
        "time": ("s", 0),
        "current": ("A", 0),
        "voltage": ("V", 1),
        "power": ("W", 0),
        "flow": ("cfh", 0),
    },
)
"""US shop units; energy stays in joules, as in ASME IX QW-409.1."""

UNIT_SYSTEMS = {"si": SI, "us": US}
"""By the name given to ``--units``."""

US_FORMS = {"length": "3 in", "speed": "2.4 in/min", "temperature": "350 degF"}
"""What a welder with inches is shown for that of ``FORMS``, by kind."""

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

ENDINGS = {
    "_mm": ("length", "mm"),
    "_in": ("length", "in"),
    "_mm2": ("area", "mm^2"),
    "_mm_per_min": ("speed", "mm/min"),
    "_m_per_s": ("speed", "m/s"),
    "_kJ_per_mm": ("energy per length", "kJ/mm"),
    "_kg_per_h": ("mass flow", "kg/h"),
    "_degC": ("temperature", "degC"),
    "_A": ("current", "A"),
    "_V": ("voltage", "V"),
    "_W": ("power", "W"),
    "_s": ("time", "s"),
}
"""Kind of quantity and unit that a name ends in, of a column of a table or a quantity of a
rule; the longest that fits counts."""


def ending(name: str) -> str:
    """Return the unit a name ends in, such as "_mm"; empty without one.

    Examples
    --------
    >>> ending("heat_input_kJ_per_mm"), ending("passes")
    ('_kJ_per_mm', '')
    """
    return max((end for end in ENDINGS if name.endswith(end)), key=len, default="")


SI_UNITS = {kind: next(iter(factors)) for kind, factors in FACTORS.items()}
"""The unit of the number ``units.parse`` returns, for each kind."""


def to_degC(T: Any) -> Any:
    """Temperature in degC from K; floats or arrays."""
    return T - 273.15


def to_degF(T: Any) -> Any:
    """Temperature in degF from K; floats or arrays.

    Examples
    --------
    >>> round(to_degF(448.15), 9)
    347.0
    """
    return T * 1.8 - 459.67


def mm(length: Any) -> Any:
    """Length in mm from m."""
    return length * 1e3


def inch(length: Any) -> Any:
    """Length in inches from m."""
    return length / 0.0254


def kJ_per_mm(energy_per_length: Any) -> Any:
    """Energy per length in kJ/mm from J/m."""
    return energy_per_length * 1e-6
