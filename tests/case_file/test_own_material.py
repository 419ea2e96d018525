"""A metal of the user's own: exact by hand at the nodes, and refused when impossible.

The checks are computed by hand from the numbers given; there is no outside source.
"""

import re

import numpy as np
import pytest
from interpass.physics import metals
from interpass.text.errors import CatalogueError


def own(**changed):
    numbers = {
        "density": 7850.0,
        "conductivity_points": [(293.15, 14.9), (1473.15, 29.8)],
        "specific_heat_points": [(293.15, 455.0), (773.15, 540.0), (1473.15, 599.0)],
        "solidus": 1673.15,
        "liquidus": 1723.15,
        "latent_heat": 250e3,
    }
    return metals.own_material("house", **(numbers | changed))


def test_own_material_is_exact_at_the_nodes():
    """Trapezium rule is exact for straight lines: heat to 1475 K by hand."""
    metal = own()
    by_hand = (455 + 540) / 2 * 480 + (540 + 599) / 2 * 700 + 599 * 1.85
    node = np.flatnonzero(metals.TABLE_TEMPERATURE == 1475.0)[0]
    assert metal.enthalpy[node] == pytest.approx(7850 * by_hand, rel=1e-12)
    assert metal.enthalpy[0] == pytest.approx(7850 * 455 * (200 - 293.15), rel=1e-12)
    assert metal.conductivity[-1] == 29.8
    assert {standing for _, _, standing in metal.sources} == {"given"}


def test_own_material_without_melting_and_with_a_sharp_melting_point():
    plain = own(latent_heat=0.0, solidus=1700.0, liquidus=1700.0)
    assert plain.solidus == plain.liquidus == 1700.0
    sharp = own(solidus=1700.0, liquidus=1700.0)
    assert sharp.liquidus - sharp.solidus == pytest.approx(5.0)
    gained = (sharp.enthalpy - plain.enthalpy) / 7850
    assert gained[metals.TABLE_TEMPERATURE < 1697].max() == pytest.approx(0, abs=1e-6)
    assert gained[-1] == pytest.approx(250e3)


@pytest.mark.parametrize(
    ("changed", "text"),
    [
        ({"density": -1.0}, "density -1 kg/m3; expected above 0"),
        ({"conductivity_points": []}, "conductivity has no points"),
        ({"conductivity_points": [(300, 10), (300, 11)]}, "rising temperature"),
        ({"specific_heat_points": [(300, 0.0)]}, "specific heat 0 at 300 K"),
        ({"solidus": 1800.0}, "solidus 1800 K above liquidus 1723.15 K"),
        ({"latent_heat": -5.0}, "latent heat -5 J/kg"),
    ],
)
def test_impossible_own_material(changed, text):
    with pytest.raises(CatalogueError, match=re.escape(text)):
        own(**changed)


def test_all_mistakes_of_an_own_material_at_once():
    with pytest.raises(CatalogueError, match=r"conductivity.*; density"):
        own(density=0.0, conductivity_points=[(300.0, -1.0)])
