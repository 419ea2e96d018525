"""The command ``new``: write a case to start from."""

import sys
from pathlib import Path
from typing import Annotated

import typer

from . import options as completion
from .console import show, talking, typed
from .options import Debug, Force, Quiet, Units
from .running import spoken, write

Size = Annotated[
    str,
    typer.Option(
        help="Pipe size, like NPS 3/4 or DN 20.", autocompletion=completion.sizes
    ),
]

Metal = Annotated[
    str,
    typer.Option(
        help="Metal of the pipe, like 316L.", autocompletion=completion.metal_names
    ),
]

Kind = Annotated[
    str,
    typer.Option(
        help="Kind of fitting, or bare pipe. Usual: coupling.",
        autocompletion=completion.kinds,
    ),
]

FittingMetal = Annotated[
    str, typer.Option(help="Usual: as the pipe.", autocompletion=completion.metal_names)
]

Filler = Annotated[
    str,
    typer.Option(
        help="Usual: what matches the metals.", autocompletion=completion.fillers
    ),
]

InUnits = Annotated[
    Units | None,
    typer.Option(
        "--units",
        help="Units of questions and of the case. Usual: si.",
        show_default=False,
    ),
]

EXAMPLE = 'new --size "NPS 3/4" --material 316L'


def new(
    file: Annotated[
        Path | None,
        typer.Argument(
            metavar="FILE",
            help="The case file to write; left out: stdout.",
            show_default=False,
        ),
    ] = None,
    size: Size = "",
    material: Metal = "",
    schedule: Annotated[str, typer.Option(help="Usual: 80S or 80.")] = "",
    kind: Kind = "",
    pressure_class: Annotated[
        str, typer.Option("--class", help="Usual: 3000, of a flange 150.")
    ] = "",
    fitting_material: FittingMetal = "",
    filler: Filler = "",
    passes: Annotated[str, typer.Option(help="How many. Usual: 2.")] = "",
    amps: Annotated[str, typer.Option(help="Current. Usual: by the wall.")] = "",
    travel: Annotated[str, typer.Option(help="Speed. Usual: 60 mm/min.")] = "",
    turn: Annotated[
        str, typer.Option(help="Of the pipe, not the speed; like 0.85 rev/min.")
    ] = "",
    length: Annotated[
        str, typer.Option(help="Pipe outside the socket, like 75 mm. Usual: long.")
    ] = "",
    interpass: Annotated[str, typer.Option(help="Maximum. Usual: by material.")] = "",
    held: Annotated[
        str, typer.Option(help='Like "fitting in a chuck". Usual: nothing.')
    ] = "",
    title: Annotated[str, typer.Option(help="Title of the case.")] = "",
    units: InUnits = None,
    force: Force = False,
    quiet: Quiet = False,
    debug: Debug = False,  # noqa: ARG001 - read by main
) -> None:
    """Write a case of your own, from options or questions."""
    given = {
        "size": size, "material": material, "schedule": schedule, "kind": kind,
        "class": pressure_class, "fitting_material": fitting_material, "filler": filler,
        "passes": passes, "amps": amps, "length": length, "interpass": interpass,
        "held": held, "title": title,
    }  # fmt: skip
    if file is not None and file.exists() and not force:
        words = f"{file} is there already; give another name, or --force to replace it"
        raise typer.BadParameter(words)
    with talking(quiet=quiet, force=force) as talk:
        talk.doing = "asking"
        from ..case_file.conversation import ask
        from ..case_file.questions import REQUIRED, answers_from, travel_given
        from ..case_file.write import new_case_text

        given["travel"] = travel_given(travel, turn)
        system = spoken(None, units).system
        is_asking = sys.stdin.isatty() and not all(given[name] for name in REQUIRED)
        answers = (
            ask(given, typed, talk.say, system, lambda told: new_case_text(told, system))
            if is_asking
            else answers_from(given, system)
        )
        text = new_case_text(answers, system)
        if file is None:
            show(text)
        else:
            write({file: text.encode()}, talk)
