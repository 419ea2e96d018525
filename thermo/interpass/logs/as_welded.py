"""The joint as it was welded: the case with the times, amps and volts of a log.

Passes not welded yet stay as planned. Each burn keeps its time and so its heat; where
along the ring it ended follows from the time it burned, at one speed through the pass.
"""

from dataclasses import replace
from math import pi

from ..joint import arc
from ..joint.case import Case, Doubt, Pass, Segment
from .burns import Burn, LoggedPass
from .log import Log

TURN = 2 * pi


def as_welded(case: Case, log: Log) -> Case:
    """Put what a log says into a case.

    Parameters
    ----------
    case : Case
        As planned.
    log : Log
        Its passes are the first of the case.

    Returns
    -------
    Case
        Passes welded with their own arc time, travel, current, voltage, net power and
        wait; the piece starts at what was read before pass 1, if anything was.
    """
    off, passes = 0.0, list(case.passes)
    for one in log.passes:
        planned = case.passes[one.number - 1]
        wait = one.burns[0].on - off if one.number > 1 else 0.0
        welded = _as_burned(case, planned, one.burns)
        passes[one.number - 1] = replace(welded, wait=wait)
        off = one.burns[-1].off
    start = log.at_start
    surroundings = case.surroundings
    if start is not None and start.low == start.high:
        surroundings = replace(surroundings, start=start.low)
    return replace(
        case,
        passes=tuple(passes),
        surroundings=surroundings,
        doubt=_doubt(case, passes, len(log.passes)),
    )


def _doubt(case: Case, passes: list[Pass], welded: int) -> tuple[Doubt, ...]:
    """Doubt without that of the travel of passes that were timed.

    A band without width tells that a number is known.
    """
    rest = [d for d in case.doubt if not d.key.endswith(".travel")]
    given = {d.key: d for d in case.doubt if d.key.endswith(".travel")}
    for p in passes:
        key = f"pass.{p.number}.travel"
        if p.number <= welded:
            rest.append(Doubt(key, p.travel, p.travel))
        elif known := given.get(key) or given.get("arc.travel"):
            rest.append(Doubt(key, known.low, known.high))
    return tuple(rest)


def _as_burned(case: Case, planned: Pass, burns: tuple[Burn, ...]) -> Pass:
    """One pass with the times and the power of its burns."""
    way = _way(planned, burns)
    turned = sum(abs(s.end_angle - s.start_angle) for s in way)
    burning = sum(burn.off - burn.on for burn in burns)
    arc_time = burning * TURN / turned
    welded = replace(
        planned,
        arc_time=arc_time,
        travel=arc.travel_from_arc_time(arc_time, case.pipe.outside_diameter),
        start_angle=way[0].start_angle,
        overlap=0.0,
        segments=way,
    )
    return _with_power(welded, burns)


def _with_power(p: Pass, burns: tuple[Burn, ...]) -> Pass:
    """Pass with the mean current of its burns, and the voltage that gives their power.

    Planned values where they were not noted; a case that gives a net power keeps it.
    """
    if not p.has_current:
        return p
    total = sum(burn.off - burn.on for burn in burns)
    shares = [(burn.off - burn.on) / total for burn in burns]
    amps = [p.current if b.current is None else b.current for b in burns]
    volts = [p.voltage if b.voltage is None else b.voltage for b in burns]
    current = sum(s * a for s, a in zip(shares, amps, strict=True))
    power = sum(s * a * v for s, a, v in zip(shares, amps, volts, strict=True))
    voltage = power / current
    return replace(
        p,
        current=current,
        voltage=voltage,
        net_power=arc.net_power(current, voltage, p.efficiency),
    )


def _way(planned: Pass, burns: tuple[Burn, ...]) -> tuple[Segment, ...]:
    """Stretches of the ring, one for each burn and in its time.

    Where as many burns were made as planned, or angles were noted, each keeps its start
    and its way round; else the path planned is cut where the arc stopped.
    """
    path = tuple(Segment(s.start_angle, s.end_angle) for s in arc.stretches(planned))
    if all(b.start_angle is not None and b.end_angle is not None for b in burns):
        path = tuple(Segment(b.start_angle or 0.0, b.end_angle or 0.0) for b in burns)
    turned = sum(abs(s.end_angle - s.start_angle) for s in path)
    total = sum(burn.off - burn.on for burn in burns)
    angles = [turned * (burn.off - burn.on) / total for burn in burns]
    if len(path) == len(burns):
        found = [
            (s.start_angle, s.start_angle + _sign(s) * angle)
            for s, angle in zip(path, angles, strict=True)
        ]
        return _with_pauses(found, burns)
    return _cut(path, angles, burns)


def _sign(segment: Segment) -> int:
    return 1 if segment.end_angle >= segment.start_angle else -1


def _with_pauses(
    ends: list[tuple[float, float]], burns: tuple[Burn, ...]
) -> tuple[Segment, ...]:
    """Segments with the pauses between the burns."""
    offs = [burns[0].on, *(burn.off for burn in burns[:-1])]
    return tuple(
        Segment(start, end, burn.on - off)
        for (start, end), burn, off in zip(ends, burns, offs, strict=True)
    )


def _cut(
    path: tuple[Segment, ...], angles: list[float], burns: tuple[Burn, ...]
) -> tuple[Segment, ...]:
    """Path planned, cut where the arc stopped; a burn may go on in the next stretch."""
    left = list(path)
    found: list[Segment] = []
    off = burns[0].on
    for burn, angle in zip(burns, angles, strict=True):
        pause, rest = burn.on - off, angle
        while rest > 1e-9 and left:
            one = left.pop(0)
            long = abs(one.end_angle - one.start_angle)
            done = min(rest, long)
            stop = one.start_angle + _sign(one) * done
            found.append(Segment(one.start_angle, stop, pause))
            if long - done > 1e-9:
                left.insert(0, Segment(stop, one.end_angle))
            pause, rest = 0.0, rest - done
        off = burn.off
    return tuple(found)


def noted(one: LoggedPass) -> tuple[bool, bool]:
    """Whether the amps, and the volts, of a pass were noted for every burn."""
    amps = all(burn.current is not None for burn in one.burns)
    volts = all(burn.voltage is not None for burn in one.burns)
    return amps, volts
