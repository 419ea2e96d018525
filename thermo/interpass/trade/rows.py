"""Reading the tables of ``thermo/data`` and looking names up in them.

Every row there has a ``source`` and a ``standing``; the unit is in the column name.
"""

import csv
from functools import cache
from importlib import resources

from ..text.kinds import INCH, ZERO_CELSIUS

STANDINGS = (
    "published",  # a paper, standard or library was read
    "published restatement",  # somebody else's print of the standard was read
    "maker page",  # a maker's or seller's page was read
    "from memory",  # believed to stand in the source named; not read again
    "common practice",
    "computed",
)


@cache
def table_rows(name: str) -> tuple[dict[str, str], ...]:
    """Rows of ``thermo/data/<name>.csv`` as text, by column."""
    file = resources.files(__package__) / "data" / f"{name}.csv"
    return tuple(csv.DictReader(file.read_text(encoding="utf-8").splitlines()))


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
