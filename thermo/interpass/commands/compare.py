"""The command ``compare``: two to six cases side by side."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .console import Talk, show, terminal_width
from .options import (
    PICTURES,
    ArcOptions,
    AsJson,
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
    from ..charts.compare import Compared
    from ..face.answers import Comparison

EXAMPLE = "compare cases/sampling-stub.toml cases/us-manifold.toml --axisymmetric"

Files = Annotated[
    list[Path],
    typer.Argument(metavar="CASE", help="Two to six case files.", show_default=False),
]

TableFile = Annotated[
    Path | None,
    to_write("--csv", "Also write CSV."),
]

BarsFile = Annotated[
    Path | None,
    to_write("--figure", "Also draw them: .svg or .png."),
]


@with_groups
def compare(
    case_files: Files,
    as_json: AsJson = False,
    csv: TableFile = None,
    figure: BarsFile = None,
    units: UnitsOption = None,
    *,
    arc: ArcOptions,
    workers: Workers = None,
    speech: Speech,
) -> None:
    """Compare cases side by side: inputs, waits, energies."""
    if not 2 <= len(case_files) <= 6:
        words = f"{len(case_files)} case files given; compare takes two to six"
        raise typer.BadParameter(words)
    refuse_ending("--figure", figure, PICTURES)
    with speech.talking() as talk:
        found = _run(case_files, arc.cells, workers, (csv, figure), talk)
        units = spoken(found.cases[0].case, units)
        _show(found, units, as_json=as_json)
        _save(found.cases, csv, figure, units, talk)
        failed = found.verdict == "fail"
    raise ended(failed=failed)


def _run(
    files: list[Path],
    ring: int | None,
    workers: int | None,
    outputs: tuple[Path | None, ...],
    talk: Talk,
) -> "Comparison":
    """Read and run all of them."""
    import os

    from ..charts.compare import read_cases
    from ..face.charting import compare as compare_cases

    cases = read_cases([str(file) for file in files], ring)
    refuse_outputs(talk, *outputs)
    announce(talk)
    has_ring = any(case.model.ring > 1 for case in cases)
    cores = len(os.sched_getaffinity(0)) if has_ring else 1
    processes = workers or min(cores, len(cases))
    talk.detail(f"{len(cases)} cases; {processes} processes")
    return compare_cases(cases, workers=processes, progress=talk.progress)


def _show(found: "Comparison", units: Units, *, as_json: bool) -> None:
    """Print the comparison, as text or as JSON."""
    from ..text.records import json_text

    if as_json:
        show(json_text(found.to_dict()))
    else:
        show(found.text(units.value, terminal_width()))


def _save(
    compared: "Sequence[Compared]",
    csv: Path | None,
    figure: Path | None,
    units: Units,
    talk: Talk,
) -> None:
    """Make the files, then write them."""
    from ..results.compare import csv_text

    files: dict[Path, bytes] = {}
    if csv is not None:
        files[csv] = csv_text(compared).encode()
    if figure is not None:
        from ..pictures.compare import compare_figure
        from ..pictures.style import picture

        drawn = compare_figure(compared, units.system)
        files[figure] = picture(drawn, figure.suffix.lower().lstrip("."))
    write(files, talk)
