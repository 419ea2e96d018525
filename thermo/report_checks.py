"""The checks and the verdict in words."""

from collections.abc import Iterator, Sequence

from .check_words import check_lines, shown_required, shown_value
from .checks import FAIL, PASS, Check
from .history import History
from .layout import paragraph, spelled
from .report_passes import planned_wait
from .units import SI, UnitSystem


def plan_lines(
    found: Sequence[Check], own: Sequence[Check], units: UnitSystem
) -> list[str]:
    """Verdicts of a plan: its own, and of the joint's rules those not simply met.

    Parameters
    ----------
    found : sequence of Check
        Every verdict.
    own : sequence of Check
        Those among them on waits and temperatures, which are always shown.
    units : UnitSystem
        The units to speak in.
    """
    shown = [check for check in found if check.verdict != PASS or check in own]
    lines = ["Checks", *check_lines(shown, units)]
    if met := len(found) - len(shown):
        lines += paragraph(f"{met} more rules are met: interpass check lists them.", "  ")
    return lines if found else []


def verdict_text(found: Sequence[Check], history: History, units: UnitSystem = SI) -> str:
    """Return the verdict as a sentence: what to do, or what is not met."""
    if not history.complete:
        return f"NO PLAN. {history.stopped_because or 'The run stopped early.'}"
    failed = [check for check in found if check.verdict == FAIL]
    if failed:
        return f"NOT MET. {'; '.join(_missed(failed, units))}. {_remedy(failed, history)}".strip()
    return f"the limits hold. {_instructions(history)}."


def _missed(failed: list[Check], units: UnitSystem) -> Iterator[str]:
    for check in failed:
        yield (
            f"{check.rule}: {shown_value(check, units)}, must be {check.sense} "
            f"{shown_required(check, units)}"
        )


def _remedy(failed: list[Check], history: History) -> str:
    """Say what would help, where it is plain."""
    rules = " ".join(check.rule for check in failed)
    given = any(not done.wait_is_auto for done in history.passes[1:])
    if "interpass maximum" in rules and given:
        return 'Set wait = "auto" in the case to find the wait.'
    return "Preheat first." if "preheat" in rules else ""


def _instructions(history: History) -> str:
    """Say what to do before each pass."""
    waits = [
        f"{spelled(planned_wait(done)) if done.wait > 0 else 'not'} before pass {done.number}"
        for done in history.passes[1:]
    ]
    return f"Wait {', '.join(waits)}" if waits else "One pass, no wait"
