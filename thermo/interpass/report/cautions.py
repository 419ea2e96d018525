"""Cautions that fit a case: heat, fumes, gas, cooling, and who decides.

They come from common practice in the trade; none of them is computed but the
temperature left at the end of the run.
"""

from ..heat.history import History
from ..joint.case import Case
from ..text.kinds import UnitSystem
from ..trade.practice import CHROMIUM, HARDENABLE

BURNS = 333.15  # K, bare metal on skin, about

WHO_DECIDES = (
    "The qualified welding procedure, the code of the site and licensed practice decide; "
    "this plan only informs them. Measure before each arc on."
)


def cautions(case: Case, history: History, units: UnitSystem) -> list[str]:
    """Sentences a welder should read before this job, fitting its metals and gases."""
    parts = (case.pipe.material, case.fitting.material, case.filler)
    families = {part.family for part in parts}
    return [
        _hot(history, units),
        _fumes(families),
        _gas(case),
        _cooling(case, families),
        WHO_DECIDES,
    ]


def short_cautions(case: Case, history: History, units: UnitSystem) -> list[str]:
    """Return the same cautions as short as a card needs them."""
    parts = (case.pipe.material, case.fitting.material, case.filler)
    families = {part.family for part in parts}
    minutes, T = _left(history)
    fume = ", keep out of it: it can cause cancer" if families & set(CHROMIUM) else ""
    never = "; never quench this steel" if families & set(HARDENABLE) else ""
    left = f"{units.temperature(T)} {minutes:.0f} min after the last pass"
    return [
        f"Looks cold, is hot: {left}. Burns skin above {units.temperature(BURNS)}.",
        f"Extract the fume at the arc{fume}.",
        "Argon displaces air and collects low: measure oxygen in pits and vessels.",
        f"Fan, chill or water only where the procedure allows it{never}.",
        "The qualified procedure decides. Measure before each arc on.",
    ]


def _left(history: History) -> tuple[float, float]:
    """Minutes after the last pass at which the run ends, and the hottest then [K]."""
    last = history.passes[-1].arc_off if history.passes else 0.0
    return max(float(history.time[-1]) - last, 0.0) / 60, float(history.hottest[-1])


def _hot(history: History, units: UnitSystem) -> str:
    """Say how hot the piece is when nobody expects it any more."""
    minutes, T = _left(history)
    return (
        f"Hot metal: {minutes:.0f} min after the last pass the joint is "
        f"still at {units.temperature(T)} and looks cold. It burns skin above about "
        f"{units.temperature(BURNS)}."
    )


def _fumes(families: set[str]) -> str:
    if families & set(CHROMIUM):
        return (
            "Fumes: welding metals with chromium or nickel in them gives off hexavalent "
            "chromium and nickel, which cause cancer. Extract at the arc, also for TIG."
        )
    if "copper" in families:
        return "Fumes: copper fume causes fever. Extract at the arc."
    return (
        "Fumes: extract or ventilate; clean off paint, zinc and oil before the arc, as "
        "their fumes are worse than the steel's."
    )


def _gas(case: Case) -> str:
    bore = case.surroundings.bore
    purged = "the purge and the torch" if bore == "argon purge" else "the torch"
    return (
        f"Argon from {purged} displaces air without a smell and collects low. In pits, "
        "vessels and closed rooms measure oxygen before entry and while welding."
    )


def _cooling(case: Case, families: set[str]) -> str:
    """Say which forced cooling the case counts on, and what must never be done."""
    aids = {"fan": case.surroundings.fan > 0, "holding device": case.surroundings.holding}
    used = [name for name, is_used in aids.items() if is_used]
    start = "Cooling: a fan, a chill or water only where the procedure allows it."
    if used:
        named = " and the ".join(used)
        start = f"Cooling: this plan counts on the {named}; ask whether you may."
    if families & set(HARDENABLE):
        return (
            f"{start} Never quench this steel: cooled too fast, it hardens and may crack."
        )
    return f"{start} Water on hot metal also distorts it and can leave chlorides."
