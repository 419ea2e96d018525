"""What a run says, as the page shows it: rows of words in either system of units, curves.

The numbers are those of ``results.plan`` and the words those of ``report``: the page and
the command line cannot disagree.
"""

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from ..doubt.bands import Bands
from ..heat.history import History, PassResult, planned_time
from ..heat.model import make_model
from ..heat.section import part_of_cells
from ..joint.beads import fillets
from ..joint.case import Case
from ..joint.outline import make_outline
from ..report.joint import unsaid_words
from ..report.strike import (
    GIVEN,
    Strike,
    limit_text,
    place_text,
    reading_text,
    strike_line,
    strikes,
    when_words,
    why_below,
)
from ..report.verdicts import shown_required, shown_value, verdict_text
from ..results.plan import results
from ..rules.judge import checks
from ..rules.limits import Check, verdict
from ..text.arrays import Array
from ..text.kinds import SI, US, UnitSystem, to_degC
from ..text.records import degC, rounded_all
from ..text.times import clock, spelled

STEPS = {
    "averaged": "a first estimate, the heat spread round the joint; better follows",
    "ring": "the best estimate, the arc going round; how far off follows",
    "bands": "the full answer: the arc going round, bands from plausible joints",
}

MOST_POINTS = 360  # of a curve; a screen shows no more


def answer_of(
    case: Case, history: History, bands: Bands | None, step: str
) -> dict[str, Any]:
    """First screen, curve and rules of a run.

    ``data`` is the object of ``plan --json`` without its series; ``shown`` the same in
    words by system of units.
    """
    data = results(case, history, bands=bands)
    data.pop("probes")
    found = checks(case, history)
    return {
        "step": step,
        "what": STEPS[step],
        "verdict": verdict(found, history),
        "data": data,
        "curve": history_curve(history, bands),
        "limit_degC": degC(case.limits.interpass_max),
        "shown": {s.name: _shown(case, history, bands, found, s) for s in (SI, US)},
    }


def _shown(
    case: Case,
    history: History,
    bands: Bands | None,
    found: Sequence[Check],
    units: UnitSystem,
) -> dict[str, Any]:
    """Words of one system of units."""
    rows = strikes(case, history, bands)
    return {
        "verdict": verdict_text(found, history, units, bands),
        "limit": limit_text(case, units),
        "total": spelled(planned_time(history)),
        "place": place_text(case, units),
        "why_below": " ".join(_judged_words(case, history, bands, rows, units)).strip(),
        "passes": [
            _pass_words(strike, done, units, judged=bands is not None)
            for strike, done in zip(rows, history.passes, strict=True)
        ],
        "rules": [
            {
                "rule": check.rule,
                "verdict": check.verdict,
                "value": shown_value(check, units),
                "required": f"{check.sense} {shown_required(check, units)}".strip(),
                "source": check.source,
                "standing": check.standing,
                "advice": check.advice,
            }
            for check in found
        ],
    }


def _judged_words(
    case: Case,
    history: History,
    bands: Bands | None,
    rows: Sequence[Strike],
    units: UnitSystem,
) -> Iterator[str]:
    """Say why the readings lie below the limit, and what a hold nobody spoke of would do."""
    if bands is not None:
        yield why_below(case, rows, units)
        yield when_words(case, bands)
        yield unsaid_words(history, bands.gripped, where="under Held by")


def _pass_words(
    strike: Strike, done: PassResult, units: UnitSystem, *, judged: bool
) -> dict[str, str]:
    """One row of the first screen; a wait that bands have not judged yet is "..."."""
    free = strike.kind != GIVEN
    safe = clock(strike.wait) if judged else "..."
    return {
        "number": str(strike.number),
        "safe": safe if free else "-",
        "typical": clock(strike.typical) if strike.typical is not None else "-",
        "given": clock(strike.wait) if not free and strike.number > 1 else "",
        "strike": reading_text(strike, units) if judged or strike.number == 1 else "...",
        "read": units.temperature(done.expect_reading),
        "hottest": units.temperature(done.at_arc_on.hottest),
        "line": strike_line(strike, units),
    }


def history_curve(history: History, bands: Bands | None) -> dict[str, Any]:
    """Hottest point and reading against time, with the band where it is known."""
    kept = _kept(history)
    reading = history.traces[-1].temperature
    curve = {
        "time_s": rounded_all(history.time[kept], 1),
        "hottest_degC": rounded_all(to_degC(history.hottest[kept]), 1),
        "reading_degC": rounded_all(to_degC(reading[kept]), 1),
        "arcs_s": [[round(p.arc_on, 1), round(p.arc_off, 1)] for p in history.passes],
    }
    if bands is not None:
        at = history.time[kept]
        low, high = (np.interp(at, bands.time, x) for x in (bands.low, bands.high))
        curve["low_degC"] = rounded_all(to_degC(low), 1)
        curve["high_degC"] = rounded_all(to_degC(high), 1)
    return curve


def _kept(history: History) -> Array:
    """Places of so many moments, arc on and off among them."""
    count = len(history.time)
    even = np.linspace(0, count - 1, min(count, MOST_POINTS)).astype(int)
    ends = [t for p in history.passes for t in (p.arc_on, p.arc_off)]
    return np.unique([*even, *np.minimum(np.searchsorted(history.time, ends), count - 1)])


def section_of(case: Case, history: History) -> dict[str, Any]:
    """Temperature over the section at every snapshot, averaged round the ring.

    Returns
    -------
    dict
        ``z_mm`` (nz + 1,) and ``r_mm`` (nr + 1,) lines between cells; ``part`` (nr, nz),
        0 pipe, 1 fitting, -1 neither (weld metal or none); ``times_s``, ``laid``, beads there are,
        and ``fields_degC``, each (nr, nz) with None without metal.
    """
    model = make_model(case)
    lines, outline = model.lines, make_outline(case)
    low = -fillets(case)[-1].leg_pipe - 1.1 * case.pipe.outside_diameter
    high = outline.socket_depth + 0.66 * case.pipe.outside_diameter
    first = max(int(np.searchsorted(lines.z, low)) - 1, 0)
    last = min(int(np.searchsorted(lines.z, high)) + 1, len(lines.z) - 1)
    part = part_of_cells(outline, lines)[:, first:last]
    return {
        "z_mm": rounded_all(lines.z[first : last + 1] * 1e3, 3),
        "r_mm": rounded_all(lines.r * 1e3, 3),
        "part": part.tolist(),
        "times_s": [round(s.time, 1) for s in history.snapshots],
        "what": [f"{s.what}, pass {s.number}" for s in history.snapshots],
        "laid": [s.number - (s.what == "arc on") for s in history.snapshots],
        "fields_degC": [
            _field(s.temperature.mean(axis=1)[:, first:last]) for s in history.snapshots
        ],
    }


def _field(T: Array) -> list[list[int | None]]:
    return [
        [None if not np.isfinite(x) else round(float(x) - 273.15) for x in row]
        for row in T
    ]
