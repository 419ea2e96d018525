"""The command ``plan``: run the heat and tell the waits."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from .console import Talk, show, terminal_width
from .options import (
    ArcOptions,
    AsJson,
    Assumptions,
    CaseFile,
    Filed,
    Full,
    Quick,
    Speech,
    Units,
    UnitsOption,
    to_write,
    with_groups,
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
    from ..face.answers import Plan
    from ..heat.history import History
    from ..joint.case import Case
    from ..remedies.trials import Helps

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


@with_groups
def plan(
    case_file: CaseFile,
    as_json: AsJson = False,
    units: UnitsOption = None,
    assumptions: Assumptions = False,
    out: Out = None,
    *,
    arc: ArcOptions,
    quick: Quick = False,
    full: Full = False,
    shown: Show = "",
    filed: Filed,
    speech: Speech,
) -> None:
    """Plan the waits between passes so that the interpass limit holds."""
    parts = _parts(shown, full=full or assumptions)
    with speech.talking() as talk:
        from ..face.answers import Plan

        case = read_joint(case_file, arc)
        refuse_outputs(talk, filed.page)
        history, failure = run_case(case, talk)
        bands = helps = None
        if not quick and failure is None:
            bands = bands_of_plan(case, history, talk)
            if as_json or out or filed.page or {"remedies", "bench"} & set(parts):
                helps = _helps_of(case, history, bands, talk)
        found = Plan(case, history, bands, helps)
        units = spoken(case, units)
        if as_json:
            show(found.json(assumptions=assumptions))
        else:
            show(_text(found, units, parts, assumptions=assumptions))
        if out is not None:
            from ..pages.files import plan_files

            told: dict[str, Any] = {"bands": bands, "helps": helps}
            told["assumptions"] = assumptions
            write(plan_files(out, case, history, units.system, **told), talk)
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


def _text(found: "Plan", units: Units, parts: Sequence[str], *, assumptions: bool) -> str:
    """Return the first screen, or the parts asked for."""
    width = terminal_width()
    if not parts:
        return found.first_screen(units.value, width)
    return found.text(units.value, width, parts=parts, assumptions=assumptions)


def _helps_of(
    case: "Case", history: "History", bands: "Bands | None", talk: Talk
) -> "Helps | None":
    """Find what would shorten a plan."""
    from ..face.asking import helps_of

    talk.doing = "what would help"
    helps = helps_of(case, history, talk.progress, bands)
    talk.clear()
    return helps
