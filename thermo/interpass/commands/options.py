"""Options several commands share, and what the shell offers.

Options that several commands share, as typer reads them.

What the shell offers when a word is completed: case files, sizes, metals, fittings.
"""

from collections.abc import Iterable, Sequence
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from ..text.kinds import UnitSystem

COMMAND = {"help_option_names": ["-h", "--help"]}


class Units(StrEnum):
    """Units the report can speak."""

    SI = "si"
    US = "us"

    @property
    def system(self) -> "UnitSystem":
        """The units themselves."""
        from ..text.kinds import UNIT_SYSTEMS

        return UNIT_SYSTEMS[self.value]


def ring_asked(ring: int | None, *, axisymmetric: bool) -> int | None:
    """Cells round the ring by both options; refuse two that cannot be meant together."""
    if axisymmetric and ring not in (None, 1):
        words = "--axisymmetric is the same as --ring 1; give one of the two"
        raise typer.BadParameter(words)
    return 1 if axisymmetric else ring


def refuse_ending(option: str, path: Path | None, endings: Sequence[str]) -> None:
    """Refuse the name of a file whose ending says something else than what goes in."""
    if path is not None and path.suffix.lower() not in endings:
        known = " or ".join(
            (", ".join(endings[:-1]), endings[-1]) if endings[1:] else endings
        )
        words = f"{option} {path} must end in {known}, like name{endings[0]}"
        raise typer.BadParameter(words)


PICTURES, PAGES, SHEETS = (".svg", ".png"), (".html", ".htm"), (".pdf",)
"""Endings of files, by what goes into them."""


def case_files(incomplete: str) -> list[str]:
    """Case files and folders that begin like the word typed so far.

    Examples
    --------
    >>> case_files("no-such-folder/")
    []
    """
    typed = Path(incomplete or ".")
    folder = typed if not incomplete or incomplete.endswith("/") else typed.parent
    try:
        found = sorted(folder.iterdir())
    except OSError:
        return []
    names = [
        f"{'' if folder == Path() else f'{folder}/'}{p.name}{'/' if p.is_dir() else ''}"
        for p in found
        if not p.name.startswith(".") and (p.is_dir() or p.suffix == ".toml")
    ]
    return [name for name in names if name.startswith(incomplete)]


CaseFile = Annotated[
    Path,
    typer.Argument(
        metavar="CASE",
        help="The case file (TOML).",
        show_default=False,
        autocompletion=case_files,
    ),
]

Samples = Annotated[
    int,
    typer.Option(
        "--samples", min=16, max=4096, help="Plausible joints; fewer are quicker."
    ),
]


Quiet = Annotated[
    bool, typer.Option("--quiet", "-q", help="Nothing on stderr but errors.")
]

Verbose = Annotated[
    bool, typer.Option("--verbose", "-v", help="Say on stderr how the solver went.")
]

Debug = Annotated[bool, typer.Option("--debug", help="Show where an error came from.")]

Force = Annotated[
    bool,
    typer.Option("--force", help="Replace files that this program did not write."),
]

AsJson = Annotated[
    bool,
    typer.Option("--json", help="Print one JSON object instead, units in its keys."),
]

UnitsOption = Annotated[
    Units | None,
    typer.Option(
        "--units",
        help="Units of report and figure. Usual: those of the case.",
        show_default=False,
    ),
]

Assumptions = Annotated[
    bool, typer.Option("--assumptions", help="List every number used, with its source.")
]

Out = Annotated[
    Path | None,
    typer.Option(
        "--out",
        metavar="DIR",
        help="Also write report, JSON, CSV and figure into this folder.",
        show_default=False,
    ),
]

Axisymmetric = Annotated[
    bool, typer.Option("--axisymmetric", help="Average the arc round the ring; quicker.")
]

Full = Annotated[
    bool, typer.Option("--full", help="Print all of the report, not the first screen.")
]

Page = Annotated[
    Path | None,
    typer.Option(
        "--report",
        metavar="FILE.html",
        help="Also write the report an engineer files: one page, pictures and all.",
        show_default=False,
    ),
]

Date = Annotated[
    str,
    typer.Option("--date", help="Date to print in the report.", show_default=False),
]

Quick = Annotated[
    bool,
    typer.Option(
        "--quick", help="Best estimate alone: no bands, nothing that would help."
    ),
]

Ring = Annotated[
    int | None,
    typer.Option(
        "--ring", min=1, max=720, help="Cells round the ring.", show_default=False
    ),
]

Workers = Annotated[
    int | None,
    typer.Option(
        "--workers",
        min=1,
        max=256,
        help="Processes; as many as cores when left out.",
        show_default=False,
    ),
]

Cluster = Annotated[
    str,
    typer.Option(
        "--cluster",
        metavar="ADDRESS",
        help="Compute on a dask cluster: tcp://host:port.",
        show_default=False,
    ),
]


def sizes(incomplete: str) -> list[str]:
    """Pipe sizes of the catalogue."""
    from ..trade.rows import table_rows

    known = dict.fromkeys(f"NPS {row['size']}" for row in table_rows("pipe"))
    return _begins(known, incomplete)


def metals(incomplete: str) -> list[str]:
    """Metals by name."""
    from ..physics.metals import material_names

    return _begins(material_names(), incomplete)


def fillers(incomplete: str) -> list[str]:
    """Fillers by name."""
    from ..physics.metals import filler_names

    return _begins(filler_names(), incomplete)


def kinds(incomplete: str) -> list[str]:
    """Kinds of fitting."""
    from ..case_file.keys import KINDS

    return _begins(KINDS, incomplete)


def _begins(known: Iterable[str], incomplete: str) -> list[str]:
    """Return the names that begin like the word typed, in any case."""
    typed = incomplete.lower()
    return [name for name in known if name.lower().startswith(typed)]
