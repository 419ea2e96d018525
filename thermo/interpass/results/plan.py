"""The results as data: one JSON object with the unit in every key, and histories as CSV.

Always in degC, mm, s and kJ, whatever units the report speaks. Numbers are rounded to
what they are good for, so that a second run writes the same bytes.
"""

import json
from collections.abc import Iterator
from math import degrees, isfinite
from typing import Any

import numpy as np

from ..doubt.bands import Band, Bands
from ..heat.history import (
    History,
    JointTemperature,
    PassResult,
    Trace,
    planned_time,
    planned_wait,
    total_time,
)
from ..heat.lump import by_hand, model_time_constant
from ..heat.near_arc import NearArc, near_arc
from ..heat.waits import axisymmetric_waits
from ..joint.case import Case, Limits
from ..remedies.bench import Bench
from ..remedies.trials import Help, Helps
from ..report.assumptions import all_assumptions
from ..report.strike import band_of, strike_at
from ..report.verdicts import verdict_text
from ..rules.judge import checks
from ..rules.limits import verdict
from ..text.kinds import kJ_per_mm
from ..text.records import csv_text as as_csv
from ..text.records import degC, rounded
from ..text.records import json_text as as_json
from ..text.times import shop_time
from ..trade.practice import efficiency
from .check import check_entry

NEAR_BY = {
    "ring": "hottest of each cell of the ring; worst angle, root corner: middle angle",
    "axisymmetric": "nothing: averages round the ring have no place the arc comes to",
}

SCHEMA = 1


def results(
    case: Case,
    history: History,
    *,
    assumptions: bool = False,
    bands: Bands | None = None,
    helps: Helps | None = None,
) -> dict[str, Any]:
    """Everything a run found, as one object for JSON; nothing in it is nan."""
    found = checks(case, history)
    k = efficiency(case.process, "standard k").value
    averaged = axisymmetric_waits(case) if history.model == "ring" else ()
    entries: dict[str, Any] = {
        "schema": SCHEMA,
        "title": case.title,
        "model": history.model,
        "cells": history.cells,
        "ring": case.model.ring,
        "steps": history.steps,
        "limit": _limit(case.limits),
        "holding": _holding(case),
        "arc_energy_rule": "U I / v, the heat input of ASME IX QW-409.1(a)",
        "heat_input_rule": f"k U I / v, EN 1011-1, k = {k:g}",
        "passes": list(_passes(case, history, bands)),
        "axisymmetric_waits_s": [rounded(w, 2) for w in averaged],
        "near_arc_by": NEAR_BY[history.model],
        "near_arc": [_near(p) for p in near_arc(case, history)],
        "total_s": rounded(total_time(history), 2),
        "total_with_shop_waits_s": rounded(planned_time(history), 2),
        "probes": [_probe(trace, history) for trace in history.traces],
        "energy": _energy(history),
        "hand_check": _hand_check(case, history),
        "checks": [check_entry(check) for check in found],
        "complete": history.complete,
        "stopped_because": history.stopped_because,
        "verdict": verdict(found, history),
        "verdict_text": verdict_text(found, history, bands=bands),
    }
    if bands is not None:
        entries["doubt"] = doubt_data(bands)
    if helps is not None:
        entries["what_would_help"] = helps_data(helps)
    if assumptions:
        entries["assumptions"] = [vars(row) for row in all_assumptions(case)]
    return entries


def json_text(
    case: Case,
    history: History,
    *,
    assumptions: bool = False,
    bands: Bands | None = None,
    helps: Helps | None = None,
) -> str:
    """Write the object of ``results`` as text, each probe on one line."""
    found = results(case, history, assumptions=assumptions, bands=bands, helps=helps)
    series = found.pop("probes")
    head = as_json(found).rstrip()
    probes = ",\n  ".join(
        json.dumps(probe, ensure_ascii=False, allow_nan=False) for probe in series
    )
    return f'{head[:-2]},\n "probes": [\n  {probes}\n ]\n}}\n'


def _limit(limits: Limits) -> dict[str, Any]:
    return {
        "interpass_max_degC": degC(limits.interpass_max),
        "source": limits.interpass_max_source,
        "standing": limits.interpass_max_standing,
        "interpass_min_degC": degC(limits.interpass_min),
        "preheat_min_degC": degC(limits.preheat_min),
        "preheat_source": limits.preheat_min_source,
    }


def _holding(case: Case) -> dict[str, Any]:
    held = case.surroundings.holding
    return {
        "stated": case.surroundings.holding_is_said,
        "on": held and held.on,
        "by": (held and held.by) or None,
        "from_face_mm": held and rounded(1e3 * held.from_face, 3),
        "length_mm": held and rounded(1e3 * held.length, 3),
        "share_of_girth": held and rounded(held.share, 4),
        "conductance_W_per_m2K": held and rounded(held.conductance, 3),
    }


def _near(p: NearArc) -> dict[str, Any]:
    return {
        "number": p.number,
        "meets_degC": degC(p.start),
        "pool_width_mm": rounded(1e3 * p.melted_width, 2),
        "pool_depth_mm": rounded(1e3 * p.melted_depth, 2),
        "pool_depth_range_mm": _mm_range(p.depth_range),
        "pool_depth_socket_mm": rounded(1e3 * p.socket_depth, 2),
        "pool_depth_socket_range_mm": _mm_range(p.socket_depth_range),
        "melts_through": p.melts_through,
        "haz_from_middle_mm": rounded(1e3 * p.haz_width, 2),
        "haz_limit_degC": degC(p.haz_limit),
        "time_above_haz_limit_s": rounded(p.time_in_haz, 2),
        "time_molten_s": rounded(p.time_molten, 2),
        "peak_at_bore_degC": None if p.melts_through else degC(p.peak_at_bore),
        "peak_at_bore_range_degC": (
            None if p.melts_through else [degC(T) for T in p.bore_range]
        ),
        "root_corner_fused": p.root_fused or None,
        "root_corner_over_solidus_K": rounded(p.root_corner, 2),
        "root_corner_over_solidus_range_K": (
            [rounded(dT, 2) for dT in p.root_range] if p.root_range else None
        ),
        "t85_grid_s": rounded(p.cooling_time_85_grid, 2),
        "t85_s": rounded(p.cooling_time_85, 2),
        "t85_EN1011_s": rounded(p.cooling_time_85_standard, 2),
        "dwell_450_850_degC_s": rounded(p.dwell_of_hottest, 2),
        "dwell_beside_melt": [
            {"from_melt_mm": rounded(1e3 * d, 2), "time_s": rounded(t, 2)}
            for d, t in p.dwell
        ],
        "beyond_its_limits": list(p.cautions),
    }


def _mm_range(lengths: tuple[float, float]) -> list[float | None]:
    return [rounded(1e3 * length, 2) for length in lengths]


def _passes(
    case: Case, history: History, bands: Bands | None
) -> Iterator[dict[str, Any]]:
    """Say what became of each pass, and with bands what to strike the next one by."""
    for done in history.passes:
        entry = _pass(done)
        band = band_of(bands, done.number)
        if band is not None and done.number > 1:
            entry["allow_s"] = rounded(band.allow, 2)
            entry["strike_at_degC"] = degC(strike_at(case, done, band))
        yield entry


def _pass(done: PassResult) -> dict[str, Any]:
    return {
        "number": done.number,
        "wait_s": rounded(done.wait, 2),
        "wait_in_shop_s": rounded(planned_wait(done), 2),
        "wait_is_auto": done.wait_is_auto,
        "arc_on_s": rounded(done.arc_on, 2),
        "arc_off_s": rounded(done.arc_off, 2),
        "arc_energy_kJ_per_mm": _per_mm(done.arc_energy),
        "heat_input_kJ_per_mm": _per_mm(done.heat_input),
        "net_energy_kJ": rounded(done.net_energy / 1e3, 4),
        "interpass_degC": _joint(done.at_arc_on),
        "expect_to_read_degC": degC(done.expect_reading),
        "end_degC": _joint(done.at_arc_off),
    }


def _per_mm(energy: float | None) -> float | None:
    return None if energy is None else rounded(kJ_per_mm(energy), 5)


def _joint(joint: JointTemperature) -> dict[str, float | None]:
    return {name: degC(T) for name, T in vars(joint).items()}


def _probe(trace: Trace, history: History) -> dict[str, Any]:
    return {
        "name": trace.name,
        "r_mm": rounded(trace.r * 1e3, 4),
        "z_mm": rounded(trace.z * 1e3, 4),
        "angle_deg": rounded(degrees(trace.angle), 3),
        "time_s": [rounded(t, 2) for t in history.time],
        "temperature_degC": [degC(T) for T in trace.temperature],
    }


def _energy(history: History) -> dict[str, Any]:
    ledger = history.ledger
    lost = {name: rounded(heat / 1e3, 4) for name, heat in ledger.lost.items()}
    return {
        "arc_kJ": rounded(ledger.arc / 1e3, 4),
        "stored_kJ": rounded(ledger.stored / 1e3, 4),
        "lost_kJ": rounded(sum(ledger.lost.values()) / 1e3, 4),
        "lost_by_surface_kJ": lost,
        "closure": rounded(ledger.closure, 9),
    }


def _hand_check(case: Case, history: History) -> dict[str, Any]:
    lumped = history.lumped
    return {
        "mass_kg": rounded(lumped.mass, 5),
        "heat_capacity_J_per_K": rounded(lumped.heat_capacity, 3),
        "time_constant_s": rounded(lumped.time_constant, 2),
        "model_time_constant_s": rounded(model_time_constant(case, history), 1),
        "passes": [
            {
                "number": step.number,
                "rise_K": rounded(step.rise, 3),
                "model_rise_K": rounded(step.joint_rise, 2),
                "wait_s": rounded(step.wait, 2),
                "at_arc_on_degC": degC(step.at_arc_on),
            }
            for step in by_hand(case, history)
        ],
    }


def csv_text(history: History) -> str:
    """Histories as CSV: time, phase, hottest, mean, coldest, then every probe."""
    named = [f"{trace.name}_degC" for trace in history.traces]
    heads = ["time_s", "phase", "hottest_degC", "mean_degC", "coldest_degC", *named]
    series = [history.hottest, history.mean, history.coldest]
    series += [trace.temperature for trace in history.traces]
    table = np.column_stack(series) - 273.15
    rows = (
        [f"{t:.2f}", _phase(t, history), *(f"{T:.2f}" for T in row)]
        for t, row in zip(history.time, table, strict=True)
    )
    return as_csv([heads, *rows])


def _phase(time: float, history: History) -> str:
    """Say what goes on at a moment: a pass, a wait, or cooling at the end."""
    for done in history.passes:
        if time < done.arc_on:
            return f"wait {done.number}"
        if time <= done.arc_off:
            return f"pass {done.number}"
    return "cooling" if history.complete else "stopped"


def doubt_data(bands: Bands) -> dict[str, Any]:
    """Bands for JSON, unit in every key."""
    return {
        "samples": bands.samples,
        "seed": bands.seed,
        "how": bands.how,
        "allow_rule": "holds the limit for 9 in 10 plausible joints",
        "band_rule": "5 % and 95 % of the plausible joints",
        "passes": [
            {
                "number": row.number,
                "wait_s": _band_seconds(row.wait),
                "allow_s": None if row.allow is None else round(row.allow, 2),
                "allow_in_shop_s": None if row.allow is None else shop_time(row.allow),
                "hottest_degC": _degrees(row.hottest),
                "reading_degC": _degrees(row.reading),
                "strike_at_degC": degC(row.strike_at),
                "read_after_s": rounded(row.read_after, 1),
            }
            for row in bands.passes
        ],
        "if_gripped": bands.gripped
        and {
            "words": bands.gripped.words,
            "wait_s": [round(wait, 2) for wait in bands.gripped.waits],
        },
        "shares": [
            {"key": row.key, "words": row.words, "share": round(row.share, 4)}
            for row in bands.shares
        ],
    }


def _band_seconds(band: Band | None) -> dict[str, float] | None:
    return None if band is None else {k: round(v, 2) for k, v in vars(band).items()}


def _degrees(band: Band) -> dict[str, float]:
    return {k: round(v - 273.15, 2) for k, v in vars(band).items()}


def helps_data(helps: Helps) -> dict[str, Any]:
    """Everything tried and not, for JSON; unit in every key."""
    return {
        "how": "axisymmetric runs; waits times wait_ratio",
        "wait_ratio": round(helps.ratio, 4),
        "remark": helps.remark,
        "total_s": _seconds(helps.total),
        "best": [one.kind for one in helps.best],
        "tried": [_help(one) for one in helps.tried],
        "not_offered": [{"title": n.title, "why": n.why} for n in helps.not_offered],
        "bench": _bench(helps.bench) if helps.bench else None,
        "safe_over_typical": _safe(helps),
        "bench_with_safe_waits": _bench(helps.safe_bench) if helps.safe_bench else None,
    }


def _safe(helps: Helps) -> float | None:
    return None if helps.safety is None else round(helps.safety, 4)


def _help(one: Help) -> dict[str, Any]:
    return {
        "kind": one.kind,
        "title": one.title,
        "case_lines": list(one.lines),
        "passes": len(one.waits),
        "total_before_s": _seconds(one.total_before),
        "total_after_s": _seconds(one.total_after),
        "saves_s": _seconds(one.saves),
        "waits_s": [_seconds(w) for w in one.waits],
        "caution": one.caution,
        "only_if_procedure_allows": one.needs_procedure,
    }


def _bench(bench: Bench) -> dict[str, Any]:
    return {
        "rule": "go round: pass 1 on every joint, then pass 2; moving not counted",
        "joints": bench.busy.joints if bench.busy else None,
        "rounds": [
            {
                "joints": one.joints,
                "time_per_joint_s": _seconds(one.per_joint),
                "welder_idle_s": _seconds(one.idle),
                "longest_wait_s": _seconds(one.longest_wait),
            }
            for one in (bench.alone, *bench.between, bench.busy)
            if one is not None
        ],
    }


def _seconds(time: float) -> float | None:
    return round(time, 2) if isfinite(time) else None
