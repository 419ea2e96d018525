"""The command ``review``: the weld as it was done, judged, and what comes next."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from ..doubt.count import SAMPLES
from .console import Talk, show, terminal_width
from .options import (
    ArcOptions,
    AsJson,
    Beside,
    CaseFile,
    Full,
    Samples,
    Speech,
    Units,
    UnitsOption,
    to_write,
    with_groups,
)
from .running import (
    announce,
    ended,
    logger_beside,
    read_joint,
    refuse_outputs,
    spoken,
    told_moment,
    write,
)

if TYPE_CHECKING:
    from ..joint.case import Case
    from ..logs.log import Log
    from ..logs.logger import Logger
    from ..logs.review import Review
    from ..text.kinds import UnitSystem

EXAMPLE = "review cases/sampling-stub.toml cases/sampling-stub-log.csv --quick"

LogFile = Annotated[
    Path,
    typer.Argument(
        metavar="LOG.csv",
        help="The log: a line for each arc (pass, arc_on, arc_off, amps, volts) and each reading "
        "(time, temperature). Times are clocks, with date and zone over a night on which clocks "
        "are changed (2026-03-29T01:58:00+01:00), or seconds with their unit.",
        show_default=False,
    ),
]

Now = Annotated[
    str | None,
    typer.Option(
        "--now",
        metavar="TIME",
        help="Time now, as in the log: 14:05:30, also with date and zone, or seconds since "
        "the first arc on.",
        show_default=False,
    ),
]

Record = Annotated[
    Path | None,
    to_write("--csv", "Also write the record here, a line for each pass."),
]

Folder = Annotated[
    Path | None,
    to_write(
        "--out", "Also write report, JSON, record and figure into this folder.", "DIR"
    ),
]

Quick = Annotated[
    bool,
    typer.Option("--quick", help="Best estimate by the log alone: no bands, no fit."),
]


@with_groups
def review(
    case_file: CaseFile,
    log_file: LogFile,
    now: Now = None,
    *,
    beside: Beside,
    as_json: AsJson = False,
    units: UnitsOption = None,
    record: Record = None,
    out: Folder = None,
    full: Full = False,
    quick: Quick = False,
    samples: Samples = SAMPLES,
    arc: ArcOptions,
    speech: Speech,
) -> None:
    """Review a weld by its log, and tell the next wait."""
    with speech.talking() as talk:
        from ..logs.log import read_log

        case = read_joint(case_file, arc)
        units = spoken(case, units)
        log = read_log(log_file, len(case.passes))
        logger = None
        if beside.logger is not None:
            logger = logger_beside(case, log, beside.logger, beside.began, talk)
        refuse_outputs(talk, record)
        moment = _moment(log, now, talk)
        found = _review(
            case, log, moment, talk, samples=samples, quick=quick, logger=logger
        )
        _show(found, units, as_json=as_json, full=full)
        _save(found, record, out, units, talk)
    from ..rules.limits import FAIL

    raise ended(failed=found.verdict == FAIL)


def _moment(log: "Log", now: str | None, talk: Talk) -> float | None:
    """Time now since the first arc on [s]; it must be after the last arc off."""
    if now is None:
        return None
    from ..logs.log import doubt_of, since_first
    from ..text.times import Clock

    seconds = told_moment("--now", now)
    told = seconds if isinstance(seconds, Clock) else None
    since = since_first(log, seconds)
    if since is None and log.clock and told:
        words = f"--now {now}: give its zone as the log does, like 14:05:30+01:00"
        raise typer.BadParameter(words)
    if since is None:
        sort = "by the clock, like 14:05:30" if log.clock else "in seconds, like 480 s"
        words = f"--now {now}: the log counts {sort}"
        raise typer.BadParameter(words)
    if since < log.last_off:
        off = log.shown(log.last_off) if log.clock else f"{log.last_off:.0f} s"
        words = f"--now {now} is before the last arc went out, {off}"
        raise typer.BadParameter(words)
    if told and (doubt := doubt_of(log, told)):
        talk.say(f"--now {now}: {doubt}")
    return since


def _review(
    case: "Case",
    log: "Log",
    now: float | None,
    talk: Talk,
    *,
    samples: int,
    quick: bool,
    logger: "Logger | None",
) -> "Review":
    """Review, with progress."""
    announce(talk)
    from ..logs.review import review as review_weld
    from ..logs.review import with_logger

    found = review_weld(
        case, log, now=now, quick=quick, progress=talk.progress, samples=samples
    )
    if logger is not None:
        talk.progress(1.0, "thermocouples")
        found = with_logger(found, logger)
    talk.clear()
    return found


def _show(found: "Review", units: Units, *, as_json: bool, full: bool) -> None:
    """Print the results, as text or as JSON."""
    from ..report import review as review_report
    from ..results import review as review_data

    if as_json:
        show(review_data.json_text(found))
    else:
        told = review_report.text if full else review_report.first_screen
        show(told(found, units.system, width=terminal_width()))


def _save(
    found: "Review", record: Path | None, folder: Path | None, units: Units, talk: Talk
) -> None:
    """Write the files that were asked for and say where they are."""
    from ..results.review import csv_text

    files: dict[Path, bytes] = {}
    if record is not None:
        files[record] = csv_text(found).encode()
    if folder is not None:
        files |= _contents(found, folder, units)
    write(files, talk)


def _contents(found: "Review", folder: Path, units: Units) -> dict[Path, bytes]:
    """Report, data, record and figure, named by the log."""
    from ..report import review as review_report
    from ..results import review as review_data
    from ..text.records import text_bytes

    system = units.system
    stem = f"{Path(found.log.file).stem or 'log'}.review"
    files = {
        folder / f"{stem}.txt": text_bytes(review_report.text(found, system)),
        folder / f"{stem}.json": review_data.json_text(found).encode(),
        folder / f"{stem}.csv": review_data.csv_text(found).encode(),
    }
    for kind, content in _pictures(found, system).items():
        files[folder / f"{stem}.{kind}"] = content
    if found.measured is not None:
        from ..pictures.measured import measured_figure
        from ..pictures.style import picture

        figure = measured_figure(found.case, found.measured, system)
        for kind in ("svg", "png"):
            files[folder / f"{stem}.logger.{kind}"] = picture(figure, kind)
    return files


def _pictures(found: "Review", units: "UnitSystem") -> dict[str, bytes]:
    """Draw the history: before and after the readings, where some were fitted."""
    from ..pictures.fit import fit_figure
    from ..pictures.style import picture
    from ..pictures.temperature import temperature_figure

    fitted = found.fit.readings if found.fit else ()
    readings = [(one.reading, one.is_flagged) for one in fitted]
    told = [one for one, _ in readings]  # the newest picks the wait and is not fitted
    readings += [(one, False) for one in found.log.readings if one not in told]
    if found.fit is not None:
        before, after = (found.by_log, found.fit.before), (found.history, found.fit.after)
        figure = fit_figure(found.case, before, after, tuple(readings), units)
    elif readings and found.bands is not None:
        now = (found.history, found.bands)
        figure = fit_figure(found.case, now, None, tuple(readings), units)
    else:
        figure = temperature_figure(found.welded, found.history, units)
    return {kind: picture(figure, kind) for kind in ("svg", "png")}
