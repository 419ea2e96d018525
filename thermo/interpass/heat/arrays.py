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
    """Cells of the section, their faces and surfaces, before and with one bead."""

    first: Ints  # (nr,) first active column of each row
    last: Ints  # (nr,) one past the last
    material: Ints  # (nr, nz)
    volume: Array  # (2, nr, nz) [m³/rad], zero where there is no metal
    r_below: Array  # (2, nr, nz) half distance / area below face i-1|i [rad/m]
    r_above: Array  # and above it; inf where the face carries no metal
    z_below: Array  # same for face j-1|j
    z_above: Array
    plane: Array  # (2, nr, nz) section area [m²]
    radius: Array  # (nr, nz) of the cell's centroid [m]
    film_row: int  # row just outside the clearance
    film_area: Array  # (nz,) clearance area [m²/rad], zero where there is none
    film_below: Array  # (nz,) half distance / area in the pipe [rad/m]
    film_above: Array  # and in the socket
    link: Ints  # (n, 4) cells i, j, i, j facing one another across the end gap
    link_area: Array  # (n,) [m²/rad]
    surface: Ints  # (2, n, 3) cell i, cell j, kind
    surface_area: Array  # (2, n) [m²/rad], zero past the end of the list
    surface_depth: Array  # (2, n) distance from cell node to surface [m]
    source: Array  # (2, nr, nz) share of the arc's heat, sums to 1
    zone: Ints  # (2, n, 4) points of the interpass zone, each between cells i, j and i, j
    zone_share: (
        Array  # (2, n) how far from the first to the second; 0 is the first itself
    )
    zone_volume: Array  # (2, n) [m³/rad] each stands for in the mean
    gain: Array  # (nr, nz) metal the bead adds [m³/rad]
    moved: Ints  # (n, 4) cells i, j -> i, j between which metal changes owner
    moved_volume: Array  # (n,) [m³/rad]


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
    even: float = 0.0  # K: end when neighbours round the ring are within it of their mean
    stop_probe: int = -1  # judged by, once it falls; -1: the hottest point
    fresh: bool = True  # `Work.slope` says nothing yet: take the first step as it comes


class Field(NamedTuple):
    """State of the body, changed in place: (nr, n_theta, nz)."""

    temperature: Array  # K
    enthalpy: Array  # J/m³
    built: Ints  # (n_theta,)


class Work(NamedTuple):
    """Room for one step; (nr, n_theta, nz) unless said otherwise."""

    slope: Array  # K/s over the last step
    k: Array
    capacity: Array  # J/K/rad
    rise: Array  # heat, then temperature rise of the step
    chain: Array  # elimination along r, then the rise before the last line solve
    G_r: Array  # W/K/rad of the face before the cell
    G_theta: Array
    G_z: Array
    loss: Array  # W/K/rad to air
    T_new: Array
    H_new: Array
    line_a: Array  # (n_theta, nz) elimination along theta and z
    line_b: Array
    lane_E: Array  # (nz + 1, LANES) elimination along z
    lane_X: Array
    lane_near: Array  # (LANES,)
    G_surface: Array  # (n_theta, surface elements)
    power: Array  # (n_theta,) W/rad
    ring: Array  # (n_theta,) hottest of the zone [K]
    lost: Array  # (kinds,) J in this step
    peak: Array  # K, hottest each cell has been since its pass began


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
