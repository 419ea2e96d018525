"""A logger's file judged, as data: every channel measured against computed."""

from math import degrees, isfinite
from typing import Any

from ..logs.measured import ChannelCheck, Measured
from ..report.measured import advice, measured_verdict
from ..text.kinds import SI


def measured_entry(found: Measured) -> dict[str, Any]:
    """Return the channels as data, always in SI shop units."""
    rms = found.rms
    return {
        "file": found.logger.file,
        "rms_cooling_K": round(rms, 3) if isfinite(rms) else None,
        "channels": [_channel(one) for one in found.channels],
        "advice": list(advice(found, SI)),
        "remarks": list(found.logger.remarks),
        "told": measured_verdict(found, SI),
    }


def _channel(one: ChannelCheck) -> dict[str, Any]:
    place, probe = one.channel.place, one.channel.probe
    return {
        "name": one.channel.name,
        "on": place.on if place else None,
        "from_toe_mm": _round(1e3 * place.from_toe) if place and place.from_toe is not None
        else None,
        "angle_deg": _round(degrees(probe.angle)),
        "r_mm": _round(1e3 * probe.r),
        "z_mm": _round(1e3 * probe.z),
        "samples": int(one.channel.time.size),
        "cooling_samples": int(one.is_cooling.sum()),
        "bias_K": _round(one.bias),
        "rms_K": _round(one.rms),
        "worst_K": _round(one.worst),
        "worst_at_s": _round(one.worst_at),
        "rms_all_samples_K": _round(one.rms_all),
        "late_s": one.lag,
        "share_within_band": _round(one.inside),
        "time_s": [_round(t) for t in one.channel.time],
        "measured_degC": [_round(T - 273.15) for T in one.channel.temperature],
        "computed_degC": [_round(T - 273.15) for T in one.computed],
        "low_degC": [_round(T - 273.15) for T in one.low],
        "high_degC": [_round(T - 273.15) for T in one.high],
    }  # fmt: skip


def _round(value: float) -> float | None:
    return round(float(value), 3) + 0.0 if isfinite(value) else None
