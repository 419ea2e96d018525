"""The temperature figure: what it shows, that nothing overlaps, and that it repeats."""

import subprocess
import sys
from dataclasses import replace
from itertools import combinations, pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from interpass.doubt.bands import Band, Bands, PassBand
from interpass.pictures.sheet import width
from interpass.pictures.style import HOT, MEAN, TITLE_ROOM, heading, picture, spread
from interpass.pictures.temperature import temperature_figure
from interpass.text.kinds import UNIT_SYSTEMS, US
from interpass.text.times import clock
from matplotlib.collections import FillBetweenPolyCollection
from matplotlib.colors import to_rgb


def with_passes(history, count, wait, *, arc=80.0, after=600.0):
    """The same temperatures, stretched over as many passes as wanted."""
    passes = tuple(
        replace(
            history.passes[0],
            number=n + 1,
            wait=wait if n else 0.0,
            wait_is_auto=n > 0,
            arc_on=n * (arc + wait),
            arc_off=n * (arc + wait) + arc,
        )
        for n in range(count)
    )
    time = history.time / history.time[-1] * (passes[-1].arc_off + after)
    return replace(history, passes=passes, time=time)


def boxes(figure):
    """Every text of the figure and the room it takes [pixels]."""
    figure.canvas.draw()
    texts = [t for ax in figure.axes for t in (*ax.texts, ax.title, ax._left_title)]
    texts += [t for ax in figure.axes for t in (ax.xaxis.label, ax.yaxis.label)]
    texts += [t for legend in figure.legends for t in legend.get_texts()]
    shown = [t for t in texts if t.get_text() and t.get_visible()]
    return [(t.get_text(), t.get_window_extent()) for t in shown]


@pytest.mark.parametrize("units", UNIT_SYSTEMS.values(), ids=UNIT_SYSTEMS)
@pytest.mark.parametrize(
    ("count", "wait"), [(3, 300.0), (6, 300.0), (6, 20.0), (12, 40.0)]
)
def test_no_text_overlaps(stub, count, wait, units):
    case, history = stub
    figure = temperature_figure(case, with_passes(history, count, wait), units)
    found = boxes(figure)
    for (one, a), (other, b) in combinations(found, 2):
        assert not a.overlaps(b), f"{one!r} lies on {other!r}"
    width, height = figure.canvas.get_width_height()
    for words, box in found:
        assert box.x0 >= 0, words
        assert box.x1 <= width, words
        assert box.y0 >= 0, words
        assert box.y1 <= height, words


def test_passes_waits_and_limit_are_labelled(stub):
    case, history = stub
    figure = temperature_figure(case, history)
    words = [text for text, _ in boxes(figure)]
    wait = clock(5 * int(np.ceil(history.passes[1].wait / 5)))
    assert words[:5] == ["pass", "1", "2", "wait, min:s", wait]
    assert case.title in words
    assert "interpass limit 175 degC, for the hottest" in words
    strip, axes = figure.axes
    assert axes.get_xlabel().endswith(", s")
    assert axes.get_ylabel().endswith(", degC")
    assert len(axes.patches) == len(strip.patches) == 2


def test_short_waits_are_in_seconds(stub):
    case, history = stub
    words = [t for t, _ in boxes(temperature_figure(case, with_passes(history, 3, 38.0)))]
    assert "wait, s" in words
    assert words.count("40") == 2  # as the shop rounds them


def made_up_bands(history, factor=0.9):
    """Bands with every temperature a tenth to either side, and two waits to allow."""
    hot = Band(400.0, 448.0, 470.0)
    waits = [Band(p.wait - 20, p.wait, p.wait + 30) for p in history.passes]
    return Bands(
        passes=tuple(
            PassBand(
                p.number, w if p.wait else None, w.high if p.wait else None, hot, hot
            )
            for p, w in zip(history.passes, waits, strict=True)
        ),
        shares=(),
        time=history.time,
        low=history.hottest * factor,
        high=history.hottest / factor,
        reading_low=history.mean,
        reading_high=history.mean,
        samples=8,
        seed=0,
        how="made up",
    )


@pytest.mark.parametrize(("count", "wait"), [(2, 300.0), (6, 20.0), (12, 150.0)])
def test_bands_show_safe_and_typical_waits_and_nothing_overlaps(stub, count, wait):
    case, history = stub
    history = with_passes(history, count, wait)
    figure = temperature_figure(case, history, bands=made_up_bands(history))
    found = boxes(figure)
    words = [text for text, _ in found]
    unit, told = ("s", "{:.0f}".format) if wait == 20.0 else ("min:s", clock)
    assert {f"typical, {unit}", f"safe wait, {unit}"} <= set(words)
    assert words.count(told(wait)) == words.count(told(wait + 30.0)) == count - 1
    assert "hottest point of 9 in 10 plausible joints" in words
    for (one, a), (other, b) in combinations(found, 2):
        assert not a.overlaps(b), f"{one!r} lies on {other!r}"


def test_band_is_the_doubt_in_the_users_degrees(stub):
    case, history = stub
    figure = temperature_figure(case, history, US, made_up_bands(history))
    (band,) = (
        c for c in figure.axes[1].collections if isinstance(c, FillBetweenPolyCollection)
    )
    corners = band.get_paths()[0].vertices
    assert corners[:, 1].max() == pytest.approx(
        history.hottest.max() / 0.9 * 1.8 - 459.67
    )
    assert corners[:, 1].min() == pytest.approx(
        history.hottest.min() * 0.9 * 1.8 - 459.67
    )


def test_curves_are_the_history(stub):
    case, history = stub
    axes = temperature_figure(case, history, US).axes[1]
    hottest, mean, limit = axes.lines
    assert np.allclose(hottest.get_ydata(), history.hottest * 1.8 - 459.67)
    assert np.allclose(mean.get_ydata(), history.mean * 1.8 - 459.67)
    assert limit.get_ydata()[0] == pytest.approx(347.0)  # 175 degC
    assert list(limit.get_xdata()) == [history.passes[1].arc_on]


def test_a_limit_crosses_no_curve_it_is_not_for(stub):
    """It is marked at the arc on it holds for, on the curve it is said of."""
    case, history = stub
    for by_reading in (False, True):
        limits = replace(
            case.limits, applies_to="reading" if by_reading else "hottest metal"
        )
        axes = temperature_figure(replace(case, limits=limits), history).axes[1]
        hottest, second, mark = axes.lines
        curve = second if by_reading else hottest
        name = "at the measuring place" if by_reading else "mean of the joint"
        assert second.get_label() == name
        (bar,) = axes.collections[-1].get_segments()
        assert np.ptp(bar[:, 0]) < 0.03 * history.time[-1]
        before = history.time < mark.get_xdata()[0]
        when = history.time[before][-1]
        T = np.interp(when, history.time, curve.get_ydata())
        assert abs(T - bar[0, 1]) < (60.0 if by_reading else 6.0)


def test_pool_is_cut_off_and_said_so(small_ring):
    figure = temperature_figure(*small_ring)
    top = figure.axes[1].get_ylim()[1]
    mean = small_ring[1].mean.max() - 273.15
    assert mean < top < small_ring[1].hottest.max() - 273.15
    assert any("pool" in text and "cut off" in text for text, _ in boxes(figure))


def test_lines_are_told_apart_in_grey(stub):
    """Rec. 709 luminance apart, and dashes besides."""
    grey = [np.dot(to_rgb(colour), (0.2126, 0.7152, 0.0722)) for colour in (HOT, MEAN)]
    assert abs(grey[0] - grey[1]) > 0.04
    lines = temperature_figure(*stub).axes[1].lines
    assert len({(x.get_linestyle(), str(x.get_marker())) for x in lines}) == 3


@pytest.mark.parametrize("kind", ["svg", "png"])
def test_same_run_gives_same_bytes(stub, kind):
    first, second = (picture(temperature_figure(*stub), kind) for _ in range(2))
    assert first == second
    assert b"<dc:date>" not in first


def test_no_window_system_is_loaded():
    code = (
        "import sys, interpass.pictures.temperature;"
        "sys.exit('matplotlib.pyplot' in sys.modules or 'tkinter' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


@given(st.lists(st.floats(0, 100), min_size=1, max_size=13), st.floats(0, 20))
def test_spread_places_keep_order_distance_and_middle(places, room):
    places = sorted(places)
    moved = spread(places, room)
    assert all(b - a >= room - 1e-9 for a, b in pairwise(moved))
    assert sum(moved) == pytest.approx(sum(places), abs=1e-9)


@pytest.mark.parametrize(
    "title",
    [r"a $\frac{ b$", "\u65e5\u672c stub", "W" * 120, "Long title " * 10, "{x} %s"],
)
def test_any_title_is_drawn(stub, title):
    """A title is words: no formula, no letter without a shape, no wider than the axes."""
    case, history = stub
    case = replace(case, title=title)
    figure = temperature_figure(case, history)
    picture(figure, "svg")
    for more in ("", ": if the limit were another"):
        told = heading(case, more)
        assert told.endswith(more.removeprefix(": "))
        assert max(width(line, 11) for line in told.split("\n")) <= TITLE_ROOM
        if width(title, 11) < 3 * TITLE_ROOM:
            assert " ..." not in told
