"""What is welded, in words: once, for every report."""

from collections.abc import Iterator

from ..joint.case import Case, Pass
from ..text.kinds import UnitSystem
from ..trade.pipes import diameter_text


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
