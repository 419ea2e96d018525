"""Reading the tables of ``thermo/data`` and looking names up in them.

Every row there has a ``source`` and a ``standing``; the unit is in the column name.
"""

import csv
import difflib
from collections.abc import Iterable
from functools import cache
from importlib import resources

from .errors import CatalogueError

STANDINGS = (
    "published",  # a paper, standard or library was read
    "published restatement",  # somebody else's print of the standard was read
    "maker page",  # a maker's or seller's page was read
    "from memory",  # believed to stand in the source named; not read again
    "common practice",
    "computed",
)


INCH = 0.0254  # m
ZERO_CELSIUS = 273.15  # K


@cache
def table_rows(name: str) -> tuple[dict[str, str], ...]:
    """Rows of ``thermo/data/<name>.csv`` as text, by column."""
    file = resources.files("thermo") / "data" / f"{name}.csv"
    return tuple(csv.DictReader(file.read_text(encoding="utf-8").splitlines()))


def closest(name: str, known: Iterable[str]) -> str | None:
    """Return the known name most like ``name``, or None.

    Examples
    --------
    >>> closest("cuopling", ["coupling", "cap"])
    'coupling'
    """
    folded = {str(item).lower(): item for item in known}
    near = difflib.get_close_matches(str(name).lower(), folded, n=1)
    return folded[near[0]] if near else None


def unknown(
    what: str, value: object, known: Iterable[object], also: Iterable[str] = ()
) -> CatalogueError:
    """Return the error for a name no table holds.

    It shows the value, a did-you-mean from ``known`` and ``also``, and lists ``known``.
    """
    names = [str(item) for item in known]
    near = closest(str(value), [*names, *also])
    hint = f"did you mean '{near}'? " if near else ""
    return CatalogueError(
        f"no {what} '{value}'; {hint}available: {', '.join(names) or 'none'}"
    )


def lengths(row: dict[str, str]) -> dict[str, float]:
    """Return the columns ending in ``_mm`` and ``_in`` as metres, suffix dropped."""
    scale = {"_mm": 1e-3, "_in": INCH}
    return {
        key[:-3]: float(text) * scale[key[-3:]]
        for key, text in row.items()
        if key[-3:] in scale
    }


def kelvin(text: str) -> float:
    """Return a temperature column in degC as K."""
    return float(text) + ZERO_CELSIUS
