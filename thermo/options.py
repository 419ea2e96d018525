"""Options that several commands share, as typer reads them."""

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from . import completion

COMMAND = {"help_option_names": ["-h", "--help"]}


class Units(StrEnum):
    """Units the report can speak."""

    SI = "si"
    US = "us"


CaseFile = Annotated[
    Path,
    typer.Argument(
        metavar="CASE",
        help="The case file (TOML).",
        show_default=False,
        autocompletion=completion.case_files,
    ),
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
