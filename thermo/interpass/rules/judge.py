"""Is the joint right? Every verdict with its rule, before a heat run and after it."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from math import ceil, isinf
from pathlib import Path

from ..heat.history import History
from ..joint.case import Case
from ..text.errors import CaseError, CatalogueError, Mistake
from ..text.times import spelled
from . import limits as after
from .language import NUMBER, TEXT, TRUTH, NoValue, Value, value_of
from .limits import FAIL, NOTE, PASS, Check
from .of_joint import UNIT_OF, to_si
from .of_run import CooledTo, Run, cooled_to, touches
from .quantities import OF_PASSES, OF_RUNS, Values
from .sets import (
    DEFAULT,
    PLACEHOLDER,
    TOLD,
    WARN,
    Rule,
    RuleSet,
    chosen,
    rules_of,
    shipped_sets,
)

__all__ = ["FAIL", "NOTE", "PASS", "Check", "checks", "failed", "other_sets", "sets_for"]
_SLACK = 1e-9  # of a requirement: round-off must not fail what is exactly at the limit

HOLDS = {
    "at least": lambda value, required, slack: value >= required - slack,
    "at most": lambda value, required, slack: value <= required + slack,
    "above": lambda value, required, slack: value > required + slack,
    "below": lambda value, required, slack: value < required - slack,
}


def checks(
    case: Case, history: History | None = None, rules: Sequence[str] = ()
) -> tuple[Check, ...]:
    """Every verdict on a joint, and on its heat run if there is one.

    Parameters
    ----------
    case : Case
        The joint.
    history : History, optional
        Its heat run.
    rules : sequence of str
        Rule sets by name, or files of rules; those of the case when left out, and
        ASME B31.3 when it names none.

    Raises
    ------
    CatalogueError
        No such rule set.
    CaseError
        The case or a file of rules has mistakes.

    Examples
    --------
    >>> from interpass.case_file.read import parse_case
    >>> case = parse_case('''
    ... pipe = { size = "NPS 1", schedule = "80", material = "316L" }
    ... fitting = { kind = "coupling" }
    ... joint = { leg = "4.5 mm" }
    ... pass = [{ current = "80 A", travel = "60 mm/min" }]
    ... ''')
    >>> [check.rule for check in checks(case) if check.verdict == "fail"]
    ['fillet leg asked for', 'fillet leg built by the deposit', 'throat built by the deposit']
    """
    run = Run(case, history) if history else None
    found = list(judged(case, rules_of(sets_for(case, rules)), run))
    if run is not None and history is not None:
        found = [*after.limits_kept(case, history), *found, *_cooling(run)]
    return tuple(found)


def failed(found: Iterable[Check]) -> list[Check]:
    """Return the rules that are not met."""
    return [check for check in found if check.verdict == FAIL]


def sets_for(case: Case, rules: Sequence[str] = ()) -> tuple[RuleSet, ...]:
    """Rule sets a joint is judged by: those named, else the case's, else the default.

    Raises
    ------
    CatalogueError
        No such rule set among ``rules``.
    CaseError
        No such rule set in the case; a file of rules with mistakes.
    """
    if rules:
        return chosen(rules)
    named = [name.strip() for name in case.limits.rules.split(",") if name.strip()]
    try:
        return chosen(named or [DEFAULT], Path(case.file).parent)
    except CatalogueError as error:
        problem = f"limits.rules: {error.problem}"
        mistake = Mistake(case.file or "case", _line(case), problem, error.remedy)
        raise CaseError([mistake]) from None


def _line(case: Case) -> int | None:
    """Line of the case that names the rule sets."""
    for one in case.assumptions:
        if one.key == "limits.rules" and one.source.startswith("line "):
            return int(one.source.removeprefix("line "))
    return None


def other_sets(case: Case, rules: Sequence[str] = ()) -> dict[str, list[str]]:
    """Rules that fail in the sets shipped that were not asked, by set; no heat run."""
    asked = {one.name for one in sets_for(case, rules)}
    return {
        one.name: [check.rule for check in failed(judged(case, rules_of([one])))]
        for one in shipped_sets()
        if one.name not in asked and one.builds_on
    }


def judged(case: Case, rules: Sequence[Rule], run: Run | None = None) -> Iterator[Check]:
    """Verdict of every rule that has something to say on this joint, pass by pass."""
    whole = Values(case, run)
    passes = [(p.number, Values(case, run, p)) for p in case.passes]
    for rule in rules:
        if run is None and rule.names & OF_RUNS:
            continue
        asked = [("", whole)]
        if rule.names & OF_PASSES:
            many = len(passes) > 1
            asked = [(f", pass {n}" if many else "", values) for n, values in passes]
        found = (judge(rule, values, where) for where, values in asked)
        yield from (check for check in found if check)


def unjudged(case: Case, rules: Sequence[str] = ()) -> list[Rule]:
    """Rules of one's own that need a value this joint has not; they are not met."""
    found: list[Rule] = []
    shipped = {one.name for one in shipped_sets()}
    every = [Values(case), *(Values(case, None, p) for p in case.passes)]
    for rule in rules_of(sets_for(case, rules)):
        needed = rule.names - OF_RUNS
        if rule.rule_set not in shipped and not any(
            all(v[name] is not None for name in needed) for v in every
        ):
            found.append(rule)
    return found


def judge(
    rule: Rule, values: Mapping[str, Value | None], where: str = ""
) -> Check | None:
    """One verdict, from the values of the names a rule needs; None where it is silent."""
    try:
        if rule.when and not value_of(rule.when, values):
            return None
        value = value_of(rule.value, values)
        required = value_of(rule.required, values) if rule.required else None
    except NoValue:
        return None
    outcome = _verdict(rule, value, required)
    verdict = NOTE if outcome == WARN else outcome
    kind, shown, wanted = _for_check(rule, value, required)
    return Check(
        rule=rule.name + where,
        verdict=verdict,
        value=shown,
        required=wanted,
        source=_filled(rule.source, values),
        kind=kind,
        sense=rule.sense,
        standing=_filled(rule.standing, values),
        advice=rule.advice if verdict != PASS else "",
        is_background=rule.told != TOLD[0],
        strong=outcome == WARN,
    )


def _verdict(rule: Rule, value: float, required: float | None) -> str:
    """Pass where the requirement holds; a rule without one is a note."""
    if required is None:
        return NOTE
    slack = _SLACK * max(abs(value), abs(required), 1e-3)
    return PASS if HOLDS[rule.sense](value, required, slack) else rule.verdict


def _for_check(
    rule: Rule, value: float | str, required: float | None
) -> tuple[str, float | str, float | str]:
    """Kind, value and requirement as a check holds them: SI, or words."""
    kind = rule.value.kind
    if kind in (TEXT, TRUTH) or isinstance(value, str | bool):
        words = {True: "yes", False: "no"}
        return "", words.get(value, value) if isinstance(value, bool) else value, ""
    if kind == "wind":
        unit = UNIT_OF[kind]
        wanted = "" if required is None else f"{required:g} {unit}"
        return "", f"{value:g} {unit}", wanted
    wanted_si = "" if required is None else to_si(kind, required)
    return "dimensionless" if kind == NUMBER else kind, to_si(kind, value), wanted_si


def _filled(text: str, values: Mapping[str, Value | None]) -> str:
    """Text with the words of the joint put in."""
    return PLACEHOLDER.sub(lambda found: str(values.get(found[1]) or ""), text)


def _cooling(run: Run) -> Iterator[Check]:
    """Say when the finished joint may be touched, and when it may be examined."""
    for row in touches():
        name = f"cool enough for {row.contact}"
        yield from _cooled(run, name, row.temperature, row.source, row.standing)
    for one in run.case.limits.examine:
        name = f"cool enough for {one.name}"
        yield from _cooled(run, name, one.temperature_max, after.GIVEN, "given")


def _cooled(run: Run, rule: str, T: float, source: str, standing: str) -> Iterator[Check]:
    """Say when the hottest point of the joint has fallen to ``T`` [K]; a note."""
    found = cooled_to(run, T)
    if found is None:
        return
    words = f"{_spelled(found)} after the last arc off"
    yield Check(
        rule=rule,
        verdict=NOTE,
        value=words,
        required=T,
        kind="temperature",
        source=source,
        sense="at most",
        standing=standing,
        advice="" if found.is_followed else "Later than the run follows: an estimate.",
        is_background=True,
    )


def _spelled(found: CooledTo) -> str:
    if isinf(found.time):
        return "never"
    if found.is_followed:
        return spelled(found.time)
    return f"about {spelled(60 * ceil(found.time / 60))}"
