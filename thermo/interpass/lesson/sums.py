"""Sums and numbers as a student writes them.

Sums of the lesson, line by line, with the numbers a student puts in.

Numbers of the lesson as a student writes them.

Sums are done in kilograms, joules and degC whatever the units of the page, for that is
what the tables of specific heat are in; a result that is a temperature, or a rise of one,
is shown in the page's own unit beside it.
"""

from dataclasses import dataclass
from math import isfinite, log

from ..joint.arc import burning_time
from ..joint.case import Case
from ..text.kinds import SI, UnitSystem
from ..text.layout import NOTHING
from .numbers import Result
from .plate import Plate, strip_width

MEAN = "mean of the joint"


@dataclass(frozen=True)
class Question:
    """A question, its worked answer line by line, and what to learn from it."""

    asks: str
    sums: tuple[str, ...]  # each line can be redone with what stands in it
    so: str
    value: float  # the number asked for, SI


def heat_sum(result: Result) -> str:
    """Heat of pass 1, as a sum."""
    p = result.case.passes[0]
    time = burning_time(p)
    if not isfinite(p.current):  # the case gives a net power
        return f"Q = P t = {p.net_power:.0f} W x {time:.1f} s = {kJ(result.energy)}"
    return (
        f"Q = efficiency x U x I x t = {p.efficiency:g} x {p.voltage:g} V x "
        f"{p.current:g} A x {time:.1f} s = {kJ(result.energy)}"
    )


def time_sum(case: Case) -> str:
    """Time of pass 1 round the ring, as a sum."""
    p = case.passes[0]
    D, v = 1e3 * case.pipe.outside_diameter, 60e3 * p.travel
    return f"t = pi D / v = 3.1416 x {D:.2f} mm / {v:.4g} mm/min x 60 s/min = {p.arc_time:.1f} s"


def capacity_sum(result: Result) -> str:
    """Heat capacity, as a sum over the parts."""
    parts = " + ".join(
        f"{kg(part.mass)} x {specific(part.specific_heat)}" for part in result.parts
    )
    return f"C = m c = {parts} = {per_degree(result.heat_capacity)}"


def strip_sums(plate: Plate, after: float) -> tuple[str, ...]:
    """Width and heat capacity of the strip one metre of seam has warmed."""
    width = strip_width(plate.alpha, after)
    per_metre = plate.capacity * plate.thickness * width
    return (
        (
            f"alpha = k / (rho c) = {plate.k:.2f} / {plate.capacity:.4g} = "
            f"{1e6 * plate.alpha:.2f} mm2/s"
        ),
        (
            f"width warmed = sqrt(4 pi alpha t) = sqrt(12.566 x {1e6 * plate.alpha:.2f} mm2/s x "
            f"{after:.1f} s) = {1e3 * width:.1f} mm"
        ),
        (
            f"per metre of seam: C = {plate.capacity:.4g} J/m3/degC x {plate.thickness:.4g} m "
            f"x {width:.4f} m x 1 m = {per_degree(per_metre)}"
        ),
        (
            "heat per metre into the plate, two thirds of P / v: "
            f"{plate.powers[0] / plate.speed / 1e3:.1f} kJ"
        ),
    )


def hottest(result: Result, place: int) -> float:
    """Hottest point of the joint at an arc on [K]; passes count from 0."""
    return result.history.passes[place].at_arc_on.hottest


def limit_above(result: Result) -> float:
    """Limit above air [K]."""
    return result.case.limits.interpass_max - result.case.surroundings.air


def lump_wait(result: Result, start: float) -> float:
    """Wait of the lump from a temperature above air down to the limit [s]."""
    return result.time_constant * max(0.0, log(start / limit_above(result)))


def wait_sums(result: Result, start: float, units: UnitSystem) -> tuple[str, ...]:
    """Wait of the lump, as a sum."""
    tau, limit = result.time_constant, limit_above(result)
    constant = (
        f"tau = C / (surface x film) = {per_degree(result.heat_capacity)} / "
        f"{result.conductance:.4f} W/degC = {seconds(tau)}"
    )
    bounds = f"above the air: {rise(start, units)} now, {rise(limit, units)} at the limit"
    if start <= limit:
        return constant, f"{bounds}: no wait"
    waits = seconds(lump_wait(result, start))
    return (
        constant,
        bounds,
        (
            f"wait = tau ln({start:.0f} / {limit:.0f}) = {tau:.0f} s x "
            f"{log(start / limit):.3f} = {waits}"
        ),
    )


def kJ(energy: float) -> str:
    """Heat given in J.

    Examples
    --------
    >>> kJ(35333.0), per_degree(158.8), seconds(973.1)
    ('35.3 kJ', '159 J/degC', '973 s')
    """
    return f"{energy / 1e3:.1f} kJ"


def kg(mass: float) -> str:
    """Mass given in kg."""
    return f"{mass:.3f} kg"


def per_degree(capacity: float) -> str:
    """Heat capacity given in J/K."""
    return f"{capacity:.0f} J/degC"


def specific(heat: float) -> str:
    """Specific heat given in J/kg/K."""
    return f"{heat:.0f} J/kg/degC"


def seconds(time: float) -> str:
    """Time given in s; a dash where there is none."""
    return f"{time:.0f} s" if isfinite(time) else NOTHING


def rise(dT: float, units: UnitSystem = SI) -> str:
    """Difference of temperature given in K: degC, and the page's unit if it is another.

    Examples
    --------
    >>> from interpass.text.kinds import US
    >>> rise(100.0), rise(100.0, US)
    ('100 degC', '100 degC (180 degF)')
    """
    plain = f"{dT:.0f} degC"
    return plain if units is SI else f"{plain} ({units.temperature_difference(dT)})"


def degrees(T: float, units: UnitSystem = SI) -> str:
    """Temperature given in K: degC, and the page's unit if it is another.

    Examples
    --------
    >>> from interpass.text.kinds import US
    >>> degrees(423.15), degrees(423.15, US)
    ('150 degC', '150 degC (302 degF)')
    """
    plain = f"{T - 273.15:.0f} degC"
    return plain if units is SI else f"{plain} ({units.temperature(T)})"


def millimetres(length: float, units: UnitSystem = SI, digits: int = 0) -> str:
    """Length given in m: mm, and inches on a page in US units."""
    plain = f"{1e3 * length:.{digits}f} mm"
    return plain if units is SI else f"{plain} ({units.length(length, 2)})"


def times(ratio: float) -> str:
    """How many times.

    Examples
    --------
    >>> times(5.3665)
    '5.37'
    """
    return f"{ratio:.3g}"
