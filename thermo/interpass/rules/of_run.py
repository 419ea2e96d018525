"""What a heat run tells that rules ask about: dwell, bore, cooling down to a temperature."""

from dataclasses import dataclass
from functools import cached_property
from math import inf
from typing import TYPE_CHECKING

import numpy as np

from ..heat.history import History, PassResult
from ..joint.case import Case, Pass
from ..physics.metals import Material
from ..text.arrays import Array
from ..trade.rows import records

if TYPE_CHECKING:
    from ..heat.near_arc import NearArc

STABILISED = ("321", "347")  # titanium or niobium holds the carbon
_LATE = 0.75  # of the last cooling: from here on its rate is read
LOSS = 0.4  # heat lost goes as this power above the first of what is left above the air
NOTHING_LEFT = 1.0  # K above air below which no rate can be read


@dataclass(frozen=True)
class Run:
    """A case and what its heat run left behind."""

    case: Case
    history: History

    @cached_property
    def near(self) -> "tuple[NearArc, ...]":
        """Near field of every pass, computed when a rule asks for it."""
        from ..heat.near_arc import near_arc  # noqa: PLC0415 - not for a check alone

        return near_arc(self.case, self.history)

    def has(self, p: Pass) -> bool:
        """Whether the run got as far as this pass."""
        return p.number <= len(self.history.passes)

    def result(self, p: Pass) -> PassResult:
        """How the pass ran."""
        return self.history.passes[p.number - 1]


def dwell(run: Run) -> float | None:
    """Longest time in 450 to 850 degC beside the welds, passes added up [s].

    The longer of the moving source's beside the melt and of the grid's hottest
    points; the latter need not be one place, so it is an upper estimate.
    """
    if not run.near or carbon(run.case) is None:
        return None
    by_grid = sum(p.dwell_of_hottest for p in run.near)
    estimates: dict[float, float] = {}
    for p in run.near:
        for distance, time in p.dwell:
            estimates[distance] = estimates.get(distance, 0.0) + time
    return max(by_grid, *estimates.values()) if estimates else by_grid


def carbon(case: Case) -> float | None:
    """Most carbon of the austenitic metals that are not stabilised [%]; None without."""
    found = [m.carbon_percent for m in _sensitive(case)]
    return max(found, default=None)


def _sensitive(case: Case) -> list[Material]:
    parts = (case.pipe.material, case.fitting.material)
    return [m for m in parts if m.family == "austenitic" and m.name not in STABILISED]


@dataclass(frozen=True)
class SensitisingRow:
    """Shortest time in which carbides form in austenitic steel of a carbon content [s]."""

    carbon_percent: float
    time_min: float
    source: str
    standing: str


def _sensitising_row(run: Run) -> SensitisingRow | None:
    """Line of the table for the next higher carbon; the last one above them all."""
    most = carbon(run.case)
    if most is None:
        return None
    rows = records(SensitisingRow, "sensitising")
    fits = [row for row in rows if row.carbon_percent >= most - 1e-9]
    return fits[0] if fits else rows[-1]


def sensitising_time(run: Run) -> float | None:
    """Shortest time in which carbides form at the worst temperature [s]."""
    row = _sensitising_row(run)
    return row.time_min if row else None


def sensitising_source(run: Run) -> str | None:
    """Who says so, for which carbon."""
    row = _sensitising_row(run)
    return f"{row.carbon_percent:g} % carbon, {row.source}" if row else None


def hottest_at_end(run: Run) -> float:
    """Hottest point of the joint at the end of the run [K]."""
    return float(run.history.hottest[-1])


def bore_peak(run: Run, p: Pass) -> float | None:
    """Hottest the bore gets under the pass [K], by the grid; None without a ring."""
    return run.near[p.number - 1].peak_at_bore if run.near else None


def corner_peak(run: Run) -> float | None:
    """Root corner in the pass that heats it most, at the high end of its range [K].

    As a temperature of the pipe: as far over the pipe's solidus as the colder side of the
    corner is over its own. None without a ring, a corner or a bead to come.
    """
    found = [near.root_range[1] for near in run.near if near.root_range]
    return run.case.pipe.material.solidus + max(found) if found else None


def interpass(run: Run, p: Pass) -> float | None:
    """Hottest point of the joint before the pass [K]; not of the first."""
    return run.result(p).at_arc_on.hottest if p.number > 1 else None


def wait(run: Run, p: Pass) -> float:
    """Wait before the pass [s]."""
    return run.result(p).wait


@dataclass(frozen=True)
class CooledTo:
    """When the whole joint has fallen to a temperature."""

    time: float  # s after the last arc off; inf is never
    is_followed: bool  # False: later than the run, from its last rate of cooling


def cooled_to(run: Run, T: float) -> CooledTo | None:
    """When the joint's hottest point has fallen to ``T`` [K]; None for a broken run.

    Beyond the end of the run it is an estimate: heat lost as the 1.4th power of what is
    left above the air (natural convection has 1.25, radiation more), at the rate of the
    last quarter of the cooling. On the cases shipped that is right or up to a quarter
    late; a plain exponential would be up to a quarter early, when hands get burnt.
    """
    history = run.history
    if not history.passes or not history.complete:
        return None
    last = history.passes[-1].arc_off
    after = history.time >= last
    time, hottest = history.time[after] - last, history.hottest[after]
    above = np.flatnonzero(hottest > T)
    if not above.size:
        return CooledTo(0.0, True)
    n = int(above[-1])
    if n + 1 < time.size:
        share = (hottest[n] - T) / (hottest[n] - hottest[n + 1])
        return CooledTo(float(time[n] + share * (time[n + 1] - time[n])), True)
    return CooledTo(_later(time, hottest - run.case.surroundings.air, T, run), False)


def _later(time: Array, above: Array, T: float, run: Run) -> float:
    """Time at which the last cooling, carried on, gets to ``T`` [s]; inf is never."""
    target, end = T - run.case.surroundings.air, float(time[-1])
    early, late = (float(x) for x in np.interp([_LATE * end, end], time, above))
    if target <= 0 or not early > late > NOTHING_LEFT:
        return inf
    rate = (late**-LOSS - early**-LOSS) / ((1 - _LATE) * end)
    return end + (target**-LOSS - late**-LOSS) / rate


@dataclass(frozen=True)
class Touch:
    """A way to touch bare metal, and how hot the metal may be [K]."""

    contact: str
    temperature: float
    is_reported: bool
    source: str
    standing: str


def touches() -> tuple[Touch, ...]:
    """Ways to touch bare metal that are reported."""
    return tuple(row for row in records(Touch, "touch") if row.is_reported)
