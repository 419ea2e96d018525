"""A chart as text for the terminal, as CSV and as JSON."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from ..charts.chart import Chart, found
from ..charts.joints import ChartRow, in_shop, passes_waiting, total_in_shop
from ..text.kinds import SI, UnitSystem
from ..text.layout import NOTHING, WIDTH, Table, paragraph, table_lines
from ..text.times import clock, shop_time


@dataclass
class Footnotes:
    """Remarks with the number each was given, in order of appearance."""

    numbers: dict[str, int] = field(default_factory=dict)

    def mark(self, remark: str) -> str:
        """Return the mark of a remark, the same for the same words."""
        return f"[{self.numbers.setdefault(remark, len(self.numbers) + 1)}]"


def remarks(row: ChartRow) -> list[str]:
    """Everything to know about a row that is no number."""
    rules = [f"not met: {rule}" for rule in row.failed]
    return [remark for remark in (row.reason, *rules, row.note) if remark]


def text(
    chart: Chart, rows: Sequence[ChartRow], units: UnitSystem = SI, width: int = WIDTH
) -> str:
    """Table of a chart, complete or not, and what its marks mean.

    Parameters
    ----------
    chart : Chart
        What was asked for.
    rows : sequence of ChartRow
        What is there, in any order.
    units : UnitSystem
        For the temperatures.
    width : int
        Characters of a line, at most.
    """
    rows = sorted(rows, key=lambda row: row.number)
    notes = Footnotes()
    n = passes_waiting(rows)
    heads, groups = _heads(chart, n, units)
    table = Table(
        "",
        tuple(heads),
        tuple(tuple(_line(chart, row, n, units, notes)) for row in rows),
        left=(*range(len(chart.axes)), len(heads) - 1),
        groups=tuple(groups),
        names=len(chart.axes),
    )
    lines = [*paragraph(chart.title, width=width), *_subject(chart, width), ""]
    lines += [*table_lines(table, width), ""]
    for remark, number in notes.numbers.items():
        lines += paragraph(remark, f"[{number}] ", width=width)
    return "\n".join([*lines, *paragraph(_legend(chart, rows, n), width=width)]) + "\n"


def _subject(chart: Chart, width: int) -> list[str]:
    if chart.search is None:
        return []
    return paragraph(f"Looking for {chart.search.words()}.", width=width)


def _heads(
    chart: Chart, waits: int, units: UnitSystem
) -> tuple[list[str], list[tuple[str, int, int]]]:
    """Heads of the columns, and the titles over several of them."""
    heads = [axis.name for axis in chart.axes]
    if chart.search:
        heads.append(f"{chart.search.name}, {chart.search.span.unit}".removesuffix(", "))
    groups = []
    for name in ("typical, min:s", "safe, min:s")[: 1 + chart.allow]:
        if waits:
            groups.append((name, len(heads), len(heads) + waits - 1))
            heads += [f"pass {number}" for number in range(2, waits + 2)]
    heads += ["total, min:s", f"hottest, {units.temperature_unit}", "notes"]
    return heads, groups


def _line(
    chart: Chart, row: ChartRow, waits: int, units: UnitSystem, notes: Footnotes
) -> list[str]:
    """Cells of one row."""
    place = chart.places[row.number]
    cells = [axis.labels[n] for axis, n in zip(chart.axes, place, strict=True)]
    if chart.search:
        value = found(chart, row)
        cells.append(NOTHING if value is None else f"{value:g}")
    cells += _padded([clock(wait) for wait in in_shop(row)], waits)
    if chart.allow:
        allow = [NOTHING if a is None else clock(shop_time(a)) for a in row.allow]
        cells += _padded(allow, waits)
    total = total_in_shop(row)
    hot = row.hottest
    cells.append(NOTHING if total is None else clock(total))
    cells.append(NOTHING if hot is None else f"{units.value('temperature', hot):.0f}")
    return [*cells, " ".join(notes.mark(remark) for remark in remarks(row))]


def _padded(cells: list[str], count: int) -> list[str]:
    return cells + [NOTHING] * (count - len(cells))


def _legend(chart: Chart, rows: Sequence[ChartRow], waits: int) -> str:
    """Say what the columns are."""
    words = []
    if waits:
        words.append(
            "Waits: from arc off to the next arc on, rounded up to 5 s unless the case "
            "gives it. Typical: every second joint needs longer"
            + (
                "; safe: holds the limit for 9 in 10 plausible joints."
                if chart.allow
                else "; --bands finds the safe ones."
            )
        )
    words.append(
        "Total: first arc on to last arc off. Hottest: the joint at an arc on, at the "
        "exact wait."
    )
    missing = len(chart.places) - len(rows)
    if missing:
        words.append(f"{missing} of {len(chart.places)} joints are not computed yet.")
    return " ".join(words)
