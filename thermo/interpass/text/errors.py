"""Every error a user can cause, and the exit status that goes with it.

An error says where, what is wrong with the value given, and what to do.
"""

import difflib
from collections.abc import Iterable
from dataclasses import dataclass
from enum import IntEnum


class ExitStatus(IntEnum):
    """What the program tells the shell when it ends."""

    OK = 0
    BUG = 1
    USAGE = 2
    CASE = 3
    RUN = 4
    LIMIT = 5
    INTERRUPTED = 130


def said(problem: str, remedy: str) -> str:
    """Problem and remedy in one sentence; a question is answered without a semicolon."""
    mark = " " if problem.endswith("?") else "; "
    return mark.join(part for part in (problem, remedy) if part)


class ThermoError(Exception):
    """Any mistake that is not ours; printed without a traceback.

    Attributes
    ----------
    problem, remedy : str
        What is wrong, and what to do; the text is both.

    Examples
    --------
    >>> error = ThermoError("there is no pass", "give one")
    >>> str(error), error.remedy
    ('there is no pass; give one', 'give one')
    """

    status = ExitStatus.CASE

    def __init__(self, problem: str = "", remedy: str = "") -> None:
        self.problem, self.remedy = problem, remedy
        super().__init__(said(problem, remedy))


def about(what: str, error: ThermoError) -> tuple[str, str]:
    """Problem and remedy of an error, with what it is about said first.

    Examples
    --------
    >>> about("--amps", ThermoError("80 apples is no current", "write 80 A"))
    ('--amps: 80 apples is no current', 'write 80 A')
    """
    return f"{what}: {error.problem}", error.remedy


class CatalogueError(ThermoError):
    """A size, schedule, class or material that no table holds."""

    status = ExitStatus.USAGE


@dataclass(frozen=True)
class Mistake:
    """One thing wrong with a file the user wrote."""

    file: str
    line: int | None
    problem: str
    remedy: str = ""

    def __str__(self) -> str:
        """Return ``file:line: problem; remedy``."""
        where = f"{self.file}:{self.line}" if self.line else self.file
        return f"{where}: {said(self.problem, self.remedy)}"


class CaseError(ThermoError):
    """All the mistakes of one file, in file order."""

    status = ExitStatus.CASE

    def __init__(self, mistakes: list[Mistake]) -> None:
        self.mistakes = sorted(mistakes, key=lambda m: m.line or 0)
        super().__init__("\n".join(str(m) for m in self.mistakes))


class RunError(ThermoError):
    """The heat run had to stop; the history up to then is kept.

    Attributes
    ----------
    history : object or None
        Whatever was computed before the run stopped.
    """

    status = ExitStatus.RUN

    def __init__(self, message: str, history: object = None) -> None:
        super().__init__(message)
        self.history = history


def did_you_mean(
    name: object,
    known: Iterable[str],
    otherwise: str | None = None,
    likeness: float = 0.6,
) -> str:
    """Remedy for a name nothing has: the known one most like it, in any case of letters.

    Where none is like it: ``otherwise``, or all there are.

    Examples
    --------
    >>> did_you_mean("Cuopling", ["coupling", "cap"])
    "did you mean 'coupling'?"
    >>> did_you_mean("tee", ["coupling", "cap"]), did_you_mean("tee", [], "ask")
    ('known here: coupling, cap', 'ask')
    """
    folded = {item.lower(): item for item in known}
    near = difflib.get_close_matches(str(name).lower(), folded, n=1, cutoff=likeness)
    if near:
        return f"did you mean '{folded[near[0]]}'?"
    return f"known here: {', '.join(folded.values())}" if otherwise is None else otherwise


def unknown(
    what: str, value: object, known: Iterable[object], also: Iterable[str] = ()
) -> CatalogueError:
    """Return the error for a name no table holds.

    It shows the value, a did-you-mean from ``known`` and ``also``, and lists ``known``.
    """
    names = [str(item) for item in known]
    hint = did_you_mean(value, [*names, *also], "")
    remedy = f"{hint} available: {', '.join(names) or 'none'}".strip()
    return CatalogueError(f"no {what} '{value}'", remedy)
