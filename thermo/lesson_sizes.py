"""Questions on pipes of several sizes and on a plate, and their worked answers."""

from math import sqrt

from .lesson_numbers import Compared, Result
from .lesson_plate import strip_rise
from .lesson_sums import (
    MEAN,
    Question,
    capacity_sum,
    heat_sum,
    hottest,
    limit_above,
    lump_wait,
    strip_sums,
    time_sum,
    wait_sums,
)
from .lesson_words import degrees, kJ, millimetres, per_degree, rise, seconds, times
from .units import UnitSystem


def warms_by(compared: Compared, units: UnitSystem) -> Question:
    """Heat over heat capacity."""
    small = compared.results[0]
    T = small.history.passes[0].at_arc_off.mean
    return Question(
        f"{small.label}: how much heat does pass 1 put in, and by how much would it warm "
        "the whole piece if it spread evenly and none were lost?",
        (
            time_sum(small.case),
            heat_sum(small),
            capacity_sum(small),
            (
                f"rise = Q / C = {small.energy:.0f} J / {per_degree(small.heat_capacity)} = "
                f"{rise(small.rise, units)}"
            ),
        ),
        f"In the model the {MEAN} is at {degrees(T, units)} when the arc goes out, far "
        "more than the air and this rise: the heat is still near the weld. The sum tells "
        "what the piece comes to when the heat has spread.",
        small.rise,
    )


def why_less(compared: Compared, units: UnitSystem) -> Question:
    """Heat grows with the diameter, metal with diameter times wall."""
    small, large = compared.results[0], compared.results[-1]
    heat, metal = (
        large.energy / small.energy,
        large.heat_capacity / small.heat_capacity,
    )
    D = large.case.pipe.outside_diameter / small.case.pipe.outside_diameter
    wall = large.case.pipe.wall / small.case.pipe.wall
    less = " A small pipe has a thin wall, so every millimetre of seam has less metal to warm."
    return Question(
        f"Pass 1 puts {times(heat)} times as much heat into {large.label} as into "
        f"{small.label}. What does it warm it by, and why?",
        (
            (
                f"heat: {kJ(large.energy)} / {kJ(small.energy)} = {times(heat)} times, as the "
                f"seam is {times(D)} times as long"
            ),
            (
                f"heat capacity: {per_degree(large.heat_capacity)} / "
                f"{per_degree(small.heat_capacity)} = {times(metal)} times: the ring is "
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


def on_plate(compared: Compared, units: UnitSystem) -> Question:
    """Warm the strip of a plate that the heat has reached."""
    assert compared.plate is not None
    run, small = compared.plate, compared.results[0]
    plate, after = run.plate, run.arrivals[1]
    hot = strip_rise(plate, plate.powers[0], after)
    wall, sooner = small.case.pipe.wall, small.time_to_second
    thin = hot * plate.thickness / wall
    like = thin * sqrt(after / sooner)
    return Question(
        f"On the plate the heat has no end of metal to run into. How warm is the seam when "
        f"the second arc comes, {seconds(after)} after the first? And on a plate only as "
        f"thick as the wall of {small.label}, {millimetres(wall, units, 2)}?",
        (
            *strip_sums(plate, after),
            (
                f"rise = {plate.powers[0] / plate.speed / 1e3:.1f} kJ / "
                f"{per_degree(plate.powers[0] / plate.speed / hot)} = {rise(hot, units)}"
            ),
            (
                f"seam: {degrees(plate.air, units)} + {rise(hot, units)} = "
                f"{degrees(plate.air + hot, units)}"
            ),
            (
                f"thinner: {rise(hot, units)} x {1e3 * plate.thickness:.2f} / "
                f"{1e3 * wall:.2f} = {rise(thin, units)}"
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


def one_lump(compared: Compared, units: UnitSystem) -> Question:
    """Cooling of a lump down to the limit."""
    small = compared.results[0]
    wait, model = lump_wait(small, small.rise), small.history.passes[1].wait
    return Question(
        f"{small.label}: how long must the welder wait before pass 2, if the piece were one "
        "lump?",
        (
            f"after pass 1: {rise(small.rise, units)}",
            *wait_sums(small, small.rise, units),
        ),
        f"The model says {seconds(model)}. {_compare_waits(wait, model)}",
        wait,
    )


def _compare_waits(lump: float, model: float) -> str:
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


def later_passes(compared: Compared, units: UnitSystem) -> Question:
    """Wait after a pass that started at the limit."""
    small = compared.results[0]
    start = small.rise + limit_above(small)
    told = ", ".join(
        f"{seconds(d.wait)} before pass {d.number}" for d in small.history.passes[1:]
    )
    return Question(
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


def which_waits(compared: Compared, units: UnitSystem) -> Question:
    """Time constants, and the share of the time the arc burns."""
    pair = small, large = compared.results[0], compared.results[-1]
    shares = [_arc_share(result) for result in pair]
    slow = min(pair, key=_arc_share)
    return Question(
        f"Compare {small.label} with {large.label}: time constant, rise of a pass, and how "
        "much of the time the arc is on. Which keeps the welder waiting, and why?",
        (
            "tau = C / (surface x film): "
            + " and ".join(
                f"{r.heat_capacity:.0f} / {r.conductance:.4f} = {seconds(r.time_constant)}"
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


def _arc_share(result: Result) -> float:
    """Share of the time to the last arc off that an arc burns."""
    passes = result.history.passes
    return sum(d.arc_off - d.arc_on for d in passes) / passes[-1].arc_off
