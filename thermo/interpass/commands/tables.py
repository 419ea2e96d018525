"""The command ``tables``: show what the program knows, with its sources."""

from pathlib import Path
from typing import Annotated

import typer

from .console import Talk, show, talking, terminal_width
from .options import (
    PICTURES,
    AsJson,
    Debug,
    Force,
    Quiet,
    Units,
    UnitsOption,
    refuse_ending,
)
from .running import spoken, write

EXAMPLE = "tables pipe NPS 3/4"


def tables(
    table: Annotated[
        str, typer.Argument(help="Which; 'list' names them all.", show_default=False)
    ],
    words: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="FILTER",
            help="Only rows with this size, metal or word.",
            show_default=False,
        ),
    ] = None,
    as_json: AsJson = False,
    as_csv: Annotated[bool, typer.Option("--csv", help="Print CSV instead.")] = False,
    figure: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE",
            help="Also draw the curves of one metal into this .svg or .png file.",
            show_default=False,
        ),
    ] = None,
    units: UnitsOption = None,
    force: Force = False,
    quiet: Quiet = False,
    debug: Debug = False,  # noqa: ARG001 - read by main
) -> None:
    """Show the tables of pipe, metals, limits and rules."""
    if as_json and as_csv:
        words_ = "--json and --csv exclude one another; give one of the two"
        raise typer.BadParameter(words_)
    refuse_ending("--figure", figure, PICTURES)
    with talking(quiet=quiet, force=force) as talk:
        from ..report import lookup as table_view

        said = spoken(None, units)
        if as_csv or as_json:
            made = table_view.table_csv if as_csv else table_view.table_json
            text = made(table, words or ())
        else:
            text = table_view.table_text(
                table, words or (), said.system, terminal_width()
            )
        if figure is not None:
            _draw(figure, table, words or [], said, talk)
        show(text)


def _draw(file: Path, table: str, words: list[str], units: Units, talk: Talk) -> None:
    """Draw the one metal a filter leaves."""
    from ..report.lookup import metal_of

    metal, kind = metal_of(table, words), file.suffix.removeprefix(".").lower()
    from ..pictures.metal import material_figure
    from ..pictures.style import picture

    drawn = material_figure(metal, units.system)
    write({file: picture(drawn, kind)}, talk)
