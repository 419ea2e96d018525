"""Tables of energies, of the ledger, of places followed and of what is near the arc."""

from collections.abc import Iterable
from math import degrees

from ..heat.history import History, PassResult, Trace
from ..heat.near_arc import DWELL, NearArc
from ..heat.waits import axisymmetric_waits
from ..joint.case import Assumption, Case, Pass
from ..joint.places import measuring_place
from ..text.kinds import UnitSystem
from ..text.layout import NOTHING, Table
from ..trade.practice import efficiency
from .strike import place_text

SMALLEST = 1e-9  # of the arc's heat; below it is arithmetic alone

LEDGER_PLACES = {
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
        (f"lost from {LEDGER_PLACES.get(name, name)}", heat)
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


WORTH_SAYING = 0.05  # of a wait: models that differ more are told apart

AVERAGED = (
    "Near the arc: not told. The axisymmetric model averages the arc round the ring and has "
    "no place that the arc comes to; run the ring ([model] ring = 48)."
)

MEANT = (
    "Depths below the outside and the face, worst angle; root: middle angle, 0.5 mm from the corner (later passes need not reach "
    "it)."
)

RANGES = (
    "Ranges: an arc spread over 2 to 4 mm, a third to two thirds of its heat on the pipe's "
    "side of the bead; the pool flows only as far as its stirred conductivity tells."
)

HEAT_TINT = 563.15  # K, 290 degC: palest tint of type 304 in air (published)


def near_table(case: Case, passes: tuple[NearArc, ...], units: UnitSystem) -> Table:
    """Pool, root, heat-affected zone, bore and cooling of each pass, and what limits them."""
    ferritic = any(p.cooling_time_85_grid is not None for p in passes)
    length, degrees = units.length_unit, units.temperature_unit
    heads = ["pass", f"arc meets metal at, {degrees}", f"pool wide on pipe, {length}",
             f"pool deep in pipe, {length}", f"pool deep in socket, {length}",
             "root fused", f"HAZ, from middle, {length}",
             f"peak at the bore, {degrees}"]  # fmt: skip
    heads += (
        ["t8/5 by grid, s", "t8/5, s", "t8/5 by EN 1011-2, s"]
        if ferritic
        else [f"{_range(units)}, s"]
    )
    rows = tuple(tuple(_near_row(p, units, ferritic=ferritic)) for p in passes)
    notes = tuple(near_notes(case, passes, units, ferritic=ferritic))
    return Table("Near the arc (estimate)", tuple(heads), rows, notes)


def _near_row(p: NearArc, units: UnitSystem, *, ferritic: bool) -> list[str]:
    cells = [
        str(p.number),
        f"{units.value('temperature', p.start):.0f}",
        _size(p.melted_width, units),
        "through *" if p.melts_through else _size(p.melted_depth, units),
        _size(p.socket_depth, units),
        p.root_fused or NOTHING,
        _size(p.haz_width, units),
        "melts" if p.melts_through else _between(p.peak_at_bore, p.bore_range, units),
    ]
    if ferritic:
        times = (p.cooling_time_85_grid, p.cooling_time_85, p.cooling_time_85_standard)
        return [*cells, *map(_seconds, times)]
    return [*cells, _seconds(p.dwell_of_hottest)]


def _between(T: float, ends: tuple[float, float], units: UnitSystem) -> str:
    """Temperature with its range: 1211 (1170-1294)."""
    best, low, high = (units.value("temperature", x) for x in (T, *ends))
    return f"{best:.0f} ({low:.0f}-{high:.0f})"


def _range(units: UnitSystem) -> str:
    """Range in which carbides form in stainless steel, in words."""
    low, high = (units.value("temperature", T) for T in DWELL)
    return f"{low:.0f} to {high:.0f} {units.temperature_unit}"


def _size(metres: float, units: UnitSystem) -> str:
    digits = 1 if units.length_unit == "mm" else 2
    return f"{units.value('length', metres):.{digits}f}"


def _seconds(time: float | None) -> str:
    if time is None:
        return NOTHING
    return f"{time:.0f}" if time < 1e4 else "does not cool"


def near_notes(
    case: Case, passes: tuple[NearArc, ...], units: UnitSystem, *, ferritic: bool
) -> list[str]:
    """Say what the columns mean and where they stop being true."""
    limit = units.temperature(passes[0].haz_limit)
    notes = [f"HAZ: heated above {limit}. {MEANT}", RANGES]
    if any(p.melts_through for p in passes):
        notes.append("* BURN-THROUGH: the wall melts as far as the bore.")
    if root_not_fused(passes):
        notes.append("The root corner is not fused, at any likely place of the arc.")
    is_purged = case.surroundings.bore == "argon purge"
    tints = any(p.peak_at_bore > HEAT_TINT for p in passes)
    if tints and not ferritic and not is_purged:
        notes.append("The bore will tint without purge gas.")
    if ferritic:
        notes.append(
            "t8/5 by grid: slowest angle, in this piece with its heat; the others are for "
            "an endless wall: Rosenthal, where the metal met is below 300 degC, and EN "
            "1011-2 Annex D for a fillet (ferritic steel, constants from memory)."
        )
    else:
        notes.append(
            f"{_range(units)}: longest time any angle's hottest point spends there, by the "
            "grid."
        )
        notes += _at_distances(passes, units)
    return notes


def root_not_fused(passes: tuple[NearArc, ...]) -> bool:
    """Whether no pass melts the root corner, not even at the high end of its range."""
    told = [p.root_fused for p in passes if p.root_fused]
    return bool(told) and all(words == "no" for words in told)


def _at_distances(passes: tuple[NearArc, ...], units: UnitSystem) -> list[str]:
    """Dwell beside the melt, for passes on metal cool enough for the estimate."""
    told = []
    for p in passes:
        if p.dwell:
            times = ", ".join(
                f"{units.length(d, 1 if units.length_unit == 'mm' else 2)}: {t:.0f} s"
                for d, t in p.dwell
            )
            told.append(
                f"Pass {p.number}, by Rosenthal from the edge of the melt: {times}."
            )
    return told


def comparison_words(case: Case, history: History) -> str:
    """Tell waits of the axisymmetric model that differ by more than a twentieth."""
    told, averaged = [], axisymmetric_waits(case) if history.model == "ring" else ()
    for done, quick in zip(history.passes, averaged, strict=False):
        apart = abs(done.wait - quick)
        if done.wait_is_auto and apart > WORTH_SAYING * max(done.wait, 1.0):
            told.append(f"pass {done.number} {quick:.0f} s instead of {done.wait:.0f} s")
    if not told:
        return ""
    return (
        f"The axisymmetric model gives other waits: {'; '.join(told)}. It averages the arc "
        "round the ring, which hides the hottest point and keeps the mean too hot."
    )
