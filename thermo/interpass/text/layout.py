"""Plain text in columns and paragraphs, and times as a shop says them.

Nothing here knows about welds; every line is made to fit a terminal.
"""

from collections.abc import Sequence
from textwrap import wrap

WIDTH = 80


GAP = "  "


NOTHING = "-"  # in a cell with nothing to say


Row = Sequence[str]


def columns(
    headers: Row,
    rows: Sequence[Row],
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


def _line(row: Row, wide: Sequence[int], left: Sequence[int]) -> str:
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


def paragraph(text: str, first: str = "", rest: str | None = None) -> list[str]:
    """Lines of at most WIDTH; ``first`` opens the first line, ``rest`` the others.

    Examples
    --------
    >>> paragraph("plain words", "- ")
    ['- plain words']
    """
    indent = " " * len(first) if rest is None else rest
    return wrap(
        text,
        WIDTH,
        initial_indent=first,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
    )
