"""Reading the tables of ``data/``: rows as text, or as records by their annotations.

Every row there has a ``source`` and a ``standing``; the unit is in the column name.
"""

import csv
from collections.abc import Callable, Iterator, Mapping
from dataclasses import fields
from functools import cache
from importlib import resources
from typing import Any, NewType, TypeVar, get_type_hints

from ..text.kinds import ENDINGS, FACTORS, ZERO_CELSIUS

STANDINGS = (
    "published",  # a paper, standard or library was read
    "published restatement",  # somebody else's print of the standard was read
    "maker page",  # a maker's or seller's page was read
    "from memory",  # believed to stand in the source named; not read again
    "common practice",
    "computed",
)

R = TypeVar("R")
NominalSize = NewType("NominalSize", str)
"""A size as records have it, "NPS 3/4"; the tables say "3/4"."""

SCALES = {  # SI value of one, by the ending of a column
    ending: float(FACTORS[kind][unit])
    for ending, (kind, unit) in ENDINGS.items()
    if kind != "temperature"
} | {"_MPa": 1e6, "_g_per_m": 1e-3, "_degC": 1.0, "": 1.0}

READERS: dict[Any, Callable[[str], Any]] = {
    str: str,
    int: int,
    bool: "1".__eq__,
    tuple[str, ...]: lambda text: tuple(text.split()),
    NominalSize: "NPS {}".format,
}
"""What a cell becomes, by the annotation of its field; numbers with a unit become SI."""


@cache
def table_rows(name: str) -> tuple[dict[str, str], ...]:
    """Rows of ``data/<name>.csv`` as text, by column."""
    file = resources.files(__package__) / "data" / f"{name}.csv"
    return tuple(csv.DictReader(file.read_text(encoding="utf-8").splitlines()))


def record(kind: type[R], row: Mapping[str, str]) -> R:
    """One row of a table as a dataclass.

    A field is read from the column of its name, or of its name and a unit ("wall_mm"),
    by its annotation. An empty cell leaves a field its default; a text is then empty.

    Raises
    ------
    TypeError
        A field without a default has no column, or an empty cell.
    """
    return kind(**dict(_cells(kind, row)))


@cache
def records(kind: type[R], name: str) -> tuple[R, ...]:
    """Every row of ``data/<name>.csv`` as a dataclass, see ``record``."""
    return tuple(record(kind, row) for row in table_rows(name))


@cache
def _annotations(kind: type) -> dict[str, Any]:
    hints = get_type_hints(kind)
    return {field.name: hints[field.name] for field in fields(kind)}


def _cells(kind: type, row: Mapping[str, str]) -> Iterator[tuple[str, Any]]:
    """Fields that the row fills, with their values."""
    for name, annotation in _annotations(kind).items():
        for column, cell in row.items():
            unit = column.removeprefix(name)
            if unit not in SCALES or not column.startswith(name):
                continue
            if cell or annotation is str:
                yield name, _read(annotation, cell, unit)
            break


def _read(annotation: Any, cell: str, unit: str) -> Any:
    """Value of one cell, in SI where its column says a unit."""
    if annotation in READERS:
        return READERS[annotation](cell)
    shift = ZERO_CELSIUS if unit == "_degC" else 0.0
    return float(cell) * SCALES[unit] + shift
