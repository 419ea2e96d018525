"""Heat from the surfaces: convection, radiation, the bore, and gas-filled gaps.

Every film is W/m²/K to the air, at a surface temperature that may be an array; the heat
leaving is ``film * (T_surface - T_air)``. All are finite and positive at and around
``T_surface == T_air`` and defined from 200 to 3500 K. Gas properties are held at their
end values outside the table (200 to 2000 K).

References
----------
.. [1] Incropera et al., Fundamentals of Heat and Mass Transfer, section 9.9 (mixed
       convection); from memory.
.. [2] T. B. Benjamin, J. Fluid Mech. 31 (1968) 209-248; from memory.

What it computes: ``thermo/MODEL.md``, section 4.
"""

import math

import numpy as np
from numpy.typing import ArrayLike

from ..text.arrays import Array
from ..text.errors import unknown
from .gases import gas_property
from .nusselt import (
    nusselt_cross_flow,
    nusselt_horizontal_cylinder,
    nusselt_tube_entry,
    nusselt_vertical_plate,
    slender_cylinder_gain,
)

GRAVITY = 9.80665  # m/s²
STEFAN_BOLTZMANN = 5.670374419e-8  # W/m²/K⁴
NORMAL_TEMPERATURE = 293.15  # K, at which a purge flow is stated
HEATED_HEIGHT = 0.1  # m of a vertical piece warmed by the weld; common practice
HEATED_BORE = 0.1  # m of bore over which gas is warmed; common practice
STILL_FILM = 1.0  # W/m²/K, see bore_film
_SMALLEST_GAP = 10e-6  # m of gas left between machined faces that touch; common practice
VERTICAL_DIFFERENCE = 1.0  # K, see convection_still_vertical


def _film_air(T_surface: ArrayLike, T_air: float) -> tuple[Array, Array, Array, Array]:
    """Conductivity, kinematic viscosity, Prandtl number and temperature of the film."""
    T_film = (np.asarray(T_surface, dtype=float) + T_air) / 2
    k, mu, rho, prandtl = (
        gas_property("air", name, T_film)
        for name in ("conductivity", "viscosity", "density", "prandtl")
    )
    return k, mu / rho, prandtl, T_film


def convection_still_horizontal(
    T_surface: ArrayLike, T_air: float, diameter: float | Array
) -> Array:
    """Film of a horizontal cylinder in still air [W/m²/K], Churchill-Chu.

    Parameters
    ----------
    T_surface : float or array
        Surface temperature [K].
    T_air : float
        Air temperature [K].
    diameter : float
        Outside diameter [m].

    Notes
    -----
    Properties at the mean of surface and air; expansion coefficient 1 / that mean.

    Examples
    --------
    >>> round(float(convection_still_horizontal(473.15, 293.15, 33.4e-3)), 2)
    9.08
    """
    k, nu, prandtl, T_film = _film_air(T_surface, T_air)
    difference = np.abs(np.asarray(T_surface) - T_air)
    grashof = GRAVITY * difference / T_film * diameter**3 / nu**2
    return k / diameter * nusselt_horizontal_cylinder(grashof * prandtl, prandtl)


def convection_still_vertical(
    T_surface: ArrayLike,
    T_air: float,
    height: float = HEATED_HEIGHT,
    diameter: float | Array | None = None,
) -> Array:
    """Film of a vertical cylinder, or plate when ``diameter`` is None [W/m²/K].

    Parameters
    ----------
    T_surface, T_air : float or array, float
        Temperatures [K].
    height : float
        Warm height; the film goes as its -1/4 power [m].
    diameter : float, optional
        Outside diameter, for the gain of a slender cylinder over a plate [m].

    Notes
    -----
    The plate alone would hold for D / L above 35 / Gr**0.25; a pipe warmed over 0.1 m
    is about half that, so the gain (some 10 %) is kept. It grows without bound as the
    air comes to rest, so temperature differences under 1 K count as 1 K.
    """
    k, nu, prandtl, T_film = _film_air(T_surface, T_air)
    difference = np.maximum(np.abs(np.asarray(T_surface) - T_air), VERTICAL_DIFFERENCE)
    grashof = GRAVITY * difference / T_film * height**3 / nu**2
    film = k / height * nusselt_vertical_plate(grashof * prandtl, prandtl)
    if diameter is not None:
        film = film * slender_cylinder_gain(grashof, prandtl, height / diameter)
    return film


def convection_fan(
    T_surface: ArrayLike, T_air: float, diameter: float | Array, speed: float
) -> Array:
    """Film of a cylinder across a stream of air [W/m²/K], Churchill-Bernstein."""
    k, nu, prandtl, _ = _film_air(T_surface, T_air)
    return k / diameter * nusselt_cross_flow(speed * diameter / nu, prandtl)


def convection(
    T_surface: ArrayLike,
    T_air: float,
    diameter: float | Array,
    axis: str,
    fan: float = 0.0,
) -> Array:
    """Film outside a pipe, in still air or under a fan [W/m²/K].

    Notes
    -----
    Both at once add as powers: h**n = h_still**n + h_fan**n, for a stream across the
    rise of the warm air; n = 4 for horizontal cylinders, 3 for vertical surfaces [1]_.
    """
    if axis == "vertical":
        still = convection_still_vertical(T_surface, T_air, diameter=diameter)
    else:
        still = convection_still_horizontal(T_surface, T_air, diameter)
    if fan <= 0:
        return still
    n = 3 if axis == "vertical" else 4
    forced = convection_fan(T_surface, T_air, diameter, fan)
    return (still**n + forced**n) ** (1 / n)


def radiation(T_surface: ArrayLike, T_air: float, emissivity: float) -> Array:
    """Radiation to surroundings at air temperature, as a film [W/m²/K].

    Examples
    --------
    >>> round(float(radiation(673.15, 293.15, 0.8)), 2)
    23.63
    """
    T = np.asarray(T_surface, dtype=float)
    return emissivity * STEFAN_BOLTZMANN * (T**2 + T_air**2) * (T + T_air)


def outside_film(
    T_surface: ArrayLike,
    T_air: float,
    diameter: float | Array,
    axis: str = "horizontal",
    fan: float = 0.0,
    emissivity: float = 0.5,
    film_coefficient: float | None = None,
    film_factor: float = 1.0,
) -> Array:
    """Convection and radiation from the outside [W/m²/K].

    Parameters
    ----------
    T_surface, T_air : float or array, float
        Temperatures [K].
    diameter : float or array
        Outside diameter of the part [m]; of several, (n, 1), with a film in each row.
    axis : str
        "horizontal" or "vertical".
    fan : float
        Air speed across the pipe, 0 for still air [m/s].
    emissivity : float
        Total emissivity, 0 to 1.
    film_coefficient : float, optional
        Instead of the convection correlations; radiation is still added [W/m²/K].
    film_factor : float
        Times the convection, of correlations or given.
    """
    heat = radiation(T_surface, T_air, emissivity)
    if film_coefficient is not None:
        return heat + film_factor * film_coefficient
    return heat + film_factor * convection(T_surface, T_air, diameter, axis, fan)


def bore_gas(condition: str) -> str:
    """Gas inside the pipe, and so in the gaps open to it."""
    return "argon" if condition == "argon purge" else "air"


def bore_film(
    T_surface: ArrayLike,
    T_air: float,
    bore: float,
    condition: str = "still air",
    purge_flow: float = 0.0,
    emissivity: float = 0.5,
    axis: str = "horizontal",
    length: float = HEATED_BORE,
) -> Array:
    """Heat lost into the bore, per area of bore [W/m²/K].

    Parameters
    ----------
    T_surface, T_air : float or array, float
        Temperatures of the bore wall and of the air (or purge gas) outside [K].
    bore : float
        Bore diameter [m].
    condition : str
        "still air", "open", "argon purge" or "insulated".
    purge_flow : float
        Purge flow at 20 degC and 1 atm [m³/s].
    emissivity : float
        Of the bore wall.
    axis : str
        "horizontal" or "vertical", for the draught through an open bore.
    length : float
        Length of bore over which gas is warmed [m].

    Raises
    ------
    CatalogueError
        For a condition that is not one of the four.

    Notes
    -----
    One balance for all: gas comes in at air temperature and leaves warmed, so the film
    is limited by the gas's heat capacity rate C over the bore area A,
    ``C / A * (1 - exp(-h A / C))``, with h of laminar tube flow (Hausen; at any Reynolds
    number: low for a fierce purge in a small bore). What differs is C; standing:

    - "argon purge": C is the flow given. Textbook balance.
    - "open": the draught through the bore (see :func:`draught`), an estimate to a
      factor of two; both ends let radiation out as openings of a cavity.
    - "still air": ends closed or far. The trapped gas keeps nothing and hands what it
      takes to colder pipe; 1 W/m²/K stands for that, of the order of the circulation
      between warm and cold ends of a closed tube. An estimate; a few per cent of the
      loss outside. It is also the least for "open" and "argon purge".
    - "insulated": nothing, for comparison with closed forms.

    Radiation between parts of the bore stays in the metal and is left out.
    """
    T = np.asarray(T_surface, dtype=float)
    if condition == "insulated":
        return np.zeros_like(T)
    if condition == "still air":
        return np.full_like(T, STILL_FILM)
    if condition == "argon purge":
        film = _through_flow(T, T_air, bore, length, np.full_like(T, purge_flow), "argon")
        return np.maximum(film, STILL_FILM)
    if condition == "open":
        flow = draught(T, T_air, bore, axis, length)
        film = np.maximum(_through_flow(T, T_air, bore, length, flow, "air"), STILL_FILM)
        return film + _radiation_out_of_ends(T, T_air, bore, length, emissivity)
    conditions = ("still air", "open", "argon purge", "insulated")
    raise unknown(what="bore condition", value=condition, known=conditions)


def draught(
    T_surface: ArrayLike, T_air: float, bore: float, axis: str, length: float
) -> Array:
    """Air drawn through an open warm bore, as volume at 20 degC [m³/s].

    Notes
    -----
    Upright: the buoyancy of warm air against laminar friction, mean speed
    g (dT / T) D² / (32 nu) (Poiseuille), no more than the free rise
    sqrt(2 g L dT / T). Level: warm air leaves along the top of each end while cold
    enters below, over half the section at half sqrt(g D dT / T), the loss-free gravity
    current that fills half a channel [2]_. Upper estimates: friction at the ends is
    left out.
    """
    _, nu, _, T_film = _film_air(T_surface, T_air)
    buoyancy = GRAVITY * np.abs(np.asarray(T_surface) - T_air) / T_film
    section = np.pi / 4 * bore**2
    if axis == "vertical":
        speed = np.minimum(buoyancy * bore**2 / (32 * nu), (2 * buoyancy * length) ** 0.5)
        flow = speed * section
    else:
        flow = 0.5 * (buoyancy * bore) ** 0.5 * section  # two ends, half of each
    return flow * NORMAL_TEMPERATURE / T_film


def _through_flow(
    T: Array, T_air: float, bore: float, length: float, flow: Array, gas: str
) -> Array:
    """Film of gas passing through the bore, limited by what the gas can carry."""
    T_film = (T + T_air) / 2
    k = gas_property(gas, "conductivity", T_film)
    density = gas_property(gas, "density", NORMAL_TEMPERATURE)
    # The floor only keeps the division defined when nothing flows.
    carried = np.maximum(
        density * flow * gas_property(gas, "specific heat", T_film), 1e-9
    )
    graetz = 4 * carried / (np.pi * k * length)  # Re Pr D / L, written with m cp
    film = k / bore * nusselt_tube_entry(graetz)
    area = np.pi * bore * length
    return carried / area * -np.expm1(-film * area / carried)


def _radiation_out_of_ends(
    T: Array, T_air: float, bore: float, length: float, emissivity: float
) -> Array:
    """Radiation leaving through both ends, spread over the bore wall.

    The ends are small openings of a cavity: emissivity e / (e + (1 - e) A_end / A_wall).
    """
    openings = bore / (2 * length)  # area of two ends over area of wall
    cavity = emissivity / (emissivity + (1 - emissivity) * openings)
    return np.minimum(openings, 1.0) * radiation(T, T_air, cavity)


def gap_conductance(
    T_mean: ArrayLike, gap: float, gas: str = "air", emissivity: float = 0.5
) -> Array:
    """Across a narrow gas-filled gap: conduction and radiation [W/m²/K].

    Parameters
    ----------
    T_mean : float or array
        Mean of the two faces [K].
    gap : float
        Distance between the faces; at least 10 um counts [m].
    gas : str
        "air", "argon", "nitrogen" or "helium".
    emissivity : float
        Of both faces.

    Notes
    -----
    k / gap, planar (0.7 % low on NPS 1), plus 4 sigma T³ / (2 / e - 1), radiation
    between parallel grey faces linearised at the mean. Gas in an end gap of 1.6 mm has
    a Rayleigh number of about 20 and does not convect (1708 is needed).

    Examples
    --------
    >>> round(float(gap_conductance(293.15, 0.25e-3, "air", 0.0)), 1)
    103.5
    """
    T = np.asarray(T_mean, dtype=float)
    exchange = emissivity / (2 - emissivity)
    through_gas = gas_property(gas, "conductivity", T) / max(gap, _SMALLEST_GAP)
    return through_gas + 4 * exchange * STEFAN_BOLTZMANN * T**3


def clearance_conductance(
    T_mean: ArrayLike, clearance: float, gas: str = "air", emissivity: float = 0.5
) -> Array:
    """Between pipe and socket, per area at the mean gap radius [W/m²/K].

    As :func:`gap_conductance`. The pipe is taken as centred; where it touches, the
    contact of a few points adds little (air-filled machined stainless joints hardly
    depend on pressure).
    """
    return gap_conductance(T_mean, clearance, gas, emissivity)


def fin_parameter(h: float, perimeter: float, k: float, area: float) -> float:
    """Fin parameter ``m = sqrt(h P / k A)`` [1/m]; 1/m is how far the heat reaches."""
    return math.sqrt(h * perimeter / (k * area))
