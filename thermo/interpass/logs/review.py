"""The weld as it was done, judged: each interpass temperature predicted and measured.

The prediction runs the joint with the times, amps and volts of the log. Readings correct
it; the newest one, where a pass remains, picks the next wait from the cooling curves.

One rule says whether an arc was struck within the limit: a reading taken just before it
decides, by the reading to strike by that the plan gives; a prediction never overrules a
hotter reading. Without a reading, or with one colder than the joint can be, the prediction
decides.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import isfinite

from ..doubt.bands import Band, Bands, PassBand, find_bands
from ..doubt.count import SAMPLES
from ..heat.history import History, PassResult
from ..heat.waits import plan
from ..joint.case import Case
from ..readings.fit import Fit, fit
from ..readings.reading import Reading
from ..rules import limits as after
from ..rules.judge import checks as rule_checks
from ..rules.limits import FAIL, NOTE, PASS, SLACK, Check
from ..text.progress import Progress
from .as_welded import as_welded
from .burns import LoggedPass
from .log import Log
from .logger import Logger
from .measured import Measured, measure
from .next_wait import NextWait, newest_reading, next_wait

JUST_BEFORE = (
    30.0  # s before the arc: a reading from then on is the interpass temperature
)

SAME_MOMENT = 0.5  # s

STRIKE_RULE = (
    "the reading when the hottest metal is at the limit, less what is in doubt about it"
)

OVER, WITHIN, OPEN = "over", "within", "open"


@dataclass(frozen=True)
class ReviewedPass:
    """One pass welded: as planned, as predicted from the log, as measured."""

    logged: LoggedPass
    planned: PassResult | None  # None: the plan did not get so far
    as_logged: PassResult  # by the log alone: what the arc put in
    done: PassResult  # its best estimate, with what readings taught: temperatures
    hottest: Band | None  # K at its arc on; None without bands
    reading: Band | None  # K to be read just before it
    strike_at: float | None  # K that it may strike at, as planned; None without bands
    measured: Reading | None  # the last one at most JUST_BEFORE its arc on
    before_arc: float  # s from that reading to the arc on
    outcome: str  # "over", "within", or "open" for the first pass
    by: str  # what says so: "measured", "predicted", "measured and predicted"


@dataclass(frozen=True, eq=False)
class _Runs:
    """What the passes are judged by."""

    planned: History
    by_log: History
    history: History  # with what readings taught
    bands: Bands | None
    strikes: tuple[float | None, ...]  # K, before every pass
    fitted: Fit | None


@dataclass(frozen=True, eq=False)
class Review:
    """A log judged."""

    case: Case  # as planned
    welded: Case  # as welded, before readings
    log: Log
    plan: History
    by_log: History  # as welded, by the log alone
    history: History  # as welded, with what earlier readings taught
    bands: Bands | None
    fit: Fit | None  # of the readings but the newest, when that picks the wait
    passes: tuple[ReviewedPass, ...]
    checks: tuple[Check, ...]
    next: NextWait | None
    now: float | None  # s since the first arc on
    measured: Measured | None = None  # a logger's file beside it

    @property
    def verdict(self) -> str:
        """Return "fail" when a limit was exceeded, a rule is not met, or it must not go on."""
        stopped = self.next is not None and self.next.hot is not None
        return FAIL if stopped or any(c.verdict == FAIL for c in self.checks) else PASS


def review(
    case: Case,
    log: Log,
    *,
    now: float | None = None,
    quick: bool = False,
    progress: Progress | None = None,
    samples: int = SAMPLES,
) -> Review:
    """Judge a weld by its log.

    Parameters
    ----------
    case : Case
        As planned.
    log : Log
        Of the same joint.
    now : float, optional
        Time since the first arc on [s].
    quick : bool
        Neither bands nor correction by readings; the newest reading is not used either.
    progress : callable, optional
        Told how far it is, 0 to 1, and what is being done.
    samples : int
        Plausible joints for the bands.

    Raises
    ------
    RunError
        When the joint cannot be run, as planned or as welded.
    """
    tell = progress or (lambda _share, _what: None)
    tell(0.0, "as planned")
    planned = plan(case)
    tell(0.1, "as welded")
    welded = with_free_waits(as_welded(case, log), len(log.passes))
    logged = history = plan(welded)
    newest, rest = newest_reading(case, log)
    bands, fitted = None, None
    strikes = _strikes(
        case, None if quick else find_bands(case, planned, samples=samples)
    )
    if not quick and rest:
        part = _part(tell, 0.2)
        fitted = fit(welded, rest, history=history, progress=part, samples=samples)
        history, bands = fitted.history, fitted.after
    elif not quick:
        bands = find_bands(welded, history, _part(tell, 0.2), samples)
    runs = _Runs(planned, logged, history, bands, strikes, fitted)
    passes = tuple(_reviewed(case, log, runs, p) for p in log.passes)
    return Review(
        case=case,
        welded=welded,
        log=log,
        plan=planned,
        by_log=logged,
        history=history,
        bands=bands,
        fit=fitted,
        passes=passes,
        checks=(*_checks(case, welded, log, history, passes), *_hot_checks(fitted)),
        next=next_wait(
            case, log, history, bands, None if quick else newest, strikes, _hot(fitted)
        ),
        now=now,
    )


def with_logger(found: Review, logger: Logger) -> Review:
    """Set the thermocouples of a logger's file beside the joint as it was welded."""
    return replace(found, measured=measure(found.case, found.log, logger))


def with_free_waits(welded: Case, done: int) -> Case:
    """Let the waits that remain follow from the joint as it is, given ones too."""
    passes = tuple(
        p if p.number <= done else replace(p, wait=None) for p in welded.passes
    )
    return replace(welded, passes=passes)


def _part(tell: Progress, begin: float) -> Progress:
    return lambda share, what: tell(begin + (1 - begin) * share, what)


def _strikes(case: Case, planned: Bands | None) -> tuple[float | None, ...]:
    """Tell the reading to strike by before every pass, as the plan has it [K]."""
    known = [row.strike_at for row in planned.passes] if planned else []
    rest = len(case.passes) - len(known)
    usual = case.limits.interpass_max if case.limits.by_reading else None
    return (*known, *[usual] * rest)


def _cold(fitted: Fit | None) -> tuple[Reading, ...]:
    """List readings colder than this joint can be: they decide nothing."""
    checked = fitted.readings if fitted else ()
    return tuple(one.reading for one in checked if one.is_flagged and not one.is_hot)


def _hot(fitted: Fit | None) -> Reading | None:
    """Find the last reading, when it is hotter than the joint can be."""
    stopped = fitted.stopped_by if fitted else None
    return stopped.reading if stopped else None


def _hot_checks(fitted: Fit | None) -> Iterator[Check]:
    """Fail readings hotter than the joint can be: none is dropped silently."""
    for one in fitted.hot if fitted else ():
        rule = f"reading a joint can have, after pass {one.reading.after_pass}"
        source = "hotter than this joint can be by the model: find out why"
        yield after.at_most(rule, one.reading.low, one.highest, source, "computed")


def _reviewed(
    case: Case,
    log: Log,
    runs: _Runs,
    logged: LoggedPass,
) -> ReviewedPass:
    """Put together what is known of one pass: planned, by the log, with readings."""
    n, planned = logged.number - 1, runs.planned
    done = runs.history.passes[n]
    band: PassBand | None = runs.bands.passes[n] if runs.bands else None
    strike_at = runs.strikes[n] if n else None
    measured, gap = _measured(log, logged)
    deciding = None if measured in _cold(runs.fitted) else measured
    outcome, by = _outcome(case, done, deciding, strike_at)
    return ReviewedPass(
        logged=logged,
        planned=planned.passes[n] if n < len(planned.passes) else None,
        as_logged=runs.by_log.passes[n],
        done=done,
        hottest=band.hottest if band else None,
        reading=band.reading if band else None,
        strike_at=strike_at,
        measured=measured,
        before_arc=gap,
        outcome=outcome,
        by=by,
    )


def _measured(log: Log, logged: LoggedPass) -> tuple[Reading | None, float]:
    """Find the reading taken just before a pass, and how long before [s]."""
    if logged.number == 1:
        return log.at_start, abs(log.at_start.since) if log.at_start else 0.0
    before = logged.number - 1
    wait = logged.burns[0].on - log.passes[before - 1].burns[-1].off
    late = [
        r
        for r in log.readings
        if r.after_pass == before and wait - r.since <= JUST_BEFORE
    ]
    return (late[-1], max(wait - late[-1].since, 0.0)) if late else (None, 0.0)


def _outcome(
    case: Case, done: PassResult, measured: Reading | None, strike_at: float | None
) -> tuple[str, str]:
    """Verdict of one pass against the interpass maximum, and what says so.

    Without a reading to strike by, a reading of the surface cannot clear the metal
    below it: then both must hold.
    """
    if done.number == 1:
        return OPEN, ""
    check = after.interpass_of(done, case)
    told = {"predicted": OVER if check.verdict == FAIL else WITHIN}
    if measured is None:
        return told["predicted"], "predicted"
    highest = case.limits.interpass_max if strike_at is None else strike_at
    told = {"measured": against(measured, highest)} | told
    outcome = OVER if OVER in told.values() else WITHIN
    if strike_at is not None and told["measured"] != OPEN:
        outcome = told["measured"]
    return outcome, " and ".join(name for name, one in told.items() if one == outcome)


def against(reading: Reading, limit: float) -> str:
    """Verdict of a reading against a maximum [K]; "open" when a crayon cannot say.

    Examples
    --------
    >>> against(Reading(1, 300.0, 440.0, float("inf")), 448.15)
    'open'
    """
    if reading.low > limit + SLACK or (
        reading.low < reading.high and reading.low >= limit
    ):
        return OVER
    return WITHIN if reading.high <= limit + SLACK else OPEN


def _checks(
    case: Case,
    welded: Case,
    log: Log,
    history: History,
    passes: tuple[ReviewedPass, ...],
) -> Iterator[Check]:
    """Every verdict on what was welded: temperatures first, then the rules."""
    for one in passes[1:]:
        yield from _interpass(case, one)
    yield from _others(case, log, history, len(passes))
    yield from rule_checks(welded)


def _interpass(case: Case, one: ReviewedPass) -> Iterator[Check]:
    """Verdicts on one pass, measured and predicted."""
    limits, number = case.limits, one.logged.number
    source = (limits.interpass_max_source, limits.interpass_max_standing)
    if one.measured is not None:
        highest = limits.interpass_max if one.strike_at is None else one.strike_at
        if highest != limits.interpass_max:
            source = (STRIKE_RULE, "computed")
        found = against(one.measured, highest)
        value = one.measured.high if found == WITHIN else one.measured.low
        rule = f"interpass maximum measured, pass {number}"
        if found != OPEN and isfinite(value):
            check = after.at_most(rule, value, highest, *source)
            yield replace(check, verdict=FAIL if found == OVER else PASS)
    rule = f"interpass maximum predicted, pass {number}"
    check = replace(after.interpass_of(one.done, case), rule=rule)
    if check.verdict == FAIL and one.outcome == WITHIN:  # a reading decided
        check = replace(check, verdict=NOTE, advice="The reading decides.")
    yield check


def _others(case: Case, log: Log, history: History, count: int) -> Iterator[Check]:
    """Preheat, interpass minimum and watch points, as far as the weld has got."""
    upto = history.time <= log.last_off + SAME_MOMENT
    seen = replace(
        history,
        passes=history.passes[:count],
        traces=tuple(replace(t, temperature=t.temperature[upto]) for t in history.traces),
        complete=True,
    )
    for check in after.limits_kept(case, seen):
        if not check.rule.startswith("interpass maximum"):
            yield check


def arc_on_words(found: Review, since: float) -> str:
    """Say when, by the clock, or since the first arc on."""
    return found.log.shown(since)


def burned(one: ReviewedPass) -> float:
    """How long the arc burned in a pass, pauses not counted [s]."""
    return sum(burn.off - burn.on for burn in one.logged.burns)


def since_off(found: Review) -> float:
    """Seconds from the last arc off until now; 0 when now is not known."""
    return 0.0 if found.now is None else found.now - found.log.last_off
