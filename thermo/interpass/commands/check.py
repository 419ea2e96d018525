"""The command ``check``: judge the joint by the rules, without heat."""

from typing import Annotated

import typer

from .console import show, talking, terminal_width
from .options import AsJson, CaseFile, Debug, Quiet, UnitsOption
from .running import ended, spoken

EXAMPLE = "check cases/sampling-stub.toml"


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
    units: UnitsOption = None,
    quiet: Quiet = False,
    debug: Debug = False,  # noqa: ARG001 - read by main
) -> None:
    """Check a joint against the rules, without a heat run.

    Legs, gap, passes, currents, energies and limits, each with the rule that says so.
    """
    with talking(quiet=quiet):
        from ..case_file.read import read_case
        from ..face.asking import check as judge
        from ..text.records import json_text

        case = read_case(case_file)
        units = spoken(case, units)
        found = judge(case, rules or ())
        told = found.text(units.value, terminal_width()) if not as_json else ""
        show(told or json_text(found.to_dict()))
    raise ended(failed=found.verdict == "fail")
