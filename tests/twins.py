"""Twin experiments: joints whose hidden truth is known, for judging bands and fits.

A joint is drawn from the catalogue; its true numbers are drawn, from the program's own
priors or from others, and solved on a finer grid; the program sees the case alone, and one
noisy reading after pass 1.
"""

from dataclasses import astuple, dataclass, fields, replace

import numpy as np
from interpass.case_file.read import parse_case
from interpass.doubt.bands import find_bands
from interpass.doubt.priors import priors, score_of
from interpass.doubt.samples import SAMPLES, joint_at
from interpass.heat.waits import plan
from interpass.joint.case import ModelOptions
from interpass.readings.fit import fit
from interpass.readings.flags import why_impossible
from interpass.readings.reading import Reading
from interpass.text.errors import CaseError, RunError

SIZES = ("1/2", "3/4", "1", "1 1/4", "1 1/2")
STAINLESS = ("304L", "316L", "321", "2205")
METALS = (*STAINLESS, "625", "carbon steel")
AMPS = {"40": (60, 91), "80": (70, 106), "160": (85, 116)}  # by the wall
KINDS = ("coupling", "half coupling", "cap", "elbow", "tee")
HELD = {"nothing": 0.5, "fitting in a chuck": 0.3, "pipe in a chuck": 0.2}
FINE = ModelOptions(ring=72, tolerance=0.2)
USUAL = ModelOptions()
NOISE = 5.0  # K
SHORTEST, LONGEST = 30.0, 1800.0  # s of the waits of the joints that are kept


@dataclass(frozen=True)
class Twin:
    """One joint: what was said before and after its reading, and what was true."""

    seed: int
    joint: str
    number: int  # of the pass
    true_wait: float  # s
    wait: float  # best estimate before
    wait_low: float
    wait_high: float
    allow: float
    at_best: float  # K, true hottest at arc on after the best waits
    at_best_low: float
    at_best_high: float
    after_wait: float  # the same after one reading
    after_low: float
    after_high: float
    after_allow: float
    after_at_best: float  # K, true hottest after the fitted waits
    after_at_low: float
    after_at_high: float
    limit: float
    reading: float
    read_at: float
    is_flagged: bool  # the right reading, wrongly
    swap_caught: int  # of two wrong units


def random_case(rng):
    """Draw a joint a shop might weld; None when the catalogue or the rules refuse it."""
    metal = str(rng.choice(METALS))
    schedule = str(rng.choice(["40", "80", "160"], p=[0.35, 0.5, 0.15]))
    heavy = schedule == "160"
    mark = "S" if metal in STAINLESS and not heavy else ""
    length = "long" if rng.random() < 0.4 else f"{rng.integers(60, 220)} mm"
    fan = f'fan = {{ speed = "{rng.uniform(1, 3):.1f} m/s", during = "waits" }}'
    passes = "\n".join(
        f'[[pass]]\ncurrent = "{rng.integers(*AMPS[schedule])} A"\n'
        f'travel = "{rng.integers(50, 91)} mm/min"'
        for _ in range(rng.integers(2, 5))
    )
    text = f"""
[pipe]
size = "NPS {rng.choice(SIZES)}"
schedule = "{schedule}{mark}"
material = "{metal}"
length = "{length}"
[fitting]
kind = "{rng.choice(KINDS)}"
class = {6000 if heavy else 3000}
[arc]
voltage = "{rng.uniform(10, 13):.1f} V"
position = "{rng.choice(["rotated", "fixed"])}"
{passes}
[surroundings]
air = "{rng.integers(5, 36)} degC"
axis = "{rng.choice(["horizontal", "vertical"])}"
holding = "{rng.choice(list(HELD), p=list(HELD.values()))}"
{fan if rng.random() < 0.25 and metal != "carbon steel" else ""}
"""
    try:
        return parse_case(text)
    except CaseError:
        return None


def with_model(case, options):
    return replace(case, model=replace(options, end_after=case.model.end_after))


def at_waits(case, waits):
    """The joint's run at some waits."""
    passes = tuple(
        replace(p, wait=w if p.number > 1 else p.wait)
        for p, w in zip(case.passes, waits, strict=True)
    )
    return plan(replace(case, passes=passes))


def find_joint(rng, usual):
    """Draw joints until one needs every wait; the case and its run."""
    while True:
        case = random_case(rng)
        if case is None:
            continue
        case = with_model(case, usual)
        try:
            history = plan(case)
        except RunError:
            continue
        waits = [p.wait for p in history.passes[1:]]
        if history.complete and all(SHORTEST < w < LONGEST for w in waits):
            return case, history


PRIORS, EVEN, SHIFTED = "priors", "even", "shifted"  # how the truth is drawn


def hidden(rng, case, drawn=PRIORS):
    """The true joint behind a case.

    ``EVEN``: emissivity even from 0.3 to 0.8, air within 3 K, end gap from half to 1.6
    times what is said, all else by the priors. ``SHIFTED``: every score half a standard
    deviation up.
    """
    found = priors(case)
    scores = np.clip(rng.standard_normal(len(found)), -3, 3)
    if drawn == SHIFTED:
        scores = scores + 0.5
    spans = {"surroundings.emissivity": (0.3, 0.8)} if drawn == EVEN else {}
    for n, prior in enumerate(found):
        if drawn == EVEN and prior.key in ("surroundings.air", "joint.end_gap"):
            spans[prior.key] = (prior.low, prior.high)
        if prior.key in spans:
            scores[n] = score_of(prior, rng.uniform(*spans[prior.key]))
    return joint_at(case, found, scores)


def twin(seed, usual=USUAL, fine=FINE, samples=SAMPLES, *, late=False, drawn=PRIORS):
    """Run one twin experiment; a row for every pass after the first.

    The reading is taken 30 to 60 s after pass 1, or ``late``: halfway through the wait.
    """
    rng = np.random.default_rng(seed)
    case, history = find_joint(rng, usual)
    truth = replace(hidden(rng, case, drawn), model=replace(fine, end_after=0.0))
    try:
        true = plan(truth)
        read_at = rng.uniform(
            30.0, min(60.0, true.passes[1].wait, history.passes[1].wait)
        )
        if late:
            read_at = 0.5 * history.passes[1].wait
        off = true.passes[0].arc_off
        shown = np.interp(
            off + min(read_at, true.passes[1].wait),
            true.time,
            true.traces[-1].temperature,
        )
        T = float(shown + NOISE * rng.standard_normal())
        fitted = fit(case, [Reading(1, read_at, T, T)], history=history, samples=samples)
        best = at_waits(truth, [p.wait for p in history.passes])
        after = at_waits(truth, [p.wait for p in fitted.history.passes])
    except (RunError, ValueError, IndexError):
        return []  # hotter than metal can be, or a joint that needs no wait
    rows = zip(true.passes, best.passes, after.passes, fitted.before.passes,
               fitted.after.passes, strict=False)  # fmt: skip
    check = fitted.readings[0]
    caught = _swaps_caught(check, T)
    pipe = f"{case.pipe.size} Sch {case.pipe.schedule} {case.pipe.material.name}"
    return [
        Twin(
            seed, f"{pipe} {case.fitting.kind}", t.number, t.wait,
            b.wait.best, b.wait.low, b.wait.high, b.allow,
            o.at_arc_on.hottest, b.hottest.low, b.hottest.high,
            a.wait.best, a.wait.low, a.wait.high, a.allow,
            n.at_arc_on.hottest, a.hottest.low, a.hottest.high,
            case.limits.interpass_max, T, read_at, check.is_flagged, caught,
        )
        for t, o, n, b, a in rows
        if b.wait is not None and a.wait is not None
    ]  # fmt: skip


def read_in_every_wait(seed, usual=USUAL, fine=FINE, samples=SAMPLES, share=None):
    """Read once in every wait, plan on from there; K off the limit at each arc on.

    The reading is 45 s after arc off (sooner in a short wait), at a ``share`` of the
    wait then planned, or with ``share`` "best" when it teaches most.
    """
    rng = np.random.default_rng(seed)
    case, history = find_joint(rng, usual)
    truth = replace(hidden(rng, case), model=replace(fine, end_after=0.0))
    waits, readings, off = [0.0], [], []
    planned, told = history.passes[1].wait, None
    if share == "best":
        told = find_bands(case, history, samples=samples).passes[1].read_after
    for number in range(2, len(case.passes) + 1):
        read_at = told or (share * planned if share else min(45.0, 0.6 * planned))
        here = replace(truth, passes=truth.passes[: number - 1])
        here = replace(here, model=replace(fine, end_after=read_at + 1.0))
        true = at_waits(here, waits)
        shown = np.interp(
            true.passes[-1].arc_off + read_at, true.time, true.traces[-1].temperature
        )
        T = float(shown + NOISE * rng.standard_normal())
        readings.append(Reading(number - 1, read_at, T, T))
        known = tuple(
            replace(p, wait=w if p.number > 1 else None)
            for p, w in zip(case.passes, waits, strict=False)
        )
        so_far = replace(case, passes=(*known, *case.passes[len(known) :]))
        fitted = fit(so_far, readings, samples=samples)
        waits.append(max(fitted.history.passes[number - 1].wait, read_at))
        done = replace(truth, passes=truth.passes[:number])
        off.append(at_waits(done, waits).passes[-1].at_arc_on.hottest)
        if number < len(case.passes):
            planned = fitted.history.passes[number].wait
            told = told and fitted.after.passes[number].read_after
    return [T - case.limits.interpass_max for T in off]


def _swaps_caught(check, T):
    """How many of two wrong units are caught: degF written as degC, and the reverse."""
    celsius = T - 273.15
    wrong = [celsius * 1.8 + 32, (celsius - 32) / 1.8]
    return sum(
        bool(
            why_impossible(
                replace(check.reading, low=w + 273.15, high=w + 273.15),
                check.before,
                check.before_error,
            )
        )
        for w in wrong
    )


def columns(rows):
    """Arrays of a list of twins, by name."""
    names = [f.name for f in fields(Twin)]
    values = list(zip(*map(astuple, rows), strict=True))
    return {name: np.array(v) for name, v in zip(names, values, strict=True)}


def summary(rows):
    """What the experiments say, as numbers between 0 and 1 unless named otherwise."""
    c = columns(rows)
    firsts = np.unique(c["seed"], return_index=True)[1]
    inside = lambda x, a, b: float(np.mean((c[x] >= c[a]) & (c[x] <= c[b])))
    off = c["after_at_best"] - c["limit"]
    per_joint = [np.abs(off[c["seed"] == s]).max() for s in np.unique(c["seed"])]
    return {
        "joints": firsts.size,
        "passes": len(rows),
        "waits in band before": inside("true_wait", "wait_low", "wait_high"),
        "temperatures in band before": inside("at_best", "at_best_low", "at_best_high"),
        "waits in band after": inside("true_wait", "after_low", "after_high"),
        "temperatures in band after": inside(
            "after_at_best", "after_at_low", "after_at_high"
        ),
        "allow holds before": float(np.mean(c["allow"] >= c["true_wait"])),
        "allow holds after": float(np.mean(c["after_allow"] >= c["true_wait"])),
        "within 10 K after": float(np.mean(np.abs(off) <= 10.0)),
        "joints within 10 K after": float(np.mean(np.array(per_joint) <= 10.0)),
        "K off before, rms": float(np.sqrt(np.mean((c["at_best"] - c["limit"]) ** 2))),
        "K off after, rms": float(np.sqrt(np.mean(off**2))),
        "allow over true wait, median": float(
            np.median(c["after_allow"] / c["true_wait"])
        ),
        "allow over true wait before, median": float(
            np.median(c["allow"] / c["true_wait"])
        ),
        "right readings flagged": float(np.mean(c["is_flagged"][firsts])),
        "wrong units caught": float(np.mean(c["swap_caught"][firsts]) / 2),
    }
