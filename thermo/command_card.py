"""The command ``card``: the plan on one small page, and with timers for a phone."""

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .command_plan import read_with_ring, run_case
from .console import Talk, show, talking
from .errors import ExitStatus
from .options import (
    Axisymmetric,
    CaseFile,
    Debug,
    Quiet,
    Ring,
    Units,
    UnitsOption,
    Verbose,
)

if TYPE_CHECKING:
    from .card_data import Card
    from .history import History
    from .joint import Case

EXAMPLE = "card cases/sampling-stub.toml --axisymmetric"


class Paper(StrEnum):
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
PaperOption = Annotated[Paper, typer.Option("--paper", help="Paper of the sheet.")]
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
    paper: PaperOption = Paper.A5,
    units: UnitsOption = Units.SI,
    quick: Quick = False,
    axisymmetric: Axisymmetric = False,
    ring: Ring = None,
    quiet: Quiet = False,
    verbose: Verbose = False,
    debug: Debug = False,  # noqa: ARG001 - read by main
) -> None:
    """Write the card for the booth: a small page, and one with timers for a phone."""
    _refuse(out, html, ring, axisymmetric=axisymmetric)
    with talking(quiet=quiet, verbose=verbose) as talk:
        from .rules import sets_for

        case = read_with_ring(case_file, 1 if axisymmetric else ring)
        sets_for(case)  # mistakes in a file of rules are told before the run
        history, failure = run_case(case, talk)
        if failure is not None:
            raise failure
        found = _card(case, history, talk, quick=quick)
        stem = case_file.stem
        pdf, page = out or Path(f"{stem}.card.pdf"), html or Path(f"{stem}.card.html")
        _save(found, pdf, page, paper, units, talk)
    raise typer.Exit(_status(found))


def _refuse(
    out: Path | None, html: Path | None, ring: int | None, *, axisymmetric: bool
) -> None:
    """Refuse options that cannot be meant."""
    if axisymmetric and ring not in (None, 1):
        words = "--axisymmetric is the same as --ring 1; give one of the two"
        raise typer.BadParameter(words)
    for name, path, endings in (
        ("--out", out, (".pdf",)),
        ("--html", html, (".html", ".htm")),
    ):
        if path is not None and path.suffix.lower() not in endings:
            words = f"{name} {path} must end in {endings[0]}, like card{endings[0]}"
            raise typer.BadParameter(words)


def _card(case: "Case", history: "History", talk: Talk, *, quick: bool) -> "Card":
    """Gather the card, with its bands unless they are not wanted."""
    from .card_data import card_of

    if quick or not history.passes[1:]:
        return card_of(case, history)
    from .doubt import find_bands

    talk.doing = "plausible joints"
    bands = find_bands(case, history, talk.progress)
    talk.clear()
    return card_of(case, history, bands)


def _save(
    found: "Card", pdf: Path, page: Path, paper: Paper, units: Units, talk: Talk
) -> None:
    """Make both files, then write them; print the waits."""
    from .card import card_pdf
    from .card_data import summary
    from .card_page import card_page
    from .files import replace_file
    from .units import UNIT_SYSTEMS

    talk.doing = "writing the files"
    system = UNIT_SYSTEMS[units.value]
    contents = {
        pdf: card_pdf(found, paper.value, system),
        page: card_page(found, system),
    }
    show(summary(found, system))
    for path, content in contents.items():
        path.parent.mkdir(parents=True, exist_ok=True)
        replace_file(path, content)
        talk.written += 1
        talk.say(f"Wrote {path}")


def _status(found: "Card") -> ExitStatus:
    """Whether every limit holds."""
    from .checks import FAIL

    return ExitStatus.LIMIT if found.verdict == FAIL else ExitStatus.OK
