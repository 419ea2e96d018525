"""Series, fins and the semi-infinite body against printed tables and limits."""

from pathlib import Path

import numpy as np
import pytest
from interpass.physics.films import fin_parameter
from numpy.testing import assert_allclose

from closed_forms import bodies as exact

TABLE = np.genfromtxt(
    Path(__file__).parents[1] / "data" / "eigenvalues.csv",
    delimiter=",",
    names=True,
    skip_header=2,  # its source
)


# Cengel, Table 4-2: published, four decimals
@pytest.mark.published
@pytest.mark.parametrize(
    ("biot", "wall", "cylinder"),
    [
        (0.01, (0.0998, 1.0017), (0.1412, 1.0025)),
        (0.1, (0.3111, 1.0161), (0.4417, 1.0246)),
        (0.5, (0.6533, 1.0701), (0.9408, 1.1143)),
        (1, (0.8603, 1.1191), (1.2558, 1.2071)),
        (5, (1.3138, 1.2403), (1.9898, 1.5029)),
        (10, (1.4289, 1.2620), (2.1795, 1.5677)),
    ],
)
def test_one_term_coefficients_as_printed(biot, wall, cylinder):
    assert_allclose(exact.slab_one_term(biot), wall, atol=5.1e-5)
    assert_allclose(exact.cylinder_one_term(biot), cylinder, atol=5.1e-5)


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"Bi {row['Bi']:g}")
def test_one_term_coefficients_to_six_decimals(row):
    """data/eigenvalues.csv: computed outside the project."""
    wall, cylinder = exact.slab_one_term(row["Bi"]), exact.cylinder_one_term(row["Bi"])
    assert_allclose(wall, (row["zeta1_wall"], row["C1_wall"]), atol=1e-6)
    assert_allclose(cylinder, (row["zeta1_cyl"], row["C1_cyl"]), atol=1e-6)


@pytest.mark.parametrize(
    ("biot", "fourier", "wall", "cylinder"),
    [
        (1, 0.05, (0.999751, 0.790377), (0.998898, 0.769641)),
        (1, 0.2, (0.950642, 0.643391), (0.870174, 0.570228)),
        (1, 1.0, (0.533859, 0.348177), (0.249380, 0.160338)),
        (0.1, 1.0, (0.922389, 0.878126), (0.842990, 0.802375)),
        (10, 0.2, (0.829255, 0.122482), (0.600232, 0.074844)),
    ],
)
def test_full_series_at_centre_and_surface(biot, fourier, wall, cylinder):
    """Full series computed outside the project (standing: computed)."""
    assert_allclose(exact.slab([0, 1], fourier, biot), wall, atol=6e-7)
    assert_allclose(exact.cylinder([0, 1], fourier, biot), cylinder, atol=6e-7)


def test_pipeline_wall_of_the_textbook():
    """Oil at 60 degC starts to flow in a cold pipe, the wall taken as plane.

    Incropera, Examples 5.5/5.6. Statement published; properties of AISI 1010 and the
    book's answers (42.9 and 45.2 degC, rounded coefficients) from memory.
    """
    k, rho, c, wall, h = 63.9, 7832.0, 434.0, 0.040, 500.0
    biot, fourier = h * wall / k, k / (rho * c) * 480 / wall**2
    assert (biot, fourier) == pytest.approx((0.313, 5.64), abs=5e-3)
    outside, inside = 60 - 80 * exact.slab([0, 1], fourier, biot)
    assert (outside, inside) == pytest.approx((43.02, 45.36), abs=5e-3)  # computed
    assert (outside, inside) == pytest.approx((42.9, 45.2), abs=0.2)  # from memory
    assert h * (inside - 60) == pytest.approx(-7319, abs=1)  # W/m², computed
    # heat into the wall per metre of the 1 m pipe, from the mean of the series
    nodes, weights = np.polynomial.legendre.leggauss(12)
    mean = exact.slab((nodes + 1) / 2, fourier, biot) @ weights / 2
    heat = -rho * c * wall * np.pi * 80 * (1 - mean)
    assert heat == pytest.approx(-2.725e7, rel=5e-4)  # J/m, computed; book -2.73e7


@pytest.mark.parametrize("body", [exact.slab, exact.cylinder])
def test_long_times_leave_one_term(body):
    zeta, amplitude = {
        exact.slab: exact.slab_one_term,
        exact.cylinder: exact.cylinder_one_term,
    }[body](2.0)
    assert_allclose(body(0, 2.0, 2.0), amplitude * np.exp(-2.0 * zeta**2), rtol=1e-9)


def test_large_biot_holds_the_surface_at_the_air():
    """Roots go to odd quarter turns (slab) and to the zeros of J0 (2.404826, tables)."""
    assert exact.slab_one_term(1e9) == pytest.approx((np.pi / 2, 4 / np.pi), rel=1e-8)
    assert exact.cylinder_one_term(1e9)[0] == pytest.approx(2.404826, abs=1e-6)
    assert_allclose(exact.hollow_cylinder(1.0, 0.01, 1e9, 0.7), 0, atol=1e-8)


@pytest.mark.parametrize("biot", [1e-4, 1e-3])
def test_small_biot_is_a_lump(biot):
    """Volume over surface: 1, 1/2 and (1 - b²)/2 of the length; b the bore's ratio."""
    bore = 0.7
    assert exact.slab_one_term(biot)[0] ** 2 == pytest.approx(biot, rel=biot)
    assert exact.cylinder_one_term(biot)[0] ** 2 == pytest.approx(2 * biot, rel=biot)
    zeta = exact.hollow_cylinder_eigenvalues(biot, bore, 1)[0]
    assert zeta**2 == pytest.approx(2 * biot / (1 - bore**2), rel=biot)


def test_hollow_cylinder_without_a_bore_is_solid():
    r = [0.3, 0.6, 1.0]
    pipe = exact.hollow_cylinder(r, 0.1, 1.0, bore=1e-5)
    assert_allclose(pipe, exact.cylinder(r, 0.1, 1.0), atol=1e-8)


def test_thin_hollow_cylinder_is_half_a_slab():
    """Wall over radius 1e-4: curvature is felt in the fourth digit only."""
    wall = 1e-4
    x = np.array([0.0, 0.5, 1.0])
    pipe = exact.hollow_cylinder(
        1 - wall * (1 - x), 0.3 * wall**2, 2.0 / wall, bore=1 - wall
    )
    assert_allclose(pipe, exact.slab(x, 0.3, 2.0), atol=1e-4)


def test_hollow_cylinder_eigenvalues_are_all_found():
    """Far up they are pi / (1 - bore) apart; none is skipped or found twice."""
    zeta = exact.hollow_cylinder_eigenvalues(3.0, 0.73, 200)
    spacing = np.diff(zeta) * (1 - 0.73) / np.pi
    assert zeta.shape == (200,)
    assert np.all((spacing > 0.8) & (spacing < 1.1))
    assert spacing[-1] == pytest.approx(1, abs=1e-5)


def test_hollow_cylinder_obeys_the_heat_equation():
    """Residuals by central differences: inside, at the bore, at the outside; start at 1."""
    bore, biot, fourier, d = 0.73, 0.4, 0.02, 1e-4

    def theta(r, f=fourier):
        return exact.hollow_cylinder(r, f, biot, bore)

    r = 0.85
    below, here, above = theta([r - d, r, r + d])
    laplacian = (above - 2 * here + below) / d**2 + (above - below) / (2 * d * r)
    rate = (theta(r, fourier + 1e-6) - theta(r, fourier - 1e-6)) / 2e-6
    assert rate == pytest.approx(laplacian, rel=1e-5)
    at_bore, at_surface = theta([bore - d, bore + d]), theta([1 - d, 1, 1 + d])
    assert np.diff(at_bore)[0] / (2 * d) == pytest.approx(0, abs=1e-6)
    slope = (at_surface[2] - at_surface[0]) / (2 * d)
    assert slope == pytest.approx(-biot * at_surface[1], rel=1e-6)
    start = exact.hollow_cylinder([bore, 0.85, 0.95], 1e-5, biot, bore, terms=300)
    assert_allclose(start, 1, atol=1e-6)


def test_steady_pipe_wall():
    """NPS 1 Sch 80, k 15, 100 K: 29 630.25 W/m (standing: computed)."""
    heat = exact.pipe_wall_heat(12.15e-3, 16.70e-3, 15.0, 100.0)
    assert heat == pytest.approx(29630.25, abs=5e-3)


def test_pipe_as_an_infinite_fin():
    """NPS 1 Sch 80, k 15, h 15: m and W/K per side (standing: computed)."""
    m = fin_parameter(15.0, 104.929e-3, 15.0, 412.389e-6)
    assert m == pytest.approx(15.9512, abs=1e-4)
    assert 1 / m == pytest.approx(62.69e-3, abs=5e-6)
    assert exact.fin_heat(m, 15.0, 412.389e-6) == pytest.approx(0.098672, abs=1e-6)


def test_finite_fin_is_the_textbook_cosh():
    """Incropera, Table 3.4, cases A and B (from memory)."""
    m, length, k, tip, area = 20.0, 0.1, 15.0, 40.0, 4e-4
    z, weight = np.array([0.0, 0.04, 0.1]), tip / (m * k)
    adiabatic = np.cosh(m * (length - z)) / np.cosh(m * length)
    assert_allclose(exact.fin(z, m, length), adiabatic)
    left = m * (length - z)
    profile = np.cosh(left) + weight * np.sinh(left)
    assert_allclose(exact.fin(z, m, length, k=k, tip=tip), profile / profile[0])
    top = np.sinh(m * length) + weight * np.cosh(m * length)
    heat = exact.fin_heat(m, k, area, length, tip=tip)
    assert heat == pytest.approx(k * area * m * top / profile[0])


def test_long_fin_forgets_its_tip():
    z = np.array([0.0, 0.03])
    assert_allclose(exact.fin(z, 20.0), np.exp(-20.0 * z))
    assert_allclose(exact.fin(z, 20.0, 5.0, k=15.0, tip=40.0), np.exp(-20.0 * z))


def test_insulated_fin_shorter_than_its_reach_is_a_lump():
    """All of it at the base's temperature: heat = h P L."""
    m = fin_parameter(10.0, 0.1, 50.0, 4e-4)
    assert exact.fin_heat(m, 50.0, 4e-4, 1e-4) == pytest.approx(10.0 * 0.1 * 1e-4)


def test_semi_infinite_step():
    """erfc at three depths and times (standing: computed)."""
    rise = exact.semi_infinite_step([5e-3, 10e-3, 20e-3], [10, 30, 60], 4e-6)
    assert_allclose(rise, [0.576150, 0.518605, 0.361310], atol=6e-7)


def test_semi_infinite_flux():
    """1 MW/m², k 15, 10 s: 475.766 K at the surface (standing: computed); its slope."""
    rise = exact.semi_infinite_flux([0, 1e-6], 10.0, 1e6, 15.0, 4e-6)
    assert rise[0] == pytest.approx(475.766, abs=5e-4)
    assert -15.0 * np.diff(rise)[0] / 1e-6 == pytest.approx(1e6, rel=1e-3)


def test_semi_infinite_convection():
    """Surface, h 100, k 15, 60 s: 0.106647 (standing: computed); fast fluid is a step."""
    surface = exact.semi_infinite_convection(0.0, 60.0, 100.0, 15.0, 4e-6)
    assert surface == pytest.approx(0.106647, abs=6e-7)
    fast = exact.semi_infinite_convection([1e-3, 9e-3], 10.0, 1e9, 15.0, 4e-6)
    assert_allclose(fast, exact.semi_infinite_step([1e-3, 9e-3], 10.0, 4e-6), rtol=1e-4)
