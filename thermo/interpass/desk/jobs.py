"""The work of the lanes, a function each: texts in, plain data out.

Every function takes ``progress`` first, which ends the job when nobody wants it any more.
What was run last is kept, so that bands follow a ring without running it again.
"""

from collections import OrderedDict
from collections.abc import Callable
from math import inf
from typing import TYPE_CHECKING, Any

from ..case_file.change import find_key, with_setting
from ..case_file.conversation import put_all
from ..case_file.questions import LONG
from ..case_file.read import case_from_table, parse_case, with_ring
from ..case_file.write import new_case_text
from ..face.asking import bands_of, helps_of
from ..joint.case import Case
from ..report.strike import (
    Strike,
    by_weld_words,
    is_told,
    reading_text,
    short_arc_words,
    strike_line,
    strikes,
)
from ..text.errors import CaseError, CatalogueError, Mistake, unknown
from ..text.kinds import SI, UNIT_SYSTEMS, US
from ..text.progress import Progress
from ..text.records import degC
from ..text.times import clock, shop_time, spelled
from ..text.toml import case_table
from ..text.units import UnitError, parse
from . import edit, form

if TYPE_CHECKING:
    from ..doubt.bands import Bands
    from ..heat.history import History
    from ..logs.log import Log
    from ..readings.fit import Fit
    from ..remedies.trials import Help

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


def new_joint(
    _progress: Progress, *, answers: dict[str, str], units: str
) -> dict[str, Any]:
    """Put the questions that a new joint is begun with, as ``interpass new`` does.

    ``text`` is the new case once every answer will do; ``wrong`` says why answers that
    do one by one make no joint together.
    """
    system = UNIT_SYSTEMS[units]
    sheet, text, wrong = put_all(answers, system), "", ""
    if sheet.is_complete:
        try:
            text = new_case_text(sheet.found, system)
        except CatalogueError as error:
            wrong = str(error)
    offered = form.choices_of_new(sheet.found)
    asked = [{**vars(q), "choices": offered.get(q.name, [])} for q in sheet.questions]
    return {"questions": asked, "text": text, "wrong": wrong}


def solve(progress: Progress, *, text: str, file: str, step: str) -> dict[str, Any]:
    """Run a case: "averaged", "ring" or "bands", each a better answer than the last."""
    from .answers import answer_of

    case = desk_case(text, file)
    if step == "averaged":
        case = with_ring(case, 1)
    history = _run(case, text, progress)
    bands = _bands(case, text, progress) if step == "bands" else None
    return answer_of(case, history, bands, step)


def section(progress: Progress, *, text: str, file: str) -> dict[str, Any]:
    """Temperatures over the section from first to last, the arc averaged."""
    from ..heat.waits import plan
    from .answers import section_of

    case = with_ring(desk_case(text, file), 1)
    total = float(_run(case, text, progress).time[-1])
    return section_of(case, plan(case, progress, frames=total / MOMENTS))


def remedies(progress: Progress, *, text: str, file: str) -> dict[str, Any]:
    """Find what would shorten the waits, each with the lines that make it so."""
    from ..heat.history import planned_time
    from ..remedies.trials import find_helps

    case = desk_case(text, file)
    history = _run(case, text, progress)
    helps = find_helps(case, history, progress)
    now = spelled(planned_time(history)) if history.complete else "no plan"
    return {
        "remark": helps.remark,
        "offered": [
            {
                "title": one.title,
                "before": now,
                "after": spelled(_as_timed(one)),
                "caution": one.caution,
                "text": edit.with_changes(text, one.changes),
            }
            for one in helps.best
        ],
    }


def _as_timed(one: "Help") -> float:
    """Total time with a change [s], its waits as the shop times them, as the page's own."""
    free = [w for p, w in zip(one.case.passes, one.waits, strict=True) if p.wait is None]
    return one.total_after + sum(shop_time(wait) - wait for wait in free if wait)


def report(progress: Progress, *, text: str, file: str, units: str) -> dict[str, Any]:
    """Return the report of a plan as the command line prints it."""
    from ..face.answers import Plan

    case = desk_case(text, file)
    history = _run(case, text, progress)
    bands = _bands(case, text, progress)
    found = Plan(case, history, bands, helps_of(case, history, progress, bands))
    return {"report": found.text(units)}


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


def _run(case: Case, text: str, progress: Progress) -> Any:
    """History of a case, kept for the next step."""
    from ..heat.waits import plan

    return _kept((text, case.model.ring), progress, lambda: plan(case, progress))


def _bands(case: Case, text: str, progress: Progress) -> Any:
    """Doubt about a run that got to its end, kept; None of another."""
    history = _run(case, text, progress)
    key = (text, -case.model.ring)
    return _kept(key, progress, lambda: bands_of(case, history, progress))


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


def next_waits(progress: Progress, *, text: str, file: str, log: str) -> dict[str, Any]:
    """Find waits and readings before the passes that are left, by the full fit.

    Parameters
    ----------
    text, file : str
        Case and its name.
    log : str
        Log so far; "" before the first burn is over: then it is the plan.
    """
    from ..doubt.bands import find_bands
    from ..heat.waits import plan
    from ..logs.as_welded import as_welded
    from ..logs.log import parse_log
    from ..logs.review import with_free_waits
    from ..readings.fit import fit

    case = desk_case(text, file)
    if not log:
        history = plan(case, progress)
        return _told(case, history, find_bands(case, history, progress), "plan", case)
    welded_log = parse_log(log, len(case.passes))
    welded = with_free_waits(as_welded(case, welded_log), len(welded_log.passes))
    history = plan(welded, progress)
    if not welded_log.readings:
        bands = find_bands(welded, history, progress)
        return _told(welded, history, bands, "weld", case, welded_log)
    found = fit(welded, welded_log.readings, history=history, progress=progress)
    now = found.case, found.history, found.after
    return _told(*now, "readings", case, welded_log, found)


def _told(
    case: Case,
    history: "History",
    bands: "Bands",
    by: str,
    planned: Case,
    log: "Log | None" = None,
    found: "Fit | None" = None,
) -> dict[str, Any]:
    """Rows of the passes that are left."""
    done = len(log.passes) if log else 0
    left = strikes(case, history, bands)[done:]
    by_weld = done > 0 and left[:1] != [] and not is_told(case, left[0])
    flagged = [one for one in found.readings if one.is_flagged] if found else []
    return {
        "by": by,
        "stopped": history.stopped_because,
        "limit_degC": degC(case.limits.interpass_max),
        "left_out": len(flagged),
        "short": _short_arc(planned, log) if log else "",
        "by_weld": {u.name: by_weld_words(case, u) for u in (SI, US)}
        if by_weld
        else None,
        "rows": [_strike_entry(one, history) for one in (left[1:] if by_weld else left)],
    }


SHORT_ARC = 0.6  # of the time a pass takes: a shorter arc may be half of one, or went out


def _short_arc(planned: Case, log: "Log") -> str:
    """Say that the last pass may not be done yet; "" where its arc was on for long enough."""
    last = log.passes[-1]
    burnt = sum(burn.off - burn.on for burn in last.burns)
    whole = planned.passes[last.number - 1].arc_time
    return short_arc_words(last.number, burnt, whole) if burnt < SHORT_ARC * whole else ""


def _strike_entry(one: Strike, history: "History") -> dict[str, Any]:
    done = history.passes[one.number - 1]
    return {
        "number": one.number,
        "wait_s": one.wait,
        "kind": one.kind,
        "typical_s": one.typical,
        "strike_degC": degC(one.reading),
        "expect_degC": degC(done.expect_reading),
        "reading": {units.name: reading_text(one, units) for units in (SI, US)},
        "line": {units.name: strike_line(one, units) for units in (SI, US)},
    }


def reviewed(
    progress: Progress, *, text: str, file: str, log: str, units: str
) -> dict[str, Any]:
    """Review of a weld as the command line prints it, and its record as CSV."""
    from ..logs.log import parse_log
    from ..logs.review import review
    from ..report import review as review_report
    from ..results.review import csv_text

    case = desk_case(text, file)
    found = review(case, parse_log(log, len(case.passes), file), progress=progress)
    return {
        "report": review_report.text(found, UNIT_SYSTEMS[units]),
        "record": csv_text(found),
        "verdict": found.verdict,
    }


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
    from ..heat.history import planned_time
    from ..heat.waits import plan
    from .answers import history_curve

    if preset not in PRESETS:
        error = unknown("preset", preset, PRESETS)
        raise error
    words, key, usual = PRESETS[preset]
    table, found = case_table(text, file), []
    values, own = _with_own(usual, table, key)
    for n, value in enumerate(values):
        progress(n / len(values), value)
        case = with_ring(case_from_table(with_setting(table, key, value), file), 1)
        history = plan(case, progress)
        found.append(
            {
                "label": f"{value}, this joint" if value == own else value,
                "waits": [clock(one.wait) for one in strikes(case, history)[1:]],
                "total": spelled(planned_time(history)),
                "stopped": history.stopped_because,
                "limit_degC": degC(case.limits.interpass_max),
                **history_curve(history, None),
            }
        )
    return {"words": words, "variants": found}


def _with_own(
    usual: tuple[str, ...], table: dict[str, Any], key: str
) -> tuple[tuple[str, ...], str]:
    """Values of a preset with the joint's own in its place, and which one that is."""
    part, _, name = key.partition(".")
    place = table.get(part)
    first = place[0] if isinstance(place, list) and place else place
    own = str(first.get(name, "")) if isinstance(first, dict) else ""
    if not own:
        return usual, ""
    alike = [value for value in usual if is_alike(value, own)]
    if alike:
        return usual, alike[0]
    kind = find_key(key).holds.kind
    if not SI.has_unit(kind):
        return (own, *usual), own
    return tuple(sorted((own, *usual), key=lambda value: _size_of(value, kind))), own


def _size_of(value: str, kind: str) -> float:
    """Return the number to sort a value by [SI]; long is longest, words keep their order."""
    try:
        return parse(value, kind)
    except UnitError:
        return inf if value == LONG else 0.0


def is_alike(one: str, other: str) -> bool:
    """Whether two values are the same, but for spaces and case."""
    return one.replace(" ", "").lower() == other.replace(" ", "").lower()


def lesson(progress: Progress, *, units: str) -> dict[str, Any]:
    """Return the lesson as one page, as ``interpass lesson --no-movie`` makes it."""
    from importlib import resources

    from ..lesson.figures import pictures
    from ..lesson.joints import Choices, comparisons
    from ..lesson.numbers import run_joints
    from ..lesson.page import lesson_page

    name = "lesson.toml"
    text = (resources.files("interpass.lesson") / name).read_text(encoding="utf-8")
    joints = comparisons(case_table(text, name), Choices(ring=1), name)
    compared = run_joints(joints, 0.01, progress)
    system = UNIT_SYSTEMS[units]
    page = lesson_page(compared, pictures(compared, system), system)
    return {"page": page.decode()}
