"""The same weld on a plate, worked out by formula: the joint that has no end.

The model of this program is a body of revolution, which a plate is not. So the plate
is left to the closed solution of an arc travelling along a wall: two plates of one
thickness in a tee, as large as one likes, with a seam as long as the ring of the largest
pipe. No heat is lost to the air, properties are those at the limit, and the heat of
every pass is added up; all three make the plate hotter than it would be.

The next arc meets every point of the seam one seam and one wait after the last one did,
so one temperature holds for the whole seam.

References
----------
.. [1] H. S. Carslaw, J. C. Jaeger, "Conduction of Heat in Solids", 2nd ed., 1959,
   section 10.3: the sudden plane source; from memory.
"""

from dataclasses import dataclass
from math import pi, sqrt

import numpy as np
import scipy

from ..joint.case import Case
from ..physics import moving_source as rosenthal
from ..physics.handbook import fillet_shares
from ..physics.metals import conductivity_at, specific_heat_at
from ..text.arrays import Array

AFTER = 600.0  # s followed after the last arc off
SHORTEST = 1.0  # s after the arc; sooner the formula tells of the pool, wrongly
FRAMES = 400  # points of the curve


@dataclass(frozen=True)
class Plate:
    """A plate and the passes on it."""

    thickness: float  # m
    seam: float  # m
    speed: float  # m/s
    k: float  # W/m/K
    capacity: float  # J/m³/K
    air: float  # K
    melting: float  # K
    powers: tuple[float, ...]  # W into one plate and its like, pass by pass

    @property
    def alpha(self) -> float:
        """Thermal diffusivity [m²/s]."""
        return self.k / self.capacity

    @property
    def arc_time(self) -> float:
        """One pass along the seam [s]."""
        return self.seam / self.speed


@dataclass(frozen=True)
class PlateRun:
    """What became of it: a point of the seam, timed from the first arc over it."""

    plate: Plate
    waits: tuple[float, ...]  # s before each pass, 0 before the first
    arrivals: tuple[float, ...]  # s, when each arc comes
    at_arc_on: tuple[float, ...]  # K just before
    time: Array  # (n,) s
    temperature: Array  # (n,) K


def make_plate(case: Case, thickness: float, seam: float) -> Plate:
    """Lay the weld of a case on plate of its metal.

    Notes
    -----
    A fillet on a tee feeds three half plates; each gets a third, so the plate that the
    formula knows, heated to both sides alike, gets two thirds (`cooling.fillet_shares`).
    A pass with a travel of its own is run at that of the first, with its own heat per
    length.
    """
    metal, limit = case.pipe.material, case.limits.interpass_max
    share, _ = fillet_shares(thickness, thickness)
    speed = case.passes[0].travel
    return Plate(
        thickness=thickness,
        seam=seam,
        speed=speed,
        k=float(conductivity_at(metal, limit)),
        capacity=metal.density * float(specific_heat_at(metal, limit)),
        air=case.surroundings.air,
        melting=metal.solidus,
        powers=tuple(share * p.net_power * speed / p.travel for p in case.passes),
    )


def strip_rise(plate: Plate, power: float, after: float) -> float:
    """Rise of the seam some time after the arc, by hand [K] [1].

    Notes
    -----
    The heat per length of seam, P / v, over the heat capacity per length of a strip as
    thick as the plate and ``sqrt(4 pi alpha t)`` wide: so far has the heat got.

    Examples
    --------
    264 W at 1 mm/s on 10 mm of k = 16 W/m/K, 4 MJ/m³/K, 400 s later:

    >>> plate = Plate(10e-3, 0.3, 1e-3, 16.0, 4e6, 293.15, 1670.0, (264.0,))
    >>> round(strip_rise(plate, 264.0, 400.0), 2)  # 264e3 / (4e6 x 0.01 x 0.1418)
    46.55
    """
    width = strip_width(plate.alpha, after)
    return power / plate.speed / (plate.capacity * plate.thickness * width)


def strip_width(alpha: float, after: float) -> float:
    """Width of metal that heat from a line has warmed after a time [m] [1]."""
    return sqrt(4 * pi * alpha * after)


def run_plate(plate: Plate, waits: tuple[float | None, ...], limit: float) -> PlateRun:
    """Run the passes; a wait of None ends when the seam is down to the limit."""
    arrivals, done = [0.0], [0.0]
    for wait in waits[1:]:
        ready = arrivals[-1] + plate.arc_time
        waited = _wait(plate, arrivals, ready, limit) if wait is None else wait
        done.append(waited)
        arrivals.append(ready + waited)
    end = arrivals[-1] + plate.arc_time + AFTER
    time = np.sort(
        np.concatenate([np.linspace(0.0, end, FRAMES), *_around(arrivals, end)])
    )
    return PlateRun(
        plate=plate,
        waits=tuple(done),
        arrivals=tuple(arrivals),
        at_arc_on=tuple(
            float(seam_temperature(plate, arrivals[:n], t))
            for n, t in enumerate(arrivals)
        ),
        time=time,
        temperature=np.array([seam_temperature(plate, arrivals, t) for t in time]),
    )


def _around(arrivals: list[float], end: float) -> list[Array]:
    """Instants close to every arrival, where the curve is steep."""
    steps = np.concatenate([[-1e-3, 0.0], np.geomspace(SHORTEST, 100.0, 40)])
    return [np.clip(at + steps, 0.0, end) for at in arrivals]


def seam_temperature(plate: Plate, arrivals: list[float], t: float) -> float:
    """Temperature of the seam at a time, from the arcs that have passed [K]."""
    rise = 0.0
    for power, arrival in zip(plate.powers, arrivals, strict=False):
        if t >= arrival:
            rise += _rise(plate, power, max(t - arrival, SHORTEST))
    return plate.air + min(rise, plate.melting - plate.air)


def _rise(plate: Plate, power: float, after: float) -> float:
    """Rise behind one arc on a wall of this thickness [K]."""
    source = rosenthal.MovingSource(
        power,
        plate.speed,
        plate.k,
        plate.alpha,
        plate.thickness,
        plate.air,
        plate.melting,
    )
    return float(rosenthal.temperature(source, -plate.speed * after)) - plate.air


def _wait(plate: Plate, arrivals: list[float], ready: float, limit: float) -> float:
    """Time after the arc is off until the start of the seam is down to the limit [s]."""

    def above(wait: float) -> float:
        return seam_temperature(plate, arrivals, ready + wait) - limit

    if above(0.0) <= 0:
        return 0.0
    longest = plate.arc_time
    while above(longest) > 0:
        longest *= 2
    return float(scipy.optimize.brentq(above, 0.0, longest, xtol=1e-6))
