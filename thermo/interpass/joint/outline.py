"""The drawing of a joint in section: outline, fillet, grid lines and exposed surfaces.

Lengths in m; areas per radian of azimuth.
"""

from dataclasses import dataclass
from math import isinf, pi, sqrt

import numpy as np

from ..physics.metals import TABLE_TEMPERATURE, Material
from .case import Box, Case, Fitting

TOUCH = 1e-9  # m; closer than this is equal
LONG_FILM = 10.0  # W/m²/K that sets how far a long end is followed
LONG_FINS = 6.0  # fin lengths; what is beyond changes nothing (exp(-6) = 0.2 %)

SURFACES = (
    "pipe", "fillet", "fitting", "faces", "pipe bore", "fitting bore", "holding",
)  # fmt: skip

KIND = {name: n for n, name in enumerate(SURFACES)}
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
    holding_share: float = 1.0  # of the girth there that is touched
    band: tuple[float, float] = (
        0.0,
        0.0,
    )  # width and depth that a bare pipe is heated in

    @property
    def root(self) -> float:
        """Radius of the fillet's root: the pipe's outside [m]."""
        return self.pipe.r_out

    @property
    def far(self) -> float:
        """Where the piece ends on the fitting's side [m]."""
        return max([self.pipe.z_end, *(b.z_end for b in self.fitting)])


def make_outline(case: Case) -> Outline:
    """Draw the joint with its long ends cut where heat no longer reaches."""
    pipe, fitting, held = case.pipe, case.fitting, case.surroundings.holding
    outside = pipe.outside_diameter / 2
    length = pipe.length
    if isinf(length):
        length = long_reach(pipe.material, outside, outside - pipe.wall)
    end = fitting.socket_depth - case.end_gap
    if case.is_bare:
        end = fitting.length
        if isinf(end):
            end = long_reach(pipe.material, outside, outside - pipe.wall)
    holding = None
    if held is not None:
        low, high = held.from_face, held.from_face + held.length
        holding = (held.on, low, high) if held.on == "fitting" else (held.on, -high, -low)
        if case.is_bare:
            holding = ("pipe", *holding[1:])
        if held.on == "pipe" and isinf(pipe.length):
            length = max(length, 1.5 * high)
    return Outline(
        pipe=Box(outside - pipe.wall, outside, -length, end),
        fitting=finite_boxes(fitting),
        socket_bore=fitting.socket_bore / 2,
        socket_depth=fitting.socket_depth,
        pipe_end_open=pipe.far_end == "air" and not isinf(pipe.length),
        fitting_end_open=fitting.far_end == "air" and not isinf(fitting.length),
        holding=holding,
        holding_share=held.share if held else 1.0,
        band=(case.band, case.band_depth),
    )


def finite_boxes(fitting: Fitting) -> tuple[Box, ...]:
    """Rings of the fitting, a long one cut where heat no longer reaches."""
    starts = [b.z_start for b in fitting.boxes if isinf(b.z_end)]
    if not starts:
        return fitting.boxes
    endless = [b for b in fitting.boxes if isinf(b.z_end)]
    reach = max(long_reach(fitting.material, b.r_out, b.r_in) for b in endless)
    end = max(starts) + reach
    return tuple(
        Box(b.r_in, b.r_out, b.z_start, end if isinf(b.z_end) else b.z_end)
        for b in fitting.boxes
    )


def long_reach(material: Material, r_out: float, r_in: float) -> float:
    """How far along a tube heat matters, as fin lengths sqrt(k A / h P) [m]."""
    k = float(np.interp(373.15, TABLE_TEMPERATURE, material.conductivity))
    area, perimeter = pi * (r_out**2 - r_in**2), 2 * pi * r_out
    return LONG_FINS * sqrt(k * area / (LONG_FILM * perimeter))
