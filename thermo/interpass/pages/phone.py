"""The card for a phone: one page with a timer per wait, everything inside it.

The page holds its numbers as data and asks the network for nothing. Its script is in
``data/card.js``; the browser runs that script and no other.
"""

import base64
import hashlib
import io
import json
from typing import Any

from markupsafe import Markup
from matplotlib import rc_context
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from ..doubt.families import Family
from ..joint.case import Case
from ..report.joint import short_joint_words
from ..report.strike import least_text, most_text
from ..rules.limits import FAIL, GIVEN
from ..text.kinds import SI, UnitSystem, to_degC
from ..text.records import degC, rounded, rounded_all
from ..text.times import clock
from .booth import draw_joint
from .card import (
    Card,
    CardWait,
    basis_words,
    caution_words,
    held_words,
    measure_words,
    note_words,
    setting_heads,
    setting_rows,
    start_words,
    verdict_words,
)
from .templates import as_script_data, page_file, script_hash, templates

DRAWING_SIZE, DRAWING_DPI = (6.0, 3.9), 120  # inch, dots per inch
MOST_TIMES = 120  # of a family's curves, kept in the page


def card_page(card: Card, units: UnitSystem = SI) -> bytes:
    """Return the card as one HTML page that stands alone.

    ``units`` are those of travel and lengths; temperatures start in their unit and are
    switched on the page.
    """
    data = page_data(card, units)
    script = page_file("card.js")
    drawing, marked = _drawing(card.case, units)
    template = templates().get_template("card.html")
    text = template.render(
        **_words(card, units),
        data=data,
        data_json=as_script_data(data),
        script=Markup(script),
        script_hash=script_hash(script),
        waits=card.waits,
        below=any(w.strike.reading < card.case.limits.interpass_max for w in card.waits),
        place=measure_words(card, units, marked=marked),
        drawing=base64.b64encode(drawing).decode(),
        drawing_size=[round(side * DRAWING_DPI) for side in DRAWING_SIZE],
        degrees=lambda T, way="near": _degrees(T, units, way),
        first=card.first,
        clock=clock,
    )
    return text.encode()


def page_data(card: Card, units: UnitSystem = SI) -> dict[str, Any]:
    """Return the numbers the page computes with, units in their keys.

    ``key`` names what the page keeps in the browser; another plan has another key.
    """
    least = card.case.limits.interpass_min
    data: dict[str, Any] = {
        "unit": units.temperature_unit,
        "least_degC": degC(least),
        "waits": [_wait(wait) for wait in card.waits],
    }
    content = json.dumps([card.case.title, data["waits"]], sort_keys=True)
    return data | {"key": hashlib.sha256(content.encode()).hexdigest()[:16]}


def _wait(wait: CardWait) -> dict[str, Any]:
    """Numbers of one wait."""
    strike = wait.strike
    return {
        "number": wait.number,
        "kind": strike.kind,
        "wait_s": strike.wait,
        "typical_s": strike.typical,
        "strike_at_degC": degC(strike.reading),
        "read_after_s": rounded(wait.warms_until, 1),
        "family": _family(wait.family) if wait.family else None,
    }


def _family(family: Family) -> dict[str, Any]:
    """Cooling curves as data."""
    every = max(1, -(-len(family.time) // MOST_TIMES))
    last = len(family.time) - 1
    kept = sorted({*range(0, last, every), last})
    return {
        "time_s": rounded_all(family.time[kept], 2),
        "score": rounded_all(family.score, 5),
        "reading_degC": [
            rounded_all(to_degC(curve[kept]), 2) for curve in family.reading
        ],
        "wait_s": rounded_all(family.wait, 2),
        "allow_s": rounded_all(family.allow, 2),
        "error_K": rounded(family.error, 3),
        "later": [
            {
                "number": later.number,
                "wait_s": rounded_all(later.wait, 2),
                "allow_s": rounded_all(later.allow, 2),
                "link": rounded(later.link, 4),
            }
            for later in family.later
        ],
    }


def _words(card: Card, units: UnitSystem) -> dict[str, Any]:
    """Words of the page, those the sheet has too."""
    limits = card.case.limits
    first, _, rest = verdict_words(card, units).partition(". ")
    only = len(card.case.passes) == 1
    return {
        "title": card.case.title,
        "joint": short_joint_words(card.case, units, names_process=True),
        "limit": limits.interpass_max,
        "limit_source": limits.interpass_max_source or GIVEN,
        "notes": note_words(card, units),
        "held": held_words(card, units),
        "preheat": limits.preheat_min,
        "least": limits.interpass_min,
        "failure": (first, rest) if card.verdict == FAIL else None,
        "no_wait": "One pass, no wait." if only else "No wait was found.",
        "heads": [head.replace("\n", ", ").rstrip(", ") for head in setting_heads(units)],
        "rows": setting_rows(card, units),
        "starts": start_words(card),
        "cautions": caution_words(card, units),
        "model": basis_words(card),
    }


def _degrees(T: float, units: UnitSystem, way: str = "near") -> Markup:
    """Return a temperature that the page can show in either unit.

    A highest one is rounded "down" and a lowest one "up", so that none is promised that
    does not hold.
    """
    words = units.temperature(T)
    if way != "near":
        words = most_text(T, units) if way == "down" else least_text(T, units)
    place = Markup('<span data-degc="{}" data-way="{}">{}</span>')
    return place.format(f"{to_degC(T):.2f}", way, words)


def _drawing(case: Case, units: UnitSystem) -> tuple[bytes, bool]:
    """Return the joint in section as PNG, and whether it marks the measuring place."""
    out = io.BytesIO()
    with rc_context({"font.size": 10}):
        figure = Figure(figsize=DRAWING_SIZE)
        FigureCanvasAgg(figure)
        axes = figure.add_axes((0.02, 0.02, 0.96, 0.96))
        marked = draw_joint(axes, case, units, size=13.0)
        figure.savefig(out, format="png", dpi=DRAWING_DPI, metadata={"Software": None})
    return out.getvalue(), marked
