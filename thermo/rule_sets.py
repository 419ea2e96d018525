"""Rule sets: those shipped in ``data/rules.toml``, files of one's own, and the choice.

A rule is a row of data: a quantity, what it must be, and who says so.
"""

from collections.abc import Sequence
from functools import cache
from importlib import resources
from pathlib import Path

from .case import case_text
from .rule_file import Rule, RuleSet, read_sets
from .tables import unknown

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
    file = resources.files("thermo") / "data" / SHIPPED
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
