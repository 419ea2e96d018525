"""Joints that differ in one thing, run and laid over each other; and the lesson."""

from collections.abc import Callable
from typing import Any

from ..case_file.change import with_setting
from ..case_file.read import case_from_table
from ..heat.waits import plan
from ..report.strike import strikes
from ..text.errors import CatalogueError
from ..text.times import clock, spelled
from ..text.toml import case_table
from .answers import curve_of
from .jobs import averaged

Progress = Callable[[float, str], None]

PRESETS = {  # what differs: key of the case file, and the values in turn
    "size": ("Size", "pipe.size", ("NPS 1/2", "NPS 3/4", "NPS 1", "NPS 1 1/2")),
    "length": ("Length of the pipe", "pipe.length", ("40 mm", "80 mm", "160 mm", "long")),
    "metal": ("Metal", "pipe.material", ("316L", "2205", "carbon steel")),
    "amps": ("Current", "pass.current", ("60 A", "75 A", "90 A", "105 A")),
}


def variants(progress: Progress, *, text: str, file: str, preset: str) -> dict[str, Any]:
    """Run a case once for each value of a preset, the arc averaged.

    Raises
    ------
    CatalogueError
        There is no such preset.
    CaseError
        A variant is no joint, with the words of the case file.
    """
    if preset not in PRESETS:
        msg = f"presets are {', '.join(PRESETS)}"
        raise CatalogueError(msg)
    words, key, values = PRESETS[preset]
    table, found = case_table(text, file), []
    for n, value in enumerate(values):
        progress(n / len(values), value)
        case = averaged(case_from_table(with_setting(table, key, value), file))
        history = plan(case, progress)
        found.append(
            {
                "label": value,
                "waits": [clock(one.wait) for one in strikes(case, history)[1:]],
                "total": spelled(history.passes[-1].arc_off),
                "stopped": history.stopped_because,
                "limit_degC": round(case.limits.interpass_max - 273.15, 2),
                **curve_of(history, None),
            }
        )
    return {"words": words, "variants": found}


def lesson(progress: Progress, *, units: str) -> dict[str, Any]:
    """Return the lesson as one page, as ``interpass lesson --no-movie`` makes it."""
    from importlib import resources

    from ..lesson.figures import pictures
    from ..lesson.joints import Choices, comparisons
    from ..lesson.numbers import run_all
    from ..lesson.page import lesson_page
    from ..text.kinds import UNIT_SYSTEMS

    name = "lesson.toml"
    text = (resources.files("interpass.lesson") / name).read_text(encoding="utf-8")
    joints = comparisons(case_table(text, name), Choices(ring=1), name)
    compared = run_all(joints, 0.01, progress)
    system = UNIT_SYSTEMS[units]
    page = lesson_page(compared, pictures(compared, system), system)
    return {"page": page.decode()}
