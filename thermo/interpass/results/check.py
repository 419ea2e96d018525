"""A check: JSON."""

from collections.abc import Sequence
from typing import Any

from ..heat.quick_look import QuickLook, quick_look
from ..joint.arc import energy_of_pass, heat_input_of_pass
from ..joint.beads import legs_after, legs_built, over_code, throat
from ..joint.case import Case, Pass
from ..report.verdicts import joint_verdict_text
from ..rules.judge import checks, failed, other_sets, sets_for, unjudged
from ..rules.limits import FAIL, PASS, Check
from ..rules.of_joint import deposit
from ..text.kinds import SI, to_degC
from ..text.records import degC, rounded

SCHEMA = 1


def check_data(case: Case, rules: Sequence[str] = ()) -> dict[str, Any]:
    """Everything a check found, as one object for JSON."""
    found = checks(case, None, rules)
    limits = case.limits
    return {
        "schema": SCHEMA,
        "title": case.title,
        "rule_sets": [one.name for one in sets_for(case, rules)],
        "limit": {
            "interpass_max_degC": degC(limits.interpass_max),
            "source": limits.interpass_max_source,
            "standing": limits.interpass_max_standing,
        },
        "fillet": None
        if case.is_bare
        else {
            "asked": _legs(case.leg_pipe, case.leg_socket),
            "built": _legs(*legs_built(case)),
        },
        "over_code": _over_code(case),
        "end_gap_mm": None if case.is_bare else rounded(case.end_gap * 1e3, 4),
        "insertion_mm": None
        if case.is_bare
        else rounded((case.fitting.socket_depth - case.end_gap) * 1e3, 4),
        "clearance_mm": None if case.is_bare else rounded(case.clearance * 1e3, 4),
        "quick_look": [_quick(look) for look in quick_look(case)],
        "passes": [_pass_entry(case, p) for p in case.passes],
        "checks": [check_entry(check) for check in found],
        "not_looked_at": [rule.name for rule in unjudged(case, rules)],
        "other_rule_sets": other_sets(case, rules),
        "verdict": FAIL if failed(found) else PASS,
        "verdict_text": joint_verdict_text(found),
    }


def _quick(look: QuickLook) -> dict[str, Any]:
    return {
        "number": look.number,
        "struck_at_degC": degC(look.start),
        "into_pipe_percent": rounded(100 * look.share_of_pipe, 1),
        "into_socket_percent": rounded(100 * (1 - look.share_of_pipe), 1),
        "peak_at_bore_degC": rounded(to_degC(look.peak_at_bore), 1),
    }


def _legs(leg_pipe: float, leg_socket: float) -> dict[str, float | None]:
    height = throat(leg_pipe, leg_socket) if min(leg_pipe, leg_socket) > 0 else 0.0
    sizes = {"leg_pipe_mm": leg_pipe, "leg_socket_mm": leg_socket, "throat_mm": height}
    return {name: rounded(1e3 * size, 4) for name, size in sizes.items()}


def _over_code(case: Case) -> dict[str, Any] | None:
    """Cost of a fillet out to the edge of the socket face; None for other legs."""
    found = over_code(case)
    if found is None:
        return None
    return {
        "area_mm2": rounded(found.area * 1e6, 4),
        "area_code_mm2": rounded(found.area_code * 1e6, 4),
        "passes": found.passes,
        "passes_code": found.passes_code,
        "heat_more_kJ": rounded(found.heat_more * 1e-3, 4),
        "arc_time_more_s": rounded(found.time_more, 4),
    }


def _pass_entry(case: Case, p: Pass) -> dict[str, Any]:
    added = deposit(case, p)
    return {
        "number": p.number,
        "current_A": rounded(p.current, 4),
        "voltage_V": rounded(p.voltage, 4),
        "travel_mm_per_min": rounded(p.travel * 6e4, 4),
        "arc_energy_kJ_per_mm": rounded(energy_of_pass(p) * 1e-6, 5),
        "heat_input_kJ_per_mm": rounded(heat_input_of_pass(p, case.process) * 1e-6, 5),
        "net_power_W": rounded(p.net_power, 4),
        "deposit_mm2": None if added is None else rounded(added * 1e6, 4),
        "after": _legs(*legs_after(case, p)),
    }


def check_entry(check: Check) -> dict[str, Any]:
    """One verdict as data; its numbers are in ``unit``, always of the SI shop units."""
    return {
        "rule": check.rule,
        "verdict": check.verdict,
        "value": _number(check.value, check.kind),
        "required": _number(check.required, check.kind),
        "unit": SI.unit(check.kind) if SI.has_unit(check.kind) else "1",
        "sense": check.sense,
        "tolerance_K": check.slack,
        "source": check.source,
        "standing": check.standing,
        "advice": check.advice,
        "strong": check.strong,
    }


def _number(value: float | str, kind: str) -> float | str | None:
    """Value in the unit of its kind; nothing where there is none."""
    if isinstance(value, str):
        return value or None
    return rounded(SI.value(kind, value) if SI.has_unit(kind) else value, 4)
