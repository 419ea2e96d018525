"""The report of a plan as text: tables a welder reads, the verdict last.

Widths fit 80 columns but for a few tables that may take 100; only plain characters.
"""

from ..doubt.bands import Bands
from ..heat.history import History
from ..heat.near_arc import near_arc
from ..joint.case import Case
from ..remedies.trials import Helps
from ..rules.judge import checks as all_checks
from ..rules.limits import checks
from ..text.kinds import SI, UnitSystem
from ..text.layout import paragraph
from .assumptions import assumption_lines
from .cautions import cautions
from .heat import energy_lines, hand_check_lines, ledger_lines
from .near import comparison_lines, near_lines
from .passes import doubt_lines, pass_lines
from .remedies import helps_lines
from .verdicts import plan_lines, verdict_text


def text(
    case: Case,
    history: History,
    units: UnitSystem = SI,
    *,
    assumptions: bool = False,
    bands: Bands | None = None,
    helps: Helps | None = None,
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
    bands : Bands, optional
        How far the answer may be off.
    helps : Helps, optional
        What would shorten it.
    """
    found = all_checks(case, history)
    parts = [
        _opening(case, history, units),
        pass_lines(case, history, units),
        doubt_lines(bands, units) if bands else [],
        comparison_lines(history),
        energy_lines(case, history, units),
        ledger_lines(history),
        hand_check_lines(case, history, units),
        near_lines(near_arc(case, history), units),
        plan_lines(found, checks(case, history), units),
        assumption_lines(case, units) if assumptions else [],
        helps_lines(helps) if helps else [],
        _cautions(case, history, units),
        paragraph(f"Verdict: {verdict_text(found, history, units, bands)}"),
    ]
    return "\n\n".join("\n".join(part) for part in parts if part) + "\n"


def _opening(case: Case, history: History, units: UnitSystem) -> list[str]:
    """Title, joint and model."""
    lines = [*paragraph(case.title), *paragraph(joint_words(case, units))]
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


def joint_words(case: Case, units: UnitSystem) -> str:
    """Say what is welded, in one sentence."""
    pipe, fitting, length = case.pipe, case.fitting, units.length
    size = f"{pipe.size} Sch {pipe.schedule}, " if pipe.size else ""
    rating = f" class {fitting.pressure_class}" if fitting.pressure_class else ""
    if case.is_bare:
        return (
            f"Bare pipe {size}{length(pipe.outside_diameter)} x {length(pipe.wall)}, "
            f"{pipe.material.name}, heated in a band of {length(case.band)}, "
            f"{length(case.band_depth)} deep; {case.process}, {case.position}; air "
            f"{units.temperature(case.surroundings.air)}."
        )
    legs = f"leg {length(case.leg_pipe)}"
    if case.leg_pipe != case.leg_socket:
        legs += f" on the pipe, {length(case.leg_socket)} on the socket"
    return (
        f"Pipe {size}{length(pipe.outside_diameter)} x {length(pipe.wall)}, "
        f"{pipe.material.name}; {fitting.kind}{rating}, {fitting.material.name}; filler "
        f"{case.filler_name}; {legs}; end gap {length(case.end_gap)}; {case.process}, "
        f"{case.position}; air {units.temperature(case.surroundings.air)}."
    )


def _cautions(case: Case, history: History, units: UnitSystem) -> list[str]:
    lines = ["Cautions"]
    for caution in cautions(case, history, units):
        lines += paragraph(caution, "- ")
    return lines
