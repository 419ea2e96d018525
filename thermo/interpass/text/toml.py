"""Where each key of a TOML text stands: tomllib keeps the values, not the lines.

The scan reads tokens with a stack of its own and never fails: on a text that is no
TOML it returns the keys it could make out.
"""

import json
import re
import tomllib
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, NamedTuple

from .errors import CaseError, Mistake

_AT = re.compile(r"\s*\(at (?:line (\d+), column \d+|end of document)\)")

_CURES = (
    ("Expected newline", 'put a value with a unit in quotes, like "80 A"'),
    ("Invalid value", 'put text and values with a unit in quotes, like "80 A"'),
    ("Cannot overwrite", "a key may stand only once in its table"),
    ("Duplicate inline table key", "a key may stand only once in its table"),
    ("Cannot declare", "a table may stand only once; passes take [[pass]]"),
    ("Expected '='", "write key = value"),
    ("Unescaped", "use straight quotes, and \\\\ for a backslash"),
)

KeyPath = tuple[str | int, ...]
DEEPEST = 10  # names and indices in a path; whatever nests deeper is not told apart

_TOKEN = re.compile(
    r"""(?P<space>[ \t\r]+|\#[^\n]*)
      | (?P<text>\"{3}(?:\\.|[^\\])*?(?:\"{3}\"{0,2}|\Z) | '{3}.*?(?:'{3}'{0,2}|\Z)
               | "(?:\\[^\n]|[^"\\\n])*"? | '[^'\n]*'?)
      | (?P<mark>[\[\]{},=.\n])
      | (?P<bare>[^\s"'\#\[\]{},=.]+ | .)""",
    re.VERBOSE | re.DOTALL,
)

_DIGITS = re.compile(r"[0-9][0-9_]{4000,}")  # Python itself reads 4300 in a whole number
_ESCAPED = re.compile(r"\\U([0-9a-fA-F]{8})")


class _Token(NamedTuple):
    kind: str  # "text", "mark" or "bare"
    text: str
    start: int


class _Open(NamedTuple):
    """An array or inline table not closed yet; ``path`` is its own."""

    is_array: bool
    path: KeyPath


@dataclass(frozen=True)
class Positions:
    """Where things stand in a TOML text; lines count from 1.

    A path holds the names of tables and keys and the 0-based index of array elements:
    ``("pass", 1, "wire", "feed")``.
    """

    lines: dict[KeyPath, int]
    deep_line: int | None  # the first line that nests deeper than DEEPEST


def scan(text: str) -> Positions:
    r"""Find the line of every key, table and array element, in one linear pass.

    Parameters
    ----------
    text : str
        The file, lines ending in ``\n`` or ``\r\n``.

    Examples
    --------
    >>> found = scan("[[pass]]\nwire = { feed = 1 }\n[[pass]]\nwait = 2\n")
    >>> found.lines["pass", 0, "wire", "feed"], found.lines["pass", 1, "wait"]
    (2, 4)
    """
    walk = _Walk(text)
    walk.run()
    return Positions(walk.lines, walk.deep_line)


class _Walk:
    """One walk over the tokens: what is open, and what was found."""

    def __init__(self, text: str) -> None:
        self.breaks = [found.start() for found in re.finditer("\n", text)]
        self.tokens = list(_tokens(text))
        self.at = 0
        self.lines: dict[KeyPath, int] = {}
        self.deep_line: int | None = None
        self.last_of: dict[KeyPath, int] = {}  # arrays of tables: index of the open one
        self.table: KeyPath = ()
        self.open: list[_Open] = []
        self.counts: list[int] = []  # elements begun in each open bracket

    def run(self) -> None:
        while self.at < len(self.tokens):
            if self.open:
                self.inside_brackets()
            else:
                self.statement()

    def statement(self) -> None:
        """Read a header, or a key up to the start of its value."""
        token = self.tokens[self.at]
        if token.text == "\n" and token.kind == "mark":
            self.at += 1
        elif self.is_mark(0, "["):
            self.header(token.start)
        else:
            self.key_and_value(self.table)

    def header(self, start: int) -> None:
        """Read ``[table]`` or ``[[array of tables]]`` to the end of its line."""
        is_array = self.is_mark(1, "[") and self.tokens[self.at + 1].start == start + 1
        self.at += 2 if is_array else 1
        parts = self.key_parts()
        path: KeyPath = ()
        for number, part in enumerate(parts, start=1):
            path = self.note(path, part, start)
            if is_array and number == len(parts):
                self.last_of[path] = self.last_of.get(path, -1) + 1
            if path in self.last_of:
                path = self.note(path, self.last_of[path], start)
        self.table = path
        self.skip_line()

    def key_and_value(self, within: KeyPath) -> None:
        """Read ``key =`` and what opens its value; a scalar is passed over."""
        start = self.tokens[self.at].start
        parts = self.key_parts()
        path = within
        for part in parts:
            path = self.note(path, part, start)
        if not self.is_mark(0, "="):
            self.at += 1  # no TOML: step on
            return
        self.at += 1
        self.value(path)
        if not self.open:
            self.skip_line()

    def value(self, path: KeyPath) -> None:
        """Open an array or inline table; pass over anything else."""
        if self.is_mark(0, "[") or self.is_mark(0, "{"):
            self.open.append(_Open(self.is_mark(0, "["), path))
            self.counts.append(0)
            self.at += 1
            return
        while self.at < len(self.tokens) and not self.ends_value():
            self.at += 1

    def inside_brackets(self) -> None:
        """Read one element, one key or one closing bracket."""
        if self.is_mark(0, "]") or self.is_mark(0, "}"):
            self.open.pop()
            self.counts.pop()
            self.at += 1
            if not self.open:
                self.skip_line()
        elif self.is_mark(0, ",") or self.is_mark(0, "\n"):
            self.at += 1
        elif self.open[-1].is_array:
            self.element()
        else:
            self.key_and_value(self.open[-1].path)

    def element(self) -> None:
        before = self.at
        path = self.note(self.open[-1].path, self.counts[-1], self.tokens[before].start)
        self.counts[-1] += 1
        self.value(path)
        self.at = max(self.at, before + 1)

    def key_parts(self) -> list[str]:
        """Read ``a."b c".d`` and return its names."""
        parts = []
        while self.at < len(self.tokens):
            token = self.tokens[self.at]
            if token.kind == "mark" and token.text != ".":
                break
            if token.kind != "mark":
                parts.append(_name(token))
            self.at += 1
        return parts

    def note(self, within: KeyPath, name: str | int, start: int) -> KeyPath:
        """Keep the line of ``name`` in ``within`` and return its path."""
        line = bisect_right(self.breaks, start) + 1
        if len(within) >= DEEPEST:
            self.deep_line = self.deep_line or line
            return within
        path = (*within, name)
        self.lines.setdefault(path, line)
        return path

    def is_mark(self, ahead: int, text: str) -> bool:
        if self.at + ahead >= len(self.tokens):
            return False
        token = self.tokens[self.at + ahead]
        return token.kind == "mark" and token.text == text

    def ends_value(self) -> bool:
        token = self.tokens[self.at]
        return token.kind == "mark" and token.text in ("\n", ",", "]", "}")

    def skip_line(self) -> None:
        while self.at < len(self.tokens) and not self.is_mark(0, "\n"):
            self.at += 1


def _tokens(text: str) -> Iterator[_Token]:
    for found in _TOKEN.finditer(text):
        kind = found.lastgroup or "bare"
        if kind != "space":
            yield _Token(kind, found.group(), found.start())


def _name(token: _Token) -> str:
    """Name a key token stands for, its quotes and escapes resolved."""
    if token.kind == "bare" or token.text[0] == "'":
        return token.text.strip("'") if token.kind == "text" else token.text
    plain = _ESCAPED.sub(_long_escape, token.text)
    try:
        return str(json.loads(plain, strict=False))
    except ValueError:
        return token.text.strip('"')


def _long_escape(found: re.Match[str]) -> str:
    r"""Write ``\UXXXXXXXX`` the way JSON knows."""
    code = int(found[1], 16)
    return json.dumps(chr(code))[1:-1] if code < 0x110000 else ""


def case_table(
    text: str, file: str = "case.toml", found: Positions | None = None
) -> dict[str, Any]:
    """Plain table of a case text as TOML has it; nothing but the syntax is checked.

    Raises
    ------
    CaseError
        With the one mistake of syntax.
    """
    found = found or scan(text)
    if not text.strip():
        remedy = "start from one of the cases shipped"
        raise CaseError([Mistake(file, 1, "the file is empty", remedy)])
    if found.deep_line:
        problem = f"nested more than {DEEPEST} deep"
        remedy = "no case key is; look for a bracket or a dot too many"
        raise CaseError([Mistake(file, found.deep_line, problem, remedy)])
    if digits := _DIGITS.search(text):
        line = text.count("\n", 0, digits.start()) + 1
        problem = f"a number of {len(digits[0])} digits"
        raise CaseError([Mistake(file, line, problem, "no joint has one; shorten it")])
    try:
        return tomllib.loads(text)
    except RecursionError:
        problem = "brackets inside brackets, too many"
        remedy = "look for a bracket or a dot too many"
        raise CaseError([Mistake(file, 1, problem, remedy)]) from None
    except ValueError as error:
        raise CaseError([_syntax(str(error), file, text)]) from None


def _syntax(message: str, file: str, text: str) -> Mistake:
    """Say what tomllib found, with its line and what to do."""
    where = _AT.search(message)
    line = int(where[1]) if where and where[1] else text.rstrip().count("\n") + 1
    problem = f"not TOML: {_AT.sub('', message)}"
    cures = [cure for sign, cure in _CURES if sign in message]
    return Mistake(file, line, problem, cures[0] if cures else "see a case shipped")
