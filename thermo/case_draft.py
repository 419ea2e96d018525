"""A case on its way: values given, assumptions made and mistakes found so far.

Mistakes are collected, not raised, so that one look at a file shows all of them.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, TypeVar

from .case_wording import label
from .errors import Mistake, ThermoError
from .joint import Assumption, Doubt
from .schema import Default
from .toml_lines import Path
from .units import FORMS, parse

T = TypeVar("T")


class Incomplete(Exception):
    """A step cannot go on; the mistake behind it is already noted."""


@dataclass
class Draft:
    """What one case file gave, what was assumed, and what is wrong.

    ``values`` holds SI numbers, words and flags by path, None for a table; ``texts``
    the values as written; ``wrong`` the paths that were given but cannot be used.
    """

    file: str
    lines: dict[Path, int]
    values: dict[Path, Any] = field(default_factory=dict)
    texts: dict[Path, str] = field(default_factory=dict)
    wrong: set[Path] = field(default_factory=set)
    mistakes: list[Mistake] = field(default_factory=list)
    assumptions: list[Assumption] = field(default_factory=list)
    doubt: list[Doubt] = field(default_factory=list)

    def line(self, path: Path) -> int | None:
        """Line of a path, or of the nearest table round it."""
        while path and path not in self.lines:
            path = path[:-1]
        return self.lines.get(path)

    def refuse(self, path: Path, problem: str, remedy: str = "") -> None:
        """Note a mistake at a path; its value is not used."""
        self.wrong.add(path)
        self.mistakes.append(Mistake(self.file, self.line(path), problem, remedy))

    def stop(self, path: Path, problem: str, remedy: str = "") -> Incomplete:
        """Note a mistake that ends the step: ``raise draft.stop(...)``."""
        self.refuse(path, problem, remedy)
        return Incomplete()

    def has(self, path: Path) -> bool:
        """Whether the file gives this key, rightly or not."""
        return path in self.values or path in self.wrong

    def get(self, path: Path) -> Any:
        """Value given, or None; Incomplete when it was given wrong."""
        if path in self.wrong:
            raise Incomplete
        return self.values.get(path)

    def need(self, path: Path, remedy: str) -> Any:
        """Value given; a mistake when there is none."""
        if not self.has(path):
            raise self.stop(path, f"{label(path)} is missing", remedy)
        return self.get(path)

    def default(self, path: Path, kind: str, otherwise: Default) -> Any:
        """Value given, else the default, noted as an assumption."""
        if self.has(path):
            return self.get(path)
        self.assume(path, otherwise.value, otherwise.source, otherwise.standing)
        return parse(otherwise.value, kind) if kind in FORMS else otherwise.value

    def assume(self, path: Path, value: str, source: str, standing: str) -> None:
        """Note a number the run uses and where it came from."""
        self.assumptions.append(Assumption(label(path), value, source, standing))

    def look_up(self, path: Path, table: Callable[..., T], *names: Any, **more: Any) -> T:
        """Ask a catalogue; what it does not hold is a mistake at ``path``."""
        try:
            return table(*names, **more)
        except (ThermoError, ValueError) as error:
            problem, _, remedy = str(error).partition("; ")
            raise self.stop(path, f"{label(path)}: {problem}", remedy) from error


def attempt(step: Callable[..., T], draft: Draft, *given: Any) -> T | None:
    """Run a step; None when it, or a step it builds on, could not be done."""
    if any(value is None for value in given):
        return None
    try:
        return step(draft, *given)
    except Incomplete:
        return None
