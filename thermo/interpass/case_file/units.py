"""Which units to speak in: those asked for, else those a case is written in."""

import os
from collections.abc import Iterable

from ..joint.case import Case
from ..text.errors import unknown
from ..text.kinds import SI, UNIT_SYSTEMS, UnitSystem
from ..text.units import unit_of

VARIABLE = "INTERPASS_UNITS"
_US = {"in", "inch", "ft", "thou", "ipm", "cfh", "degF", "F", "lb"}
_METRIC = {"mm", "cm", "m", "degC", "C", "l", "L", "lpm", "kg"}


def units_for(case: Case | None = None, asked: str | None = None) -> UnitSystem:
    """Return the units of a report.

    The first that says so: what is ``asked`` ("si" or "us"), [report] units of the case,
    the variable INTERPASS_UNITS, the units most of the case is written in.

    Raises
    ------
    CatalogueError
        The variable names no units.
    """
    said = asked or (case.report_units if case else "") or _of_environment()
    if said:
        return UNIT_SYSTEMS[said]
    return UNIT_SYSTEMS[case.units] if case else SI


def _of_environment() -> str:
    said = os.environ.get(VARIABLE, "").strip().lower()
    if said and said not in UNIT_SYSTEMS:
        error = unknown(f"units in {VARIABLE},", said, UNIT_SYSTEMS)
        raise error
    return said


def written_in(texts: Iterable[str]) -> str:
    """Return "us" where more values are in US units than in metric ones, else "si".

    Examples
    --------
    >>> written_in(["1/16 in", "350 degF", "80 A", "NPS 3/4", "8 l/min"])
    'us'
    """
    lean = 0
    for text in texts:
        first = unit_of(text).replace("^", "/").split("/")
        lean += bool(_US.intersection(first)) - bool(_METRIC.intersection(first))
    return "us" if lean > 0 else "si"
