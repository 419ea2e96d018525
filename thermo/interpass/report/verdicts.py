"""Checks and verdicts in words, the same in every report."""

import re
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from typing import TYPE_CHECKING, Any

from ..heat.history import History
from ..rules.limits import FAIL, NOTE, PASS, Check, strong
from ..text.kinds import SI, UnitSystem
from ..text.layout import Words
from .strike import band_of, most_text, wait_of, wait_words

if TYPE_CHECKING:
    from ..doubt.bands import Bands


def plan_words(
    found: Sequence[Check], own: Sequence[Check], units: UnitSystem
) -> list[Words]:
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
    words = [Words("Checks"), *check_words(shown, units)]
    if met := len(found) - len(shown):
        words.append(
            Words(f"{met} more rules are met: interpass check lists them.", "  ")
        )
    return words if found else []


def first_words(found: Sequence[Check], units: UnitSystem) -> list[Words]:
    """Tell what is not met, and what is news of this joint; without sources."""
    shown = [c for c in found if c.verdict != PASS and not c.is_background]
    return list(check_words(shown, units, is_sourced=False))


def verdict_text(
    found: Sequence[Check],
    history: History,
    units: UnitSystem = SI,
    bands: "Bands | None" = None,
) -> str:
    """Return the verdict as a sentence: what to do, or what is not met.

    The waits are the safe ones where ``bands`` says them, and called what they are
    where it does not.
    """
    if not history.complete:
        return f"NO PLAN. {history.stopped_because or 'The run stopped early.'}"
    failed = [check for check in found if check.verdict == FAIL]
    if failed:
        missed, remedy = "; ".join(_missed(failed, units)), _remedy(failed, history)
        return f"NOT MET. {missed}. {remedy}".strip() + warning(found, units)
    return f"the limits hold. {_instructions(history, bands)}.{warning(found, units)}"


def warning(found: Iterable[Check], units: UnitSystem = SI) -> str:
    """Return the notes that must stand in every verdict, in words; "" without any."""
    told = "; ".join(_missed(strong(found), units))
    return f" WARNING: {told}." if told else ""


def _missed(failed: Iterable[Check], units: UnitSystem) -> Iterator[str]:
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


def _instructions(history: History, bands: "Bands | None") -> str:
    """Say what to do before each pass."""
    told = []
    for done in history.passes[1:]:
        wait, kind = wait_of(done, band_of(bands, done.number))
        words = wait_words(wait, kind) if wait > 0 else "not"
        told.append(f"{words} before pass {done.number}")
    return f"Wait {', '.join(told)}" if told else "One pass, no wait"


ORDER = (FAIL, NOTE, PASS)
MORE_DIGITS = 3  # decimals beyond the usual, where value and requirement look the same
OF_PASS = re.compile(r"(.*), pass (\d+)")


def check_words(
    found: Iterable[Check], units: UnitSystem, *, is_sourced: bool = True
) -> Iterator[Words]:
    """Tell every verdict: what is not met first, what is met last and short.

    Verdicts that differ only in the pass stand in one paragraph.
    """
    every = list(found)
    known = [*ORDER[:1], *{c.verdict for c in every} - set(ORDER), *ORDER[1:]]
    for verdict in known:
        of_verdict = [check for check in every if check.verdict == verdict]
        for same in _alike(of_verdict):
            words = _sentence(same, units, is_sourced=is_sourced)
            mark = "WARN" if same[0].strong else verdict.upper()
            yield Words(words, f"  {mark:<5}", " " * 9)


def _alike(found: Sequence[Check]) -> Iterator[list[Check]]:
    """Verdicts on several passes that belong in one line."""

    def key(check: Check) -> tuple[Any, ...]:
        base = OF_PASS.fullmatch(check.rule)
        words = check.value if isinstance(check.value, str) else ""
        return (base[1] if base else check.rule, check.required, words, check.source)

    for _, same in groupby(found, key):
        yield list(same)


def _sentence(same: Sequence[Check], units: UnitSystem, *, is_sourced: bool) -> str:
    """One line on one rule: what it is, what it must be, who says so, what to do."""
    first = same[0]
    standing = f" [{first.standing}]" if first.standing else ""
    words = f"{_name(same)}: {_values(same, units)}"
    if first.required != "":
        words += f", {first.sense} {shown_required(first, units)}"
    if any(check.leans_on_slack for check in same):
        words += f", held by the tolerance of {first.slack:g} K alone"
    advice = f" {first.advice}" if first.advice else ""
    source = f" ({first.source}){standing}" if is_sourced else ""
    return f"{words}{source}.{advice}".replace("  ", " ")


def _name(same: Sequence[Check]) -> str:
    """Name of the rule and the passes it is about."""
    found = [OF_PASS.fullmatch(check.rule) for check in same]
    numbers = [match[2] for match in found if match]
    base = found[0][1] if found[0] else same[0].rule
    if len(numbers) > 1:
        return f"{base}, passes {', '.join(numbers[:-1])} and {numbers[-1]}"
    return same[0].rule


def _values(same: Sequence[Check], units: UnitSystem) -> str:
    """Value, or the least and the most of several."""
    shown = list(dict.fromkeys(shown_value(check, units) for check in same))
    numbers = [check for check in same if not isinstance(check.value, str)]
    if len(shown) == 1 or len(numbers) != len(same):
        return " and ".join(shown)
    low, high = (pick(numbers, key=lambda c: c.value) for pick in (min, max))
    return f"{shown_value(low, units)} to {shown_value(high, units)}"


def shown_required(check: Check, units: UnitSystem) -> str:
    """Say what a verdict requires, with its unit; a maximum that is held is not rounded up.

    Examples
    --------
    >>> held = Check("reading", "pass", 432.0, 436.8, "", "temperature", "at most")
    >>> shown_value(held, SI), shown_required(held, SI)
    ('159 degC', '163 degC')
    """
    shown = in_words(check.required, check.kind, units, digits_for(check, units))
    value, most = check.value, check.required
    is_most = (check.kind, check.sense, check.verdict) == ("temperature", "at most", PASS)
    if not is_most or isinstance(value, str) or isinstance(most, str):
        return shown
    down = most_text(most, units)  # as every reading to strike by
    is_held = round(units.value("temperature", value)) <= float(down.split()[0])
    return down if is_held else shown


def shown_value(check: Check, units: UnitSystem) -> str:
    """Value of a verdict with its unit.

    Examples
    --------
    >>> shown_value(Check("leg", "pass", 4.26e-3, 4.0e-3, "", "length"), SI)
    '4.26 mm'
    """
    return in_words(check.value, check.kind, units, digits_for(check, units))


def digits_for(check: Check, units: UnitSystem) -> int | None:
    """Decimals at which value and requirement can be told apart; None is the usual."""
    parts = (check.value, check.required)
    if check.verdict == PASS or any(isinstance(part, str) for part in parts):
        return None
    usual = units.units[check.kind][1] if units.has_unit(check.kind) else 3
    for digits in range(usual, usual + MORE_DIGITS + 1):
        shown = {in_words(part, check.kind, units, digits) for part in parts}
        if len(shown) > 1:
            return digits
    return None


def in_words(
    value: float | str, kind: str, units: UnitSystem, digits: int | None = None
) -> str:
    """Value with its unit; words as they are."""
    if isinstance(value, str):
        return value
    if units.has_unit(kind):
        return units.text(kind, value, digits)
    return f"{value:.3g}" if digits is None else f"{value:.{digits}g}"


def joint_verdict_text(found: Sequence[Check], units: UnitSystem = SI) -> str:
    """Verdict on a joint in one sentence."""
    failed = [check for check in found if check.verdict == FAIL]
    notes = sum(check.verdict == NOTE for check in found)
    if not failed:
        told = f" {notes} notes to read." if notes > 1 else ""
        told = " 1 note to read." if notes == 1 else told
        return f"every rule looked at is met.{told}{warning(found, units)}"
    missed = [
        f"{_name([check])}: {shown_value(check, units)}"
        + (
            f", must be {check.sense} {shown_required(check, units)}"
            if check.sense
            else ""
        )
        for check in failed
    ]
    return f"NOT MET. {'; '.join(missed)}.{warning(found, units)}"
