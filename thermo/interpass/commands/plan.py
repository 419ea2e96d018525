"""The command ``plan``: run the heat and tell the waits."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from .console import Talk, show, terminal_width
from .options import (
    Arc,
    AsJson,
    Assumptions,
    CaseFile,
    Filed,
    Full,
    Quick,
    Speech,
    UnitsOption,
    spread,
    to_write,
)
from .running import (
    bands_of_plan,
    ended,
    has_failed,
    read_joint,
    refuse_outputs,
    run_case,
    spoken,
    write,
    write_report,
)

if TYPE_CHECKING:
    from ..doubt.bands import Bands
    from ..heat.history import History
    from ..joint.case import Case
    from ..remedies.trials import Helps
    from ..text.kinds import UnitSystem

EXAMPLE = "plan cases/sampling-stub.toml"
PARTS = ("waits", "energy", "near", "rules", "remedies", "bench")

Out = Annotated[
    Path | None,
    to_write("--out", "Also write report, JSON, CSV and figure into this folder.", "DIR"),
]

Show = Annotated[
    str,
    typer.Option(
        "--show",
        metavar="PARTS",
        help=f"Print these parts of the report: {','.join(PARTS)}.",
        show_default=False,
    ),
]


@spread
def plan(
    case_file: CaseFile,
    as_json: AsJson = False,
    units: UnitsOption = None,
    assumptions: Assumptions = False,
    out: Out = None,
    *,
    arc: Arc,
    quick: Quick = False,
    full: Full = False,
    shown: Show = "",
    filed: Filed,
    speech: Speech,
) -> None:
    """Plan the waits between passes so that the interpass limit holds."""
    parts = _parts(shown, full=full or assumptions)
    with speech.talking() as talk:
        from ..results import plan as report_data

        case = read_joint(case_file, arc)
        refuse_outputs(talk, filed.page)
        history, failure = run_case(case, talk)
        bands = helps = None
        if not quick and failure is None:
            bands = bands_of_plan(case, history, talk)
            if as_json or out or filed.page or {"remedies", "bench"} & set(parts):
                helps = _helps_of(case, history, bands, talk)
        told: dict[str, Any] = {
            "assumptions": assumptions,
            "bands": bands,
            "helps": helps,
        }
        units = spoken(case, units)
        system = units.system
        if as_json:
            show(report_data.json_text(case, history, **told))
        else:
            show(_text(case, history, system, parts, told))
        if out is not None:
            from ..pages.files import plan_files

            write(plan_files(out, case, history, system, **told), talk)
        write_report(filed, case, history, bands, helps, units, talk)
    if failure is not None:
        raise failure
    raise ended(failed=has_failed(case, history))


def _parts(shown: str, *, full: bool) -> Sequence[str]:
    """Parts of the report to print; none for the first screen."""
    named = [name.strip() for name in shown.split(",") if name.strip()]
    for name in named:
        if name not in PARTS:
            words = f"--show {name}: no such part; one or more of {', '.join(PARTS)}"
            raise typer.BadParameter(words)
    return PARTS if full else named


def _text(
    case: "Case",
    history: "History",
    system: "UnitSystem",
    parts: Sequence[str],
    told: dict[str, Any],
) -> str:
    """Return the first screen, or the parts asked for."""
    from ..report import plan as report

    width = terminal_width()
    if not parts:
        return report.first_screen(
            case, history, system, bands=told["bands"], width=width
        )
    return report.text(case, history, system, **told, sections=parts, width=width)


def _helps_of(
    case: "Case", history: "History", bands: "Bands | None", talk: Talk
) -> "Helps | None":
    """Find what would shorten a plan."""
    from ..face.asking import helps_of

    talk.doing = "what would help"
    helps = helps_of(case, history, talk.progress, bands)
    talk.clear()
    return helps
