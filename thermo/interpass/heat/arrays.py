"""Arrays the solver works on, by name: what each holds, its shape and its unit.

Geometry is the same at all angles but for the bead, so it is (2, nr, nz): [0] before the
bead of the current pass, [1] with it. Areas, volumes, heat and power are per radian.

What it computes: ``thermo/MODEL.md``, section 5.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ..text.arrays import Array

Ints = NDArray[np.int64]


class Tables(NamedTuple):
    """Properties against temperature on one uniform axis."""

    start: float  # K
    step: float  # K
    conductivity: Array  # (materials, n) [W/m/K]
    enthalpy: Array  # (materials, n) [J/m³], strictly increasing


class Body(NamedTuple):
    """Cells of the section, their faces and surfaces, before and with one bead.

    Arrays of one shape are stacked: every array of an argument costs time to compile.
    """

    span: Ints  # (2, nr) first active column of each row, one past the last
    material: Ints  # (nr, nz)
    section: Array  # (9, 2, nr, nz), rows VOLUME to GAIN
    film_row: int  # row just outside the clearance
    film: (
        Array  # (3, nz) area of clearance [m²/rad], 0 where there is none; half distance
    )
    #              over area in the pipe and in the socket [rad/m]
    link: Ints  # (n, 4) cells i, j, i, j facing one another across the end gap
    link_area: Array  # (n,) [m²/rad]
    surface: Ints  # (2, n, 3) cell i, cell j, kind, ordered by i and j
    surface_rows: Ints  # (2, nr + 1) first of each i, one past the last
    surface_size: Array  # (2, 2, n) area [m²/rad], 0 past the end; depth of the node [m]
    zone: Ints  # (2, n, 4) points of the interpass zone, each between cells i, j and i, j
    zone_size: Array  # (2, 2, n) how far from the first (0) to the second (1); metal each
    #                   stands for in the mean [m³/rad]
    moved: Ints  # (n, 4) cells i, j -> i, j between which metal changes owner
    moved_volume: Array  # (n,) [m³/rad]

    @property
    def volume(self) -> Array:
        """Metal of each cell, (2, nr, nz) [m³/rad]."""
        return self.section[VOLUME]

    @property
    def source(self) -> Array:
        """Share of the arc's heat, (2, nr, nz)."""
        return self.section[ARC_SHARE]

    @property
    def surface_area(self) -> Array:
        """Area of every surface element, (2, n) [m²/rad], zero past the end."""
        return self.surface_size[0]


# Rows of `Body.section`
VOLUME = 0  # [m³/rad], zero where there is no metal
R_BELOW = 1  # half distance / area below face i-1|i [rad/m]
R_ABOVE = 2  # and above it; inf where the face carries no metal
Z_BELOW = 3  # same for face j-1|j
Z_ABOVE = 4
PLANE = 5  # area in the section [m²]
ARC_SHARE = 6  # share of the arc's heat, sums to 1
RADIUS = 7  # of the cell's centroid [m], the same before and after
GAIN = 8  # metal the bead adds [m³/rad], the same before and after


class Films(NamedTuple):
    """Surface and gap conductances against temperature, on the axis of `Tables`."""

    surface: Array  # (kinds, n) [W/m²/K], to air
    clearance: Array  # (n,) at the mean temperature of its walls
    gap: Array  # (n,) across the end gap
    air: float  # K


class Arc(NamedTuple):
    """A Gaussian travelling round the ring."""

    power: float  # W into the metal
    angle: float  # rad at the start of the phase
    turn_rate: float  # rad/s, signed; 0 with n_theta = 1
    spread: float  # rad, standard deviation along the ring


class Control(NamedTuple):
    """How a phase is stepped and when it ends."""

    tolerance: float  # K of predictor error
    step_first: float  # s
    step_max: float
    time_start: float
    time_end: float
    stop_below: float  # K: end when the hottest point has fallen here; 0 never
    hottest_possible: float  # K
    ease_above: float  # K: above this the tolerance grows, by itself every 100 K
    twice: bool = False  # solve every step again from its own result, oftener in need
    even: float = 0.0  # K: end when the ring bends no more than this from cell to cell
    stop_probe: int = -1  # judged by, once it falls; -1: the hottest point
    fresh: bool = True  # SLOPE says nothing yet: take the first step as it comes


class Field(NamedTuple):
    """State of the body, changed in place, in rows of cells that lie side by side.

    A row goes round the ring, (nr, nz, n_theta); where there is none it runs along z,
    (nr, 1, nz). So rows are long, and what a row has in common is read once.
    """

    T: Array  # K
    H: Array  # J/m³
    built: Ints  # (n_theta,)

    @property
    def temperature(self) -> Array:
        """Temperature, (nr, n_theta, nz) [K]: the same memory."""
        return as_seen(self.T, self.built.size)

    @property
    def enthalpy(self) -> Array:
        """Enthalpy, (nr, n_theta, nz) [J/m³]: the same memory."""
        return as_seen(self.H, self.built.size)


def make_field(temperature: Array, enthalpy: Array, built: Ints) -> Field:
    """Field of arrays (nr, n_theta, nz)."""
    return Field(in_rows(temperature), in_rows(enthalpy), built)


def in_rows(values: Array) -> Array:
    """Copy of (nr, n_theta, nz), in rows."""
    return np.array(as_seen(values, values.shape[1]), order="C")


def as_seen(rows: Array, n_theta: int) -> Array:
    """Rows as (nr, n_theta, nz), or back; the same memory."""
    return rows if n_theta == 1 else rows.transpose(0, 2, 1)


class Work(NamedTuple):
    """Room for one step, stacked by shape as `Body`; rows as in `Field`."""

    cell: Array  # (13, nr, rows, cells in a row), rows SLOPE to DRIFT
    lines: Array  # (13, nr rows, cells in a row) the same, row by row
    room: (
        Array  # (7, 1, 1, n_theta) rows VOLUME to ARC_SHARE of `Body.section` in one row
    )
    metal: Ints  # (1, n_theta) of one row
    plane: Array  # (2, 2, rows, cells in a row), rows K and T_AHEAD of two radii
    line: Array  # (cells in a row,)
    worst: Array  # (rows, cells in a row) miss, the worst of all radii [K]
    edge: Array  # (2, nr, n_theta) W/rad into the first row of a window, out of the last
    wide: Array  # (cells in a row + 3,)
    chain: Array  # (rows, cells in a row) elimination across rows
    before: Array  # (1 or nr, rows, cells in a row) rise before the last line solve [K]
    lanes: Array  # (6, cells in a row + 2, LANES) rows as columns, for line solves along them
    window: Ints  # (2,) first row that is solved, one past the last
    G_surface: Array  # (surface elements, n_theta) W/K/rad
    around: Array  # (2, n_theta), rows POWER and HOTTEST
    loss_of: Array  # (surface elements, n_theta) W/rad in this step

    def seen(self, row: int) -> Array:
        """One row of `cell`, (nr, n_theta, nz): the same memory."""
        return as_seen(self.cell[row], self.around.shape[1])

    @property
    def slope(self) -> Array:
        """Over the last step, (nr, n_theta, nz) [K/s]."""
        return self.seen(SLOPE)

    @property
    def drift(self) -> Array:
        """Over the last step, seen from the arc, (nr, n_theta, nz) [K/s]."""
        return self.seen(DRIFT)

    @property
    def loss(self) -> Array:
        """Conductance to air, (nr, n_theta, nz) [W/K/rad]."""
        return self.seen(TO_AIR)

    @property
    def T_new(self) -> Array:
        """Temperature after the step, (nr, n_theta, nz) [K]."""
        return self.seen(T_NEW)

    @property
    def peak(self) -> Array:
        """Hottest each cell has been since its pass began, (nr, n_theta, nz) [K]."""
        return self.seen(PEAK)


# Rows of `Work.cell`
SLOPE = 0  # K/s over the last step; the prediction for this one
CAPACITY = 1  # J/K/rad
RISE = 2  # heat, then temperature rise of the step
CHAIN = 3  # elimination along r
G_R = 4  # W/K/rad of the face before the cell
G_THETA = 5
G_Z = 6
TO_AIR = 7  # W/K/rad to air
T_NEW = 8  # K
H_NEW = 9  # J/m³
PEAK = 10  # K
TURNED = 11  # K before the step, gone round with the arc
DRIFT = 12  # K/s over the last step, seen from the arc

# Rows of `Work.plane`
K = 0  # W/m/K
T_AHEAD = 1  # K from which the line solves set out

# Rows of `Work.around`
POWER = 0  # W/rad
HOTTEST = 1  # of the zone [K]


class Record(NamedTuple):
    """What is kept of each step."""

    time: Array  # (n,)
    ring: Array  # (n, n_theta) hottest of the zone at each angle [K]
    mean: Array  # (n,) of the zone
    coldest: Array  # (n,)
    probe: Array  # (n, probes)


class Probes(NamedTuple):
    """Temperatures to follow, each a weighted sum of cells."""

    cell: Ints  # (probes, n, 3) i, m, j
    weight: Array  # (probes, n)


LANES = 24  # lines solved side by side
FINISHED, REACHED, FAILED, FULL, EVEN = 0, 1, 2, 3, 4  # why `kernels.march` returned
# Modules of the kernels, each built on those before it
KERNELS = ("kernel", "rows", "line_solves", "balance", "bead", "step", "kernels")
