"""The command ``card``: the plan on one small page, and with timers for a phone."""

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .console import Talk, show, terminal_width
from .options import (
    PAGES,
    SHEETS,
    ArcOptions,
    CaseFile,
    Filed,
    Speech,
    Units,
    UnitsOption,
    refuse_ending,
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
    from ..pages.card import Card

EXAMPLE = "card cases/sampling-stub.toml --axisymmetric"


class PaperSize(StrEnum):
    """Papers a card fits."""

    A5 = "a5"
    HALF_LETTER = "half-letter"


Pdf = Annotated[
    Path | None,
    to_write(
        "--out", "The sheet; CASE.card.pdf in this folder when left out.", "FILE.pdf"
    ),
]

Html = Annotated[
    Path | None,
    to_write(
        "--html",
        "The page for a phone; CASE.card.html in this folder when left out.",
        "FILE.html",
    ),
]

PaperOption = Annotated[PaperSize, typer.Option("--paper", help="Paper of the sheet.")]

NoBands = Annotated[
    bool,
    typer.Option(
        "--quick", help="No bands: best waits only, and no readings on the page."
    ),
]


OfTrial = Annotated[
    bool,
    typer.Option(
        "--trial",
        help="Instead: the sheet for a trial of your own, CASE.trial.html, and an empty log.",
    ),
]


@with_groups
def card(
    case_file: CaseFile,
    out: Pdf = None,
    html: Html = None,
    paper: PaperOption = PaperSize.A5,
    *,
    filed: Filed,
    units: UnitsOption = None,
    quick: NoBands = False,
    trial: OfTrial = False,
    arc: ArcOptions,
    speech: Speech,
) -> None:
    """Write the card for the booth, and a page for a phone.

    The one to print, the other with timers.

    With --trial it is the sheet for a trial instead: where to put thermocouples, when to
    read, what to write down.
    """
    refuse_ending("--out", out, SHEETS)
    refuse_ending("--html", html, PAGES)
    if trial:
        if out is not None:
            words = (
                "--out is the card; the sheet for a trial is a page, named with --html"
            )
            raise typer.BadParameter(words)
        if filed.page is not None:
            words = "--report files a plan; it does not go with --trial"
            raise typer.BadParameter(words)
        raise _write_trial(case_file, html, paper, units, arc, speech, quick=quick)
    with speech.talking() as talk:
        from ..pages.card import card_of

        case = read_joint(case_file, arc)
        pdf = out or Path(f"{case.stem}.card.pdf")
        page = html or Path(f"{case.stem}.card.html")
        units = spoken(case, units)
        refuse_outputs(talk, pdf, page, filed.page)
        history, failure = run_case(case, talk)
        if failure is not None:
            raise failure
        bands = None if quick else bands_of_plan(case, history, talk)
        found = card_of(case, history, bands)
        _save(found, pdf, page, paper, units, talk)
        write_report(filed, case, history, bands, None, units, talk)
    from ..rules.limits import FAIL

    raise ended(failed=found.verdict == FAIL)


def _write_trial(
    case_file: Path,
    html: Path | None,
    paper: PaperSize,
    units: Units | None,
    arc: ArcOptions,
    speech: Speech,
    *,
    quick: bool,
) -> typer.Exit:
    """Make the sheet for a trial, and the empty log beside it; print the sheet.

    Returns how the command ends.
    """
    with speech.talking() as talk:
        case = read_joint(case_file, arc)
        system = spoken(case, units).system
        page = html or Path(f"{case.stem}.trial.html")
        log = page.with_name(f"{case.stem}.trial-log.csv")
        refuse_outputs(talk, page)  # the log may stand there, as long as it is empty
        history, failure = run_case(case, talk)
        if failure is not None:
            raise failure
        bands = None if quick else bands_of_plan(case, history, talk)
        from ..logs.trial import trial_of
        from ..pages.trial import trial_page
        from ..report.trial import empty_log, trial_text

        found = trial_of(case, history, bands)
        show(trial_text(found, system, width=terminal_width()))
        sheet = trial_page(found, paper.value, system)
        write({page: sheet, log: empty_log(found, system)}, talk)
    return ended(failed=has_failed(case, history))


def _save(
    found: "Card", pdf: Path, page: Path, paper: PaperSize, units: Units, talk: Talk
) -> None:
    """Make both files, then write them; print the waits."""
    from ..pages.booth import card_pdf
    from ..pages.card import summary
    from ..pages.phone import card_page

    talk.doing = "writing the files"
    system = units.system
    contents = {
        pdf: card_pdf(found, paper.value, system),
        page: card_page(found, system),
    }
    show(summary(found, system, terminal_width()))
    write(contents, talk)
