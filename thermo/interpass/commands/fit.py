"""The command ``fit``: what readings say about a joint, and the waits that follow."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from ..doubt.count import SAMPLES
from ..text.errors import ExitStatus
from .console import Talk, show, terminal_width
from .options import (
    PICTURES,
    ArcOptions,
    AsJson,
    Beside,
    CaseFile,
    Full,
    Samples,
    Speech,
    Units,
    UnitsOption,
    refuse_ending,
    to_write,
    with_groups,
)
from .running import (
    ended,
    has_failed,
    logger_beside,
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
    from ..readings.shop import ReadJoint

EXAMPLE = "fit cases/sampling-stub.toml cases/sampling-stub-readings.csv --axisymmetric"

Readings = Annotated[
    list[Path],
    typer.Argument(
        metavar="READINGS.csv",
        help="The readings, or the log, of one joint; several of joints of one kind and "
        "one shop tell what those have in common.",
        show_default=False,
    ),
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
        "Also draw the readings, before and after: on the band, or joint by joint (.svg or .png).",
    ),
]


Draw = Callable[[], Any]  # makes the figure, when it is asked for


@with_groups
def fit(
    case_file: CaseFile,
    readings: Readings,
    log: LogOption = None,
    *,
    beside: Beside,
    as_json: AsJson = False,
    units: UnitsOption = None,
    full: Full = False,
    block: Block = None,
    figure: Figure = None,
    samples: Samples = SAMPLES,
    arc: ArcOptions,
    speech: Speech,
) -> None:
    """Fit the doubtful numbers to readings, and plan again.

    Several logs or files of readings, of joints of one kind welded in one shop, tell what
    that shop has in common; the waits are then those of its next joint.
    """
    refuse_ending("--figure", figure, PICTURES)
    if log is not None and readings[1:]:
        words = (
            "--log belongs to one file of readings; of several joints give the logs alone"
        )
        raise typer.BadParameter(words)
    if beside.logger is not None and readings[1:]:
        words = "--logger belongs to one joint; give it with the log of that joint alone"
        raise typer.BadParameter(words)
    with speech.talking() as talk:
        case = read_joint(case_file, arc)
        units = spoken(case, units)
        how = _How(samples, units, as_json=as_json, full=full)
        if readings[1:]:
            fitted, draw = _fit_shop(case, readings, (block, figure), how, talk)
        else:
            joint = _read(case, (readings[0], log), beside, talk)
            fitted, draw = _fit_one(joint, (block, figure), how, talk)
        _save(fitted, draw, (block, figure), talk)
    if all(one.is_flagged for one in fitted.readings) and not fitted.hot:
        raise typer.Exit(ExitStatus.CASE)
    raise ended(failed=bool(fitted.hot) or has_failed(fitted.case, fitted.history))


@dataclass(frozen=True)
class _How:
    """How a fit is made and told."""

    samples: int
    units: Units
    as_json: bool
    full: bool


def _read(
    case: "Case",
    files: tuple[Path, Path | None],
    beside: Beside,
    talk: Talk,
) -> "ReadJoint":
    """Read one joint: its readings, its log, and a logger's file beside it."""
    from ..face.asking import logged_readings, readings_of
    from ..logs.joints import joint_with_logger

    if beside.logger is None:
        return readings_of(case, *files)
    log, read = logged_readings(case, *files)
    logger = logger_beside(case, log, beside.logger, beside.began, talk)
    return joint_with_logger(case, log, logger, read)


def _fit_one(
    joint: "ReadJoint", outputs: tuple[Path | None, ...], how: _How, talk: Talk
) -> "tuple[Fit, Draw]":
    """Fit one joint, with progress, and print what was found, as text or as JSON."""
    from ..readings.fit import fit as fit_case

    _say_remarks([joint], talk)
    refuse_outputs(talk, *outputs)
    case, used_log = joint.case, joint.is_logged
    history = _run(case, talk)
    fitted = fit_case(
        case, joint.readings, history=history, progress=talk.progress, samples=how.samples
    )
    talk.clear()
    from ..report import fit as fit_report
    from ..results import fit as fit_data

    if how.as_json:
        show(fit_data.json_text(case, fitted))
    else:
        told = fit_report.text if how.full else fit_report.first_screen
        system, width = how.units.system, terminal_width()
        show(told(case, fitted, system, used_log=used_log, width=width))

    def draw() -> Any:
        from ..pictures.fit import fit_figure

        read = tuple((one.reading, one.is_flagged) for one in fitted.readings)
        before, after = (history, fitted.before), (fitted.history, fitted.after)
        return fit_figure(case, before, after, read, how.units.system)

    return fitted, draw


def _fit_shop(
    case: "Case",
    files: list[Path],
    outputs: tuple[Path | None, ...],
    how: _How,
    talk: Talk,
) -> "tuple[Fit, Draw]":
    """Fit several joints of one shop, and print what was found; the next one's fit."""
    from ..logs.joints import joints_of
    from ..readings.shop import fit_joints

    joints = joints_of(case, files)
    _say_remarks(joints, talk)
    refuse_outputs(talk, *outputs)
    history = _run(case, talk)
    found = fit_joints(
        case, joints, history=history, progress=talk.progress, samples=how.samples
    )
    talk.clear()
    from ..report import shop as shop_report
    from ..results import shop as shop_data

    if how.as_json:
        show(shop_data.json_text(case, found))
    else:
        told = shop_report.text if how.full else shop_report.first_screen
        show(told(case, found, how.units.system, width=terminal_width()))

    def draw() -> Any:
        from ..pictures.shop import shop_figure

        return shop_figure(case, found, how.units.system)

    return found.next, draw


def _say_remarks(joints: "Iterable[ReadJoint]", talk: Talk) -> None:
    """Say what cannot be told from the times of a log alone."""
    for joint in joints:
        for words in joint.remarks:
            talk.say(f"{joint.file}: {words}")


def _run(case: "Case", talk: Talk) -> "History":
    """Run the best estimate; a run that failed is the end of a fit."""
    history, failure = run_case(case, talk)
    if failure is not None:
        raise failure
    return history


def _save(
    found: "Fit", draw: "Draw", paths: tuple[Path | None, Path | None], talk: Talk
) -> None:
    """Write the files that were asked for and say where they are."""
    from ..report.block import block as block_of
    from ..text.files import MADE_BY

    block, figure = paths
    files: dict[Path, bytes] = {}
    if block is not None:
        lines = f"# {MADE_BY}: lines for the case file\n{block_of(found)}\n"
        files[block] = lines.encode()
    if figure is not None:
        from ..pictures.style import picture

        files[figure] = picture(draw(), figure.suffix[1:].lower())
    write(files, talk)
