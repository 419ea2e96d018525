"""The case file: TOML text into a ``joint.Case``, or all of its mistakes at once."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from ..joint.case import (
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
from ..text.errors import CaseError, Mistake
from ..text.files import case_text
from ..text.toml import Positions, case_table, scan
from .draft import Draft, attempt
from .keys import TABLES
from .limits import build_limits, build_probes, check_limits
from .parts import (
    Metals,
    build_fitting,
    build_pipe,
    check_names,
    no_strangers,
    own_metals,
    plain_kind,
)
from .passes import build_passes
from .surroundings import (
    build_holding,
    build_measure,
    build_options,
    build_surroundings,
    check_holding,
)
from .units import written_in
from .values import check_table
from .weld import Weld, build_weld, check_legs_given

_TITLE, _BARE_TITLE = "Socket weld", "Bead round a bare pipe"


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


def parse_case(source: str | Mapping[str, Any], file: str = "case.toml") -> Case:
    """Read a case from its text, or from its table; ``file`` names it in messages.

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
    if isinstance(source, Mapping):
        return case_from_table(plain(source, file), file)
    found = scan(source)
    return case_from_table(case_table(source, file, found), file, found)


def plain(source: Mapping[str, Any], file: str = "case.toml") -> dict[str, Any]:
    """Return a table of a case as TOML would have given it: dict, list, text, number.

    Raises
    ------
    CaseError
        It holds something that no case file can hold.

    Examples
    --------
    >>> plain({"pass": ({"current": "80 A"},)})
    {'pass': [{'current': '80 A'}]}
    """

    def taken(value: Any, key: str) -> Any:
        if isinstance(value, Mapping):
            return {str(k): taken(v, f"{key}.{k}" if key else str(k))
                    for k, v in value.items()}  # fmt: skip
        if isinstance(value, list | tuple):
            return [taken(v, f"{key}.{n}") for n, v in enumerate(value, 1)]
        value = value.item() if getattr(value, "shape", None) == () else value  # of numpy
        if isinstance(value, str | bool | int | float):
            return value
        problem = f"{key} is {value!r}, which a case cannot hold"
        remedy = 'write a text with a unit like "80 A", a number, true or false'
        raise CaseError([Mistake(file, None, problem, remedy)])

    return dict(taken(source, ""))


def with_ring(case: Case, ring: int | None, source: str = "the command line") -> Case:
    """Return a case with the cells round the ring given from outside; None leaves it."""
    if ring is None:
        return case
    given = Assumption("model.ring", str(ring), source, "given")
    rest = tuple(row for row in case.assumptions if row.key != given.key)
    options = replace(case.model, ring=ring)
    return replace(case, model=options, assumptions=(*rest, given))


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
    draft = Draft(file, {(): 1} | found.lines if found else {})
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
    attempt(check_holding, draft)
    kind = plain_kind(draft.values.get(("fitting", "kind")))
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
        title=draft.values.get(("title",), _BARE_TITLE if weld.band else _TITLE),
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
        units=written_in(draft.texts.values()),
        report_units=draft.values.get(("report", "units")) or "",
    )


def _sorted(draft: Draft) -> tuple[Assumption, ...]:
    """Assumptions in the order of the tables of a case file, passes one by one."""
    order = {name: place for place, name in enumerate(TABLES[""])}

    def place(one: Assumption) -> tuple[int, int]:
        table, *rest = one.key.split(".")
        is_pass = table == "pass" and rest
        return order[table], int(rest[0]) if is_pass else 0

    return tuple(sorted(draft.assumptions, key=place))
