"""The command ``fit``: what readings say about a joint, and the waits that follow."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from ..text.errors import ExitStatus
from .console import Talk, show, terminal_width
from .options import (
    PICTURES,
    Arc,
    AsJson,
    CaseFile,
    Full,
    Samples,
    Speech,
    Units,
    UnitsOption,
    refuse_ending,
    spread,
    to_write,
)
from .running import (
    ended,
    has_failed,
    read_joint,
    refuse_outputs,
    run_case,
    spoken,
    write,
)

if TYPE_CHECKING:
    from ..heat.history import History
    from ..joint.case import Case
    from ..readings.fit import Fit
    from ..readings.reading import Reading

EXAMPLE = "fit cases/sampling-stub.toml cases/sampling-stub-readings.csv --axisymmetric"

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
    to_write("--block", "Also write the lines for the case file here."),
]

Figure = Annotated[
    Path | None,
    to_write(
        "--figure",
        "Also draw the band and the readings, before and after (.svg or .png).",
    ),
]


@spread
def fit(
    case_file: CaseFile,
    readings: Readings,
    log: LogOption = None,
    as_json: AsJson = False,
    units: UnitsOption = None,
    full: Full = False,
    block: Block = None,
    figure: Figure = None,
    samples: Samples = 4096,
    *,
    arc: Arc,
    speech: Speech,
) -> None:
    """Fit what is not known exactly to readings, and plan again from there."""
    refuse_ending("--figure", figure, PICTURES)
    with speech.talking() as talk:
        from ..face.asking import readings_of

        case = read_joint(case_file, arc)
        units = spoken(case, units)
        case, found = readings_of(case, readings, log)
        refuse_outputs(talk, block, figure)
        history, failure = run_case(case, talk)
        if failure is not None:
            raise failure
        fitted = _fit(case, found, history, samples, talk)
        _show(case, fitted, units, as_json=as_json, full=full, used_log=log is not None)
        _save(case, history, fitted, (block, figure), units, talk)
    if all(one.is_flagged for one in fitted.readings) and not fitted.hot:
        raise typer.Exit(ExitStatus.CASE)
    raise ended(failed=bool(fitted.hot) or has_failed(fitted.case, fitted.history))


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
    case: "Case",
    found: "Fit",
    units: Units,
    *,
    as_json: bool,
    full: bool,
    used_log: bool,
) -> None:
    """Print the results, as text or as JSON."""
    from ..report import fit as fit_report
    from ..results import fit as fit_data

    if as_json:
        show(fit_data.json_text(case, found))
    else:
        system = units.system
        told = fit_report.text if full else fit_report.first_screen
        width = terminal_width()
        show(told(case, found, system, used_log=used_log, width=width))


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
    from ..text.files import MADE_BY

    block, figure = paths
    files: dict[Path, bytes] = {}
    if block is not None:
        lines = f"# {MADE_BY}: lines for the case file\n{block_of(found)}\n"
        files[block] = lines.encode()
    if figure is not None:
        files[figure] = _picture(case, history, found, units, figure.suffix)
    write(files, talk)


def _picture(
    case: "Case", history: "History", found: "Fit", units: Units, ending: str
) -> bytes:
    """Draw the band and the readings, before and after."""
    from ..pictures.fit import fit_figure
    from ..pictures.style import picture

    readings = tuple((one.reading, one.is_flagged) for one in found.readings)
    before, after = (history, found.before), (found.history, found.after)
    system = units.system
    return picture(fit_figure(case, before, after, readings, system), ending[1:].lower())
