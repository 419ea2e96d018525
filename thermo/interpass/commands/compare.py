"""The command ``compare``: two to six cases side by side."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from ..text.errors import ExitStatus
from .console import Talk, show, talking
from .options import AsJson, Axisymmetric, Debug, Quiet, Ring, Units, UnitsOption, Workers

if TYPE_CHECKING:
    from ..charts.compare import Compared

EXAMPLE = "compare cases/sampling-stub.toml cases/us-manifold.toml --axisymmetric"


PICTURES = (".svg", ".png")


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
    units: UnitsOption = Units.SI,
    axisymmetric: Axisymmetric = False,
    ring: Ring = None,
    workers: Workers = None,
    quiet: Quiet = False,
    debug: Debug = False,  # noqa: ARG001 - read by main
) -> None:
    """Compare cases: inputs that differ, waits, temperatures, times and energies."""
    _refuse(case_files, figure, ring, axisymmetric=axisymmetric)
    with talking(quiet=quiet, verbose=False) as talk:
        compared = _run(case_files, 1 if axisymmetric else ring, workers, talk)
        _show(compared, units, as_json=as_json)
        _save(compared, csv, figure, units, talk)
        from ..charts.compare import is_fail

        failed = is_fail(compared)
    raise typer.Exit(ExitStatus.LIMIT if failed else ExitStatus.OK)


def _refuse(
    files: list[Path], figure: Path | None, ring: int | None, *, axisymmetric: bool
) -> None:
    """Refuse what cannot be meant."""
    if not 2 <= len(files) <= 6:
        words = f"{len(files)} case files given; compare takes two to six"
        raise typer.BadParameter(words)
    if axisymmetric and ring not in (None, 1):
        words = "--axisymmetric is the same as --ring 1; give one of the two"
        raise typer.BadParameter(words)
    if figure is not None and figure.suffix.lower() not in PICTURES:
        words = f"--figure {figure} must end in {' or '.join(PICTURES)}"
        raise typer.BadParameter(words)


def _run(
    files: list[Path], ring: int | None, workers: int | None, talk: Talk
) -> "list[Compared]":
    """Read and run all of them."""
    import os

    from ..charts.compare import read_cases, run_cases
    from .running import is_compiled

    cases = read_cases([str(file) for file in files], ring)
    if not is_compiled():
        talk.say("Preparing the solver, first run only, about half a minute.")
    has_ring = any(case.model.ring > 1 for case in cases)
    cores = len(os.sched_getaffinity(0)) if has_ring else 1
    return run_cases(cases, workers or min(cores, len(cases)), talk.progress)


def _show(compared: "list[Compared]", units: Units, *, as_json: bool) -> None:
    """Print the comparison, as text or as JSON."""
    from ..report import compare as compare_report
    from ..results.compare import json_text
    from ..text.kinds import UNIT_SYSTEMS

    if as_json:
        show(json_text(compared))
    else:
        show(compare_report.text(compared, UNIT_SYSTEMS[units.value]))


def _save(
    compared: "list[Compared]",
    csv: Path | None,
    figure: Path | None,
    units: Units,
    talk: Talk,
) -> None:
    """Make the files, then write them."""
    from ..results.compare import csv_text
    from ..text.files import replace_file
    from ..text.kinds import UNIT_SYSTEMS

    talk.doing = "writing the files"
    files: dict[Path, bytes] = {}
    if csv is not None:
        files[csv] = csv_text(compared).encode()
    if figure is not None:
        from ..pictures.compare import compare_figure
        from ..pictures.style import picture

        drawn = compare_figure(compared, UNIT_SYSTEMS[units.value])
        files[figure] = picture(drawn, figure.suffix.lower().lstrip("."))
    for path, content in files.items():
        replace_file(path, content)
        talk.written += 1
        talk.say(f"Wrote {path}")
