"""The drawing of a joint in section: outline, fillet, grid lines and exposed surfaces.

Lengths in m; areas per radian of azimuth.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .joint import Box

Array = NDArray[np.float64]

SURFACES = (
    "pipe", "fillet", "fitting", "faces", "pipe bore", "fitting bore", "holding",
)  # fmt: skip
KIND = {name: n for n, name in enumerate(SURFACES)}
TOUCH = 1e-9  # m; edges closer than this are one edge
PIPE, FITTING, FILLER = 0, 1, 2  # material index of the parts


@dataclass(frozen=True)
class Outline:
    """The section without its fillet; every length finite [m]."""

    pipe: Box
    fitting: tuple[Box, ...]
    socket_bore: float  # radius
    socket_depth: float
    pipe_end_open: bool  # far end of the pipe loses heat
    fitting_end_open: bool
    holding: tuple[str, float, float] | None = None  # part, z_start, z_end

    @property
    def root(self) -> float:
        """Radius of the fillet's root: the pipe's outside [m]."""
        return self.pipe.r_out


@dataclass(frozen=True)
class Fillet:
    """Legs along the pipe and along the socket face, from the root [m]."""

    leg_pipe: float
    leg_socket: float

    @property
    def area(self) -> float:
        """Section area [m²]."""
        return self.leg_pipe * self.leg_socket / 2


@dataclass(frozen=True)
class Surface:
    """Exposed elements of one stage, each on one cell: (n,) arrays."""

    i: NDArray[np.int64]
    j: NDArray[np.int64]
    kind: NDArray[np.int64]
    area: Array  # m²/rad
    normal_r: Array  # the surface is the line normal_r r + normal_z z = offset
    normal_z: Array
    offset: Array  # m


@dataclass(frozen=True)
class Lines:
    """Grid lines [m]."""

    r: Array
    z: Array


def overlap(lines: Array, low: float, high: float) -> tuple[Array, Array]:
    """Start and end of ``low..high`` in each cell; equal where it does not reach."""
    inside = np.minimum(np.maximum(lines, low), high)  # np.clip takes thrice as long
    return inside[:-1], np.maximum(inside[1:], inside[:-1])


def washer(lines: Array, low: float, high: float) -> Array:
    """Area of a washer in each row [m²/rad]; zero when it is empty."""
    r0, r1 = overlap(lines, low, max(low, high))
    return (r1**2 - r0**2) / 2
