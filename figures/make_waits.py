"""Make the picture of how far waits are off against what they cost: cell x tolerance.

    python figures/make_waits.py

Two shipped cases, the ring resolved; the error is that of the wait against cells of
0.35 mm at 0.1 K; the cost is cells times solves, as time in the solver relative to the
default of the same case. It asserts what is said of the picture before it writes anything.

What is to be seen: up to 1 K waits are within 0.6 % from 1 mm on, within 1 % on 2 mm, and the
tolerance hardly matters. At 3 K the steps alone cost up to 5 % on cells of 1 mm and finer, so
0.3 K is the default; finer cells cost much for little.
"""

from dataclasses import dataclass, replace
from pathlib import Path

from interpass.case_file.read import read_case
from interpass.heat.waits import plan
from interpass.joint.case import ModelOptions
from interpass.pictures.style import STYLE, picture
from interpass.text.files import replace_file
from matplotlib import rc_context
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

ROOT = Path(__file__).parent.parent
OUT = ROOT / "figures" / "waits"
CASES = ("duplex-instrument", "us-manifold")
CELLS = (2.0, 1.4, 1.0, 0.7, 0.5)  # mm
TOLERANCES = (3.0, 1.0, 0.3, 0.1)  # K
FINEST = (0.35, 0.1)  # mm, K
DEFAULT = ModelOptions()
LOOKS = dict(zip(CELLS, (("#e69f00", "o"), ("#56b4e9", "v"), ("#0072b2", "s"),
                         ("#009e73", "^"), ("#cc79a7", "D")), strict=True))  # fmt: skip


@dataclass(frozen=True)
class Point:
    """One run of the study."""

    case: str
    cell: float  # mm
    tolerance: float  # K
    wait: float  # s before pass 2
    cells: int
    steps: int
    ms: float  # of solver, on this machine now
    off: float  # % of the finest wait


def run(name: str, cell: float, tolerance: float, finest: float | None = None) -> Point:
    """One case; its wait before pass 2 and what it cost."""
    case = read_case(ROOT / "cases" / f"{name}.toml")
    options = replace(
        case.model, cell=cell / 1e3, tolerance=tolerance, end_after=0.0, ring=DEFAULT.ring
    )
    history = plan(replace(case, model=options))
    wait = history.passes[1].wait
    off = 100 * (wait / finest - 1) if finest else 0.0
    ms = history.solve_time * 1e3
    return Point(name, cell, tolerance, wait, history.cells, history.steps, ms, off)


def study() -> list[Point]:
    """Every pair of cell and tolerance of every case, the finest of each first."""
    points = []
    for name in CASES:
        finest = run(name, *FINEST)
        points.append(finest)
        points += [run(name, c, t, finest.wait) for c in CELLS for t in TOLERANCES]
    return points


def is_default(p: Point) -> bool:
    """Whether a point is what a case gets that says nothing."""
    return (p.cell, p.tolerance) == (DEFAULT.cell * 1e3, DEFAULT.tolerance)


def check(points: list[Point]) -> None:
    """Fail unless the picture shows what is said of it."""
    for p in points:
        most = 5.0
        if p.tolerance <= 1.0:
            most = 0.6 if p.cell <= 1.0 else 1.0
        assert abs(p.off) < most, f"{p} is off by more than {most} %"


def draw(points: list[Point]) -> Figure:
    """Error of the wait against cost, a panel for each case, a line for each cell."""
    with rc_context(STYLE):
        figure = Figure(figsize=(9.5, 4.6), layout="constrained")
        FigureCanvasAgg(figure)
        for axes, name in zip(figure.subplots(1, 2, sharey=True), CASES, strict=True):
            mine = [p for p in points if p.case == name]
            default = next(p for p in mine if is_default(p))
            axes.axhspan(-0.5, 0.5, color="0.93", zorder=0, label="within 0.5 %")
            for cell, (color, marker) in LOOKS.items():
                line = [p for p in mine if p.cell == cell]
                cost = [p.cells * p.steps / (default.cells * default.steps) for p in line]
                axes.semilogx(
                    cost, [p.off for p in line], color=color, marker=marker, ms=5,
                    label=f"cell {cell:g} mm",
                )  # fmt: skip
            axes.plot(
                1.0, default.off, "o", ms=13, mfc="none", mec="black", label="default"
            )
            axes.set_xticks([0.2, 0.5, 1, 2, 5, 10], ["0.2", "0.5", "1", "2", "5", "10"])
            axes.minorticks_off()
            axes.set_xlabel("Cost: cells x steps, default = 1")
            axes.set_title(f"{name}: {mine[0].wait:.1f} s", loc="left")
        figure.axes[0].set_ylabel("Error of the wait, %")
        handles, labels = figure.axes[0].get_legend_handles_labels()
        figure.legend(handles, labels, loc="outside lower center", ncols=4, fontsize=9)
    return figure


def table(points: list[Point]) -> str:
    """Study as CSV; without times, which differ from run to run."""
    lines = [
        "# Error of the wait before pass 2 against cells and tolerance; figures/make_waits.py.",
        "case,cell_mm,tolerance_K,cells,steps,wait_s,off_percent",
    ]
    lines += [
        f"{p.case},{p.cell:g},{p.tolerance:g},{p.cells},{p.steps},{p.wait:.2f},{p.off:.2f}"
        for p in points
    ]
    return "\n".join(lines) + "\n"


def main() -> None:
    """Run the study, print it with its times, then write table and picture."""
    points = study()
    for p in points:
        print(
            f"{p.case:18} {p.cell:5g} mm {p.tolerance:5g} K {p.cells:7} cells "
            f"{p.steps:5} steps {p.ms:8.1f} ms  {p.wait:7.2f} s  {p.off:+.2f} %"
        )
    check(points)
    replace_file(OUT.with_suffix(".csv"), table(points).encode(), force=True)
    for kind in ("svg", "png"):
        replace_file(OUT.with_suffix(f".{kind}"), picture(draw(points), kind), force=True)


if __name__ == "__main__":
    main()
