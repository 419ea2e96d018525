"""The report an engineer files: one page that stands alone, on screen and on paper.

It holds its pictures as data, runs no script and asks the network for nothing. Its
tables are those of the report on the terminal.
"""

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from .. import __version__
from ..doubt.bands import Bands
from ..heat.history import History, planned_time, total_time
from ..heat.near_arc import near_arc
from ..joint.case import Case
from ..report.assumptions import all_assumptions
from ..report.cautions import cautions
from ..report.heat import (
    energy_table,
    ledger_table,
    near_table,
    probes_table,
    sourced_table,
)
from ..report.joint import in_its_units, joint_words
from ..report.passes import passes_table, shares_table, waits_table
from ..report.plan import model_words
from ..report.strike import SAFE, limit_text, place_text, strike_line, strikes, why_below
from ..report.verdicts import ORDER, shown_required, shown_value, verdict_text
from ..rules.judge import checks
from ..rules.limits import FAIL, NOTE, PASS, Check
from ..text.kinds import SI, UnitSystem
from ..text.layout import Table
from ..text.times import clock, spelled
from .templates import embedded, templates

FIELDS = (
    "Procedure (WPS) no.", "Job", "Welder", "Date welded", "Prepared by, date", "Approved by, date",
)  # fmt: skip
"""What is filled in by hand."""

MARKS = {PASS: "✓ PASS", FAIL: "✗ FAIL", NOTE: "! NOTE"}


def report_page(
    case: Case,
    history: History,
    units: UnitSystem = SI,
    *,
    bands: Bands | None = None,
    helps: Sequence[tuple[str, str]] = (),
    date: str = "",
    figures: Mapping[str, bytes] | None = None,
) -> str:
    """Return the report as one HTML page; the same run gives the same page.

    Parameters
    ----------
    case, history : Case, History
        What was asked, and what the run left behind, complete or not.
    units : UnitSystem
        The units to speak in.
    bands : Bands, optional
        How far the answer may be off.
    helps : sequence of (str, str)
        What would shorten the waits: a name and a sentence each.
    date : str
        As the user wants it printed; the program asks no clock.
    figures : mapping of str to bytes, optional
        Pictures by "name.svg" or "name.png", as ``saving.plan_pictures`` makes them; of
        a picture that is there in both kinds the SVG is shown.
    """
    case = in_its_units(case, units)
    sections = {
        "plan": list(_plan(case, history, bands, units)),
        "pictures": list(embedded(figures or {})),
        "helps": list(helps),
        "heat": list(_heat(case, history, units)),
    }
    page = templates().get_template("report.html")
    return page.render(
        **sections,
        **_opening(case, history, units),
        **_judged(case, history, units, bands),
        **_sourced(case, units),
        **_strikes(case, history, bands, units),
        fields=FIELDS,
        parts=list(_parts(sections)),
        cautions=cautions(case, history, units),
        date=date,
    )


def _opening(case: Case, history: History, units: UnitSystem) -> dict[str, Any]:
    """Title, joint, model and limit."""
    limits = case.limits
    planned, exact = planned_time(history), total_time(history)
    part = "" if len(history.passes) == len(case.passes) else " (passes run so far)"
    return {
        "title": " ".join(case.title.split()) or "Plan of a weld",
        "file": Path(case.file).name,
        "version": __version__,
        "joint": joint_words(case, units),
        "model": model_words(case, history),
        "limit": (
            f"between passes at most {limit_text(case, units)} "
            f"({limits.interpass_max_source}); before pass 1 at least "
            f"{units.temperature(limits.preheat_min)} ({limits.preheat_min_source})"
        ),
        "total": (
            f"{spelled(planned)} from first arc on to last arc off with the waits of the "
            f"shop; {exact:.1f} s with the waits as computed{part}"
        ),
    }


def _strikes(
    case: Case, history: History, bands: Bands | None, units: UnitSystem
) -> dict[str, Any]:
    """Say what to do before every pass, in the line that every medium has."""
    found = strikes(case, history, bands)
    lines = []
    for strike in found:
        typical = ""
        if strike.kind == SAFE and strike.typical is not None:
            typical = f" (typical wait {clock(strike.typical)})"
        lines.append(
            f"Before pass {strike.number}: {strike_line(strike, units)}{typical}."
        )
    return {
        "strikes": lines,
        "why": why_below(case, found, units),
        "place": f"The place marked: {place_text(case, units)}." if found else "",
    }


def _judged(
    case: Case, history: History, units: UnitSystem, bands: Bands | None
) -> dict[str, Any]:
    """Every check, those not met first, and the verdict on all."""
    found = checks(case, history)
    holds = history.complete and all(check.verdict != FAIL for check in found)
    ordered = [check for outcome in ORDER for check in found if check.verdict == outcome]
    counts = [f"{sum(c.verdict == v for c in found)} {MARKS[v]}" for v in ORDER]
    outcome, _, words = verdict_text(found, history, units, bands).partition(". ")
    return {
        "verdict": {
            "holds": holds,
            "mark": "✓" if holds else "✗",
            "outcome": _sentence(outcome),
            "words": words,
        },
        "checks": [_check(check, units) for check in ordered],
        "tally": f"{', '.join(counts)}. What is not met comes first.",
    }


def _check(check: Check, units: UnitSystem) -> dict[str, str]:
    required = "" if check.required == "" else shown_required(check, units)
    standing = f" [{check.standing}]" if check.standing else ""
    advice = f" {check.advice}" if check.advice else ""
    return {
        "verdict": check.verdict,
        "mark": MARKS[check.verdict],
        "rule": check.rule,
        "value": shown_value(check, units),
        "required": f"{check.sense} {required}".strip(),
        "source": f"{check.source}{standing}.{advice}".lstrip("."),
    }


def _plan(
    case: Case, history: History, bands: Bands | None, units: UnitSystem
) -> Iterator[Table]:
    """Set out waits and passes, and what the doubt about them comes from."""
    if history.passes[1:]:
        yield waits_table(case, history, units, bands)
    if history.passes:
        yield passes_table(case, history, units)
    if history.passes and bands is not None and bands.shares:
        yield shares_table(bands)


def _heat(case: Case, history: History, units: UnitSystem) -> Iterator[Table]:
    """Energies, ledger, near field and places followed."""
    if history.passes:
        yield energy_table(case, history, units)
    if history.ledger.arc > 0:
        yield ledger_table(history)
    if near := near_arc(case, history):
        yield near_table(case, near, units)
    if any(trace.temperature.size for trace in history.traces):
        yield probes_table(case, history, units)


def _sourced(case: Case, units: UnitSystem) -> dict[str, Table]:
    """Numbers that were given, and those that were assumed."""
    rows = all_assumptions(case, units)
    return {
        "inputs": sourced_table("Inputs", [r for r in rows if r.standing == "given"]),
        "assumptions": sourced_table(
            "Assumptions", [r for r in rows if r.standing != "given"]
        ),
    }


def _parts(sections: dict[str, Any]) -> Iterator[tuple[str, str]]:
    """Parts the page has, for its list of contents."""
    yield "waits", "Waits and passes"
    if sections["pictures"]:
        yield "figures", "Figures"
    yield "checks", "Checks"
    yield "heat", "Heat"
    if sections["helps"]:
        yield "helps", "What would shorten the waits"
    yield "cautions", "Cautions"
    yield "inputs", "Inputs"
    yield "assumptions", "Assumptions"


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}"
