"""Near the arc: pool, heat-affected zone, bore and root corner, pass by pass.

All sizes are read off the hottest that each cell of the ring got in the pass (`melt`); the
worst angle counts, at the root corner the middle one, for a pass begins on cold metal.
Their range comes from what is not known of an arc: how far it spreads and which leg it
favours (see BORE_RANGE). Cooling times of an endless wall are Rosenthal's (`quick_look`).

What it computes: ``thermo/MODEL.md``, section 7.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np

from ..joint import arc
from ..joint.case import Case, Pass
from ..physics import handbook as cooling
from ..physics import moving_source as rosenthal
from ..text.arrays import Array
from . import melt
from .history import History, PassResult
from .model import Model, make_model
from .quick_look import moving_source

LATE = 0.9  # of the last burn: where the end of a turn is looked at
DISTANCES = (0.5e-3, 1e-3, 2e-3, 4e-3)  # m from the edge of the melt, for dwell
FERRITIC = ("carbon steel", "low alloy")
HAZ_DEGC = {"carbon steel": 730.0, "low alloy": 730.0}  # A1; others: 850
T_85 = (773.15, 1073.15)  # K, 500 to 800 degC
DWELL = (723.15, 1123.15)  # K, 450 to 850 degC

BACKGROUND_MAX = (
    573.15  # K: on warmer metal an endless wall would never cool; the grid does
)

# Times the rise since the arc was struck, lower and upper. From ring runs of the shipped cases
# with an arc of 2 or 4 mm spread instead of 3, and with one or two thirds of its heat in
# the pipe's half of the bead instead of what lies there; the two added as squares.
BORE_RANGE = (0.92, 1.08)
POOL_RANGE = (0.91, 1.11)  # pool and root corner, which the spread moves more


@dataclass(frozen=True)
class NearArc:
    """One pass close to the arc. Sizes on the pipe unless said otherwise, worst angle."""

    number: int
    start: float  # K the arc meets, the hotter of start and end of the turn
    melted_width: float  # m along the pipe's outside
    melted_depth: float  # m below it; the wall where it melts through
    depth_range: tuple[float, float]
    socket_depth: float  # m below the socket's face
    socket_depth_range: tuple[float, float]
    haz_width: float  # m from the hottest place of the pipe's outside to `haz_limit`
    haz_limit: float  # K
    time_in_haz: float  # s the hottest point of any angle is above `haz_limit`
    time_molten: float  # s it is above the solidus of the pipe
    peak_at_bore: float  # K
    bore_range: tuple[float, float]
    melts_through: bool
    root_corner: float | None  # K over the solidus, of the colder side; None: no corner
    root_range: tuple[float, float] | None
    cooling_time_85: float | None  # s, ferritic steel on metal below 300 degC only
    cooling_time_85_grid: float | None  # s, ferritic steel only: slowest angle's hottest
    cooling_time_85_standard: float | None  # s, EN 1011-2 (from memory)
    dwell: tuple[tuple[float, float], ...]  # (m from the melt, s in 450..850 degC)
    dwell_of_hottest: float  # s the hottest point of any angle spends there, by the grid
    cautions: tuple[str, ...]

    @property
    def root_fused(self) -> str:
        """Whether pipe and socket melt at the root corner: yes, in doubt or no."""
        if self.root_corner is None or self.root_range is None:
            return ""
        if self.root_corner >= 0.0:
            return "yes"
        return "in doubt" if self.root_range[1] >= 0.0 else "no"


def near_arc(case: Case, history: History) -> tuple[NearArc, ...]:
    """Near field of every pass that was begun, one that failed on its way included.

    Empty for the axisymmetric model: it has no place that the arc comes to, and what it
    has are averages round the ring.
    """
    if history.model == "axisymmetric":
        return ()
    return _near(replace(case, report_units=""), history)  # one joint, whatever is spoken


@lru_cache(maxsize=1)  # text, data and rules of one run all ask for it
def _near(case: Case, history: History) -> tuple[NearArc, ...]:
    model = make_model(case)
    return tuple(
        _of_pass(model, history, p, peak.temperature)
        for p, peak in zip(case.passes, history.peaks, strict=False)
    )


def _of_pass(model: Model, history: History, p: Pass, peaks: Array) -> NearArc:
    """Sizes by the grid, times by the grid and by the moving source."""
    done = p.number <= len(history.passes)
    result = history.passes[p.number - 1] if done else None
    start = _met(model.case, p, result, history)
    metal = model.case.pipe.material
    haz_limit = HAZ_DEGC.get(metal.family, 850.0) + 273.15
    bore = float(melt.bore(model, peaks).max())
    struck = result.at_arc_on.start_point if result else start
    levels = _scaled(peaks, struck)
    depths = [_deepest(model, p, T, melt.depth_in_pipe) for T in levels]
    sockets = [_deepest(model, p, T, melt.depth_in_socket) for T in levels]
    corners = [_corner(model, p, T) for T in levels]
    width = melt.spread_on_pipe(model, p.number, peaks, metal.solidus)[1]
    haz = melt.spread_on_pipe(model, p.number, peaks, haz_limit)[0]
    through = bore >= metal.solidus or not done  # a pass stops where metal would boil
    return NearArc(
        number=p.number,
        start=start,
        melted_width=float(width.max()),
        melted_depth=model.case.pipe.wall if through else depths[1],
        depth_range=(depths[0], depths[2]),
        socket_depth=sockets[1],
        socket_depth_range=(sockets[0], sockets[2]),
        haz_width=float(haz.max()),
        haz_limit=haz_limit,
        time_in_haz=_time_in(history, result, (haz_limit, np.inf)),
        time_molten=_time_in(history, result, (metal.solidus, np.inf)),
        peak_at_bore=bore,
        bore_range=_range(bore, struck, BORE_RANGE),
        melts_through=through,
        root_corner=corners[1],
        root_range=_pair(corners[0], corners[2]),
        dwell_of_hottest=_time_in(history, result, DWELL),
        **_of_endless_wall(model.case, p, start),
        cooling_time_85_grid=(
            _time_in(history, result, T_85) if metal.family in FERRITIC else None
        ),
        cautions=("pool bigger than wall",) if through else (),
    )


def _scaled(peaks: Array, start: float) -> tuple[Array, Array, Array]:
    """Peaks at the low end of their range, as they are, and at the high end."""
    low, high = (start + factor * (peaks - start) for factor in POOL_RANGE)
    return low, peaks, high


def _range(T: float, start: float, factors: tuple[float, float]) -> tuple[float, float]:
    return start + factors[0] * (T - start), start + factors[1] * (T - start)


def _pair(low: float | None, high: float | None) -> tuple[float, float] | None:
    return None if low is None or high is None else (low, high)


def _deepest(model: Model, p: Pass, T: Array, depth: Callable[..., Array]) -> float:
    return float(depth(model, p.number, T).max())


def _corner(model: Model, p: Pass, T: Array) -> float | None:
    """Root corner of the middle angle over the solidus [K], on its colder side.

    None where there is no corner, or where the fillet was there before the arc.
    """
    if model.case.metal_in_place:
        return None
    sides = np.sort(melt.root_corner(model, p.number, T), axis=1)
    middle = slice((sides.shape[1] - 1) // 2, sides.shape[1] // 2 + 1)
    # the median: numpy's own loads its masked arrays for it, 20 ms
    return float(sides[:, middle].mean(axis=1).min()) if len(sides) else None


def _of_endless_wall(case: Case, p: Pass, start: float) -> dict[str, Any]:
    """Take the times of the moving source, where the metal it meets is cool enough for them."""
    family, cool = case.pipe.material.family, start < BACKGROUND_MAX
    times: dict[str, Any] = {"cooling_time_85": None, "dwell": ()}
    times["cooling_time_85_standard"] = _standard(case, p, start, family)
    if cool and family in FERRITIC:
        times["cooling_time_85"] = cooling.cooling_time_85(moving_source(case, p, start))
    if cool and family == "austenitic":
        source = moving_source(case, p, start)
        half = rosenthal.isotherm_half_width(source, source.melting)
        times["dwell"] = tuple(
            (d, rosenthal.time_between(source, *DWELL, y=half + d)) for d in DISTANCES
        )
    return times


def _met(case: Case, p: Pass, result: PassResult | None, history: History) -> float:
    """Metal the arc meets [K]; of a pass that failed, what it was to be struck at."""
    if result is None:
        first = p.number == 1
        return case.surroundings.start if first else case.limits.interpass_max
    return max(result.at_arc_on.start_point, _background_late(p, result, history))


def _background_late(p: Pass, result: PassResult, history: History) -> float:
    """Warmth of the ring away from the arc as it nears the end of its turn [K].

    Where the ring is coolest: the arc's own glow is in the moving-source solution.
    """
    burn = arc.stretches(p)[-1]
    time = result.arc_off - (1 - LATE) * (burn.arc_off - burn.arc_on)
    row = int(np.argmin(np.abs(history.time - time)))
    return float(history.ring[row].min())


def _time_in(
    history: History, result: PassResult | None, limits: tuple[float, float]
) -> float:
    """Longest time any angle's hottest point is between two temperatures [s].

    From this pass's arc on to the next one; heating counts, but is over in seconds. Zero
    for a pass that failed.
    """
    if result is None:
        return 0.0
    later = [p.arc_on for p in history.passes if p.arc_on > result.arc_on]
    end = min(later, default=float(history.time[-1]))
    here = (history.time > result.arc_on) & (history.time <= end)
    step = np.diff(history.time, prepend=0.0)[here]
    inside = (history.ring[here] > limits[0]) & (history.ring[here] < limits[1])
    return float((inside * step[:, None]).sum(axis=0).max(initial=0.0))


def _standard(case: Case, p: Pass, start: float, family: str) -> float | None:
    """EN 1011-2's own cooling time for a fillet [s]; its formula ends below 500 degC."""
    known = p.has_current
    if family not in FERRITIC or start >= 773.15 or not known:
        return None
    heat_input = arc.heat_input(p.current, p.voltage, p.travel, case.process)
    found = cooling.cooling_time_85_en1011(
        heat_input, case.pipe.wall, start, two_way=0.45, three_way=0.67
    )
    return found.time
