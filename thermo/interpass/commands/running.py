"""Steps that several commands share: read, prepare the solver, run, bands, write."""

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from ..text.errors import ExitStatus, RunError
from .console import Talk
from .options import ArcOptions, Filed, Units

if TYPE_CHECKING:
    from ..doubt.bands import Bands
    from ..heat.history import History
    from ..joint.case import Case
    from ..logs.log import Log
    from ..logs.logger import Logger
    from ..remedies.trials import Helps
    from ..text.times import Clock


def read_joint(file: Path, arc: ArcOptions) -> "Case":
    """Read the case and the rules it names; a ring given replaces that of the case.

    Rules are read before anything runs: their mistakes cost no run, and their files are
    known as read.
    """
    from ..case_file.read import read_case, with_ring
    from ..rules.judge import sets_for

    case = with_ring(read_case(file), arc.cells)
    sets_for(case)
    return case


def run_case(case: "Case", talk: Talk) -> tuple["History", RunError | None]:
    """Run the case; a run that failed returns as far as it went, and its error."""
    announce(talk)
    from ..heat.history import History
    from ..heat.waits import plan as plan_waits

    try:
        history, failure = plan_waits(case, talk.progress, frames=0.0), None
    except RunError as error:
        if not isinstance(error.history, History):
            raise
        history, failure = error.history, error
    size, ms = f"{history.cells} cells, {history.steps} steps", 1e3 * history.solve_time
    talk.detail(f"{size}, solved in {ms:.1f} ms")
    talk.clear()
    return history, failure


def spoken(case: "Case | None", asked: Units | None) -> Units:
    """Units to speak in: as asked, else as the case or the environment says."""
    from ..case_file.units import units_for

    return Units(units_for(case, asked).name)


def bands_of_plan(case: "Case", history: "History", talk: Talk) -> "Bands | None":
    """Find how far a plan may be off; nothing of a run that did not get to its end."""
    from ..face.asking import bands_of

    bands = bands_of(case, history, talk.progress)
    talk.clear()
    return bands


def write_report(
    filed: Filed,
    case: "Case",
    history: "History",
    bands: "Bands | None",
    helps: "Helps | None",
    units: Units,
    talk: Talk,
) -> None:
    """Write the report that an engineer files, with the pictures of the plan, if asked."""
    if filed.page is None:
        return
    from ..pages.files import plan_pictures
    from ..pages.report import report_page
    from ..report.remedies import helps_rows

    system = units.system
    figures = plan_pictures(case, history, system, bands)
    rows = helps_rows(helps) if helps else []
    told: dict[str, Any] = {"bands": bands, "helps": rows, "date": filed.date}
    page = report_page(case, history, system, figures=figures, **told)
    write({filed.page: page.encode()}, talk)


def refuse_outputs(talk: Talk, *paths: Path | None) -> None:
    """Refuse files that must not be written, before anything is computed for them."""
    from ..text.files import refuse_to_replace

    for path in paths:
        if path is not None:
            refuse_to_replace(path, force=talk.force)


def told_moment(option: str, text: str) -> "Clock | float":
    """Read a time as an option has it: a clock, or seconds."""
    from ..text.times import parse_clock
    from ..text.units import UnitError, parse

    try:
        seconds = f"{text} s" if text.strip().isdecimal() else text
        return parse_clock(text) or parse(seconds, "time")
    except UnitError:
        words = f"{option} {text} is no time; write it like 14:05:30, or 480 s"
        raise typer.BadParameter(words) from None


def logger_beside(
    case: "Case", log: "Log", file: Path, began: str | None, talk: Talk
) -> "Logger":
    """Read a logger's file of the weld that a log is of."""
    from ..logs.logger import read_logger

    start = None if began is None else told_moment("--began", began)
    found = read_logger(file, case, log, start)
    for words in found.remarks:
        talk.say(f"{found.file}: {words}")
    return found


def write(files: Mapping[Path, bytes], talk: Talk) -> None:
    """Write files whole, one by one, and say where they are."""
    from ..text.files import refuse_to_replace, replace_file

    talk.doing = "writing the files"
    for path, content in files.items():  # all or none
        refuse_to_replace(path, content, force=talk.force)
    for path, content in files.items():
        path.parent.mkdir(parents=True, exist_ok=True)
        replace_file(path, content, force=talk.force)
        talk.written += 1
        talk.say(f"Wrote {path}")


def announce(talk: Talk) -> None:
    """Say that the solver is compiled first, where it is, and where it will be kept."""
    from ..face.asking import preparing

    talk.doing = "preparing the solver"
    if words := preparing():
        talk.say(words)


def ended(*, failed: bool) -> typer.Exit:
    """Return the end of a command: 5 when a limit or a rule is not met, else 0."""
    return typer.Exit(ExitStatus.LIMIT if failed else ExitStatus.OK)


def has_failed(case: "Case", history: "History") -> bool:
    """Whether a limit does not hold."""
    from ..rules.judge import checks
    from ..rules.limits import FAIL, verdict

    return verdict(checks(case, history), history) == FAIL
