"""Units of a case: which to speak in, and quantities rounded as its file has them."""

import os
from collections.abc import Callable, Iterable
from math import ceil, floor

from ..joint.case import Case
from ..text.errors import unknown
from ..text.kinds import SI, UNIT_SYSTEMS, UnitSystem
from ..text.units import parse, unit_of

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


_SLACK = 1e-6  # steps: 70 mm/min times 1 is not rounded to the step beside it

_STEPS = {
    "si": {
        "wind": ("speed", "m/s", 0.1),
        "travel": ("speed", "mm/min", 0.1),
        "feed": ("speed", "mm/min", 1.0),
        "wire": ("length", "mm", 1e-4),
        "place": ("length", "mm", 1.0),
        "pipe": ("length", "mm", 0.1),
        "deposit": ("area", "mm^2", 0.01),
    },
    "us": {
        "wind": ("speed", "ft/min", 10.0),
        "travel": ("speed", "in/min", 0.01),
        "feed": ("speed", "in/min", 0.1),
        "wire": ("length", "in", 1e-5),
        "place": ("length", "in", 0.125),
        "pipe": ("length", "in", 0.01),
        "deposit": ("area", "in^2", 1e-5),
    },
}
"""Kind, unit and step of what a change sets (common practice, no source)."""


def set_to(
    case: Case, what: str, value: float, towards: Callable[[float], int] = round
) -> tuple[str, float]:
    """Return a quantity as the case file has it, in quotes, and its SI number.

    Parameters
    ----------
    case : Case
        Its units are those the file is written in.
    what : str
        A key of ``_STEPS``.
    value : float
        In SI.
    towards : callable
        ``round``, ``floor`` or ``ceil``.

    Returns
    -------
    tuple of str and float
        The number is what reading the text gives, to the last bit.
    """
    kind, unit, step = _STEPS[case.units][what]
    slack = _SLACK * ((towards is floor) - (towards is ceil))
    steps = towards(value / (parse(f"1 {unit}", kind) * step) + slack)
    text = f"{round(steps * step, 6):.7g} {unit}"
    return f'"{text}"', parse(text, kind)
