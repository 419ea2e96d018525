"""A file on its way: values, assumptions and mistakes so far; how messages name them.

Mistakes are collected, not raised, so that one look at a file shows all of them.
"""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any, TypeVar

from ..joint.case import Assumption, Doubt
from ..text.errors import Mistake, ThermoError, did_you_mean
from ..text.kinds import FACTORS, FORMS, to_degC, to_degF
from ..text.toml import KeyPath
from ..text.units import parse
from .defaults import DEFAULTS
from .keys import ALIASES, TABLES, Key, Schema

T = TypeVar("T")
_MOST = 100


class Incomplete(Exception):
    """A step cannot go on; the mistake behind it is already noted."""


@dataclass
class Draft:
    """What one file gave, what was assumed, and what is wrong.

    ``values`` holds SI numbers, words and flags by path, None for a table; ``texts``
    the values as written; ``wrong`` the paths that were given but cannot be used.
    """

    file: str
    lines: dict[KeyPath, int]
    schema: Schema = field(default_factory=lambda: TABLES)  # keys it may hold
    most: int = _MOST  # keys of a table, entries of a list
    values: dict[KeyPath, Any] = field(default_factory=dict)
    texts: dict[KeyPath, str] = field(default_factory=dict)
    wrong: set[KeyPath] = field(default_factory=set)
    mistakes: list[Mistake] = field(default_factory=list)
    assumptions: list[Assumption] = field(default_factory=list)
    doubt: list[Doubt] = field(default_factory=list)

    def line(self, path: KeyPath) -> int | None:
        """Line of a path, or of the nearest table round it."""
        while path and path not in self.lines:
            path = path[:-1]
        return self.lines.get(path)

    def refuse(self, path: KeyPath, problem: str, remedy: str = "") -> None:
        """Note a mistake at a path; its value is not used."""
        self.wrong.add(path)
        mistake = Mistake(self.file, self.line(path), problem, remedy)
        if mistake not in self.mistakes:  # [arc] is looked at for every pass
            self.mistakes.append(mistake)

    def stop(self, path: KeyPath, problem: str, remedy: str = "") -> Incomplete:
        """Note a mistake that ends the step: ``raise draft.stop(...)``."""
        self.refuse(path, problem, remedy)
        return Incomplete()

    def has(self, path: KeyPath) -> bool:
        """Whether the file gives this key, rightly or not."""
        return path in self.values or self.is_wrong(path)

    def is_wrong(self, path: KeyPath) -> bool:
        """Whether this key, or a table round it, cannot be used."""
        return any(path[:size] in self.wrong for size in range(len(path) + 1))

    def get(self, path: KeyPath) -> Any:
        """Value given, or None; Incomplete when it was given wrong."""
        if self.is_wrong(path):
            raise Incomplete
        return self.values.get(path)

    def need(self, path: KeyPath, remedy: str) -> Any:
        """Value given; a mistake when there is none."""
        if not self.has(path):
            raise self.stop(path, f"{label(path)} is missing", remedy)
        return self.get(path)

    def default(self, path: KeyPath, table: str = "") -> Any:
        """Value given, else the default, noted as an assumption.

        ``table`` is where the default is listed when ``path`` is an entry of a list.
        """
        if self.has(path):
            return self.get(path)
        otherwise = DEFAULTS[table or str(path[0]), str(path[-1])]
        self.assume(path, otherwise.value, otherwise.source, otherwise.standing)
        if otherwise.kind == "word":
            return otherwise.value
        return parse(otherwise.value, otherwise.kind)

    def assume(self, path: KeyPath, value: str, source: str, standing: str) -> None:
        """Note a number the run uses and where it came from."""
        self.assumptions.append(Assumption(label(path), value, source, standing))

    def look_up(
        self, path: KeyPath, table: Callable[..., T], *names: Any, **more: Any
    ) -> T:
        """Ask a catalogue; what it does not hold is a mistake at ``path``."""
        try:
            return table(*names, **more)
        except ThermoError as error:
            problem = f"{label(path)}: {error.problem}"
            raise self.stop(path, problem, error.remedy) from error


def attempt(step: Callable[..., T], draft: Draft, *given: Any) -> T | None:
    """Run a step; None when it, or a step it builds on, could not be done."""
    if any(value is None for value in given):
        return None
    try:
        return step(draft, *given)
    except Incomplete:
        return None


def together(*steps: Callable[[], Any]) -> list[Any]:
    """Results of steps that do not need one another; all are run before one stops."""
    results, failed = [], False
    for step in steps:
        try:
            results.append(step())
        except Incomplete:
            failed = True
    if failed:
        raise Incomplete
    return results


def given_of(draft: Draft, table: KeyPath, names: tuple[str, ...]) -> list[str]:
    """Which of these keys a table gives."""
    if draft.is_wrong(table):
        raise Incomplete
    return [name for name in names if draft.has((*table, name))]


def one_of(draft: Draft, table: KeyPath, names: tuple[str, ...]) -> str:
    """Name of the one key given out of several that exclude one another."""
    found = given_of(draft, table, names)
    if not found:
        listed = " or ".join(names)
        problem = f"{label(table)} has no {listed}"
        raise draft.stop((*table, names[0]), problem, "give one of them")
    keep_one(draft, table, found)
    return found[0]


def keep_one(draft: Draft, table: KeyPath, found: list[str]) -> None:
    """Refuse the second of two keys that exclude one another."""
    if len(found) > 1:
        later = max(found, key=lambda name: draft.line((*table, name)) or 0)
        others = " and ".join(name for name in found if name != later)
        problem = f"{label((*table, later))} cannot stand beside {others}"
        raise draft.stop((*table, later), problem, "keep one of them")


LONGEST_NAME = 60
_LONGEST_SHOWN = 40
_AN = ("angle", "area", "energy")


def label(path: KeyPath) -> str:
    """How messages name a path; entries count from 1.

    Examples
    --------
    >>> label(("pass", 1, "wire", "feed"))
    'pass.2.wire.feed'
    """
    parts = (str(part + 1) if isinstance(part, int) else part for part in path)
    text = ".".join(parts)
    if not text.isprintable():
        text = text.encode("unicode_escape").decode("ascii")
    return text if len(text) <= LONGEST_NAME else text[: LONGEST_NAME - 3] + "..."


def table_line(path: KeyPath, brackets: str = "[]") -> str:
    """How a file begins the table at a path: entries of lists are not counted.

    Examples
    --------
    >>> table_line(("pass", 1, "wire")), table_line(("pass", 0), "[[]]")
    ('[pass.wire]', '[[pass]]')
    """
    half = len(brackets) // 2
    name = label(tuple(part for part in path if not isinstance(part, int)))
    return f"{brackets[:half]}{name}{brackets[half:]}"


def shown(given: Any) -> str:
    """Value as given, short enough to print."""
    if isinstance(given, dict):
        return "a table"
    if isinstance(given, list):
        return "a list"
    if isinstance(given, bool):
        return str(given).lower()
    if isinstance(given, int) and abs(given) > 10**15:
        return "that number"  # Python may refuse to spell it
    text = repr(given) if isinstance(given, str) else str(given)
    return text if len(text) <= _LONGEST_SHOWN else text[: _LONGEST_SHOWN - 3] + "..."


def known_key(name: str, known: Iterable[str]) -> str:
    """Remedy for a key nobody reads."""
    known = list(known)
    meant = ALIASES.get(name.lower(), "")
    return did_you_mean(meant if meant in known else name, known)


def form(key: Key) -> str:
    """How a value of this key is written."""
    words = [f'"{word}"' for word in key.words]
    if key.kind in FORMS:
        is_plain = key.kind == "dimensionless"
        words.append("a plain number" if is_plain else with_article(key.kind))
        example = FORMS[key.kind] if is_plain else f'"{FORMS[key.kind]}"'
        return " or ".join(words) + f", like {example}"
    if key.kind == "word":
        words += ["a table"] if key.table else []
        return " or ".join(words) if len(words) < 3 else "one of " + ", ".join(words)
    return {
        "count": f"a whole number, {key.low} to {key.high}",
        "text": "a text in quotes",
        "texts": 'texts in a list, like ["one", "another"]',
        "flag": "true or false",
        "curve": f'pairs from cold to hot, like [["20 degC", "{FORMS.get(key.of)}"]]',
    }.get(key.kind, "a table")


def with_article(kind: str) -> str:
    """Kind of quantity with its article."""
    return f"{'an' if kind in _AN else 'a'} {kind}"


def shown_range(key: Key, kind: str, given: str) -> str:
    """Range of a key in the unit the user wrote.

    Examples
    --------
    >>> shown_range(Key("length", "2.54 mm", "254 mm"), "length", "90 in")
    '0.1 to 10 in'
    """
    low, high = parse(key.low, kind), parse(key.high, kind)
    unit = "".join(re.findall(r"[A-Za-z%].*$", given.strip()))
    if kind == "temperature" and unit in ("degF", "degC"):
        scale = to_degF if unit == "degF" else to_degC
        low, high = scale(low), scale(high)
    elif unit in FACTORS[kind]:
        one = float(FACTORS[kind][unit])
        low, high = low / one, high / one
    else:
        return f"{key.low} to {key.high}"
    return f"{_plain(low)} to {_plain(high)} {unit}".strip()


def _plain(number: float) -> str:
    """Four figures, without an exponent where it can be helped."""
    return f"{float(f'{number:.4g}'):.10g}"
