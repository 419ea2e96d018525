"""A metal of the user's own: exact by hand at the nodes, and refused when impossible.

The checks are computed by hand from the numbers given; there is no outside source.
"""

import re

import numpy as np
import pytest
from interpass.case_file.read import parse_case
from interpass.physics import metals
from interpass.text.errors import CaseError


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


OWN = """
pipe = { size = "NPS 1", schedule = "80", material = "house" }
fitting = { kind = "coupling" }
joint = { filler = "ER316L" }
limits = { interpass_max = "200 degC" }
pass = [{ current = "80 A", travel = "60 mm/min" }]
[materials.house]
density = "7850 kg/m^3"
conductivity = [["20 degC", "50 W/m/K"], ["500 degC", "40 W/m/K"]]
specific_heat = [["20 degC", "455 J/kg/K"]]
solidus = "1450 degC"
liquidus = "1500 degC"
latent_heat = "270 kJ/kg"
"""


@pytest.mark.parametrize(
    ("old", "new", "text"),
    [
        ('"7850 kg/m^3"', '"-1 kg/m^3"', "density: '-1 kg/m^3' is negative"),
        ('[["20 degC", "455 J/kg/K"]]', "[]", "specific_heat is not a list of 1 to 200"),
        ('"500 degC"', '"20 degC"', "is not above the temperature before it"),
        ('"455 J/kg/K"', '"0 J/kg/K"', "specific_heat.1: '0 J/kg/K' is zero"),
        ('"1450 degC"', '"1600 degC"', "solidus is above the liquidus"),
        ('"270 kJ/kg"', '"-5 kJ/kg"', "latent_heat: '-5 kJ/kg' is negative"),
        ('"50 W/m/K"', '"nan W/m/K"', "is not a conductivity"),
    ],
)
def test_impossible_own_material(old, new, text):
    assert parse_case(OWN).pipe.material.name == "house"
    with pytest.raises(CaseError, match=re.escape(text)):
        parse_case(OWN.replace(old, new, 1))
