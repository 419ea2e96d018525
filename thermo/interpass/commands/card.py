"""The command ``card``: the plan on one small page, and with timers for a phone."""

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from ..text.errors import ExitStatus
from .console import Talk, show, talking
from .options import (
    Axisymmetric,
    CaseFile,
    Date,
    Debug,
    Page,
    Quiet,
    Ring,
    Units,
    UnitsOption,
    Verbose,
)
from .running import bands_of_plan, read_with_ring, report_of, run_case, write

if TYPE_CHECKING:
    from ..pages.card import Card

EXAMPLE = "card cases/sampling-stub.toml --axisymmetric"


class PaperSize(StrEnum):
    """Papers a card fits."""

    A5 = "a5"
    HALF_LETTER = "half-letter"


Pdf = Annotated[
    Path | None,
    typer.Option(
        "--out",
        metavar="FILE.pdf",
        help="The sheet; CASE.card.pdf in this folder when left out.",
        show_default=False,
    ),
]


Html = Annotated[
    Path | None,
    typer.Option(
        "--html",
        metavar="FILE.html",
        help="The page for a phone; CASE.card.html in this folder when left out.",
        show_default=False,
    ),
]


PaperOption = Annotated[
    PaperSize, typer.Option("--paper", help="PaperSize of the sheet.")
]


Quick = Annotated[
    bool,
    typer.Option(
        "--quick", help="No bands: best waits only, and no readings on the page."
    ),
]


def card(
    case_file: CaseFile,
    out: Pdf = None,
    html: Html = None,
    paper: PaperOption = PaperSize.A5,
    report: Page = None,
    date: Date = "",
    units: UnitsOption = Units.SI,
    quick: Quick = False,
    axisymmetric: Axisymmetric = False,
    ring: Ring = None,
    quiet: Quiet = False,
    verbose: Verbose = False,
    debug: Debug = False,  # noqa: ARG001 - read by main
) -> None:
    """Write the card for the booth: a small page, and one with timers for a phone."""
    _refuse(out, html, report, ring, axisymmetric=axisymmetric)
    with talking(quiet=quiet, verbose=verbose) as talk:
        from ..pages.card import card_of
        from ..rules.judge import sets_for
        from ..text.kinds import UNIT_SYSTEMS

        case = read_with_ring(case_file, 1 if axisymmetric else ring)
        sets_for(case)  # mistakes in a file of rules are told before the run
        history, failure = run_case(case, talk)
        if failure is not None:
            raise failure
        bands = None if quick else bands_of_plan(case, history, talk)
        found = card_of(case, history, bands)
        stem = case_file.stem
        pdf, page = out or Path(f"{stem}.card.pdf"), html or Path(f"{stem}.card.html")
        _save(found, pdf, page, paper, units, talk)
        if report is not None:
            system = UNIT_SYSTEMS[units.value]
            write({report: report_of(case, history, bands, [], date, system)}, talk)
    raise typer.Exit(_status(found))


def _refuse(
    out: Path | None,
    html: Path | None,
    report: Path | None,
    ring: int | None,
    *,
    axisymmetric: bool,
) -> None:
    """Refuse options that cannot be meant."""
    if axisymmetric and ring not in (None, 1):
        words = "--axisymmetric is the same as --ring 1; give one of the two"
        raise typer.BadParameter(words)
    for name, path, endings in (
        ("--out", out, (".pdf",)),
        ("--html", html, (".html", ".htm")),
        ("--report", report, (".html", ".htm")),
    ):
        if path is not None and path.suffix.lower() not in endings:
            words = f"{name} {path} must end in {endings[0]}, like card{endings[0]}"
            raise typer.BadParameter(words)


def _save(
    found: "Card", pdf: Path, page: Path, paper: PaperSize, units: Units, talk: Talk
) -> None:
    """Make both files, then write them; print the waits."""
    from ..pages.booth import card_pdf
    from ..pages.card import summary
    from ..pages.phone import card_page
    from ..text.kinds import UNIT_SYSTEMS

    talk.doing = "writing the files"
    system = UNIT_SYSTEMS[units.value]
    contents = {
        pdf: card_pdf(found, paper.value, system),
        page: card_page(found, system),
    }
    show(summary(found, system))
    write(contents, talk)


def _status(found: "Card") -> ExitStatus:
    """Whether every limit holds."""
    from ..rules.limits import FAIL

    return ExitStatus.LIMIT if found.verdict == FAIL else ExitStatus.OK
