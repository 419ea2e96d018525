"""Where the time of a plan goes, from the start of Python to the last line.

    OMP_NUM_THREADS=1 python tests/benchmarks/start_up.py [CASE] [RING] [bands]

Every round is a process of its own, with the solver compiled and our modules in bytecode; the
least CPU time of each stage is shown, so that other work on the machine counts for little.
"whole" and "wall" are of a process that runs the command itself.
"""

import json
import os
import subprocess
import sys
from pathlib import Path
from tempfile import gettempdir
from time import perf_counter

ROOT = Path(__file__).parents[2]
CASE = "cases/sampling-stub.toml"
ROUNDS = 7
CHILD = """
import json, sys
from time import process_time
clock, found = process_time(), {"start Python": process_time()}
def stage(name):
    global clock
    found[name] = process_time() - clock
    clock = process_time()
import interpass.commands.app; stage("import what reads the options")
import typer._adapters; stage("import what turns them into values")
import numpy; stage("import numpy")
import llvmlite.binding; stage("import what loads machine code")
from dataclasses import replace
from interpass.case_file import read
from interpass.rules import judge; stage("import the rest to read and judge")
case = read.read_case(sys.argv[1])
case = replace(case, model=replace(case.model, ring=int(sys.argv[2])))
judge.sets_for(case); stage("read the case and its rules")
from interpass.heat import march, model, probes, waits; stage("import the solver's modules")
made = model.make_model(case); stage("make the model")
state = march.start(made, probes.make_probes(made)); march.begin_pass(state, 1)
march.note_now(state); march.cool(state, 0.0); stage("load the machine code")
history = waits.plan(case); stage("plan: march, with a model of its own")
found["of that in the solver"] = history.solve_time
judge.checks(case, history); stage("judge, near field with it")
from interpass.report import plan as report; stage("import the report")
report.first_screen(case, history); stage("write the first screen")
if "bands" in sys.argv:
    from interpass.doubt import bands; stage("import the bands")
    bands.find_bands(case, history); stage("find the bands")
assert "numba" not in sys.modules, "the solver was not compiled: run it once"
print(json.dumps(found))
"""


def one_round(case=CASE, ring=1, *more):
    """Seconds by stage, in order; "of that ..." is part of the stage before it."""
    found = json.loads(_run("-c", CHILD, case, str(ring), *more))
    quick = [] if more else ["--quick"]
    spent, began = _children(), perf_counter()
    _run("-m", "interpass", "plan", case, "--ring", str(ring), *quick)
    return found | {"whole": _children() - spent, "wall": perf_counter() - began}


def _run(*arguments):
    """Run Python as a user does: it may keep the bytecode of our modules."""
    environment = os.environ | {
        "OMP_NUM_THREADS": "1",
        "PYTHONPYCACHEPREFIX": f"{gettempdir()}/start_up",
    }
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    done = subprocess.run(
        [sys.executable, *arguments], cwd=ROOT, env=environment, capture_output=True,
        text=True, check=True,
    )  # fmt: skip
    return done.stdout


def _children():
    """CPU time of all processes that this one has run [s]."""
    used = os.times()
    return used.children_user + used.children_system


def least(rounds):
    """Least time of every stage."""
    return {name: min(one[name] for one in rounds) for name in rounds[0]}


def table(stages):
    """Lines of text, in ms."""
    return [f"{name:42}{1e3 * seconds:8.1f} ms" for name, seconds in stages.items()]


def main():
    """Print the table."""
    case = sys.argv[1] if len(sys.argv) > 1 else CASE
    ring = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    one_round(case, ring, *sys.argv[3:])  # fills the caches
    stages = least([one_round(case, ring, *sys.argv[3:]) for _ in range(ROUNDS)])
    sys.stdout.write("\n".join([f"{case}, ring {ring}", *table(stages)]) + "\n")


if __name__ == "__main__":
    main()
