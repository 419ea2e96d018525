"""What a change to a case is, told as lines of its file; plain data."""

from dataclasses import dataclass

from .joint import Case


@dataclass(frozen=True)
class Change:
    """Lines of the case file that differ: keys of one table, and what they shall hold."""

    table: str  # "surroundings", "pipe", or "pass"
    values: tuple[tuple[str, str], ...]  # key and what stands behind its "="
    number: int = 0  # of the pass
    like: int = 0  # pass of the case that the new one is otherwise like


@dataclass(frozen=True)
class Idea:
    """One change, ready to run."""

    kind: str
    title: str
    case: Case
    changes: tuple[Change, ...]
    caution: str


@dataclass(frozen=True)
class NotOffered:
    """A change that is not proposed, and why."""

    title: str
    why: str
    kind: str = ""
