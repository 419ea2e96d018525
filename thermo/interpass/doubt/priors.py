"""What is not known exactly about a joint, and how far it may be off.

Each doubtful number has a best estimate and a 5 % and a 95 % value. A standard normal
score moves it: -1.645 is the 5 % value, 0 the best estimate, 1.645 the 95 % value.

What it computes: ``thermo/MODEL.md``, section 8.
"""

from dataclasses import dataclass, replace
from math import isfinite, log
from typing import Any

from ..joint.case import Case, Doubt, Pass, Surroundings
from ..trade.rows import table_rows

READING_ERROR = 5.0  # K, standard deviation of a contact pyrometer; common practice
EDGE = 1.6448536269514722  # standard normal score of 95 %
AIR = "surroundings.air"  # the only doubt that is a difference [K]
GIVEN = "given in the case"
SHARES = ("efficiency", "emissivity")  # never above 1

OF_A_PASS = {
    "efficiency": "arc efficiency",
    "voltage": "arc voltage",
    "current": "arc current",
    "net_power": "net power",
    "travel": "travel",
}

OF_THE_CASE = {
    "joint.end_gap": "end gap",
    "joint.clearance_conductance": "contact in the clearance",
    "surroundings.air": "air temperature",
    "surroundings.film_coefficient": "film coefficient",
}


@dataclass(frozen=True)
class Prior:
    """One doubtful number [SI]."""

    key: str  # of the case file: "arc.efficiency", "pass.2.travel"
    words: str
    best: float
    low: float  # 5 %
    high: float  # 95 %
    source: str
    standing: str


def value_at(prior: Prior, score: float) -> float:
    """Value of a doubtful number at a score.

    Moved by a ratio per score, up and down each with its own; temperatures, and what
    may be zero, by a difference.

    Examples
    --------
    >>> prior = Prior("arc.efficiency", "", 0.75, 0.65, 0.82, "", "")
    >>> [round(value_at(prior, s), 3) for s in (-EDGE, 0, EDGE)]
    [0.65, 0.75, 0.82]
    """
    edge = prior.high if score > 0 else prior.low
    share = abs(score) / EDGE
    if moves_by_difference(prior):
        return prior.best + share * (edge - prior.best)
    moved = prior.best * (edge / prior.best) ** share
    return min(moved, 1.0) if prior.key.endswith(SHARES) else moved


def coordinate(prior: Prior, value: float) -> float:
    """Measure in which a doubtful number acts evenly: its logarithm, or its difference."""
    if moves_by_difference(prior):
        return value - prior.best
    return log(value / prior.best)


def moves_by_difference(prior: Prior) -> bool:
    """Whether a number is moved by a difference: temperatures, and what may be zero."""
    return prior.low <= 0 or prior.key == AIR


def score_of(prior: Prior, value: float) -> float:
    """Score at which a doubtful number has a value; the inverse of `value_at`."""
    up = value > prior.best
    edge = prior.high if up else prior.low
    if edge == prior.best:
        return 0.0
    if moves_by_difference(prior):
        share = (value - prior.best) / (edge - prior.best)
    else:
        share = log(value / prior.best) / log(edge / prior.best)
    return EDGE * share if up else -EDGE * share


def priors(case: Case) -> tuple[Prior, ...]:
    """Doubtful numbers of a case: those it gives a band for, then the usual ones.

    A band in the case replaces the usual one; a bare number keeps the usual doubt
    about itself.
    """
    given = {doubt.key: doubt for doubt in case.doubt}
    own = [_own(case, doubt) for doubt in case.doubt]
    usual = [p for p in _usual(case) if not _is_covered(p.key, given)]
    return tuple(p for p in (*own, *usual) if p.low < p.high and isfinite(p.best))


def _is_covered(key: str, given: dict[str, Doubt]) -> bool:
    """Whether the case speaks of this number itself, by this or by another key."""
    name = key.rpartition(".")[2]
    other = {
        "clearance_factor": "joint.clearance_conductance",
        "film_factor": "surroundings.film_coefficient",
        "efficiency": "arc.net_power",
        "voltage": "arc.net_power",
    }
    return key in given or f"arc.{name}" in given or other.get(name, "") in given


def _own(case: Case, doubt: Doubt) -> Prior:
    """Doubt the case gives itself."""
    words = words_of(doubt.key)
    best = best_value(case, doubt.key)
    return Prior(doubt.key, words, best, doubt.low, doubt.high, GIVEN, "given")


def _usual(case: Case) -> list[Prior]:
    """Doubt every joint of this kind has, by ``data/doubt.csv``."""
    s = case.surroundings
    when = {"": True, "fan": s.fan > 0, "still": s.fan <= 0}
    when |= {"rotated": False, "fixed": False, case.position: True}
    when |= {"device": bool(s.holding and s.holding.by), "numbers": True}
    when["numbers"] = not when["device"]
    found = []
    for row in table_rows("doubt"):
        if not when[row["when"]]:
            continue
        keys = [row["key"]]
        if row["key"] == "travel":
            keys = [f"pass.{p.number}.travel" for p in case.passes]
        for key in keys:
            best = best_value(case, key)
            ends = (float(row["low"]), float(row["high"]))
            low, high = (best + x if key == AIR else best * x for x in ends)
            if key.endswith(SHARES):
                high = min(high, 1.0)
            words = words_of(key, row["words"])
            found.append(
                Prior(key, words, best, low, high, row["source"], row["standing"])
            )
    return found


def words_of(key: str, usual: str = "") -> str:
    """Say what a key is: ``pass.2.travel`` is "travel of pass 2"."""
    table, *rest = key.split(".")
    if table == "pass":
        return f"{OF_A_PASS[rest[1]]} of pass {rest[0]}"
    if table == "arc":
        return OF_A_PASS[rest[0]]
    rows = {row["key"]: row["words"] for row in table_rows("doubt")}
    return usual or OF_THE_CASE.get(key) or rows[key]


def best_value(case: Case, key: str) -> float:
    """Value the case has now [SI]; nan where it has none."""
    table, *rest = key.split(".")
    if table == "pass":
        return float(getattr(case.passes[int(rest[0]) - 1], rest[1]))
    if table == "arc":
        return float(getattr(case.passes[0], rest[0]))
    if rest[0] == "holding":
        held = case.surroundings.holding
        return held.conductance if held else float("nan")
    home = case if table == "joint" else case.surroundings
    value = getattr(home, rest[0])
    return float("nan") if value is None else float(value)


def plausible(case: Case, found: tuple[Prior, ...], values: tuple[float, ...]) -> Case:
    """Build the case with other values of its doubtful numbers [SI].

    Every pass shares what [arc] says unless it has a band of its own; the bead keeps
    its size, whatever the travel.
    """
    own = {p.key for p in found if p.key.startswith("pass.")}
    passes, joint, around = list(case.passes), {}, case.surroundings
    for prior, value in zip(found, values, strict=True):
        table, *rest = prior.key.split(".")
        if table in ("pass", "arc"):
            name, factor = rest[-1], value / prior.best
            for n, p in enumerate(passes):
                shared = table == "arc" and f"pass.{p.number}.{name}" not in own
                if shared or (table == "pass" and int(rest[0]) == p.number):
                    passes[n] = _pass_with(p, name, factor)
        elif table == "joint":
            joint[rest[0]] = value
        else:
            around = _with_number(around, rest, value)
    changed: dict[str, Any] = {"passes": tuple(passes), "surroundings": around, **joint}
    return replace(case, **changed)


def _pass_with(p: Pass, name: str, factor: float) -> Pass:
    """One pass with one number times a factor."""
    if name == "travel":
        return replace(p, travel=p.travel * factor, arc_time=p.arc_time / factor)
    if name == "net_power":
        return replace(p, net_power=p.net_power * factor)
    changed: dict[str, Any] = {
        name: getattr(p, name) * factor,
        "net_power": p.net_power * factor,
    }
    return replace(p, **changed)


def _with_number(around: Surroundings, rest: list[str], value: float) -> Surroundings:
    """Surroundings with one number changed."""
    if rest[0] == "holding" and around.holding is not None:
        return replace(around, holding=replace(around.holding, conductance=value))
    changed: dict[str, Any] = {rest[0]: value}
    if rest[0] == "air" and around.start == around.air:
        changed["start"] = value
    return replace(around, **changed)
