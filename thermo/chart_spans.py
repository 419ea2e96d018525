"""Ranges of a quantity, "60 A..120 A/20 A", in the unit they are written in."""

import re
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from .chart_keys import ChartError
from .unit_table import FORMS
from .units import UnitError, parse

RANGE = ".."


@dataclass(frozen=True)
class Span:
    """From, to and step of a quantity, numbers in the unit the user wrote."""

    low: float
    high: float
    step: float
    unit: str
    one: float  # SI value of one unit
    zero: float  # SI value of none

    def si(self, number: float) -> float:
        """SI number of a number of units."""
        return self.zero + self.one * number

    def value(self, number: float) -> Any:
        """Value as a case file holds it."""
        return f"{number:.9g} {self.unit}" if self.unit else float(f"{number:.9g}")


def read_span(item: str, kind: str, name: str) -> Span:
    """Read "from..to/step" of a quantity; units may be left to the far end.

    Raises
    ------
    ChartError
        It is not written like that.
    """
    first, _, rest = item.partition(RANGE)
    last, step = _ends(rest, kind, item, name)
    unit = unit_of(last)
    one, zero = scale_of(unit, kind, name)
    near, far = (si_of(_with_unit(x.strip(), unit), kind, name) for x in (first, last))
    by = si_of(_with_unit(step, unit), _step_kind(kind), name)
    return Span((near - zero) / one, (far - zero) / one, by / one, unit, one, zero)


def si_of(item: str, kind: str, name: str) -> float:
    """SI number of a quantity; ChartError that says what is varied."""
    try:
        return parse(item, kind)
    except UnitError as error:
        msg = f"{name}: {error}"
        raise ChartError(msg) from None


def scale_of(unit: str, kind: str, name: str) -> tuple[float, float]:
    """SI value of one unit, and of its zero."""
    one = si_of(f"1 {unit}".strip(), _step_kind(kind), name)
    return one, si_of(f"1 {unit}".strip(), kind, name) - one


def _step_kind(kind: str) -> str:
    """Kind of a step: temperatures are stepped by a difference."""
    return "temperature difference" if kind == "temperature" else kind


def _ends(rest: str, kind: str, item: str, name: str) -> tuple[str, str]:
    """Split "120 A/20 A", where units and fractions have strokes of their own."""
    for stroke in (m.start() for m in re.finditer("/", rest)):
        last, step = rest[:stroke].strip(), rest[stroke + 1 :].strip()
        with suppress(UnitError):
            parse(last, kind)
            parse(_with_unit(step, unit_of(last)), _step_kind(kind))
            return last, step
    example = FORMS[kind]
    msg = (
        f"{name}: {item!r} is no range; write from..to/step, each with its unit, like "
        f'{name}="60 A..120 A/20 A" ({name} is written like {example})'
    )
    raise ChartError(msg)


def unit_of(text: str) -> str:
    """Return the unit behind the number: "1 1/2 in" has "in"."""
    return re.sub(r"^[-+\d./ ]+", "", text.strip())


def _with_unit(text: str, unit: str) -> str:
    """Value with the unit of its neighbour, when it has none."""
    return text if unit_of(text) or not unit else f"{text} {unit}"
