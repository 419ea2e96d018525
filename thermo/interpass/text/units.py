"""Text with a unit into SI numbers, and SI numbers into text a welder reads.

The units people write are in a table of exact fractions, so that "1 in" and
"25.4 mm" give the same number to the last bit. Any other unit is looked up in pint,
imported only then: importing it and building its registry costs about 0.3 s.
Numbers are never read by pint, which takes "1 1/2" for one half.
"""

import re
from contextlib import suppress
from fractions import Fraction
from functools import cache
from typing import Any

from .errors import ThermoError, did_you_mean
from .kinds import FACTORS, FORMS, SI, SI_UNITS, US, UnitSystem


class UnitError(ThermoError, ValueError):
    """A text that cannot be read as the quantity wanted."""


_LONGEST = 60
_TURNING = ("angle", "rotation")
_DEGREES = ("temperature", "temperature difference")

_SCALES = {
    f"{before}{letter}": f"deg{letter.upper()}"
    for before in ("", "deg ", "degrees ", "deg")
    for letter in "CFcf"
} | {"Celsius": "degC", "celsius": "degC", "Fahrenheit": "degF", "fahrenheit": "degF"}
"""Scales as people write them where a temperature stands; C is no coulomb there."""

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
    interpass.text.units.UnitError: '80' is a bare number; write it with its unit, like '80 A'
    """
    number, unit = _number_and_unit(_text(text, kind), kind)
    if kind in _DEGREES:
        unit = _SCALES.get(unit, unit)
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


def unit_of(text: str) -> str:
    """Return the unit of a quantity as written, "" where there is none.

    Examples
    --------
    >>> unit_of("3.5 in/min"), unit_of("350F"), unit_of("NPS 1")
    ('in/min', 'F', '')
    """
    try:
        return _number_and_unit(text, "dimensionless")[1]
    except UnitError:
        return ""


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
    return re.sub("\u00b0 ?(?=[CFcf])", "deg", unit)


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
    error = _refusal(kind, f"{unit!r} in {text!r} is no unit known here")
    guess = did_you_mean(unit, FACTORS[kind], "")
    raise UnitError(error.problem, f"{guess} {error.remedy}".strip())


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
    return UnitError(problem, f"write it like '{FORMS[kind]}'")


def _bare(text: str, kind: str) -> UnitError:
    """Return an error that shows the number with a unit, with both where two are usual."""
    problem = f"'{text.strip()}' is a bare number"
    us, si = (system.units.get(kind, ("", 0))[0] for system in (US, SI))
    if us == si:
        form = f"{text.strip()} {FORMS[kind].split(maxsplit=1)[1]}"
        return UnitError(problem, f"write it with its unit, like '{form}'")
    with suppress(UnitError):
        either = f"{_in_both(text, us, kind, SI)} or {_in_both(text, si, kind, US)}"
        return UnitError(f"{problem}: {either}?", "write the unit")
    return UnitError(problem, "write the unit")


def _in_both(text: str, unit: str, kind: str, other: UnitSystem) -> str:
    """Return the number with a unit, and what it is in the other system.

    Examples
    --------
    >>> _in_both("350", "degF", "temperature", SI)
    '350 degF (177 degC)'
    """
    written = f"{text.strip()} {unit}"
    value = other.value(kind, parse(written, kind))
    return f"{written} ({short(value)} {other.unit(kind)})"


def short(number: float, figures: int = 3) -> str:
    """Return a few figures, without an exponent and without zeros that say nothing.

    Examples
    --------
    >>> short(88.9), short(0.1378), short(13779.5)
    ('88.9', '0.138', '13800')
    """
    return f"{float(f'{number:.{figures}g}'):.10g}"
