"""Sums of the lesson, line by line, with the numbers a student puts in.

Sums are done in the units of the page throughout: kilograms, millimetres and degC, or
pounds, inches and degF; heat is in joules in both, as in ASME IX QW-409.1.
"""

from dataclasses import dataclass
from math import isfinite, log

from ..joint.arc import burning_time
from ..joint.case import Case
from ..text.kinds import INCH, SI, UnitSystem
from ..text.layout import NOTHING
from ..text.times import spelled
from .numbers import Result
from .plate import Plate, strip_width

MEAN = "mean of the joint"
POUND, DEGREE = 0.45359237, 1 / 1.8  # kg, K


@dataclass(frozen=True)
class Exercise:
    """A question, its worked answer line by line, and what to learn from it."""

    asks: str
    sums: tuple[str, ...]  # each line can be redone with what stands in it
    so: str
    value: float  # the number asked for, SI


def heat_sum(result: Result) -> str:
    """Heat of pass 1, as a sum."""
    p = result.case.passes[0]
    time = burning_time(p)
    if not p.has_current:  # the case gives a net power
        return f"Q = P t = {p.net_power:.0f} W x {time:.1f} s = {kJ(result.energy)}"
    return (
        f"Q = efficiency x U x I x t = {p.efficiency:g} x {p.voltage:g} V x "
        f"{p.current:g} A x {time:.1f} s = {kJ(result.energy)}"
    )


def time_sum(case: Case, units: UnitSystem = SI) -> str:
    """Time of pass 1 round the ring, as a sum."""
    p = case.passes[0]
    D, v = 1e3 * case.pipe.outside_diameter, 60e3 * p.travel
    if units is not SI:
        D, v = D / 25.4, v / 25.4
        return f"t = pi D / v = 3.1416 x {D:.3f} in / {v:.4g} in/min x 60 s/min = {p.arc_time:.1f} s"
    return f"t = pi D / v = 3.1416 x {D:.2f} mm / {v:.4g} mm/min x 60 s/min = {p.arc_time:.1f} s"


def capacity_sum(result: Result, units: UnitSystem = SI) -> str:
    """Heat capacity, as a sum over the parts."""
    parts = " + ".join(
        f"{kg(part.mass, units)} x {specific(part.specific_heat, units)}"
        for part in result.parts
    )
    return f"C = m c = {parts} = {per_degree(result.heat_capacity, units)}"


def strip_sums(plate: Plate, after: float, units: UnitSystem = SI) -> tuple[str, ...]:
    """Width and heat capacity of the strip one metre, or inch, of seam has warmed."""
    width = strip_width(plate.alpha, after)
    if units is not SI:
        return _strip_in_inches(plate, after, width)
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


def _strip_in_inches(plate: Plate, after: float, width: float) -> tuple[str, ...]:
    """Return the same in inches and degF."""
    k = plate.k * INCH * DEGREE
    capacity = plate.capacity * INCH**3 * DEGREE
    alpha, thick = plate.alpha / INCH**2, plate.thickness / INCH
    per_inch = plate.capacity * plate.thickness * width * INCH * DEGREE
    return (
        f"alpha = k / (rho c) = {k:.4f} / {capacity:.4g} = {alpha:.5f} in2/s",
        (
            f"width warmed = sqrt(4 pi alpha t) = sqrt(12.566 x {alpha:.5f} in2/s x "
            f"{after:.1f} s) = {width / INCH:.2f} in"
        ),
        (
            f"per inch of seam: C = {capacity:.4g} J/in3/degF x {thick:.4g} in x "
            f"{width / INCH:.3f} in x 1 in = {per_inch:.2f} J/degF"
        ),
        (
            "heat per inch into the plate, two thirds of P / v: "
            f"{plate.powers[0] / plate.speed / 1e3 * INCH:.3f} kJ"
        ),
    )


def plate_rise(plate: Plate, hot: float, units: UnitSystem) -> str:
    """Heat of a metre, or an inch, of seam over the heat capacity of its strip."""
    heat = plate.powers[0] / plate.speed
    if units is SI:
        return f"rise = {heat / 1e3:.1f} kJ / {per_degree(heat / hot)} = {rise(hot)}"
    heat *= INCH
    per_inch = f"{heat / hot * DEGREE:.2f} J/degF"
    return f"rise = {heat / 1e3:.3f} kJ / {per_inch} = {rise(hot, units)}"


def fin_sums(
    k: float, area: float, film: float, round_: float, reach: float, units: UnitSystem
) -> tuple[str, str]:
    """Fin length of a pipe, as sums."""
    if units is SI:
        given = (
            f"k = {k:.1f} W/m/degC, section A = {1e6 * area:.1f} mm2, round the outside P "
            f"= {1e3 * round_:.1f} mm, film h = {film:.1f} W/m2/degC"
        )
        parts = f"{k:.1f} x {area:.7f} / ({film:.1f} x {round_:.4f})"
        return (
            given,
            f"fin length = sqrt(k A / (h P)) = sqrt({parts}) m = {millimetres(reach)}",
        )
    k, film = k * INCH * DEGREE, film * INCH**2 * DEGREE
    area, round_ = area / INCH**2, round_ / INCH
    given = (
        f"k = {k:.4f} W/in/degF, section A = {area:.4f} in2, round the outside P = "
        f"{round_:.3f} in, film h = {film:.6f} W/in2/degF"
    )
    parts = f"{k:.4f} x {area:.4f} / ({film:.6f} x {round_:.3f})"
    fin = millimetres(reach, units)
    return given, f"fin length = sqrt(k A / (h P)) = sqrt({parts}) in = {fin}"


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
        f"tau = C / (surface x film) = {per_degree(result.heat_capacity, units)} / "
        f"{per_film(result.conductance, units)} = {seconds(tau)}"
    )
    bounds = f"above the air: {rise(start, units)} now, {rise(limit, units)} at the limit"
    if start <= limit:
        return constant, f"{bounds}: no wait"
    wait = lump_wait(result, start)
    return (
        constant,
        bounds,
        (
            f"wait = tau {log_sum(start, limit, units)} = {tau:.0f} s x "
            f"{log(start / limit):.3f} = {seconds(wait)}"
        ),
        f"in minutes: {minutes(wait)}",
    )


def log_sum(start: float, limit: float, units: UnitSystem) -> str:
    """Logarithm of two temperatures above the air, in the units of the page."""
    top, bottom = (units.value("temperature difference", x) for x in (start, limit))
    return f"ln({top:.0f} / {bottom:.0f})"


def kJ(energy: float) -> str:
    """Heat given in J.

    Examples
    --------
    >>> kJ(35333.0), per_degree(158.8), seconds(973.1)
    ('35.3 kJ', '159 J/degC', '973 s')
    """
    return f"{energy / 1e3:.1f} kJ"


def kg(mass: float, units: UnitSystem = SI) -> str:
    """Mass given in kg."""
    return units.text("mass", mass)


def per_degree(capacity: float, units: UnitSystem = SI) -> str:
    """Heat capacity given in J/K."""
    if units is SI:
        return f"{capacity:.0f} J/degC"
    return f"{capacity * DEGREE:.1f} J/degF"


def per_film(conductance: float, units: UnitSystem = SI) -> str:
    """Surface times film, given in W/K.

    Examples
    --------
    >>> from interpass.text.kinds import US
    >>> per_film(0.18), per_film(0.18, US), specific(500.0, US), diffusivity(4e-6, US)
    ('0.1800 W/degC', '0.1000 W/degF', '126.0 J/lb/degF', '0.00620 in2/s')
    """
    if units is SI:
        return f"{conductance:.4f} W/degC"
    return f"{conductance * DEGREE:.4f} W/degF"


def specific(heat: float, units: UnitSystem = SI) -> str:
    """Specific heat given in J/kg/K."""
    if units is SI:
        return f"{heat:.0f} J/kg/degC"
    return f"{heat * POUND * DEGREE:.1f} J/lb/degF"


def diffusivity(alpha: float, units: UnitSystem = SI) -> str:
    """Diffusivity given in m²/s."""
    if units is SI:
        return f"{1e6 * alpha:.2f} mm2/s"
    return f"{alpha / INCH**2:.5f} in2/s"


def minutes(time: float) -> str:
    """Wait given in s, in minutes and seconds; a dash where there is none.

    Examples
    --------
    >>> minutes(399.0)
    '6 min 39 s'
    """
    return spelled(time) if isfinite(time) else NOTHING


def seconds(time: float) -> str:
    """Time given in s; a dash where there is none."""
    return f"{time:.0f} s" if isfinite(time) else NOTHING


def rise(dT: float, units: UnitSystem = SI) -> str:
    """Difference of temperature given in K, in the unit of the page.

    Examples
    --------
    >>> from interpass.text.kinds import US
    >>> rise(100.0), rise(100.0, US)
    ('100 degC', '180 degF')
    """
    return f"{dT:.0f} degC" if units is SI else f"{dT / DEGREE:.0f} degF"


def degrees(T: float, units: UnitSystem = SI) -> str:
    """Temperature given in K, in the unit of the page.

    Examples
    --------
    >>> from interpass.text.kinds import US
    >>> degrees(423.15), degrees(423.15, US)
    ('150 degC', '302 degF')
    """
    return units.temperature(T)


def millimetres(length: float, units: UnitSystem = SI, digits: int = 0) -> str:
    """Length given in m: mm, or inches on a page in US units."""
    if units is SI:
        return f"{1e3 * length:.{digits}f} mm"
    return units.length(length, 3 if digits > 1 else 2)


def times(ratio: float) -> str:
    """How many times.

    Examples
    --------
    >>> times(5.3665)
    '5.37'
    """
    return f"{ratio:.3g}"


def compare_waits(lump: float, model: float) -> str:
    """Say why the wait of a lump is not that of the model."""
    if model > 1.05 * lump:
        return (
            "It is longer, because the limit is for the hottest point, and near the weld "
            "there is still more heat than in the rest of the piece."
        )
    if model < 0.95 * lump:
        return (
            "It is shorter, because a piece loses heat faster while it is hotter than the "
            "limit, and the lump was given the film at the limit."
        )
    return (
        "They are close, because two faults cancel: the lump has no hot spot at the weld, "
        "and its film is that at the limit, though a hotter piece loses heat faster."
    )


def without_unit(length: float, units: UnitSystem) -> str:
    """Length without its unit."""
    return millimetres(length, units, 2).split()[0]


def square(area: float, units: UnitSystem) -> str:
    """Area in mm² or in²."""
    return f"{1e6 * area:.1f} mm2" if units is SI else f"{area / INCH**2:.4f} in2"


def arc_share(result: Result) -> float:
    """Share of the time to the last arc off that an arc burns."""
    passes = result.history.passes
    return sum(d.arc_off - d.arc_on for d in passes) / passes[-1].arc_off
