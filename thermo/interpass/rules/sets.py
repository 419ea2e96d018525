"""Rule sets: those shipped (``rules.toml`` beside this), files of one's own, and the choice.

A rule is a row of data: a quantity, what it must be, and who says so. A file is checked as
a case file is; all of its mistakes come together.
"""

import re
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import cache, cached_property
from importlib import resources
from pathlib import Path

from ..case_file.draft import Draft, attempt, given_of, keep_one, label
from ..case_file.keys import Key, Schema
from ..case_file.values import check_table
from ..text.errors import CaseError, did_you_mean, unknown
from ..text.files import text_of
from ..text.toml import KeyPath, Positions, case_table, scan
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
_GIVEN = "given"
_MOST = 1000  # rules of a set
_TEXT = Key("text", longest=300)
_NEEDED = replace(_TEXT, required=True)

KEYS: Schema = {
    "": {"set": Key("tables", table="set", required=True)},
    "set": {
        "name": _NEEDED,
        "words": _TEXT,
        "with": replace(_TEXT, kind="texts"),
        "rule": Key("tables", table="rule", required=True),
    },
    "rule": {
        "name": _NEEDED,
        "value": _NEEDED,
        **dict.fromkeys(SENSES, _TEXT),
        "when": _TEXT,
        "verdict": Key("word", words=VERDICTS),
        "source": _NEEDED,
        "standing": _TEXT,
        "advice": _TEXT,
        "told": Key("word", words=TOLD),
    },
}
"""Keys of a file of rules."""

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


def read_sets(
    text: str, file: str, others: Sequence[str] = (), found: Positions | None = None
) -> tuple[RuleSet, ...]:
    """Read the rule sets of a text; ``others`` may be built on as well.

    ``found`` says where its keys stand, when that is known already.

    Raises
    ------
    CaseError
        With every mistake of the text.
    """
    found = found or scan(text)
    draft = Draft(file, {(): 1} | found.lines, schema=KEYS, most=_MOST)
    check_table(draft, case_table(text, file, found), "", ())
    sets = tuple(_sets(draft, others))
    if draft.mistakes:
        raise CaseError(draft.mistakes)
    return sets


def _sets(draft: Draft, others: Sequence[str]) -> Iterator[RuleSet]:
    """All sets of a file."""
    paths = [("set", n) for n in range(draft.values.get(("set",)) or 0)]
    names = [draft.values.get((*path, "name"), "") for path in paths]
    for n, (path, name) in enumerate(zip(paths, names, strict=True)):
        if name and name in (*others, *names[:n]):
            problem = f"there is a rule set '{name}' already"
            draft.refuse((*path, "name"), problem, "give it another name")
        basis = draft.values.get((*path, "with"), ())
        known = {*others, *names} - {name}
        for other in basis:
            if other not in known:
                remedy = did_you_mean(other, known, "see 'tables rules'")
                draft.refuse((*path, "with"), f"no rule set '{other}'", remedy)
        read = (_rule(draft, path, name) for path in _rules(draft, path))
        words = draft.values.get((*path, "words"), "")
        yield RuleSet(name, words, basis, tuple(rule for rule in read if rule))


def _rules(draft: Draft, path: KeyPath) -> list[KeyPath]:
    """Where the rules of a set stand; a set without one is a mistake."""
    count = draft.values.get((*path, "rule"))
    if count == 0:
        draft.refuse(
            (*path, "rule"), f"{label((*path, 'rule'))} is empty", "write a rule"
        )
    return [(*path, "rule", n) for n in range(count or 0)]


def _rule(draft: Draft, path: KeyPath, rule_set: str) -> Rule | None:
    """One rule; None where its value cannot be read."""

    def given(key: str, otherwise: str = "") -> str:
        return draft.values.get((*path, key), otherwise)

    value = _expression(draft, (*path, "value"))
    when = _expression(draft, (*path, "when"))
    if when and when.kind != TRUTH:
        draft.refuse((*path, "when"), "when is no condition", "like passes > 1")
    for key in ("source", "standing"):
        _check_placeholders(draft, (*path, key))
    standing = _standing(draft, (*path, "standing"))
    if value is None:
        return None
    sense, required = _required(draft, path, value)
    return Rule(
        name=given("name"),
        rule_set=rule_set,
        value=value,
        sense=sense,
        required=required,
        when=when,
        verdict=given("verdict", VERDICTS[0]),
        source=given("source"),
        standing=standing,
        advice=given("advice"),
        told=given("told", TOLD[0]),
    )


def _standing(draft: Draft, path: KeyPath) -> str:
    """How far a rule can be trusted: one of the words for it, or what the joint says."""
    word = str(draft.values.get(path, _GIVEN))
    allowed = (*STANDINGS, _GIVEN)
    if word not in allowed and not PLACEHOLDER.fullmatch(word):
        remedy = f"{did_you_mean(word, allowed, '')} one of {', '.join(allowed)}".strip()
        draft.refuse(path, f"{label(path)}: '{word}' is not known here", remedy)
    return word


def _check_placeholders(draft: Draft, path: KeyPath) -> None:
    words = [name for name, kind in KINDS.items() if kind == TEXT]
    for name in PLACEHOLDER.findall(draft.values.get(path, "")):
        if name not in words:
            remedy = did_you_mean(name, words, "only words can be put in")
            draft.refuse(path, f"no word '{name}' to put in", remedy)


def _expression(
    draft: Draft,
    path: KeyPath,
    read: Callable[[str], Expression] = lambda text: read_expression(text, KINDS),
) -> Expression | None:
    """Expression at a path; None where there is none, or none that makes sense."""
    text = draft.values.get(path)
    if text is None:
        return None
    try:
        return read(text)
    except ExpressionError as error:
        draft.refuse(path, f"{label(path)}: {error.problem}", error.remedy)
        return None


def _required(
    draft: Draft, path: KeyPath, value: Expression
) -> tuple[str, Expression | None]:
    """Comparison and requirement; neither where the rule only tells."""
    senses = attempt(given_of, draft, path, tuple(SENSES)) or []
    if len(senses) > 1:
        attempt(keep_one, draft, path, senses)
    if len(senses) != 1:
        return "", None
    spot = (*path, senses[0])
    found = _expression(draft, spot, lambda text: required_of(text, value))
    return SENSES[senses[0]], found


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
    nowhere = Positions({}, None)  # it has no mistake, and the scan is half of the time
    return read_sets(file.read_text(encoding="utf-8"), SHIPPED, found=nowhere)


def sets_of_file(path: str | Path) -> tuple[RuleSet, ...]:
    """Rule sets of a file of one's own.

    Raises
    ------
    CaseError
        With every mistake of the file.
    """
    others = tuple(one.name for one in shipped_sets())
    return read_sets(text_of(path, "a file of rules", "UTF-8 text"), str(path), others)


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
