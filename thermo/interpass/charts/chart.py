"""A chart: many joints of one family, run and gathered."""

import hashlib
import json
from collections.abc import Generator, Iterator, Mapping, Sequence
from contextlib import closing, suppress
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from .. import __version__
from ..case_file.change import ChartError
from ..text.errors import ThermoError
from ..text.files import case_text
from ..text.progress import Progress
from .axes import Axis, combinations
from .joints import IMPOSSIBLE, Cell, ChartRow, run_cell
from .processes import Failed, run_all
from .solve import Search, solve_cell


@dataclass(frozen=True, eq=False)
class Chart:
    """What is asked for: a case, what is varied, and what is looked for."""

    title: str
    file: str
    table: Mapping[str, Any]  # of the case all joints start from
    axes: tuple[Axis, ...]
    search: Search | None = None
    allow: bool = False

    @property
    def places(self) -> list[tuple[int, ...]]:
        """Place on every axis of each joint, by number."""
        return combinations(self.axes)


def make_chart(
    table: Mapping[str, Any],
    file: str,
    axes: Sequence[Axis],
    search: Search | None = None,
    *,
    allow: bool = False,
) -> Chart:
    """Put a chart together.

    Raises
    ------
    ChartError
        What is looked for is varied as well.
    """
    if search and search.key in [axis.key for axis in axes]:
        msg = f"{search.name} is looked for, so it cannot be varied too"
        raise ChartError(msg, "vary something else")
    title = str(table.get("title", "Socket weld"))
    return Chart(title, file, table, tuple(axes), search, allow)


def header(chart: Chart) -> dict[str, Any]:
    """Tell a chart from every other, part by part, and say what it is."""
    what = {
        "the case": chart.table,
        "what it runs over": [asdict(axis) for axis in chart.axes],
        "what is looked for": asdict(chart.search) if chart.search else None,
        "--bands": chart.allow,
        "a file of rules": _rule_files(chart),
        "the version of the program": __version__,
    }
    parts = {name: _digest(value) for name, value in what.items()}
    found = {"chart": _digest(parts), "words": words(chart)}
    return found | {"joints": len(chart.places), "parts": parts}


def _digest(value: Any) -> str:
    text = json.dumps(value, sort_keys=True, default=str)
    return hashlib.sha256(text.encode()).hexdigest()


def _rule_files(chart: Chart) -> dict[str, str]:
    """Texts of the files of rules that any joint is judged by."""
    limits = chart.table.get("limits", {})
    listed = [str(limits.get("rules", "")) if isinstance(limits, Mapping) else ""]
    for axis in chart.axes:
        listed += map(str, axis.values if axis.key == "limits.rules" else ())
    names = (name.strip() for text in listed for name in text.split(","))
    folder, found = Path(chart.file).parent, {}
    for name in (name for name in names if name.lower().endswith(".toml")):
        with suppress(ThermoError):  # told by the joint that names it
            found[name] = case_text(folder / name)
    return found


def words(chart: Chart) -> str:
    """Name a chart: its case and what it runs over."""
    over = ", ".join(f"{axis.name} ({len(axis.values)})" for axis in chart.axes)
    search = f", looking for {chart.search.words()}" if chart.search else ""
    return f"'{chart.title}' over {over}{search}"


def cells(chart: Chart) -> Iterator[Cell]:
    """Joints of a chart, in order."""
    for number, place in enumerate(chart.places):
        settings = tuple(
            (axis.key, axis.values[n]) for axis, n in zip(chart.axes, place, strict=True)
        )
        yield Cell(number, chart.table, settings, chart.file, chart.allow)


def run_chart(
    chart: Chart,
    done: Sequence[ChartRow] = (),
    *,
    workers: int = 1,
    cluster: str = "",
    progress: Progress | None = None,
) -> Generator[ChartRow, None, None]:
    """Run the joints that are not done yet; rows come as they finish."""
    have = {row.number for row in done}
    missing = [cell for cell in cells(chart) if cell.number not in have]
    search = chart.search
    function: Any = solve_cell if search else run_cell
    items: list[Any] = [(cell, search) for cell in missing] if search else [*missing]
    total = len(have) + len(missing)
    with closing(run_all(function, items, workers=workers, cluster=cluster)) as answers:
        for count, (place, answer) in enumerate(answers, len(have) + 1):
            if progress:
                progress(count / total, f"joint {count} of {total}")
            yield _as_row(answer, missing[place].number)


def _as_row(answer: ChartRow | Failed, number: int) -> ChartRow:
    return (
        ChartRow(number, IMPOSSIBLE, answer.words)
        if isinstance(answer, Failed)
        else answer
    )


def found(chart: Chart, row: ChartRow) -> float | None:
    """Value looked for, in its unit."""
    if chart.search is None or row.solved is None:
        return None
    span = chart.search.span
    return round((row.solved - span.zero) / span.one, 6)
