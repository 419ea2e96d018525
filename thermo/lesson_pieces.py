"""Questions on short and long pipes and on two metals, and their worked answers."""

from math import log, pi, sqrt

from .catalogue import interpass_limit
from .errors import CatalogueError
from .exact import fin_parameter
from .lesson_numbers import Compared, Result
from .lesson_plate import strip_width
from .lesson_sums import MEAN, Question, capacity_sum
from .lesson_words import degrees, millimetres, per_degree, rise, seconds, specific, times
from .materials import conductivity_at
from .units import UnitSystem


def twice_the_metal(compared: Compared, units: UnitSystem) -> Question:
    """Length of pipe that doubles the heat capacity."""
    short = compared.results[0]
    pipe, part = short.case.pipe, short.parts[0]
    outer, inner = pipe.outside_diameter, pipe.outside_diameter - 2 * pipe.wall
    area = pi / 4 * (outer**2 - inner**2)
    per_metre = area * part.density * part.specific_heat
    more = short.heat_capacity / per_metre
    return Question(
        f"{short.label}: how much more pipe would halve what one pass warms the piece by?",
        (
            (
                f"section = pi/4 (D² - d²) = 0.7854 x ({1e3 * outer:.2f}² - "
                f"{1e3 * inner:.2f}²) mm2 = {1e6 * area:.1f} mm2"
            ),
            (
                f"one metre of pipe: {1e6 * area:.1f} mm2 x 1 m x {part.density:.0f} kg/m3 x "
                f"{specific(part.specific_heat)} = {per_degree(per_metre)}"
            ),
            (
                f"the piece has {per_degree(short.heat_capacity)}, so "
                f"{short.heat_capacity:.0f} / {per_metre:.0f} m = {millimetres(more, units)}"
            ),
        ),
        "As long as the heat gets there in time, which is the next question.",
        more,
    )


def reaches_the_end(compared: Compared, units: UnitSystem) -> Question:
    """How far heat gets between two arcs."""
    short, long = compared.results[0], compared.results[-1]
    t, alpha = long.time_to_second, long.alpha
    is_reached = short.reach > short.length
    return Question(
        f"How far along the pipe has the heat got when the second arc is struck, "
        f"{seconds(t)} after the first, on the {long.label}? Does the end of the "
        f"{short.label} matter?",
        (
            f"alpha = k / (rho c) = {1e6 * alpha:.2f} mm2/s",
            (
                "to one side: sqrt(4 pi alpha t) / 2 = sqrt(12.566 x "
                f"{1e6 * alpha:.2f} mm2/s x {t:.0f} s) / 2 = {millimetres(long.reach, units)}"
            ),
        ),
        f"The {short.label} is {millimetres(short.length, units)} long, so "
        + (
            "the heat meets its end and has to turn back. "
            if is_reached
            else "the heat hardly meets its end. "
        )
        + f"The waits before pass 2: {seconds(short.history.passes[1].wait)} on the "
        f"{short.label}, {seconds(long.history.passes[1].wait)} on the {long.label}.",
        long.reach,
    )


def long_enough(compared: Compared, units: UnitSystem) -> Question:
    """Fin length: pipe beyond it changes nothing."""
    long = compared.results[-1]
    case, limit = long.case, long.case.limits.interpass_max
    pipe, film = case.pipe, next(s.film for s in long.skins if s.name == "pipe")
    outer, inner = pipe.outside_diameter, pipe.outside_diameter - 2 * pipe.wall
    area, round_ = pi / 4 * (outer**2 - inner**2), pi * outer
    k = float(conductivity_at(pipe.material, limit))
    reach = 1 / fin_parameter(film, round_, k, area)
    return Question(
        "Would still more pipe help? How far does heat get along a pipe before the air has "
        "taken it?",
        (
            (
                f"k = {k:.1f} W/m/degC, section A = {1e6 * area:.1f} mm2, round the outside P "
                f"= {1e3 * round_:.1f} mm, film h = {film:.1f} W/m2/degC"
            ),
            (
                f"fin length = sqrt(k A / (h P)) = sqrt({k:.1f} x {area:.7f} / "
                f"({film:.1f} x {round_:.4f})) m = {millimetres(reach, units)}"
            ),
        ),
        f"Three fin lengths, {millimetres(3 * reach, units)}, are as good as an endless "
        "pipe: only 5 % of the warmth is left there. More metal beyond never gets warm.",
        reach,
    )


def capacities(compared: Compared, units: UnitSystem) -> Question:
    """Two metals take up nearly the same heat."""
    first, last = compared.results[0], compared.results[-1]
    ratio = last.heat_capacity / first.heat_capacity
    return Question(
        f"Does the {last.label} piece take up more heat for a degree than the "
        f"{first.label} one?",
        (
            *(f"{r.label}: {capacity_sum(r)}" for r in (first, last)),
            (
                f"{per_degree(last.heat_capacity)} / {per_degree(first.heat_capacity)} = "
                f"{times(ratio)}"
            ),
            f"rise of pass 1: {rise(first.rise, units)} and {rise(last.rise, units)}",
        ),
        "By the lump alone the two would behave as their heat capacities do. The next "
        "question is about what the lump leaves out.",
        ratio,
    )


def spreads(compared: Compared, units: UnitSystem) -> Question:
    """Diffusivity: how fast heat leaves the weld."""
    first, last = compared.results[0], compared.results[-1]
    off = [r.history.passes[0].at_arc_off.mean for r in (first, last)]
    t = first.history.passes[0].arc_off
    widths = [strip_width(r.alpha, t) / 2 for r in (first, last)]
    ratio = sqrt(last.alpha / first.alpha)
    return Question(
        f"How much further does heat get in {last.label} than in {first.label} while pass 1 "
        "is being made?",
        (
            *(
                f"{r.label}: sqrt(4 pi alpha t) / 2 = sqrt(12.566 x "
                f"{1e6 * r.alpha:.2f} mm2/s x {t:.1f} s) / 2 = {millimetres(width, units)}"
                for r, width in zip((first, last), widths, strict=True)
            ),
            (
                f"ratio = sqrt({1e6 * last.alpha:.2f} / {1e6 * first.alpha:.2f}) = "
                f"{times(ratio)}"
            ),
        ),
        f"When the arc goes out, the {MEAN} is at {degrees(off[0], units)} in "
        f"{first.label} and at {degrees(off[1], units)} in {last.label}. The metal that "
        "conducts worse keeps the heat where it was put.",
        ratio,
    )


def own_limit(compared: Compared, units: UnitSystem) -> Question:
    """Use the limit that is customary for the other metal."""
    last, first = compared.results[-1], compared.results[0]
    air = last.case.surroundings.air
    limit, source = _customary(last)
    start = last.rise + limit - air
    wait = last.time_constant * log(start / (limit - air))
    waits = [r.history.passes[-1].wait for r in (first, last)]
    return Question(
        f"The lesson gave both metals one limit. For {last.label} {degrees(limit, units)} "
        f"is the limit by {source}. What would the lump wait with that, before the last "
        "pass?",
        (
            (
                f"above the air: {rise(limit - air, units)} at the limit, so "
                f"{rise(start, units)} after a pass that started there"
            ),
            (
                f"wait = tau ln({start:.0f} / {limit - air:.0f}) = "
                f"{last.time_constant:.0f} s x {log(start / (limit - air)):.3f} = "
                f"{seconds(wait)}"
            ),
        ),
        f"With the one limit the model waits {seconds(waits[1])} in {last.label} and "
        f"{seconds(waits[0])} in {first.label}. The limit often decides more than the "
        "metal does. The time constant here is that at the limit of the lesson.",
        wait,
    )


def _customary(result: Result) -> tuple[float, str]:
    """Limit customary for the metal [K] and who says so; else that of the case."""
    try:
        row = interpass_limit(result.case.pipe.material)
    except CatalogueError:
        return result.case.limits.interpass_max, "this case"
    return row.maximum, f"{row.source} ({row.standing})"
