"""Tables of energy, ledger and lump, for terminal and page.

Where the heat comes from and goes: energies of the passes, ledger, hand check.

Tables of the report that is filed, from the same data as the JSON.

Every number here is one of ``report_data.results``, put into the user's units.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite
from typing import Any

from ..heat.history import History, PassResult
from ..heat.lump import LumpPass, by_hand, model_time_constant
from ..heat.near_arc import DWELL
from ..joint.case import Case, Pass
from ..text.kinds import UnitSystem
from ..text.layout import NOTHING, columns, paragraph
from ..text.times import clock
from ..trade.practice import efficiency

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


Data = dict[str, Any]


AVERAGED = ("hottest", "mean")


RESOLVED = ("hottest", "start_point", "mean", "coldest")


SPOTS = {"start_point": "start"}


SOON = 1e4  # s; what takes longer does not cool


@dataclass(frozen=True)
class Table:
    """A table of text; the first cell of a row names it."""

    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...] = ()
    left: tuple[int, ...] = ()  # columns of words; the others are numbers


def waits_table(data: Data, units: UnitSystem, notes: Sequence[str] = ()) -> Table:
    """Set out the waits before each pass after the first: best, allowed, and what to read."""
    doubt = {row["number"]: row for row in data.get("doubt", {}).get("passes", ())}
    heads = ["before pass", "wait, best, min:s"]
    heads += ["wait, allow, min:s", "9 in 10 need, s"] if doubt else []
    heads += ["as computed, s", f"expect to read, {units.temperature_unit}"]
    heads += [f"9 in 10 read, {units.temperature_unit}"] if doubt else []
    rows = [_wait(p, doubt, units) for p in data["passes"][1:]]
    return Table("Waits", tuple(heads), tuple(rows), tuple(notes))


def _wait(done: Data, doubt: dict[int, Data], units: UnitSystem) -> tuple[str, ...]:
    given = "" if done["wait_is_auto"] else " given"
    cells = [str(done["number"]), f"{clock(done['wait_in_shop_s'])}{given}"]
    row = doubt.get(done["number"], {})
    if doubt:
        allow, span = row.get("allow_in_shop_s"), row.get("wait_s")
        cells.append(NOTHING if allow is None else clock(allow))
        cells.append(f"{span['low']:.0f} to {span['high']:.0f}" if span else NOTHING)
    cells += [f"{done['wait_s']:.1f}", _degrees(done["expect_to_read_degC"], units)]
    if doubt:
        read = row.get("reading_degC")
        cells.append(_span(read, units) if read else NOTHING)
    return tuple(cells)


def _span(band: Data, units: UnitSystem) -> str:
    return f"{_degrees(band['low'], units)} to {_degrees(band['high'], units)}"


def passes_table(data: Data, units: UnitSystem, notes: Sequence[str] = ()) -> Table:
    """Set out the times of each pass, and the joint at its arc on and arc off."""
    spots = RESOLVED if data["model"] == "ring" else AVERAGED
    unit = units.temperature_unit
    heads = ["pass", "arc on at, s", "arc off at, s", "arc on for, s"]
    heads += [f"at arc on: {SPOTS.get(spot, spot)}, {unit}" for spot in spots]
    heads += [f"at arc off: {spot}, {unit}" for spot in AVERAGED]
    rows = [
        (
            str(p["number"]),
            f"{p['arc_on_s']:.1f}",
            f"{p['arc_off_s']:.1f}",
            f"{p['arc_off_s'] - p['arc_on_s']:.1f}",
            *(_degrees(p["interpass_degC"][spot], units) for spot in spots),
            *(_degrees(p["end_degC"][spot], units) for spot in AVERAGED),
        )
        for p in data["passes"]
    ]
    return Table("Passes", tuple(heads), tuple(rows), tuple(notes))


def energy_table(data: Data, case: Case, units: UnitSystem, note: str) -> Table:
    """Set out settings of each pass, arc energy and heat input, and what enters the metal."""
    per = units.energy_per_length_unit
    heads = (
        "pass", "current, A", "voltage, V", f"travel, {units.unit('speed')}",
        f"arc energy by ASME IX, {per}", f"heat input by EN 1011\u20111, {per}",
        "arc efficiency", "net energy into metal, kJ",
    )  # fmt: skip
    rows = tuple(_energy(done, case, units) for done in data["passes"])
    return Table("Energy of the passes", heads, rows, (note,))


def _energy(done: Data, case: Case, units: UnitSystem) -> tuple[str, ...]:
    p = case.passes[done["number"] - 1]
    known = isfinite(p.current)
    per = [
        NOTHING if value is None else units.energy_per_length(1e6 * value).split()[0]
        for value in (done["arc_energy_kJ_per_mm"], done["heat_input_kJ_per_mm"])
    ]
    return (
        str(p.number),
        f"{p.current:.0f}" if known else NOTHING,
        f"{p.voltage:.1f}" if known else NOTHING,
        units.speed(p.travel).split()[0],
        *per,
        f"{p.efficiency:.2f}" if known else NOTHING,
        f"{done['net_energy_kJ']:.1f}",
    )


def ledger_table(data: Data, until: float) -> Table:
    """Where the arc's heat went, up to ``until`` [s]."""
    energy = data["energy"]
    entries = [("into the metal from the arc", energy["arc_kJ"])]
    entries += [
        (f"lost from {PLACES.get(name, name)}", heat)
        for name, heat in energy["lost_by_surface_kJ"].items()
    ]
    entries.append(("still in the piece", energy["stored_kJ"]))
    whole = energy["arc_kJ"]
    rows = [
        (name, f"{kJ:.2f}", f"{100 * kJ / whole:.1f}" if whole else NOTHING)
        for name, kJ in entries
    ]
    missing = abs(energy["closure"])
    share = f"{missing:.1e}" if missing else f"less than {SMALLEST:g}"
    note = f"Not accounted for: {share} of the arc's heat."
    title = f"Where the heat went, up to {until:.0f} s after the first arc on"
    return Table(title, ("", "kJ", "%"), tuple(rows), (note,))


def hand_table(data: Data, units: UnitSystem, note: str) -> Table:
    """Set the piece as one lump beside the model."""
    check, unit = data["hand_check"], units.temperature_unit
    heads = (
        "pass", f"lump warms by, {unit}", f"joint warms by, {unit}",
        "lump waits, s", "joint waits, s",
        f"lump at arc on, {unit}", f"joint at arc on (mean), {unit}",
    )  # fmt: skip
    pairs = zip(check["passes"], data["passes"], strict=True)
    rows = tuple(_hand(step, done, units) for step, done in pairs)
    degree = units.value("temperature difference", 1.0)
    lump = (
        f"One lump of {units.text('mass', check['mass_kg'])}, "
        f"{check['heat_capacity_J_per_K'] / degree:.0f} J/{unit}. Time constant: lump "
        f"{_page_seconds(check['time_constant_s'])} s, joint "
        f"{_page_seconds(check['model_time_constant_s'])} s after the last pass."
    )
    return Table("Hand check", heads, rows, (lump, note))


def _hand(step: Data, done: Data, units: UnitSystem) -> tuple[str, ...]:
    rises = (step["rise_K"], step["model_rise_K"])
    return (
        str(step["number"]),
        *(f"{units.value('temperature difference', rise):.0f}" for rise in rises),
        _page_seconds(step["wait_s"]),
        _page_seconds(done["wait_s"]) if done["wait_is_auto"] else NOTHING,
        _degrees(step["at_arc_on_degC"], units),
        _degrees(done["interpass_degC"]["mean"], units),
    )


def near_table(data: Data, units: UnitSystem, notes: Sequence[str]) -> Table:
    """Pool, heat-affected zone, bore and cooling of each pass."""
    length, degrees = units.length_unit, units.temperature_unit
    low, high = (units.value("temperature", T) for T in DWELL)
    ferritic = is_ferritic(data)
    heads = ["pass", f"arc meets metal at, {degrees}", f"pool wide, {length}",
             f"pool deep in pipe, {length}", f"pool deep in socket, {length}",
             "root fused", f"HAZ, from middle, {length}",
             f"peak at the bore, {degrees}"]  # fmt: skip
    heads += (
        ["t8/5 by grid, s", "t8/5, s", "t8/5 by EN 1011-2, s"]
        if ferritic
        else [f"{low:.0f} to {high:.0f} {degrees}, s"]
    )
    rows = tuple(_near(p, units, ferritic=ferritic) for p in data["near_arc"])
    return Table("Near the arc (estimate)", tuple(heads), rows, tuple(notes))


def is_ferritic(data: Data) -> bool:
    """Whether the near-arc table shows cooling times of ferritic steel."""
    return any(p["t85_grid_s"] is not None for p in data["near_arc"])


def _near(p: Data, units: UnitSystem, *, ferritic: bool) -> tuple[str, ...]:
    melts = p["melts_through"]
    times = ("t85_grid_s", "t85_s", "t85_EN1011_s")
    return (
        str(p["number"]),
        _degrees(p["meets_degC"], units),
        _size(p["pool_width_mm"], units),
        _size(p["pool_depth_mm"], units) + (" *" if melts else ""),
        _size(p["pool_depth_socket_mm"], units),
        p["root_corner_fused"] or NOTHING,
        _size(p["haz_from_middle_mm"], units),
        "melts" if melts else _degrees(p["peak_at_bore_degC"], units),
        *(
            _page_seconds(p[key])
            for key in (times if ferritic else ("dwell_450_850_degC_s",))
        ),
    )


def probes_table(data: Data, units: UnitSystem) -> Table:
    """Where the temperature was followed, the hottest there, and when."""
    length, degrees = units.length_unit, units.temperature_unit
    heads = ("place", f"r, {length}", f"z, {length}", "angle, deg",
             f"hottest, {degrees}", "at, s", f"at the end, {degrees}")  # fmt: skip
    rows = []
    for probe in data["probes"]:
        series = probe["temperature_degC"]
        if not series:
            continue
        most = max(series)
        rows.append(
            (
                probe["name"],
                *(_size(probe[key], units) for key in ("r_mm", "z_mm")),
                f"{probe['angle_deg']:.0f}",
                _degrees(most, units),
                f"{probe['time_s'][series.index(most)]:.0f}",
                _degrees(series[-1], units),
            )
        )
    return Table("Places followed", heads, tuple(rows))


def shares_table(data: Data) -> Table:
    """Which numbers of the case bring in the doubt."""
    rows = tuple(
        (row["words"], row["key"], f"{100 * row['share']:.0f}")
        for row in data["doubt"]["shares"]
    )
    how = data["doubt"]
    note = f"By {how['how']}; {how['samples']} samples, seed {how['seed']}."
    heads = ("number in doubt", "key of the case file", "% of the doubt")
    return Table("What the doubt comes from", heads, rows, (note,), left=(1,))


def sourced_table(title: str, rows: Sequence[Data]) -> Table:
    """Numbers with their sources and standing."""
    cells = tuple((r["key"], r["value"], r["source"], r["standing"]) for r in rows)
    return Table(title, ("key", "value", "source", "standing"), cells, left=(1, 2, 3))


def _degrees(degC: float | None, units: UnitSystem) -> str:
    if degC is None:
        return NOTHING
    return f"{units.value('temperature', degC + 273.15):.0f}"


def _size(mm: float | None, units: UnitSystem) -> str:
    if mm is None:
        return NOTHING
    return f"{units.value('length', 1e-3 * mm):.{1 if units.length_unit == 'mm' else 2}f}"


def _page_seconds(time: float | None) -> str:
    if time is None:
        return NOTHING
    return f"{time:.0f}" if time < SOON else "does not cool"
