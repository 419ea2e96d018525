"""The command ``desk``: plan and weld from a page of this machine."""

from pathlib import Path
from typing import Annotated

import typer

from ..text.errors import ExitStatus
from .console import show, talking
from .options import Debug, Quiet, Units, UnitsOption, case_files
from .running import spoken

EXAMPLE = "desk cases/sampling-stub.toml --no-browser"
WELDS = Path("welds")

DeskCase = Annotated[
    Path | None,
    typer.Argument(
        metavar="CASE",
        help="A case file to begin with; one of the program's own when left out.",
        show_default=False,
        autocompletion=case_files,
    ),
]

Port = Annotated[
    int, typer.Option("--port", min=0, max=65535, help="Port; 0 takes a free one.")
]

Browser = Annotated[
    bool, typer.Option("--browser/--no-browser", help="Open the page in the browser.")
]

Phone = Annotated[
    bool,
    typer.Option("--phone", help="Also answer phones of the local network, by QR code."),
]

WeldsFolder = Annotated[
    Path,
    typer.Option("--out", metavar="DIR", help="Folder for the logs of the welds."),
]


def desk(
    case_file: DeskCase = None,
    port: Port = 0,
    browser: Browser = True,
    phone: Phone = False,
    out: WeldsFolder = WELDS,
    units: UnitsOption = None,
    quiet: Quiet = False,
    debug: Debug = False,  # noqa: ARG001 - read by main
) -> None:
    """Open a page: describe a joint, weld by it, review it."""
    with talking(quiet=quiet, verbose=False) as talk:
        text = _case(case_file)
        talk.doing = "the desk"
        _need_libraries()
        from ..desk.opening import open_desk

        def tell_address(address: str) -> None:
            show(address + "\n")
            talk.say("The address holds the key: whoever has it can use the desk.")
            talk.say("Ctrl-C stops the desk; what was welded is on disk.")
            if browser:
                import webbrowser

                webbrowser.open(address)

        name = case_file.name if case_file else "case.toml"
        try:
            open_desk(
                text,
                name,
                out,
                tell_address,
                port=port,
                phone=phone,
                units=_page_units(text if case_file else "", units).value,
            )
        except KeyboardInterrupt:
            talk.say(f"\nThe desk is closed; its welds are in {out}.")
            raise typer.Exit(ExitStatus.INTERRUPTED) from None


def _case(case_file: Path | None) -> str:
    """Text to begin with; the page tells what may be wrong in it."""
    from importlib import resources

    from ..text.files import case_text

    if case_file is not None:
        return case_text(case_file)
    return (resources.files("interpass.desk") / "desk.toml").read_text(encoding="utf-8")


def _page_units(text: str, asked: Units | None) -> Units:
    """Units the page opens in: as asked, else those of a case that was given."""
    from ..case_file.read import parse_case
    from ..text.errors import ThermoError

    try:
        return spoken(parse_case(text) if text else None, asked)
    except ThermoError:  # the page tells what is wrong
        return spoken(None, asked)


def _need_libraries() -> None:
    """Say how to install what the desk alone needs."""
    from importlib.util import find_spec

    from ..text.errors import CatalogueError

    missing = [n for n in ("starlette", "uvicorn", "segno") if find_spec(n) is None]
    if missing:
        msg = f"the desk needs {', '.join(missing)}"
        raise CatalogueError(msg, "pip install 'interpass[desk]'")
