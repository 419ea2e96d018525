import ht
import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from interpass.physics.films import (
    STILL_FILM,
    bore_film,
    bore_gas,
    clearance_conductance,
    convection,
    convection_fan,
    convection_still_horizontal,
    convection_still_vertical,
    draught,
    gap_conductance,
    outside_film,
    radiation,
)
from interpass.physics.gases import gas_property
from interpass.physics.nusselt import (
    nusselt_cross_flow,
    nusselt_horizontal_cylinder,
    nusselt_tube_entry,
    nusselt_vertical_plate,
    slender_cylinder_gain,
)
from interpass.text.errors import CatalogueError
from numpy.testing import assert_allclose

AIR = 293.15
NODES = 200.0 + 2.5 * np.arange(1321)  # where films are tabulated, to 3500 K
NPS_HALF, NPS_1, NPS_2 = 21.3e-3, 33.4e-3, 60.3e-3
BORE = 24.3e-3  # NPS 1 Sch 80
COOLPROP = {
    "conductivity": "L",
    "viscosity": "V",
    "specific heat": "C",
    "density": "D",
    "prandtl": "PRANDTL",
}


@pytest.mark.parametrize("gas", ["air", "argon", "nitrogen", "helium"])
@pytest.mark.parametrize("name", COOLPROP)
def test_gas_table_is_coolprop_everywhere(gas, name):
    """Independent library: CoolProp at 1 atm, also between the rows, within 0.3 %."""
    T = np.linspace(200, 2000, 401)
    fluid = gas.capitalize()
    expected = [PropsSI(COOLPROP[name], "T", t, "P", 101325, fluid) for t in T]
    assert_allclose(gas_property(gas, name, T), expected, rtol=3e-3)


def test_gas_is_held_outside_the_table():
    held = gas_property("argon", "conductivity", np.array([50.0, 200, 2000, 3500]))
    assert held[0] == held[1] < held[2] == held[3]


def test_unknown_gas_and_property_are_named():
    with pytest.raises(CatalogueError, match="'argn'; did you mean 'argon'"):
        gas_property("argn", "conductivity", AIR)
    with pytest.raises(CatalogueError, match="did you mean 'viscosity'"):
        gas_property("air", "viscosty", AIR)


def test_correlations_equal_ht():
    """Independent library: ht 1.2 (Churchill-Chu twice, Popiel, Bernstein, Hausen)."""
    for Pr in (0.66, 0.7, 0.74):
        for Gr in (10.0, 1e3, 1e5, 1e7):
            Ra = Pr * Gr
            assert nusselt_horizontal_cylinder(Ra, Pr) == pytest.approx(
                ht.Nu_horizontal_cylinder_Churchill_Chu(Pr, Gr), rel=1e-12
            )
            plate = ht.Nu_vertical_plate_Churchill(Pr, Gr)
            assert nusselt_vertical_plate(Ra, Pr) == pytest.approx(plate, rel=1e-12)
            slender = ht.Nu_vertical_cylinder_Popiel_Churchill(Pr, Gr, L=0.1, D=0.03)
            gain = slender_cylinder_gain(Gr, Pr, 0.1 / 0.03)
            assert plate * gain == pytest.approx(slender, rel=1e-12)
            assert nusselt_cross_flow(Gr, Pr) == pytest.approx(
                ht.conv_external.Nu_cylinder_Churchill_Bernstein(Gr, Pr), rel=1e-12
            )
            entry = ht.conv_internal.laminar_entry_thermal_Hausen(
                Re=Gr, Pr=Pr, L=10, Di=1
            )
            assert nusselt_tube_entry(Gr * Pr / 10) == pytest.approx(entry, rel=1e-12)


@pytest.mark.parametrize(
    ("Gr", "cylinder", "plate"),
    [
        (1e3, 2.421994, 3.206503),
        (1e4, 4.014496, 5.028409),
        (1e5, 7.076842, 8.441787),
        (1e6, 13.133442, 15.044471),
    ],
)
def test_nusselt_table(Gr, cylinder, plate):
    """Computed beforehand with ht 1.2.0, Pr 0.7."""
    assert nusselt_horizontal_cylinder(0.7 * Gr, 0.7) == pytest.approx(cylinder, abs=1e-6)
    assert nusselt_vertical_plate(0.7 * Gr, 0.7) == pytest.approx(plate, abs=1e-6)


@pytest.mark.parametrize(
    ("celsius", "half", "one", "two", "oxidised", "bright"),
    [
        (60, 7.308, 6.587, 5.893, 5.595, 2.098),
        (100, 8.527, 7.726, 6.954, 6.806, 2.552),
        (150, 9.413, 8.546, 7.709, 8.611, 3.229),
        (200, 9.994, 9.075, 8.188, 10.769, 4.039),
        (300, 10.725, 9.725, 8.762, 16.287, 6.108),
        (400, 11.174, 10.109, 9.084, 23.630, 8.861),
        (600, 11.710, 10.539, 9.414, 44.882, 16.831),
        (800, 12.033, 10.772, 9.566, 76.705, 28.764),
    ],
)
def test_films_of_horizontal_pipe(celsius, half, one, two, oxidised, bright):
    """Computed from ht 1.2.0 and CoolProp 8.0.0 directly; ours reads a gas table."""
    T = celsius + 273.15
    films = [convection_still_horizontal(T, AIR, D) for D in (NPS_HALF, NPS_1, NPS_2)]
    assert films == pytest.approx([half, one, two], rel=1e-3)
    assert radiation(T, AIR, 0.8) == pytest.approx(oxidised, abs=6e-4)
    assert radiation(T, AIR, 0.3) == pytest.approx(bright, abs=6e-4)


@pytest.mark.published
def test_textbook_steam_pipe():
    """Incropera, Example 9.4: 763 W/m (from memory); the book rounds its properties.

    0.1 m pipe at 165 degC in a room at 23 degC, emissivity 0.85.
    """
    film = outside_film(438.15, 296.15, 0.1, emissivity=0.85)
    assert film * np.pi * 0.1 * 142 == pytest.approx(763, rel=0.01)


def test_radiation_equals_ht():
    """Independent library: ht.q_rad; its constant is CODATA 2014, 1.3e-6 lower."""
    heat = radiation(400.0, 305.0, 0.85) * (400 - 305)
    assert heat == pytest.approx(ht.q_rad(0.85, T=400, T2=305), rel=2e-6)


def test_vertical_film_of_a_joint():
    """The slender cylinder gains 5 to 20 % over the plate where pipes are hot."""
    T = np.array([373.15, 473.15, 673.15])
    plate = convection_still_vertical(T, AIR)
    pipe = convection_still_vertical(T, AIR, diameter=NPS_1)
    assert np.all((pipe > 1.05 * plate) & (pipe < 1.20 * plate))
    wide = convection_still_vertical(T, AIR, diameter=100.0)
    assert_allclose(wide, plate, rtol=1e-3)


@pytest.mark.parametrize("axis", ["horizontal", "vertical"])
def test_fan_takes_over_from_still_air(axis):
    still = convection(473.15, AIR, NPS_1, axis)
    faint = convection(473.15, AIR, NPS_1, axis, fan=1e-6)
    assert still < faint < 1.01 * still
    strong = convection(473.15, AIR, NPS_1, axis, fan=20.0)
    assert strong == pytest.approx(convection_fan(473.15, AIR, NPS_1, 20.0), rel=1e-3)
    speeds = [convection(473.15, AIR, NPS_1, axis, fan=v) for v in (0, 0.2, 0.5, 1, 2)]
    assert speeds == sorted(speeds)


def test_film_coefficient_replaces_convection_only():
    film = outside_film(NODES, AIR, NPS_1, "vertical", 2.0, 0.5, film_coefficient=10.0)
    assert_allclose(film - radiation(NODES, AIR, 0.5), 10.0, rtol=1e-9)


def films():
    """Every film as a function of surface temperature alone."""
    for axis in ("horizontal", "vertical"):
        for fan in (0.0, 2.0):
            yield lambda T, a=axis, v=fan: outside_film(T, AIR, NPS_1, a, v, 0.3)
        for condition in ("still air", "open", "argon purge"):
            yield lambda T, c=condition, a=axis: bore_film(
                T, AIR, BORE, c, 8e-3 / 60, 0.3, a
            )


@pytest.mark.parametrize("film", list(films()))
def test_films_are_finite_positive_and_continuous(film):
    h = film(NODES)
    assert np.all(np.isfinite(h))
    assert np.all(h > 0)
    near = AIR + np.array([-1e-9, 0.0, 1e-9])
    assert_allclose(film(near), film(np.array(AIR)), rtol=0.1)
    heat = h * (NODES - AIR)
    assert np.all(np.diff(heat) > 0)  # hotter always loses more
    assert_allclose(film(np.array([473.15])), film(473.15), rtol=1e-15)


def test_heat_of_still_air_has_no_step_at_air_temperature():
    """The sixth root is steep at no difference, but the heat goes to nothing with it."""
    dT = np.array([-0.01, -0.001, 0.001, 0.01])
    heat = outside_film(AIR + dT, AIR, NPS_1) * dT
    assert_allclose(heat, -heat[::-1], rtol=1e-3)
    assert np.all(np.abs(heat) < 5 * np.abs(dT))


def test_bore_conditions():
    assert bore_film(473.15, AIR, BORE, "insulated") == 0.0
    assert bore_film(473.15, AIR, BORE) == STILL_FILM
    assert bore_film(473.15, AIR, BORE, "argon purge", 0.0) == STILL_FILM
    assert (bore_gas("argon purge"), bore_gas("still air")) == ("argon", "air")
    with pytest.raises(CatalogueError, match="did you mean 'argon purge'"):
        bore_film(473.15, AIR, BORE, "argon")


def test_purge_takes_no_more_than_its_heat_capacity():
    """A trickle leaves at wall temperature.

    Capacity of 1 l/min of argon: 1.6618 kg/m³ x 521 J/kg/K / 60000 = 14.4 mW/K.
    """
    thin, litre = 5e-3, 1e-3 / 60
    trickle = bore_film(473.15, AIR, thin, "argon purge", 0.25 * litre)
    assert trickle * np.pi * thin * 0.1 == pytest.approx(0.25 * 14.4e-3, rel=0.01)
    usual = bore_film(473.15, AIR, BORE, "argon purge", 8 * litre)
    assert STILL_FILM < usual < 8 * 14.4e-3 / (np.pi * BORE * 0.1)


def test_purge_in_plenty_is_limited_by_its_film():
    """Independent library: ht (Hausen's tube entry), from Reynolds number."""
    flow, T_film = 1.0, (473.15 + AIR) / 2  # absurdly much, so that it stays cold
    k, mu, Pr = (
        gas_property("argon", name, T_film)
        for name in ("conductivity", "viscosity", "prandtl")
    )
    Re = 4 * flow * gas_property("argon", "density", AIR) / (np.pi * BORE * mu)
    Nu = ht.conv_internal.laminar_entry_thermal_Hausen(Re=Re, Pr=Pr, L=0.1, Di=BORE)
    film = bore_film(473.15, AIR, BORE, "argon purge", flow)
    assert film == pytest.approx(Nu * k / BORE, rel=2e-3)


def test_draught_through_an_open_bore():
    """Poiseuille, by hand: 10 mm bore, 473.15 K in air at 293.15 K, film 383.15 K."""
    nu = gas_property("air", "viscosity", 383.15) / gas_property("air", "density", 383.15)
    speed = 9.80665 * 180 / 383.15 * 0.01**2 / (32 * nu)
    by_hand = speed * np.pi / 4 * 0.01**2 * 293.15 / 383.15
    assert draught(473.15, AIR, 0.01, "vertical", 0.1) == pytest.approx(
        by_hand, rel=1e-12
    )
    assert draught(AIR, AIR, 0.01, "vertical", 0.1) == 0
    level = draught(473.15, AIR, 0.01, "horizontal", 0.1)
    assert 0 < level < by_hand


def test_open_bore_loses_less_than_a_black_opening_and_more_than_a_closed_one():
    T = 673.15
    for axis in ("horizontal", "vertical"):
        film = bore_film(T, AIR, BORE, "open", emissivity=0.5, axis=axis)
        assert STILL_FILM < film < 30.0
    shiny, black = (bore_film(T, AIR, BORE, "open", emissivity=e) for e in (0.05, 1.0))
    assert black - shiny > 0
    ends = BORE / (2 * 0.1) * radiation(T, AIR, 1.0)
    assert black - shiny < ends


@pytest.mark.parametrize(
    ("gas", "celsius", "film"),
    [
        ("air", 20, 103.5),
        ("air", 300, 177.7),
        ("argon", 20, 70.0),
        ("argon", 300, 118.3),
        ("argon", 800, 182.7),
    ],
)
def test_gas_in_the_socket_clearance(gas, celsius, film):
    """0.25 mm, conduction only; computed with CoolProp 8.0.0."""
    got = clearance_conductance(celsius + 273.15, 0.25e-3, gas, emissivity=0.0)
    assert got == pytest.approx(film, abs=0.06)


def test_radiation_across_the_clearance():
    """400 to 200 degC, emissivity 0.8 both: 29.3 W/m²/K by hand; linearised 3 % low."""
    plain = clearance_conductance(573.15, 0.25e-3, "air", emissivity=0.0)
    warm = clearance_conductance(573.15, 0.25e-3, "air", emissivity=0.8)
    assert warm - plain == pytest.approx(29.3, rel=0.03)
    T, close = 573.15, 0.01
    exact = ht.q_rad(1 / (2 / 0.8 - 1), T=T + close / 2, T2=T - close / 2) / close
    assert warm - plain == pytest.approx(exact, rel=2e-6)


def test_gaps_that_touch_stay_finite():
    assert np.isfinite(clearance_conductance(AIR, 0.0))
    assert clearance_conductance(AIR, 0.0) == clearance_conductance(AIR, 10e-6)
    assert gap_conductance(AIR, 1.6e-3) < clearance_conductance(AIR, 0.25e-3)
