"""The report of a check: the joint's own numbers, every verdict with its rule.

No heat is computed here; nothing slow is imported, so that a check comes at once.
"""

from collections.abc import Sequence
from math import isfinite

from ..heat.quick_look import quick_look
from ..joint.arc import energy_of_pass, heat_input_of_pass
from ..joint.beads import legs_after, legs_built, throat
from ..joint.case import Case, Pass
from ..rules.judge import checks, other_sets, sets_for, unjudged
from ..rules.of_joint import deposit
from ..text.kinds import SI, UnitSystem
from ..text.layout import NOTHING, WIDTH, Block, Table, Words, lines_of
from .joint import in_its_units, lip_words, parts_words
from .verdicts import check_words, joint_verdict_text

QUICK_LOOK = "Near the arc, a quick look (moving source on the pipe's wall; plan runs it)"


def check_text(
    case: Case,
    rules: Sequence[str] = (),
    units: UnitSystem = SI,
    width: int = WIDTH,
) -> str:
    """Report of a check as text; ends with the verdict and a newline.

    Parameters
    ----------
    case : Case
        The joint.
    rules : sequence of str
        Rule sets or files of rules; those of the case when left out.
    units : UnitSystem
        The units to speak in.
    width : int
        Characters of a line, at most.

    Raises
    ------
    CatalogueError, CaseError
        An unknown rule set, a file of rules with mistakes.
    """
    case = in_its_units(case, units)
    found = checks(case, None, rules)
    parts: list[Sequence[Block]] = [
        [Words(case.title), *_opening(case, rules, units)],
        _fillet(case, units),
        lip_words(case, units),
        [_passes(case, units)],
        [_near_the_arc(case, units)],
        [Words("Checks"), *check_words(found, units)],
        _others(case, rules),
        [Words(f"Verdict: {joint_verdict_text(found, units)}")],
    ]
    told = ("\n".join(lines_of(part, width)) for part in parts if part)
    return "\n\n".join(told) + "\n"


def _opening(case: Case, rules: Sequence[str], units: UnitSystem) -> list[Words]:
    """Say what is judged, and by whom."""
    sets = sets_for(case, rules)
    judged_by = "; ".join(f"{s.name} ({s.words})" if s.words else s.name for s in sets)
    words = parts_words(case, units)
    if case.is_bare:
        words += f"; heated in a band of {units.length(case.band)}"
    else:
        words += (
            f"; end gap {units.length(case.end_gap)}, insertion "
            f"{units.length(case.fitting.socket_depth - case.end_gap)}, clearance "
            f"{units.length(case.clearance)} all round; filler {case.filler_name}"
        )
    return [
        Words(f"{words}."),
        Words(f"Judged by: {judged_by}. No heat is computed."),
    ]


def _fillet(case: Case, units: UnitSystem) -> list[Table]:
    """Legs and throat asked for, and as the deposit builds them."""
    if case.is_bare:
        return []
    rows = []
    for words, legs in (
        ("asked for", (case.leg_pipe, case.leg_socket)),
        ("built by the deposit", legs_built(case)),
    ):
        sizes = (*legs, throat(*legs) if min(legs) > 0 else 0.0)
        digits = units.units["length"][1]
        rows.append(
            (words, *(f"{units.value('length', size):.{digits}f}" for size in sizes))
        )
    heads = (
        f"Fillet, {units.length_unit}", "leg along pipe", "leg on socket face", "throat"
    )  # fmt: skip
    return [Table("", heads, tuple(rows), left=(0,))]


def _passes(case: Case, units: UnitSystem) -> Table:
    """Arc and metal of every pass."""
    per, area = units.energy_per_length_unit, units.unit("area")
    heads = ("pass", "current, A", "voltage, V", f"travel, {units.unit('speed')}",
             f"arc energy (ASME IX), {per}", f"heat input (EN 1011-1), {per}",
             f"deposit, {area}", f"legs after it, {units.length_unit}")  # fmt: skip
    return Table("", heads, tuple(_pass_row(case, p, units) for p in case.passes))


def _near_the_arc(case: Case, units: UnitSystem) -> Table:
    """Shares of the heat and the bore, by a formula instead of a run."""
    degrees = units.temperature_unit
    heads = ("pass", f"struck at, {degrees}", "heat into the pipe, %",
             "into the socket, %", f"bore at most, {degrees}")  # fmt: skip
    rows = tuple(
        (
            str(look.number),
            f"{units.value('temperature', look.start):.0f}",
            f"{100 * look.share_of_pipe:.0f}",
            f"{100 * (1 - look.share_of_pipe):.0f}",
            f"{units.value('temperature', look.peak_at_bore):.0f}",
        )
        for look in quick_look(case)
    )
    return Table(QUICK_LOOK, heads, rows)


def _pass_row(case: Case, p: Pass, units: UnitSystem) -> tuple[str, ...]:
    return (
        str(p.number),
        _cell(p.current, "current", units),
        _cell(p.voltage, "voltage", units),
        _cell(p.travel, "speed", units),
        _cell(energy_of_pass(p), "energy per length", units),
        _cell(heat_input_of_pass(p, case.process), "energy per length", units),
        _cell(deposit(case, p), "area", units),
        NOTHING
        if case.is_bare
        else " x ".join(_cell(leg, "length", units) for leg in legs_after(case, p)),
    )


def _cell(value: float | None, kind: str, units: UnitSystem) -> str:
    if value is None or not isfinite(value):
        return NOTHING
    return f"{units.value(kind, value):.{units.units[kind][1]}f}"


def _others(case: Case, rules: Sequence[str]) -> list[Words]:
    """Say what the rule sets that were not asked would not accept, and what was left out."""
    other = other_sets(case, rules)
    bad = [f"{name} would fail {', '.join(why)}" for name, why in other.items() if why]
    good = ", ".join(name for name, why in other.items() if not why)
    lines = []
    if other:
        met = [f"nothing fails by {good}"] if good else []
        lines.append(Words(f"Other rule sets: {'; '.join([*bad, *met])}."))
    for rule in unjudged(case, rules):
        needs = ", ".join(sorted(rule.names))
        words = f"Not looked at: {rule.name}; the joint has no value for all of {needs}."
        lines.append(Words(words))
    return lines
