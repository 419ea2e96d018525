"""The command ``fit``: what readings say about a joint, and the waits that follow."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from ..text.errors import ExitStatus
from .console import Talk, show, talking
from .options import (
    AsJson,
    Axisymmetric,
    CaseFile,
    Debug,
    Quiet,
    Ring,
    Units,
    UnitsOption,
    Verbose,
)
from .running import read_with_ring, run_case

if TYPE_CHECKING:
    from ..heat.history import History
    from ..joint.case import Case
    from ..readings.fit import Fit
    from ..readings.reading import Reading

EXAMPLE = "fit cases/sampling-stub.toml cases/sampling-stub-readings.csv --axisymmetric"


PICTURES = (".svg", ".png")


Readings = Annotated[
    Path,
    typer.Argument(metavar="READINGS.csv", help="The readings.", show_default=False),
]


LogOption = Annotated[
    Path | None,
    typer.Option(
        "--log",
        metavar="LOG.csv",
        help="Log of the joint that was read, for its waits and its clock.",
        show_default=False,
    ),
]


Block = Annotated[
    Path | None,
    typer.Option(
        "--block",
        metavar="FILE",
        help="Also write the lines for the case file here.",
        show_default=False,
    ),
]


Figure = Annotated[
    Path | None,
    typer.Option(
        "--figure",
        metavar="FILE",
        help="Also draw the band and the readings, before and after (.svg or .png).",
        show_default=False,
    ),
]


Samples = Annotated[
    int,
    typer.Option(
        "--samples", min=16, max=4096, help="Plausible joints; fewer are quicker."
    ),
]


def fit(
    case_file: CaseFile,
    readings: Readings,
    log: LogOption = None,
    as_json: AsJson = False,
    units: UnitsOption = Units.SI,
    block: Block = None,
    figure: Figure = None,
    samples: Samples = 128,
    axisymmetric: Axisymmetric = False,
    ring: Ring = None,
    quiet: Quiet = False,
    verbose: Verbose = False,
    debug: Debug = False,  # noqa: ARG001 - read by main
) -> None:
    """Fit what is not known exactly to readings, and plan again from there."""
    if axisymmetric and ring not in (None, 1):
        words = "--axisymmetric is the same as --ring 1; give one of the two"
        raise typer.BadParameter(words)
    if figure is not None and figure.suffix.lower() not in PICTURES:
        words = f"--figure {figure} must end in .svg or .png"
        raise typer.BadParameter(words)
    with talking(quiet=quiet, verbose=verbose) as talk:
        from ..face.asking import readings_of

        case = read_with_ring(case_file, 1 if axisymmetric else ring)
        case, found = readings_of(case, readings, log)
        history, failure = run_case(case, talk)
        if failure is not None:
            raise failure
        fitted = _fit(case, found, history, samples, talk)
        _show(case, fitted, units, as_json=as_json, used_log=log is not None)
        _save(case, history, fitted, (block, figure), units, talk)
    used = any(not one.is_flagged for one in fitted.readings)
    raise typer.Exit(ExitStatus.OK if used else ExitStatus.CASE)


def _fit(
    case: "Case",
    readings: "tuple[Reading, ...]",
    history: "History",
    samples: int,
    talk: Talk,
) -> "Fit":
    """Fit, with progress."""
    from ..readings.fit import fit as fit_case

    found = fit_case(
        case, readings, history=history, progress=talk.progress, samples=samples
    )
    talk.clear()
    return found


def _show(
    case: "Case", found: "Fit", units: Units, *, as_json: bool, used_log: bool
) -> None:
    """Print the results, as text or as JSON."""
    from ..report import fit as fit_report
    from ..results import fit as fit_data
    from ..text.kinds import UNIT_SYSTEMS

    if as_json:
        show(fit_data.json_text(case, found))
    else:
        system = UNIT_SYSTEMS[units.value]
        show(fit_report.text(case, found, system, used_log=used_log))


def _save(
    case: "Case",
    history: "History",
    found: "Fit",
    paths: tuple[Path | None, Path | None],
    units: Units,
    talk: Talk,
) -> None:
    """Write the files that were asked for and say where they are."""
    from ..report.fit import block as block_of

    block, figure = paths
    files: dict[Path, bytes] = {}
    if block is not None:
        files[block] = (block_of(found.case) + "\n").encode()
    if figure is not None:
        files[figure] = _picture(case, history, found, units, figure.suffix)
    if not files:
        return
    from ..text.files import replace_file

    talk.doing = "writing the files"
    for path, content in files.items():
        path.parent.mkdir(parents=True, exist_ok=True)
        replace_file(path, content)
        talk.written += 1
        talk.say(f"Wrote {path}")


def _picture(
    case: "Case", history: "History", found: "Fit", units: Units, ending: str
) -> bytes:
    """Draw the band and the readings, before and after."""
    from ..pictures.fit import fit_figure
    from ..pictures.style import picture
    from ..readings.reading import is_at_own_place
    from ..text.kinds import UNIT_SYSTEMS

    readings = tuple(
        (one.reading, one.is_flagged)
        for one in found.readings
        if is_at_own_place(case, one.reading, number=False)
    )
    before, after = (history, found.before), (found.history, found.after)
    system = UNIT_SYSTEMS[units.value]
    return picture(fit_figure(case, before, after, readings, system), ending[1:].lower())
