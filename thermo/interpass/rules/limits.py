"""What must hold for a run, one verdict each, with who asks for it."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import isfinite, nan

from ..heat.history import History, PassResult
from ..joint.case import Case
from ..joint.places import measuring_place

PASS, FAIL, NOTE = "pass", "fail", "note"
SLACK = 0.01  # K; a wait ends within less than this of the limit
GIVEN = "given in the case"
PREHEAT = "Preheat first; start in [surroundings] of the case says how warm the piece is."


@dataclass(frozen=True)
class Check:
    """One rule and what became of it.

    ``value`` and ``required`` are SI numbers of the kind of quantity ``kind`` (a key of
    ``units.FORMS``), or texts where ``kind`` is empty; ``sense`` says on which side of
    ``required`` the value must lie.
    """

    rule: str
    verdict: str  # "pass", "fail" or "note"
    value: float | str
    required: float | str
    source: str
    kind: str = ""
    sense: str = ""  # "at most", "at least", "below", "above"
    standing: str = ""
    advice: str = ""  # what to do or to know, a sentence
    is_background: bool = False  # true of most joints: told when asked
    strong: bool = False  # a note that must stand in the verdict and on the card
    slack: float = 0.0  # K by which a temperature may miss what is required and pass

    @property
    def leans_on_slack(self) -> bool:
        """Whether it passes by the slack alone."""
        parts = (self.value, self.required)
        if self.verdict != PASS or not self.slack or "" in parts:
            return False
        value, required = map(float, parts)
        return value > required if self.sense == "at most" else value < required


def limits_kept(case: Case, history: History) -> list[Check]:
    """Verdict on every limit of the case, in the order the welder meets them."""
    return [*_before_pass_1(case, history), *_between(case, history),
            *_watched(case, history), *_reached(case, history)]  # fmt: skip


def strong(found: Iterable[Check]) -> list[Check]:
    """Return the notes that must stand in the verdict and on the card: warnings."""
    return [check for check in found if check.strong]


def verdict(found: Sequence[Check], history: History) -> str:
    """Return "fail" when a rule is not met or the run did not get through."""
    failed = any(check.verdict == FAIL for check in found)
    return FAIL if failed or not history.complete else PASS


def interpass_of(result: PassResult, case: Case) -> Check:
    """Check the joint, or its reading, at arc on against the interpass maximum."""
    limits = case.limits
    source = limits.interpass_max_source or GIVEN
    if limits.by_reading:
        source += f"; of the reading {measuring_place(case).name}"
    return at_most(
        f"interpass maximum, pass {result.number}",
        result.judged(limits),
        limits.interpass_max,
        source,
        limits.interpass_max_standing or "given",
    )


def at_most(rule: str, T: float, limit: float, source: str, standing: str = "") -> Check:
    """Temperature against a maximum [K]."""
    outcome = PASS if limit + SLACK >= T else FAIL
    return _temperature(rule, outcome, T, limit, source, "at most", standing)


def at_least(rule: str, T: float, limit: float, source: str, standing: str = "") -> Check:
    """Temperature against a minimum [K]."""
    outcome = PASS if limit - SLACK <= T else FAIL
    return _temperature(rule, outcome, T, limit, source, "at least", standing)


def _temperature(
    rule: str,
    outcome: str,
    T: float,
    limit: float,
    source: str,
    sense: str,
    standing: str,
) -> Check:
    """Verdict on a temperature, with the slack it was judged by."""
    return Check(
        rule, outcome, T, limit, source, "temperature", sense, standing, slack=SLACK
    )


def _before_pass_1(case: Case, history: History) -> Iterator[Check]:
    """Preheat: the coldest point of the joint before the first arc."""
    for result in history.passes[:1]:
        limits = case.limits
        source = limits.preheat_min_source or GIVEN
        found = at_least(
            "preheat minimum, pass 1",
            result.at_arc_on.coldest,
            limits.preheat_min,
            source,
        )
        yield replace(found, advice=PREHEAT if found.verdict == FAIL else "")


def _between(case: Case, history: History) -> Iterator[Check]:
    """Interpass maximum, and minimum where there is one, at each later arc on."""
    for result in history.passes[1:]:
        yield interpass_of(result, case)
        if case.limits.interpass_min is not None:
            yield at_least(
                f"interpass minimum, pass {result.number}",
                result.at_arc_on.coldest,
                case.limits.interpass_min,
                GIVEN,
                "given",
            )


def _watched(case: Case, history: History) -> Iterator[Check]:
    """Points with a limit of their own: the hottest they ever get."""
    traces = history.traces[len(case.probes) :]
    for watch, trace in zip(case.limits.watch, traces, strict=False):
        peak = float(trace.temperature.max()) if trace.temperature.size else nan
        rule = f"watch point '{watch.name}'"
        yield at_most(rule, peak, watch.temperature_max, GIVEN, "given")


def _reached(case: Case, history: History) -> Iterator[Check]:
    """Say that the plan got no further than some pass, when it did not."""
    done = len(history.passes)
    if not history.complete and history.stopped_because:
        required = f"{len(case.passes)} passes"
        yield Check("all passes run", FAIL, f"{done} passes", required, "the case")


def margin(check: Check) -> float:
    """How far inside the limit a temperature is [K]; negative when outside."""
    value, required = check.value, check.required
    if isinstance(value, str) or isinstance(required, str) or not isfinite(value):
        return nan
    return required - value if check.sense in ("at most", "below") else value - required
