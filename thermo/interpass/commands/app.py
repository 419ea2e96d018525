"""The program ``interpass``: its commands put together, and its exit status.

Results go to stdout, everything else to stderr. Slow modules are imported inside the
functions that need them, so that help and usage errors come at once.
"""

import atexit
import gc
import sys
from collections.abc import Sequence
from typing import Annotated

import typer

from .. import __version__
from ..text.errors import ExitStatus, ThermoError
from ..text.records import plain_text
from . import card as command_card
from . import chart as command_chart
from . import check as command_check
from . import compare as command_compare
from . import desk as command_desk
from . import fit as command_fit
from . import lesson as command_lesson
from . import new as command_new
from . import plan as command_plan
from . import review as command_review
from . import tables as command_tables
from .console import open_missing, show, tell
from .options import COMMAND

NAME = "interpass"
STOPPED = "\nStopped by Ctrl-C.\n"


atexit.register(gc.freeze)  # or Python takes 0.2 s to look for cycles before it ends


STATUSES = (
    "Exit status: 0 done and every limit holds, 1 a bug of the program, 2 wrong usage, "
    "3 mistakes in the case file, 4 the run failed, 5 a limit is not met, 130 stopped by "
    "Ctrl-C."
)

COMMANDS = (  # in the order of --help
    (command_plan.plan, command_plan.EXAMPLE),
    (command_check.check, command_check.EXAMPLE),
    (command_card.card, command_card.EXAMPLE),
    (command_chart.chart, command_chart.EXAMPLE),
    (command_compare.compare, command_compare.EXAMPLE),
    (command_lesson.lesson, command_lesson.EXAMPLE),
    (command_desk.desk, command_desk.EXAMPLE),
    (command_review.review, command_review.EXAMPLE),
    (command_fit.fit, command_fit.EXAMPLE),
    (command_tables.tables, command_tables.EXAMPLE),
    (command_new.new, command_new.EXAMPLE),
)

app = typer.Typer(
    name=NAME,
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings=COMMAND,
    epilog=STATUSES,
)


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


for command, example in COMMANDS:
    app.command(epilog=f"\b\nExample: {NAME} {example}", context_settings=COMMAND)(
        command
    )


def main(argv: Sequence[str] | None = None) -> int:
    """Run the program and return its exit status; no traceback for a user's mistake.

    Anything but a ThermoError or an OSError is our bug, and Python tells it.

    Parameters
    ----------
    argv : sequence of str, optional
        Arguments without the program's name; those of the process when left out.
    """
    arguments = list(sys.argv[1:] if argv is None else argv)
    open_missing()
    try:
        app(arguments, prog_name=NAME)
        status = 0
    except SystemExit as stop:  # typer has told usage errors already
        status = int(stop.code or 0)
        if isinstance(getattr(stop.__context__, "__cause__", None), KeyboardInterrupt):
            tell(STOPPED)  # outside of what tells it with what was being done
    except KeyboardInterrupt:
        tell(STOPPED)
        status = ExitStatus.INTERRUPTED
    except (ThermoError, OSError) as error:
        if "--debug" in arguments:
            raise
        tell(plain_text(f"Error: {_words(error)}\n"))
        status = getattr(error, "status", ExitStatus.CASE)
    return int(status)


def _words(error: Exception) -> str:
    """Say what went wrong; of the system's errors which file, where it is known."""
    if not isinstance(error, OSError):
        return str(error)
    what = error.strerror or str(error)
    return f"{error.filename}: {what}" if error.filename else what


if __name__ == "__main__":
    sys.exit(main())
