"""The report of a plan as text: tables a welder reads, the verdict last.

Widths fit 80 columns but for a few tables that may take 100; only plain characters.
"""

from collections.abc import Iterator

from .assumptions import assumption_lines
from .cautions import cautions
from .checks import FAIL, Check, checks, margin, verdict
from .history import History
from .joint import Case
from .layout import paragraph, spelled
from .report_heat import energy_lines, hand_check_lines, ledger_lines
from .report_passes import pass_lines, planned_wait
from .units import SI, UnitSystem

__all__ = ["Check", "checks", "text", "verdict", "verdict_text"]


def text(
    case: Case, history: History, units: UnitSystem = SI, *, assumptions: bool = False
) -> str:
    """Report of a run, complete or not; ends with the verdict and a newline.

    Parameters
    ----------
    case : Case
        What was asked.
    history : History
        What the run left behind, as far as it went.
    units : UnitSystem
        The units to speak in.
    assumptions : bool
        Whether to list every number used, with its source.
    """
    found = checks(case, history)
    parts = [
        _opening(case, history, units),
        pass_lines(case, history, units),
        energy_lines(case, history, units),
        ledger_lines(history),
        hand_check_lines(case, history, units),
        _checks(found, units),
        assumption_lines(case, units) if assumptions else [],
        _cautions(case, history, units),
        paragraph(f"Verdict: {verdict_text(case, history, units)}"),
    ]
    return "\n\n".join("\n".join(part) for part in parts if part) + "\n"


def _opening(case: Case, history: History, units: UnitSystem) -> list[str]:
    """Title, joint and model."""
    lines = [case.title, *paragraph(_joint(case, units))]
    how = "arc averaged round the ring"
    if history.model == "ring":
        how = f"travelling arc, {case.model.ring} cells round the ring"
    lines += paragraph(
        f"Model: {history.model} ({how}), {history.cells} cells, {history.steps} steps."
    )
    limits = case.limits
    limit, least = units.temperature(limits.interpass_max), limits.preheat_min
    lines += paragraph(
        f"Limits: between passes at most {limit} ({limits.interpass_max_source}); before "
        f"pass 1 at least {units.temperature(least)} ({limits.preheat_min_source})."
    )
    return lines


def _joint(case: Case, units: UnitSystem) -> str:
    """What is welded, in one sentence."""
    pipe, fitting, length = case.pipe, case.fitting, units.length
    size = f"{pipe.size} Sch {pipe.schedule}, " if pipe.size else ""
    rating = f" class {fitting.pressure_class}" if fitting.pressure_class else ""
    legs = f"leg {length(case.leg_pipe)}"
    if case.leg_pipe != case.leg_socket:
        legs += f" on the pipe, {length(case.leg_socket)} on the socket"
    return (
        f"Pipe {size}{length(pipe.outside_diameter)} x {length(pipe.wall)}, "
        f"{pipe.material.name}; {fitting.kind}{rating}, {fitting.material.name}; filler "
        f"{case.filler_name}; {legs}; end gap {length(case.end_gap)}; {case.process}, "
        f"{case.position}; air {units.temperature(case.surroundings.air)}."
    )


def _checks(found: list[Check], units: UnitSystem) -> list[str]:
    """Every rule looked at, with its source."""
    lines = ["Checks"]
    for check in found:
        required = f"{check.sense} {_shown(check.required, check, units)}".strip()
        words = (
            f"{check.rule}: {_shown(check.value, check, units)}, {required} "
            f"({check.source})"
        )
        lines += paragraph(words, f"  {check.verdict.upper():<5}", " " * 9)
    return lines if found else []


def _shown(value: float | str, check: Check, units: UnitSystem) -> str:
    """Value with its unit; a text as it is."""
    if isinstance(value, str):
        return value
    close = abs(margin(check)) < 1.0 and check.kind == "temperature"
    return units.text(check.kind, value, 1 if close else None)


def _cautions(case: Case, history: History, units: UnitSystem) -> list[str]:
    lines = ["Cautions"]
    for caution in cautions(case, history, units):
        lines += paragraph(caution, "- ")
    return lines


def verdict_text(case: Case, history: History, units: UnitSystem = SI) -> str:
    """The verdict as a sentence: what to do, or what is not met."""
    if not history.complete:
        return f"NO PLAN. {history.stopped_because or 'The run stopped early.'}"
    failed = [check for check in checks(case, history) if check.verdict == FAIL]
    if failed:
        return f"NOT MET. {'; '.join(_missed(failed, units))}. {_remedy(history)}".strip()
    return f"the limits hold. {_instructions(history)}."


def _missed(failed: list[Check], units: UnitSystem) -> Iterator[str]:
    for check in failed:
        value, required = (_shown(v, check, units) for v in (check.value, check.required))
        yield f"{check.rule}: {value}, must be {check.sense} {required}"


def _remedy(history: History) -> str:
    given = any(not p.wait_is_auto for p in history.passes[1:])
    return 'Set wait = "auto" in the case to find the wait.' if given else ""


def _instructions(history: History) -> str:
    """What to do before each pass."""
    waits = [
        f"{spelled(planned_wait(done)) if done.wait > 0 else 'not'} before pass {done.number}"
        for done in history.passes[1:]
    ]
    return f"Wait {', '.join(waits)}" if waits else "One pass, no wait"
