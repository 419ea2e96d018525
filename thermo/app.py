"""The command ``interpass``: parse, call, print, save, exit.

Results go to stdout, everything else to stderr. Slow modules are imported inside the
functions that need them, so that help and usage errors come at once.
"""

import sys
from collections.abc import Sequence
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from . import __version__
from .console import Talk, show, talking
from .errors import ExitStatus, RunError, ThermoError

if TYPE_CHECKING:
    from .history import History
    from .joint import Case

NAME = "interpass"
STATUSES = (
    "Exit status: 0 done and every limit holds, 1 a bug of the program, 2 wrong usage, "
    "3 mistakes in the case file, 4 the run failed, 5 a limit is not met, 130 stopped by "
    "Ctrl-C."
)
COMMAND = {"help_option_names": ["-h", "--help"]}

app = typer.Typer(
    name=NAME,
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings=COMMAND,
    epilog=STATUSES,
)


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


def _version(wanted: bool) -> None:
    if wanted:
        show(f"{NAME} {__version__}\n")
        raise typer.Exit


@app.callback()
def common(
    version: Annotated[
        bool,
        typer.Option(
            "--version", callback=_version, is_eager=True, help="Print the version."
        ),
    ] = False,
) -> None:
    """How long to wait between the passes of a TIG socket weld on small-bore pipe."""


@app.command(
    epilog=f"Example: {NAME} plan cases/sampling-stub.toml", context_settings=COMMAND
)
def plan(
    case_file: CaseFile,
    as_json: AsJson = False,
    units: UnitsOption = Units.SI,
    assumptions: Assumptions = False,
    out: Out = None,
    axisymmetric: Axisymmetric = False,
    ring: Ring = None,
    quiet: Quiet = False,
    verbose: Verbose = False,
    debug: Debug = False,  # noqa: ARG001 - read by main
) -> None:
    """Plan the waits between passes so that the interpass limit holds."""
    if axisymmetric and ring not in (None, 1):
        words = "--axisymmetric is the same as --ring 1; give one of the two"
        raise typer.BadParameter(words)
    with talking(quiet=quiet, verbose=verbose) as talk:
        case = _read(case_file, 1 if axisymmetric else ring)
        history, failure = _run(case, talk)
        _show_plan(case, history, units, as_json=as_json, assumptions=assumptions)
        if out is not None:
            _save(out, case, history, units, assumptions=assumptions, talk=talk)
    if failure is not None:
        raise failure
    raise typer.Exit(_status(case, history))


def _read(file: Path, ring: int | None) -> "Case":
    """Read the case; a ring given on the command line replaces that of the case."""
    from dataclasses import replace

    from .case import read_case
    from .joint import Assumption

    case = read_case(file)
    if ring is None:
        return case
    given = Assumption("model.ring", str(ring), "the command line", "given")
    rest = tuple(row for row in case.assumptions if row.key != given.key)
    options = replace(case.model, ring=ring)
    return replace(case, model=options, assumptions=(*rest, given))


def _run(case: "Case", talk: Talk) -> tuple["History", RunError | None]:
    """Run the case; a run that failed returns as far as it went, and its error."""
    from .warmup import is_compiled

    talk.doing = "preparing the solver"
    if not is_compiled():
        talk.say("Preparing the solver, first run only, about half a minute.")
    from .history import History
    from .waits import plan as plan_waits

    try:
        history, failure = plan_waits(case, talk.progress), None
    except RunError as error:
        if not isinstance(error.history, History):
            raise
        history, failure = error.history, error
    if talk.verbose:
        size, ms = (
            f"{history.cells} cells, {history.steps} steps",
            1e3 * history.solve_time,
        )
        talk.say(f"{size}, solved in {ms:.1f} ms")
    talk.clear()
    return history, failure


def _show_plan(
    case: "Case", history: "History", units: Units, *, as_json: bool, assumptions: bool
) -> None:
    """Print the results, as text or as JSON."""
    from . import report, report_data
    from .units import UNIT_SYSTEMS

    if as_json:
        show(report_data.json_text(case, history, assumptions=assumptions))
    else:
        system = UNIT_SYSTEMS[units.value]
        show(report.text(case, history, system, assumptions=assumptions))


def _status(case: "Case", history: "History") -> ExitStatus:
    """Whether every limit holds."""
    from .checks import FAIL, checks, verdict

    failed = verdict(checks(case, history), history) == FAIL
    return ExitStatus.LIMIT if failed else ExitStatus.OK


def _save(
    folder: Path,
    case: "Case",
    history: "History",
    units: Units,
    *,
    assumptions: bool,
    talk: Talk,
) -> None:
    """Write the files of a plan and say where they are."""
    from .saving import plan_files, replace_file
    from .units import UNIT_SYSTEMS

    talk.doing = "writing the files"
    system = UNIT_SYSTEMS[units.value]
    files = plan_files(folder, case, history, system, assumptions=assumptions)
    folder.mkdir(parents=True, exist_ok=True)
    for path, content in files.items():
        replace_file(path, content)
        talk.written += 1
        talk.say(f"Wrote {path}")


def main(argv: Sequence[str] | None = None) -> int:
    """Run the program and return its exit status; no traceback for a user's mistake.

    Anything but a ThermoError or an OSError is our bug, and Python tells it.

    Parameters
    ----------
    argv : sequence of str, optional
        Arguments without the program's name; those of the process when left out.
    """
    arguments = list(sys.argv[1:] if argv is None else argv)
    try:
        app(arguments, prog_name=NAME)
        status = 0
    except SystemExit as stop:  # typer has told usage errors already
        status = int(stop.code or 0)
    except (ThermoError, OSError) as error:
        if "--debug" in arguments:
            raise
        told = (
            f"{error.filename}: {error.strerror}" if isinstance(error, OSError) else error
        )
        print(f"Error: {told}", file=sys.stderr)
        status = getattr(error, "status", ExitStatus.CASE)
    return int(status)


if __name__ == "__main__":
    sys.exit(main())
