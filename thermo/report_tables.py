"""Tables of the report that is filed, from the same data as the JSON.

Every number here is one of ``report_data.results``, put into the user's units.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite
from typing import Any

from .joint import Case
from .layout import NOTHING, clock
from .near import DWELL
from .report_heat import PLACES, SMALLEST
from .units import UnitSystem

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
        f"{_seconds(check['time_constant_s'])} s, joint "
        f"{_seconds(check['model_time_constant_s'])} s after the last pass."
    )
    return Table("Hand check", heads, rows, (lump, note))


def _hand(step: Data, done: Data, units: UnitSystem) -> tuple[str, ...]:
    rises = (step["rise_K"], step["model_rise_K"])
    return (
        str(step["number"]),
        *(f"{units.value('temperature difference', rise):.0f}" for rise in rises),
        _seconds(step["wait_s"]),
        _seconds(done["wait_s"]) if done["wait_is_auto"] else NOTHING,
        _degrees(step["at_arc_on_degC"], units),
        _degrees(done["interpass_degC"]["mean"], units),
    )


def near_table(data: Data, units: UnitSystem, notes: Sequence[str]) -> Table:
    """Pool, heat-affected zone, bore and cooling of each pass."""
    length, degrees = units.length_unit, units.temperature_unit
    low, high = (units.value("temperature", T) for T in DWELL)
    ferritic = is_ferritic(data)
    heads = ["pass", f"arc meets metal at, {degrees}", f"pool wide, {length}",
             f"pool deep, {length}", f"HAZ, from middle, {length}",
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
        _size(p["haz_from_middle_mm"], units),
        "melts" if melts else _degrees(p["peak_at_bore_degC"], units),
        *(_seconds(p[key]) for key in (times if ferritic else ("dwell_450_850_degC_s",))),
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


def _seconds(time: float | None) -> str:
    if time is None:
        return NOTHING
    return f"{time:.0f}" if time < SOON else "does not cool"
