"""Make the drawing of a joint with its dimensions, and its beads pass by pass.

    python figures/make_drawing.py

It asserts what is said of the picture before it writes anything.
"""

from itertools import pairwise
from pathlib import Path

from interpass.case_file.read import read_case
from interpass.joint.beads import fillets
from interpass.joint.case import Case
from interpass.pictures.section import draw_dimensions, draw_section
from interpass.pictures.style import STYLE, picture
from interpass.text.files import replace_file
from matplotlib import rc_context
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

ROOT = Path(__file__).parent.parent
CASE = ROOT / "cases" / "mixed-drain.toml"
PICTURE = ROOT / "figures" / "drawing"
SIZE = (7.0, 5.6)  # inch


def check(case: Case) -> None:
    """Fail unless the picture shows what is said of it."""
    grown = fillets(case)
    assert len(grown) == 4, "three beads"
    assert grown[-1].leg_pipe > grown[-1].leg_socket, "the longer leg is along the pipe"
    areas = [f.area for f in grown]
    beads = [b - a for a, b in pairwise(areas)]
    assert min(beads) > 0.8 * max(beads), "every bead brings about as much metal"


def draw(case: Case) -> Figure:
    """Dimensions above, beads below."""
    with rc_context(STYLE):
        figure = Figure(figsize=SIZE)
        FigureCanvasAgg(figure)
        above = figure.add_axes((0.01, 0.37, 0.98, 0.57))
        draw_dimensions(above, case)
        draw_section(figure.add_axes((0.06, 0.01, 0.88, 0.35)), case)
        figure.suptitle(case.title, x=0.01, ha="left", fontsize=11)
    return figure


def main() -> None:
    """Write the picture twice."""
    case = read_case(CASE)
    check(case)
    for kind in ("svg", "png"):
        replace_file(
            PICTURE.with_suffix(f".{kind}"), picture(draw(case), kind), force=True
        )


if __name__ == "__main__":
    main()
