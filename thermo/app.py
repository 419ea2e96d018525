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
from .console import Talk, show, talking, typed
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
        from .rules import sets_for

        case = _read(case_file, 1 if axisymmetric else ring)
        sets_for(case)  # mistakes in a file of rules are told before the run
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
    from .checks import FAIL, verdict
    from .rules import checks

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


@app.command(
    epilog=f"Example: {NAME} check cases/sampling-stub.toml", context_settings=COMMAND
)
def check(
    case_file: CaseFile,
    rules: Annotated[
        list[str] | None,
        typer.Option(
            "--rules",
            metavar="SET",
            help="Rule set to judge by, 'all', or a file of your own (.toml); may be "
            "given more than once. Left out: what the case says, else process piping.",
            show_default=False,
        ),
    ] = None,
    as_json: AsJson = False,
    units: UnitsOption = Units.SI,
    quiet: Quiet = False,
    debug: Debug = False,  # noqa: ARG001 - read by main
) -> None:
    """Check the joint against the rules: legs, passes, currents, limits."""
    with talking(quiet=quiet, verbose=False):
        from . import check_report
        from .case import read_case
        from .units import UNIT_SYSTEMS

        case, chosen = read_case(case_file), tuple(rules or ())
        if as_json:
            show(check_report.check_json(case, chosen))
        else:
            show(check_report.check_text(case, chosen, UNIT_SYSTEMS[units.value]))
        failed = check_report.has_failed(case, chosen)
    raise typer.Exit(ExitStatus.LIMIT if failed else ExitStatus.OK)


@app.command(epilog=f"Example: {NAME} tables pipe NPS 3/4", context_settings=COMMAND)
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
        from . import table_view

        write = table_view.table_csv if as_csv else table_view.table_text
        write = table_view.table_json if as_json else write
        text = write(table, words or ())
        if figure is not None:
            _draw(figure, table, words or [], units, talk)
        show(text)


def _draw(file: Path, table: str, words: list[str], units: Units, talk: Talk) -> None:
    """Draw the one metal a filter leaves."""
    from .saving import replace_file
    from .table_view import metal_of

    metal, kind = metal_of(table, words), file.suffix.removeprefix(".").lower()
    if kind not in ("svg", "png"):
        words_ = f"--figure {file}: the name must end in .svg or .png"
        raise typer.BadParameter(words_)
    from .figures import picture
    from .figures_material import material_figure
    from .units import UNIT_SYSTEMS

    drawn = material_figure(metal, UNIT_SYSTEMS[units.value])
    replace_file(file, picture(drawn, kind))
    talk.say(f"Wrote {file}")


@app.command(
    epilog=f'Example: {NAME} new --size "NPS 3/4" --material 316L',
    context_settings=COMMAND,
)
def new(
    file: Annotated[
        Path | None,
        typer.Argument(
            metavar="FILE",
            help="The case file to write; left out: stdout.",
            show_default=False,
        ),
    ] = None,
    size: Annotated[str, typer.Option(help="Pipe size, like NPS 3/4 or DN 20.")] = "",
    material: Annotated[str, typer.Option(help="Metal of the pipe, like 316L.")] = "",
    schedule: Annotated[str, typer.Option(help="Usual: 80S or 80.")] = "",
    kind: Annotated[str, typer.Option(help="Kind of fitting. Usual: coupling.")] = "",
    pressure_class: Annotated[
        str, typer.Option("--class", help="Usual: 3000, of a flange 150.")
    ] = "",
    fitting_material: Annotated[str, typer.Option(help="Usual: as the pipe.")] = "",
    filler: Annotated[str, typer.Option(help="Usual: what matches the metals.")] = "",
    passes: Annotated[str, typer.Option(help="How many. Usual: 2.")] = "",
    amps: Annotated[str, typer.Option(help="Current. Usual: by the wall.")] = "",
    travel: Annotated[str, typer.Option(help="Speed. Usual: 60 mm/min.")] = "",
    interpass: Annotated[str, typer.Option(help="Maximum. Usual: by material.")] = "",
    title: Annotated[str, typer.Option(help="Title of the case.")] = "",
    force: Annotated[
        bool, typer.Option("--force", help="Replace a file there is.")
    ] = False,
    quiet: Quiet = False,
    debug: Debug = False,  # noqa: ARG001 - read by main
) -> None:
    """Write a commented case, from options or questions on a terminal."""
    given = {
        "size": size, "material": material, "schedule": schedule, "kind": kind,
        "class": pressure_class, "fitting_material": fitting_material, "filler": filler,
        "passes": passes, "amps": amps, "travel": travel, "interpass": interpass,
        "title": title,
    }  # fmt: skip
    if file is not None and file.exists() and not force:
        words = f"{file} is there already; give another name, or --force to replace it"
        raise typer.BadParameter(words)
    with talking(quiet=quiet, verbose=False) as talk:
        talk.doing = "asking"
        from .new_answers import REQUIRED, answers_from, ask
        from .new_case import new_case_text

        is_enough = all(given[name] for name in REQUIRED)
        is_asking = sys.stdin.isatty() and not is_enough
        answers = ask(given, typed, talk.say) if is_asking else answers_from(given)
        text = new_case_text(answers)
        if file is None:
            show(text)
        else:
            from .saving import replace_file

            replace_file(file, text.encode())
            talk.say(f"Wrote {file}")


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
