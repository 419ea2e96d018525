"""How the cost grows: with cells, ring cells, passes and joints.

    OMP_NUM_THREADS=1 python tests/benchmarks/scaling.py

Time in the solver, best of several; the exponent is the slope of log time against log
size. Against cells and ring cells it is the time of one step, so that the steps, which
finer cells also need more of, do not count. Run alone.
"""

import sys
from dataclasses import replace
from pathlib import Path
from time import perf_counter
from typing import NamedTuple

import numpy as np
from interpass.case_file.read import read_case
from interpass.heat.waits import plan

ROOT = Path(__file__).parents[2]
CASE = "check-joint"  # three passes and their waits, given
CELLS = (1.4e-3, 1.0e-3, 0.7e-3, 0.5e-3, 0.35e-3, 0.25e-3)  # m
RINGS = (12, 24, 48, 96)
PASSES = (1, 2, 4, 8)
JOINTS = (1, 2, 4, 8)
ROUNDS = 5


class Study(NamedTuple):
    """Cost against one size."""

    what: str
    sizes: list[float]
    seconds: list[float]

    @property
    def exponent(self) -> float:
        """Slope of log time against log size."""
        return float(np.polyfit(np.log(self.sizes), np.log(self.seconds), 1)[0])

    @property
    def late_exponent(self) -> float:
        """The same between the two largest sizes."""
        rise = self.seconds[-1] / self.seconds[-2]
        return float(np.log(rise) / np.log(self.sizes[-1] / self.sizes[-2]))


def joint(**options):
    """The joint, axisymmetric on 1 mm cells unless told otherwise."""
    case = read_case(ROOT / "cases" / f"{CASE}.toml")
    options = {"cell": 1e-3, "ring": 1, "end_after": 0.0} | options
    return replace(case, model=replace(case.model, **options))


def best(case, rounds):
    """Least time in the solver [s], and the run."""
    runs = [plan(case) for _ in range(rounds)]
    return min(run.solve_time for run in runs), runs[0]


def per_step(cases, rounds):
    """Cells and time of one step of each case."""
    found = [best(case, rounds) for case in cases]
    return [run.cells for _, run in found], [t / run.steps for t, run in found]


def of_cells(sizes=CELLS, rounds=ROUNDS):
    """Finer cells of the section."""
    return Study(
        "cells of the section", *per_step([joint(cell=c) for c in sizes], rounds)
    )


def of_ring(sizes=RINGS, rounds=2):
    """More cells round the ring; one pass, and the wait left out."""
    case = joint()
    one = replace(case, passes=case.passes[:1])
    cases = [replace(one, model=replace(one.model, ring=n)) for n in sizes]
    return Study("cells of the ring", *per_step(cases, rounds))


def of_passes(counts=PASSES, rounds=ROUNDS):
    """More passes, each like the second, and a wait of 90 s after every one."""
    case = joint(end_after=90.0)
    first, second = case.passes[:2]
    seconds = []
    for count in counts:
        rest = [replace(second, number=n, wait=90.0) for n in range(2, count + 1)]
        seconds.append(best(replace(case, passes=(first, *rest)), rounds)[0])
    return Study("passes", list(counts), seconds)


def of_joints(counts=JOINTS, rounds=ROUNDS):
    """More joints one after another, from the case to the history."""
    case, seconds = joint(), []
    for count in counts:
        times = []
        for _ in range(rounds):
            clock = perf_counter()
            for _ in range(count):
                plan(case)
            times.append(perf_counter() - clock)
        seconds.append(min(times))
    return Study("joints", list(counts), seconds)


def table(study):
    """Lines of text."""
    lines = [
        (
            f"{study.what}: time goes as size to the power {study.exponent:.2f} "
            f"(last two: {study.late_exponent:.2f})"
        )
    ]
    lines += [
        f"{size:10.0f}{1e3 * seconds:10.3f} ms"
        for size, seconds in zip(study.sizes, study.seconds, strict=True)
    ]
    return lines


def main():
    """Print the tables."""
    plan(joint())  # loads the solver
    for study in (of_cells, of_ring, of_passes, of_joints):
        sys.stdout.write("\n".join(table(study())) + "\n\n")


if __name__ == "__main__":
    main()
