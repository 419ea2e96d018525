"""Curves, enthalpies and names of the metals; the source stands beside each check."""

import re
from itertools import pairwise

import numpy as np
import pytest
from interpass.physics import metals
from interpass.physics.curves import (
    curve_integral,
    curve_value,
    melting_curve,
    points_curve,
)
from interpass.physics.metals import conductivity_curve, specific_heat_curve
from interpass.text.errors import CatalogueError
from interpass.trade.rows import STANDINGS, table_rows
from scipy.integrate import quad

ZERO = 273.15
METALS = metals.material_names()


# EN 1993-1-2:2005 clauses 3.4.1.2 and 3.4.1.3, carbon steel (published restatement), and
# Annex C.3, stainless (from memory): the formulas worked out by hand to five figures.
EN_VALUES = [  # degC, k carbon, c carbon, k stainless, c stainless
    (20, 53.334, 439.80, 14.854, 455.48),
    (100, 50.670, 487.62, 15.870, 475.22),
    (150, 49.005, 510.42, 16.505, 485.90),
    (200, 47.340, 529.76, 17.140, 495.43),
    (400, 40.680, 605.88, 19.680, 524.02),
    (700, 30.690, 1008.16, 23.490, 549.37),
    (735, 29.524, 5000.0, 23.934, 551.80),
    (800, 27.3, 803.26, 24.760, 556.37),
    (1000, 27.3, 650.0, 27.300, 573.00),
    (1200, 27.3, 650.0, 29.840, 598.51),
]


@pytest.mark.published
@pytest.mark.parametrize("row", EN_VALUES, ids=lambda row: f"{row[0]} degC")
def test_curves_of_en_1993_1_2(row):
    T = row[0] + ZERO
    found = [
        float(curve_value(curve(name), T))
        for name in ("carbon steel", "347")
        for curve in (conductivity_curve, specific_heat_curve)
    ]
    assert found == pytest.approx(row[1:], abs=6e-3)


# Kim 1975, ANL-75-55 (published restatement): formulas worked out at the temperature.
KIM_VALUES = [  # degC, k 304L, c 304L, k 316L, c 316L
    (20, 12.859, 508.96, 13.853, 497.92),
    (150, 14.963, 526.49, 15.896, 515.18),
    (600, 22.244, 587.15, 22.965, 574.94),
    (1000, 28.716, 641.08, 29.249, 628.06),
    (1200, 31.952, 668.04, 32.391, 654.62),
]


@pytest.mark.published
@pytest.mark.parametrize("row", KIM_VALUES, ids=lambda row: f"{row[0]} degC")
def test_curves_of_kim(row):
    found = [
        float(curve_value(curve(name), row[0] + ZERO))
        for name in ("304L", "316L")
        for curve in (conductivity_curve, specific_heat_curve)
    ]
    assert found == pytest.approx(row[1:], abs=6e-3)


# Mills 2002, type 316 (from memory): k to 10 %, c to 5 % by the author's own account;
# two measurements of one steel must lie within the sum of their doubts.
@pytest.mark.published
@pytest.mark.parametrize(
    ("celsius", "k", "c"),
    [(25, 13.757, 482.60), (400, 21.282, 550.70), (800, 27.047, 623.34),
     (1200, 30.474, 695.98)],
)  # fmt: skip
def test_316L_agrees_with_a_second_source(celsius, k, c):
    T = celsius + ZERO
    assert float(curve_value(conductivity_curve("316L"), T)) == pytest.approx(k, rel=0.10)
    assert float(curve_value(specific_heat_curve("316L"), T)) == pytest.approx(
        c, rel=0.06
    )


# Kim 1975, liquid 316L (published restatement): cp 770.4, k = 12.41 + 3.279e-3 T(K).
@pytest.mark.published
def test_liquid_316L():
    metal = metals.material("316L")
    assert metal.solidus == pytest.approx(1670.0)
    assert metal.liquidus == pytest.approx(1730.0)
    assert float(metals.conductivity_at(metal, 2000.0)) == pytest.approx(18.968)
    assert float(metals.specific_heat_at(metal, 2000.0)) == pytest.approx(770.4)


# Joints of EN 1993-1-2 (published restatement): value from below and from above. The
# steps are the standard's own: 0.297 at 600 degC, none at 735, 0.44 at 900, 0.06 in k.
@pytest.mark.published
@pytest.mark.parametrize(
    ("curve", "celsius", "below", "above"),
    [
        (specific_heat_curve, 600, 759.920, 666 + 13002 / 138),
        (specific_heat_curve, 735, 5000.0, 5000.0),
        (specific_heat_curve, 900, 545 + 17820 / 169, 650.0),
        (conductivity_curve, 800, 27.36, 27.3),
    ],
)
def test_both_sides_of_the_joints_of_carbon_steel(curve, celsius, below, above):
    found = [
        float(curve_value(curve("carbon steel"), celsius + ZERO, side))
        for side in ("below", "above")
    ]
    assert found == pytest.approx([below, above], abs=1e-3)


# Our own construction: only the standard's own steps are steps; every other joint of
# every curve (held ends, points, melting, liquid) is continuous. No outside source.
PUBLISHED_STEPS = {
    ("specific heat", 600), ("specific heat", 900), ("conductivity", 800),
}  # fmt: skip


@pytest.mark.parametrize("name", METALS)
@pytest.mark.parametrize(
    ("quantity", "curve"),
    [("conductivity", conductivity_curve), ("specific heat", specific_heat_curve)],
)
def test_both_sides_of_every_joint(name, quantity, curve):
    pieces = curve(name)
    for left, right in pairwise(pieces):
        assert left.end == pytest.approx(right.start, abs=1e-9)
        below = float(curve_value(pieces, right.start, "below"))
        above = float(curve_value(pieces, right.start, "above"))
        published = (quantity, round(right.start - ZERO)) in PUBLISHED_STEPS
        allowed = 0.5 if published else 1e-6 * below
        assert below == pytest.approx(above, abs=allowed), f"{right.start - ZERO} degC"


# EN 1993-1-2 (published restatement): closed-form integrals of its specific heat.
@pytest.mark.published
def test_integrals_of_carbon_steel():
    curve = specific_heat_curve("carbon steel")
    whole = float(curve_integral(curve, 20 + ZERO, 1200 + ZERO))
    low = float(curve_integral(curve, 20 + ZERO, 150 + ZERO))
    assert whole == pytest.approx(827064, abs=0.5)
    assert low / 130 == pytest.approx(478.28, abs=5e-3)


def test_integrals_agree_with_quadrature():
    """Closed forms against scipy's adaptive quadrature, joint by joint."""
    for name in METALS:
        curve = specific_heat_curve(name)
        edges = [250.0, *(piece.start for piece in curve[1:]), 2500.0]
        by_steps = sum(
            quad(lambda T, curve=curve: float(curve_value(curve, T)), a, b)[0]
            for a, b in pairwise(edges)
        )
        exact = float(curve_integral(curve, 250.0, 2500.0))
        assert exact == pytest.approx(by_steps, rel=1e-9), name


def test_table_holds_the_peak_of_carbon_steel():
    """Heat between 700 and 800 degC as the table has it, against EN 1993-1-2's curve."""
    steel = metals.material("carbon steel")
    low, high = 700 + ZERO, 800 + ZERO
    parts = quad(lambda x: 666 + 13002 / (738 - x), 700, 735)[0]
    parts += quad(lambda x: 545 + 17820 / (x - 731), 735, 800)[0]
    held = np.diff(metals.enthalpy_at(steel, [low, high]))[0] / steel.density
    assert held == pytest.approx(parts, rel=1e-4)


@pytest.mark.parametrize("name", METALS)
def test_heat_of_melting_is_held(name):
    """Enthalpy across melting = sensible heat by quadrature + the latent heat."""
    metal = metals.material(name)
    low, high = metals.TABLE_TEMPERATURE[[500, 720]]  # 1450 and 2000 K
    if name == "copper":
        low = metals.TABLE_TEMPERATURE[400]  # 1200 K
    sensible = float(curve_integral(specific_heat_curve(name), low, high))
    rise = np.diff(metals.enthalpy_at(metal, [low, high]))[0] / metal.density
    assert rise - sensible == pytest.approx(metal.latent_heat, rel=1e-9)
    assert metal.liquidus - metal.solidus >= 5.0 - 1e-9


@pytest.mark.parametrize("name", METALS)
def test_tables_are_sound(name):
    metal = metals.material(name)
    assert np.all(np.diff(metal.enthalpy) > 0)
    assert np.all(metal.conductivity > 5.0)
    assert float(metals.enthalpy_at(metal, 20 + ZERO)) == pytest.approx(0.0, abs=1e4)
    assert not metal.enthalpy.flags.writeable
    assert 0 < metal.emissivity_bright < metal.emissivity_oxidised < 1


@pytest.mark.parametrize("name", METALS)
def test_temperature_inverts_enthalpy(name):
    metal = metals.material(name)
    T = np.linspace(210.0, 3400.0, 977)
    back = metals.temperature_at(metal, metals.enthalpy_at(metal, T))
    np.testing.assert_allclose(back, T, atol=1e-8)


def test_specific_heat_is_the_slope_of_the_enthalpy():
    metal = metals.material("316L")
    T = np.array([301.0, 900.3, 1700.1, 2400.0])
    slope = (metals.enthalpy_at(metal, T + 0.1) - metals.enthalpy_at(metal, T)) / 0.1
    found = metals.specific_heat_at(metal, T) * metal.density
    np.testing.assert_allclose(found, slope, rtol=1e-6)


# Melting ranges [degC] quoted from the ASM Specialty Handbook (published restatement) and
# for alloy 625 from data pages (maker page): ours must be the range or overlap it.
@pytest.mark.published
@pytest.mark.parametrize(
    ("name", "low", "high"),
    [("304L", 1400, 1450), ("316L", 1375, 1400), ("321", 1400, 1425),
     ("347", 1400, 1425), ("2205", 1385, 1445), ("625", 1290, 1350)],
)  # fmt: skip
def test_melting_ranges(name, low, high):
    metal = metals.material(name)
    assert metal.solidus - ZERO <= high
    assert metal.liquidus - ZERO >= low
    if name != "316L":  # Kim's 1670 to 1730 K, so that it goes with his heat of melting
        assert metal.solidus - ZERO == pytest.approx(low)
        assert metal.liquidus - ZERO == pytest.approx(high)


# Alloy 625: mill bulletin; 2205: mill data sheet; copper: Incropera A.1; all from memory.
@pytest.mark.parametrize(
    ("name", "T", "k", "c"),
    [("625", 316 + ZERO, 14.1, 481), ("625", 982 + ZERO, 25.2, 645),
     ("2205", 200 + ZERO, 17, 530), ("copper", 600.0, 379, 417)],
)  # fmt: skip
def test_tabulated_alloys(name, T, k, c):
    assert float(curve_value(conductivity_curve(name), T)) == pytest.approx(k)
    assert float(curve_value(specific_heat_curve(name), T)) == pytest.approx(c)


def test_low_alloy_conducts_less_than_carbon_steel_until_both_are_austenite():
    T = np.linspace(300.0, 795 + ZERO, 60)
    low_alloy, carbon = (
        curve_value(conductivity_curve(name), T)
        for name in ("1.25Cr-0.5Mo", "carbon steel")
    )
    assert np.all(low_alloy <= carbon)
    assert float(curve_value(conductivity_curve("1.25Cr-0.5Mo"), 1300.0)) == 27.3


@pytest.mark.parametrize("table", ["material", "curve", "point", "alias", "filler"])
def test_rows_say_where_they_come_from(table):
    rows = table_rows(table)
    assert rows
    for row in rows:
        assert row["source"].strip()
        assert row["standing"] in STANDINGS


@pytest.mark.parametrize("name", METALS)
def test_sources_cover_every_quantity(name):
    quantities = {quantity for quantity, _, _ in metals.material(name).sources}
    assert quantities >= {
        "conductivity", "specific heat", "density", "solidus", "liquidus",
        "latent_heat", "emissivity_bright", "emissivity_oxidised", "carbon_percent",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("alias", "name"),
    [("TP304L", "304L"), ("cs", "carbon steel"), ("A106", "carbon steel"),
     ("321/347", "347"), ("P11", "1.25Cr-0.5Mo"), ("alloy 625", "625"), ("316l", "316L")],
)  # fmt: skip
def test_names_of_the_trade(alias, name):
    assert metals.material(alias) is metals.material(name)


def test_straight_grade_has_its_own_carbon():
    assert metals.material("304").carbon_percent == 0.08
    assert metals.material("304").name == "304"
    assert metals.material("304").enthalpy is metals.material("304L").enthalpy
    assert metals.material("304L").carbon_percent == 0.03


def test_every_alias_and_filler_can_be_had():
    for row in table_rows("alias"):
        assert metals.material(row["alias"]).family
    for name in metals.filler_names():
        assert metals.filler(name).name == name
    assert metals.filler("er70s-6").family == "carbon steel"
    assert metals.filler("316L") is metals.material("316L")


@pytest.mark.parametrize(
    ("call", "name", "text"),
    [
        (metals.material, "316M", "no material '316M'; did you mean '316'? available: "),
        (metals.material, "unobtainium", "no material 'unobtainium'; available: 304L"),
        (metals.filler, "ER3O8L", "no filler 'ER3O8L'; did you mean 'ER308L'?"),
    ],
)
def test_unknown_names(call, name, text):
    with pytest.raises(CatalogueError, match=re.escape(text)) as caught:
        call(name)
    assert "312" not in str(caught.value)


def test_melting_curve_joins_solid_and_liquid_by_a_line():
    solid = points_curve([(300.0, 10.0), (400.0, 20.0)])
    liquid = points_curve([(300.0, 50.0)])
    curve = melting_curve(solid, liquid, 350.0, 450.0)
    assert curve_value(curve, [340.0, 400.0, 460.0]) == pytest.approx([14.0, 32.5, 50.0])
    alone = melting_curve(solid, None, 350.0, 450.0)
    assert float(curve_value(alone, 460.0)) == pytest.approx(15.0)
