"""Options several commands share, one by one and in groups, and what the shell offers."""

from collections.abc import Callable, Iterable, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, fields, is_dataclass
from enum import StrEnum
from functools import wraps
from inspect import Parameter, signature
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from ..doubt.count import SAMPLES
from .console import Talk, talking

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


def to_write(option: str, words: str, kind: str = "FILE") -> Any:
    """Return the option that names a file or folder to write; without it there is none."""
    return typer.Option(option, metavar=kind, help=words, show_default=False)


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
        "--samples", min=16, max=SAMPLES, help="Plausible joints; fewer are quicker."
    ),
]


Quiet = Annotated[
    bool, typer.Option("--quiet", "-q", help="Nothing on stderr but errors.")
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

Full = Annotated[
    bool, typer.Option("--full", help="Print all of the report, not the first screen.")
]

Quick = Annotated[
    bool,
    typer.Option(
        "--quick", help="Best estimate alone: no bands, nothing that would help."
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


@dataclass(frozen=True)
class ArcOptions:
    """How finely the arc is followed on its way round the joint."""

    axisymmetric: Annotated[
        bool,
        typer.Option("--axisymmetric", help="Average the arc round the ring; quicker."),
    ] = False
    ring: Annotated[
        int | None,
        typer.Option(
            "--ring", min=1, max=720, help="Cells round the ring.", show_default=False
        ),
    ] = None

    def __post_init__(self) -> None:
        """Refuse two options that cannot be meant together."""
        if self.axisymmetric and self.ring not in (None, 1):
            words = "--axisymmetric is the same as --ring 1; give one of the two"
            raise typer.BadParameter(words)

    @property
    def cells(self) -> int | None:
        """Cells round the ring; None for those of the case."""
        return 1 if self.axisymmetric else self.ring


@dataclass(frozen=True)
class Beside:
    """A logger's file of the weld, beside its log."""

    logger: Annotated[
        Path | None,
        typer.Option(
            "--logger",
            metavar="LOGGER.csv",
            help="A logger's file of the same weld: time, and thermocouples at given places.",
            show_default=False,
        ),
    ] = None
    began: Annotated[
        str | None,
        typer.Option(
            "--began",
            metavar="TIME",
            help="When the logger's time was 0, as the log tells time.",
            show_default=False,
        ),
    ] = None

    def __post_init__(self) -> None:
        """Refuse the beginning of a logger's file where there is none."""
        if self.began is not None and self.logger is None:
            words = "--began belongs to a logger's file; give it with --logger"
            raise typer.BadParameter(words)


@dataclass(frozen=True)
class Filed:
    """The report that is filed beside what a command prints."""

    page: Annotated[
        Path | None,
        to_write(
            "--report",
            "Also write the report an engineer files: one page, pictures and all.",
            "FILE.html",
        ),
    ] = None
    date: Annotated[
        str,
        typer.Option("--date", help="Date to print in the report.", show_default=False),
    ] = ""

    def __post_init__(self) -> None:
        """Refuse a name that says something else than a page."""
        refuse_ending("--report", self.page, PAGES)


@dataclass(frozen=True)
class Speech:
    """What is said beside the result, and which files may be replaced."""

    force: Force = False
    quiet: Quiet = False
    verbose: Annotated[
        bool, typer.Option("--verbose", "-v", help="Say on stderr how the solver went.")
    ] = False
    debug: Debug = False  # read by main

    def talking(self) -> AbstractContextManager[Talk]:
        """Talk on stderr while a command runs."""
        return talking(quiet=self.quiet, verbose=self.verbose, force=self.force)


def with_groups(command: Callable[..., None]) -> Callable[..., None]:
    """Let typer see each field of an option group as a parameter, where the group stands.

    A group is a dataclass whose fields are options; the command takes it by keyword.
    """
    given = signature(command, eval_str=True).parameters.values()
    groups: dict[str, Any] = {
        p.name: p.annotation for p in given if is_dataclass(p.annotation)
    }

    @wraps(command)
    def called(**told: Any) -> None:
        for name, group in groups.items():
            told[name] = group(**{f.name: told.pop(f.name) for f in fields(group)})
        command(**told)

    seen = [one for p in given for one in _fields_of(p)]
    called.__dict__["__signature__"] = signature(command).replace(parameters=seen)
    called.__annotations__ = {p.name: p.annotation for p in seen}
    return called


def _fields_of(parameter: Parameter) -> list[Parameter]:
    """Return the fields of a group as parameters; a parameter of its own is itself."""
    if not is_dataclass(group := parameter.annotation):
        return [parameter.replace(kind=Parameter.KEYWORD_ONLY)]
    return [
        Parameter(f.name, Parameter.KEYWORD_ONLY, default=f.default, annotation=f.type)
        for f in fields(group)
    ]


def sizes(incomplete: str) -> list[str]:
    """Pipe sizes of the catalogue."""
    from ..trade.rows import table_rows

    known = dict.fromkeys(f"NPS {row['size']}" for row in table_rows("pipe"))
    return _begins(known, incomplete)


def metal_names(incomplete: str) -> list[str]:
    """Metals by name."""
    from ..physics.metals import material_names

    return _begins(material_names(), incomplete)


def fillers(incomplete: str) -> list[str]:
    """Fillers by name."""
    from ..physics.metals import filler_names

    return _begins(filler_names(), incomplete)


def kinds(incomplete: str) -> list[str]:
    """Kinds of fitting."""
    from ..case_file.questions import offered_kinds

    return _begins(offered_kinds(), incomplete)


def _begins(known: Iterable[str], incomplete: str) -> list[str]:
    """Return the names that begin like the word typed, in any case."""
    typed = incomplete.lower()
    return [name for name in known if name.lower().startswith(typed)]
