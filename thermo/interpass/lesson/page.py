"""The lesson as one page that asks the network for nothing: pictures, film and files in it."""

import re
import struct
from dataclasses import dataclass
from functools import partial
from typing import Any

from .. import __version__
from ..joint.case import Case
from ..pages.templates import as_data, templates
from ..text.kinds import SI, UnitSystem
from ..text.layout import Table
from .figures import FIGURES, PLATE, picture_name
from .joints import SAME_WAIT, TO_LIMIT, Variant
from .movie import Movie
from .numbers import Result, Shown
from .questions import exercises
from .sums import Exercise, millimetres, minutes, rise
from .tables import struck_table, sums_table, surface_table, tell_why

TITLE = "Why small pieces overheat"
CASES = "cases"  # folder of the case files, beside the page

SIGNS = (
    (r"\bsqrt\b", "√"), (r"\balpha\b", "\u03b1"), (r"\btau\b", "τ"), (r"\brho\b", "\u03c1"),
    (r"\bpi\b", "π"), (r"\befficiency(?= x)", "η"), (r"(?<= )x(?= )", "\u00d7"),
    (r"\b(m?m|in)2\b", r"\1²"), (r"\b(m|in)3\b", r"\1³"),
)  # fmt: skip
"""Names of signs in the sums, and the signs: alpha and rho, times, squares."""


@dataclass(frozen=True)
class Film:
    """What the page shows of the animation."""

    file: str
    still: str
    alt: str
    still_alt: str
    caption: str
    frames: int
    width: int
    height: int


def lesson_page(
    compared: tuple[Shown, ...],
    pictures: dict[str, bytes],
    units: UnitSystem = SI,
    movie: Film | None = None,
    files: dict[str, bytes] | None = None,
) -> bytes:
    """Return the page.

    Parameters
    ----------
    compared : tuple
        The comparisons, run.
    pictures : dict
        PNG by file name, as `lesson_figures.pictures` makes them.
    units : UnitSystem
        Of everything on the page.
    movie : Film, optional
        The animation, where there is one.
    files : dict, optional
        Animation and its picture, by file name.
    """
    first = compared[0].results[0]
    text = templates().get_template("lesson.html").render(
        title=TITLE,
        conclusion=conclusion(compared, units),
        data=lambda name: as_data(name, (pictures | (files or {}))[name]),
        version=__version__,
        joint=_joint(first.case),
        weld=_weld(first.case, units),
        limit=units.temperature(first.case.limits.interpass_max),
        parts=[_part(one, pictures, units) for one in compared],
        movie=movie,
        degree=units.temperature_unit,
        area="square metre" if units is SI else "square foot",
        warm=units.temperature(573.15),
        first=f"{CASES}/{first.variant.stem}.toml",
        leg=_leg(first.case, units),
        model=_model(first),
        efficiency=f"{first.case.passes[0].efficiency:g}",
    )  # fmt: skip
    return text.encode()


def conclusion(compared: tuple[Shown, ...], units: UnitSystem = SI) -> list[str]:
    """Three sentences: why small pieces overheat, what comes of it, and what to do."""
    by_key = {one.comparison.key: one.results for one in compared}
    same, waited = by_key[SAME_WAIT], by_key[TO_LIMIT]
    small, large = same[0], same[-1]
    hot, less = (
        units.temperature(r.history.passes[-1].at_arc_on.hottest) for r in (small, large)
    )
    given = minutes(small.history.passes[-1].wait)
    waits = [minutes(r.history.passes[-1].wait) for r in (waited[0], waited[-1])]
    rises = [rise(r.rise, units) for r in (small, large)]
    warmed = (
        "A small piece has little metal for every inch of weld, so the same pass warms it "
        f"by more: {small.label} by {rises[0]}, {large.label} by {rises[1]}, if the heat "
        "spread evenly."
    )
    if small.rise <= large.rise:
        warmed = (
            f"One pass warms {small.label} by {rises[0]}, {large.label} by {rises[1]}."
        )
    back = (
        "The arc is round it sooner and comes back before the heat has gone: with "
        f"{given} between passes, {small.label} is at {hot} when the last arc is struck "
        f"and {large.label} at {less}."
    )
    so = (
        "So the wait belongs to the piece and not to the habit: before the last pass "
        f"{waits[0]} on {waited[0].label} and {waits[1]} on {waited[-1].label}, and only "
        "a reading tells whether it was enough."
    )
    return [warmed, back, so]


def film_of(movie: Movie, variant: Variant, files: tuple[str, str]) -> Film:
    """Say what an animation shows; ``files`` are those of the GIF and of its picture."""
    passes = len(variant.case.passes)
    what = (
        f"The joint on {variant.label} in section, above at 0 deg and below at 180 deg, "
        "and the ring seen along its axis with the arc going round"
    )
    return Film(
        file=files[0],
        still=files[1],
        alt=f"Animation. {what}, through {passes} passes and the waits between them; "
        "colours go from cold blue to hot yellow.",
        still_alt=f"{what}, as the arc of pass {passes} is struck: the joint is still hot.",
        caption=f"{what}. Here as pass {passes} begins, {minutes(variant.case.passes[-1].wait or 0.0)} "
        "after the pass before: the heat of the earlier passes is still there. Colours "
        "stand for the same temperatures in every picture; above the scale is the pool.",
        frames=movie.frames,
        width=movie.size[0],
        height=movie.size[1],
    )


def _joint(case: Case) -> str:
    """Name the weld in a few words."""
    metal, kind = case.pipe.material.name, case.fitting.kind
    if case.is_bare:
        return f"a bead round a bare pipe of {metal} in {len(case.passes)} passes"
    return f"a socket weld of {metal} pipe into a {kind} in {len(case.passes)} passes"


def _weld(case: Case, units: UnitSystem) -> str:
    """Name the settings that all joints share."""
    p = case.passes[0]
    arc = f"{p.net_power:.0f} W into the metal"
    if p.has_current:
        arc = f"{p.current:g} A, {p.voltage:g} V, efficiency {p.efficiency:g}"
    same = all(
        (q.current, q.voltage, q.travel) == (p.current, p.voltage, p.travel)
        or not q.has_current
        for q in case.passes
    )
    which = "each" if same else "pass 1"
    leg = millimetres(max(case.leg_pipe, case.leg_socket), units, 2)
    air = units.temperature(case.surroundings.air)
    return (
        f"{len(case.passes)} passes, {which} at {arc} and {units.speed(p.travel)}; "
        f"fillet leg {leg}, air at {air}"
    )


def _leg(case: Case, units: UnitSystem) -> str:
    """Say what is wrong with one leg for all sizes."""
    leg = millimetres(max(case.leg_pipe, case.leg_socket), units, 2)
    return (
        f"The fillet has a leg of {leg} on every size, so that the weld is the same. A code "
        "wants a longer one on a thicker wall; do not weld by these files. What the case "
        "of the lesson says about holding the piece and about points to watch is left out."
    )


def _model(result: Result) -> str:
    """Which model it was."""
    ring = result.case.model.ring
    how = (
        "with the arc averaged round the ring, so hottest point and mean are close together"
        if ring == 1
        else f"with the arc travelling, in {ring} cells round the ring"
    )
    return f"The model: heat conduction in the section of the joint, {how}."


def _part(
    compared: Shown, pictures: dict[str, bytes], units: UnitSystem
) -> dict[str, Any]:
    """Everything the page says of one comparison."""
    comparison = compared.comparison
    tables: list[Table] = [
        sums_table(compared, units),
        surface_table(compared, units),
        struck_table(compared, units),
    ]
    return {
        "key": comparison.key,
        "title": comparison.title,
        "says": comparison.says,
        "pictures": [_picture(compared, kind, pictures, units) for kind in FIGURES],
        "plate": _plate(compared, units),
        "tables": tables,
        "why": tell_why(compared, units),
        "questions": [_typeset(question) for question in exercises(compared, units)],
        "files": [
            (r.label, f"{r.variant.stem}.toml", as_data(".toml", r.variant.text.encode()))
            for r in compared.results
        ],
    }


def _typeset(question: Exercise) -> dict[str, Any]:
    """Put signs for the names of signs in the sums."""
    lines = []
    for line in question.sums:
        for pattern, sign in SIGNS:
            line = re.sub(pattern, sign, line)  # noqa: PLW2901
        lines.append(line)
    return {"asks": question.asks, "so": question.so, "sums": lines}


def _picture(
    compared: Shown, kind: str, pictures: dict[str, bytes], units: UnitSystem
) -> dict[str, Any]:
    """Place of a picture, what it shows in words, and its size on the page."""
    name = picture_name(compared.comparison, kind)
    width, height = png_size(pictures[name])
    caption, alt = ALTS[kind](compared, units)
    return {
        "file": name,
        "alt": alt,
        "caption": caption,
        "width": width * 2 // 3,
        "height": height * 2 // 3,
    }


def png_size(content: bytes) -> tuple[int, int]:
    """Width and height of a PNG in pixels."""
    return struct.unpack(">II", content[16:24])


def _history_alt(compared: Shown, units: UnitSystem) -> tuple[str, str]:
    told = _told(compared, partial(_temperatures, units=units))
    caption = (
        "Mean temperature of each joint against time. Dots and numbers: the hottest "
        f"point as the next arc is struck, {units.temperature_unit}."
    )
    return (
        caption,
        f"Temperature against time, one strip a joint. As arcs are struck: {told}.",
    )


def _outcome_alt(compared: Shown, units: UnitSystem) -> tuple[str, str]:
    if compared.comparison.is_by_limit:
        told = _told(compared, lambda waits, _: [minutes(w) for w in waits])
        return "Waits before each pass, as the model has them.", f"Bars of waits: {told}."
    told = _told(compared, partial(_temperatures, units=units))
    return (
        "The same temperatures beside each other, pass by pass.",
        f"Bars of the hottest point as the arc is struck: {told}.",
    )


def _balance_alt(compared: Shown, units: UnitSystem) -> tuple[str, str]:
    told = "; ".join(
        f"{r.label} is warmed by {units.temperature_difference(r.rise)}, and keeps "
        f"{100 * r.history.ledger.stored / r.history.ledger.arc:.0f} % of the heat"
        for r in compared.results
    )
    after = compared.results[0].case.model.end_after
    return (
        (
            "Left: what pass 1 would warm the piece by, heat over heat capacity. Right: where "
            f"the heat of all passes is {minutes(after)} after the last arc."
        ),
        f"Bars of rise and shares of heat: {told}.",
    )


ALTS = {"history": _history_alt, "outcome": _outcome_alt, "balance": _balance_alt}


def _temperatures(_: list[float], T: list[float], units: UnitSystem) -> list[str]:
    return [units.temperature(x) for x in T]


def _told(compared: Shown, words: Any) -> str:
    """Every joint with its numbers, in a sentence; ``words`` of its waits and hottest."""
    rows = [
        (
            r.label,
            [d.wait for d in r.history.passes[1:]],
            [d.at_arc_on.hottest for d in r.history.passes[1:]],
        )
        for r in compared.results
    ]
    if run := compared.plate:
        rows.append((PLATE, list(run.waits[1:]), list(run.at_arc_on[1:])))
    return "; ".join(f"{name} {', '.join(words(w, T))}" for name, w, T in rows)


def _plate(compared: Shown, units: UnitSystem) -> str:
    """Say what stands for the plate."""
    if compared.plate is None:
        return ""
    plate = compared.plate.plate
    thick, seam = (millimetres(x, units) for x in (plate.thickness, plate.seam))
    return (
        "The model turns a section round an axis, which makes pipes and not plates. The "
        "plate is worked out by formula instead: an arc that travels along a wall "
        f"(Rosenthal, 1946), on two plates {thick} thick set in a tee, as large as one "
        f"likes, with a seam of {seam}, as long as the ring of "
        f"{compared.results[-1].label}. A fillet on a tee feeds three half plates, so two "
        "thirds of the heat count for the one in the formula. No heat is lost to the air, "
        "and the metal is as it is at the limit; both make the plate hotter than it would "
        "be. The curve is one point of the seam: the next arc comes to every point one "
        "seam and one wait after the last one did. A plate has no mean, no mass and no "
        "time constant to set beside those of the pipes."
    )
