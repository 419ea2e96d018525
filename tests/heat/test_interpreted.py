"""Compiled and as plain Python, the solver runs the same arithmetic on whole joints.

The joints are tiny (cells of 4 mm, loose tolerance), so that plain Python takes a second.
With ``NUMBA_DISABLE_JIT=1`` this file runs the solver as Python itself, which is how its
lines are counted (``conftest.py``).
"""

import json
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import joints
import pytest
from interpass.heat.waits import plan
from interpass.text.errors import RunError
from numpy.testing import assert_allclose

TINY = {  # cells round the ring, and when the bead appears
    "check-joint": (1, "at once"),
    "sampling-stub": (3, "behind the arc"),
    "duplex-instrument": (2, "at once"),
}
AS_PYTHON = """
import json, sys
sys.path.insert(0, sys.argv[1])
from heat.test_interpreted import TINY, numbers
print(json.dumps({name: numbers(name) for name in TINY}))
"""


def tiny(name):
    """Shipped case on some thirty cells of section, its pipe cut short."""
    case = joints.read_case(joints.ROOT / "cases" / f"{name}.toml")
    ring, bead = TINY[name]
    model = replace(
        case.model, ring=ring, cell=4e-3, tolerance=5.0, end_after=5.0, bead=bead
    )
    return replace(case, model=model, pipe=replace(case.pipe, length=20e-3))


def numbers(name):
    """What a plan leaves: waits, temperatures at the end, heat by where it went."""
    history = plan(tiny(name))
    probes = [float(t.temperature[-1]) for t in history.traces]
    waits = [float(p.wait) for p in history.passes]
    ring = [float(T) for T in history.ring[-1]]
    return [*waits, *ring, *probes, history.ledger.stored, *history.ledger.lost.values()]


@pytest.mark.slow
def test_compiled_plan_is_the_plan_of_plain_python():
    here = Path(__file__).parents[1]
    answer = subprocess.run(
        [sys.executable, "-c", AS_PYTHON, str(here)], check=True, capture_output=True,
        text=True, env=os.environ | {"NUMBA_DISABLE_JIT": "1"}, cwd=here.parent,
    )  # fmt: skip
    for name, expected in json.loads(answer.stdout).items():
        assert_allclose(numbers(name), expected, rtol=1e-7, err_msg=name)


@pytest.mark.tiny
@pytest.mark.parametrize("name", TINY)
def test_heat_closes_on_a_tiny_joint(name):
    """Compiled or not: clearance, end gap, purge, growing beads and waits included."""
    history = plan(tiny(name))
    assert history.complete
    assert abs(history.ledger.closure) < 1e-9
    assert history.ledger.stored > 0.1 * history.ledger.arc


@pytest.mark.tiny
def test_too_much_power_is_refused_on_a_tiny_joint():
    case = tiny("check-joint")
    passes = tuple(replace(p, net_power=1e6) for p in case.passes)
    with pytest.raises(RunError, match="more heat than this joint can carry away"):
        plan(replace(case, passes=passes))
