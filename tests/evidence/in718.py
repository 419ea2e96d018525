"""Measured cooling of nickel alloy walls against our films and radiation.

Walls of IN718 built up layer by layer with an arc and wire, and left to cool after the
last layer (Kindermann et al., Additive Manufacturing 76 (2023) 103765, CC BY 4.0; in
``tests/data/in718_cooling.csv``). From about 550 degC down the wall is a lump: its rate of
cooling is films and radiation over its heat capacity and its thickness. Thickness falls out
of the ratios of the rate at one temperature to that at another.

What this tests: that convection and radiation of a hot alloy that has been welded go with
temperature as ours do, from 550 to 270 degC, with the emissivity of our table.
What it does not: the arc, the joint's conduction, a pipe, stainless steel. One thickness a
wall is fitted, so the size of the loss is not tested, only how it goes; except once, where
the end of wall 40 is predicted with the loss of wall 42.

Left out: walls whose record ends with the arc still at work (37, 38); wall 36, into which
heat flows from elsewhere until 30 K are left; and the cooling of walls 38 and 39 when the
build was interrupted, where the cold plate below takes the heat.
"""

from functools import cache
from pathlib import Path

import numpy as np
from interpass.physics.films import convection_still_vertical, radiation
from interpass.physics.metals import material
from scipy.integrate import solve_ivp
from scipy.optimize import minimize_scalar

from evidence.check import make_check, one

GROUP = "Measured: walls left to cool"
SOURCE = "Kindermann et al., Additive Manufacturing 76 (2023) 103765"
DATA = Path(__file__).parent.parent / "data" / "in718_cooling.csv"
WHERE = "evidence/in718.py"
AIR = 293.15  # K; the shop's air is not in the data
# Mills, Recommended Values of Thermophysical Properties (2002), IN718 (from memory)
HEAT_CELSIUS = (20.0, 100.0, 200.0, 300.0, 400.0, 500.0, 600.0)
SPECIFIC_HEAT = (435.0, 455.0, 479.0, 497.0, 515.0, 527.0, 558.0)  # J/kg/K
DENSITY = 8190.0  # kg/m³, the same
LEVELS = np.array([475.0, 425.0, 375.0, 325.0])  # degC
EITHER_SIDE = 25.0  # K of record from which a rate is taken
AFTER_RISE = 10.0  # s either side of a point of the steepest fall


@cache
def record(wall):
    """Time [s] and temperature [degC] of a wall."""
    rows = np.genfromtxt(DATA, delimiter=",", skip_header=4)
    mine = rows[rows[:, 0] == wall]
    return mine[:, 1], mine[:, 2]


def loss(celsius, emissivity=None):
    """Convection and radiation from a wall over its heat capacity [K m/s].

    The emissivity is that of our table for an oxidised nickel alloy, 0.8.
    """
    T = np.asarray(celsius) + 273.15
    if emissivity is None:
        emissivity = material("625").emissivity_oxidised
    film = convection_still_vertical(T, AIR) + radiation(T, AIR, emissivity)
    return film * constant_film_loss(celsius)


def constant_film_loss(celsius):
    """The same for a film of 1 W/m²/K that does not change with temperature."""
    capacity = DENSITY * np.interp(celsius, HEAT_CELSIUS, SPECIFIC_HEAT)
    return (np.asarray(celsius) + 273.15 - AIR) / capacity


def measured_rate(wall, level):
    """Rate of cooling at a temperature, by a line through 25 K either side [K/s]."""
    time, T = record(wall)
    near = np.abs(T - level) < EITHER_SIDE
    return -np.polyfit(time[near], T[near], 1)[0]


def ratios(rates):
    """Rates at 425, 375 and 325 degC over that at 475 degC."""
    return np.asarray(rates)[1:] / rates[0]


def measured_ratios():
    """Those of wall 42."""
    return ratios([measured_rate(42, level) for level in LEVELS])


def free_part(wall):
    """Record from its steepest fall on, when no heat arrives any more: a lump."""
    time, T = record(wall)
    inner = time[(time >= time[0] + AFTER_RISE) & (time <= time[-1] - AFTER_RISE)]
    falls = [
        np.polyfit(time[near], T[near], 1)[0]
        for near in (np.abs(time - t) <= AFTER_RISE for t in inner)
    ]
    begin = inner[int(np.argmin(falls))]
    here = time >= begin
    return time[here] - begin, T[here]


def cooling(time, start, per_metre):
    """Temperature of a lump with this surface over its volume [degC]."""
    answer = solve_ivp(
        lambda _, T: -per_metre * loss(T), (0.0, time[-1]), [start], t_eval=time,
        rtol=1e-8, atol=1e-6,
    )  # fmt: skip
    return answer.y[0]


@cache
def fitted(wall):
    """Surface over volume that fits a wall best [1/m]."""
    time, T = free_part(wall)
    return minimize_scalar(
        lambda s: np.sum((cooling(time, T[0], s) - T) ** 2), bounds=(50.0, 500.0),
        method="bounded", options={"xatol": 1e-4},
    ).x  # fmt: skip


def constant_films_best(wall):
    """Worst miss of the best exponential: what a constant film would do [K]."""
    time, T = free_part(wall)
    air = AIR - 273.15

    def misses(rate):
        return air + (T[0] - air) * np.exp(-rate * time) - T

    best = minimize_scalar(lambda r: np.sum(misses(r) ** 2), bounds=(1e-4, 1e-2),
                           method="bounded", options={"xatol": 1e-9})  # fmt: skip
    return float(np.abs(misses(best.x)).max())


def check(found, what, scale, unit):
    """Check of this group."""
    return make_check(found, GROUP, what, SOURCE, "measured", unit, scale, WHERE)


def in718_checks():
    """Ratios of the rate; curves with one fitted loss; one prediction without."""
    ours, theirs = ratios(loss(LEVELS)), measured_ratios()
    checks = [
        check([one(o, t, 0.05 * t)], f"rate of cooling at {level:g} over 475 degC, wall 42",
              "each", "")
        for o, t, level in zip(ours, theirs, LEVELS[1:], strict=True)
    ]  # fmt: skip
    for wall in (42, 39):
        time, T = free_part(wall)
        found = [one(cooling(time, T[0], fitted(wall)), T, 3.0)]
        what = (
            f"wall {wall}, {T[0]:.0f} to {T[-1]:.0f} degC in {time[-1]:.0f} s, one loss"
        )
        checks.append(check(found, what + " fitted", T[0] - T[-1], "degC"))
    time, T = free_part(40)
    found = [one(cooling(time, T[0], fitted(42)), T, 3.0)]
    what = f"wall 40, {T[0]:.0f} to {T[-1]:.0f} degC in {time[-1]:.0f} s, loss of wall 42"
    return [*checks, check(found, what, T[0] - T[-1], "degC")]
