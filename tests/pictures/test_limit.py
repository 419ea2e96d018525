"""Waits against the limit: the plan at its own limit, and never longer for a higher one."""

from dataclasses import replace

import numpy as np
import pytest
from interpass.heat.waits import plan
from interpass.pictures.limit import limit_figure
from interpass.pictures.style import picture
from interpass.remedies.trials import waits_over_limits
from interpass.text.kinds import US


def test_a_higher_limit_never_lengthens_a_wait(shipped_run):
    case, history = shipped_run
    found = waits_over_limits(case, history)
    assert np.all(np.diff(found.wait, axis=0) <= 0.0)
    assert found.wait.shape == (found.limit.size, len(case.passes) - 1)
    assert found.limit.min() <= case.limits.interpass_max <= found.limit.max()


def test_at_its_own_limit_it_is_the_plan(shipped_run):
    case, history = shipped_run
    found = waits_over_limits(case, history)
    own = int(np.argmin(np.abs(found.limit - case.limits.interpass_max)))
    for wait, done in zip(found.wait[own], history.passes[1:], strict=True):
        if done.wait_is_auto:
            assert wait == pytest.approx(done.wait, rel=0.01)


def test_at_another_limit_it_is_what_a_run_says(stub):
    case, history = stub
    found = waits_over_limits(case, history)
    for limit in (393.15, 423.15, 503.15):
        limits = replace(case.limits, interpass_max=limit)
        run = plan(replace(case, limits=limits)).passes[1].wait
        assert np.interp(limit, found.limit, found.wait[:, 0]) == pytest.approx(
            run, rel=0.05
        )


def test_a_limit_out_of_reach_has_no_wait(stub):
    case, history = stub
    short = replace(case, limits=replace(case.limits, wait_max=500.0))
    wait = waits_over_limits(short, history).wait[:, 0]
    assert np.isnan(wait[0])
    assert np.nanmax(wait) < 500.0
    assert limit_figure(short, history).axes[0].get_ylim()[1] < 600.0


def test_lines_passes_and_the_present_limit_are_named(given_waits):
    figure = limit_figure(*given_waits)
    axes = figure.axes[0]
    texts = [t.get_text() for t in axes.texts]
    assert texts == ["before\npass 2", "before\npass 3", "present limit 175 degC"]
    assert axes.get_ylabel() == "Wait, min:s"
    styles = {(x.get_linestyle(), x.get_marker()) for x in axes.lines}
    assert len(styles) == 3  # told apart in grey
    boxes = [t.get_window_extent() for t in axes.texts]
    assert not boxes[0].overlaps(boxes[1])


def test_axis_is_in_the_users_degrees(stub):
    axes = limit_figure(*stub, US).axes[0]
    assert axes.get_xlim() == pytest.approx((212.0, 482.0))
    assert axes.get_xlabel() == "Interpass limit, degF"


def test_same_run_gives_same_bytes(stub):
    one, other = (limit_figure(*stub) for _ in range(2))
    for kind in ("svg", "png"):
        assert picture(one, kind) == picture(other, kind)


def test_a_single_pass_has_no_wait_to_plan(stub):
    case, history = stub
    alone = replace(history, passes=history.passes[:1])
    with pytest.raises(ValueError, match="no wait to plan"):
        waits_over_limits(case, alone)
