"""Make tests/EVIDENCE.md and the figures evidence and tornado, from real runs.

    python tests/evidence/make_evidence.py             # all of it, about four minutes
    python tests/evidence/make_evidence.py --redraw    # page and pictures from the tables

A check beyond its bound stops it before anything is written.
"""

import sys
from pathlib import Path

TESTS = Path(__file__).parent.parent
sys.path.insert(0, str(TESTS))

from interpass.pictures.style import picture
from interpass.text.files import replace_file

from evidence.check import Check, read_table, table
from evidence.page import page
from evidence.pictures import agreement, tornado
from evidence.tornado import Bar, study

FIGURES = TESTS.parent / "figures"
CHECKS, BARS = FIGURES / "evidence.csv", FIGURES / "tornado.csv"
PAGE = TESTS / "EVIDENCE.md"


def say(text):
    """Tell how far it is."""
    print(text, file=sys.stderr)  # noqa: T201


def all_checks(*, quick=False):
    """Every check in the order of the page, or those that take no time."""
    from evidence import in718, joint_checks, listed, programs, rods

    say("the tests' own comparisons")
    found = listed.listed_checks(quick=quick)
    say("other programs")
    found += programs.program_checks(quick=quick)
    say("whole plans")
    found += joint_checks.joint_checks(quick=quick)
    found += in718.in718_checks() + rods.rod_checks()
    order = list(dict.fromkeys(c.group for c in found))
    last = ["Measured: walls left to cool", rods.RODS, "Common practice"]
    order = [name for name in order if name not in last] + last
    return sorted(found, key=lambda c: order.index(c.group))


def stored():
    """Checks and bars as they stand in the tables."""
    return (
        read_table(Check, CHECKS.read_text(encoding="utf-8")),
        read_table(Bar, BARS.read_text(encoding="utf-8")),
    )


def write(checks, bars):
    """Write page and pictures."""
    for stem, figure in (("evidence", agreement(checks)), ("tornado", tornado(bars))):
        for kind in ("svg", "png"):
            replace_file(FIGURES / f"{stem}.{kind}", picture(figure, kind), force=True)
    replace_file(PAGE, page(checks, bars).encode(), force=True)


def main():
    """Run everything, or redraw what was run."""
    if "--redraw" not in sys.argv:
        checks, bars = all_checks(), study(say)
        replace_file(CHECKS, table(checks).encode(), force=True)
        replace_file(BARS, table(bars).encode(), force=True)
    write(*stored())


if __name__ == "__main__":
    main()
