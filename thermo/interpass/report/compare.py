"""Cases side by side as text, CSV and JSON."""

from collections.abc import Sequence

from ..charts.compare import Compared, Line, inputs, outcomes
from ..text.kinds import SI, UnitSystem
from ..text.layout import NOTHING, columns, paragraph
from ..text.times import clock

LONGEST = 22  # letters of one cell


def text(compared: Sequence[Compared], units: UnitSystem = SI) -> str:
    """Set out the inputs that differ and what came of them, a column for each case."""
    heads = ["", *(one.letter for one in compared)]
    lines = [
        words
        for one in compared
        for words in paragraph(f"{one.case.title} ({one.case.file})", f"{one.letter}  ")
    ]
    different = [_cells(line, units) for line in inputs(compared)]
    same = "The cases do not differ in anything they say."
    lines += ["", "Inputs that differ"]
    lines += columns(heads, different, left=[0]) if different else paragraph(same)
    found = [_cells(line, units) for line in outcomes(compared)]
    lines += ["", "What comes of them", *columns(heads, found, left=[0]), ""]
    lines += paragraph(_legend(compared))
    return "\n".join(lines) + "\n"


def _legend(compared: Sequence[Compared]) -> str:
    words = (
        "Times in min:s; waits rounded up to 5 s unless the case gives them, total from "
        "first arc on to last arc off. Heat until the end of the run."
    )
    stopped = [
        f"{one.letter} stopped: {one.history.stopped_because}."
        for one in compared
        if not one.history.complete
    ]
    models = {one.history.model for one in compared}
    if "axisymmetric" in models:
        words += " Averaged round the ring: waits under a minute come out too short."
    return " ".join([words, *stopped])


def _cells(line: Line, units: UnitSystem) -> list[str]:
    """Name, with the unit, and the value for each case."""
    unit = _unit(line.kind, units)
    name = f"{line.name}, {unit}" if unit else line.name
    return [name, *(_shown(value, line.kind, units) for value in line.values)]


def _unit(kind: str, units: UnitSystem) -> str:
    """Return the unit a kind is shown in; times are min:s."""
    if kind in ("", "wait"):
        return ""
    return "kJ" if kind == "energy" else units.unit(kind)


def _shown(value: float | str | None, kind: str, units: UnitSystem) -> str:
    if value is None:
        return NOTHING
    if isinstance(value, str):
        return value if len(value) <= LONGEST else value[: LONGEST - 3] + "..."
    if kind == "wait":
        return clock(value)
    if kind == "energy":
        return f"{value / 1e3:.1f}"
    return units.text(kind, value).split()[0]
