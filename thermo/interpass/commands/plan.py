"""The command ``plan``: run the heat and tell the waits."""

from typing import TYPE_CHECKING, Any

from .console import Talk, show, talking
from .options import (
    PAGES,
    AsJson,
    Assumptions,
    Axisymmetric,
    CaseFile,
    Date,
    Debug,
    Force,
    Out,
    Page,
    Quick,
    Quiet,
    Ring,
    Units,
    UnitsOption,
    Verbose,
    refuse_ending,
    ring_asked,
)
from .running import (
    bands_of_plan,
    ended,
    has_failed,
    read_joint,
    refuse_outputs,
    report_of,
    run_case,
    write,
)

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
    force: Force = False,
    quiet: Quiet = False,
    verbose: Verbose = False,
    debug: Debug = False,  # noqa: ARG001 - read by main
) -> None:
    """Plan the waits between passes so that the interpass limit holds."""
    ring = ring_asked(ring, axisymmetric=axisymmetric)
    refuse_ending("--report", page, PAGES)
    with talking(quiet=quiet, verbose=verbose, force=force) as talk:
        from ..report import plan as report
        from ..results import plan as report_data

        case = read_joint(case_file, ring)
        refuse_outputs(talk, page)
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
        system = units.system
        if as_json:
            show(report_data.json_text(case, history, **told))
        else:
            show(report.text(case, history, system, **told))
        if out is not None:
            from ..pages.files import plan_files

            write(plan_files(out, case, history, system, **told), talk)
        if page is not None:
            from ..report.remedies import helps_rows

            rows = helps_rows(helps) if helps else []
            write({page: report_of(case, history, bands, rows, date, system)}, talk)
    if failure is not None:
        raise failure
    raise ended(failed=has_failed(case, history))


def _helps_of(case: "Case", history: "History", talk: Talk) -> "Helps | None":
    """Find what would shorten a plan."""
    from ..face.asking import helps_of

    talk.doing = "what would help"
    helps = helps_of(case, history, talk.progress)
    talk.clear()
    return helps
