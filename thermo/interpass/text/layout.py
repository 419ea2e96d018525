"""Plain text in columns and paragraphs, and times as a shop says them.

Nothing here knows about welds; every line is made to fit a terminal.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from textwrap import wrap

WIDTH = 80  # characters, where nothing is known of the terminal
NARROWEST = 60  # a terminal narrower than this breaks the lines itself
GAP = "  "
NOTHING = "-"  # in a cell with nothing to say
DEPTHS = (2, 3, 4, 6)  # lines of a head, tried in turn until the table is narrow enough
LEAST_WORDS = 16  # characters that a column of words keeps
Cells = Sequence[str]


def columns(
    headers: Cells,
    rows: Sequence[Cells],
    left: Sequence[int] = (),
    groups: Sequence[tuple[str, int, int]] = (),
) -> list[str]:
    r"""Lines of a table: headers of one or more lines, then the rows.

    Parameters
    ----------
    headers : sequence of str
        One per column; ``\n`` breaks a header into lines, the last standing next to
        the rows.
    rows : sequence of sequences of str
        Cells, as many as headers.
    left : sequence of int
        Columns set flush left; the others are set flush right, as numbers are.
    groups : sequence of (str, int, int)
        Titles over several columns, with the first column and the last, in order. They
        stand in the first line of the headers, which must be empty there.

    Examples
    --------
    >>> for line in columns(("pass", "arc on\ns"), (("1", "83.9"), ("2", "91.5"))):
    ...     print(line)
          arc on
    pass       s
       1    83.9
       2    91.5
    """
    heads = [head.split("\n") for head in headers]
    deep = max(len(head) for head in heads)
    heads = [[""] * (deep - len(head)) + head for head in heads]
    grid = [*zip(*heads, strict=True), *rows]
    wide = [max(len(cell) for cell in column) for column in zip(*grid, strict=True)]
    for title, first, last in groups:
        _widen(wide, len(title), first, last)
    lines = [_line(row, wide, left) for row in grid]
    if groups:
        lines[0] = _with_groups(lines[0], wide, groups)
    return lines


def _line(row: Cells, wide: Sequence[int], left: Sequence[int]) -> str:
    cells = (
        cell.ljust(width) if n in left else cell.rjust(width)
        for n, (cell, width) in enumerate(zip(row, wide, strict=True))
    )
    return GAP.join(cells).rstrip()


def _widen(wide: list[int], title: int, first: int, last: int) -> None:
    """Make the first of some columns wide enough for the title over all of them."""
    room = sum(wide[first : last + 1]) + len(GAP) * (last - first)
    wide[first] += max(title - room, 0)


def _with_groups(
    line: str, wide: Sequence[int], groups: Sequence[tuple[str, int, int]]
) -> str:
    """Write titles over their columns, between two rules of dashes."""
    for title, first, last in groups:
        start = sum(wide[:first]) + len(GAP) * first
        room = sum(wide[first : last + 1]) + len(GAP) * (last - first)
        shown = (
            f" {title} ".center(room, "-")
            if room > len(title) + 3
            else title.center(room)
        )
        line = line.ljust(start)[:start] + shown + line[start + room :]
    return line.rstrip()


def paragraph(
    text: str, first: str = "", rest: str | None = None, width: int = WIDTH
) -> list[str]:
    """Lines of at most ``width``; ``first`` opens the first one, ``rest`` the others.

    Examples
    --------
    >>> paragraph("plain words", "- ")
    ['- plain words']
    """
    indent = " " * len(first) if rest is None else rest
    return wrap(
        text,
        width,
        initial_indent=first,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
    )


@dataclass(frozen=True)
class Table:
    """One subject in rows and columns, made once for a terminal and for a page.

    ``left`` are the columns of words, the others hold numbers. ``groups`` are titles over
    several columns: title, first column, last column. The first ``names`` columns say which
    row it is, and stand beside every part of a table that is set out in parts.
    """

    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...] = ()
    left: tuple[int, ...] = ()
    groups: tuple[tuple[str, int, int], ...] = ()
    names: int = 1

    @property
    def flat_heads(self) -> tuple[str, ...]:
        """Heads that say the title of their group too, where there is but one line."""
        flat = list(self.heads)
        for title, first, last in self.groups:
            for n in range(first, last + 1):
                flat[n] = f"{title}: {flat[n]}" if flat[n] else title
        return tuple(flat)

    def only(self, columns: Sequence[int]) -> "Table":
        """Return the same table with some of its columns, in their order."""
        groups = []
        for title, first, last in self.groups:
            if kept := [new for new, n in enumerate(columns) if first <= n <= last]:
                groups.append((title, kept[0], kept[-1]))
        return replace(
            self,
            heads=tuple(self.heads[n] for n in columns),
            rows=tuple(tuple(row[n] for n in columns) for row in self.rows),
            left=tuple(new for new, n in enumerate(columns) if n in self.left),
            groups=tuple(groups),
        )


@dataclass(frozen=True)
class Words:
    """A paragraph: ``first`` opens its first line, ``rest`` the others."""

    text: str
    first: str = ""
    rest: str | None = None


Block = Table | Words


def lines_of(blocks: Iterable[Block], width: int = WIDTH) -> list[str]:
    """Lines of tables and paragraphs, none wider than the terminal; tables stand apart."""
    lines: list[str] = []
    for block in blocks:
        if isinstance(block, Words):
            lines += paragraph(block.text, block.first, block.rest, width)
            continue
        if lines:
            lines.append("")
        lines += paragraph(block.title, width=width)
        lines += table_lines(block, width)
        lines += paragraph(" ".join(block.notes), width=width)
    return lines


def table_lines(table: Table, width: int = WIDTH) -> list[str]:
    """Lines of a table that is no wider than ``width`` as far as words can be broken.

    Heads are broken first, then the cells of words; then the columns that have no room
    stand below, again beside those that name a row.

    Examples
    --------
    >>> table = Table("", ("pass", "arc on for, s"), (("1", "83.9"), ("2", "91.5")))
    >>> for line in table_lines(table):
    ...     print(line)
          arc on for
    pass           s
       1        83.9
       2        91.5
    """
    for deep in DEPTHS:
        lines = _set_out(table, deep)
        if _widest(lines) <= width:
            return lines
    for deep in DEPTHS:
        folded = _folded(table, _widest(_set_out(table, deep)) - width)
        lines = _set_out(folded, deep)
        if _widest(lines) <= width:
            return lines
    if len(table.heads) <= table.names + 1:
        return lines
    whole = _in_parts(table, width)
    return whole if _widest(whole) <= width else _in_parts(folded, width)


def least_width(table: Table) -> int:
    """Characters of a line of a table with its heads broken and its cells whole."""
    return _widest(_set_out(table, DEPTHS[-1]))


def _in_parts(table: Table, width: int) -> list[str]:
    """As many columns as there is room for, and the others below them."""
    many, least = len(table.heads), table.names + 1
    fits = next(
        (
            n
            for n in range(many - 1, least, -1)
            if _widest(_set_out(table.only(range(n)), DEPTHS[-1])) <= width
        ),
        least,
    )
    rest = (*range(table.names), *range(fits, many))
    return [*table_lines(table.only(range(fits)), width), "",
            *table_lines(table.only(rest), width)]  # fmt: skip


def _set_out(table: Table, deep: int) -> list[str]:
    """Lines with heads of at most ``deep`` lines, where words allow it."""
    grouped = {n for _, first, last in table.groups for n in range(first, last + 1)}
    cells = zip(*table.rows, strict=True) if table.rows else [()] * len(table.heads)
    heads = []
    for n, (head, column) in enumerate(zip(table.heads, cells, strict=True)):
        least = max((len(cell) for cell in column), default=1)
        above = n in grouped  # the title of its group has a line of its own
        broken = "\n".join(_broken(head, least, deep - above))
        heads.append(f"\n{broken}" if above else broken)
    return columns(heads, table.rows, table.left, table.groups)


def _broken(head: str, least: int, deep: int) -> list[str]:
    """Break a head into few short lines, none shorter than its column is anyway.

    What follows the last comma is the unit, and has the last line.
    """
    words, comma, unit = head.rpartition(", ")
    if deep < 2:
        return [head]
    under = [unit] if comma else []
    words = words if comma else head
    longest = max((len(word) for word in words.split()), default=1)
    for width in range(max(least, longest), max(len(words), least, longest) + 1):
        lines = wrap(words, width, break_long_words=False, break_on_hyphens=False)
        if len(lines) + len(under) <= deep:
            return lines + under
    return [head]


def _folded(table: Table, over: int) -> Table:
    """Break the cells of the widest column of words, so that ``over`` columns are saved."""
    sizes = {n: max((len(row[n]) for row in table.rows), default=0) for n in table.left}
    if over <= 0 or not sizes:
        return table
    widest = max(sizes, key=lambda n: sizes[n])
    longest = max(len(word) for row in table.rows for word in row[widest].split() or [""])
    width = max(sizes[widest] - over, LEAST_WORDS, longest)
    rows: list[tuple[str, ...]] = []
    for row in table.rows:
        for n, line in enumerate(wrap(row[widest], width) or [""]):
            cells = list(row) if n == 0 else [""] * len(row)
            cells[widest] = line
            rows.append(tuple(cells))
    return replace(table, rows=tuple(rows))


def _widest(lines: Sequence[str]) -> int:
    return max((len(line) for line in lines), default=0)
