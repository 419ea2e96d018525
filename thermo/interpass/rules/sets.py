"""Rule sets shipped (rules.toml beside it) and of one's own; read by the checker of case files.

Files of rules: the TOML text into rule sets, or all of its mistakes at once.

Rule sets: those shipped in ``data/rules.toml``, files of one's own, and the choice.

A rule is a row of data: a quantity, what it must be, and who says so.
"""

import re
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import cache, cached_property
from importlib import resources
from pathlib import Path
from typing import Any

from ..text.errors import CaseError, Mistake, did_you_mean, unknown
from ..text.files import case_text
from ..text.toml import case_table, scan
from ..text.units import UnitError
from ..trade.rows import STANDINGS
from .language import NUMBER, TEXT, TRUTH, Expression, ExpressionError, read_expression
from .of_joint import to_unit
from .quantities import KINDS

SENSES = {
    "at_least": "at least",
    "at_most": "at most",
    "above": "above",
    "below": "below",
}

WARN = "warn"  # of a file of rules: a note that is marked strong
VERDICTS = ("fail", "note", WARN)
TOLD = ("always", "when asked")  # when asked: true of most joints, no news for this one
GIVEN = "given"
LONGEST = 300
SET_KEYS = {"name": str, "words": str, "with": list, "rule": list}

RULE_KEYS = dict.fromkeys(
    ("name", "value", *SENSES, "when", "verdict", "source", "standing", "advice", "told"),
    str,
)

PLACEHOLDER = re.compile(r"\{(\w*)\}")


@dataclass(frozen=True)
class Rule:
    """One rule: a quantity and what it must be; without ``required`` it only tells."""

    name: str
    rule_set: str
    value: Expression
    sense: str  # "at least", "at most", "above", "below", or ""
    required: Expression | None
    when: Expression | None
    verdict: str  # when it is not met: "fail", "note" or "warn"
    source: str
    standing: str
    advice: str = ""
    told: str = TOLD[0]  # "always", or "when asked": not on the first screen

    @cached_property
    def names(self) -> frozenset[str]:
        """Every quantity the rule needs."""
        parts = [part for part in (self.value, self.required, self.when) if part]
        return frozenset().union(*(part.names for part in parts))

    @property
    def requirement(self) -> str:
        """What the value must be, as written."""
        return f"{self.sense} {self.required.text}" if self.required else ""


@dataclass(frozen=True)
class RuleSet:
    """Rules that go together, and the sets they build on."""

    name: str
    words: str
    builds_on: tuple[str, ...]
    rules: tuple[Rule, ...]


def read_sets(text: str, file: str, others: Sequence[str] = ()) -> tuple[RuleSet, ...]:
    """Read the rule sets of a text; ``others`` may be built on as well.

    Raises
    ------
    CaseError
        With every mistake of the text.
    """
    reader = _Reader(file, scan(text).lines, others)
    found = reader.sets(case_table(text, file))
    if reader.mistakes:
        raise CaseError(reader.mistakes)
    return found


class _Reader:
    """Reads one file and keeps its mistakes."""

    def __init__(self, file: str, lines: dict[Any, int], others: Sequence[str]) -> None:
        self.file, self.lines, self.others = file, {(): 1} | lines, others
        self.mistakes: list[Mistake] = []

    def refuse(self, path: tuple[Any, ...], problem: str, remedy: str) -> None:
        """Note a mistake at the nearest line."""
        while path and path not in self.lines:
            path = path[:-1]
        line = self.lines.get(path)
        self.mistakes.append(Mistake(self.file, line, problem, remedy))

    def sets(self, table: dict[str, Any]) -> tuple[RuleSet, ...]:
        """All sets of the file."""
        entries = table.get("set")
        for name in table:
            if name != "set":
                self.refuse((name,), f"unknown key '{name}'", "rules stand in [[set]]")
        if not self._tables(entries, ("set",), "set") or entries is None:
            return ()
        names = [one.get("name") for one in entries]
        known = [*self.others, *(name for name in names if isinstance(name, str))]
        sets = [self._set(one, ("set", n), known) for n, one in enumerate(entries)]
        for n, name in enumerate(names):
            if name in (*self.others, *names[:n]):
                problem = f"there is a rule set '{name}' already"
                self.refuse(("set", n, "name"), problem, "give it another name")
        return tuple(sets)

    def _tables(self, given: Any, path: tuple[Any, ...], what: str) -> bool:
        if isinstance(given, list) and given and all(isinstance(t, dict) for t in given):
            return True
        self.refuse(
            path, f"there is no [[{what}]]", f"write [[{what}]] and its keys below"
        )
        return False

    def _keys(
        self, table: dict[str, Any], keys: Mapping[str, type], path: tuple[Any, ...]
    ) -> None:
        """Refuse keys nobody reads and values of the wrong sort."""
        for name, value in table.items():
            if name not in keys:
                self.refuse(
                    (*path, name), f"unknown key '{name}'", did_you_mean(name, keys)
                )
            elif not isinstance(value, keys[name]) or (
                isinstance(value, str) and not (value.strip() and len(value) <= LONGEST)
            ):
                form = "a text in quotes" if keys[name] is str else "a list"
                self.refuse(
                    (*path, name), f"{name} is not {form}", f'write {name} = "..."'
                )

    def _set(
        self, table: dict[str, Any], path: tuple[Any, ...], known: Sequence[str]
    ) -> RuleSet:
        self._keys(table, SET_KEYS, path)
        name = self._text(table, "name", path)
        given = table.get("with", [])
        basis = given if isinstance(given, list) else []
        for other in basis:
            if other not in known or other == name:
                remedy = did_you_mean(other, known, "see 'tables rules'")
                self.refuse((*path, "with"), f"no rule set '{other}'", remedy)
        entries = table.get("rule")
        is_usable = self._tables(entries, (*path, "rule"), "set.rule")
        rules = entries if is_usable and entries else []
        read = [self._rule(r, (*path, "rule", n), name) for n, r in enumerate(rules)]
        return RuleSet(
            name, str(table.get("words", "")), tuple(map(str, basis)),
            tuple(rule for rule in read if rule),
        )  # fmt: skip

    def _text(self, table: dict[str, Any], key: str, path: tuple[Any, ...]) -> str:
        """Text that must be there."""
        if key not in table:
            self.refuse(path, f"{key} is missing", f'write {key} = "..."')
        value = table.get(key, "")
        return value if isinstance(value, str) else ""

    def _rule(
        self, table: dict[str, Any], path: tuple[Any, ...], rule_set: str
    ) -> Rule | None:
        before = len(self.mistakes)
        self._keys(table, RULE_KEYS, path)
        name, _, source = (
            self._text(table, k, path) for k in ("name", "value", "source")
        )
        value = self._expression(table, "value", path)
        verdict = self._word(table, "verdict", path, VERDICTS, VERDICTS[0])
        allowed = (*STANDINGS, GIVEN)
        is_open = PLACEHOLDER.fullmatch(str(table.get("standing", "")))
        standing = (
            str(table["standing"])
            if is_open
            else self._word(table, "standing", path, allowed, GIVEN)
        )
        for key in ("source", "standing"):
            self._placeholders(table.get(key, ""), (*path, key))
        when = self._expression(table, "when", path)
        if when and when.kind != TRUTH:
            self.refuse((*path, "when"), "when is no condition", "like passes > 1")
        told = self._word(table, "told", path, TOLD, TOLD[0])
        sense, required = self._required(table, path, value)
        if len(self.mistakes) > before or value is None:
            return None
        advice = str(table.get("advice", ""))
        return Rule(
            name,
            rule_set,
            value,
            sense,
            required,
            when,
            verdict,
            source,
            standing,
            advice,
            told,
        )

    def _word(
        self,
        table: dict[str, Any],
        key: str,
        path: tuple[Any, ...],
        allowed: Sequence[str],
        default: str,
    ) -> str:
        value = table.get(key, default)
        if value not in allowed:
            remedy = f"{did_you_mean(value, allowed, '')} one of {', '.join(allowed)}"
            problem = f"{key} '{value}' is not known"
            self.refuse((*path, key), problem, remedy.strip())
        return str(value)

    def _placeholders(self, text: Any, path: tuple[Any, ...]) -> None:
        for name in PLACEHOLDER.findall(text if isinstance(text, str) else ""):
            if KINDS.get(name) != TEXT:
                words = [n for n, kind in KINDS.items() if kind == TEXT]
                remedy = did_you_mean(name, words, "only words can be put in")
                self.refuse(path, f"no word '{name}' to put in", remedy)

    def _expression(
        self, table: dict[str, Any], key: str, path: tuple[Any, ...]
    ) -> Expression | None:
        text = table.get(key)
        if not isinstance(text, str):
            return None
        try:
            return read_expression(text, KINDS)
        except ExpressionError as error:
            self.refuse((*path, key), f"{key}: {error.problem}", error.remedy)
            return None

    def _required(
        self, table: dict[str, Any], path: tuple[Any, ...], value: Expression | None
    ) -> tuple[str, Expression | None]:
        """Comparison and requirement; neither where the rule only tells."""
        given = [key for key in SENSES if key in table]
        if len(given) > 1:
            problem = f"{given[1]} cannot stand beside {given[0]}"
            self.refuse((*path, given[1]), problem, "make two rules of it")
        if len(given) != 1 or value is None or not isinstance(table[given[0]], str):
            return "", None
        try:
            return SENSES[given[0]], required_of(table[given[0]], value)
        except ExpressionError as error:
            self.refuse((*path, given[0]), f"{given[0]}: {error.problem}", error.remedy)
            return "", None


def required_of(text: str, value: Expression) -> Expression:
    """Return what a value must be: an expression of its kind, or a quantity with its unit.

    Raises
    ------
    ExpressionError
        It is neither.

    Examples
    --------
    >>> wall = read_expression("pipe_wall_mm", KINDS)
    >>> required_of("1/4 in", wall).text, required_of("1.2 * leg_mm", wall).kind
    ('6.35', 'length')
    """
    if value.kind in (TEXT, TRUTH):
        msg = "words cannot be compared"
        raise ExpressionError(msg, "use when")
    try:
        required = read_expression(text, KINDS)
    except ExpressionError:
        with suppress(UnitError, KeyError):
            return read_expression(repr(to_unit(text, value.kind)), KINDS)
        raise
    if required.kind not in (value.kind, NUMBER):
        msg = f"'{text}' is {required.kind}, the value is {value.kind}"
        raise ExpressionError(msg, "compare like with like")
    return required


DEFAULT = "process piping"
EVERY = "all"  # stands for all the sets shipped
SHIPPED = "rules.toml"


@cache
def shipped_sets() -> tuple[RuleSet, ...]:
    """Return the rule sets that come with the program.

    Examples
    --------
    >>> [one.name for one in shipped_sets()][:3]
    ['good practice', 'process piping', 'power piping']
    """
    file = resources.files(__package__) / SHIPPED
    return read_sets(file.read_text(encoding="utf-8"), SHIPPED)


def sets_of_file(path: str | Path) -> tuple[RuleSet, ...]:
    """Rule sets of a file of one's own.

    Raises
    ------
    CaseError
        With every mistake of the file.
    """
    others = tuple(one.name for one in shipped_sets())
    return read_sets(case_text(path), str(path), others)


def chosen(names: Sequence[str], folder: Path = Path()) -> tuple[RuleSet, ...]:
    """Return sets by name, or by the file that holds them (its name ends in ``.toml``).

    Raises
    ------
    CatalogueError
        No such set.
    CaseError
        A file with mistakes.
    """
    shipped = {one.name: one for one in shipped_sets()}
    found: list[RuleSet] = []
    for name in map(str, names):
        if name.lower().endswith(".toml"):
            found += sets_of_file(folder / name)
        elif name == EVERY:
            found += shipped.values()
        elif name in shipped:
            found.append(shipped[name])
        else:
            also = (EVERY, "or a file that ends in .toml")
            error = unknown("rule set", name, (*shipped, *also))
            raise error
    return tuple(dict.fromkeys(found))


def rules_of(sets: Sequence[RuleSet]) -> tuple[Rule, ...]:
    """Rules of the sets and of those they build on, each once.

    A rule replaces one of the same name in the sets its own builds on.
    """
    known = {one.name: one for one in (*shipped_sets(), *sets)}
    found: dict[Rule, None] = {}
    for one in sets:
        found |= dict.fromkeys(_with_basis(one, known, frozenset()))
    return tuple(found)


def _with_basis(
    one: RuleSet, known: dict[str, RuleSet], seen: frozenset[str]
) -> list[Rule]:
    own = {rule.name for rule in one.rules}
    basis: list[Rule] = []
    for name in one.builds_on:
        if name not in seen:
            basis += _with_basis(known[name], known, seen | {one.name})
    kept = [rule for rule in dict.fromkeys(basis) if rule.name not in own]
    return [*one.rules, *kept]
