"""The picture of readings: all of them are there, and no limit that is not for them."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from interpass.doubt.bands import find_bands
from interpass.pictures.fit import fit_figure
from interpass.readings.reading import Reading
from interpass.report.strike import strike_at
from interpass.text.kinds import SI, US


@pytest.fixture(scope="module")
def found(stub):
    case, history = stub
    return case, history, find_bands(case, history, samples=16)


def readings():
    return (
        (Reading(1, 45.0, 680.0, 680.0), False),
        (Reading(1, 300.0, 470.0, 470.0, on="fitting", from_toe=3e-3), False),
        (Reading(1, 60.0, 900.0, 900.0), True),
    )


@pytest.mark.parametrize("panels", [1, 2])
def test_every_reading_is_drawn(found, panels):
    """Those of other places are hollow; those left out are crosses."""
    case, history, bands = found
    after = (history, bands) if panels == 2 else None
    figure = fit_figure(case, (history, bands), after, readings(), SI)
    assert len(figure.axes) == panels
    for axes in figure.axes:
        points = [bar.lines[0] for bar in axes.containers]
        off = history.passes[0].arc_off
        assert [p.get_xdata()[0] - off for p in points] == pytest.approx([45, 300, 60])
        own, elsewhere, out = points
        assert own.get_markerfacecolor() == own.get_color()
        assert elsewhere.get_markerfacecolor() == "white"
        assert out.get_marker() == "x"
        top = axes.get_ylim()[1]
        assert all(p.get_ydata()[0] < top for p in points)
    words = [t.get_text() for t in figure.legends[0].get_texts()]
    assert {"reading", "reading at another place", "reading, left out"} <= set(words)


def test_what_is_marked_is_the_reading_to_strike_by(found):
    """The limit is for the hottest metal, whose curve is not in the picture."""
    case, history, bands = found
    figure = fit_figure(case, (history, bands), None, readings(), US)
    (mark,) = (x for x in figure.axes[0].lines if "strike" in str(x.get_label()))
    expected = strike_at(case, history.passes[1], bands.passes[1])
    assert mark.get_ydata()[0] == pytest.approx(expected * 1.8 - 459.67)
    assert list(mark.get_xdata()) == [history.passes[1].arc_on]
    limit = case.limits.interpass_max * 1.8 - 459.67
    flat = [x for x in figure.axes[0].lines if np.allclose(x.get_ydata(), limit)]
    assert not flat


def test_no_writing_lies_on_other_writing(found):
    case, history, bands = found
    case = replace(case, title="A long name of a joint in a far corner of the yard " * 3)
    figure = fit_figure(case, (history, bands), (history, bands), readings(), SI)
    figure.canvas.draw()
    texts = [figure._suptitle, *figure.legends[0].get_texts()]
    texts += [t for axes in figure.axes for t in (axes._left_title, axes.yaxis.label)]
    boxes = [t.get_window_extent() for t in texts if t.get_text()]
    assert not [1 for a, b in combinations(boxes, 2) if a.overlaps(b)]
