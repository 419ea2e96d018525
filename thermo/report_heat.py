"""Where the heat comes from and goes: energies of the passes, ledger, hand check."""

from math import isfinite

from .handcheck import LumpPass, by_hand, model_time_constant
from .history import History, PassResult
from .joint import Case, Pass
from .layout import NOTHING, columns, paragraph
from .practice import efficiency
from .units import UnitSystem

ALIKE = 1.4  # ratio of lump and joint above air at which they still tell one story
SMALLEST = 1e-9  # of the arc's heat; below it is arithmetic alone
PLACES = {
    "pipe": "the pipe, outside",
    "fillet": "the weld",
    "fitting": "the fitting, outside",
    "faces": "the end faces",
    "pipe bore": "the bore of the pipe",
    "fitting bore": "the bore of the fitting",
    "holding": "the piece into what holds it",
}
"""Names of the ledger's surfaces as a reader knows them."""


def energy_lines(case: Case, history: History, units: UnitSystem) -> list[str]:
    """Arc energy, heat input by both conventions, and what enters the metal."""
    if not history.passes:
        return []
    per = units.energy_per_length_unit
    heads = ["pass", "current\nA", "voltage\nV", f"travel\n{units.unit('speed')}",
             f"arc energy\n= ASME IX\n{per}", f"heat input\nEN 1011-1\n{per}",
             "arc\nefficiency", "net energy\ninto metal\nkJ"]  # fmt: skip
    rows = [
        _energy_row(case.passes[done.number - 1], done, units) for done in history.passes
    ]
    return ["Energy", *columns(heads, rows), *paragraph(conventions(case, history))]


def conventions(case: Case, history: History) -> str:
    """Say which heat input is whose, and which heat the model uses."""
    if all(done.arc_energy is None for done in history.passes):
        return "The case gives net power, so there is no arc energy to quote."
    k = efficiency(case.process, "standard k").value
    return (
        "Arc energy U I / v is the heat input of ASME IX QW-409.1(a); heat input by EN "
        f"1011-1 is k U I / v, k = {k:g} for {case.process}. Both are numbers for the "
        "procedure. The heat the metal takes up is efficiency x U I x time."
    )


def _energy_row(p: Pass, done: PassResult, units: UnitSystem) -> list[str]:
    known = isfinite(p.current)
    efficient = f"{p.efficiency:.2f}" if known else NOTHING
    return [
        str(done.number),
        f"{p.current:.0f}" if known else NOTHING,
        f"{p.voltage:.1f}" if known else NOTHING,
        units.speed(p.travel).split()[0],
        _per_length(done.arc_energy, units),
        _per_length(done.heat_input, units),
        efficient,
        f"{done.net_energy / 1e3:.1f}",
    ]


def _per_length(energy: float | None, units: UnitSystem) -> str:
    return NOTHING if energy is None else units.energy_per_length(energy).split()[0]


def ledger_lines(history: History) -> list[str]:
    """Where the arc's heat went, to the end of the run."""
    ledger = history.ledger
    if not ledger.arc > 0:
        return []
    entries = [("into the metal from the arc", ledger.arc)]
    entries += [
        (f"lost from {PLACES.get(name, name)}", heat)
        for name, heat in ledger.lost.items()
    ]
    entries.append(("still in the piece", ledger.stored))
    rows = [
        (name, f"{heat / 1e3:.2f}", f"{100 * heat / ledger.arc:.1f}")
        for name, heat in entries
    ]
    title = f"Where the heat went, up to {history.time[-1]:.0f} s after the first arc on"
    missing = abs(ledger.closure)
    closure = f"{missing:.1e}" if missing > SMALLEST else f"less than {SMALLEST:g}"
    return [
        title,
        *columns(("", "kJ", "%"), rows, left=[0]),
        f"Not accounted for: {closure} of the arc's heat.",
    ]


def hand_check_lines(case: Case, history: History, units: UnitSystem) -> list[str]:
    """Set the lump beside the model, with one sentence on the difference."""
    lumped = history.lumped
    steps = by_hand(case, history)
    if not steps or not isfinite(lumped.heat_capacity):
        return []
    unit = units.temperature_unit
    degree = units.value("temperature difference", 1.0)
    rows = [
        _hand_row(step, done, units)
        for step, done in zip(steps, history.passes, strict=True)
    ]
    table = columns(
        ["pass", "energy\nkJ", *["\nlump", "\njoint"] * 3],
        rows,
        groups=[
            (f"warms by, {unit}", 2, 3),
            ("wait to limit, s", 4, 5),
            (f"at arc on, {unit}", 6, 7),
        ],
    )
    capacity = f"{lumped.heat_capacity / degree:.0f} J/{unit}"
    lump, joint = lumped.time_constant, model_time_constant(case, history)
    return [
        f"Hand check: one lump of {units.text('mass', lumped.mass)}, {capacity}, beside the model",
        *table,
        f"Time constant: lump {_seconds(lump)} s, joint {_seconds(joint)} s after the last pass.",
        *paragraph(lump_words(case, steps)),
    ]


def _hand_row(step: LumpPass, done: PassResult, units: UnitSystem) -> list[str]:
    rises, temperatures = (
        (step.rise, step.joint_rise),
        (step.at_arc_on, step.joint_at_arc_on),
    )
    return [
        str(step.number),
        f"{done.net_energy / 1e3:.1f}",
        *(f"{units.value('temperature difference', rise):.0f}" for rise in rises),
        _seconds(step.wait),
        _seconds(done.wait) if done.wait_is_auto else NOTHING,
        *(f"{units.value('temperature', T):.0f}" for T in temperatures),
    ]


def _seconds(t: float) -> str:
    return f"{t:.0f}" if isfinite(t) else NOTHING


def lump_words(case: Case, steps: list[LumpPass]) -> str:
    """One sentence on why lump and model agree or do not."""
    air = case.surroundings.air
    lump = sum(step.at_arc_on - air for step in steps[1:])
    joint = sum(step.joint_at_arc_on - air for step in steps[1:])
    if not lump > 0 or not joint > 0:
        return "A pass alone has no wait to explain."
    if joint > ALIKE * lump:
        return (
            "The lump shares the heat over the whole piece at once; in the model much of it "
            "is still near the weld when the next arc is due, so the joint is hotter."
        )
    if lump > ALIKE * joint:
        return (
            "The lump keeps the heat of every pass; in the model some is lost while the "
            "arc burns and some runs off along the pipe, so the joint is cooler."
        )
    return (
        "They are of a size: the piece is so small that each pass warms all of it, and "
        "the next arc has to wait until the whole piece has given its heat to the air."
    )
