"""Options that several commands share, as typer reads them."""

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

COMMAND = {"help_option_names": ["-h", "--help"]}


class Units(StrEnum):
    """Units the report can speak."""

    SI = "si"
    US = "us"


CaseFile = Annotated[
    Path, typer.Argument(metavar="CASE", help="The case file (TOML).", show_default=False)
]
Quiet = Annotated[
    bool, typer.Option("--quiet", "-q", help="Nothing on stderr but errors.")
]
Verbose = Annotated[
    bool, typer.Option("--verbose", "-v", help="Say on stderr how the solver went.")
]
Debug = Annotated[bool, typer.Option("--debug", help="Show where an error came from.")]
AsJson = Annotated[
    bool,
    typer.Option("--json", help="Print one JSON object instead, units in its keys."),
]
UnitsOption = Annotated[
    Units, typer.Option("--units", help="Units of report and figure.")
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
Ring = Annotated[
    int | None,
    typer.Option(
        "--ring", min=1, max=720, help="Cells round the ring.", show_default=False
    ),
]
