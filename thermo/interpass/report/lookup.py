"""Looking into the tables: rows that fit a filter, as text, CSV or JSON."""

import re
from collections.abc import Callable, Sequence
from string import ascii_lowercase

from ..physics.metals import Material, material
from ..text.errors import CatalogueError, unknown
from ..text.kinds import INCH, SI, US, ZERO_CELSIUS, UnitSystem
from ..text.layout import NOTHING, WIDTH, Table, least_width, paragraph, table_lines
from ..text.records import csv_text, json_text
from ..trade.pipes import nominal_size
from .tables import TABLES, TableRow

SCHEMA = 1
WIDEST = 110  # characters of a table; a row of a wider one is a paragraph
MOST_NAMES = 3  # columns that stand beside every part of a table in parts
NOISE = re.compile(r"(?i)^(nps|class|sch\.?|schedule)$")
LEGEND = ("source", "standing")
METALS = ("materials", "curves")

_LB, _FOOT, _BTU = 0.45359237, 12 * INCH, 1055.05585262  # kg, m, J (exact; IT)
IN_US = {  # unit of a column: that of US practice, and how many of it the first one is
    "mm": ("in", 1e-3 / INCH),
    "degC": ("degF", 1.8),
    "MPa": ("ksi", 1e3 * INCH**2 / (_LB * 9.80665)),
    "kg_per_m3": ("lb_per_in3", INCH**3 / _LB),
    "g_per_m": ("lb_per_ft", 1e-3 * _FOOT / _LB),
    "W_per_m_K": ("Btu_per_h_ft_degF", 3600 * _FOOT / 1.8 / _BTU),
    "J_per_kg_K": ("Btu_per_lb_degF", _LB / 1.8 / _BTU),
    "kJ_per_kg": ("Btu_per_lb", 1e3 * _LB / _BTU),
    "MJ_per_m3": ("Btu_per_in3", 1e6 * INCH**3 / _BTU),
}
LEAST_DIGITS = 3
UNIT = re.compile(
    f"_({'|'.join([*IN_US, *(unit for unit, _ in IN_US.values()), 'A', 's', 'percent'])})$"
)


def find_rows(table: str, words: Sequence[str] = ()) -> list[TableRow]:
    """Rows of a table in which every word of a filter is found.

    A word is a pipe size, a metal by any of its names, or the whole of a cell; where no
    cell is just that, a part of one will do.

    Parameters
    ----------
    table : str
        A key of ``TABLES``.
    words : sequence of str
        Such as ("3/4", "80S"); none for all rows.

    Raises
    ------
    CatalogueError
        No such table; no row has the word.

    Examples
    --------
    >>> [row["wall_mm"] for row in find_rows("pipe", ["NPS", "3/4", "80S"])]
    ['3.91']
    >>> [row["name"] for row in find_rows("materials", ["TP316L"])]
    ['316L']
    """
    if table not in TABLES:
        error = unknown("table", table, TABLES)
        raise error
    rows = TABLES[table]()
    for word in _filter_words(words):
        rows = _with_word(table, rows, word)
    return rows


def _filter_words(words: Sequence[str]) -> list[str]:
    """Words of a filter as the tables have them: "DN 20" in one, without "NPS"."""
    text = " ".join(words)
    text = re.sub(r"(?i)\bdn\s+(\d)", r"DN\1", text)
    text = re.sub(r"(\d)\s+(\d/\d)", r"\1-\2", text)  # 1 1/2 is one word
    parts = text.split()
    if len(parts) > 1 and len(words) == 1 and not any(map(NOISE.match, parts)):
        return [text]  # given in quotes: one word
    return [part for part in parts if not NOISE.match(part)]


def _with_word(table: str, rows: list[TableRow], word: str) -> list[TableRow]:
    """Rows with the word: by size, by metal, by whole cell, by part of a cell."""
    size, metal = _size(word), _metal(word) if table in METALS else None
    tests: tuple[Callable[[TableRow], bool], ...] = (
        lambda row: size is not None and row.get("size") == size,
        lambda row: metal is not None and metal in row.values(),
        lambda row: any(_is_cell(word, text) for text in row.values()),
        lambda row: any(word.lower() in text.lower() for text in row.values()),
    )
    for test in tests:
        found = [row for row in rows if test(row)]
        if found:
            return found
    first = next(iter(rows[0])) if rows else ""
    error = unknown(f"row of {table} with", word, dict.fromkeys(r[first] for r in rows))
    raise error


def _size(word: str) -> str | None:
    try:
        return nominal_size(word)
    except CatalogueError:
        return None


def _metal(word: str) -> str | None:
    """Metal of that name; what is held under another carries its own numbers."""
    try:
        found = material(word)
    except CatalogueError:
        return None
    origin = [source[0] for source in found.sources if source[0].startswith(found.name)]
    return origin[0].rpartition(" as ")[2] if origin else found.name


def metal_of(table: str, words: Sequence[str]) -> Material:
    """Return the one metal a filter leaves of a table of metals.

    Raises
    ------
    CatalogueError
        It is no table of metals, or the filter leaves several.
    """
    if table not in METALS:
        msg = f"table '{table}' has no curves"
        raise CatalogueError(msg, "a figure is drawn of materials or curves")
    names = list(dict.fromkeys(next(iter(r.values())) for r in find_rows(table, words)))
    if len(names) != 1:
        msg = "a figure shows one metal"
        raise CatalogueError(msg, f"name one of {', '.join(names)}")
    return material(names[0])


def _is_cell(word: str, text: str) -> bool:
    """Whether a word is a cell, or one of several in a cell, or the same number."""
    parts = [text, *re.split(r"[\s,]+", text)]
    if word.lower() in (part.lower() for part in parts):
        return True
    try:
        return float(word) == float(text)
    except ValueError:
        return False


def in_units(row: TableRow, units: UnitSystem) -> TableRow:
    """Return a row with what it holds in US customary units where those are spoken.

    A number the source itself prints in degF goes before the one converted.

    Examples
    --------
    >>> in_units({"wall_mm": "3.91", "maximum_degC": "250", "maximum_degF": ""}, US)
    {'wall_in': '0.154', 'maximum_degF': '482'}
    >>> in_units({"strength_MPa": "490", "density_kg_per_m3": "7954"}, US)
    {'strength_ksi': '71.1', 'density_lb_per_in3': '0.2874'}
    """
    if units is not US:
        return row
    found: TableRow = {}
    for key, text in row.items():
        new, shown = _in_us(key, text)
        found[new] = row.get(new) or found.get(new) or shown
    return found


def _in_us(key: str, text: str) -> tuple[str, str]:
    """Column and cell in US units; those with no other US unit as they are."""
    found = UNIT.search(key)
    if found is None or found[1] not in IN_US:
        return key, text
    unit, factor = IN_US[found[1]]
    new = f"{key[: found.start()].replace('20degC', '68degF')}_{unit}"
    if not text:
        return new, text
    if unit == "degF":
        return new, US.temperature(float(text) + ZERO_CELSIUS).split()[0]
    if unit == "in":
        return new, US.length(float(text) * 1e-3).split()[0]
    digits = max(len(text.replace(".", "").lstrip("0")), LEAST_DIGITS)
    return new, f"{float(text) * factor:#.{digits}g}".rstrip(".")


def table_text(
    table: str,
    words: Sequence[str] = (),
    units: UnitSystem = SI,
    width: int = WIDTH,
) -> str:
    """Rows as text: columns where they fit, else one paragraph a row; sources below.

    US units replace metric ones; JSON and CSV keep what their names say.
    """
    rows = [in_units(row, units) for row in find_rows(table, words)]
    marks = _marks(rows)
    shown = [k for k in rows[0] if k not in LEGEND and any(row[k] for row in rows)]
    found = _table(shown, rows, marks)
    is_narrow = least_width(found) <= WIDEST
    lines = (
        table_lines(found, width) if is_narrow else _paragraphs(shown, rows, marks, width)
    )
    legend = [
        line
        for (source, standing), mark in marks.items()
        for line in paragraph(
            f"{source} [{standing}]", f"{mark or 'Source:'}  ", "   ", width
        )
    ]
    return "\n".join([*lines, "", *legend]).rstrip() + "\n"


def _table(
    shown: Sequence[str], rows: Sequence[TableRow], marks: dict[tuple[str, str], str]
) -> Table:
    """Rows as a table; with letters for their sources where there are several."""
    heads = [", ".join(filter(None, column_head(key))) for key in shown]
    heads += ["source"] if len(marks) > 1 else []
    cells = tuple(
        (*(row[key] or NOTHING for key in shown), *_mark(row, marks)) for row in rows
    )
    numeric = {n for n, key in enumerate(shown) if _is_number([row[key] for row in rows])}
    left = (n for n in range(len(heads)) if n not in numeric)
    return Table("", tuple(heads), cells, left=tuple(left), names=_names(cells))


def _names(cells: Sequence[tuple[str, ...]]) -> int:
    """Count the first columns that tell rows apart; three at most."""
    for count in range(1, MOST_NAMES):
        if len({row[:count] for row in cells}) == len(cells):
            return count
    return MOST_NAMES


def column_head(key: str) -> tuple[str, str]:
    """Heading of a column: its words, and its unit or "".

    Examples
    --------
    >>> column_head("outside_diameter_mm"), column_head("conductivity_20degC_W_per_m_K")
    (('outside diameter', 'mm'), ('conductivity 20degC', 'W/m/K'))
    """
    unit = UNIT.search(key)
    words = (key[: unit.start()] if unit else key).replace("_", " ")
    words = words.removeprefix("pressure ")  # of the class; columns are narrow
    if not unit:
        return words, ""
    shown = unit[1].replace("_per_", "/").replace("_", "/").replace("percent", "%")
    return words, re.sub(r"(m|in)3$", r"\1^3", shown)


def _marks(rows: Sequence[TableRow]) -> dict[tuple[str, str], str]:
    """Letters for the sources of the rows; none where all have the same."""
    told = dict.fromkeys((r["source"], r["standing"]) for r in rows if "source" in r)
    letters = (a + b for a in ("", *ascii_lowercase) for b in ascii_lowercase)
    if len(told) == 1:
        return dict.fromkeys(told, "")
    return {pair: next(letters) for pair in told}


def _mark(row: TableRow, marks: dict[tuple[str, str], str]) -> list[str]:
    """Letter of a row's source, if it has one."""
    mark = marks.get((row.get("source", ""), row.get("standing", "")), "")
    return [mark] if mark else []


def _paragraphs(
    shown: Sequence[str],
    rows: Sequence[TableRow],
    marks: dict[tuple[str, str], str],
    width: int,
) -> list[str]:
    """One paragraph a row; what stands in the first column once for all its rows."""
    lines: list[str] = []
    before = ""
    for row in rows:
        first, *rest = shown
        if row[first] != before:
            lines += ["", row[first]] if lines else [row[first]]
            before = row[first]
        name, *others = rest
        words = "; ".join(
            f"{' '.join(filter(None, column_head(key)))} {row[key]}"
            for key in others
            if row[key]
        )
        mark = "".join(f" [{m}]" for m in _mark(row, marks))
        lines += paragraph(f"{row[name]}: {words}{mark}", "  ", " " * 6, width)
    return lines


def _is_number(cells: Sequence[str]) -> bool:
    """Whether a column holds numbers only, empty cells aside."""
    filled = [cell for cell in cells if cell]
    try:
        return bool([float(cell) for cell in filled])
    except ValueError:
        return False


def table_csv(table: str, words: Sequence[str] = ()) -> str:
    """Rows as CSV, the unit in the name of a column."""
    rows = find_rows(table, words)
    return csv_text([list(rows[0]), *(list(row.values()) for row in rows)])


def table_json(table: str, words: Sequence[str] = ()) -> str:
    """Rows as one JSON object; columns of numbers hold numbers, empty cells null."""
    rows = find_rows(table, words)
    whole = TABLES[table]()
    numeric = {key for key in whole[0] if _is_number([row[key] for row in whole])}
    found = [
        {k: _plain(text, is_number=k in numeric) for k, text in row.items()}
        for row in rows
    ]
    data = {"schema": SCHEMA, "table": table, "rows": found}
    return json_text(data)


def _plain(text: str, *, is_number: bool) -> float | str | None:
    if not text:
        return None
    if not is_number:
        return text
    value = float(text)
    return int(value) if value.is_integer() and "." not in text else value
