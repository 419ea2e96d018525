"""Changes to a case that may shorten its waits, one at a time, and those it rules out.

Nothing is run here: an idea is the changed case and the lines that make the case file say
so.
"""

from collections.abc import Iterator
from dataclasses import replace
from math import ceil, floor, isinf

from .helps_data import Change, Idea, NotOffered
from .helps_passes import colder, hardening, other_passes
from .joint import Case, Holding

FAN = 2.0  # m/s, a table fan a metre or two away; common practice
FAN_MOST = 5.0  # m/s, beyond which it is a gale; common practice
STUB = 0.1  # m of pipe more
HELD = Holding("pipe", 0.060, 0.025, 500.0)  # a vice or chuck; common practice, no source
CHILL = Holding("pipe", 0.010, 0.040, 2000.0)
"""A copper or aluminium block clamped beside the weld, ``from_face`` from its toe; common
practice, no source."""

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
    speed = max(FAN, round(2 * s.fan, 1))
    if steel := hardening(case):
        yield NotOffered(title, HARDENS.format(steel))
        return
    if s.film_coefficient is not None:
        yield NotOffered(title, "the case gives the film coefficient itself")
        return
    if speed > FAN_MOST:
        yield NotOffered(title, "there is a strong one already")
        return
    if s.fan:
        title = "a stronger fan during the waits"
    values = _fan_values(case, f'"{speed:g} m/s"')
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
    length = round(pipe.length + STUB, 4)
    yield Idea(
        kind="longer stub",
        title="more pipe until the joint is welded",
        case=replace(case, pipe=replace(pipe, length=length)),
        changes=(Change("pipe", (("length", f'"{1e3 * length:g} mm"'),)),),
        caution="Only where the pipe can be cut to length afterwards.",
    )


def _held(case: Case) -> Iterator[Idea | NotOffered]:
    """Hold the pipe in a vice, or clamp a cold block beside the weld."""
    held = "the pipe held in a vice or chuck"
    chill = "a copper or aluminium block clamped beside the weld"
    room = case.pipe.length
    if case.surroundings.holding is not None:
        yield NotOffered(held, ONE_DEVICE)
        why = HARDENS.format(hardening(case)) if hardening(case) else ONE_DEVICE
        yield NotOffered(chill, why)
        return
    start = min(HELD.from_face, floor(1e3 * min(room - HELD.length, 1.0)) / 1e3)
    near = ceil(1e3 * (case.leg_pipe + CHILL.from_face)) / 1e3
    if start < near:
        yield NotOffered(held, "the stub is too short to hold")
    else:
        words = "Reckoned with {} W/m^2/K (common practice, no source): the grip decides."
        yield _holding(case, "held", held, replace(HELD, from_face=start), words)
    if steel := hardening(case):
        yield NotOffered(chill, HARDENS.format(steel))
    elif near + CHILL.length > room:
        yield NotOffered(chill, "the stub is too short for it")
    else:
        words = (
            "Reckoned with {} W/m^2/K to a block that stays cold (common practice, no "
            "source). It chills the root under the arc too: ask whether you may."
        )
        yield _holding(case, "chill", chill, replace(CHILL, from_face=near), words)


def _holding(case: Case, kind: str, title: str, device: Holding, words: str) -> Idea:
    """Put a holding device on the pipe."""
    text = (
        f'{{ on = "{device.on}", from_face = "{1e3 * device.from_face:.0f} mm", '
        f'length = "{1e3 * device.length:.0f} mm", '
        f'conductance = "{device.conductance:.0f} W/m^2/K" }}'
    )
    return Idea(
        kind=kind,
        title=title,
        case=replace(case, surroundings=replace(case.surroundings, holding=device)),
        changes=(Change("surroundings", (("holding", text),)),),
        caution=words.format(f"{device.conductance:.0f}"),
    )
