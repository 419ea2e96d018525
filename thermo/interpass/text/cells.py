"""Cells of a CSV file into SI numbers: a unit in the cell or in the header, no guessing."""

import re
from math import inf

from .kinds import FORMS
from .sheets import Row, Sheet, quoted, unit_named
from .units import UnitError, parse

RANGES = {  # of what a log may hold, as a user writes it
    "temperature": ("-60 degC", "2000 degC"),
    "temperature difference": ("0.1 K", "100 K"),
    "time": ("0 s", "48 h"),
    "current": ("1 A", "1000 A"),
    "voltage": ("1 V", "100 V"),
    "length": ("0 mm", "1 m"),
    "angle": ("-720 deg", "720 deg"),
}

_SLACK = 1e-9
LARGEST_COUNT = 99
_COMMA = re.compile(r"([+-]?[0-9]+),([0-9]+)(?![0-9.,])")
_NUMBER_FIRST = re.compile(r"(?P<number>[+-]?[0-9.,/ eE+-]*[0-9.])\s*(?P<unit>\S.*)?")

_WORDS = (  # how a crayon's answer is written; the longest first
    (
        re.compile(
            r"(?:did not melt|not melted|no melt|below|under|<)\s*(?:at\s+)?",
            re.IGNORECASE,
        ),
        False,
    ),
    (re.compile(r"(?:melted|melts|above|over|>)\s*(?:at\s+)?", re.IGNORECASE), True),
)

Range = tuple[float, float]


def quantity(sheet: Sheet, row: Row, name: str) -> float | None:
    """SI number of one cell; None when it is empty, or refused."""
    cell = row.cells.get(name)
    return None if cell is None else number_of(sheet, row, name, cell)


def number_of(sheet: Sheet, row: Row, name: str, cell: str) -> float | None:
    """SI number of a text that stands in a column; None when it is refused."""
    kind = sheet.columns[name].kind
    text = _with_point(sheet, row, name, cell)
    if text is None:
        return None
    text = _with_unit(sheet, row, name, text)
    if text is None:
        return None
    try:
        value = parse(text, kind)
    except UnitError as error:
        problem, remedy = error.problem, error.remedy
        if "bare number" in problem:
            remedy += f", or name the column {name}_{FORMS[kind].split()[-1]}"
        sheet.refuse(row.line, f"{name}: {problem or 'it cannot be read'}", remedy)
        return None
    low, high = (parse(end, kind) for end in RANGES[kind])
    if low - _SLACK <= value <= high + _SLACK:
        return value
    allowed = f"allowed: {RANGES[kind][0]} to {RANGES[kind][1]}"
    sheet.refuse(row.line, f"{name}: {quoted(cell)} is out of range", allowed)
    return None


def _with_point(sheet: Sheet, row: Row, name: str, cell: str) -> str | None:
    """Cell with a decimal point for its comma; None when the comma may be either."""
    found = _COMMA.match(cell)
    if not found:
        return cell
    if len(found[2]) == 3 and not sheet.has_decimal_comma:
        problem = f"{name}: {quoted(cell)} may be thousands or decimals"
        sheet.refuse(
            row.line, problem, "write it with a point, and no mark for thousands"
        )
        return None
    return f"{found[1]}.{found[2]}{cell[found.end() :]}"


def _with_unit(sheet: Sheet, row: Row, name: str, text: str) -> str | None:
    """Text with its unit spelt, that of the header when it has none of its own."""
    found = _NUMBER_FIRST.fullmatch(text)
    if not found:
        return text
    unit = sheet.units[name]
    own = found["unit"]
    if own is None:
        return f"{text} {unit}" if unit else text
    meant = unit_named(own) or own.strip()
    if unit and meant != unit:
        problem = f"{name}: {quoted(text)} under a header that says {unit}"
        sheet.refuse(
            row.line, problem, f"leave the unit of the cell out, or write {unit}"
        )
        return None
    return f"{found['number']} {meant}"


def count(sheet: Sheet, row: Row, name: str) -> int | None:
    """Whole number of one cell, 1 or more; None when it is empty, or refused."""
    cell = row.cells.get(name)
    if cell is None:
        return None
    digits = re.fullmatch(
        r"(?:pass|run|no\.?|#)?\s*([0-9]{1,2})(?:[.,]0+)?", cell, re.IGNORECASE
    )
    if digits and 1 <= int(digits[1]) <= LARGEST_COUNT:
        return int(digits[1])
    sheet.refuse(
        row.line, f"{name}: {quoted(cell)} is no number of a pass", "write 1, 2 .."
    )
    return None


def word(sheet: Sheet, row: Row, name: str, words: dict[str, str]) -> str | None:
    """One of a few words, in any case; None when the cell is empty, or refused."""
    cell = row.cells.get(name)
    if cell is None:
        return None
    if meant := words.get(cell.lower()):
        return meant
    allowed = " or ".join(dict.fromkeys(words.values()))
    sheet.refuse(
        row.line, f"{name}: {quoted(cell)} is not known here", f"write {allowed}"
    )
    return None


def temperature_range(sheet: Sheet, row: Row, name: str) -> Range | None:
    """Lowest and highest temperature a cell allows [K]; None when empty, or refused.

    "195 degC" is both; "melted 150 degC" is that and anything above; "not melted
    200 degC" is that and anything below.
    """
    cell = row.cells.get(name)
    if cell is None:
        return None
    for form, is_least in _WORDS:
        if found := form.match(cell):
            T = number_of(sheet, row, name, cell[found.end() :])
            if T is None:
                return None
            return (T, inf) if is_least else (-inf, T)
    T = number_of(sheet, row, name, cell)
    return None if T is None else (T, T)
