"""The commands on many joints, chart and compare, as functions; slow imports stand inside them."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..case_file.read import parse_case, plain, with_ring
from ..joint.case import Case
from ..text.progress import Progress
from .answers import Charted, Comparison
from .asking import announce

if TYPE_CHECKING:
    from ..charts.chart import Chart as ChartAsked

Source = str | Path | Mapping[str, Any]  # path of a case file, or its table


def chart(
    source: Source,
    over: Mapping[str, str | Sequence[object]],
    *,
    solve_for: str | None = None,
    wait_max: str | None = None,
    between: str | None = None,
    bands: bool = False,
    ring: int | None = None,
    workers: int = 1,
    progress: Progress | None = None,
) -> Charted:
    """Chart the waits of many joints: values of a case varied together.

    Parameters
    ----------
    source : path or mapping
        A case file, or its table.
    over : mapping
        What to vary, one to three names: ``{"size": ["1/2", "3/4"], "current":
        "60 A..120 A/20 A"}``.
    solve_for, wait_max, between : str, optional
        What is looked for, the longest wait, and where to look: "current", "2 min",
        "40 A..120 A/1 A".
    bands : bool
        Also find the waits that hold for 9 in 10 plausible joints; much slower.
    ring : int, optional
        Cells round the ring; 1 averages the arc round it.
    workers : int
        Processes. More than one needs ``if __name__ == "__main__":`` in a script.

    Raises
    ------
    CaseError
        The case has mistakes; those of one joint become its row.
    ChartError
        What is varied or looked for cannot be meant.
    """
    from ..charts.chart import run_chart

    announce(progress)
    axes = [f"{name}={_values(listed)}" for name, listed in over.items()]
    search = (solve_for, wait_max, between)
    asked = chart_asked(source, axes, search, ring=ring, allow=bands)
    rows = run_chart(asked, workers=workers, progress=progress)
    return Charted(asked, tuple(sorted(rows, key=lambda row: row.number)))


def chart_asked(
    source: Source,
    over: Sequence[str],
    search: tuple[str | None, str | None, str | None] = (None, None, None),
    *,
    ring: int | None = None,
    allow: bool = False,
) -> "ChartAsked":
    """Put a chart together; mistakes of the case alone are told first.

    Parameters
    ----------
    over : sequence of str
        Axes as the command takes them, "current=60 A..120 A/20 A".
    search : three str or None
        What is looked for, the longest wait, and where to look.
    """
    from ..case_file.change import ChartError, with_setting
    from ..charts.axes import parse_axes
    from ..charts.chart import make_chart
    from ..charts.solve import make_search
    from ..rules.judge import sets_for
    from ..text.files import case_text
    from ..text.toml import case_table

    axes = parse_axes(list(over))
    wanted, wait_max, between = search
    if wanted is None and (wait_max or between):
        msg = "wait-max and between belong to solve-for; say what is looked for"
        raise ChartError(msg)
    looked_for = make_search(wanted, wait_max, between) if wanted else None
    if isinstance(source, Mapping):
        file, table = "case.toml", plain(source)
        sets_for(parse_case(source))
    else:
        file, words = str(source), case_text(source)
        sets_for(parse_case(words, file))
        table = case_table(words, file)
    if ring is not None:
        table = with_setting(table, "model.ring", ring)
    return make_chart(table, file, axes, looked_for, allow=allow)


def compare(
    cases: Sequence[Case],
    *,
    ring: int | None = None,
    workers: int = 1,
    progress: Progress | None = None,
) -> Comparison:
    """Run two to six cases side by side.

    Raises
    ------
    CaseError
        A file of rules that a case names has mistakes.
    ValueError
        Fewer than two cases, or more than six.
    WorkerError
        One of the runs failed; the message says which and why.
    """
    from ..charts.compare import run_cases
    from ..rules.judge import sets_for

    if not 2 <= len(cases) <= 6:
        msg = f"{len(cases)} cases given; compare takes two to six"
        raise ValueError(msg)
    if ring is not None:
        cases = [with_ring(case, ring) for case in cases]
    for case in cases:
        sets_for(case)
    announce(progress)
    return Comparison(tuple(run_cases(cases, workers, progress)))


def _values(listed: str | Sequence[object]) -> str:
    return listed if isinstance(listed, str) else ",".join(str(v) for v in listed)
