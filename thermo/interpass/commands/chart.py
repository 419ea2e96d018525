"""The command ``chart``: one sheet for a family of joints."""

from collections.abc import Mapping
from contextlib import ExitStack, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from .console import Talk, show, terminal_width
from .options import (
    ArcOptions,
    AsJson,
    CaseFile,
    Cluster,
    Speech,
    Units,
    UnitsOption,
    Workers,
    refuse_ending,
    to_write,
    with_groups,
)
from .running import announce, ended, refuse_outputs, spoken, write

if TYPE_CHECKING:
    from ..charts.chart import Chart
    from ..charts.joints import ChartRow
    from ..joint.case import Case

EXAMPLE = (
    'chart cases/sampling-stub.toml --over size="1/2,3/4,1" '
    '--over current="60 A..100 A/20 A" --axisymmetric'
)

WALL = (".svg", ".png", ".pdf")  # endings of a page for the wall
QUICK_ENOUGH = 40  # axisymmetric joints that one process does as fast

Over = Annotated[
    list[str],
    typer.Option(
        "--over",
        metavar="NAME=VALUES",
        help="What to vary, one to three times: a list with commas, or from..to/step. "
        "Short names (size, current, travel, air ...) or keys of the case file.",
        show_default=False,
    ),
]

SolveFor = Annotated[
    str | None,
    typer.Option(
        "--solve-for",
        metavar="NAME",
        help="Look for the highest current (or air, voltage; lowest travel, fan, limit) "
        "that keeps every wait short enough; or 'time', the shortest in all.",
        show_default=False,
    ),
]

WaitMax = Annotated[
    str | None,
    typer.Option(
        "--wait-max",
        metavar="TIME",
        help='The longest wait, for --solve-for: "2 min".',
        show_default=False,
    ),
]

Between = Annotated[
    str | None,
    typer.Option(
        "--between",
        metavar="FROM..TO/STEP",
        help="Where --solve-for looks.",
        show_default=False,
    ),
]

Resume = Annotated[
    bool, typer.Option("--resume", help="Go on with a chart that was stopped.")
]

RowsFile = Annotated[
    Path | None,
    to_write(
        "--csv", "Also write the rows as CSV; kept beside it while they are computed."
    ),
]

WallFile = Annotated[
    Path | None,
    to_write("--figure", "Also write a page for the wall: .pdf, .svg or .png."),
]

WithBands = Annotated[
    bool,
    typer.Option(
        "--bands/--no-bands",
        help="Also find the waits that hold for 9 in 10 plausible joints; much slower.",
    ),
]


@with_groups
def chart(
    case_file: CaseFile,
    over: Over,
    solve_for: SolveFor = None,
    wait_max: WaitMax = None,
    between: Between = None,
    bands: WithBands = False,
    resume: Resume = False,
    csv: RowsFile = None,
    figure: WallFile = None,
    as_json: AsJson = False,
    units: UnitsOption = None,
    *,
    arc: ArcOptions,
    workers: Workers = None,
    cluster: Cluster = "",
    speech: Speech,
) -> None:
    """Chart the waits of many joints: values varied together."""
    refuse_ending("--figure", figure, WALL)
    output = csv or figure
    if resume and output is None:
        words = "--resume needs --csv or --figure: rows are kept beside that file"
        raise typer.BadParameter(words)
    with speech.talking() as talk:
        from ..face.charting import chart_asked

        search = (solve_for, wait_max, between)
        asked = chart_asked(case_file, over, search, ring=arc.cells, allow=bands)
        refuse_outputs(talk, csv, figure)
        rows = _run(asked, output, talk, resume=resume, workers=workers, cluster=cluster)
        units = spoken(_start_of(asked), units)
        _show(asked, rows, units, as_json=as_json)
        _save(asked, rows, csv, figure, units, talk)
    from ..charts.joints import is_any_met

    raise ended(failed=not is_any_met(rows))


def _run(
    asked: "Chart",
    output: Path | None,
    talk: Talk,
    *,
    resume: bool,
    workers: int | None,
    cluster: str,
) -> list["ChartRow"]:
    """Run what is not there yet; every row is kept as it comes where a file is written."""
    from ..charts.chart import header, run_chart
    from ..charts.journal import journal, journal_path

    announce(talk)
    total = len(asked.places)
    with ExitStack() as stack:
        rows: list[ChartRow] = []
        keep: Any = rows.append
        kept = ""
        if output is not None:
            path = journal_path(output)
            rows, append = stack.enter_context(
                journal(path, header(asked), resume=resume)
            )
            kept = f"; its rows are kept in {path}, go on with --resume"

            def keep(row: "ChartRow") -> None:
                append(row)
                rows.append(row)

        processes = workers or _processes(asked)
        talk.detail(f"{total} joints, {len(rows)} of them kept; {processes} processes")
        running = run_chart(
            asked, tuple(rows), workers=processes, cluster=cluster, progress=talk.progress
        )
        stack.callback(running.close)
        try:
            for row in running:
                keep(row)
        except KeyboardInterrupt:
            talk.doing = f"joint {len(rows)} of {total}{kept}"
            raise
        except OSError as error:  # the disk is full
            words = f"{error.strerror} at joint {len(rows)} of {total}{kept}"
            raise OSError(error.errno, words, error.filename) from error
    return rows


def _processes(asked: "Chart") -> int:
    """Count the processes worth starting: they take a second to come up."""
    import os

    cores = len(os.sched_getaffinity(0))
    options: Mapping[str, Any] = asked.table.get("model", {})
    is_quick = options.get("ring") == 1 and not asked.allow and not asked.search
    return cores if len(asked.places) > (QUICK_ENOUGH if is_quick else 1) else 1


def _start_of(asked: "Chart") -> "Case | None":
    """Case that all joints of a chart start from, where it is one by itself."""
    from ..case_file.read import case_from_table
    from ..text.errors import CaseError

    try:
        return case_from_table(dict(asked.table), asked.file)
    except CaseError:
        return None


def _show(asked: "Chart", rows: list["ChartRow"], units: Units, *, as_json: bool) -> None:
    """Print the rows, as text or as JSON."""
    from ..face.answers import Charted
    from ..text.records import json_text

    found = Charted(asked, tuple(rows))
    if as_json:
        show(json_text(found.to_dict()))
    else:
        show(found.text(units.value, terminal_width()))


def _save(
    asked: "Chart",
    rows: list["ChartRow"],
    csv: Path | None,
    figure: Path | None,
    units: Units,
    talk: Talk,
) -> None:
    """Write the files, then drop the rows kept for the case of a stop."""
    from ..charts.journal import journal_path

    write(_files(asked, rows, csv, figure, units), talk)
    if (output := csv or figure) is not None:
        with suppress(FileNotFoundError):
            journal_path(output).unlink()


def _files(
    asked: "Chart",
    rows: list["ChartRow"],
    csv: Path | None,
    figure: Path | None,
    units: Units,
) -> dict[Path, bytes]:
    """Make every file: bytes by path."""
    from ..results.chart import csv_text

    made = {}
    if csv is not None:
        made[csv] = csv_text(asked, rows).encode()
    if figure is not None:
        from ..pictures.wall import wall_chart

        kind = figure.suffix.lower().lstrip(".")
        made[figure] = wall_chart(asked, rows, kind, units.system)
    return made
