"""The checks and the verdict in words."""

from collections.abc import Iterator

from .checks import FAIL, Check, checks, margin
from .history import History
from .joint import Case
from .layout import paragraph, spelled
from .report_passes import planned_wait
from .units import SI, UnitSystem


def check_lines(found: list[Check], units: UnitSystem) -> list[str]:
    """Every rule looked at, with its source."""
    lines = ["Checks"] if found else []
    for check in found:
        required = f"{check.sense} {_shown(check.required, check, units)}".strip()
        words = (
            f"{check.rule}: {_shown(check.value, check, units)}, {required} "
            f"({check.source}) {check.advice}"
        )
        lines += paragraph(words, f"  {check.verdict.upper():<5}", " " * 9)
    return lines


def _shown(value: float | str, check: Check, units: UnitSystem) -> str:
    """Value with its unit; a text as it is."""
    if isinstance(value, str):
        return value
    if check.kind not in units.units:
        return f"{value:g}"
    close = abs(margin(check)) < 1.0 and check.kind == "temperature"
    return units.text(check.kind, value, 1 if close else None)


def verdict_text(case: Case, history: History, units: UnitSystem = SI) -> str:
    """Return the verdict as a sentence: what to do, or what is not met."""
    if not history.complete:
        return f"NO PLAN. {history.stopped_because or 'The run stopped early.'}"
    failed = [check for check in checks(case, history) if check.verdict == FAIL]
    if failed:
        return f"NOT MET. {'; '.join(_missed(failed, units))}. {_remedy(failed, history)}".strip()
    return f"the limits hold. {_instructions(history)}."


def _missed(failed: list[Check], units: UnitSystem) -> Iterator[str]:
    for check in failed:
        value, required = (_shown(v, check, units) for v in (check.value, check.required))
        yield f"{check.rule}: {value}, must be {check.sense} {required}"


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
