"""Picture of the ring: what it shows, and that it shows it to everyone."""

from dataclasses import replace

import matplotlib
import numpy as np
import pytest
from interpass.pictures.ring import CLIP, COLOURS, draw_ring, shown_until, unrolled
from interpass.pictures.style import picture
from interpass.text.kinds import US
from interpass.text.times import clock


def words(figure):
    """Every text in the figure that is not empty."""
    found = [t.get_text() for t in figure.findobj(matplotlib.text.Text)]
    return {text for text in found if text}


def test_passes_waits_and_limit_are_labelled(small_ring):
    case, history = small_ring
    seconds = 5 * int(np.ceil(history.passes[1].wait / 5))
    shown = words(draw_ring(case, history))
    assert {"pass 1", "pass 2", f"wait {clock(seconds)} min", case.title} <= shown
    assert {"hottest", "coldest", "mean", "where this pass starts"} <= shown
    assert "interpass limit 175 degC" in shown
    assert "interpass limit 347 degF" in words(draw_ring(case, history, US))


def test_colours_are_the_ring_of_the_history(small_ring):
    case, history = small_ring
    image = draw_ring(case, history).axes[0].images[0]
    low, high = image.get_clim()
    assert high == pytest.approx(800.0) == pytest.approx(CLIP - 273.15)
    assert low == pytest.approx(history.ring.min() - 273.15)
    times, angles, ring = unrolled(history)
    assert np.asarray(image.get_array()) == pytest.approx(ring - 273.15)
    row = int(np.argmin(np.abs(times - history.passes[0].arc_off / 2)))
    assert angles[ring[:, row].argmax()] == pytest.approx(np.pi, abs=0.6)


def test_spots_are_the_joint_at_arc_on(small_ring):
    case, history = small_ring
    lines = {x.get_label(): x for x in draw_ring(case, history).axes[1].lines}
    spots = history.passes[1].at_arc_on
    assert lines["hottest"].get_xdata()[0] == pytest.approx(spots.hottest - 273.15)
    assert lines["coldest"].get_xdata()[0] == pytest.approx(spots.coldest - 273.15)
    assert lines["mean"].get_xdata()[0] == pytest.approx(spots.mean - 273.15)
    assert len({x.get_marker() for x in lines.values()}) == 5  # apart in grey


def test_colours_get_lighter_all_the_way():
    """Told apart in grey: luminance (Rec. 709) rises from cold to hot."""
    rgb = matplotlib.colormaps[COLOURS](np.linspace(0, 1, 64))[:, :3]
    assert np.all(np.diff(rgb @ (0.2126, 0.7152, 0.0722)) > 0)


def test_a_single_pass_shows_itself(small_ring):
    case, history = small_ring
    alone = replace(history, passes=history.passes[:1])
    figure = draw_ring(case, alone)
    assert {"pass 1"} <= words(figure)
    assert shown_until(alone) < shown_until(history)


def test_labels_never_overlap_with_many_passes(small_ring):
    case, history = small_ring
    length = float(history.time[-1]) / 13
    many = tuple(
        replace(history.passes[1], number=n + 1, wait=0.6 * length, arc_on=n * length,
                arc_off=(n + 0.4) * length)
        for n in range(13)
    )  # fmt: skip
    figure = draw_ring(replace(case, passes=case.passes[:1] * 13),
                       replace(history, passes=many))  # fmt: skip
    figure.draw_without_rendering()
    axes = figure.axes[0]
    boxes = [t.get_window_extent() for t in axes.texts]
    assert len(boxes) == 26
    for n, box in enumerate(boxes):
        assert not any(box.overlaps(other) for other in boxes[n + 1 :])


@pytest.mark.parametrize("kind", ["svg", "png"])
def test_same_run_gives_same_bytes(small_ring, kind):
    first, second = (picture(draw_ring(*small_ring), kind) for _ in range(2))
    assert first == second


def test_an_axisymmetric_run_has_no_ring_to_draw(stub):
    with pytest.raises(ValueError, match="no ring"):
        draw_ring(*stub)
