"""What goes out: JSON and CSV, and words made safe for the program that shows them.

The one place that cleans text for a terminal, and the one for a spreadsheet; pages escape
theirs where they are put together.
"""

import csv
import io
import json
import re
from collections.abc import Iterable, Sequence
from math import isfinite
from typing import Any

from .kinds import to_degC

FORMULA = ("=", "+", "-", "@", "\t", "\r")  # a spreadsheet would compute what follows
NUMBER = re.compile(r"-?\d+\.\d+", re.ASCII)  # as a history writes it: nothing to compute

CONTROL = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]"
)


def plain_text(text: str) -> str:
    r"""Text for a terminal: what would steer it stands as its number, as JSON writes it.

    So does what no file of text can hold, as in a file's name that is not UTF-8.

    Examples
    --------
    >>> plain_text("\x1b[31mred\n")
    '\\u001b[31mred\n'
    """
    return CONTROL.sub(lambda found: f"\\u{ord(found[0]):04x}", text)


def text_bytes(text: str) -> bytes:
    """Text as it stands in a file: plain, UTF-8, whatever names stand in it."""
    return plain_text(text).encode()


def harmless(value: Any) -> Any:
    """Text that a spreadsheet would compute gets an apostrophe in front.

    Examples
    --------
    >>> harmless("=1+1"), harmless(" =1+1"), harmless("plain"), harmless("-3.05")
    ("'=1+1", "' =1+1", 'plain', '-3.05')
    """
    if not isinstance(value, str) or NUMBER.fullmatch(value):
        return value
    is_formula = value.lstrip().startswith(FORMULA) or value.startswith(FORMULA)
    return plain_text(f"'{value}" if is_formula else value)


def rounded(value: float | None, digits: int) -> float | None:
    """Round a number; None for what JSON cannot hold, and no negative zero.

    Examples
    --------
    >>> rounded(1.236, 2), rounded(float("inf"), 2), rounded(None, 2)
    (1.24, None, None)
    """
    if value is None or not isfinite(value):
        return None
    return round(float(value), digits) + 0.0


def rounded_all(values: Iterable[float], digits: int) -> list[float | None]:
    """Round every number of a curve; see `rounded`."""
    return [rounded(value, digits) for value in values]


def degC(T: float | None) -> float | None:
    """Temperature of an answer, from K; None for what is open.

    Examples
    --------
    >>> degC(448.15), degC(None)
    (175.0, None)
    """
    return None if T is None else rounded(to_degC(T), 2)


def json_text(data: Any) -> str:
    """Write an object as JSON.

    Raises
    ------
    ValueError
        A number in it is nan or infinite.
    """
    return (
        plain_text(json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False)) + "\n"
    )


def csv_text(rows: Iterable[Sequence[Any]]) -> str:
    """Write rows as CSV: text made harmless, nothing for None."""
    out = io.StringIO()
    write = csv.writer(out, lineterminator="\n").writerow
    for row in rows:
        write(["" if cell is None else harmless(cell) for cell in row])
    return out.getvalue()
