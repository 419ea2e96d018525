"""The command ``tables``: show what the program knows, with its sources."""

from pathlib import Path
from typing import Annotated

import typer

from .console import Talk, show, talking
from .options import AsJson, Debug, Quiet, Units, UnitsOption

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
    units: UnitsOption = Units.SI,
    quiet: Quiet = False,
    debug: Debug = False,  # noqa: ARG001 - read by main
) -> None:
    """Show the tables: pipe, sockets, metals, limits, rules, with sources."""
    if as_json and as_csv:
        words_ = "--json and --csv exclude one another; give one of the two"
        raise typer.BadParameter(words_)
    with talking(quiet=quiet, verbose=False) as talk:
        from ..report import lookup as table_view

        write = table_view.table_csv if as_csv else table_view.table_text
        write = table_view.table_json if as_json else write
        text = write(table, words or ())
        if figure is not None:
            _draw(figure, table, words or [], units, talk)
        show(text)


def _draw(file: Path, table: str, words: list[str], units: Units, talk: Talk) -> None:
    """Draw the one metal a filter leaves."""
    from ..report.lookup import metal_of
    from ..text.files import replace_file

    metal, kind = metal_of(table, words), file.suffix.removeprefix(".").lower()
    if kind not in ("svg", "png"):
        words_ = f"--figure {file}: the name must end in .svg or .png"
        raise typer.BadParameter(words_)
    from ..pictures.metal import material_figure
    from ..pictures.style import picture
    from ..text.kinds import UNIT_SYSTEMS

    drawn = material_figure(metal, UNIT_SYSTEMS[units.value])
    replace_file(file, picture(drawn, kind))
    talk.say(f"Wrote {file}")
