"""Three questions to every comparison, with worked answers computed by the program.

First those on pipes of several sizes and on a plate, then short and long ones, then metals.
"""

from math import log, pi, sqrt

from ..physics.films import fin_parameter
from ..physics.metals import conductivity_at
from ..text.errors import CatalogueError
from ..text.kinds import INCH, SI, UnitSystem
from ..trade.practice import interpass_limit
from .joints import LENGTHS, METALS, SAME_WAIT, TO_LIMIT
from .numbers import Result, Shown
from .plate import strip_rise, strip_width
from .sums import (
    DEGREE,
    MEAN,
    Exercise,
    arc_share,
    capacity_sum,
    compare_waits,
    degrees,
    diffusivity,
    fin_sums,
    heat_sum,
    hottest,
    kg,
    kJ,
    limit_above,
    log_sum,
    lump_wait,
    millimetres,
    minutes,
    per_degree,
    per_film,
    plate_rise,
    rise,
    seconds,
    specific,
    square,
    strip_sums,
    time_sum,
    times,
    wait_sums,
    without_unit,
)


def warms_by(compared: Shown, units: UnitSystem) -> Exercise:
    """Heat over heat capacity."""
    small = compared.results[0]
    T = small.history.passes[0].at_arc_off.mean
    return Exercise(
        f"{small.label}: how much heat does pass 1 put in, and by how much would it warm "
        "the whole piece if it spread evenly and none were lost?",
        (
            time_sum(small.case, units),
            heat_sum(small),
            capacity_sum(small, units),
            (
                f"rise = Q / C = {small.energy:.0f} J / {per_degree(small.heat_capacity, units)} = "
                f"{rise(small.rise, units)}"
            ),
        ),
        f"In the model the {MEAN} is at {degrees(T, units)} when the arc goes out, far "
        "more than the air and this rise: the heat is still near the weld. The sum tells "
        "what the piece comes to when the heat has spread.",
        small.rise,
    )


def why_less(compared: Shown, units: UnitSystem) -> Exercise:
    """Heat grows with the diameter, metal with diameter times wall."""
    small, large = compared.results[0], compared.results[-1]
    heat, metal = (
        large.energy / small.energy,
        large.heat_capacity / small.heat_capacity,
    )
    D = large.case.pipe.outside_diameter / small.case.pipe.outside_diameter
    wall = large.case.pipe.wall / small.case.pipe.wall
    less = " A small pipe has a thin wall, so every millimetre of seam has less metal to warm."
    return Exercise(
        f"Pass 1 puts {times(heat)} times as much heat into {large.label} as into "
        f"{small.label}. By how much does it warm that piece, and why?",
        (
            (
                f"heat: {kJ(large.energy)} / {kJ(small.energy)} = {times(heat)} times, as the "
                f"seam is {times(D)} times as long"
            ),
            (
                f"heat capacity: {per_degree(large.heat_capacity, units)} / "
                f"{per_degree(small.heat_capacity, units)} = {times(metal)} times: the ring is "
                f"{times(D)} times as long and the wall {times(wall)} times as thick, and the "
                "fitting grows with them"
            ),
            (
                f"rise: {times(heat)} / {times(metal)} x {rise(small.rise, units)} = "
                f"{rise(large.rise, units)}"
            ),
        ),
        "What counts is metal per length of seam."
        + (less if large.rise < small.rise else ""),
        large.rise,
    )


def on_plate(compared: Shown, units: UnitSystem) -> Exercise:
    """Warm the strip of a plate that the heat has reached."""
    assert compared.plate is not None
    run, small = compared.plate, compared.results[0]
    plate, after = run.plate, run.arrivals[1]
    hot = strip_rise(plate, plate.powers[0], after)
    wall, sooner = small.case.pipe.wall, small.time_to_second
    thin = hot * plate.thickness / wall
    like = thin * sqrt(after / sooner)
    return Exercise(
        f"On the plate the heat has no end of metal to run into. How warm is the seam when "
        f"the second arc comes, {seconds(after)} after the first? And on a plate only as "
        f"thick as the wall of {small.label}, {millimetres(wall, units, 2)}?",
        (
            *strip_sums(plate, after, units),
            plate_rise(plate, hot, units),
            (
                f"seam: {degrees(plate.air, units)} + {rise(hot, units)} = "
                f"{degrees(plate.air + hot, units)}"
            ),
            (
                f"thinner: {rise(hot, units)} x {millimetres(plate.thickness, units, 2)} / "
                f"{millimetres(wall, units, 2)} = {rise(thin, units)}"
            ),
            (
                f"and after {sooner:.1f} s, when {small.label} gets its second arc: "
                f"{rise(thin, units)} x sqrt({after:.1f} / {sooner:.1f}) = {rise(like, units)}"
            ),
        ),
        f"The closed solution for this plate gives {degrees(run.at_arc_on[1], units)}; "
        f"{small.label} is at {degrees(hottest(small, 1), units)} when its second arc is "
        "struck. Part of the difference is thickness. The rest is time: the arc is round "
        f"the small pipe in {seconds(small.case.passes[0].arc_time)}, and back before the "
        "heat has gone.",
        hot,
    )


def one_lump(compared: Shown, units: UnitSystem) -> Exercise:
    """Cooling of a lump down to the limit."""
    small = compared.results[0]
    wait, model = lump_wait(small, small.rise), small.history.passes[1].wait
    return Exercise(
        f"{small.label}: how long must the welder wait before pass 2, if the piece were one "
        "lump?",
        (
            f"after pass 1: {rise(small.rise, units)}",
            *wait_sums(small, small.rise, units),
        ),
        f"The model says {minutes(model)}. {compare_waits(wait, model)}",
        wait,
    )


def later_passes(compared: Shown, units: UnitSystem) -> Exercise:
    """Wait after a pass that started at the limit."""
    small = compared.results[0]
    start = small.rise + limit_above(small)
    told = ", ".join(
        f"{minutes(d.wait)} before pass {d.number}" for d in small.history.passes[1:]
    )
    return Exercise(
        f"{small.label}: pass 2 starts at the limit, not as cold as the air. How long would "
        "the lump have to wait after it?",
        (
            (
                f"it ends at {rise(limit_above(small), units)} + {rise(small.rise, units)} = "
                f"{rise(start, units)} above the air"
            ),
            *wait_sums(small, start, units),
        ),
        f"The model waits {told}. The cold piece takes up the first pass and is only then "
        "at the limit; from there on every wait must get rid of the heat of a whole pass.",
        lump_wait(small, start),
    )


def which_waits(compared: Shown, units: UnitSystem) -> Exercise:
    """Time constants, and the share of the time the arc burns."""
    pair = small, large = compared.results[0], compared.results[-1]
    shares = [arc_share(result) for result in pair]
    slow = min(pair, key=arc_share)
    return Exercise(
        f"Compare {small.label} with {large.label}: time constant, rise of a pass, and how "
        "much of the time the arc is on. Which keeps the welder waiting, and why?",
        (
            "tau = C / (surface x film): "
            + " and ".join(
                f"{per_degree(r.heat_capacity, units)} / {per_film(r.conductance, units)} = "
                f"{seconds(r.time_constant)}"
                for r in pair
            ),
            (
                f"rise of pass 1: {rise(small.rise, units)} and {rise(large.rise, units)}, with "
                f"the limit {rise(limit_above(small), units)} above the air"
            ),
            (
                f"arc on, of the time to the last arc off: {100 * shares[0]:.0f} % and "
                f"{100 * shares[1]:.0f} %"
            ),
        ),
        f"{slow.label} keeps the welder waiting. A thin wall does lose its heat sooner, for "
        "there is less metal under its surface; but a pass warms it by more, and it has "
        "further to fall.",
        small.time_constant,
    )


def twice_the_metal(compared: Shown, units: UnitSystem) -> Exercise:
    """Length of pipe that doubles the heat capacity."""
    short = compared.results[0]
    pipe, part = short.case.pipe, short.parts[0]
    outer, inner = pipe.outside_diameter, pipe.outside_diameter - 2 * pipe.wall
    area = pi / 4 * (outer**2 - inner**2)
    per_metre = area * part.density * part.specific_heat
    more = short.heat_capacity / per_metre
    mass = kg(area * part.density * (1.0 if units is SI else INCH), units)
    run, per_run = ("metre", per_metre) if units is SI else ("inch", per_metre * INCH)
    capacity = per_degree(per_run) if units is SI else f"{per_run * DEGREE:.2f} J/degF"
    unit = "m" if units is SI else "in"
    return Exercise(
        f"{short.label}: how much more pipe would halve what one pass warms the piece by?",
        (
            (
                f"section = pi/4 (D² - d²) = 0.7854 x ({without_unit(outer, units)}² - "
                f"{without_unit(inner, units)}²) {units.length_unit}2 = {square(area, units)}"
            ),
            (
                f"one {run} of pipe: {mass} x {specific(part.specific_heat, units)} = "
                f"{capacity}"
            ),
            (
                f"the piece has {per_degree(short.heat_capacity, units)}, so "
                f"{per_degree(short.heat_capacity, units)} / {capacity} x 1 {unit} = "
                f"{millimetres(more, units)}"
            ),
        ),
        "As long as the heat gets there in time, which is the next question.",
        more,
    )


def reaches_the_end(compared: Shown, units: UnitSystem) -> Exercise:
    """How far heat gets between two arcs."""
    short, long = compared.results[0], compared.results[-1]
    t, alpha = long.time_to_second, long.alpha
    is_reached = short.reach > short.length
    return Exercise(
        f"How far along the pipe has the heat got when the second arc is struck, "
        f"{seconds(t)} after the first, on the {long.label}? Does the end of the "
        f"{short.label} matter?",
        (
            f"alpha = k / (rho c) = {diffusivity(alpha, units)}",
            (
                "to one side: sqrt(4 pi alpha t) / 2 = sqrt(12.566 x "
                f"{diffusivity(alpha, units)} x {t:.0f} s) / 2 = {millimetres(long.reach, units)}"
            ),
        ),
        f"The {short.label} is {millimetres(short.length, units)} long, so "
        + (
            "the heat meets its end and has to turn back. "
            if is_reached
            else "the heat hardly meets its end. "
        )
        + f"The waits before pass 2: {minutes(short.history.passes[1].wait)} on the "
        f"{short.label}, {minutes(long.history.passes[1].wait)} on the {long.label}.",
        long.reach,
    )


def long_enough(compared: Shown, units: UnitSystem) -> Exercise:
    """Fin length: pipe beyond it changes nothing."""
    long = compared.results[-1]
    case, limit = long.case, long.case.limits.interpass_max
    pipe, film = case.pipe, next(s.film for s in long.skins if s.name == "pipe")
    outer, inner = pipe.outside_diameter, pipe.outside_diameter - 2 * pipe.wall
    area, round_ = pi / 4 * (outer**2 - inner**2), pi * outer
    k = float(conductivity_at(pipe.material, limit))
    reach = 1 / fin_parameter(film, round_, k, area)
    return Exercise(
        "Would still more pipe help? How far does heat get along a pipe before the air has "
        "taken it?",
        (*fin_sums(k, area, film, round_, reach, units),),
        f"Three fin lengths, {millimetres(3 * reach, units)}, are as good as an endless "
        "pipe: only 5 % of the warmth is left there. More metal beyond never gets warm.",
        reach,
    )


def capacities(compared: Shown, units: UnitSystem) -> Exercise:
    """Two metals take up nearly the same heat."""
    first, last = compared.results[0], compared.results[-1]
    ratio = last.heat_capacity / first.heat_capacity
    return Exercise(
        f"Does the {last.label} piece take up more heat for a degree than the "
        f"{first.label} one?",
        (
            *(f"{r.label}: {capacity_sum(r, units)}" for r in (first, last)),
            (
                f"{per_degree(last.heat_capacity, units)} / {per_degree(first.heat_capacity, units)} = "
                f"{times(ratio)}"
            ),
            f"rise of pass 1: {rise(first.rise, units)} and {rise(last.rise, units)}",
        ),
        "By the lump alone the two would behave as their heat capacities do. The next "
        "question is about what the lump leaves out.",
        ratio,
    )


def spreads(compared: Shown, units: UnitSystem) -> Exercise:
    """Diffusivity: how fast heat leaves the weld."""
    first, last = compared.results[0], compared.results[-1]
    off = [r.history.passes[0].at_arc_off.mean for r in (first, last)]
    t = first.history.passes[0].arc_off
    widths = [strip_width(r.alpha, t) / 2 for r in (first, last)]
    ratio = sqrt(last.alpha / first.alpha)
    return Exercise(
        f"How much further does heat get in {last.label} than in {first.label} while pass 1 "
        "is being made?",
        (
            *(
                f"{r.label}: sqrt(4 pi alpha t) / 2 = sqrt(12.566 x "
                f"{diffusivity(r.alpha, units)} x {t:.1f} s) / 2 = {millimetres(width, units)}"
                for r, width in zip((first, last), widths, strict=True)
            ),
            (
                f"ratio = sqrt({diffusivity(last.alpha, units)} / "
                f"{diffusivity(first.alpha, units)}) = "
                f"{times(ratio)}"
            ),
        ),
        f"When the arc goes out, the {MEAN} is at {degrees(off[0], units)} in "
        f"{first.label} and at {degrees(off[1], units)} in {last.label}. The metal that "
        "conducts worse keeps the heat where it was put.",
        ratio,
    )


def own_limit(compared: Shown, units: UnitSystem) -> Exercise:
    """Use the limit that is customary for the other metal."""
    last, first = compared.results[-1], compared.results[0]
    air = last.case.surroundings.air
    limit, source = _customary(last)
    start = last.rise + limit - air
    wait = last.time_constant * log(start / (limit - air))
    waits = [r.history.passes[-1].wait for r in (first, last)]
    return Exercise(
        f"The lesson gave both metals one limit. Customary for {last.label} is "
        f"{degrees(limit, units)}, by {source}. What would the lump wait with that, before "
        "the last pass?",
        (
            (
                f"above the air: {rise(limit - air, units)} at the limit, so "
                f"{rise(start, units)} after a pass that started there"
            ),
            (
                f"wait = tau {log_sum(start, limit - air, units)} = "
                f"{last.time_constant:.0f} s x {log(start / (limit - air)):.3f} = "
                f"{seconds(wait)}"
            ),
            f"as a clock shows it: {minutes(wait)}",
        ),
        f"With the one limit the model waits {minutes(waits[1])} in {last.label} and "
        f"{minutes(waits[0])} in {first.label}. The limit often decides more than the "
        "metal does. The time constant here is that at the limit of the lesson.",
        wait,
    )


def _customary(result: Result) -> tuple[float, str]:
    """Limit customary for the metal [K] and who says so; else that of the case."""
    try:
        row = interpass_limit(result.case.pipe.material)
    except CatalogueError:
        return result.case.limits.interpass_max, "this case"
    return row.maximum, f"{row.source}, {row.standing}"


ASKED = {
    SAME_WAIT: (warms_by, why_less, on_plate),
    TO_LIMIT: (one_lump, later_passes, which_waits),
    LENGTHS: (twice_the_metal, reaches_the_end, long_enough),
    METALS: (capacities, spreads, own_limit),
}


def exercises(compared: Shown, units: UnitSystem = SI) -> tuple[Exercise, ...]:
    """Return the three questions of a comparison."""
    return tuple(ask(compared, units) for ask in ASKED[compared.comparison.key])
