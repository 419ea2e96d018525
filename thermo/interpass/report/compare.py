"""Cases side by side as text, CSV and JSON."""

from collections.abc import Iterable, Iterator, Sequence
from itertools import zip_longest
from textwrap import wrap

from ..case_file.keys import kind_of
from ..charts.compare import Compared, Line, inputs, outcomes
from ..text.kinds import SI, UnitSystem
from ..text.layout import NOTHING, WIDTH, Table, Words, lines_of
from ..text.times import clock
from ..text.units import UnitError, parse

LONGEST = 22  # letters of one line of a cell


def text(compared: Sequence[Compared], units: UnitSystem = SI, width: int = WIDTH) -> str:
    """Set out the inputs that differ and what came of them, a column for each case."""
    cases = [
        Words(f"{one.case.title} ({one.case.file})", f"{one.letter}  ")
        for one in compared
    ]
    different, found = (
        Table(title, ("", *(one.letter for one in compared)), tuple(rows), left=(0,))
        for title, rows in (
            ("Inputs that differ", _rows(inputs(compared), units)),
            ("What comes of them", _rows(outcomes(compared), units)),
        )
    )
    alike = Words("The cases do not differ in anything they say.")
    blocks = (
        cases,
        [different if different.rows else alike],
        [found],
        [Words(_legend(compared))],
    )
    told = ("\n".join(lines_of(block, width)) for block in blocks)
    return "\n\n".join(told) + "\n"


def _rows(lines: Iterable[Line], units: UnitSystem) -> Iterator[tuple[str, ...]]:
    """Rows of a table; a cell of many letters goes on in the next row."""
    for line in lines:
        cells = [wrap(cell, LONGEST) or [""] for cell in _cells(line, units)[1:]]
        names = [_cells(line, units)[0]]
        yield from zip_longest(names, *cells, fillvalue="")


def _legend(compared: Sequence[Compared]) -> str:
    words = (
        "Times in min:s; waits rounded up to 5 s unless the case gives them, total from "
        "first arc on to last arc off. Waits are typical: every second joint needs longer. "
        "Heat until the end of the run. Time constant: of the piece as one lump."
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
    shown = (_shown(value, line.kind, units) for value in line.values)
    return [name, *(_spoken(line.name, value, units) for value in shown)]


CONVERTED = ("length", "area", "speed", "flow")  # a limit stays as it was written
AS_WRITTEN = ("surroundings.fan", "pipe.outside_diameter")
"""Air is faster than a torch; the standard has inches of its own for a nominal size."""


def _spoken(key: str, value: str, units: UnitSystem) -> str:
    """Value of a key of the case in the units of the report, where it is in others."""
    kind = kind_of(key) or ("length" if value.endswith(" mm") else "")
    if kind not in CONVERTED or key in AS_WRITTEN:
        return value
    if value.endswith(f" {units.unit(kind)}"):
        return value
    try:
        return units.text(kind, parse(value, kind))
    except UnitError:
        return value  # a word


def _unit(kind: str, units: UnitSystem) -> str:
    """Return the unit a kind is shown in; times are min:s."""
    if kind in ("", "wait"):
        return ""
    return "kJ" if kind == "energy" else units.unit(kind)


def _shown(value: float | str | None, kind: str, units: UnitSystem) -> str:
    if value is None:
        return NOTHING
    if isinstance(value, str):
        return value
    if kind == "wait":
        return clock(value)
    if kind == "energy":
        return f"{value / 1e3:.1f}"
    return units.text(kind, value).split()[0]
