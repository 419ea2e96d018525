"""Tables of the lesson: the sums of every joint, and the model beside them."""

from math import isfinite

from ..text.kinds import INCH, SI, UnitSystem
from ..text.layout import NOTHING, Table
from ..text.times import clock, spelled
from .joints import LENGTHS, METALS, SAME_WAIT
from .numbers import Result, Shown
from .sums import (
    DEGREE,
    diffusivity,
    millimetres,
    per_degree,
    per_film,
    rise,
    seconds,
    specific,
)

TIMES = "\u00d7"
TAU_NOTE = (
    "\u03c4 in the model: that of the mean of the joint, from how it falls late in the last "
    "cooling."
)
LUMP_NOTE = (
    "Hottest, mean: of weld and metal beside it, by the model. Lump: the whole piece as one "
    "lump of metal, by the sums, after the same waits; wait of the lump: what it would need "
    "to be at the limit then, 0:00 where it is below."
)


def sums_table(compared: Shown, units: UnitSystem = SI) -> Table:
    """Heat in, heat capacity, rise, surface x film, time constant."""
    degree, weight = units.temperature_unit, units.unit("mass")
    return Table(
        "The sums",
        (
            "joint", "heat of pass 1 Q, J", f"mass m, {weight}",
            f"specific heat c, J/{weight}/{degree}", f"heat capacity C, J/{degree}",
            "rise Q/C", f"A h, W/{degree}", "τ = C/(A h), s", "τ in the model, s",
        ),
        tuple(
            (
                r.label,
                f"{r.energy:.0f}",
                units.text("mass", r.mass, 4).split()[0],
                _bare(specific(r.heat_capacity / r.mass, units)),
                _bare(per_degree(r.heat_capacity, units)),
                rise(r.rise, units),
                _bare(per_film(r.conductance, units)),
                f"{r.time_constant:.0f}",
                seconds(r.joint_time_constant).removesuffix(" s"),
            )
            for r in compared.results
        ),
        (TAU_NOTE,),
        left=(0,),
    )  # fmt: skip


def _bare(number: str) -> str:
    """Take the unit off, which stands in the head."""
    return number.split(maxsplit=1)[0]


def surface_table(compared: Shown, units: UnitSystem = SI) -> Table:
    """Surfaces and their films, which make A h."""
    names = list(dict.fromkeys(s.name for r in compared.results for s in r.skins))
    is_si = units is SI
    unit = f"A, cm² {TIMES} h, W/m²/degC" if is_si else f"A, in² {TIMES} h, W/ft²/degF"
    heads = [f"{name.replace('fillet', 'weld')}: {unit}" for name in names]
    return Table(
        "Surface and film at the limit, part by part: what adds up to A h",
        ("joint", *heads),
        tuple(
            (r.label, *(_skin(r, name, units) for name in names))
            for r in compared.results
        ),
        left=(0,),
    )


def _skin(result: Result, name: str, units: UnitSystem) -> str:
    found = [skin for skin in result.skins if skin.name == name]
    if not found:
        return NOTHING
    area, film = 1e4 * found[0].area, found[0].film
    if units is not SI:
        area, film = found[0].area / INCH**2, film * (12 * INCH) ** 2 * DEGREE
    return f"{area:.1f} {TIMES} {film:.2f}"


def struck_table(compared: Shown, units: UnitSystem = SI) -> Table:
    """Every pass but the first: the wait, and the joint as the arc is struck."""
    unit = units.temperature_unit
    return Table(
        "As each arc is struck: the model, and the lump after the same waits",
        (
            "joint, pass", "wait, min:s", f"hottest, {unit}", f"mean, {unit}",
            f"lump, {unit}", "wait of the lump, min:s",
        ),
        tuple(row for r in compared.results for row in _pass_rows(r, units)),
        (LUMP_NOTE,),
        left=(0,),
    )  # fmt: skip


def _pass_rows(result: Result, units: UnitSystem) -> list[tuple[str, ...]]:
    return [
        (
            f"{result.label}, pass {done.number}",
            clock(done.wait),
            *(
                f"{units.value('temperature', T):.0f}"
                for T in (done.at_arc_on.hottest, done.at_arc_on.mean, step.at_arc_on)
            ),
            clock(step.wait) if isfinite(step.wait) else NOTHING,
        )
        for done, step in zip(result.history.passes[1:], result.steps[1:], strict=True)
    ]


def tell_why(compared: Shown, units: UnitSystem = SI) -> str:
    """Say why the lump and the model differ in this comparison, with its numbers."""
    first, last = compared.results[0], compared.results[-1]
    key = compared.comparison.key
    if key == LENGTHS:
        return _why_lengths(first, last, units)
    if key == METALS:
        return _why_metals(first, last, units)
    return _why_sizes(compared.results, units, same_wait=key == SAME_WAIT)


def _gap(result: Result, units: UnitSystem) -> str:
    """Model and lump before pass 2, in words."""
    done, step = result.history.passes[1], result.steps[1]
    lump, mean = (units.temperature(T) for T in (step.at_arc_on, done.at_arc_on.mean))
    return f"{lump} for the lump and {mean} for the joint"


def _why_sizes(results: tuple[Result, ...], units: UnitSystem, *, same_wait: bool) -> str:
    """Heat that has not got far."""
    first, last = results[0], results[-1]
    reach = millimetres(first.reach, units)
    far = f"{millimetres(first.length, units)} of pipe"
    spread = (
        f"Before pass 2 the sums have {_gap(first, units)} of {first.label}, and "
        f"{_gap(last, units)} of {last.label}. By then the heat has got about {reach} to "
        f"either side on {first.label}, of {far}: "
    )
    if same_wait:
        hotter = all(
            r.steps[1].joint_at_arc_on > r.steps[1].at_arc_on for r in (first, last)
        )
        return spread + (
            "the lump has shared it over metal that is still cold, so it comes out too cold "
            "on both."
            if hotter
            else "the lump has shared it over metal that may still be cold, and has lost "
            "none of it while the arc was on."
        )
    slow = (
        " On large pipe the arc goes round so slowly that the metal near its end is hot "
        "when the rest of the ring has cooled, and that hot end has to be waited for."
    )
    return (
        f"{spread}the longer a joint waits, the more it is like a lump."
        + (slow if first.case.model.ring > 1 else "")
        + _longest(results)
    )


def _longest(results: tuple[Result, ...]) -> str:
    """Say why another piece than the smallest waits longest before the last pass."""
    first = results[0]
    most = max(results, key=lambda r: r.history.passes[-1].wait)
    if most is first:
        return ""
    waits = [spelled(r.history.passes[-1].wait) for r in (most, first)]
    return (
        f" Before the last pass {most.label} waits longest, {waits[0]} and not the "
        f"{waits[1]} of {first.label}: a pass warms it by less, but it falls more slowly, "
        f"with a time constant of {seconds(most.time_constant)} and not "
        f"{seconds(first.time_constant)}. What one pass brings and how fast it goes pull "
        "opposite ways as the pipe grows, and the longest wait lies between."
    )


def _why_lengths(first: Result, last: Result, units: UnitSystem) -> str:
    """Count metal that never gets warm."""
    nearly = "nearly a lump" if first.reach > first.length else "not quite a lump"
    return (
        f"Before pass 2 the sums have {_gap(first, units)} of the {first.label}, and "
        f"{_gap(last, units)} of the {last.label}. The {first.label} is {nearly}: heat gets "
        f"{millimetres(first.reach, units)} along the pipe by then, and it is "
        f"{millimetres(first.length, units)} long. The {last.label} is even less one: the "
        f"model follows {millimetres(last.length, units)} of it, most of which stays cold, "
        "and the lump counts it all."
    )


def _why_metals(first: Result, last: Result, units: UnitSystem) -> str:
    """Nearly the same lump, another diffusivity."""
    alphas = [diffusivity(r.alpha, units) for r in (first, last)]
    return (
        f"Before pass 2 the sums have {_gap(first, units)} of {first.label}, and "
        f"{_gap(last, units)} of {last.label}. As lumps the two are much alike. What sets "
        f"them apart is how fast heat leaves the weld: the diffusivity is {alphas[0]} in "
        f"{first.label} and {alphas[1]} in {last.label}. The higher it is, the more a joint "
        "is like a lump."
    )
