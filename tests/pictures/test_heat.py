"""Where the heat went: the parts are the ledger, and each takes what it can."""

from dataclasses import replace
from itertools import combinations, pairwise

import matplotlib
import numpy as np
import pytest
from interpass.heat.split import (
    BORE,
    FAN,
    FAR,
    HOLDING,
    NEAR,
    OUTSIDE,
    RADIATION,
    STILL,
    split_heat,
)
from interpass.heat.waits import plan
from interpass.pictures.heat import LOOKS, heat_figure
from interpass.pictures.style import picture


def test_parts_sum_to_what_the_arc_gave(shipped_run):
    case, history = shipped_run
    split = split_heat(case, history)
    apart = np.abs(sum(split.parts.values()) - split.given).max()
    assert apart < 1e-12 * split.given[-1]
    assert split.given[-1] == pytest.approx(sum(p.net_energy for p in history.passes))


def test_surfaces_keep_their_own(shipped_run):
    """Radiation, still air and fan together are what the outside lost, by the ledger."""
    case, history = shipped_run
    split, lost = split_heat(case, history), history.ledger.lost
    by_way = sum(split.parts[n][-1] for n in (RADIATION, STILL, FAN) if n in split.parts)
    assert by_way == pytest.approx(sum(lost.get(n, 0.0) for n in OUTSIDE), rel=1e-12)
    bores = lost.get("pipe bore", 0.0) + lost.get("fitting bore", 0.0)
    assert split.parts.get(BORE, [0.0])[-1] == pytest.approx(bores)
    assert split.parts.get(HOLDING, [0.0])[-1] == lost.get("holding", 0.0)
    stored = split.parts[NEAR][-1] + split.parts.get(FAR, [0.0])[-1]
    assert stored == pytest.approx(history.ledger.stored)


def test_bright_metal_radiates_nothing(shipped):
    case = shipped("sampling-stub")
    dark = replace(case, surroundings=replace(case.surroundings, emissivity=1e-9))
    split = split_heat(dark, plan(dark))
    assert split.parts[RADIATION][-1] < 1e-6 * split.given[-1]
    assert split.parts[STILL][-1] > 0.2 * split.given[-1]


def test_shares_at_one_temperature_are_those_of_the_films(shipped):
    """A piece that starts warm all over and is hardly heated: h_rad against h_still.

    Radiation as a film at 423 K, emissivity 0.5, air 293 K: sigma e (T² + Ta²)(T + Ta)
    (Stefan-Boltzmann), 5.38 W/m²/K; the rest is given as a constant 10 W/m²/K.
    """
    case = shipped("sampling-stub")
    around = replace(
        case.surroundings, start=423.15, emissivity=0.5, film_coefficient=10.0
    )
    tiny = tuple(replace(p, net_power=1e-3, wait=5.0) for p in case.passes)
    options = replace(case.model, end_after=5.0)
    case = replace(case, surroundings=around, passes=tiny, model=options)
    split = split_heat(case, plan(case))
    film = 5.670374e-8 * 0.5 * (423.15**2 + 293.15**2) * (423.15 + 293.15)
    share = split.parts[RADIATION][-1] / split.parts[STILL][-1]
    assert film == pytest.approx(5.38, abs=0.01)
    assert share == pytest.approx(film / 10.0, rel=0.1)  # it cools a little on the way
    assert split.given[0] > 0.99 * split.given[-1]  # what it brought with it


def test_a_fan_shows_only_where_there_is_one(shipped):
    for name, there in (("duplex-instrument", True), ("sampling-stub", False)):
        case = shipped(name)
        parts = split_heat(case, plan(case)).parts
        assert (FAN in parts) == there


def test_a_fan_during_waits_takes_nothing_under_the_arc(shipped):
    case = shipped("duplex-instrument")
    case = replace(case, surroundings=replace(case.surroundings, fan_during="waits"))
    history = plan(case)
    split = split_heat(case, history)
    first = history.passes[0]
    taken = np.interp([first.arc_off, first.arc_off + 60], split.time, split.parts[FAN])
    assert taken[0] < 0.1 * taken[1]


def test_every_part_is_named_with_its_share(shipped):
    case = shipped("mixed-drain")
    history = plan(case)
    figure = heat_figure(case, history)
    axes = figure.axes[0]
    split = split_heat(case, history)
    labels = [t.get_text() for t in axes.texts if "%" in t.get_text()]
    assert len(labels) == len(split.parts)
    shares = [float(t.rsplit(",", 1)[1].strip(" %")) for t in labels]
    wanted = [100 * heat[-1] / split.given[-1] for heat in split.parts.values()]
    assert shares == pytest.approx(wanted, abs=0.5)
    assert axes.get_ylabel() == "Heat, kJ"


@pytest.mark.parametrize("name", ["mixed-drain", "duplex-instrument", "steam-drain"])
def test_labels_never_overlap(shipped, name):
    case = shipped(name)
    figure = heat_figure(case, plan(case))
    figure.draw_without_rendering()
    found = [t for t in figure.axes[0].texts if "%" in t.get_text()]
    for a, b in combinations(found, 2):
        one, other = (t.get_tightbbox().extents for t in (a, b))
        text = [matplotlib.text.Text.get_window_extent(t) for t in (a, b)]
        assert not text[0].overlaps(text[1]), (a.get_text(), b.get_text(), one, other)
        assert max(x.x1 for x in text) <= figure.bbox.width


def test_parts_are_told_apart_in_grey():
    """Neighbours of the same shade are hatched differently."""
    looks = list(LOOKS.values())
    for (one, hatch), (other, crossed) in pairwise(looks):
        grey = [
            float(np.dot(matplotlib.colors.to_rgb(c), (0.2126, 0.7152, 0.0722)))
            for c in (one, other)
        ]
        assert hatch != crossed or abs(grey[0] - grey[1]) > 0.2


def test_same_run_gives_same_bytes(stub):
    one, other = (heat_figure(*stub) for _ in range(2))
    for kind in ("svg", "png"):
        assert picture(one, kind) == picture(other, kind)


def test_a_history_without_heat_is_refused(stub):
    case, history = stub
    with pytest.raises(ValueError, match="no heat to divide"):
        split_heat(case, replace(history, heat=None))
