"""The report an engineer files: one page that stands alone, on screen and on paper.

It holds its pictures as data, runs no script and asks the network for nothing. Its
numbers are those of ``report_data.results``.
"""

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from .. import __version__
from ..doubt.bands import Bands
from ..heat.history import History
from ..heat.lump import by_hand
from ..heat.near_arc import near_arc
from ..joint.case import Case
from ..report.assumptions import all_assumptions
from ..report.cautions import cautions
from ..report.heat import (
    Data,
    Table,
    conventions,
    energy_table,
    hand_table,
    is_ferritic,
    ledger_table,
    lump_words,
    near_table,
    passes_table,
    probes_table,
    shares_table,
    sourced_table,
    waits_table,
)
from ..report.near import near_notes
from ..report.passes import doubt_words, pass_notes
from ..report.plan import joint_words
from ..report.verdicts import ORDER, shown_required, shown_value, verdict_text
from ..results.plan import results
from ..rules.judge import checks
from ..rules.limits import FAIL, NOTE, PASS, Check
from ..text.kinds import SI, UnitSystem
from ..text.times import spelled
from .templates import embedded, templates

MARKS = {PASS: "✓ PASS", FAIL: "✗ FAIL", NOTE: "! NOTE"}


BY_NUMBER = "The wait allowed holds the limit for 9 in 10 of the plausible joints."


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
    data = results(case, history, assumptions=True, bands=bands)
    sections = {
        "plan": _plan(data, case, history, bands, units),
        "pictures": list(embedded(figures or {})),
        "helps": list(helps),
        "heat": list(_heat(data, case, history, units)),
    }
    page = templates().get_template("report.html")
    return page.render(
        **sections,
        **_opening(data, case, history, units),
        **_judged(case, history, units, bands),
        **_sourced(case, units),
        parts=list(_parts(sections)),
        cautions=cautions(case, history, units),
        date=date,
    )


def _opening(
    data: Data, case: Case, history: History, units: UnitSystem
) -> dict[str, Any]:
    """Title, joint, model and limit."""
    limits = case.limits
    how = "arc averaged round the ring"
    if history.model == "ring":
        how = f"travelling arc, {data['ring']} cells round the ring"
    planned, exact = data["total_with_shop_waits_s"], data["total_s"]
    part = "" if len(history.passes) == len(case.passes) else " (passes run so far)"
    return {
        "title": " ".join(case.title.split()) or "Plan of a weld",
        "file": Path(case.file).name,
        "version": __version__,
        "joint": joint_words(case, units),
        "model": f"{history.model} ({how}), {data['cells']} cells, {data['steps']} steps",
        "limit": (
            f"between passes at most {units.temperature(limits.interpass_max)} "
            f"({limits.interpass_max_source}); before pass 1 at least "
            f"{units.temperature(limits.preheat_min)} ({limits.preheat_min_source})"
        ),
        "total": (
            f"{spelled(planned)} from first arc on to last arc off with the waits of the "
            f"shop; {exact:.1f} s with the waits as computed{part}"
        ),
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
    data: Data, case: Case, history: History, bands: Bands | None, units: UnitSystem
) -> list[Table]:
    """Set out waits and passes, and what the doubt about them comes from."""
    if not history.passes:
        return []
    tables = [
        passes_table(data, units, [" ".join(pass_notes(case, history, units))]),
    ]
    if data["passes"][1:]:
        notes = ["Best waits are rounded up to 5 s, as a shop times them."]
        if bands is not None:
            notes = [f"{notes[0]} {BY_NUMBER} {doubt_words(bands.shares)}"]
        tables.insert(0, waits_table(data, units, notes))
    if bands is not None and bands.shares:
        tables.append(shares_table(data))
    return tables


def _heat(data: Data, case: Case, history: History, units: UnitSystem) -> Iterator[Table]:
    """Energies, ledger, hand check, near field and places followed."""
    if history.passes:
        yield energy_table(data, case, units, conventions(case, history))
    if history.ledger.arc > 0:
        yield ledger_table(data, float(history.time[-1]))
    steps = by_hand(case, history)
    if steps and data["hand_check"]["heat_capacity_J_per_K"] is not None:
        yield hand_table(data, units, lump_words(case, steps))
    if near := near_arc(case, history):
        notes = near_notes(near, units, ferritic=is_ferritic(data))
        yield near_table(data, units, [" ".join(notes)])
    if data["probes"]:
        yield probes_table(data, units)


def _sourced(case: Case, units: UnitSystem) -> dict[str, Table]:
    """Numbers that were given, and those that were assumed."""
    rows = [vars(row) for row in all_assumptions(case, units)]
    return {
        "inputs": sourced_table("Inputs", [r for r in rows if r["standing"] == "given"]),
        "assumptions": sourced_table(
            "Assumptions", [r for r in rows if r["standing"] != "given"]
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
