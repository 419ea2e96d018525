"""A CSV text into rows of named cells, or all that is wrong with its form.

Commas, semicolons or tabs; columns in any order; comments from ``#``; a byte order mark,
blank lines and every line ending are passed over. A cell is text and nothing else: no
formula is worked out. One line is one row, so that a message names the right line.
"""

import csv
import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from .errors import CaseError, Mistake, did_you_mean
from .files import alone
from .kinds import FACTORS

MOST_ROWS = 2000
MOST_MISTAKES = 30  # told at once; a file of another sort would fill the screen
_LONGEST_SHOWN = 40
NEAR = 0.7  # how alike two names of columns are
SEPARATORS = (";", "\t", ",")  # in the order they are looked for in the header

UNIT_NAMES = {
    "c": "degC",
    "°c": "degC",
    "ºc": "degC",
    "℃": "degC",
    "deg_c": "degC",
    "celsius": "degC",
    "f": "degF",
    "°f": "degF",
    "ºf": "degF",
    "℉": "degF",
    "deg_f": "degF",
    "fahrenheit": "degF",
    "sec": "s",
    "secs": "s",
    "second": "s",
    "seconds": "s",
    "minutes": "min",
    "inches": "in",
    "°": "deg",
    "degrees": "deg",
}
"""Units as people write them over a column, in small letters."""


@dataclass(frozen=True)
class Column:
    """One column a file may have."""

    kind: str = ""  # a key of ``units.FORMS``; "" is text
    names: tuple[str, ...] = ()  # other names it goes by
    unit: str = ""  # the name itself says this unit, as "seconds" does


@dataclass(frozen=True)
class Row:
    """One line of the file: its cells that hold something, by name of column."""

    line: int
    cells: dict[str, str]


@dataclass
class Sheet:
    """A CSV file as read, and the mistakes found in it so far."""

    file: str
    header_line: int = 1
    columns: dict[str, Column] = field(default_factory=dict)  # those that it has
    units: dict[str, str] = field(default_factory=dict)  # of each, "" where not said
    rows: list[Row] = field(default_factory=list)
    has_decimal_comma: bool = False  # certain, because cells end at semicolons
    mistakes: list[Mistake] = field(default_factory=list)
    bad: set[int] = field(default_factory=set)  # lines with a mistake
    remarks: dict[str, str] = field(default_factory=dict)  # the first of each sort

    def remark(self, words: str, sort: str) -> None:
        """Note what a reader should know of lines that are used all the same."""
        self.remarks.setdefault(sort, words)

    def refuse(self, line: int, problem: str, remedy: str = "") -> None:
        """Note what is wrong with a line; it is not used."""
        self.bad.add(line)
        self.mistakes.append(Mistake(self.file, line, problem, remedy))

    def stop_if_wrong(self) -> None:
        """Raise CaseError with every mistake, when there is one."""
        if not self.mistakes:
            return
        shown = sorted(self.mistakes, key=lambda m: m.line or 0)[:MOST_MISTAKES]
        if more := len(self.mistakes) - len(shown):
            shown.append(Mistake(self.file, None, f"and {more} more mistakes"))
            raise CaseError(shown[-1:] + shown[:-1])
        raise CaseError(shown)


def quoted(text: str) -> str:
    r"""Text in quotes, short and printable, for messages.

    Examples
    --------
    >>> quoted("195\x00" + 50 * "x")
    "'195\\x00xxxxxxxxxxxxxxxxxxxxxxxxxxxx...'"
    """
    shown = ascii(text) if not text.isprintable() else f"'{text}'"
    return shown if len(shown) <= _LONGEST_SHOWN else shown[: _LONGEST_SHOWN - 4] + "...'"


def parse_csv(
    text: str, file: str, columns: Mapping[str, Column], most: int = MOST_ROWS
) -> Sheet:
    r"""Read a CSV text; ``file`` names it in messages, ``most`` is how many rows it may have.

    Mistakes of single lines are left in the sheet, for its reader to add its own.

    Raises
    ------
    CaseError
        When there is no header, or a column of it is not known.

    Examples
    --------
    >>> sheet = parse_csv("Pass;T [degC]\n1;195,5\n", "a.csv",
    ...                   {"pass": Column(), "T": Column("temperature", ("t",))})
    >>> sheet.rows, sheet.units["T"]
    ([Row(line=2, cells={'pass': '1', 'T': '195,5'})], 'degC')
    """
    sheet = Sheet(file)
    separator, lines = _lines(text)
    if not lines:
        remedy = f"the first line names the columns: {', '.join(columns)}"
        raise alone(file, "there is no line in it", remedy)
    sheet.has_decimal_comma = separator != ","
    sheet.header_line = lines[0][0]
    names = _header(sheet, *lines[0], separator, columns)
    if len(lines) - 1 > most:
        problem = f"{len(lines) - 1} rows; a file of this sort has {most} at most"
        raise alone(file, problem, "is it the right file?")
    for number, line in lines[1:]:
        _row(sheet, number, line, separator, names)
    return sheet


def heads_of(text: str) -> tuple[int, list[str]]:
    r"""Line and cells of the header as they stand; no cells where there is none.

    Examples
    --------
    >>> heads_of("# of Monday\ntime_s;T1 [degC]\n0;20\n")
    (2, ['time_s', 'T1 [degC]'])
    """
    separator, lines = _lines(text)
    try:
        return (lines[0][0], _cells(lines[0][1], separator)) if lines else (1, [])
    except ValueError:
        return lines[0][0], []


def _lines(text: str) -> tuple[str, list[tuple[int, str]]]:
    """Find what stands between the cells; number the lines that say something."""
    lines = [
        (number, line)
        for number, line in enumerate(re.split("\r\n|\r|\n", text), start=1)
        if line.strip(" \t,;") and not line.lstrip().startswith("#")
    ]
    if lines and (named := re.fullmatch(r"\s*sep=(.)\s*", lines[0][1], re.IGNORECASE)):
        return named[1], lines[1:]  # as spreadsheets write it
    return (_separator(lines[0][1]) if lines else ","), lines


def _separator(header: str) -> str:
    """Find what stands between the cells, by the header line."""
    bare = re.sub(r'"[^"]*"', "", header)
    return next((mark for mark in SEPARATORS if mark in bare), ",")


def _cells(line: str, separator: str) -> list[str]:
    """Cells of one line; ValueError when it is no CSV."""
    try:
        found = next(csv.reader([line], delimiter=separator, strict=True,
                                skipinitialspace=True), [])  # fmt: skip
    except (csv.Error, TypeError) as error:
        raise ValueError(str(error)) from None
    return [cell.strip() for cell in found]


def _header(
    sheet: Sheet, line: int, text: str, separator: str, columns: Mapping[str, Column]
) -> list[str]:
    """Names of the columns in the order of the file; all must be known."""
    try:
        cells = _cells(text, separator)
    except ValueError:
        problem = f"no line of a CSV file: {quoted(text)}"
        remedy = "close every quote"
        raise CaseError([Mistake(sheet.file, line, problem, remedy)]) from None
    known = {
        other: name
        for name, column in columns.items()
        for other in (name.lower(), *column.names)
    }
    names = [_column(sheet, line, cell, known, columns) for cell in cells]
    sheet.stop_if_wrong()
    return names


def _column(
    sheet: Sheet,
    line: int,
    cell: str,
    known: Mapping[str, str],
    columns: Mapping[str, Column],
) -> str:
    """Name of one column, its unit noted; "" when it is empty or not known."""
    if not cell:
        return ""
    plain, unit = _split(cell, set(known))
    if plain not in known:
        meant = did_you_mean(plain, known, "", likeness=NEAR)
        remedy = f"{meant} known here: {', '.join(columns)}".strip()
        sheet.refuse(line, f"unknown column {quoted(cell)}", remedy)
        return ""
    name = known[plain]
    column = columns[name]
    if name in sheet.columns:
        sheet.refuse(line, f"two columns for {name}", "keep one of them")
        return ""
    if unit and unit not in FACTORS.get(column.kind, {}):
        kind = f"a {column.kind}" if column.kind else "a quantity with a unit"
        sheet.refuse(line, f"{quoted(cell)}: {unit} is no unit for {kind}")
        return ""
    is_own = plain in (name.lower(), *column.names)
    sheet.columns[name] = column
    sheet.units[name] = unit or (column.unit if is_own else "")
    return name


def _split(cell: str, known: set[str]) -> tuple[str, str]:
    """Name and unit of a header cell: ``temperature_degC``, ``temperature [degC]``."""
    text = cell.strip()
    if plain(text) in known:
        return plain(text), ""
    for form in (r"(.+?)[\s_]*[\[(]\s*([^\[\]()]+?)\s*[\])]", r"(.+)[\s_,]+(\S+?)"):
        found = re.fullmatch(form, text)
        if found and (unit := unit_named(found[2])):
            return plain(found[1]), unit
    return plain(text), ""


def plain(name: str) -> str:
    """Name of a column without capitals, blanks and hyphens.

    Examples
    --------
    >>> plain("Arc On"), plain("from-toe")
    ('arc_on', 'from_toe')
    """
    return re.sub(r"[\s_-]+", "_", name.strip().lower()).strip("_.:")


def unit_named(text: str) -> str:
    """Return the unit as the program spells it; "" when the text is no unit.

    Examples
    --------
    >>> unit_named("°F"), unit_named("DEGC"), unit_named("on")
    ('degF', 'degC', '')
    """
    small = text.strip().lower().replace(" ", "")
    if small in UNIT_NAMES:
        return UNIT_NAMES[small]
    units = {unit.lower(): unit for factors in FACTORS.values() for unit in factors}
    return units.get(small, "") if small else ""


def _row(sheet: Sheet, line: int, text: str, separator: str, names: list[str]) -> None:
    """Cells of one line, by name."""
    try:
        cells = _cells(text, separator)
    except ValueError:
        sheet.refuse(line, f"no line of a CSV file: {quoted(text)}", "close every quote")
        return
    while len(cells) > len(names) and not cells[-1]:
        cells.pop()
    if len(cells) > len(names):
        remedy = "one cell for each column of the header"
        if separator == ",":
            remedy += (
                '; a decimal comma needs quotes, "195,5", or semicolons between cells'
            )
        problem = f"{len(cells)} cells in a line, {len(names)} in the header"
        sheet.refuse(line, problem, remedy)
        return
    found = dict(zip(names, cells, strict=False))
    if stray := found.pop("", ""):
        problem = f"{quoted(stray)} stands in a column without a name"
        sheet.refuse(line, problem, "name the column in the header")
        return
    filled = {name: cell for name, cell in found.items() if cell and cell != "-"}
    if filled:
        sheet.rows.append(Row(line, filled))
