"""Make the picture of the solver's speed against what this machine can do at most.

    OMP_NUM_THREADS=1 python figures/make_roofline.py

One thread, in processor time. The roofs are measured here: adding and multiplying numbers that stay in the
registers, and copying arrays that fit the cache and that do not. The solver's speed is
that of whole runs, in cells x solves per second: axisymmetric on the joint of
`cases/check-joint.toml` at 1 and 0.5 mm, and the ring on `cases/sampling-stub.toml`.

Operations and bytes per cell and solve are counted from the loops of ``thermo/interpass/heat``
(`rows`, `line_solves`): every addition, multiplication, division, least and largest is one. A
solve goes through the radii outward and back in, and what is accepted once more (`LOOPS`); every
array over cells that such a pass reads is 8 bytes, every one that it writes as well, and in the
ring those that all angles share (geometry) are not counted, as they stay in the cache. Surfaces,
probes and the look-up of tables are left out. Divisions and look-ups are likely why the solver
stays below the roofs (a division takes as long as a dozen multiplications); this is not measured.

It asserts what is said of the picture before it writes anything. The numbers are those of
one machine, and differ a little from run to run.
"""

from dataclasses import dataclass, replace
from pathlib import Path
from time import process_time

import numpy as np
from interpass.case_file.read import read_case
from interpass.heat import march
from interpass.heat.model import make_model
from interpass.heat.probes import make_probes
from interpass.heat.waits import plan
from interpass.joint.case import Case
from interpass.pictures.style import STYLE, picture
from interpass.text.files import replace_file
from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from numba import njit

ROOT = Path(__file__).parent.parent
OUT = ROOT / "figures" / "roofline"
ROUNDS = 9
march.perf_counter = process_time  # the solver's own clock
LARGE, SMALL = 16_000_000, 16_000  # numbers copied: beyond any cache; 256 kB both
LANES, DEEP = 64, 20_000  # independent chains of multiply-add; links of each


@dataclass(frozen=True)
class Loop:
    """What one loop of the solver does to each cell."""

    name: str
    operations: int
    state: int  # arrays over all cells, read or written
    shared: int = 0  # arrays of the section alone
    ring_only: bool = False


LOOPS = (
    Loop("outward: heat capacity, conductivity", 19, 3, 2),  # T H slope; volume metal
    Loop("outward: heat into cells", 22, 5, 5),  # loss C D G_r G_z; source, 4 half paths
    Loop(
        "outward: heat round the ring", 22, 1, 2, ring_only=True
    ),  # G_theta; plane radius
    Loop("outward: line solves along r", 11, 1),  # E
    Loop("inward: line solves along r", 5, 2),  # E D
    Loop("inward: line solves round the ring", 30, 1, 0, ring_only=True),  # G_theta
    Loop("inward: line solves along z", 13, 2),  # C G_z
    Loop("inward: new temperatures", 20, 6, 2),  # T H slope; D T_new H_new; volume metal
    Loop("step accepted", 2, 7),  # T_new H_new T peak; T H slope
)


@dataclass(frozen=True)
class Roofs:
    """What the machine can do."""

    flops: float  # per s
    cache: float  # B/s
    memory: float


@dataclass(frozen=True)
class Speed:
    """What the solver does."""

    name: str
    cells: int
    rate: float  # cells x solves per s
    operations: int  # per cell and solve
    traffic: int  # B

    @property
    def flops(self) -> float:
        """Operations per s."""
        return self.rate * self.operations

    @property
    def intensity(self) -> float:
        """Operations per byte."""
        return self.operations / self.traffic


@njit(fastmath=True)
def chains(x: np.ndarray, links: int) -> None:
    """Multiply and add again and again, every number by itself."""
    for start in range(0, x.size, LANES):
        lane = x[start : start + LANES]
        for _ in range(links):
            for n in range(LANES):
                lane[n] = lane[n] * 0.999 + 0.001


def flop_rate() -> float:
    """Additions and multiplications per second, on numbers that stay close by."""
    x = np.ones(LANES)
    chains(x, 1)
    return max(2 * LANES * DEEP / timed(lambda: chains(x, DEEP)) for _ in range(ROUNDS))


def copy_rate(size: int) -> float:
    """Bytes read and written per second by a copy."""
    source = np.ones(size)
    target = np.empty_like(source)
    times = max(1, LARGE // size // 4)

    def copy() -> None:
        for _ in range(times):
            np.copyto(target, source)

    return max(2 * source.nbytes * times / timed(copy) for _ in range(ROUNDS))


def timed(work) -> float:
    """Seconds one call takes."""
    clock = process_time()
    work()
    return process_time() - clock


def counted(*, ring: bool) -> tuple[int, int]:
    """Operations, and bytes moved, per cell and solve."""
    loops = [x for x in LOOPS if ring or not x.ring_only]
    arrays = sum(x.state + (0 if ring else x.shared) for x in loops)
    return sum(x.operations for x in loops), 8 * arrays


def axisymmetric(cell: float) -> Speed:
    """Whole runs of the joint for checks; cell in m."""
    case = read_case(ROOT / "cases" / "check-joint.toml")
    case = replace(case, model=replace(case.model, cell=cell, ring=1))
    runs = [plan(case) for _ in range(ROUNDS)]
    rate = max(run.cells * run.steps / run.solve_time for run in runs)
    name = f"axisymmetric, {1e3 * cell:g} mm"
    return Speed(name, runs[0].cells, rate, *counted(ring=False))


def ring() -> Speed:
    """A faint arc that stays and melts nothing: every step is one solve."""
    case = read_case(ROOT / "cases" / "sampling-stub.toml")
    found = [a_minute(case) for _ in range(3)]
    cells = found[0][0]
    rate = max(cells * solves / seconds for _, solves, seconds in found)
    return Speed("ring of 48, 1 mm", cells, rate, *counted(ring=True))


def a_minute(case: Case) -> tuple[int, int, float]:
    """Cells, solves and seconds of a minute of 50 W at one place."""
    model = make_model(case)
    state = march.start(model, make_probes(model))
    march.begin_pass(state, 1)
    march.heat(state, 50.0, 60.0, 0.0, 0.0)
    cells = int((state.body.volume[1] > 0).sum()) * model.n_theta
    return cells, state.steps, state.seconds


def check(roofs: Roofs, speeds: list[Speed]) -> None:
    """Fail unless the picture shows what is said of it."""
    assert roofs.memory < roofs.cache, "the cache is faster than the memory"
    for speed in speeds:
        roof = min(roofs.flops, speed.intensity * roofs.cache)
        assert speed.flops < speed.intensity * roofs.memory, f"{speed.name}: memory"
        assert speed.flops < roof, f"{speed.name} is below the roof"
        assert speed.flops > 0.03 * roof, f"{speed.name} is within 30 of the roof"
    assert speeds[1].rate > speeds[0].rate, "longer rows are quicker"


def draw(roofs: Roofs, speeds: list[Speed]) -> Figure:
    """Operations per second against operations per byte."""
    with rc_context(STYLE):
        figure = Figure(figsize=(7.6, 4.8), layout="constrained")
        FigureCanvasAgg(figure)
        axes = figure.subplots()
        x = np.geomspace(0.03, 30, 200)
        for rate, style, name in (
            (roofs.cache, "-", f"copy in the cache, {roofs.cache / 1e9:.0f} GB/s"),
            (roofs.memory, "--", f"copy in memory, {roofs.memory / 1e9:.0f} GB/s"),
        ):
            roof = np.minimum(x * rate, roofs.flops)
            axes.loglog(x, roof / 1e9, style, color="black", lw=1.5, label=name)
        axes.text(28, roofs.flops / 1e9 * 1.12, f"{roofs.flops / 1e9:.0f} G operations/s",
                  ha="right", fontsize=9)  # fmt: skip
        for speed, color, marker in zip(
            speeds, ("#56b4e9", "#0072b2", "#d55e00"), "osD", strict=True
        ):
            axes.plot(speed.intensity, speed.flops / 1e9, marker, color=color, ms=9,
                      label=f"{speed.name}: {speed.rate / 1e6:.0f} M cells x solves/s")  # fmt: skip
        in_words(axes)
        axes.set_title(
            "The solver on one thread, and what the machine can do", loc="left"
        )
    return figure


def in_words(axes: Axes) -> None:
    """Label the axes with plain numbers."""
    axes.set_xlabel("Operations per byte moved")
    axes.set_ylabel("Operations per second, G")
    xs, ys = (0.03, 0.1, 0.3, 1, 3, 10, 30), (0.3, 1, 3, 10, 30, 100)
    axes.set_xlim(0.03, 30)
    axes.set_ylim(0.3, 100)
    axes.set_xticks(xs, [f"{x:g}" for x in xs])
    axes.set_yticks(ys, [f"{y:g}" for y in ys])
    axes.minorticks_off()
    axes.grid(visible=True, alpha=0.25)
    axes.legend(loc="lower right", fontsize=9, frameon=False)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)


def table(roofs: Roofs, speeds: list[Speed]) -> str:
    """Write the numbers as CSV."""
    lines = [
        "# Speed of the solver against the machine, one thread; figures/make_roofline.py.",
        (
            f"# Roofs: {roofs.flops / 1e9:.1f} G operations/s; copy {roofs.cache / 1e9:.1f} GB/s "
            f"in the cache, {roofs.memory / 1e9:.1f} GB/s in memory."
        ),
        (
            "run,cells,M_cells_solves_per_s,ns_per_cell_and_solve,operations,bytes,"
            "G_operations_per_s,share_of_roof_in_cache,share_of_roof_in_memory"
        ),
    ]
    for s in speeds:
        shares = [
            s.flops / min(roofs.flops, s.intensity * rate)
            for rate in (roofs.cache, roofs.memory)
        ]
        lines.append(
            f'"{s.name}",{s.cells},{s.rate / 1e6:.1f},{1e9 / s.rate:.1f},{s.operations},'
            f"{s.traffic},{s.flops / 1e9:.2f},{shares[0]:.2f},{shares[1]:.2f}"
        )
    return "\n".join(lines) + "\n"


def main() -> None:
    """Measure, print, then write table and picture."""
    roofs = Roofs(flop_rate(), copy_rate(SMALL), copy_rate(LARGE))
    speeds = [axisymmetric(1.0e-3), axisymmetric(0.5e-3), ring()]
    print(table(roofs, speeds), end="")
    check(roofs, speeds)
    replace_file(OUT.with_suffix(".csv"), table(roofs, speeds).encode(), force=True)
    for kind in ("svg", "png"):
        replace_file(
            OUT.with_suffix(f".{kind}"), picture(draw(roofs, speeds), kind), force=True
        )


if __name__ == "__main__":
    main()
