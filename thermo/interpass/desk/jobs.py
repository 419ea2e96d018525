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
MOST_KEPT = 8  # runs and bands
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
    from .answers import answer_of

    case = desk_case(text, file)
    if step == "averaged":
        case = averaged(case)
    history = _run(case, text, progress)
    bands = _bands(case, text, progress) if step == "bands" else None
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
    from ..remedies.trials import find_helps
    from ..report import plan as words
    from ..text.kinds import UNIT_SYSTEMS

    case = desk_case(text, file)
    history = _run(case, text, progress)
    bands = _bands(case, text, progress)
    helps = find_helps(case, history, progress) if history.passes else None
    system = UNIT_SYSTEMS[units]
    return {"report": words.text(case, history, system, bands=bands, helps=helps)}


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

    return _kept((text, case.model.ring), progress, lambda: plan(case, progress))


def _bands(case: Case, text: str, progress: Progress) -> Any:
    """Doubt about a run that got to its end, kept; None of another."""
    from ..doubt.bands import find_bands
    from ..doubt.priors import priors

    history = _run(case, text, progress)
    if not history.complete or not priors(case):
        return None
    key = (text, -case.model.ring)
    return _kept(key, progress, lambda: find_bands(case, history, progress))


def _kept(key: tuple[str, int], progress: Progress, find: Callable[[], Any]) -> Any:
    """Take what was found before, or find it; the oldest is forgotten."""
    if key in _runs:
        _runs.move_to_end(key)
        return _runs[key]
    progress(0.0, "run")
    found = _runs[key] = find()
    while len(_runs) > MOST_KEPT:
        _runs.popitem(last=False)
    return found
