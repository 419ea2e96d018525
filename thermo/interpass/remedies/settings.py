"""Quantities as a shop sets them: rounded, in the units a case is written in."""

from collections.abc import Callable
from math import ceil, floor

from ..joint.case import Case
from ..text.units import parse

SLACK = 1e-6  # steps: 70 mm/min times 1 is not rounded to the step beside it

STEPS = {
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
        A key of ``STEPS``.
    value : float
        In SI.
    towards : callable
        ``round``, ``floor`` or ``ceil``.

    Returns
    -------
    tuple of str and float
        The number is what reading the text gives, to the last bit.
    """
    kind, unit, step = STEPS[case.units][what]
    slack = SLACK * ((towards is floor) - (towards is ceil))
    steps = towards(value / (parse(f"1 {unit}", kind) * step) + slack)
    text = f"{round(steps * step, 6):.7g} {unit}"
    return f'"{text}"', parse(text, kind)
