"""The command ``plan``: run the heat and tell the waits."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from .console import Talk, show, talking
from .errors import ExitStatus, RunError
from .options import (
    AsJson,
    Assumptions,
    Axisymmetric,
    CaseFile,
    Date,
    Debug,
    Out,
    Page,
    Quick,
    Quiet,
    Ring,
    Units,
    UnitsOption,
    Verbose,
)

if TYPE_CHECKING:
    from .bands import Bands
    from .helps import Helps
    from .history import History
    from .joint import Case
    from .units import UnitSystem

EXAMPLE = "plan cases/sampling-stub.toml"


def plan(
    case_file: CaseFile,
    as_json: AsJson = False,
    units: UnitsOption = Units.SI,
    assumptions: Assumptions = False,
    out: Out = None,
    axisymmetric: Axisymmetric = False,
    ring: Ring = None,
    quick: Quick = False,
    page: Page = None,
    date: Date = "",
    quiet: Quiet = False,
    verbose: Verbose = False,
    debug: Debug = False,  # noqa: ARG001 - read by main
) -> None:
    """Plan the waits between passes so that the interpass limit holds."""
    if axisymmetric and ring not in (None, 1):
        words = "--axisymmetric is the same as --ring 1; give one of the two"
        raise typer.BadParameter(words)
    if page is not None and page.suffix.lower() not in (".html", ".htm"):
        words = f"--report {page} must end in .html, like report.html"
        raise typer.BadParameter(words)
    with talking(quiet=quiet, verbose=verbose) as talk:
        from . import report, report_data
        from .rules import sets_for
        from .units import UNIT_SYSTEMS

        case = read_with_ring(case_file, 1 if axisymmetric else ring)
        sets_for(case)  # mistakes in a file of rules are told before the run
        history, failure = run_case(case, talk)
        bands = helps = None
        if not quick and failure is None:
            bands = bands_of_plan(case, history, talk)
            helps = _helps_of(case, history, talk)
        told: dict[str, Any] = {
            "assumptions": assumptions,
            "bands": bands,
            "helps": helps,
        }
        system = UNIT_SYSTEMS[units.value]
        if as_json:
            show(report_data.json_text(case, history, **told))
        else:
            show(report.text(case, history, system, **told))
        talk.doing = "writing the files"
        if out is not None:
            from .saving import plan_files

            write(plan_files(out, case, history, system, **told), talk)
        if page is not None:
            from .report_helps import helps_rows

            rows = helps_rows(helps) if helps else []
            write({page: report_of(case, history, bands, rows, date, system)}, talk)
    if failure is not None:
        raise failure
    raise typer.Exit(_status(case, history))


def read_with_ring(file: Path, ring: int | None) -> "Case":
    """Read the case; a ring given on the command line replaces that of the case."""
    from dataclasses import replace

    from .case import read_case
    from .joint import Assumption

    case = read_case(file)
    if ring is None:
        return case
    given = Assumption("model.ring", str(ring), "the command line", "given")
    rest = tuple(row for row in case.assumptions if row.key != given.key)
    options = replace(case.model, ring=ring)
    return replace(case, model=options, assumptions=(*rest, given))


def run_case(case: "Case", talk: Talk) -> tuple["History", RunError | None]:
    """Run the case; a run that failed returns as far as it went, and its error."""
    from .warmup import is_compiled

    talk.doing = "preparing the solver"
    if not is_compiled():
        talk.say("Preparing the solver, first run only, about half a minute.")
    from .history import History
    from .waits import plan as plan_waits

    try:
        history, failure = plan_waits(case, talk.progress, frames=0.0), None
    except RunError as error:
        if not isinstance(error.history, History):
            raise
        history, failure = error.history, error
    if talk.verbose:
        size, ms = (
            f"{history.cells} cells, {history.steps} steps",
            1e3 * history.solve_time,
        )
        talk.say(f"{size}, solved in {ms:.1f} ms")
    talk.clear()
    return history, failure


def bands_of_plan(case: "Case", history: "History", talk: Talk) -> "Bands | None":
    """Find how far a plan may be off; nothing of a run that did not get to its end."""
    if not history.complete or len(history.passes) < len(case.passes):
        return None
    from .doubt import find_bands
    from .priors import priors

    if not priors(case):
        return None
    bands = find_bands(case, history, talk.progress)
    talk.clear()
    return bands


def _helps_of(case: "Case", history: "History", talk: Talk) -> "Helps | None":
    """Find what would shorten a plan."""
    from .helps import find_helps

    if not history.passes:
        return None
    talk.doing = "what would help"
    helps = find_helps(case, history, talk.progress)
    talk.clear()
    return helps


def _status(case: "Case", history: "History") -> ExitStatus:
    """Whether every limit holds."""
    from .checks import FAIL, verdict
    from .rules import checks

    failed = verdict(checks(case, history), history) == FAIL
    return ExitStatus.LIMIT if failed else ExitStatus.OK


def report_of(
    case: "Case",
    history: "History",
    bands: "Bands | None",
    helps: list[tuple[str, str]],
    date: str,
    system: "UnitSystem",
) -> bytes:
    """Make the report an engineer files, with the pictures of the plan."""
    from .report_page import report_page
    from .saving import plan_pictures

    figures = plan_pictures(case, history, system, bands)
    told: dict[str, Any] = {"bands": bands, "helps": helps, "date": date}
    return report_page(case, history, system, figures=figures, **told).encode()


def write(files: dict[Path, bytes], talk: Talk) -> None:
    """Write files whole, one by one, and say where they are."""
    from .files import replace_file

    for path, content in files.items():
        path.parent.mkdir(parents=True, exist_ok=True)
        replace_file(path, content)
        talk.written += 1
        talk.say(f"Wrote {path}")
