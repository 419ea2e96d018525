"""What a heat run left behind: temperatures at the moments that matter, and the ledger.

What it computes: ``thermo/MODEL.md``, section 6.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..joint.case import Limits
from ..text.arrays import Array
from ..text.times import shop_time


@dataclass(frozen=True)
class JointTemperature:
    """The joint at one moment [K].

    Hottest, coldest and mean are over deposited metal and parent metal within 5 mm of
    either toe, through the thickness; ``start_point`` is the hottest point of that zone
    at the angle where the next pass starts.
    """

    hottest: float
    coldest: float
    mean: float
    start_point: float


@dataclass(frozen=True)
class PassResult:
    """One pass as it ran."""

    number: int
    wait: float  # s before this arc on
    wait_is_auto: bool
    arc_on: float  # s since the first arc on
    arc_off: float
    arc_energy: float | None  # J/m, U I / v; None when only net power is known
    heat_input: float | None  # J/m, standard's k x U I / v
    net_energy: float  # J into the metal
    at_arc_on: JointTemperature  # the interpass temperature (ISO 13916, 3.2)
    at_arc_off: JointTemperature
    expect_reading: float  # K at the measuring place just before this arc on

    def judged(self, limits: Limits) -> float:
        """Temperature at arc on that the interpass limit applies to [K]."""
        return self.expect_reading if limits.by_reading else self.at_arc_on.hottest


@dataclass(frozen=True)
class Trace:
    """Temperature of one probe through the run."""

    name: str
    r: float
    z: float
    angle: float
    temperature: Array  # (n,) [K]


@dataclass(frozen=True)
class Ledger:
    """Where the heat went [J]; all relative to air temperature."""

    arc: float
    stored: float
    lost: dict[str, float]  # by surface: "outside", "bore", "holding", ...

    @property
    def closure(self) -> float:
        """Heat not accounted for, over the arc's energy."""
        missing = self.arc - self.stored - sum(self.lost.values())
        return missing / self.arc if self.arc else missing


@dataclass(frozen=True, eq=False)
class HeatFlow:
    """The ledger through the run: heat since the start, (n,) J over the times noted."""

    time: Array  # s since the first arc on
    arc: Array  # into the metal
    stored: Array  # above what was there at the start
    lost: dict[str, Array]  # by surface, as in `Ledger`


@dataclass(frozen=True, eq=False)
class Snapshot:
    """The whole piece at one moment."""

    what: str  # "arc on", "arc off" or "frame"
    number: int  # of the pass
    time: float  # s since the first arc on
    temperature: Array  # (nr, n_theta, nz) [K]; nan where there is no metal yet


@dataclass(frozen=True, eq=False)
class Peak:
    """How hot the metal has been from one arc on to the next, cell by cell.

    From it: pool and heat-affected zone (where a temperature was passed), peak at the bore.
    Kept by the solver at every step. Under the arc it is that of the grid: within 50 K of
    what small steps give, and no finer than a cell.
    """

    number: int  # of the pass
    temperature: Array  # (nr, n_theta, nz) [K]; nan where the pass left no metal
    r: Array  # (nr, nz) centroid of the cell's metal [m]
    z: Array  # (nr, nz)
    part: NDArray[np.int64]  # (nr, nz) PIPE, FITTING or FILLER of `outline`

    @property
    def highest(self) -> Array:
        """Of all angles, (nr, nz) [K]; nan where there is no metal."""
        return self.temperature.max(axis=1)


@dataclass(frozen=True)
class Lumped:
    """The hand check: the piece as one lump."""

    mass: float  # kg of metal in the piece (long ends: within reach of the heat)
    heat_capacity: float  # J/K at the interpass limit
    time_constant: float  # s, heat capacity over surface conductance at the limit
    rise_per_pass: tuple[float, ...]  # K, net energy over heat capacity


@dataclass(frozen=True, eq=False)
class History:
    """A whole run: arrays are (n,) over the recorded times. Equal only to itself."""

    model: str  # "ring" or "axisymmetric"
    time: Array  # s since the first arc on
    hottest: Array  # K
    coldest: Array
    mean: Array
    passes: tuple[PassResult, ...]
    traces: tuple[Trace, ...]
    ledger: Ledger
    lumped: Lumped
    complete: bool  # False when a wait could not reach the limit
    stopped_because: str  # "" or why the run ended early
    cells: int
    steps: int
    solve_time: float  # s of wall clock in the solver
    ring: Array  # (n, n_theta) hottest of the zone at each angle [K]
    heat: HeatFlow | None = None
    snapshots: tuple[Snapshot, ...] = ()  # only when asked for
    peaks: tuple[Peak, ...] = ()  # one per pass that was begun


def planned_wait(done: PassResult) -> float:
    """Wait before a pass as the shop should time it [s]; a given wait stays as given."""
    return shop_time(done.wait) if done.wait_is_auto else done.wait


def total_time(history: History) -> float:
    """From the first arc on to the last arc off, waits exact [s]."""
    return history.passes[-1].arc_off if history.passes else 0.0


def planned_time(history: History) -> float:
    """Total time with the waits rounded up as the shop times them [s]."""
    return total_time(history) + sum(planned_wait(p) - p.wait for p in history.passes[1:])
