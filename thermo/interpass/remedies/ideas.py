"""Changes to a case that may shorten its waits: fan, passes, stub, holding, chill.

Nothing is run here: an idea is the changed case and the lines that make the case file say
so. What the case rules out says why. Values are rounded as a welder would set them before
the changed pass is made, so that case file and run agree.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import ceil, floor, isinf, pi
from typing import Any

from ..case_file.passes import MOST_PASSES
from ..case_file.units import set_to
from ..joint import arc
from ..joint.beads import bead_areas
from ..joint.case import Case, Holding, Pass, Wire
from ..joint.held import FIRMEST, LEAST_GRIP, device_of, usual_grip
from ..rules.of_joint import table_currents, tungsten_range
from ..trade.practice import HARDENABLE


@dataclass(frozen=True)
class Change:
    """Lines of the case file that differ: keys of one table, and what they shall hold."""

    table: str  # "surroundings", "pipe", or "pass"
    values: tuple[tuple[str, str], ...]  # key and what stands behind its "="
    number: int = 0  # of the pass
    like: int = 0  # pass of the case that the new one is otherwise like


@dataclass(frozen=True)
class Idea:
    """One change, ready to run."""

    kind: str
    title: str
    case: Case
    changes: tuple[Change, ...]
    caution: str


@dataclass(frozen=True)
class NotOffered:
    """A change that is not proposed, and why."""

    title: str
    why: str
    kind: str = ""


FAN = 2.0  # m/s, a table fan a metre or two away; common practice
FAN_MOST = 5.0  # m/s, beyond which it is a gale; common practice
STUB = 0.1  # m of pipe more
CHILL = Holding("pipe", 0.010, 0.040, 2000.0)
"""A copper or aluminium block clamped beside the weld, ``from_face`` from its toe; common
practice, no source."""

GRIPPED = "the fitting held in a chuck"
CHILLED = "a copper or aluminium block clamped beside the weld"
HARDENS = "{} hardens and may crack when cooled by force; let it cool in still air"
ONE_DEVICE = "the case has a holding device already, and can have one only"


def ideas(case: Case) -> Iterator[Idea | NotOffered]:
    """Every change thought of for a case; those its metal or its text rules out say why."""
    yield from _fan(case)
    yield from colder(case)
    yield from other_passes(case)
    yield from _stub(case)
    yield from _held(case)


def _fan(case: Case) -> Iterator[Idea | NotOffered]:
    """Blow air across the joint while no arc burns."""
    s, title = case.surroundings, "a fan across the joint during the waits"
    text, speed = set_to(case, "wind", max(FAN, 2 * s.fan))
    if steel := hardening(case):
        yield NotOffered(title, HARDENS.format(steel))
        return
    if s.film_coefficient is not None:
        yield NotOffered(title, "the case gives the film coefficient itself")
        return
    if 2 * s.fan > FAN_MOST:
        yield NotOffered(title, "there is a strong one already")
        return
    if s.fan:
        title = "a stronger fan during the waits"
    values = _fan_values(case, text)
    yield Idea(
        kind="fan",
        title=title,
        case=replace(case, surroundings=replace(s, fan=speed, fan_during="waits")),
        changes=(Change("surroundings", values),),
        caution="A fan blows the shielding gas away: off before each arc on.",
    )


def _fan_values(case: Case, speed: str) -> tuple[tuple[str, str], ...]:
    """Write the fan in the form the case has it."""
    given = {row.key for row in case.assumptions}
    if "surroundings.fan.speed" in given:
        return (("fan", f'{{ speed = {speed}, during = "waits" }}'),)
    during = "fan_during" if "surroundings.fan_during" in given else "during"
    return (("fan", speed), (during, '"waits"'))


def _stub(case: Case) -> Iterator[Idea]:
    """Leave the pipe longer until the joint is welded."""
    pipe = case.pipe
    if isinf(pipe.length):
        return
    text, length = set_to(case, "pipe", pipe.length + STUB)
    yield Idea(
        kind="longer stub",
        title="more pipe until the joint is welded",
        case=replace(case, pipe=replace(pipe, length=length)),
        changes=(Change("pipe", (("length", text),)),),
        caution="Only where the pipe can be cut to length afterwards.",
    )


def _held(case: Case) -> Iterator[Idea | NotOffered]:
    """Hold the fitting in a chuck, or clamp a cold block beside the weld."""
    if case.surroundings.holding is not None:
        why = HARDENS.format(hardening(case)) if hardening(case) else ONE_DEVICE
        yield NotOffered(GRIPPED, ONE_DEVICE)
        yield NotOffered(CHILLED, why)
        return
    yield _gripped(case)
    yield _chilled(case)


def _gripped(case: Case) -> Idea | NotOffered:
    """Hold the fitting in a chuck."""
    device = device_of(FIRMEST)
    if case.is_bare:
        return NotOffered(GRIPPED, "there is no fitting to hold")
    if steel := hardening(case):
        return NotOffered(GRIPPED, HARDENS.format(steel))
    grip = usual_grip(device, case.pipe, case.fitting, case.leg_pipe)
    if grip.length < LEAST_GRIP:
        return NotOffered(GRIPPED, "the fitting is too short to hold")
    caution = (
        f"Reckoned with {grip.conductance:.0f} W/m^2/K on {100 * grip.share:.0f} % of the "
        f"girth ({device.standing}, no source): the grip decides."
    )
    return _with_device(case, "held", GRIPPED, grip, f'"{device.words}"', caution)


def _chilled(case: Case) -> Idea | NotOffered:
    """Clamp a cold block beside the weld."""
    if steel := hardening(case):
        return NotOffered(CHILLED, HARDENS.format(steel))
    away, start = set_to(case, "place", case.leg_pipe + CHILL.from_face, ceil)
    if start + CHILL.length > case.pipe.length:
        return NotOffered(CHILLED, "the stub is too short for it")
    length, reach = set_to(case, "place", CHILL.length, floor)
    text = (
        f'{{ on = "{CHILL.on}", from_face = {away}, length = {length}, '
        f'conductance = "{CHILL.conductance:.0f} W/m^2/K" }}'
    )
    caution = (
        f"Reckoned with {CHILL.conductance:.0f} W/m^2/K to a block that stays cold (common "
        "practice, no source). It chills the root under the arc too: ask whether you may."
    )
    block = replace(CHILL, from_face=start, length=reach)
    return _with_device(case, "chill", CHILLED, block, text, caution)


def _with_device(
    case: Case, kind: str, title: str, device: Holding, text: str, caution: str
) -> Idea:
    """Have a device hold the piece."""
    around = replace(case.surroundings, holding=device, holding_is_said=True)
    return Idea(
        kind=kind,
        title=title,
        case=replace(case, surroundings=around),
        changes=(Change("surroundings", (("holding", text),)),),
        caution=caution,
    )


CUTS = (0.2, 0.1)  # less current, faster travel; the second where the first is refused

_TRAVEL = {  # m/s, slowest and fastest; common practice, no source
    "fixed": (0.030 / 60, 0.150 / 60),  # torch carried round by hand on small pipe
    "rotated": (0.020 / 60, 0.300 / 60),  # pipe turned under a torch that is held still
}

ALONE = "a second pass covers the stop and start of the first (common practice)"
BIGGER = "Is the procedure qualified for beads of this size and heat input?"
MORE_WIRE = "More wire for the same heat: look for lack of fusion at the toes."


def hardening(case: Case) -> str:
    """Name a metal of the joint that hardens when cooled by force; empty without one."""
    parts = (case.pipe.material, case.fitting.material, case.filler)
    return next((part.name for part in parts if part.family in HARDENABLE), "")


def colder(case: Case) -> Iterator[Idea | NotOffered]:
    """Weld with less current and faster, the wire fed faster too: the same beads."""
    title = "less current and faster travel, the same beads"
    if not all(p.has_current for p in case.passes):
        yield NotOffered(title, "the case gives net power, not current")
        return
    for cut in CUTS:
        changed = [_cut_pass(case, p, cut) for p in case.passes]
        passes = tuple(p for p, _ in changed)
        if why := _travel_trouble(case, passes):
            yield NotOffered(f"{title} ({100 * cut:.0f} %)", why)
            continue
        same = all(
            a.current >= b.current for a, b in zip(passes, case.passes, strict=True)
        )
        share = f"{100 * cut:.0f} %"
        yield Idea(
            kind="colder",
            title=f"travel {share} faster at the same current, the same beads"
            if same
            else f"{share} less current and {share} faster travel, the same beads",
            case=replace(case, passes=passes),
            changes=tuple(change for _, change in changed),
            caution=_colder_caution(case),
        )


def _colder_caution(case: Case) -> str:
    words = "Look at the root and the toes: a colder arc may leave them unfused."
    if hardening(case):
        words += " A colder weld also cools faster: keep the preheat."
    return words


def _cut_pass(case: Case, p: Pass, cut: float) -> tuple[Pass, Change]:
    """Make one pass colder and faster; current not below the printed tables."""
    bounds = (table_currents(case, p), tungsten_range(p))
    least = max((b[0] for b in bounds if b and b[0] is not None), default=0.0)
    current = min(p.current, float(max(round(p.current * (1 - cut)), ceil(least))))
    faster, values = _with_travel(case, p, 1 + cut, keeps_bead=True)
    power = arc.net_power(current, p.voltage, p.efficiency)
    if current < p.current:
        values = (("current", f'"{current:g} A"'), *values)
    new = replace(faster, current=current, net_power=power)
    return new, Change("pass", values, p.number, p.number)


def _with_travel(
    case: Case, p: Pass, times: float, *, keeps_bead: bool
) -> tuple[Pass, tuple[tuple[str, str], ...]]:
    """Change the travel of a pass, in the words its case uses; never with less metal.

    The wire is fed faster in proportion when the bead is kept; otherwise as it was, and
    the bead becomes smaller or bigger.
    """
    diameter = case.pipe.outside_diameter
    key, text, travel, arc_time = _travel_text(case, p, times)
    metal: dict[str, Any]
    values, metal = [(key, text)], {"wire": p.wire, "deposit": p.deposit}
    if p.wire is not None:
        feed = p.wire.feed * times if keeps_bead else p.wire.feed
        fed, feed = set_to(case, "feed", feed, ceil)
        thick, wide = set_to(case, "wire", p.wire.diameter)
        wire = Wire(wide, feed)
        values.append(("wire", f"{{ diameter = {thick}, feed = {fed} }}"))
        metal = {"wire": wire, "deposit": arc.deposit_area(wire.diameter, feed, travel)}
    elif p.deposit and not keeps_bead:
        area, deposit = set_to(case, "deposit", p.deposit / times, ceil)
        values.append(("deposit", area))
        metal = {"deposit": deposit}
    time = arc_time or arc.arc_time_from_travel(travel, diameter)
    return replace(p, travel=travel, arc_time=time, **metal), tuple(values)


def _travel_text(case: Case, p: Pass, times: float) -> tuple[str, str, float, float]:
    """Key, text, travel [m/s] and arc time [s] of a changed travel, rounded to slower."""
    diameter = case.pipe.outside_diameter
    key = _travel_key(case, p)
    if key == "arc_time":
        arc_time = ceil(10 * p.arc_time / times - 1e-6) / 10
        travel = arc.travel_from_arc_time(arc_time, diameter)
        return key, f'"{arc_time:g} s"', travel, arc_time
    if key == "turn":
        turn = floor(1e3 * p.travel * times / (diameter / 2) / (2 * pi) * 60 + 1e-6) / 1e3
        travel = arc.travel_from_turn(turn * 2 * pi / 60, diameter)
        return key, f'"{turn:g} rev/min"', travel, 0.0
    text, speed = set_to(case, "travel", p.travel * times, floor)
    return "travel", text, speed, 0.0


def _travel_key(case: Case, p: Pass) -> str:
    """Which of travel, turn and arc_time the case gives for a pass."""
    computed = {row.key for row in case.assumptions if row.standing == "computed"}
    given = {row.key for row in case.assumptions} - computed
    for table in (f"pass.{p.number}", "arc"):
        for key in ("travel", "turn", "arc_time"):
            if {f"{table}.{key}", f"{table}.{key}.best"} & given:
                return key
    return "travel"


def _travel_trouble(case: Case, after: tuple[Pass, ...]) -> str:
    """Say that the torch would travel slower or faster than anybody can weld, if so."""
    low, high = _TRAVEL[case.position]
    slowest, fastest = (f(p.travel for p in after) for f in (min, max))
    slow = slowest < low and slowest < min(p.travel for p in case.passes)
    fast = fastest > high and fastest > max(p.travel for p in case.passes)
    if not (slow or fast):
        return ""
    way = "slower" if slow else "faster"
    if case.position == "rotated":
        return f"the pipe would have to turn {way} than a weld pool can be led"
    return f"the torch would travel {way} than by hand it can"


def other_passes(case: Case) -> Iterator[Idea | NotOffered]:
    """Lay the same metal in one pass fewer or more, or leave one out."""
    title, many = "fewer or more passes", len(case.passes)
    if case.metal_in_place:
        yield NotOffered(title, "the metal is in place from the start in this case")
    elif any(p.wait is not None for p in case.passes[1:]):
        yield NotOffered(title, "the case gives some of the waits itself")
    else:
        if many > 2:
            yield from _resized(case, many - 1, "one pass fewer, bigger beads")
            yield _left_out(case)
        else:
            yield NotOffered("one pass only", ALONE)
        if many < MOST_PASSES:
            yield from _resized(case, many + 1, "one pass more, smaller beads")


def _metal_given(case: Case) -> float:
    """All the metal [m²] where passes bring it in different ways; 0 when all are alike."""
    wires = [p.wire is not None for p in case.passes]
    shares = [p.deposit is None for p in case.passes]
    alike = all(wires) or all(shares)
    return 0.0 if alike else sum(bead_areas(case))


def _resized(case: Case, count: int, words: str) -> Iterator[Idea | NotOffered]:
    """Share metal, arc time and heat among another number of passes."""
    many = len(case.passes)
    title = f"{words}: {count} instead of {many}"
    passes, changes = [], []
    total = _metal_given(case)
    for n in range(count):
        old = case.passes[round(n * (many - 1) / (count - 1))]
        like = replace(old, wire=None, deposit=total / many) if total else old
        new, values = _with_travel(case, like, count / many, keeps_bead=False)
        passes.append(replace(new, number=n + 1, wait=None if n else 0.0))
        changes.append(Change("pass", values, n + 1, old.number))
    if why := _travel_trouble(case, tuple(passes)):
        yield NotOffered(title, why)
        return
    yield Idea(
        kind="fewer" if count < many else "more",
        title=title,
        case=replace(case, passes=tuple(passes)),
        changes=tuple(changes),
        caution="" if count > many else BIGGER,
    )


def _left_out(case: Case) -> Idea:
    """Leave the last pass out and the others as they are."""
    kept = case.passes[:-1]
    shared = all(p.deposit is None for p in kept)
    return Idea(
        kind="left out",
        title="the last pass left out, "
        + ("more wire in the others" if shared else "the others as they are"),
        case=replace(case, passes=kept),
        changes=tuple(Change("pass", (), p.number, p.number) for p in kept),
        caution=MORE_WIRE if shared else "",
    )
