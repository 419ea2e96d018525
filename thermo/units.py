"""Text with a unit into SI numbers, and SI numbers into text a welder reads.

The units people write are in a table of exact fractions, so that "1 in" and
"25.4 mm" give the same number to the last bit. Any other unit is looked up in pint,
imported only then: importing it and building its registry costs about 0.3 s.
Numbers are never read by pint, which takes "1 1/2" for one half.
"""

import re
from contextlib import suppress
from dataclasses import dataclass, field
from difflib import get_close_matches
from fractions import Fraction
from functools import cache
from typing import Any

from .errors import ThermoError
from .unit_table import FACTORS, FORMS, SI_UNITS


class UnitError(ThermoError, ValueError):
    """A text that cannot be read as the quantity wanted."""


_LONGEST = 60
_TURNING = ("angle", "rotation")
_MARKS = str.maketrans(
    # minus; no-break, thin and narrow blanks; ordinal indicator; micro, mu; dots, times
    "\u2212\u00a0\u2009\u202f\u00ba\u00b5\u03bc\u00b7\u22c5\u00d7",
    "-   \u00b0uu***",
) | {
    ord(mark): text
    for mark, text in {
        "\u2103": "degC",
        "\u2109": "degF",
        "\u2033": "in",  # double prime
        '"': "in",
        "\u00bc": " 1/4",
        "\u00bd": " 1/2",
        "\u00be": " 3/4",
    }.items()
}
_SUPERSCRIPTS = str.maketrans("⁰¹²³⁴⁻", "01234-")
_NUMBER = re.compile(
    r"(?P<sign>[+-]?) ?(?:(?:(?P<whole>[0-9]+)[ -])?(?P<top>[0-9]+) ?/ ?(?P<bottom>[0-9]+)"
    r"|(?P<decimal>(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE](?P<exponent>[+-]?[0-9]+))?))"
    r"(?![0-9.,])"
)
_PLAIN_UNIT = re.compile(r"(?:[A-Za-z_%*/^() ]|(?<=\^)-?[1-4](?![0-9]))*")


def parse(text: object, kind: str) -> float:
    """Read a quantity written with its unit; SI number of the kind asked for.

    Parameters
    ----------
    text : str
        A number (decimal, or a fraction as in "1 1/2 in") and a unit; a plain number
        is accepted only where ``kind`` is "dimensionless".
    kind : str
        One of the keys of ``FORMS``; the unit returned is in ``SI_UNITS``.

    Raises
    ------
    UnitError
        Saying what is wrong and showing a right form.

    Examples
    --------
    >>> parse("1 1/2 in", "length")
    0.0381
    >>> parse("175 degC", "temperature")
    448.15
    >>> parse("80", "current")
    Traceback (most recent call last):
        ...
    thermo.units.UnitError: '80' is a bare number; write it with its unit, like '80 A'
    """
    number, unit = _number_and_unit(_text(text, kind), kind)
    if not unit and kind != "dimensionless":
        raise _bare(str(text), kind)
    if kind == "temperature":
        return _kelvin(number, unit, str(text))
    factor = FACTORS[kind].get(unit)
    if factor is None:
        factor = _pint_factor(unit, kind, str(text))
    return float(number * factor)


def _text(given: object, kind: str) -> str:
    """Return what was given as text short enough to look into."""
    if isinstance(given, int | float) and not isinstance(given, bool):
        given = repr(given)
    if not isinstance(given, str):
        raise _refusal(kind, f"{given!r:.20} is no text")
    if len(given) > _LONGEST:
        raise _refusal(kind, f"{given[:20]!r}... is too long")
    return given


def _number_and_unit(text: str, kind: str) -> tuple[Fraction, str]:
    """Split off the number; spell the unit the way the tables do."""
    clean = re.sub(r"\s+", " ", text.translate(_MARKS)).strip()
    if re.match(r"[+-]?[0-9]*,[0-9]", clean):
        problem = f"{text!r} has a comma; decimals take a point, thousands nothing"
        raise _refusal(kind, problem)
    match = _NUMBER.match(clean)
    if not match:
        raise _refusal(kind, f"{text!r} does not start with a number")
    return _fraction(match, text, kind), _spelling(clean[match.end() :])


def _fraction(match: re.Match[str], text: str, kind: str) -> Fraction:
    """Return the exact number, when a workshop could mean one of that size."""
    bottom = int(match["bottom"] or 1)
    # Checked first: Fraction("1e999999999") would fill the memory.
    if bottom == 0 or abs(int(match["exponent"] or 0)) > 30:
        raise _refusal(kind, f"{text!r} is no number a joint could have")
    number = Fraction(match["decimal"] or Fraction(int(match["top"]), bottom))
    number += int(match["whole"] or 0)
    return -number if match["sign"] == "-" else number


def _spelling(unit: str) -> str:
    """Spell units one way: no blanks round signs, ^ for powers, deg for the sign."""
    unit = re.sub("[⁻⁰¹²³⁴]+", lambda m: "^" + m[0].translate(_SUPERSCRIPTS), unit)
    unit = re.sub(r" ?(\*\*|[*/^]) ?", r"\1", unit.strip()).replace("**", "^")
    return re.sub("\u00b0 ?(?=[CF])", "deg", unit)


def _kelvin(number: Fraction, unit: str, text: str) -> float:
    """Absolute temperature [K]; below absolute zero is refused."""
    kind = "temperature"
    if unit == "degF":
        kelvin = (number + Fraction("459.67")) * Fraction(5, 9)
    elif unit in ("K", "degC"):
        kelvin = number + (Fraction("273.15") if unit == "degC" else 0)
    else:
        kelvin = _pint_kelvin(float(number), unit, text)
    if kelvin < 0:
        raise _refusal(kind, f"{text!r} is below absolute zero")
    return float(kelvin)


@cache
def _registry() -> Any:
    """Pint's units, with the trade's own added."""
    import pint  # noqa: PLC0415 - slow to import, and most runs never need it

    registry: Any = pint.UnitRegistry()
    registry.define("cfh = foot**3 / hour")
    registry.define("lpm = liter / minute")
    registry.define("ipm = inch / minute")
    registry.define("rev = revolution")
    registry.define("amps = ampere")  # pint alone takes it for attometre per second
    return registry


def _pint_unit(unit: str, kind: str, text: str) -> Any:
    """Look one unit up in pint; it must be a product of powers of names, no more."""
    kinds = reversed(FACTORS)  # so that K measures temperature before its difference
    known = {name: other for other in kinds for name in FACTORS[other]}
    if unit in known:  # most mistakes need no pint
        raise _refusal(kind, f"{text!r} measures {known[unit]}, not {kind}")
    # Pint reads a small language of its own; only plain units are let through to it.
    if _PLAIN_UNIT.fullmatch(unit) and "__" not in unit:
        # Pint lets errors of every sort through, its tokenizer's among them.
        with suppress(Exception):
            return _registry().parse_units(unit)
    near = get_close_matches(unit, FACTORS[kind], n=1)
    guess = f" (did you mean '{near[0]}'?)" if near else ""
    raise _refusal(kind, f"{unit!r} in {text!r} is no unit known here{guess}")


def _pint_factor(unit: str, kind: str, text: str) -> Fraction:
    """SI value of one ``unit`` by pint, when it measures ``kind``."""
    found = _pint_unit(unit, kind, text)
    quantity = _registry().Quantity
    wanted = quantity(1.0, SI_UNITS[kind])
    # Pint has no dimension for angle: 1/s is no turning rate for us, nor 1 an angle.
    turns = "radian" in str(quantity(1.0, found).to_root_units().units)
    if found.dimensionality != wanted.dimensionality or turns != (kind in _TURNING):
        raise _refusal(kind, f"{text!r} is in {found:P}, no unit of {kind}")
    # The difference removes the offset of a temperature scale.
    one = quantity(1.0, found).to(wanted.units) - quantity(0.0, found).to(wanted.units)
    return Fraction(float(one.magnitude))


def _pint_kelvin(number: float, unit: str, text: str) -> Fraction:
    """Absolute temperature by pint [K]."""
    kind = "temperature"
    found = _pint_unit(unit, kind, text)
    if found.dimensionality != {"[temperature]": 1} or "delta" in str(found):
        problem = f"{text!r} is in {found:P}, no unit of {kind}"
        raise _refusal(kind, problem)
    return Fraction(_registry().Quantity(number, found).to("kelvin").magnitude)


def _refusal(kind: str, problem: str) -> UnitError:
    """Return an error that ends with a right form."""
    return UnitError(f"{problem}; write it like '{FORMS[kind]}'")


def _bare(text: str, kind: str) -> UnitError:
    """Return an error that shows the number with a unit."""
    form = f"{text.strip()} {FORMS[kind].split(maxsplit=1)[1]}"
    problem = f"'{text.strip()}' is a bare number"
    return UnitError(f"{problem}; write it with its unit, like '{form}'")


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


def kJ_per_in(energy_per_length: Any) -> Any:
    """Energy per length in kJ/in from J/m.

    Examples
    --------
    >>> round(kJ_per_in(1.2e6), 2)
    30.48
    """
    return energy_per_length * 25.4e-6


@dataclass(frozen=True)
class UnitSystem:
    """The units a report speaks in.

    ``units`` holds the unit and the usual number of decimals of each kind. The methods
    named after a quantity return text with its unit; ``value`` returns the number (or
    array) alone, for tables and figures.

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

    def unit(self, kind: str) -> str:
        """Return the unit in which this system shows ``kind``."""
        return self.units[kind][0]

    def value(self, kind: str, si: Any) -> Any:
        """Return the number or array in this system's unit of ``kind``, from SI."""
        if kind == "temperature":
            return to_degF(si) if self.unit(kind) == "degF" else to_degC(si)
        return si / float(FACTORS[kind][self.unit(kind)])

    def text(self, kind: str, si: float, digits: int | None = None) -> str:
        """Value and unit of one quantity, rounded as usual for its kind."""
        places = self.units[kind][1] if digits is None else digits
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
