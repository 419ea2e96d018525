"""What would help: changes that shorten the total time, and other limits, run for real.

Every change is run with the arc averaged round the ring. Where the plan has a travelling
arc, all waits are scaled by the ratio of its waits to those of the averaged arc.
"""

from dataclasses import dataclass, replace
from math import inf
from typing import Any

import numpy as np

from ..doubt.bands import Bands
from ..heat.history import History
from ..heat.stand_in import plan_waits, prepare
from ..heat.waits import axisymmetric_waits, plan
from ..joint import arc
from ..joint.case import Case
from ..rules import limits as after
from ..rules.judge import checks
from ..rules.limits import FAIL, PASS
from ..text.arrays import Array
from ..text.errors import RunError
from ..text.progress import Progress
from ..text.times import shop_time
from .bench import Bench, find_bench
from .ideas import Change, Idea, NotOffered, ideas

FINEST = 1.0e-3  # m; a finer cell of the case is not needed for a comparison
LEAST_GAIN = 0.02  # of the total; less is no help
BEST = 3
OTHERWISE = ("colder", "fewer", "more", "left out")  # amps, travel, beads


@dataclass(frozen=True)
class Help:
    """One change, run, and what it gives."""

    kind: str
    title: str
    changes: tuple[Change, ...]
    case: Case  # changed
    total_before: float  # s from first arc on to last arc off; inf without a plan
    total_after: float
    waits: tuple[float, ...]  # s before each pass, typical, scaled as the total is
    caution: str

    @property
    def needs_procedure(self) -> bool:
        """Whether it welds other than the procedure was qualified for."""
        return self.kind in OTHERWISE

    @property
    def saves(self) -> float:
        """Time saved [s]."""
        return self.total_before - self.total_after

    @property
    def lines(self) -> tuple[str, ...]:
        """Lines of the case file to write."""
        return tuple(_line(change) for change in self.changes if change.values)


@dataclass(frozen=True)
class Helps:
    """Everything tried, quickest first, and what was not."""

    tried: tuple[Help, ...]
    not_offered: tuple[NotOffered, ...]
    bench: Bench | None
    total: float  # s now; inf without a plan
    ratio: float  # waits of the plan over waits with the arc averaged round the ring
    remark: str = ""  # why nothing was tried
    waiting: float = 0.0  # s of the total that the plan waits where it is free to
    safety: float | None = None  # safe waits of the plan over its typical ones
    safe_bench: Bench | None = None  # joints in turn, with the safe waits

    @property
    def best(self) -> tuple[Help, ...]:
        """The three quickest changes that help, one of each kind.

        Those that weld otherwise than the procedure says come after the others.
        """
        found: dict[str, Help] = {}
        for one in self.tried:
            if _helps(one):
                found.setdefault(one.kind, one)
        best = tuple(found.values())[:BEST]
        return tuple(sorted(best, key=lambda one: one.needs_procedure))

    @property
    def told_total(self) -> float:
        """Total time now [s], with the safe waits where they are known; inf without one."""
        return self.total + self.waiting * ((self.safety or 1.0) - 1.0)

    def told_waits(self, one: Help) -> tuple[float, ...]:
        """Return the waits of a change [s], as safe as those of the plan are told."""
        times = self.safety or 1.0
        return tuple(
            wait * times if p.wait is None else wait
            for p, wait in zip(one.case.passes, one.waits, strict=True)
        )

    def told_after(self, one: Help) -> float:
        """Total time with a change [s], as safe as that of the plan is told."""
        return one.total_after + sum(self.told_waits(one)) - sum(one.waits)

    @property
    def no_gain(self) -> tuple[Help, ...]:
        """Changes tried that save next to nothing or cost time."""
        return tuple(one for one in self.tried if not _helps(one))


def find_helps(
    case: Case,
    history: History,
    progress: Progress | None = None,
    bands: Bands | None = None,
) -> Helps:
    """Try the changes that may shorten a plan, and say which the case rules out.

    Parameters
    ----------
    case : Case
        As planned.
    history : History
        Its plan, complete or stopped because a limit was out of reach.
    progress : callable, optional
        Called with the share done and what is being done.
    bands : Bands, optional
        Doubt about the plan, for waits that are safe and not only typical.
    """
    total = history.passes[-1].arc_off if history.complete else inf
    bench = _bench(history) if history.complete else None
    waiting = sum(p.wait for p in history.passes if p.wait_is_auto)
    safe: dict[str, Any] = {
        "waiting": waiting,
        "safety": _safety(bands),
        "safe_bench": _bench(history, bands) if bands and history.complete else None,
    }
    if why := _nothing_to_gain(case, history):
        return Helps((), (), bench, total, 1.0, why, **safe)
    ratio = _ratio(case, history)
    had = _unmet(case), _missed(case, history)
    tried: list[Help] = []
    not_offered: list[NotOffered] = []
    thought = list(ideas(case))
    for n, idea in enumerate(thought):
        if progress:
            progress(n / len(thought), "what would help")
        if any(one.kind == idea.kind for one in tried):
            continue  # a milder form of what goes
        found = _try(idea, had, total, ratio) if isinstance(idea, Idea) else idea
        if isinstance(found, Help):
            tried.append(found)
        else:
            not_offered.append(found)
    tried.sort(key=lambda one: one.total_after)
    return Helps(tuple(tried), tuple(not_offered), bench, total, ratio, **safe)


def _safety(bands: Bands | None) -> float | None:
    """Ratio of the safe waits of a plan to its typical ones, all passes together."""
    rows = [row for row in bands.passes if row.wait and row.allow] if bands else []
    typical = sum(row.wait.best for row in rows if row.wait)
    safe = sum(row.allow for row in rows if row.allow)
    return max(safe / typical, 1.0) if typical > 0 else None


def _helps(one: Help) -> bool:
    return one.saves > LEAST_GAIN * min(one.total_before, one.total_after)


def _nothing_to_gain(case: Case, history: History) -> str:
    """Why no change can shorten the waits; empty when one can."""
    if not any(p.wait is None for p in case.passes[1:]):
        return "every wait is given in the case" if len(case.passes) > 1 else "one pass"
    if history.complete and not any(
        p.wait_is_auto and p.wait > 0 for p in history.passes
    ):
        return "no pass has to wait"
    return ""


def _quick(case: Case, *, watched: bool) -> Case:
    """Return the case as it is run here: axisymmetric, and no longer than needed."""
    model = replace(
        case.model,
        ring=1,
        cell=max(case.model.cell, FINEST),
        end_after=case.model.end_after if watched else 0.0,
    )
    return replace(case, model=model)


def _ratio(case: Case, history: History) -> float:
    """Ratio of the plan's waits to those that the runs here would give."""
    if not history.complete:
        return 1.0
    mine = [p.wait for p in history.passes]
    if case.model.cell < FINEST:
        theirs = [p.wait for p in plan(_quick(case, watched=False)).passes]
    elif history.model == "ring":
        theirs = list(axisymmetric_waits(case))
    else:
        return 1.0
    auto = [n for n, p in enumerate(history.passes) if p.wait_is_auto and n < len(theirs)]
    averaged = sum(theirs[n] for n in auto)
    return sum(mine[n] for n in auto) / averaged if averaged > 0 else 1.0


def _try(
    idea: Idea, had: tuple[set[str], set[str]], total: float, ratio: float
) -> Help | NotOffered:
    """Run one change, unless it breaks a rule that the case does not."""
    if broken := sorted(_unmet(idea.case) - had[0]):
        return NotOffered(idea.title, f"it would break a rule: {broken[0]}")
    changed = _quick(idea.case, watched=bool(idea.case.limits.watch))
    try:
        run = plan(changed)
    except RunError as error:
        return NotOffered(idea.title, f"its run fails: {error}")
    if not run.complete:
        return NotOffered(idea.title, "the limit stays out of reach")
    if broken := sorted(_missed(changed, run) - had[1]):
        return NotOffered(idea.title, f"it would break a rule: {broken[0]}")
    waits = tuple(ratio * p.wait if p.wait_is_auto else p.wait for p in run.passes)
    burning = sum(arc.pass_duration(p) for p in idea.case.passes)
    return Help(
        kind=idea.kind,
        title=idea.title,
        changes=idea.changes,
        case=idea.case,
        total_before=total,
        total_after=burning + sum(waits),
        waits=waits,
        caution=idea.caution,
    )


def _unmet(case: Case) -> set[str]:
    """Rules of the joint that are not met, failed or noted, whatever the pass."""
    return {
        one.rule.partition(", pass ")[0]
        for one in checks(case)
        if one.verdict != PASS and one.required != ""
    }


def _missed(case: Case, run: History) -> set[str]:
    """Limits that a run does not keep."""
    return {one.rule for one in after.limits_kept(case, run) if one.verdict == FAIL}


def _bench(history: History, bands: Bands | None = None) -> Bench | None:
    """Weld joints in turn, with the waits as a shop times them; safe ones by ``bands``."""
    done = history.passes
    allowed = {row.number: row.allow for row in bands.passes} if bands else {}
    waits = [
        shop_time(max(p.wait, allowed.get(p.number) or 0.0)) if p.wait_is_auto else p.wait
        for p in done
    ]
    if sum(waits) <= 0:
        return None
    return find_bench([p.arc_off - p.arc_on for p in done], waits)


def _line(change: Change) -> str:
    """Write one change as it would stand in the case file."""
    values = ", ".join(f"{key} = {text}" for key, text in change.values)
    if change.table != "pass":
        return f"[{change.table}] {values}"
    like = f" (else as pass {change.like} now)" if change.like != change.number else ""
    return f"[[pass]] {change.number}{like}: {values}"


LOW, HIGH, STEP = 373.15, 523.15, 10.0  # K: 100 to 250 degC, about as limits are set
_BESIDE = 20.0  # K: the case's own limit is no nearer to the end of the range
ABOVE_AIR = 30.0  # K: a joint never gets to the air's own temperature


@dataclass(frozen=True, eq=False)
class LimitWaits:
    """Waits (n, passes - 1) s over interpass limits (n,) K; nan when out of reach."""

    limit: Array
    wait: Array


def waits_over_limits(case: Case, history: History) -> LimitWaits:
    """Plan every wait anew for limits from 100 to 250 degC, and round the case's own.

    Each is a run of the quick axisymmetric model, corrected to the full run of the case
    (see `heat/stand_in`); waits the case gives are planned too.

    Raises
    ------
    ValueError
        For a run with a single pass, or one that did not get to its end.
    """
    if len(history.passes) < max(2, len(case.passes)):
        msg = "there is no wait to plan: the run has fewer than two finished passes"
        raise ValueError(msg)
    free = replace(case, passes=tuple(replace(p, wait=None) for p in case.passes))
    model = prepare(free, history)
    limits = _limits(case)
    waits = []
    for limit in limits:
        wanted = replace(case.limits, interpass_max=float(limit))
        joint = replace(model.case, limits=wanted)
        try:
            waits.append(plan_waits(replace(model, case=joint), joint)[1:])
        except RunError:  # the next pass, begun that hot, melts the piece
            waits.append((np.nan,) * (len(case.passes) - 1))
    found = np.array(waits)
    found[found >= case.limits.wait_max - 1.0] = np.nan
    return LimitWaits(limits, found)


def _limits(case: Case) -> Array:
    """Limits to try, the case's own among them [K]."""
    own = case.limits.interpass_max
    low = max(min(LOW, own - _BESIDE), case.surroundings.air + ABOVE_AIR)
    steps = np.arange(low, max(HIGH, own + _BESIDE) + 0.5, STEP)
    return np.unique(np.append(steps, own))
