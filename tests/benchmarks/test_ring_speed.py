"""Speed of the ring: against one sparse system per step, and against the memory.

Both sides take the same steps in the same run, on one thread: those that the solver chose
for a pass and the wait after it. Times are the processor's.

    OMP_NUM_THREADS=1 pytest --runslow tests/benchmarks/test_ring_speed.py
"""

import os
from dataclasses import replace
from math import pi
from time import process_time

import joints
import numpy as np
import pytest
from interpass.case_file.read import read_case
from interpass.heat import march
from interpass.heat.arrays import Arc
from interpass.heat.model import make_model
from interpass.heat.probes import make_probes
from plain_ring import PlainRing

BYTES = 224  # moved per cell and solve, counted in figures/make_roofline: 28 arrays
NO_ARC = march.NO_ARC
march.perf_counter = process_time  # the solver's own clock
pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(
        os.environ.get("OMP_NUM_THREADS") != "1",
        reason="one thread is compared; with more, those of the other side get in each "
        "other's way: set OMP_NUM_THREADS=1",
    ),
]


def fresh_state(name="sampling-stub"):
    """A shipped joint with its first bead in place, cold; no gas in the end gap."""
    case = read_case(joints.ROOT / "cases" / f"{name}.toml")
    model = make_model(case)
    films = (x._replace(gap=0 * x.gap) for x in (model.films_arc, model.films_wait))
    arc_films, wait_films = films
    model = replace(model, films_arc=arc_films, films_wait=wait_films)
    state = march.start(model, make_probes(model))
    march.begin_pass(state, 1)
    return state


def run(state):
    """One turn of the arc and the wait after it: times of the steps in each [s]."""
    case = state.model.case
    weld = case.passes[0]
    march.heat(state, weld.net_power, weld.arc_time, 0.0, 2 * pi)
    marks = [len(state.records)]
    march.cool(state, 3600.0, case.limits.interpass_max)
    parts = (state.records[: marks[0]], state.records[marks[0] :])
    return [np.concatenate([r.time for r in part]) for part in parts]


def replay(state, times):
    """The same steps with a sparse system each: seconds, and the plain ring after."""
    model, weld = state.model, state.model.case.passes[0]
    rate = 2 * pi / weld.arc_time
    burning = Arc(weld.net_power, 0.0, rate, march.spread_angle(model))
    plain, before = PlainRing(state), 0.0
    clock = process_time()
    for arc, films, part in zip(
        (burning, NO_ARC), (model.films_arc, model.films_wait), times, strict=True
    ):
        plain.slope[:] = 0.0
        for time in part:
            plain.step(films, arc, rate * before, time - before)
            before = time
    return process_time() - clock, plain


def test_a_pass_and_its_wait_against_sparse_conjugate_gradients(record_property):
    """Same scheme unsplit, numpy and scipy: at least 15 times slower, same answer.

    Warm start, Jacobi, scipy's own accuracy. Measured 28 to 34 (0.097 s against 2.7 to 3.3 s).
    They are 0.2 K apart at the end of the wait.
    """
    seconds = []
    for _ in range(3):
        state = fresh_state()
        times = run(state)
        seconds.append(state.seconds)
    theirs, plain = replay(fresh_state(), times)
    i, j = plain.where.T
    miss = np.abs(state.field.temperature[i, :, j].ravel() - plain.T).max()
    record_property("ratio", theirs / min(seconds))
    record_property("seconds", (min(seconds), theirs))
    record_property("worst_miss_K", float(miss))
    assert miss < 2.0
    assert theirs > 15 * min(seconds)


def test_throughput_and_share_of_memory_bandwidth(record_property):
    """Cells x solves per second under a faint arc that stays, beside a copy of a large array.

    It melts nothing, so each step is one solve. Measured 44 to 50 million, 45 % of the copy's
    22 to 25 GB/s.
    """
    state = fresh_state()
    march.heat(state, 50.0, 60.0, 0.0, 0.0)
    cells = int((state.body.volume[1] > 0).sum()) * state.model.n_theta
    rate = cells * state.steps / state.seconds
    share = rate * BYTES / copy_rate()
    record_property("cells_steps_per_s", rate)
    record_property("copy_GB_per_s", copy_rate() / 1e9)
    record_property("share_of_bandwidth", share)
    assert rate > 4e6
    assert share > 0.05


def copy_rate():
    """Bytes read and written per second when a large array is copied."""
    source, rates = np.ones(16_000_000), []
    target = np.empty_like(source)
    for _ in range(5):
        clock = process_time()
        np.copyto(target, source)
        rates.append(2 * source.nbytes / (process_time() - clock))
    return max(rates)
