"""Several cases side by side: what differs in them, and what it does."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from math import isclose, isfinite

from ..case_file.keys import TABLES, kind_of
from ..case_file.read import read_case, with_ring
from ..heat.history import History, PassResult, planned_time, planned_wait
from ..heat.waits import plan
from ..joint.case import Case
from ..rules.judge import checks, failed, sets_for
from ..rules.limits import FAIL, Check, verdict
from ..text.errors import CaseError, Mistake
from ..text.progress import Progress
from ..text.units import UnitError, parse
from .processes import Failed, WorkerError, run_all

LETTERS = "ABCDEF"


@dataclass(frozen=True, eq=False)
class Compared:
    """One of the cases compared."""

    letter: str
    case: Case
    history: History


@dataclass(frozen=True)
class Line:
    """One quantity of every case: SI numbers of a kind, or texts where kind is empty."""

    name: str
    kind: str
    values: tuple[float | str | None, ...]


def read_cases(files: Sequence[str], ring: int | None = None) -> list[Case]:
    """Read the cases; the mistakes of all of them are told at once.

    Raises
    ------
    CaseError
        Any of them has mistakes.
    """
    cases: list[Case] = []
    mistakes: list[Mistake] = []
    for file in files:
        try:
            case = read_case(file)
            sets_for(case)
            cases.append(case)
        except CaseError as error:
            mistakes += error.mistakes
    if mistakes:
        joined = CaseError(mistakes)
        joined.mistakes = mistakes  # file by file, not by line
        joined.args = ("\n".join(str(m) for m in mistakes),)
        raise joined
    return [with_ring(case, ring) for case in cases]


def run_cases(
    cases: Sequence[Case], workers: int = 1, progress: Progress | None = None
) -> list[Compared]:
    """Run every case.

    Raises
    ------
    WorkerError
        One of the runs failed; the message says which and why.
    """
    histories: dict[int, History] = {}
    running = run_all(plan, cases, workers=workers, progress=progress)
    with closing(running) as answers:
        for n, answer in answers:
            if isinstance(answer, Failed):
                msg = f"{cases[n].file}: {answer.words}"
                raise WorkerError(msg)
            histories[n] = answer
    return [
        Compared(letter, case, histories[n])
        for n, (letter, case) in enumerate(zip(LETTERS, cases, strict=False))
    ]


def inputs(compared: Sequence[Compared]) -> list[Line]:
    """Numbers and words of the cases that are not the same in all of them."""
    tables = [_by_key(one.case) for one in compared]
    keys = list(dict.fromkeys(key for table in tables for key in table))
    rows = ((key, tuple(table.get(key) for table in tables)) for key in keys)
    return [
        Line(key, "", values)
        for key, values in rows
        if not all(_is_same(key, values[0], value) for value in values)
    ]


SAME = 1e-6  # of a value: 20 degC and 68 degF, 1 in and 25.4 mm are one


def _is_same(key: str, one: str | None, other: str | None) -> bool:
    """Whether two values of a key say the same, in whatever units."""
    kind = kind_of(key)
    if one == other or one is None or other is None or not kind:
        return one == other
    try:
        return isclose(parse(one, kind), parse(other, kind), rel_tol=SAME)
    except UnitError:
        return False  # a word, or a number beside a word


def _by_key(case: Case) -> dict[str, str]:
    """Values of a case by key; what the arc gives stands with every pass."""
    found: dict[str, str] = {}
    for row in case.assumptions:
        table, _, key = row.key.partition(".")
        if table == "arc" and key in TABLES["pass"]:
            found |= {f"pass.{p.number}.{key}": row.value for p in case.passes}
    given = {row.key: row.value for row in case.assumptions}
    arc = {f"arc.{key}" for key in TABLES["pass"]}
    return found | {key: value for key, value in given.items() if key not in arc}


def outcomes(compared: Sequence[Compared]) -> list[Line]:
    """Gather waits, temperatures, totals and energies of every case."""
    return [*_waits(compared), *_temperatures(compared), *_totals(compared),
            *_energies(compared), *_verdicts(compared)]  # fmt: skip


def _waits(compared: Sequence[Compared]) -> Iterator[Line]:
    yield from _by_pass(compared, "wait before pass {}", "wait", planned_wait, first=2)
    yield from _by_pass(
        compared, "arc on for, pass {}", "wait", lambda p: p.arc_off - p.arc_on
    )


def _temperatures(compared: Sequence[Compared]) -> Iterator[Line]:
    limits = tuple(one.case.limits.interpass_max for one in compared)
    yield Line("interpass maximum", "temperature", limits)
    for name, value in (
        ("hottest at arc on, pass {}", lambda p: p.at_arc_on.hottest),
        ("expect to read, pass {}", lambda p: p.expect_reading),
    ):
        yield from _by_pass(compared, name, "temperature", value, first=2)
    yield from _by_pass(
        compared, "mean at arc off, pass {}", "temperature", lambda p: p.at_arc_off.mean
    )


def _totals(compared: Sequence[Compared]) -> Iterator[Line]:
    done = [one.history.complete for one in compared]
    planned = tuple(
        planned_time(one.history) if ok else None
        for one, ok in zip(compared, done, strict=True)
    )
    yield Line("total time", "wait", planned)
    first = planned[0]
    if first:
        shares = tuple(
            None if t is None else f"{100 * (t / first - 1):+.0f} %" for t in planned
        )
        yield Line("total against A", "", shares)


def _energies(compared: Sequence[Compared]) -> Iterator[Line]:
    yield from _by_pass(
        compared, "arc energy, pass {}", "energy per length", lambda p: p.arc_energy
    )
    ledgers = [one.history.ledger for one in compared]
    for name, values in (
        ("heat into the metal", [one.arc for one in ledgers]),
        ("stored at the end", [one.stored for one in ledgers]),
        ("lost until the end", [sum(one.lost.values()) for one in ledgers]),
    ):
        yield Line(name, "energy", tuple(values))
    lumped = [one.history.lumped for one in compared]
    yield Line("mass of metal", "mass", tuple(one.mass for one in lumped))
    constants = tuple(_finite(one.time_constant) for one in lumped)
    yield Line("time constant", "wait", constants)


def _verdicts(compared: Sequence[Compared]) -> Iterator[Line]:
    found = [checks(one.case, one.history) for one in compared]
    verdicts = tuple(
        verdict(f, one.history) for f, one in zip(found, compared, strict=True)
    )
    yield Line("verdict", "", verdicts)
    rules = dict.fromkeys(check.rule for f in found for check in failed(f))
    for rule in rules:
        yield Line(rule, "", tuple(_outcome(f, rule) for f in found))


def _outcome(found: Sequence[Check], rule: str) -> str | None:
    """Say what became of a rule in one case; None where it is not asked."""
    verdicts = {check.verdict for check in found if check.rule == rule}
    if not verdicts:
        return None
    return "not met" if FAIL in verdicts else "met"


def _by_pass(
    compared: Sequence[Compared],
    name: str,
    kind: str,
    value: Callable[[PassResult], float | None],
    first: int = 1,
) -> Iterator[Line]:
    """One line for each pass any case has."""
    most = max(len(one.history.passes) for one in compared)
    for number in range(first, most + 1):
        values = tuple(
            value(one.history.passes[number - 1])
            if len(one.history.passes) >= number
            else None
            for one in compared
        )
        if any(v is not None for v in values):
            yield Line(name.format(number), kind, values)


def _finite(value: float) -> float | None:
    return value if isfinite(value) else None


def is_fail(compared: Sequence[Compared]) -> bool:
    """Whether a limit or a rule of any case is not met."""
    return any(
        verdict(checks(one.case, one.history), one.history) == FAIL for one in compared
    )
