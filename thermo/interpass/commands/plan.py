"""The command ``plan``: run the heat and tell the waits."""

from typing import TYPE_CHECKING, Any

import typer

from ..text.errors import ExitStatus
from .console import Talk, show, talking
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
from .running import bands_of_plan, read_with_ring, report_of, run_case, write

if TYPE_CHECKING:
    from ..heat.history import History
    from ..joint.case import Case
    from ..remedies.trials import Helps

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
        from ..report import plan as report
        from ..results import plan as report_data
        from ..rules.judge import sets_for
        from ..text.kinds import UNIT_SYSTEMS

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
            from ..pages.files import plan_files

            write(plan_files(out, case, history, system, **told), talk)
        if page is not None:
            from ..report.remedies import helps_rows

            rows = helps_rows(helps) if helps else []
            write({page: report_of(case, history, bands, rows, date, system)}, talk)
    if failure is not None:
        raise failure
    raise typer.Exit(_status(case, history))


def _helps_of(case: "Case", history: "History", talk: Talk) -> "Helps | None":
    """Find what would shorten a plan."""
    from ..face.asking import helps_of

    talk.doing = "what would help"
    helps = helps_of(case, history, talk.progress)
    talk.clear()
    return helps


def _status(case: "Case", history: "History") -> ExitStatus:
    """Whether every limit holds."""
    from ..rules.judge import checks
    from ..rules.limits import FAIL, verdict

    failed = verdict(checks(case, history), history) == FAIL
    return ExitStatus.LIMIT if failed else ExitStatus.OK
