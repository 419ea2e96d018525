"""What a chart runs over: "current=60 A..120 A/20 A" into the values of one axis.

Ranges are counted in the unit they are written in.
"""

import re
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from itertools import product
from math import floor, prod
from typing import Any

from ..case_file.change import ChartError, find_key
from ..case_file.keys import Key
from ..text.errors import about, did_you_mean
from ..text.kinds import FORMS, SI
from ..text.units import UnitError, parse

MOST_AXES, MOST_VALUES, MOST_CELLS = 3, 200, 20_000
EXAMPLE = 'size="1/2,3/4,1" or current="60 A..120 A/20 A"'


@dataclass(frozen=True)
class Axis:
    """One thing that is varied."""

    name: str  # as the user called it
    key: str  # dotted
    kind: str  # as in ``schema.Key``
    values: tuple[Any, ...]  # as a case file holds them: "80 A", "NPS 1/2", 48

    @property
    def labels(self) -> tuple[str, ...]:
        """Values as people read them."""
        return tuple(
            str(v).lower() if v in (True, False) else str(v) for v in self.values
        )


def parse_axis(text: str) -> Axis:
    """Read one axis, "name=values".

    Values are a list with commas, or a range "from..to/step"; quantities have units.

    Raises
    ------
    ChartError
        Saying what is wrong and how it is written.

    Examples
    --------
    >>> parse_axis("current=60 A..120 A/20 A").values
    ('60 A', '80 A', '100 A', '120 A')
    >>> parse_axis("size=1/2, 3/4").values
    ('NPS 1/2', 'NPS 3/4')
    """
    name, equals, listed = text.partition("=")
    if not equals or not name.strip() or not listed.strip():
        msg = f"over {text!r} is no axis"
        raise ChartError(msg, f"write name=values, like {EXAMPLE}")
    where = find_key(name)
    items = [item.strip() for item in listed.split(",")]
    if "" in items:
        msg = f"over {text!r} has a comma with nothing beside it"
        raise ChartError(msg)
    values = tuple(v for item in items for v in _values(item, where.holds, where.name))
    _refuse_repeats(values, where.holds, where.name)
    if where.key.endswith(".size"):
        values = tuple(f"NPS {v}" if v[0].isdigit() else v for v in values)
    return Axis(where.name, where.key, where.holds.kind, values)


def _values(item: str, holds: Key, name: str) -> Sequence[Any]:
    """Values of one item of a list."""
    if RANGE in item:
        return _range(item, holds, name)
    return [_value(item, holds, name)]


def _value(item: str, holds: Key, name: str) -> Any:
    """One value as a case file holds it, checked as far as that goes without a case."""
    if item in holds.words:
        return item
    if holds.kind in FORMS:
        si_of(item, holds.kind, name)
        return item if holds.kind != "dimensionless" else _plain(item)
    if holds.kind == "count":
        return int(_count(item, name))
    if holds.kind == "flag":
        return _chosen(item, ("true", "false"), name) == "true"
    if holds.kind == "word" and holds.words:
        return _chosen(item, holds.words, name)
    return item


def _plain(item: str) -> Any:
    """Return a number where the text is one, as a case file would hold it."""
    with suppress(ValueError):
        return float(item)
    return item


def _count(item: str, name: str) -> str:
    if not item.isdecimal() or len(item) > 9:
        msg = f"{name}: {item!r} is no whole number"
        raise ChartError(msg, f"write it like {name}=2000,3000")
    return item


def _chosen(item: str, words: Iterable[str], name: str) -> str:
    if item in words:
        return item
    msg = f"{name}: {item!r} is none of its words"
    raise ChartError(msg, did_you_mean(item, words))


def _range(item: str, holds: Key, name: str) -> Sequence[Any]:
    """Values from one end to the other by a step; the far end counts when it is met."""
    first, _, rest = item.partition(RANGE)
    if holds.kind == "count":
        last, _, step = rest.partition("/")
        low, high, by = (int(_count(x.strip(), name)) for x in (first, last, step or "1"))
        return _steps(low, high, by, item, name, round)
    if holds.kind not in FORMS:
        msg = f"{name}: {item!r} is a range, but {name} is no number"
        raise ChartError(msg, "list its values")
    span = read_span(item, holds.kind, name)
    return _steps(span.low, span.high, span.step, item, name, span.value)


def _steps(
    low: float, high: float, step: float, item: str, name: str, as_value: Any
) -> list[Any]:
    """Values of a range, either way; numbers in, values of a case file out."""
    if step <= 0:
        msg = f"{name}: {item!r} has a step that leads nowhere"
        raise ChartError(msg, "give one above zero")
    count = floor(abs(high - low) / step + 1e-6) + 1
    if count > MOST_VALUES:
        msg = f"{name}: {item!r} has {count} values"
        raise ChartError(msg, f"at most {MOST_VALUES}, take a wider step")
    sign = 1 if high >= low else -1
    return [as_value(low + sign * n * step) for n in range(count)]


def _refuse_repeats(values: Sequence[Any], holds: Key, name: str) -> None:
    """Refuse a value that stands twice: a slip of the pen."""
    seen: dict[Any, Any] = {}
    for value in values:
        number = (
            isinstance(value, str) and holds.kind in FORMS and value not in holds.words
        )
        same = parse(value, holds.kind) if number else value
        if same in seen:
            msg = f"{name}: {value!r} stands twice"
            raise ChartError(msg, "leave one away")
        seen[same] = value


def parse_axes(texts: Sequence[str]) -> tuple[Axis, ...]:
    """Read one to three axes.

    Raises
    ------
    ChartError
        None, too many, the same thing twice, or too many cells.
    """
    if not 1 <= len(texts) <= MOST_AXES:
        msg = "a chart runs over one to three things"
        raise ChartError(msg, f"like {EXAMPLE}")
    axes = tuple(parse_axis(text) for text in texts)
    keys = [axis.key for axis in axes]
    if len(set(keys)) < len(keys):
        msg = f"over names {max(keys, key=keys.count)} twice"
        raise ChartError(msg, "put all values into one")
    count = prod(len(axis.values) for axis in axes)
    if count > MOST_CELLS:
        msg = f"that makes {count} joints"
        raise ChartError(msg, f"at most {MOST_CELLS}, take fewer values")
    return axes


def combinations(axes: Sequence[Axis]) -> list[tuple[int, ...]]:
    """Place on every axis of each cell, the last axis running fastest."""
    return list(product(*(range(len(axis.values)) for axis in axes)))


def column(axis: Axis) -> tuple[str, tuple[Any, ...]]:
    """Name with its unit and values for JSON and CSV: numbers where all are numbers.

    Examples
    --------
    >>> column(parse_axis("current=60 A,80 A"))
    ('current_A', (60.0, 80.0))
    >>> column(parse_axis("size=1/2"))
    ('size', ('NPS 1/2',))
    """
    name = re.sub(r"\W+", "_", axis.name)
    units = {unit_of_key(v) if _is_number(v) else None for v in axis.values}
    if axis.kind not in FORMS or None in units or axis.kind == "dimensionless":
        return name, axis.values
    unit = units.pop() if len(units) == 1 else SI.units.get(axis.kind, ("",))[0]
    if not unit:
        return name, axis.values
    one, zero = scale_of(str(unit), axis.kind, axis.name)
    numbers = (round((parse(v, axis.kind) - zero) / one, 6) for v in axis.values)
    return f"{name}_{unit_in_key(str(unit))}", tuple(numbers)


def unit_in_key(unit: str) -> str:
    """Spell a unit as it stands in a key of JSON or CSV.

    Examples
    --------
    >>> unit_in_key("mm/min"), unit_in_key("W/m^2/K")
    ('mm_per_min', 'W_per_m2_per_K')
    """
    return re.sub(r"\W+", "_", unit.replace("/", "_per_").replace("^", "")).strip("_")


def _is_number(value: Any) -> bool:
    return isinstance(value, str) and any(c.isdigit() for c in value)


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
    unit = unit_of_key(last)
    one, zero = scale_of(unit, kind, name)
    near, far = (si_of(_with_unit(x.strip(), unit), kind, name) for x in (first, last))
    by = si_of(_with_unit(step, unit), _step_kind(kind), name)
    return Span((near - zero) / one, (far - zero) / one, by / one, unit, one, zero)


def si_of(item: str, kind: str, name: str) -> float:
    """SI number of a quantity; ChartError that says what is varied."""
    try:
        return parse(item, kind)
    except UnitError as error:
        raise ChartError(*about(name, error)) from None


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
            parse(_with_unit(step, unit_of_key(last)), _step_kind(kind))
            return last, step
    example = FORMS[kind]
    msg = f"{name}: {item!r} is no range"
    form = f'{name}="60 A..120 A/20 A" ({name} is written like {example})'
    raise ChartError(msg, f"write from..to/step, each with its unit, like {form}")


def unit_of_key(text: str) -> str:
    """Return the unit behind the number: "1 1/2 in" has "in"."""
    return re.sub(r"^[-+\d./ ]+", "", text.strip())


def _with_unit(text: str, unit: str) -> str:
    """Value with the unit of its neighbour, when it has none."""
    return text if unit_of_key(text) or not unit else f"{text} {unit}"
