"""What is welded, in words: once, for every report."""

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from ..heat.history import History, planned_wait
from ..joint.beads import over_code
from ..joint.case import Case, Pass
from ..joint.held import device_on
from ..text.kinds import UnitSystem
from ..text.layout import Words
from ..text.times import clock, shop_time
from ..trade.pipes import diameter_text

if TYPE_CHECKING:
    from ..doubt.unsaid import Gripped

LESS = 0.97  # of a wait: what shortens it by less is not told


def parts_words(case: Case, units: UnitSystem | None = None) -> str:
    """Name pipe and fitting; with ``units`` the pipe's diameter and wall as well.

    Sizes stand there too where the pipe is of no size by name.
    """
    pipe, fitting = case.pipe, case.fitting
    told = [f"{pipe.size} Sch {pipe.schedule}"] if pipe.size else []
    if units is not None:
        wide = diameter_text(pipe.size, pipe.outside_diameter, units)
        told.append(f"{wide} x {units.length(pipe.wall)}")
    rating = f" class {fitting.pressure_class}" if fitting.pressure_class else ""
    size = f" {', '.join(told)}" if told else ""
    if case.is_bare:
        return f"Pipe{size}, {pipe.material.name}, bare"
    return (
        f"Pipe{size}, {pipe.material.name}; {fitting.kind}{rating}, "
        f"{fitting.material.name}"
    )


def short_joint_words(
    case: Case, units: UnitSystem, *, names_process: bool = False
) -> str:
    """Say what is welded, in a line."""
    parts = parts_words(case, None if case.pipe.size else units)
    how = f"{case.process}, {case.position}" if names_process else case.position
    if case.is_bare:
        return f"{parts}; {how}."
    return f"{parts}; filler {case.filler_name}; {how}."


def joint_words(case: Case, units: UnitSystem) -> str:
    """Say what is welded, in one sentence."""
    length = units.length
    if case.is_bare:
        return (
            f"{parts_words(case, units)}, heated in a band of {length(case.band)}, "
            f"{length(case.band_depth)} deep; {case.process}, {case.position}; air "
            f"{units.temperature(case.surroundings.air)}."
        )
    legs = f"leg {length(case.leg_pipe)}"
    if case.leg_pipe != case.leg_socket:
        legs += f" on the pipe, {length(case.leg_socket)} on the socket"
    return (
        f"{parts_words(case, units)}; filler {case.filler_name}; {legs}; end gap "
        f"{length(case.end_gap)}; {case.process}, {case.position}; air "
        f"{units.temperature(case.surroundings.air)}."
    )


def hold_words(case: Case, units: UnitSystem) -> str:
    """Say what the waits take for granted about what holds the piece."""
    held = case.surroundings.holding
    if held is None:
        silent = "" if case.surroundings.holding_is_said else " (the case does not say)"
        return f"held by nothing that takes heat{silent}"
    low, high = (units.length(z) for z in (held.from_face, held.from_face + held.length))
    what = f"held on the {held.on}"
    if device := device_on(held.on, held.by):
        what = f"held with the {device.words}"
    return f"{what} from {low} to {high} from the socket face, which takes heat"


def unsaid_words(
    history: History,
    gripped: "Gripped | None",
    where: str = "in [surroundings] holding",
) -> str:
    """Say what a hold would do that the case does not speak of; "" where it does."""
    if gripped is None:
        return ""
    rows = [
        (p.number, clock(shop_time(gripped.waits[p.number - 1])), clock(planned_wait(p)))
        for p in history.passes[1:]
        if p.wait_is_auto and gripped.waits[p.number - 1] < LESS * p.wait
    ]
    if not rows:
        return ""
    waits = ", ".join(f"{held} not {free} before pass {n}" for n, held, free in rows)
    return (
        f"What holds the piece is not said; nothing is assumed. With the {gripped.words} "
        f"typical waits would be {waits}: say so {where}."
    )


def settings_words(p: Pass, units: UnitSystem) -> Iterator[str]:
    """Name what the welder sets and the heat does not need, where the case says it."""
    own = p.settings
    if p.tungsten is not None:
        digits = 1 if units.length_unit == "mm" else 3
        yield f"tungsten {units.length(p.tungsten, digits)}"
    if own.cup:
        yield f"cup {own.cup}"
    if own.stick_out is not None:
        yield f"stick-out {units.length(own.stick_out)}"
    for name, flow in (("gas", own.gas_flow), ("purge", own.purge_flow)):
        if flow is not None:
            yield f"{name} {units.text('flow', flow)}"
    if own.technique:
        yield own.technique


def lip_words(case: Case, units: UnitSystem, *, is_brief: bool = False) -> list[Words]:
    """Say what a fillet out to the edge costs over the code's; nothing for other legs."""
    found = over_code(case)
    if found is None:
        return []
    passes = f"{found.passes} passes and not {found.passes_code}"
    cost = f"{found.heat_more * 1e-3:.0f} kJ more heat, {found.time_more / 60:.1f} min more arc"
    where = "Out to the edge of the socket face"
    if is_brief:
        return [Words(f"{where} the fillet takes {passes}: {cost}.")]
    area = units.text("area", found.area)
    share = f"{found.area / found.area_code:.1f} times the metal of the code's leg"
    return [
        Words(
            f"{where}: {area} of fillet, {share}. By what one pass lays here it takes "
            f"{passes}: {cost}, and a wait before each."
        )
    ]


def in_its_units(case: Case, units: UnitSystem) -> Case:
    """Return the case as one that asks for these units, for rules that speak in words."""
    return replace(case, report_units=units.name)
