"""A trial of one's own: where to put thermocouples on a joint, how long to log, when to read.

Computed from the run of the case with a probe at every place: how hot each gets, which
thermocouple stands that, and what a millimetre of misplacing costs there.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import pi

import numpy as np

from ..doubt.bands import Bands
from ..heat.history import History
from ..heat.waits import plan
from ..joint.beads import leg_room
from ..joint.case import Case, Measure, Probe
from ..joint.places import measuring_place
from .measured import QUIET

SPARE = 10.0e-3  # m kept from the ends of the parts
ALONG = 20.0e-3  # m from the first thermocouple to the one that sees the heat run off
ON_FITTING = 8.0e-3  # m from the toe: clear of bead and spatter
CLEAR = 5.0e-3  # m in front of what holds the piece
BEFORE_FIRST_ARC, AFTER_LAST_ARC = 60.0, 1800.0  # s that are logged
FAST, SLOW = 1.0, 5.0  # s between samples: while it changes fast, and after
CHANGES_FAST = 60.0  # s after arc off
TYPE_K = 1373.15  # K: sheathed type K lasts below this; common practice
MISPLACED = 1.0e-3  # m: what a place is wrong by when it is scribed by hand


@dataclass(frozen=True)
class TrialPlace:
    """One thermocouple of a trial."""

    name: str
    measure: Measure
    from_face: float  # m along the axis from the socket face, below 0 on the pipe's side
    why: str
    hottest: float  # K that it gets to see
    per_mm: float  # K by which 1 mm changes it, in the middle of the first cooling


@dataclass(frozen=True, eq=False)
class Trial:
    """What a trial needs to know."""

    case: Case
    planned: History  # the plan of the case, which its limits are judged by
    history: History  # the same with a probe at every place, and the cooling after
    places: tuple[TrialPlace, ...]
    moments: tuple[
        tuple[int, float], ...
    ]  # by hand: after which pass, s since its arc off
    bands: Bands | None = None  # of the plan

    @property
    def head(self) -> str:
        """Header of the logger's file, as the program reads it back."""
        return ",".join(["time", *(head_of(place) for place in self.places)])


def head_of(place: TrialPlace) -> str:
    """Head of one channel, in the words that `logger` reads."""
    m = place.measure
    angle = f" {np.degrees(m.angle):.0f} deg" if m.angle else ""
    return f"{place.name} {m.on} {1e3 * (m.from_toe or 0.0):.4g} mm{angle} [degC]"


def trial_of(case: Case, planned: History, bands: Bands | None = None) -> Trial:
    """Plan a trial of a joint.

    Parameters
    ----------
    case : Case
        The joint, as planned.
    planned : History
        Its plan.
    bands : Bands, optional
        Of the plan, for the moments at which a reading by hand teaches most.

    Raises
    ------
    RunError
        The joint cannot be run.
    """
    wanted = list(_wanted(case))
    probes = [_probe(case, m) for m, _ in wanted]
    beside = [_probe(case, _moved(m)) for m, _ in wanted]
    model = replace(case.model, end_after=max(case.model.end_after, AFTER_LAST_ARC))
    history = plan(replace(case, probes=(*case.probes, *probes, *beside), model=model))
    first = len(case.probes)
    places = (
        TrialPlace(
            name=f"T{n + 1}",
            measure=m,
            from_face=probes[n].z,
            why=why,
            hottest=float(history.traces[first + n].temperature.max()),
            per_mm=_per_mm(history, first + n, first + len(wanted) + n),
        )
        for n, (m, why) in enumerate(wanted)
    )
    read = tuple(
        (band.number - 1, band.read_after)
        for band in (bands.passes if bands else ())
        if band.read_after is not None
    )
    return Trial(case, planned, history, tuple(places), read, bands)


def _wanted(case: Case) -> Iterator[tuple[Measure, str]]:
    """Places, the ones that teach most first."""
    own = measuring_place(case)
    here = replace(case.measure, from_toe=own.from_toe)
    on_pipe = here.on == "pipe"
    yield here, "the place marked: beside the readings by hand"
    turned = (here.angle + pi) % (2 * pi)
    yield replace(here, angle=turned), "the same on the other side: how even the heat is"
    base = own.from_toe if on_pipe else ON_FITTING
    away = min(base + ALONG, case.pipe.length - SPARE)
    if away > base + SPARE / 2:
        yield Measure("pipe", away, here.angle), "what runs off along the pipe"
    quarter = (here.angle + pi / 2) % (2 * pi)
    other = Measure("fitting" if on_pipe else "pipe", ON_FITTING, quarter)
    yield other, "how the heat is shared between the two parts"
    held = _before_holding(case)
    if held is not None:
        yield held, "what the holding takes"
    yield (
        Measure("bore", 0.0, turned),
        "through the wall, level with the toe: where you reach it",
    )


def _before_holding(case: Case) -> Measure | None:
    """Place just in front of what holds the piece; None where nothing does, or no room is."""
    holding = case.surroundings.holding
    if holding is None:
        return None
    toe = _probe(case, Measure(holding.on, 0.0))
    far = holding.from_face - CLEAR - abs(toe.z)
    if holding.on == "fitting" and not case.is_bare:  # up the socket face, then along
        far += case.pipe.outside_diameter / 2 + leg_room(case) - toe.r
    if far < SPARE:
        return None
    return Measure(holding.on, far)


def _moved(m: Measure) -> Measure:
    return replace(m, from_toe=(m.from_toe or 0.0) + MISPLACED)


def _probe(case: Case, m: Measure) -> Probe:
    place = measuring_place(replace(case, measure=m))
    return Probe("trial", place.r, place.z, m.angle)


def _per_mm(history: History, near: int, far: int) -> float:
    """Change over 1 mm half-way through the first cooling [K]."""
    off = history.passes[0].arc_off
    end = history.passes[1].arc_on if history.passes[1:] else off + 2 * CHANGES_FAST
    when = off + max((end - off) / 2, QUIET)
    a, b = (
        float(np.interp(when, history.time, history.traces[n].temperature))
        for n in (near, far)
    )
    return abs(b - a)
