"""The command ``lesson``: the teaching set, why small pieces overheat."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .console import Talk, show, terminal_width
from .options import (
    ArcOptions,
    Speech,
    UnitsOption,
    with_groups,
)
from .running import announce, spoken, write

if TYPE_CHECKING:
    from ..lesson.joints import Contrast
    from ..lesson.movie import Movie
    from ..lesson.numbers import Shown
    from ..lesson.page import Film
    from ..text.kinds import UnitSystem

EXAMPLE = 'lesson --size "1/2,1" --axisymmetric --no-movie'
FOLDER = Path("lesson")
LENGTHS, IN_INCHES = "40 mm,long", "1.5 in,long"  # unless asked for others
PAGE, GIF, STILL = "lesson.html", "heat.gif", "heat.png"
OWN_CASE = "lesson.toml"  # the case of the lesson, in data

LessonCase = Annotated[
    Path | None,
    typer.Argument(
        metavar="CASE",
        help="A case file to teach with; one of the program's own when left out.",
        show_default=False,
    ),
]

LessonFolder = Annotated[
    Path,
    typer.Option(
        "--out",
        metavar="DIR",
        help="Folder for the page, which holds its pictures, and the case files.",
    ),
]

Sizes = Annotated[
    str, typer.Option("--size", help="Pipe sizes compared, NPS or DN, commas between.")
]

MetalList = Annotated[
    str, typer.Option("--material", help="Metals compared, commas between.")
]

Lengths = Annotated[
    str, typer.Option("--length", help="Lengths of pipe compared, commas between.")
]

Wait = Annotated[
    str, typer.Option("--wait", help="The wait that is the same for every size.")
]

PlateOption = Annotated[str, typer.Option("--plate", help="Thickness of the plate.")]

Movie_ = Annotated[
    bool, typer.Option("--movie/--no-movie", help="Draw the animation (GIF).")
]


@with_groups
def lesson(
    case_file: LessonCase = None,
    out: LessonFolder = FOLDER,
    size: Sizes = "1/2,1,2,4",
    material: MetalList = "316L,carbon steel",
    length: Lengths = LENGTHS,
    wait: Wait = "60 s",
    plate: PlateOption = "10 mm",
    units: UnitsOption = None,
    movie: Movie_ = True,
    *,
    arc: ArcOptions,
    speech: Speech,
) -> None:
    """Write a lesson for a class: why small pieces overheat."""
    with speech.talking() as talk:
        from ..case_file.read import parse_case
        from ..lesson.joints import Choices, comparisons
        from ..text.toml import case_table

        text, name = _case_text(case_file)
        case = parse_case(text, name)  # its mistakes carry their lines
        system = spoken(case if case_file else None, units).system
        choices = Choices(
            sizes=_split(size),
            materials=_split(material),
            lengths=_split(
                IN_INCHES if system.name == "us" and length == LENGTHS else length
            ),
            wait=wait,
            ring=arc.cells,
        )
        joints = comparisons(case_table(text, name), choices, name)
        thickness = _thickness(plate)
        compared = _run(joints, thickness, talk)
        film = _film(joints[0], system, talk) if movie else None
        _save(out, compared, film, system, talk)
        show(_summary(compared, out, system))


def _split(text: str) -> tuple[str, ...]:
    """Return what stands between the commas."""
    return tuple(part.strip() for part in text.split(",") if part.strip())


def _thickness(text: str) -> float:
    """Read the thickness of the plate [m]."""
    from ..text.errors import CatalogueError
    from ..text.units import parse

    thickness = parse(text, "length")
    if not 0.5e-3 <= thickness <= 0.1:
        msg = f"--plate {text} is no plate to weld a small fillet on"
        raise CatalogueError(msg, "give 0.5 to 100 mm")
    return thickness


def _case_text(case_file: Path | None) -> tuple[str, str]:
    """Text of the case to teach with, and its name; the program's own without one."""
    from importlib import resources

    from ..text.files import case_text

    if case_file is not None:
        return case_text(case_file), str(case_file)
    own = resources.files("interpass.lesson") / OWN_CASE
    return own.read_text(encoding="utf-8"), OWN_CASE


def _run(
    joints: tuple["Contrast", ...], thickness: float, talk: Talk
) -> tuple["Shown", ...]:
    """Run every joint."""
    announce(talk)
    from ..lesson.numbers import run_joints

    compared = run_joints(joints, thickness, talk.progress)
    talk.clear()
    return compared


def _film(
    comparison: "Contrast", units: "UnitSystem", talk: Talk
) -> tuple["Movie", "Film"]:
    """Make the animation of the smallest joint, and what the page says of it."""
    from ..lesson.movie import make_movie
    from ..lesson.page import film_of

    talk.doing = "drawing the animation"
    variant = comparison.variants[0]
    movie = make_movie(variant, units, talk.progress)
    talk.clear()
    return movie, film_of(movie, variant, (GIF, STILL))


def _save(
    folder: Path,
    compared: tuple["Shown", ...],
    film: tuple["Movie", "Film"] | None,
    units: "UnitSystem",
    talk: Talk,
) -> None:
    """Make all files, then write them."""
    from ..lesson.figures import pictures
    from ..lesson.page import CASES, lesson_page

    talk.doing = "writing the files"
    drawn = pictures(compared, units)
    moving = {GIF: film[0].gif, STILL: film[0].still} if film else {}
    files = {
        PAGE: lesson_page(compared, drawn, units, film[1] if film else None, moving),
        **{
            f"{CASES}/{r.variant.stem}.toml": r.variant.text.encode()
            for one in compared
            for r in one.results
        },
    }
    write({folder / name: content for name, content in files.items()}, talk)


def _summary(compared: tuple["Shown", ...], folder: Path, units: "UnitSystem") -> str:
    """Say what the lesson found, and where it is."""
    from dataclasses import replace

    from ..lesson.tables import LUMP_NOTE, struck_table
    from ..text.layout import paragraph, table_lines

    lines: list[str] = []
    for one in compared:
        table = replace(struck_table(one, units), notes=())
        lines += [one.comparison.title, *table_lines(table, terminal_width()), ""]
    lines += paragraph(LUMP_NOTE, width=terminal_width())
    return "\n".join([*lines, f"The lesson: {folder / PAGE}"]) + "\n"
