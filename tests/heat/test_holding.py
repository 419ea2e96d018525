"""A gripped band of the surface: closed forms of a lump, and of a film in parallel."""

from dataclasses import replace
from math import pi

import numpy as np
import pytest
from interpass.case_file.read import parse_case
from interpass.heat.model import make_model
from interpass.heat.waits import plan
from interpass.joint.case import Holding
from interpass.joint.outline import KIND

BARE = """
[pipe]
outside_diameter = "30 mm"
wall = "10 mm"
material = "house"
length = "25 mm"
far_end = "insulated"
[fitting]
kind = "none"
length = "25 mm"
far_end = "insulated"
[joint]
band = "6 mm"
filler = "house"
[[pass]]
net_power = "600 W"
arc_time = "30 s"
[limits]
interpass_max = "175 degC"
[surroundings]
bore = "insulated"
film_coefficient = "0 W/m^2/K"
emissivity = 0
[model]
ring = 1
end_after = "600 s"
[materials.house]
density = "8000 kg/m^3"
conductivity = [["20 degC", "400 W/m/K"]]
specific_heat = [["20 degC", "500 J/kg/K"]]
solidus = "1400 degC"
liquidus = "1450 degC"
"""


def with_grip(case, share, conductance, film=0.0):
    held = Holding("pipe", 5e-3, 15e-3, conductance, share)
    around = replace(case.surroundings, holding=held, film_coefficient=film)
    return replace(case, surroundings=around)


@pytest.mark.parametrize("share", [1.0, 0.16])
def test_gripped_lump_cools_exponentially(share):
    """Biot h t / k = 0.0025: T - T_air falls as exp(-share h A t / C)."""
    h = 100.0
    history = plan(with_grip(parse_case(BARE), share, h))
    capacity = 8000.0 * 500.0 * pi * (15e-3**2 - 5e-3**2) * 50e-3
    rate = share * h * 2 * pi * 15e-3 * 15e-3 / capacity
    off = history.passes[0].arc_off
    hot = history.hottest - 293.15
    at = np.interp([off + 60.0, off + 560.0], history.time, hot)
    assert np.log(at[0] / at[1]) / 500.0 == pytest.approx(rate, rel=5e-3)


def test_what_is_not_touched_stays_open_to_the_air():
    """share h + (1 - share) film over the band: the same but for the half cell below."""
    case = parse_case(BARE)
    shared = plan(with_grip(case, 0.25, 400.0, film=20.0))
    whole = plan(with_grip(case, 1.0, 0.25 * 400.0 + 0.75 * 20.0, film=20.0))
    assert shared.hottest == pytest.approx(whole.hottest, abs=0.02)


def test_band_is_divided_between_holder_and_air():
    model = make_model(with_grip(parse_case(BARE), 0.16, 300.0))
    surface = model.stages[-1].surface
    area = {n: surface.area[surface.kind == KIND[n]].sum() for n in ("holding", "pipe")}
    assert area["holding"] == pytest.approx(0.16 * 15e-3 * 15e-3, rel=1e-12)
    assert sum(area.values()) == pytest.approx(15e-3 * 50e-3, rel=1e-12)


def test_ledger_books_the_holder_alone():
    """Between holder and air as share h to (1 - share) film, band and rest apart."""
    case = with_grip(parse_case(BARE), 0.2, 200.0, film=20.0)
    history = plan(case)
    lost = history.ledger.lost
    open_air = (0.8 * 15e-3 + 35e-3) * 20.0
    assert lost["holding"] / sum(lost.values()) == pytest.approx(
        0.2 * 15e-3 * 200.0 / (0.2 * 15e-3 * 200.0 + open_air), rel=0.02
    )
    assert abs(history.ledger.closure) < 1e-9
