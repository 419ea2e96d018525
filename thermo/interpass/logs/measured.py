"""Measured against computed: a logger's thermocouples beside the run of the joint as welded.

Each channel is set against the temperature computed at its place, and against the band of the
plausible joints there. What counts for waits is the cooling, so samples under an arc, and
soon after it, are judged apart.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..doubt.bands import HIGH, LOW
from ..doubt.priors import EDGE, Prior, priors
from ..doubt.samples import (
    CURVES,
    as_quick,
    coordinates,
    design_scores,
    joint_at,
    normal_scores,
)
from ..doubt.surface import at, surface_of
from ..heat import stand_in as quickly
from ..heat.history import History
from ..heat.stand_in import MODEL_ERROR
from ..heat.waits import plan
from ..joint.case import Case, Probe
from ..joint.places import measuring_place
from ..readings.reading import Reading
from ..text.arrays import Array
from .as_welded import as_welded
from .log import Log
from .logger import Channel, Logger

THERMOCOUPLE = 3.0  # K, standard deviation; common practice, no source
QUIET = 15.0  # s after arc off: the arc's noise is gone
EVENED = 120.0  # s: so is its hot flank, for a run that averages the arc round the ring
FARTHER = 2.0e-3  # m: a second probe, for the slope along the surface
LAGS = np.linspace(-60.0, 60.0, 241)  # s that a channel is tried earlier and later
CLEARER = 0.8  # a lag counts when it leaves less than this of the scatter
LONGEST_AFTER = 4 * 3600.0  # s after the last arc off that are run
STUCK = 2.0  # K: what moves less does not move
SAMPLES_OF_A_WAIT = 6  # of a channel in one wait, as readings


@dataclass(frozen=True, eq=False)
class ChannelCheck:
    """One channel beside what was computed at its place; measured less computed [K]."""

    channel: Channel
    computed: Array  # (n,) K at the times of the samples, best estimate
    low: Array  # (n,) 5 % of the plausible joints, thermocouple and model counted
    high: Array  # (n,)
    is_cooling: NDArray[np.bool_]  # (n,)
    bias: float  # mean while cooling
    rms: float  # while cooling
    rms_all: float  # over all samples
    worst: float  # of the cooling, with its sign
    worst_at: float  # s since the first arc on
    lag: float | None  # s that the channel is late; None where none stands out
    inside: (
        float  # share of the cooling samples within the band; nan where there are none
    )
    moved: float  # K from the lowest to the highest sample
    slope: float | None  # K/m away from the toe while cooling; None for a probe's place


@dataclass(frozen=True, eq=False)
class Measured:
    """A logger's file judged."""

    logger: Logger
    history: History  # best estimate as welded, with a probe at every thermocouple
    channels: tuple[ChannelCheck, ...]

    @property
    def rms(self) -> float:
        """Of all cooling samples, every channel that has some counting alike [K]; or nan."""
        known = [one.rms**2 for one in self.channels if np.isfinite(one.rms)]
        return float(np.sqrt(np.mean(known))) if known else float("nan")


def measure(case: Case, log: Log, logger: Logger) -> Measured:
    """Set a logger's channels against the run of the joint as welded.

    Parameters
    ----------
    case : Case
        As planned.
    log : Log
        Of the weld.
    logger : Logger
        Of the same weld.

    Raises
    ------
    RunError
        The joint cannot be run as it was welded.
    """
    welded = _with_probes(case, log, logger)
    history = plan(welded)
    count = len(logger.channels)
    first = len(welded.probes) - 2 * count
    columns = range(first, first + count)
    low, high = _bands(welded, history, columns)
    checks = [
        _check(channel, history, (low[:, n], high[:, n]), columns[n])
        for n, channel in enumerate(logger.channels)
    ]
    slopes = [
        _slope(history, first + n, first + count + n) if channel.place else None
        for n, channel in enumerate(logger.channels)
    ]
    found = (replace(c, slope=s) for c, s in zip(checks, slopes, strict=True))
    return Measured(logger, history, tuple(found))


def _with_probes(case: Case, log: Log, logger: Logger) -> Case:
    """Build the joint as far as it was welded, with two probes for every channel."""
    done = len(log.passes)
    welded = as_welded(case, log)
    after = min(max(logger.end - log.last_off, case.model.end_after), LONGEST_AFTER)
    own = [channel.probe for channel in logger.channels]
    beside = [_farther(case, channel) for channel in logger.channels]
    return replace(
        welded,
        passes=welded.passes[:done],
        doubt=tuple(d for d in welded.doubt if _is_of(d.key, done)),
        probes=(*case.probes, *own, *beside),
        model=replace(case.model, end_after=after),
    )


def _is_of(key: str, done: int) -> bool:
    """Whether a doubt is of a pass that was welded, or of none."""
    table, *rest = key.split(".")
    return table != "pass" or int(rest[0]) <= done


def _farther(case: Case, channel: Channel) -> Probe:
    """Place a little farther from the toe; the same one for a probe of the case."""
    if channel.place is None:
        return channel.probe
    away = (channel.place.from_toe or 0.0) + FARTHER
    spot = measuring_place(replace(case, measure=replace(channel.place, from_toe=away)))
    return Probe(channel.name, spot.r, spot.z, spot.angle)


def _bands(welded: Case, history: History, columns: Sequence[int]) -> tuple[Array, Array]:
    """Bands of the plausible joints at the channels, (times, channels) each [K]."""
    found: tuple[Prior, ...] = priors(welded)
    quick = quickly.prepare(welded, history)
    design = design_scores(found)
    runs = np.array([
        quickly.follow(quick, as_quick(quick, joint_at(welded, found, row))).traces[
            :, columns
        ]
        for row in design
    ])  # fmt: skip
    surface = surface_of(coordinates(found, design), runs.reshape(len(design), -1))
    told = at(surface, coordinates(found, normal_scores(CURVES, len(found))))
    low, high = np.quantile(told, (LOW, HIGH), axis=0)
    shape = runs.shape[1:]
    return low.reshape(shape), high.reshape(shape)


def _check(
    channel: Channel, history: History, band: tuple[Array, Array], column: int
) -> ChannelCheck:
    """Set one channel against the curve and the band at its place."""
    curve = history.traces[column].temperature
    channel = _during(channel, history)
    time, T = channel.time, channel.temperature
    computed, low, high = _expected(time, history.time, curve, band)
    cooling, off = is_cooling(time, history), T - computed
    worst_at, worst = _worst(time[cooling], off[cooling])
    return ChannelCheck(
        channel=channel,
        computed=computed,
        low=low,
        high=high,
        is_cooling=cooling,
        bias=_mean(off[cooling]),
        rms=_mean(off[cooling] ** 2) ** 0.5,
        rms_all=_mean(off**2) ** 0.5,
        worst=worst,
        worst_at=worst_at,
        lag=_lag(time, T, history.time, curve),
        inside=_mean(((low <= T) & (high >= T))[cooling]),
        moved=float(np.ptp(T)) if T.size else 0.0,
        slope=None,
    )


def _during(channel: Channel, history: History) -> Channel:
    """Leave out what a channel shows before the first arc, and after the run."""
    rows = (channel.time >= 0) & (channel.time <= history.time[-1])
    return replace(
        channel, time=channel.time[rows], temperature=channel.temperature[rows]
    )


def _expected(
    time: Array, when: Array, curve: Array, band: tuple[Array, Array]
) -> tuple[Array, Array, Array]:
    """Best estimate and band at some times, thermocouple and model counted (n,) each [K]."""
    computed, low, high = (np.interp(time, when, y) for y in (curve, *band))
    error = EDGE * float(np.hypot(THERMOCOUPLE, MODEL_ERROR))
    low = computed - np.hypot(computed - low, error)
    high = computed + np.hypot(high - computed, error)
    return computed, low, high


def _mean(values: NDArray[Any]) -> float:
    """Mean; nan of nothing."""
    return float(values.mean()) if values.size else float("nan")


def _worst(time: Array, off: Array) -> tuple[float, float]:
    """When the difference is farthest from none, and how far; nan of nothing."""
    if not off.size:
        return float("nan"), float("nan")
    far = int(np.argmax(np.abs(off)))
    return float(time[far]), float(off[far])


def is_cooling(time: Array, history: History) -> NDArray[np.bool_]:
    """Whether no arc burns, nor did a moment before, (n,)."""
    cooling = time > history.passes[0].arc_off
    rest = QUIET if history.model == "ring" else EVENED
    for done in history.passes:
        cooling &= ~((time >= done.arc_on) & (time < done.arc_off + rest))
    return cooling


def _lag(time: Array, T: Array, when: Array, curve: Array) -> float | None:
    """How late a channel is, by the shift that leaves least scatter about a constant [s]."""
    if time.size < 5:
        return None
    scatter = np.array([
        (T - np.interp(time - lag, when, curve)).std() for lag in LAGS
    ])  # fmt: skip
    n = int(np.argmin(scatter))
    clear = scatter[n] < CLEARER * scatter[len(LAGS) // 2]
    return float(LAGS[n]) if clear and 0 < n < len(LAGS) - 1 else None


def _slope(history: History, near: int, far: int) -> float:
    """Mean change along the surface, away from the toe, while cooling [K/m]."""
    rows = is_cooling(history.time, history)
    a, b = (history.traces[n].temperature[rows] for n in (near, far))
    return float((b - a).mean()) / FARTHER if rows.any() else 0.0


def readings_of_channels(case: Case, log: Log, logger: Logger) -> tuple[Reading, ...]:
    """Thin the channels to readings for a fit, a few in every wait.

    The error of a thermocouple is that of its calibration and its contact, the same in
    all of its samples; so the readings of one channel together weigh as much as one.
    Channels named as probes of the case are left out: a reading has a place from the toe.
    """
    rest = QUIET if case.model.ring > 1 else EVENED
    found: list[Reading] = []
    for channel in logger.channels:
        place = channel.place
        if place is None:
            continue
        own = [sample for wait in _waits(log) for sample in _thinned(channel, wait, rest)]
        error = THERMOCOUPLE * float(np.sqrt(len(own)))
        found += [
            Reading(
                number, since, T, T, place.on, place.from_toe, place.angle, error,
                logger.file, 0, f"thermocouple {channel.name}",
            )
            for number, since, T in own
        ]  # fmt: skip
    return tuple(found)


_Wait = tuple[int, float, float]  # after which pass, from when and to when [s]
_Sample = tuple[int, float, float]  # after which pass, s since its arc off, K


def _waits(log: Log) -> list[_Wait]:
    """List the waits of a weld; the last one has no end."""
    ends = [one.burns[0].on for one in log.passes[1:]] + [np.inf]
    return [
        (one.number, one.burns[-1].off, end)
        for one, end in zip(log.passes, ends, strict=True)
    ]


def _thinned(channel: Channel, wait: _Wait, rest: float) -> list[_Sample]:
    """Pick a few samples of one wait, evenly, once the arc has been off for a while."""
    number, off, end = wait
    rows = np.flatnonzero((channel.time >= off + rest) & (channel.time < end))
    few = min(SAMPLES_OF_A_WAIT, rows.size)
    picked = rows[np.linspace(0, rows.size - 1, few).astype(int)]
    return [
        (number, float(channel.time[n]) - off, float(channel.temperature[n]))
        for n in picked
    ]
