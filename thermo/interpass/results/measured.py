"""A logger's file judged, as data: every channel measured against computed."""

from math import degrees
from typing import Any

from ..logs.measured import ChannelCheck, Measured
from ..report.measured import advice, measured_verdict
from ..text.kinds import SI
from ..text.records import degC, rounded


def measured_entry(found: Measured) -> dict[str, Any]:
    """Return the channels as data, always in SI shop units."""
    return {
        "file": found.logger.file,
        "rms_cooling_K": rounded(found.rms, 3),
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
        "from_toe_mm": rounded(1e3 * place.from_toe, 3) if place and place.from_toe is not None
        else None,
        "angle_deg": rounded(degrees(probe.angle), 3),
        "r_mm": rounded(1e3 * probe.r, 3),
        "z_mm": rounded(1e3 * probe.z, 3),
        "samples": int(one.channel.time.size),
        "cooling_samples": int(one.is_cooling.sum()),
        "bias_K": rounded(one.bias, 3),
        "rms_K": rounded(one.rms, 3),
        "worst_K": rounded(one.worst, 3),
        "worst_at_s": rounded(one.worst_at, 3),
        "rms_all_samples_K": rounded(one.rms_all, 3),
        "late_s": one.lag,
        "share_within_band": rounded(one.inside, 3),
        "time_s": [rounded(t, 3) for t in one.channel.time],
        "measured_degC": [degC(T) for T in one.channel.temperature],
        "computed_degC": [degC(T) for T in one.computed],
        "low_degC": [degC(T) for T in one.low],
        "high_degC": [degC(T) for T in one.high],
    }  # fmt: skip
