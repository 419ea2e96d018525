"""The command ``compare``: two to six cases side by side."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .console import Talk, show, talking
from .options import (
    PICTURES,
    AsJson,
    Axisymmetric,
    Debug,
    Force,
    Quiet,
    Ring,
    Units,
    UnitsOption,
    Workers,
    refuse_ending,
    ring_asked,
)
from .running import ended, prepare, refuse_outputs, spoken, write

if TYPE_CHECKING:
    from ..charts.compare import Compared

EXAMPLE = "compare cases/sampling-stub.toml cases/us-manifold.toml --axisymmetric"

Files = Annotated[
    list[Path],
    typer.Argument(metavar="CASE...", help="Two to six case files.", show_default=False),
]

Csv = Annotated[
    Path | None,
    typer.Option("--csv", metavar="FILE", help="Also write CSV.", show_default=False),
]

FigureFile = Annotated[
    Path | None,
    typer.Option(
        "--figure",
        metavar="FILE",
        help="Also draw them: .svg or .png.",
        show_default=False,
    ),
]


def compare(
    case_files: Files,
    as_json: AsJson = False,
    csv: Csv = None,
    figure: FigureFile = None,
    units: UnitsOption = None,
    axisymmetric: Axisymmetric = False,
    ring: Ring = None,
    workers: Workers = None,
    force: Force = False,
    quiet: Quiet = False,
    debug: Debug = False,  # noqa: ARG001 - read by main
) -> None:
    """Compare cases: inputs that differ, waits, temperatures, times and energies."""
    if not 2 <= len(case_files) <= 6:
        words = f"{len(case_files)} case files given; compare takes two to six"
        raise typer.BadParameter(words)
    ring = ring_asked(ring, axisymmetric=axisymmetric)
    refuse_ending("--figure", figure, PICTURES)
    with talking(quiet=quiet, force=force) as talk:
        compared = _run(case_files, ring, workers, (csv, figure), talk)
        units = spoken(compared[0].case, units)
        _show(compared, units, as_json=as_json)
        _save(compared, csv, figure, units, talk)
        from ..charts.compare import is_fail

        failed = is_fail(compared)
    raise ended(failed=failed)


def _run(
    files: list[Path],
    ring: int | None,
    workers: int | None,
    outputs: tuple[Path | None, ...],
    talk: Talk,
) -> "list[Compared]":
    """Read and run all of them."""
    import os

    from ..charts.compare import read_cases, run_cases

    cases = read_cases([str(file) for file in files], ring)
    refuse_outputs(talk, *outputs)
    prepare(talk)
    has_ring = any(case.model.ring > 1 for case in cases)
    cores = len(os.sched_getaffinity(0)) if has_ring else 1
    return run_cases(cases, workers or min(cores, len(cases)), talk.progress)


def _show(compared: "list[Compared]", units: Units, *, as_json: bool) -> None:
    """Print the comparison, as text or as JSON."""
    from ..report import compare as compare_report
    from ..results.compare import json_text

    if as_json:
        show(json_text(compared))
    else:
        show(compare_report.text(compared, units.system))


def _save(
    compared: "list[Compared]",
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
