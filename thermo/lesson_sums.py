"""Sums of the lesson, line by line, with the numbers a student puts in."""

from dataclasses import dataclass
from math import isfinite, log

from .arc import burning_time
from .joint import Case
from .lesson_numbers import Result
from .lesson_plate import Plate, strip_width
from .lesson_words import kg, kJ, per_degree, rise, seconds, specific
from .units import UnitSystem

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
