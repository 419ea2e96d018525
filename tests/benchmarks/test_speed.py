"""Speed on the reference joint, at the same worst error against converged finite elements.

    pytest tests/benchmarks                # timed, with the ratios printed
    pytest tests/benchmarks --benchmark-disable   # run once each, nothing timed

Three passes and their cooling, one thread. Every method is set as coarse as it can be and
still be within the error asked for at probes A to D; the settings were found by trying
(`SETTINGS`). "Solve" is the time stepping alone; "whole" is from the case or the mesh
size to the histories, with meshing, assembly and tables. Times are the processor's, so that
what else runs on the machine counts little, and are not asserted.
"""

import os
import resource
import subprocess
import sys
from pathlib import Path
from time import process_time
from typing import NamedTuple

import joints
import method_of_lines as mol
import numpy as np
import pytest
from interpass.heat import march
from interpass.heat.model import make_model
from interpass.heat.probes import make_probes
from interpass.heat.waits import plan

sys.path.append(str(Path(__file__).parent.parent / "reference"))
ROUNDS = 5
march.perf_counter = process_time  # the solver's own clock


class Settings(NamedTuple):
    """How finely each method has to be set for one error [K]."""

    cell: float  # m, ours and BDF's
    tolerance: float  # K, ours
    rtol: float  # BDF
    atol: float  # K, BDF
    mesh: float  # m, finite elements
    mesh_tolerance: float = 0.1  # K of Newton correction left


SETTINGS = {
    2.0: Settings(cell=1.0e-3, tolerance=5.0, rtol=1e-3, atol=1.0, mesh=1.4e-3),
    0.7: Settings(cell=0.5e-3, tolerance=2.0, rtol=1e-3, atol=0.2, mesh=0.5e-3),
}
TARGETS = sorted(SETTINGS, reverse=True)


class Run(NamedTuple):
    """What one method did."""

    error: float  # K, worst of probes A to D
    solve: float  # s
    whole: float  # s


def ours(target):
    """The package: mesh, tables, march."""
    s = SETTINGS[target]
    case = joints.reference(cell=s.cell, tolerance=s.tolerance)
    clock = process_time()
    history = plan(case)
    whole = process_time() - clock
    return Run(joints.probe_errors(history)[:4].max(), history.solve_time, whole)


def bdf(target):
    """Scipy's BDF with a sparse Jacobian, on the package's own cells."""
    s = SETTINGS[target]
    case = joints.reference(cell=s.cell)
    begin = process_time()
    model = make_model(case)
    clock = process_time()
    answers, begins, _ = mol.solve(model, mol.SCHEDULE, rtol=s.rtol, atol=s.atol)
    end = process_time()
    times, expected = joints.fem_joint()
    T = mol.sampled(answers, begins, times)
    found = mol.at_probes(mol.lines_of(model), make_probes(model), T)[:5].T - 273.15
    error = np.abs(found - expected)[:, :4].max()
    return Run(error, end - clock, end - begin)


def fem(target):
    """Scikit-fem P1: second-order steps, simplified Newton, kept factorisations."""
    import fem_joint as reference

    s = SETTINGS[target]
    begin = process_time()
    system, sources, _ = reference.build("P1", reference.mesh_for(s.mesh))
    clock = process_time()
    found, _ = reference.integrate(system, sources, reference.QUICK, s.mesh_tolerance)
    end = process_time()
    _, expected = joints.fem_joint()
    return Run(np.abs(found - expected)[:, :4].max(), end - clock, end - begin)


METHODS = {"interpass": ours, "scipy BDF": bdf, "scikit-fem P1": fem}


@pytest.mark.parametrize("target", TARGETS)
@pytest.mark.parametrize("method", METHODS)
def test_reference_joint(benchmark, method, target):
    """One method at one error, whole."""
    benchmark.group = f"reference joint, within {target:g} K"
    benchmark.extra_info["settings"] = SETTINGS[target]._asdict()
    METHODS[method](target)
    run = benchmark.pedantic(METHODS[method], (target,), rounds=ROUNDS)
    benchmark.extra_info["worst_error_K"] = round(float(run.error), 3)
    benchmark.extra_info["solve_s"] = run.solve
    assert run.error <= target


@pytest.mark.parametrize("target", TARGETS)
def test_ratios(benchmark, capsys, target):
    """All methods in turn in the same run; least time of each, and the ratios."""
    rounds = ROUNDS if benchmark.enabled else 1
    runs = {name: [] for name in METHODS}
    for _ in range(rounds):
        for name, method in METHODS.items():
            runs[name].append(method(target))
    benchmark.pedantic(ours, (target,), rounds=1)
    best = {
        name: Run(done[0].error, min(r.solve for r in done), min(r.whole for r in done))
        for name, done in runs.items()
    }
    table = ratio_table(target, best)
    for name, run in best.items():
        benchmark.extra_info[name] = run._asdict() | {
            "solve_ratio": run.solve / best["interpass"].solve,
            "whole_ratio": run.whole / best["interpass"].whole,
        }
        assert run.error <= target
    if benchmark.enabled:
        with capsys.disabled():
            sys.stdout.write(table)


def ratio_table(target, best):
    """Times and ratios as lines of text."""
    lines = [f"\n\nreference joint, probes A to D within {target:g} K, {ROUNDS} rounds\n"]
    lines.append(
        f"{'':16}{'error K':>9}{'solve ms':>10}{'ratio':>7}{'whole ms':>10}{'ratio':>7}\n"
    )
    base = best["interpass"]
    for name, run in best.items():
        lines.append(
            f"{name:16}{run.error:9.2f}{run.solve * 1e3:10.1f}{run.solve / base.solve:7.1f}"
            f"{run.whole * 1e3:10.1f}{run.whole / base.whole:7.1f}\n"
        )
    return "".join(lines)


@pytest.mark.parametrize(
    "arguments",
    [["plan", "cases/sampling-stub.toml"],
     ["plan", "--axisymmetric", "cases/sampling-stub.toml"], ["--help"]],
    ids=["plan", "plan axisymmetric", "help"],
)  # fmt: skip
def test_whole_process(benchmark, arguments):
    """From the shell to the last line, caches warm; peak memory of any child so far."""
    benchmark.group = "whole process"
    command = [
        sys.executable,
        "-c",
        "import sys; from interpass.commands.app import main; sys.exit(main())",
    ]

    def process():
        return subprocess.run(
            [*command, *arguments], cwd=joints.ROOT, capture_output=True, text=True,
            env=os.environ | {"OMP_NUM_THREADS": "1"}, check=False,
        )  # fmt: skip

    process()
    done = benchmark.pedantic(process, rounds=ROUNDS)
    children = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    benchmark.extra_info["peak_memory_MB"] = round(children / 1024, 1)
    assert done.returncode in (0, 5), done.stderr
    assert done.stdout
