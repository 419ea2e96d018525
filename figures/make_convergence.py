"""Make the picture of error against cost: cells of 2 to 0.25 mm, tolerances 10 to 0.1 K.

    python figures/make_convergence.py

The joint is `cases/check-joint.toml`, three passes and their cooling; the error is the
worst of probes A to D against finite elements (``tests/reference/fem_joint.csv``); the
cost is cells times steps, which does not depend on the machine. It asserts what is said
of the picture before it writes anything.

What is to be seen: below 3 K the steps no longer matter on cells of 1 mm; at coarse steps
the error of the steps is hidden in part by that of the cells (it is the larger of the
two, right against left); at one tolerance it is much the same on all cells, because the
steps see their splitting; and cells of 0.25 mm are hardly closer than 0.5 mm. The clearance is
0.25 mm wide: on fine cells the column that holds it is wider than a cell, just where the
fillet's root makes the steepest gradients. From 0.18 mm on it converges again.
"""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from interpass.case_file.read import read_case
from interpass.heat.history import History
from interpass.heat.waits import plan
from interpass.joint.case import ModelOptions
from interpass.pictures.style import STYLE, picture
from interpass.text.files import replace_file
from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from scipy.interpolate import PchipInterpolator

ROOT = Path(__file__).parent.parent
CASE = ROOT / "cases" / "check-joint.toml"
FINITE_ELEMENTS = ROOT / "tests" / "reference" / "fem_joint.csv"
OUT = ROOT / "figures" / "convergence"
CELLS = (2.0, 1.0, 0.5, 0.25)  # mm
TOLERANCES = (10.0, 3.0, 1.0, 0.3, 0.1)  # K
RESOLVED = 0.01  # K: no error of the steps is left
TOP = 1.7  # of the largest error: room for its label below the title
PROBES = 4  # A to D; E lies between two beads, where the source's edge crosses cells
DEFAULT = ModelOptions()
LOOKS = dict(zip(CELLS, (("#e69f00", "o"), ("#0072b2", "s"), ("#009e73", "^"),
                         ("#cc79a7", "D")), strict=True))  # fmt: skip


@dataclass(frozen=True)
class Point:
    """One run of the study."""

    cell: float  # mm
    tolerance: float  # K
    cells: int
    steps: int
    error: float  # K against finite elements, worst of A to D at any time
    of_steps: float  # K against the same cells with resolved steps
    ms: float  # of solver, on this machine now

    @property
    def cost(self) -> int:
        """Cells times steps."""
        return self.cells * self.steps


def run(cell: float, tolerance: float) -> History:
    """Reference joint, axisymmetric."""
    case = read_case(CASE)
    options = replace(case.model, cell=cell / 1e3, tolerance=tolerance, ring=1)
    return plan(replace(case, model=options))


def reference() -> tuple[np.ndarray, np.ndarray]:
    """Times [s] and probe temperatures [K] of the finite elements."""
    lines = FINITE_ELEMENTS.read_text(encoding="utf-8").splitlines()
    rows = [x for x in lines if not x.startswith("#")][1:]
    table = np.loadtxt(rows, delimiter=",")
    return table[:, 0], table[:, 1 : 1 + PROBES] + 273.15


def worst(history: History, times: np.ndarray, expected: np.ndarray) -> float:
    """Largest difference of probes A to D at any of the times [K]."""
    found = [
        PchipInterpolator(history.time, trace.temperature)(times)
        for trace in history.traces[:PROBES]
    ]
    return float(np.abs(np.transpose(found) - expected).max())


def study() -> tuple[list[Point], dict[float, float]]:
    """Every pair of cell and tolerance; error of the cells alone by cell."""
    times, expected = reference()
    points, of_cells = [], {}
    for cell in CELLS:
        resolved = run(cell, RESOLVED)
        of_cells[cell] = worst(resolved, times, expected)
        traces = resolved.traces[:PROBES]
        same = [PchipInterpolator(resolved.time, t.temperature)(times) for t in traces]
        for tolerance in TOLERANCES:
            history = run(cell, tolerance)
            points.append(
                Point(
                    cell, tolerance, history.cells, history.steps,
                    worst(history, times, expected),
                    worst(history, times, np.transpose(same)), history.solve_time * 1e3,
                )
            )  # fmt: skip
    return points, of_cells


def check(points: list[Point], of_cells: dict[float, float]) -> None:
    """Fail unless the picture shows what is said of it."""
    default = next(p for p in points if is_default(p))
    assert default.error < 2.5, "the default is within 2.5 K of finite elements"
    assert default.of_steps < 0.7, "the default's steps alone are within 0.7 K"
    assert of_cells[0.5] < 1.0, "cells of 0.5 mm are within 1 K"
    for cell in CELLS:
        by_steps = [p.of_steps for p in points if p.cell == cell]
        assert by_steps == sorted(by_steps, reverse=True), "smaller tolerance, closer"
    coarse = [p for p in points if p.tolerance == 10.0 and p.cell < 2.0]
    assert all(p.of_steps > 2.0 for p in coarse), "coarse steps are off by themselves"
    fine = [p for p in points if p.tolerance == DEFAULT.tolerance]
    assert all(p.of_steps < 0.2 for p in fine), "whatever the cells: splitting is seen"


def is_default(p: Point) -> bool:
    """Whether a point is what a case gets that says nothing."""
    return (p.cell, p.tolerance) == (DEFAULT.cell * 1e3, DEFAULT.tolerance)


def draw(points: list[Point], of_cells: dict[float, float]) -> Figure:
    """Error against cost, and the error of the steps alone against the tolerance."""
    with rc_context(STYLE):
        figure = Figure(figsize=(9.5, 4.8), layout="constrained")
        FigureCanvasAgg(figure)
        left, right = figure.subplots(1, 2)
        draw_cost(left, points, of_cells)
        draw_steps(right, points)
        handles, labels = left.get_legend_handles_labels()
        figure.legend(
            handles, labels, loc="outside lower center", ncols=len(CELLS) + 1,
            frameon=False, fontsize=9,
        )  # fmt: skip
    return figure


def draw_cost(axes: Axes, points: list[Point], of_cells: dict[float, float]) -> None:
    """Draw a line for each cell from tolerance 10 K to 0.1 K."""
    for cell, (color, marker) in LOOKS.items():
        mine = [p for p in points if p.cell == cell]
        cost, error = [p.cost for p in mine], [p.error for p in mine]
        axes.loglog(
            cost, error, color=color, marker=marker, ms=5, label=f"cell {cell:g} mm"
        )
        axes.hlines(of_cells[cell], cost[-1], 2.2 * cost[-1], color=color, ls=":", lw=1.5)
    for p in points:
        if p.cell == CELLS[-1] and p.tolerance > 1.0:  # the others lie upon one another
            name = "tolerance " if p.tolerance == TOLERANCES[0] else ""
            axes.annotate(
                f"{name}{p.tolerance:g} K", (p.cost, p.error), xytext=(8, 3), fontsize=8,
                textcoords="offset points", color=LOOKS[p.cell][0],
            )  # fmt: skip
    mark_default(axes, [(p.cost, p.error) for p in points if is_default(p)])
    axes.set_xlabel("Cost: cells x steps")
    axes.set_ylabel("Worst error at probes A to D, K")
    axes.set_title("Against finite elements (dotted: cells alone)", loc="left")
    axes.set_xticks([1e5, 1e6, 1e7], ["0.1 million", "1 million", "10 million"])
    axes.set_ylim(0.25, TOP * max(p.error for p in points))
    in_plain_numbers(axes)


def draw_steps(axes: Axes, points: list[Point]) -> None:
    """Draw the error that the steps make by themselves."""
    for cell, (color, marker) in LOOKS.items():
        mine = [p for p in points if p.cell == cell]
        tolerance, error = [p.tolerance for p in mine], [p.of_steps for p in mine]
        axes.loglog(tolerance, error, color=color, marker=marker, ms=5)
    mark_default(axes, [(p.tolerance, p.of_steps) for p in points if is_default(p)])
    axes.set_xlabel("Tolerance, K")
    axes.set_ylabel("Error of the steps alone, K")
    axes.set_title("Against the same cells, fine steps", loc="left")
    axes.set_xticks(TOLERANCES, [f"{x:g}" for x in TOLERANCES])
    axes.invert_xaxis()
    axes.set_ylim(0.01, TOP * max(p.of_steps for p in points))
    in_plain_numbers(axes)


def mark_default(axes: Axes, at: list[tuple[float, float]]) -> None:
    """Ring the default."""
    x, y = zip(*at, strict=True)
    axes.plot(x, y, "o", ms=13, mfc="none", mec="black", mew=1.2, ls="", label="default")


def in_plain_numbers(axes: Axes) -> None:
    """Label a logarithmic error axis with the numbers themselves."""
    low, high = axes.get_ylim()
    ticks = [
        x
        for x in (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0)
        if low <= x <= high
    ]
    axes.set_yticks(ticks, [f"{x:g}" for x in ticks])
    axes.minorticks_off()
    axes.grid(visible=True, alpha=0.25)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)


def table(points: list[Point], of_cells: dict[float, float]) -> str:
    """Study as CSV; without times, which differ from run to run."""
    lines = [
        "# Error against cost on cases/check-joint.toml; figures/make_convergence.py.",
        "# Error: worst of probes A to D at any time, against tests/reference/fem_joint.csv.",
        "cell_mm,tolerance_K,cells,steps,error_K,error_of_steps_K,error_of_cells_K",
    ]
    lines += [
        f"{p.cell:g},{p.tolerance:g},{p.cells},{p.steps},{p.error:.2f},{p.of_steps:.2f},"
        f"{of_cells[p.cell]:.2f}"
        for p in points
    ]
    return "\n".join(lines) + "\n"


def main() -> None:
    """Run the study, print it with its times, then write table and picture."""
    points, of_cells = study()
    for p in points:
        print(
            f"{p.cell:5g} mm {p.tolerance:5g} K {p.cells:6} cells {p.steps:5} steps "
            f"{p.ms:7.1f} ms  error {p.error:5.2f} K, of the steps {p.of_steps:5.2f} K, "
            f"of the cells {of_cells[p.cell]:5.2f} K"
        )
    check(points, of_cells)
    replace_file(OUT.with_suffix(".csv"), table(points, of_cells).encode(), force=True)
    for kind in ("svg", "png"):
        replace_file(
            OUT.with_suffix(f".{kind}"), picture(draw(points, of_cells), kind), force=True
        )


if __name__ == "__main__":
    main()
