"""Tables of energies, of the ledger and of places followed, for terminal and page."""

from collections.abc import Iterable
from math import degrees

from ..heat.history import History, PassResult, Trace
from ..joint.case import Assumption, Case, Pass
from ..joint.places import measuring_place
from ..text.kinds import UnitSystem
from ..text.layout import NOTHING, Table
from ..trade.practice import efficiency
from .strike import place_text

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


def energy_table(case: Case, history: History, units: UnitSystem) -> Table:
    """Arc energy, heat input by both conventions, and what enters the metal."""
    per = units.energy_per_length_unit
    heads = (
        "pass", "current, A", "voltage, V", f"travel, {units.unit('speed')}",
        f"arc energy by ASME IX, {per}", f"heat input by EN 1011-1, {per}",
        "arc efficiency", "net energy into metal, kJ",
    )  # fmt: skip
    rows = tuple(
        _energy_row(case.passes[done.number - 1], done, units) for done in history.passes
    )
    return Table("Energy of the passes", heads, rows, (conventions(case, history),))


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


def _energy_row(p: Pass, done: PassResult, units: UnitSystem) -> tuple[str, ...]:
    known = p.has_current
    return (
        str(done.number),
        f"{p.current:.0f}" if known else NOTHING,
        f"{p.voltage:.1f}" if known else NOTHING,
        units.speed(p.travel).split()[0],
        _per_length(done.arc_energy, units),
        _per_length(done.heat_input, units),
        f"{p.efficiency:.2f}" if known else NOTHING,
        f"{done.net_energy / 1e3:.1f}",
    )


def _per_length(energy: float | None, units: UnitSystem) -> str:
    return NOTHING if energy is None else units.energy_per_length(energy).split()[0]


def ledger_table(history: History) -> Table:
    """Where the arc's heat went, to the end of the run."""
    ledger = history.ledger
    entries = [("into the metal from the arc", ledger.arc)]
    entries += [
        (f"lost from {PLACES.get(name, name)}", heat)
        for name, heat in ledger.lost.items()
    ]
    entries.append(("still in the piece", ledger.stored))
    rows = tuple(
        (
            name,
            f"{heat / 1e3:.2f}",
            f"{100 * heat / ledger.arc:.1f}" if ledger.arc else NOTHING,
        )
        for name, heat in entries
    )
    missing = abs(ledger.closure)
    share = f"{missing:.1e}" if missing > SMALLEST else f"less than {SMALLEST:g}"
    title = f"Where the heat went, up to {history.time[-1]:.0f} s after the first arc on"
    note = f"Not accounted for: {share} of the arc's heat."
    return Table(title, ("", "kJ", "%"), rows, (note,), (0,))


def probes_table(case: Case, history: History, units: UnitSystem) -> Table:
    """Where the temperature was followed, the hottest there, and when."""
    length, unit = units.length_unit, units.temperature_unit
    heads = ("place", f"r, {length}", f"z, {length}", "angle, deg",
             f"hottest, {unit}", "at, s", f"at the end, {unit}")  # fmt: skip
    rows = tuple(
        (_probe_name(case, trace, units), *_probe_row(trace, history, units))
        for trace in history.traces
        if trace.temperature.size
    )
    return Table("Places followed", heads, rows, left=(0,))


def _probe_name(case: Case, trace: Trace, units: UnitSystem) -> str:
    """Name of a place, the one marked in the units of the user."""
    if trace.name == measuring_place(case).name:
        return f"the place marked, {place_text(case, units)}"
    return trace.name


def _probe_row(trace: Trace, history: History, units: UnitSystem) -> tuple[str, ...]:
    most = int(trace.temperature.argmax())
    hottest, last = (
        f"{units.value('temperature', T):.0f}"
        for T in (trace.temperature[most], trace.temperature[-1])
    )
    digits = 1 if units.length_unit == "mm" else 2
    sizes = (f"{units.value('length', x):.{digits}f}" for x in (trace.r, trace.z))
    angle = f"{degrees(trace.angle):.0f}"
    return (*sizes, angle, hottest, f"{history.time[most]:.0f}", last)


def sourced_table(title: str, rows: Iterable[Assumption]) -> Table:
    """Numbers with their sources and standing."""
    cells = tuple((r.key, r.value, r.source, r.standing) for r in rows)
    return Table(title, ("key", "value", "source", "standing"), cells, left=(0, 1, 2, 3))
