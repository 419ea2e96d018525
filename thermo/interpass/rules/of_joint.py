"""Quantities of joint and pass that rules may speak of: units of their names, and values.

A name ends in its unit; a name without one is a number, a word, or yes or no. A value is
None where a joint has no such thing, and rules that need it are then left out.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from math import isfinite
from typing import Any

from ..joint.beads import bead_areas
from ..joint.case import Case, Fitting, Pass
from ..physics.metals import Material, enthalpy_at
from ..text.kinds import ENDINGS, FACTORS, UNIT_SYSTEMS, ZERO_CELSIUS, ending, to_degC
from ..text.units import parse
from ..trade import pipes as catalogue
from ..trade.practice import (
    interpass_limit,
    limit_rows,
    preheat_min,
    printed_currents,
    tungsten_currents,
    tungstens,
)
from ..trade.rows import table_rows
from .language import NUMBER, Value

APART = {"_m_per_s": "wind"}
"""Kinds kept apart from that of the unit, because other names of that one have another."""

SHOWN_AS = {"wind": "speed"}
"""What a kind kept apart is a kind of."""

UNIT_OF = {APART.get(end, kind): unit for end, (kind, unit) in ENDINGS.items()}
UNIT_OF |= {"length": "mm", "temperature difference": "K"}
"""Unit of the names of each kind."""

RATED_AS = {3000: "80", 6000: "160", 9000: "XXS"}
"""Schedule each class of ASME B16.11 is rated as (maker page)."""


@dataclass(frozen=True)
class Quantity:
    """One name: what it is, and where its SI value comes from."""

    name: str
    words: str
    of: Callable[..., Any]
    kind: str = ""  # of values without a unit in the name: "text", "yes or no"

    @property
    def measures(self) -> str:
        """Kind of quantity the name stands for."""
        end = ending(self.name)
        return self.kind or APART.get(end) or (ENDINGS[end][0] if end else NUMBER)


def in_unit_of_name(quantity: Quantity, si: Any) -> Value | None:
    """SI value in the unit of the name; None stays None, and so does what is no number."""
    if si is None or (isinstance(si, float) and not isfinite(si)):
        return None
    end = ending(quantity.name)
    if not end:
        return si if isinstance(si, str | bool) else float(si)
    kind, unit = ENDINGS[end]
    return float(
        to_degC(si) if kind == "temperature" else si / float(FACTORS[kind][unit])
    )


def to_si(kind: str, value: float) -> float:
    """SI value from one in the unit of names of this kind; a plain number as it is.

    Examples
    --------
    >>> to_si("length", 4.55), to_si("temperature", 175.0), to_si("number", 2.0)
    (0.00455, 448.15, 2.0)
    """
    if kind == "temperature":
        return value + ZERO_CELSIUS
    if kind not in UNIT_OF:
        return value
    # divided by the inverse where that is whole: 4.55 mm is 0.00455 m to the last bit
    factor = FACTORS[SHOWN_AS.get(kind, kind)][UNIT_OF[kind]]
    return value * factor.numerator / factor.denominator


def to_unit(text: str, kind: str) -> float:
    """Quantity written with any unit, in the unit of names of this kind.

    Raises
    ------
    UnitError
        It is no quantity of the kind.
    KeyError
        No name has the kind.
    """
    si = parse(text, SHOWN_AS.get(kind, kind))
    if kind == "temperature":
        return round(float(to_degC(si)), 9)
    factor = FACTORS[SHOWN_AS.get(kind, kind)][UNIT_OF[kind]]
    return round(si * factor.denominator / factor.numerator, 12)


def socket_row(fitting: Fitting) -> catalogue.SocketRow | None:
    """Line of the socket table a fitting was taken from; None for flange and sleeve."""
    if fitting.kind in ("flange", "sleeve"):
        return None
    for row in table_rows("socket"):
        found = catalogue.socket(row["size"], int(row["pressure_class"]))
        same_bore = abs(found.bore - fitting.socket_bore) < 1e-6
        if same_bore and found.pressure_class == fitting.pressure_class:
            return found
    return None


def socket_wall_min(case: Case) -> float:
    """Thinnest the socket wall may be; of a flange, the hub's [m]."""
    row = socket_row(case.fitting)
    return row.wall_min if row else case.fitting.socket_wall


def socket_bore_max(case: Case) -> float | None:
    """Largest bore of ASME B16.11 for the pipe's size; any class [m]."""
    if not case.pipe.size or case.fitting.kind == "flange":
        return None
    size = catalogue.nominal_size(case.pipe.size)
    bores = [row["bore_max_mm"] for row in table_rows("socket") if row["size"] == size]
    return float(bores[0]) * 1e-3 if bores else None


def rating_wall(case: Case) -> float | None:
    """Wall of the pipe the fitting's class is rated as [m]."""
    schedule = RATED_AS.get(case.fitting.pressure_class or 0)
    row = socket_row(case.fitting)
    return catalogue.pipe(row.size, schedule).wall if row and schedule else None


def both_metals(case: Case) -> tuple[Material, Material]:
    """Pipe and fitting."""
    return case.pipe.material, case.fitting.material


def usual_limit(case: Case) -> tuple[float, str, str] | None:
    """Interpass maximum customary for the stricter metal [K], its source and standing."""
    known = {row.family for row in limit_rows()}
    held = [metal for metal in both_metals(case) if metal.family in known]
    rows = [(interpass_limit(m).told_in(case.units), m) for m in held]
    return _strictest(rows)


def strictest_limit(case: Case) -> tuple[float, str, str] | None:
    """Lowest interpass maximum anyone gives for either metal [K], source, standing."""
    rows = [
        (row.told_in(case.units), m)
        for m in both_metals(case)
        for row in limit_rows()
        if row.family == m.family
    ]
    return _strictest(rows)


def _strictest(rows: Iterable[tuple[Any, Material]]) -> tuple[float, str, str] | None:
    found = min(rows, key=lambda pair: pair[0].maximum, default=None)
    if found is None:
        return None
    row, metal = found
    return row.maximum, f"{metal.name}: {row.source}", row.standing


def preheat(case: Case, edition: int) -> tuple[float, str] | None:
    """Preheat of ASME B31.3 for the more demanding metal [K], and its source."""
    rows = [preheat_min(m, thickness(case), edition=edition) for m in both_metals(case)]
    rows = [row for row in rows if row.edition == edition]
    if not rows:
        return None
    row = max(rows, key=lambda one: one.minimum)
    return row.minimum, f"{row.source}, {row.force}"


def preheat_standing(case: Case) -> str:
    """How far the preheat of the case can be trusted."""
    found = [a.standing for a in case.assumptions if a.key == "limits.preheat_min"]
    return found[0] if found else "given"


def thickness(case: Case) -> float:
    """Nominal thickness of the thicker part [m]."""
    return max(case.pipe.wall, case.fitting.socket_wall)


def deposit(case: Case, p: Pass) -> float | None:
    """Section of metal the pass adds [m²]; None where the metal is in place."""
    return None if case.metal_in_place else bead_areas(case)[p.number - 1]


def deposition(case: Case, p: Pass) -> float | None:
    """Filler laid down while the arc burns [kg/s]."""
    area = deposit(case, p)
    return None if area is None else area * p.travel * case.filler.density


def filler_share(case: Case, p: Pass) -> float | None:
    """Part of the net power that heats the filler from air to molten."""
    area, metal = deposit(case, p), case.filler
    if area is None:
        return None
    heat = enthalpy_at(metal, metal.liquidus) - enthalpy_at(metal, case.surroundings.air)
    return area * p.travel * float(heat) / p.net_power


def tungsten_range(p: Pass) -> tuple[float, float] | None:
    """Least and most current of the electrode given, widest of the tables [A]."""
    return None if p.tungsten is None else tungsten_currents(p.tungsten)


def tungstens_in_words(case: Case, p: Pass) -> str | None:
    """Electrodes whose range holds the current, in words, where none is given.

    In the units the case asks for, else in those it is written in.
    """
    if p.tungsten is not None or not p.has_current:
        return None
    sizes = {
        row.diameter
        for row in tungstens()
        if row.current_min <= p.current <= row.current_max
    }
    units = UNIT_SYSTEMS[case.report_units or case.units]
    digits = 1 if units.length_unit == "mm" else 3
    shown = [f"{units.value('length', size):.{digits}f}" for size in sorted(sizes)]
    return f"{' or '.join(shown)} {units.length_unit}" if shown else "none listed"


def table_currents(case: Case, _: Pass) -> tuple[float | None, float] | None:
    """Least and most current of the printed tables for this pipe [A]."""
    pipe = case.pipe
    return printed_currents(pipe.material.family, pipe.wall, pipe.outside_diameter)
