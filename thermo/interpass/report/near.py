"""Near the arc, pass by pass, and how the two models compare: text of both."""

from ..heat.history import History
from ..heat.near_arc import DWELL, NearArc
from ..text.kinds import UnitSystem
from ..text.layout import NOTHING, columns, paragraph

WORTH_SAYING = 0.05  # of a wait: models that differ more are told apart


HEAT_TINT = 563.15  # K, 290 degC: palest tint of type 304 in air (published)


def near_lines(passes: tuple[NearArc, ...], units: UnitSystem) -> list[str]:
    """Pool, heat-affected zone, bore and cooling of each pass, with what limits them."""
    if not passes:
        return []
    ferritic = any(p.cooling_time_85_grid is not None for p in passes)
    length, degrees = units.length_unit, units.temperature_unit
    heads = [
        "pass",
        f"arc meets\nmetal at, {degrees}",
        f"pool wide,\n{length}",
        f"pool deep,\n{length}",
        f"HAZ, from\nmiddle, {length}",
        f"peak at the\nbore, {degrees}",
    ]
    heads += (
        ["t8/5 by\ngrid, s", "t8/5,\ns", "t8/5 by\nEN 1011-2, s"]
        if ferritic
        else [f"{_range(units)},\ns"]
    )
    rows = [_row(p, units, ferritic=ferritic) for p in passes]
    return [
        "Near the arc, in the wall of the pipe (moving-source estimate, not the grid)",
        *columns(heads, rows),
        *paragraph(" ".join(near_notes(passes, units, ferritic=ferritic))),
    ]


def _row(p: NearArc, units: UnitSystem, *, ferritic: bool) -> list[str]:
    cells = [
        str(p.number),
        f"{units.value('temperature', p.start):.0f}",
        _size(p.melted_width, units),
        f"{_size(p.melted_depth, units)}{' *' if p.melts_through else ''}",
        _size(p.haz_width, units),
        "melts"
        if p.melts_through
        else f"{units.value('temperature', p.peak_at_bore):.0f}",
    ]
    if ferritic:
        times = (p.cooling_time_85_grid, p.cooling_time_85, p.cooling_time_85_standard)
        return [*cells, *map(_seconds, times)]
    return [*cells, _seconds(p.dwell_of_hottest)]


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
    passes: tuple[NearArc, ...], units: UnitSystem, *, ferritic: bool
) -> list[str]:
    """Say what the columns mean and where they stop being true."""
    notes = [f"HAZ: heated above {units.temperature(passes[0].haz_limit)}."]
    notes.append(
        "Rosenthal's moving source with images through the wall; heat that melts the "
        "filler taken off."
    )
    if any(p.melts_through for p in passes):
        notes.append(
            "* The estimate melts the whole wall: look at the root, purge the bore; it is "
            "an upper estimate, for it has a point source and no heat lost to the socket's "
            "far side."
        )
    if any(p.peak_at_bore > HEAT_TINT for p in passes) and not ferritic:
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
    said = sorted({words for p in passes for words in p.cautions})
    if said:
        notes.append(f"Beyond its limits here: {'; '.join(said)}.")
    return notes


def _at_distances(passes: tuple[NearArc, ...], units: UnitSystem) -> list[str]:
    """Dwell beside the melt, for passes on metal cool enough for the estimate."""
    told = []
    for p in passes:
        if p.dwell:
            times = ", ".join(
                f"{units.length(d, 1 if units.length_unit == 'mm' else 2)}: {t:.0f} s"
                for d, t in p.dwell
            )
            told.append(f"Pass {p.number}, from the edge of the melt: {times}.")
    return told


def comparison_lines(history: History) -> list[str]:
    """Tell waits of the axisymmetric model that differ by more than a twentieth."""
    told = []
    for done, quick in zip(history.passes, history.axisymmetric_waits, strict=False):
        apart = abs(done.wait - quick)
        if done.wait_is_auto and apart > WORTH_SAYING * max(done.wait, 1.0):
            told.append(f"pass {done.number} {quick:.0f} s instead of {done.wait:.0f} s")
    if not told:
        return []
    return paragraph(
        f"The axisymmetric model gives other waits: {'; '.join(told)}. It averages the arc "
        "round the ring, which hides the hottest point and keeps the mean too hot."
    )
