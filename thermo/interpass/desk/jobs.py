"""The work of the lanes, a function each: texts in, plain data out.

Every function takes ``progress`` first, which ends the job when nobody wants it any more.
What was run last is kept, so that bands follow a ring without running it again.
"""

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from ..case_file.read import parse_case
from ..joint.case import Case
from ..text.errors import CaseError, Mistake
from . import edit, form

Progress = Callable[[float, str], None]


MOST_KEPT = 6  # runs


MOMENTS = 60  # of the section's slider


_runs: OrderedDict[tuple[str, int], Any] = OrderedDict()


def describe(_progress: Progress, *, text: str, file: str) -> dict[str, Any]:
    """Show a text as a form."""
    return {"text": text, **form.described(text, file)}


def change(
    _progress: Progress, *, text: str, file: str, key: str, value: str
) -> dict[str, Any]:
    """Change one key of a text, and show it; "passes" is how many there are."""
    if key == "passes":
        done = edit.with_passes(text, int(value) if value.isdecimal() else 1)
    else:
        done = edit.with_text_value(text, key, value)
    return {"text": done.text, "kept": done.kept, **form.described(done.text, file)}


def solve(progress: Progress, *, text: str, file: str, step: str) -> dict[str, Any]:
    """Run a case: "averaged", "ring" or "bands", each a better answer than the last."""
    from ..doubt.bands import find_bands
    from .answers import answer_of

    case = desk_case(text, file)
    if step == "averaged":
        case = averaged(case)
    history = _run(case, text, progress)
    bands = None
    if step == "bands" and history.complete:
        bands = find_bands(case, history, progress)
    return answer_of(case, history, bands, step)


def section(progress: Progress, *, text: str, file: str) -> dict[str, Any]:
    """Temperatures over the section from first to last, the arc averaged."""
    from ..heat.waits import plan
    from .answers import section_of

    case = averaged(desk_case(text, file))
    total = float(_run(case, text, progress).time[-1])
    return section_of(case, plan(case, progress, frames=total / MOMENTS))


def remedies(progress: Progress, *, text: str, file: str) -> dict[str, Any]:
    """Find what would shorten the waits, each with the lines that make it so."""
    from ..remedies.trials import find_helps
    from ..text.times import spelled

    case = desk_case(text, file)
    helps = find_helps(case, _run(case, text, progress), progress)
    return {
        "remark": helps.remark,
        "offered": [
            {
                "title": one.title,
                "before": spelled(one.total_before)
                if one.total_before < 1e6
                else "no plan",
                "after": spelled(one.total_after),
                "caution": one.caution,
                "text": edit.with_changes(text, one.changes),
            }
            for one in helps.best
        ],
    }


def report(progress: Progress, *, text: str, file: str, units: str) -> dict[str, Any]:
    """Return the report of a plan as the command line prints it."""
    from ..report import plan as words
    from ..text.kinds import UNIT_SYSTEMS

    case = desk_case(text, file)
    return {"report": words.text(case, _run(case, text, progress), UNIT_SYSTEMS[units])}


def desk_case(text: str, file: str) -> Case:
    """Read a case; rules from a file of one's own are for the command line alone.

    Raises
    ------
    CaseError
        With every mistake, or for rules in a file: no path comes from a page.
    """
    case = parse_case(text, file)
    for name in case.limits.rules.split(","):
        if name.strip().lower().endswith(".toml"):
            problem = f"limits.rules: '{name.strip()}' is a file"
            remedy = "the desk reads no files by name; interpass plan judges by your own"
            raise CaseError([Mistake(file, None, problem, remedy)])
    return case


def averaged(case: Case) -> Case:
    """Case with the arc averaged round the ring."""
    return replace(case, model=replace(case.model, ring=1))


def _run(case: Case, text: str, progress: Progress) -> Any:
    """History of a case, kept for the next step."""
    from ..heat.waits import plan

    key = (text, case.model.ring)
    if key in _runs:
        _runs.move_to_end(key)
        return _runs[key]
    progress(0.0, "run")
    history = _runs[key] = plan(case, progress)
    while len(_runs) > MOST_KEPT:
        _runs.popitem(last=False)
    return history
