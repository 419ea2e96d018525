"""What is noted of a run as it goes: the ledger through time, and the piece in pictures."""

from dataclasses import fields, replace
from itertools import pairwise

import numpy as np
import pytest
from interpass.heat.history import History
from interpass.heat.model import make_model
from interpass.heat.waits import plan
from interpass.text.errors import RunError


@pytest.fixture(scope="module")
def filmed(shipped):
    """The stub, axisymmetric, with a frame about every 20 s."""
    case = shipped("sampling-stub")
    return case, plan(case, frames=20.0)


def closes(history):
    """Largest heat not accounted for at any row, over the arc's."""
    h = history.heat
    missing = h.arc - h.stored - sum(h.lost.values())
    return np.abs(missing).max() / h.arc[-1]


def test_every_row_of_the_heat_closes(shipped_run):
    _, history = shipped_run
    h = history.heat
    assert closes(history) < 1e-12
    assert np.all(np.diff(h.time) > 0)
    assert np.all(np.diff(h.arc) >= 0)
    assert h.time[0] == h.arc[0] == h.stored[0] == 0.0
    assert h.time[-1] == history.time[-1]
    assert h.stored[-1] == history.ledger.stored
    assert {n: x[-1] for n, x in h.lost.items()} == history.ledger.lost


def test_heat_has_a_row_at_every_arc_on_and_off(shipped_run):
    _, history = shipped_run
    for done in history.passes:
        assert {done.arc_on, done.arc_off} <= set(history.heat.time)
    burnt = np.interp(
        [t for p in history.passes for t in (p.arc_on, p.arc_off)],
        history.heat.time,
        history.heat.arc,
    )
    rises = np.diff(burnt)[::2]
    assert rises == pytest.approx([p.net_energy for p in history.passes], rel=1e-12)


def test_heat_of_a_ring_with_a_growing_bead_closes(shipped):
    case = shipped("sampling-stub", ring=12)
    model = replace(case.model, cell=2e-3, bead="behind the arc", end_after=10.0)
    assert closes(plan(replace(case, model=model))) < 1e-12


def test_nothing_is_photographed_unasked(stub):
    assert stub[1].snapshots == ()


def test_arc_on_and_off_of_every_pass(shipped):
    case = shipped("sampling-stub")
    history = plan(case, frames=0.0)
    told = [(s.what, s.number, s.time) for s in history.snapshots]
    assert told == [
        (what, p.number, time)
        for p in history.passes
        for what, time in (("arc on", p.arc_on), ("arc off", p.arc_off))
    ]


def test_snapshot_is_the_joint_at_that_moment(filmed):
    case, history = filmed
    model = make_model(case)
    for shot in history.snapshots:
        if shot.what == "frame":
            continue
        done = history.passes[shot.number - 1]
        joint = done.at_arc_on if shot.what == "arc on" else done.at_arc_off
        body = model.bodies[shot.number - 1]
        which = 0 if shot.what == "arc on" else 1
        i, j, p, q = body.zone[which].T
        T = shot.temperature[i, :, j]
        T = T + body.zone_size[0, which][:, None] * (shot.temperature[p, :, q] - T)
        assert np.nanmax(T) == pytest.approx(joint.hottest, abs=1e-9)
        assert np.nanmin(T) == pytest.approx(joint.coldest, abs=1e-9)


def test_there_is_no_temperature_where_there_is_no_metal(filmed):
    case, history = filmed
    stages = make_model(case).stages  # before pass 1, after each
    for shot in history.snapshots:
        if shot.what != "frame":
            stage = stages[shot.number - (shot.what == "arc on")]
            metal = np.isfinite(shot.temperature[:, 0])
            assert np.array_equal(metal, stage.volume > 0)


def test_frames_come_about_as_often_as_asked(filmed):
    _, history = filmed
    times = np.array([s.time for s in history.snapshots])
    assert np.all(np.diff(times) > 0)
    assert np.diff(times).max() < 20.0 + 10.0  # the longest step
    frames = [s.time for s in history.snapshots if s.what == "frame"]
    assert len(frames) > 0.8 * history.time[-1] / 20.0


def test_looking_changes_nothing(stub, filmed):
    """Frames shorten the solver's calls, never its steps."""
    plain, film = stub[1], filmed[1]
    for field in fields(History):
        if isinstance(value := getattr(plain, field.name), np.ndarray):
            assert np.array_equal(value, getattr(film, field.name)), field.name
    assert plain.passes == film.passes
    assert plain.steps == film.steps


def test_a_ring_is_photographed_once(small_ring):
    """The axisymmetric run beside it takes no pictures."""
    case = replace(small_ring[0], model=replace(small_ring[0].model, end_after=0.0))
    history = plan(case, frames=0.0)
    assert [s.temperature.shape[1] for s in history.snapshots] == [12] * 4


def test_snapshots_are_copies(filmed):
    shots = filmed[1].snapshots
    assert not np.array_equal(shots[0].temperature, shots[-1].temperature, equal_nan=True)
    assert not any(
        np.shares_memory(a.temperature, b.temperature) for a, b in pairwise(shots)
    )


@pytest.mark.parametrize("frames", [-1.0, float("nan"), float("inf")])
def test_frames_must_be_a_time(shipped, frames):
    with pytest.raises(ValueError, match="seconds between two"):
        plan(shipped("sampling-stub"), frames=frames)


def test_a_run_that_fails_keeps_heat_that_closes(shipped):
    case = shipped("sampling-stub")
    hot = tuple(replace(p, net_power=60e3) for p in case.passes)
    with pytest.raises(RunError) as caught:
        plan(replace(case, passes=hot))
    assert closes(caught.value.history) < 1e-9
