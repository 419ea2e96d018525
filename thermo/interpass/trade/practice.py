"""Limits, efficiencies, electrodes and currents the trade and its standards use.

Each row says where it comes from and how far that can be trusted.
"""

import re
from dataclasses import dataclass, replace
from math import inf, nan
from typing import Protocol

from ..text.errors import CatalogueError, unknown
from ..text.units import parse
from .rows import records

STAINLESS = ("austenitic", "superaustenitic", "duplex", "super duplex", "nickel")
"""Families that are welded as stainless steel is: schedule 80S, purge, its currents."""

CHROMIUM = (*STAINLESS, "martensitic", "ferritic 27Cr", "low alloy", "9Cr-1Mo-V", "own")
"""Families with chromium in them, 1 % or more: their fume holds hexavalent chromium.

What a material of one's own is made of nobody said: it counts as having chromium.
"""

HARDENABLE = ("carbon steel", "low alloy", "martensitic", "9Cr-1Mo-V")
"""Families that a quench hardens and may crack (common practice)."""

NOT_LISTED = ("copper", "own")
"""Families that the printed tables of currents have nothing on."""

TUNGSTEN_LIKE = 0.2e-3  # m; 3/32 in is 2.4 mm in the trade

PREHEAT_EDITIONS = (2010, 2014)  # of ASME B31.3
OTHER_METALS = ("all others", 2014)

_SPECIFICATION = re.compile(
    r"^(?:(?:ASTM|ASME)[ /]*)*S?(?P<number>A)[- ]?(?P<digits>[0-9]{2,3})M?\b[ ,/-]*"
    r"(?:(?:GR(?:ADE)?|TYPE|WP)\b\.?[ -]*)?(?P<grade>.*)$",
    re.IGNORECASE,
)

SEVERAL = {
    "ss": ("304L", "316L", "321", "347"),
    "stainless": ("304L", "316L", "321", "347"),
    "stainless steel": ("304L", "316L", "321", "347"),
    "inox": ("304L", "316L", "321", "347"),
    "a312": ("304L", "316L", "321", "347"),
    "a182": ("F304L", "F316L", "F11"),
    "a335": ("P11",),
    "alloy steel": ("P11",),
}
"""Words of the trade that do not say which metal, and some that do (common practice)."""


def spellings(name: str) -> tuple[str, ...]:
    """Ways to look a metal up: as written, with its specification spelt short, its grade.

    Examples
    --------
    >>> spellings("ASTM A312 TP304L")
    ('ASTM A312 TP304L', 'A312 TP304L', 'TP304L')
    >>> spellings("SA-105")
    ('SA-105', 'A105')
    """
    found = _SPECIFICATION.match(name.strip())
    if not found:
        return (name,)
    short, grade = f"A{found['digits']}", found["grade"].strip()
    return (name, f"{short} {grade}", grade) if grade else (name, short)


def check_is_one_metal(name: str) -> None:
    """Refuse a word that several metals go by.

    Raises
    ------
    CatalogueError
        Naming some of them.
    """
    word = spellings(name)[-1].strip().lower()
    if word in SEVERAL:
        msg = f"'{name}' does not say which metal"
        raise CatalogueError(msg, f"write its grade, like {', '.join(SEVERAL[word])}")


class HasFamily(Protocol):
    """Anything with a name and a material family, such as a ``Material``."""

    @property
    def name(self) -> str:
        """What the metal is called."""

    @property
    def family(self) -> str:
        """The group of metals that share limits."""

    @property
    def carbon_percent(self) -> float:
        """Carbon by mass."""


@dataclass(frozen=True)
class LimitRow:
    """Interpass temperature limit of one material family [K]."""

    family: str
    p_number: str
    maximum: float
    is_default: bool
    source: str
    standing: str
    minimum: float | None = None
    maximum_degF: float | None = None  # as printed, where the source does so

    def told_in(self, units: str) -> "LimitRow":
        """Return the row with the degF of its source where ``units`` is "us".

        A shop that works by 350 degF does not work by 347, which is 175 degC: standards
        round both. A source that prints degC alone is converted exactly.
        """
        if units != "us" or self.maximum_degF is None:
            return self
        maximum = parse(f"{self.maximum_degF:g} degF", "temperature")
        return replace(self, maximum=maximum)


@dataclass(frozen=True)
class PreheatRow:
    """Least temperature before the first arc [K], and when the row applies."""

    family: str
    p_number: str
    edition: int
    minimum: float
    force: str  # "required" or "recommended"
    source: str
    standing: str
    thickness_over: float = -inf  # m; applies above this wall
    carbon_over_percent: float = -inf
    strength_over: float = -inf  # Pa, specified minimum tensile strength


@dataclass(frozen=True)
class EfficiencyRow:
    """Arc efficiency of a process: "default", "measured" or a "standard k"."""

    process: str
    kind: str
    value: float
    source: str
    standing: str
    low: float = nan  # where the source gives none
    high: float = nan


@dataclass(frozen=True)
class TungstenRow:
    """Current a tungsten electrode carries, DCEN in argon: diameter [m], current [A]."""

    diameter: float
    current_min: float
    current_max: float
    source: str
    standing: str


def limit_rows() -> tuple[LimitRow, ...]:
    """Every interpass limit held, defaults and alternatives."""
    return records(LimitRow, "limits")


def interpass_limit(material: HasFamily | str) -> LimitRow:
    """Return the default interpass maximum of a material, or of a family by name [K].

    Where several are in common use the stricter is the default, except austenitic
    stainless steel: 175 degC is what nearly every procedure has. The others stand in
    ``limit_rows``.

    Raises
    ------
    CatalogueError
        No limit is customary for the family (copper, a material of one's own).

    Examples
    --------
    >>> round(interpass_limit("austenitic").maximum - 273.15)
    175
    """
    family = material if isinstance(material, str) else material.family
    for row in limit_rows():
        if row.family == family and row.is_default:
            return row
    known = dict.fromkeys(row.family for row in limit_rows())
    error = unknown("default interpass limit for material family", family, known)
    raise error


def preheat_rows() -> tuple[PreheatRow, ...]:
    """Every preheat minimum of ASME B31.3, 2010 and 2014, in order of precedence."""
    return records(PreheatRow, "preheat")


def preheat_min(
    material: HasFamily | str,
    wall: float,
    carbon_percent: float | None = None,
    strength: float = 0.0,
    edition: int = 2014,
) -> PreheatRow:
    """Least temperature before the first arc, ASME B31.3 Table 330.1.1 [K].

    Parameters
    ----------
    material : Material or str
        The material, or its family by name.
    wall : float
        Nominal thickness of the thicker part [m].
    carbon_percent : float, optional
        Carbon by mass; the material's own when left out.
    strength : float
        Specified minimum tensile strength [Pa].
    edition : int
        2010 or 2014.

    Notes
    -----
    A family the table does not name gets the row "all other materials" of 2014.

    Raises
    ------
    CatalogueError
        The edition is not held.

    Examples
    --------
    >>> round(preheat_min("low alloy", 5e-3).minimum - 273.15)
    120
    """
    family = material if isinstance(material, str) else material.family
    if carbon_percent is None:
        carbon_percent = 0.0 if isinstance(material, str) else material.carbon_percent
    if edition not in PREHEAT_EDITIONS:
        error = unknown("preheat table of ASME B31.3, edition", edition, PREHEAT_EDITIONS)
        raise error
    return next(
        row
        for row in preheat_rows()
        if (row.family, row.edition) in ((family, edition), OTHER_METALS)
        and wall > row.thickness_over
        and carbon_percent > row.carbon_over_percent
        and strength > row.strength_over
    )


def efficiencies(process: str | None = None) -> tuple[EfficiencyRow, ...]:
    """Arc efficiencies and standards' factors, of one process or of all."""
    found = records(EfficiencyRow, "efficiency")
    return tuple(row for row in found if process in (None, row.process))


def efficiency(process: str, kind: str = "default") -> EfficiencyRow:
    """One efficiency of a process: kind "default" (physics) or "standard k".

    Raises
    ------
    CatalogueError
        None is held for the process.

    Examples
    --------
    >>> efficiency("GTAW").value, efficiency("GTAW", "standard k").value
    (0.75, 0.6)
    """
    for row in efficiencies(process):
        if row.kind == kind:
            return row
    known = dict.fromkeys(row.process for row in efficiencies() if row.kind == kind)
    error = unknown(f"{kind} arc efficiency for process", process, known)
    raise error


def tungstens() -> tuple[TungstenRow, ...]:
    """Return the current ranges of tungsten electrodes; several sources per diameter."""
    return records(TungstenRow, "tungsten")


def tungsten_currents(diameter: float) -> tuple[float, float] | None:
    """Least and most current of an electrode, widest of the tables [A]; None where unknown.

    ``diameter`` is in m, as exact as the trade has it: 3/32 in is 2.4 mm.
    """
    near = [row for row in tungstens() if abs(row.diameter - diameter) < TUNGSTEN_LIKE]
    if not near:
        return None
    return min(r.current_min for r in near), max(r.current_max for r in near)


@dataclass(frozen=True)
class CurrentRow:
    """Current of a printed table for a plate by thickness, or a pipe by diameter [A]."""

    weld: str
    metal: str
    current_min: float
    current_max: float
    source: str
    standing: str
    thickness_mm: float = nan
    outside_diameter_mm: float = nan


def printed_currents(
    family: str, wall: float, outside_diameter: float
) -> tuple[float | None, float] | None:
    """Least and most current of the printed tables for a pipe [A]; None for some metals.

    Parameters
    ----------
    family : str
        Of the pipe's metal.
    wall, outside_diameter : float
        Of the pipe [m].

    Notes
    -----
    Plates by thickness, pipes by diameter; between two lines of a table linear, beyond
    its ends held. Pipe thinner than the tables' thinnest has no least current: it takes
    less than any plate.
    """
    if family in NOT_LISTED:
        return None
    metal = "stainless" if family in STAINLESS else "carbon steel"
    plate = _currents("fillet on plate", metal, "thickness_mm", 1e3 * wall)
    pipe = _currents("root pass on pipe", "any", "outside_diameter_mm",
                     1e3 * outside_diameter)  # fmt: skip
    if pipe is None:
        return None, plate[1] if plate else 0.0
    bounds = [pair for pair in (plate, pipe) if pair]
    return min(low for low, _ in bounds), max(high for _, high in bounds)


def _currents(weld: str, metal: str, by: str, x: float) -> tuple[float, float] | None:
    """Return the current bounds of one table [A]; None below the pipes it lists."""
    rows = [
        row
        for row in records(CurrentRow, "current")
        if (row.weld, row.metal) == (weld, metal)
    ]
    at: list[float] = [getattr(row, by) for row in rows]
    if by == "outside_diameter_mm" and x < at[0]:
        return None
    lows, highs = [r.current_min for r in rows], [r.current_max for r in rows]
    return _between(x, at, lows), _between(x, at, highs)


def _between(x: float, at: list[float], values: list[float]) -> float:
    """Linear between points, held at the ends."""
    if x <= at[0]:
        return values[0]
    for n in range(1, len(at)):
        if x <= at[n]:
            share = (x - at[n - 1]) / (at[n] - at[n - 1])
            return values[n - 1] + share * (values[n] - values[n - 1])
    return values[-1]
