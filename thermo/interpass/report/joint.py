"""What is welded, in words: once, for every report."""

from ..joint.case import Case
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


def short_joint_words(case: Case, units: UnitSystem) -> str:
    """Say what is welded, in a line."""
    parts = parts_words(case, None if case.pipe.size else units)
    if case.is_bare:
        return f"{parts}; {case.position}."
    return f"{parts}; filler {case.filler_name}; {case.position}."


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
