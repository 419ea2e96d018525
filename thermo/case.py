"""The case file: TOML text into a ``joint.Case``, or all of its mistakes at once."""

import re
import tomllib
from copy import deepcopy
from dataclasses import replace
from pathlib import Path
from typing import Any

from .case_draft import Draft, attempt
from .case_fitting import build_fitting, no_strangers
from .case_limits import build_limits, build_probes, check_limits
from .case_passes import build_passes
from .case_pipe import Metals, build_pipe, check_names, own_metals
from .case_surroundings import (
    build_holding,
    build_measure,
    build_options,
    build_surroundings,
)
from .case_values import check_table
from .case_weld import Weld, build_weld, check_legs_given
from .errors import CaseError, Mistake
from .joint import (
    Assumption,
    Case,
    Fitting,
    Holding,
    Limits,
    Measure,
    ModelOptions,
    Pass,
    Pipe,
    Probe,
    Surroundings,
)
from .schema import TABLES
from .toml_lines import DEEPEST, Positions, scan

LARGEST = 1_000_000  # bytes
TITLE = "Socket weld"
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


def read_case(path: str | Path) -> Case:
    """Read a case file.

    Parameters
    ----------
    path : str or Path
        The TOML file.

    Raises
    ------
    CaseError
        With every mistake of the file: its line, what is wrong, what to do.
    """
    return parse_case(case_text(path), str(path))


def case_text(path: str | Path) -> str:
    """Text of a case file; CaseError when it is no text file of sensible size."""
    name, file = str(path), Path(path)
    try:
        if file.is_dir():
            raise _alone(name, "this is a directory", "give a case file in it")
        with file.open("rb") as stream:
            raw = stream.read(LARGEST + 1)
    except FileNotFoundError:
        raise _alone(name, "there is no such file", "check the path") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "the name cannot be used"
        raise _alone(name, f"cannot be read: {reason}", "check the path") from None
    return _decoded(raw, name)


def _decoded(raw: bytes, name: str) -> str:
    """Text of the bytes of a file."""
    if len(raw) > LARGEST:
        problem = f"more than {LARGEST / 1e6:g} MB"
        raise _alone(name, problem, "a case file is a page of text; is it the right one?")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        remedy = "save it as UTF-8 text"
        raise CaseError([Mistake(name, line, "this is not UTF-8 text", remedy)]) from None


def _alone(file: str, problem: str, remedy: str) -> CaseError:
    return CaseError([Mistake(file, None, problem, remedy)])


def parse_case(text: str, file: str = "case.toml") -> Case:
    """Read a case from its text; ``file`` names it in messages.

    Raises
    ------
    CaseError
        With every mistake of the text.

    Examples
    --------
    >>> case = parse_case('''
    ... pipe = { size = "NPS 1", schedule = "80", material = "316L" }
    ... fitting = { kind = "coupling" }
    ... pass = [{ current = "80 A", travel = "60 mm/min" }]
    ... ''')
    >>> round(1e3 * case.leg_pipe, 2)  # 1.09 x 4.55 mm
    4.96
    """
    found = scan(text)
    return case_from_table(case_table(text, file, found), file, found)


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
        raise _alone(file, "the file is empty", "start from one of the cases shipped")
    if found.deep_line:
        problem = f"nested more than {DEEPEST} deep"
        remedy = "no case key is; look for a bracket or a dot too many"
        raise CaseError([Mistake(file, found.deep_line, problem, remedy)])
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise CaseError([_syntax(str(error), file, text)]) from None


def _syntax(message: str, file: str, text: str) -> Mistake:
    """Say what tomllib found, with its line and what to do."""
    where = _AT.search(message)
    line = None
    if where:
        line = int(where[1]) if where[1] else text.rstrip().count("\n") + 1
    problem = f"not TOML: {_AT.sub('', message)}"
    cures = [cure for sign, cure in _CURES if sign in message]
    return Mistake(file, line, problem, cures[0] if cures else "see a case shipped")


def case_from_table(
    table: dict[str, Any], file: str = "case.toml", found: Positions | None = None
) -> Case:
    """Turn the plain table of a case into a ``joint.Case``.

    Parameters
    ----------
    table : dict
        As ``case_table`` returns it, perhaps changed by ``with_value``.
    file : str
        Name for messages.
    found : Positions, optional
        Where the keys stand, for line numbers.

    Raises
    ------
    CaseError
        With every mistake of the case.
    """
    draft = Draft(file, found.lines if found else {})
    check_table(draft, table, "", ())
    case = _build(draft)
    if draft.mistakes or case is None:
        raise CaseError(draft.mistakes)
    return case


def _build(draft: Draft) -> Case | None:
    """Put the parts together; None when one of them could not be made."""
    metals = own_metals(draft)
    _look_round(draft, metals)
    pipe = attempt(build_pipe, draft, metals)
    fitting = attempt(build_fitting, draft, pipe, metals)
    weld = attempt(build_weld, draft, pipe, fitting, metals)
    surroundings = attempt(build_surroundings, draft)
    holding = attempt(build_holding, draft, pipe, fitting, weld)
    passes = attempt(lambda _: build_passes(draft, pipe, fitting, weld), draft)
    limits = attempt(build_limits, draft, pipe, fitting, weld, surroundings)
    probes = attempt(build_probes, draft, pipe, fitting, weld)
    options = attempt(build_options, draft)
    measure = attempt(build_measure, draft)
    process = attempt(Draft.default, draft, ("arc", "process"))
    parts = (pipe, fitting, weld, surroundings, holding, passes, limits, probes)
    return attempt(_assemble, draft, *parts, options, measure, process)


def _look_round(draft: Draft, metals: Metals) -> None:
    """Find the mistakes that a part which cannot be made would hide."""
    check_names(draft, metals)
    attempt(check_legs_given, draft)
    attempt(check_limits, draft)
    kind = draft.values.get(("fitting", "kind"))
    attempt(no_strangers, draft, kind)


def _assemble(
    draft: Draft,
    pipe: Pipe,
    fitting: Fitting,
    weld: Weld,
    surroundings: Surroundings,
    holding: tuple[Holding, ...],
    passes: tuple[Pass, ...],
    limits: Limits,
    probes: tuple[Probe, ...],
    options: ModelOptions,
    measure: Measure,
    process: str,
) -> Case:
    """Fill in the case."""
    return Case(
        title=draft.values.get(("title",), TITLE),
        pipe=pipe,
        fitting=fitting,
        **weld._asdict(),
        process=process,
        position=draft.values.get(("arc", "position"), "rotated"),
        passes=passes,
        limits=limits,
        surroundings=replace(surroundings, holding=holding[0] if holding else None),
        probes=probes,
        model=options,
        measure=measure,
        assumptions=_sorted(draft),
        file=draft.file,
        doubt=tuple(draft.doubt),
    )


def _sorted(draft: Draft) -> tuple[Assumption, ...]:
    """Assumptions in the order of the tables of a case file, passes one by one."""
    order = {name: place for place, name in enumerate(TABLES[""])}

    def place(one: Assumption) -> tuple[int, int]:
        table, *rest = one.key.split(".")
        is_pass = table == "pass" and rest
        return order[table], int(rest[0]) if is_pass else 0

    return tuple(sorted(draft.assumptions, key=place))


def with_value(table: dict[str, Any], key: str, value: Any) -> dict[str, Any]:
    """Copy of a case table with one value changed.

    Parameters
    ----------
    table : dict
        As ``case_table`` returns it.
    key : str
        Dotted name; entries of lists count from 1 ("pass.2.current"), and without a
        number all of them are meant ("pass.current").
    value
        What the key shall hold, as in the file: "80 A", 0.75, true.

    Raises
    ------
    CaseError
        The key leads nowhere.

    Examples
    --------
    >>> with_value({"pass": [{}, {}]}, "pass.2.current", "80 A")
    {'pass': [{}, {'current': '80 A'}]}
    """
    changed = deepcopy(table)
    _set(changed, key.split("."), value, key)
    return changed


def _set(place: Any, parts: list[str], value: Any, key: str) -> None:
    first, *rest = parts
    if isinstance(place, list):
        if not first.isdecimal():
            for entry in place:
                _set(entry, parts, value, key)
            return
        if not rest or not 1 <= int(first) <= len(place):
            raise _alone(
                key, "leads nowhere in this case", f"entries are 1 to {len(place)}"
            )
        _set(place[int(first) - 1], rest, value, key)
    elif not isinstance(place, dict):
        raise _alone(key, "leads nowhere in this case", "name a key of a table")
    elif rest:
        _set(place.setdefault(first, {}), rest, value, key)
    else:
        place[first] = value
