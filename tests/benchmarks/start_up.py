"""Where the time of a plan goes, from the start of Python to the last line.

    OMP_NUM_THREADS=1 python tests/benchmarks/start_up.py [CASE] [RING]

Every round is a process of its own with warm caches; the least time of each stage is
shown, so the whole is a little less than that of any one round.
"""

import json
import os
import subprocess
import sys
from pathlib import Path
from time import perf_counter

ROOT = Path(__file__).parents[2]
CASE = "cases/sampling-stub.toml"
ROUNDS = 7
CHILD = """
import json, sys
from time import perf_counter
clock, found = perf_counter(), {}
def stage(name):
    global clock
    found[name] = perf_counter() - clock
    clock = perf_counter()
import numpy; stage("import numpy")
import numba; stage("import numba")
from thermo import kernels; stage("import kernels")
from dataclasses import replace
from thermo import case, command_plan, rules; stage("import the rest to read and judge")
joint = case.read_case(sys.argv[1])
joint = replace(joint, model=replace(joint.model, ring=int(sys.argv[2])))
stage("read the case")
from thermo import march, model, probing, waits; stage("import the solver's modules")
made = model.make_model(joint); stage("make the model")
state = march.start(made, probing.make_probes(made)); march.begin_pass(state, 1)
march.note_now(state); march.cool(state, 0.0); stage("load the compiled solver")
history = waits.plan(joint); stage("plan: march, with a model of its own")
found["of that in the solver"] = history.solve_time
rules.checks(joint, history); stage("check, near field with it")
from thermo import report; stage("import the report")
report.text(joint, history); stage("write the report")
print(json.dumps(found))
"""


def one_round(case=CASE, ring=1):
    """Seconds by stage, in order; "of that ..." is part of the stage before it."""
    environment = os.environ | {"OMP_NUM_THREADS": "1"}
    begin = perf_counter()
    subprocess.run([sys.executable, "-c", ""], check=True)
    bare = perf_counter() - begin
    begin = perf_counter()
    done = subprocess.run(
        [sys.executable, "-c", CHILD, case, str(ring)],
        cwd=ROOT, env=environment, capture_output=True, text=True, check=True,
    )  # fmt: skip
    whole = perf_counter() - begin
    return {"start Python and end it": bare} | json.loads(done.stdout) | {"whole": whole}


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
    stages = least([one_round(case, ring) for _ in range(ROUNDS)])
    sys.stdout.write("\n".join([f"{case}, ring {ring}", *table(stages)]) + "\n")


if __name__ == "__main__":
    main()
