"""Pipe, socket fittings and flanges as tables, each row with its source.

The rows live in ``data/*.csv`` with the unit in the column name; here they become
SI. A row's ``standing`` says how far it can be trusted, see ``STANDINGS``.
"""

import re
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache

from ..text.errors import unknown
from ..text.kinds import UnitSystem
from .rows import NominalSize, record, table_rows

NPS_TO_DN = {
    "1/8": 6, "1/4": 8, "3/8": 10, "1/2": 15, "3/4": 20, "1": 25, "1 1/4": 32,
    "1 1/2": 40, "2": 50, "2 1/2": 65, "3": 80, "3 1/2": 90, "4": 100,
}  # fmt: skip

OUTSIDE_INCH = {
    "1/8": "0.405", "1/4": "0.540", "3/8": "0.675", "1/2": "0.840", "3/4": "1.050",
    "1": "1.315", "1 1/4": "1.660", "1 1/2": "1.900", "2": "2.375", "2 1/2": "2.875",
    "3": "3.500", "3 1/2": "4.000", "4": "4.500",
}  # fmt: skip
"""Outside diameters as ASME B36.10M prints them in inches; its mm are rounded (memory)."""


def diameter_text(size: str, diameter: float, units: UnitSystem) -> str:
    """Text of an outside diameter [m]: of a nominal size, inches as the standard has them.

    Examples
    --------
    >>> from interpass.text.kinds import US
    >>> diameter_text("NPS 2", 60.3e-3, US), diameter_text("", 60.3e-3, US)
    ('2.375 in', '2.374 in')
    """
    if size and units.length_unit == "in":
        return f"{OUTSIDE_INCH[nominal_size(size)]} in"
    return units.length(diameter)


@dataclass(frozen=True)
class PipeRow:
    """Outside diameter and nominal wall of one pipe [m]."""

    size: NominalSize
    schedules: tuple[str, ...]  # all names of the same wall
    outside_diameter: float
    wall: float
    source: str
    standing: str
    schedule: str = ""  # as asked for


@dataclass(frozen=True)
class SocketRow:
    """B16.11 socket and body [m]: ``wall`` is the average round the periphery."""

    size: NominalSize
    pressure_class: int
    bore: float  # minimum
    bore_max: float
    wall: float
    wall_min: float
    body_bore: float
    body_wall: float  # minimum
    depth: float  # minimum
    coupling_gap: float  # socket bottom to socket bottom
    half_coupling: float  # socket bottom to the far end
    source: str
    standing: str


@dataclass(frozen=True)
class ElbowCapRow:
    """B16.11 centre to socket bottom of 90 degree elbow and tee; cap end wall [m]."""

    size: NominalSize
    pressure_class: int
    centre_to_bottom: float
    cap_end: float
    source: str
    standing: str


@dataclass(frozen=True)
class FlangeRow:
    """B16.5 socket-welding flange: hub and socket, and its disc [m].

    Hub and socket come from one source, the disc (outside diameter, thickness without
    the raised face, raised face, bolt holes) from another.
    """

    size: NominalSize
    pressure_class: int
    bore: float
    hub_diameter: float
    depth: float
    body_bore: float
    length: float  # through the hub, raised face counted
    outside_diameter: float
    thickness: float
    raised_face_diameter: float
    raised_face: float
    bolts: int
    bolt_hole: float
    source: str
    standing: str
    disc_source: str
    disc_standing: str

    @property
    def wall(self) -> float:
        """Wall of the socket: the hub's."""
        return (self.hub_diameter - self.bore) / 2


def nominal_size(size: str) -> str:
    """Return the trade's name of a pipe size, without "NPS": "3/4", "1 1/2".

    Accepts "NPS 3/4", "3/4", "3/4 in", "1-1/2", "1.5" and "DN 20".

    Raises
    ------
    CatalogueError
        The size is not one of NPS 1/8 to 4.

    Examples
    --------
    >>> nominal_size("NPS 1-1/2"), nominal_size("DN 20"), nominal_size("0.5")
    ('1 1/2', '3/4', '1/2')
    """
    text = re.sub(r"(?i)\bnps\b|\bin(ch)?\b|[\"”″]", " ", str(size))
    if metric := re.fullmatch(r"(?i)\s*dn\s*(\d+)\s*", text):
        names = {dn: nps for nps, dn in NPS_TO_DN.items()}
        if int(metric[1]) in names:
            return names[int(metric[1])]
    asked = inch_fraction(text)
    if asked in _by_inches():
        return _by_inches()[asked]
    error = unknown("pipe size", size, [f"NPS {name}" for name in NPS_TO_DN])
    raise error


@cache
def _by_inches() -> dict[Fraction | None, str]:
    """Names of the sizes by their inches."""
    return {inch_fraction(name): name for name in NPS_TO_DN}


def inch_fraction(text: str) -> Fraction | None:
    """Sum of the numbers in "1 1/2" or "1-1/2" as a fraction; None if not numbers."""
    if not re.fullmatch(r"[\d./\s-]{1,20}", text):  # no exponents: 1e999999 is no size
        return None
    try:
        parts = [Fraction(part) for part in re.split(r"[\s-]+", text.strip())]
        return sum(parts, Fraction(0))
    except (ValueError, ZeroDivisionError):
        return None


def pipe(size: str, schedule: str) -> PipeRow:
    """Outside diameter and nominal wall of a pipe, ASME B36.10M and B36.19M [m].

    Parameters
    ----------
    size : str
        NPS 1/8 to 4 in any form ``nominal_size`` takes.
    schedule : str
        5S, 10S, 40, 40S, STD, 80, 80S, XS, 160 or XXS.

    Raises
    ------
    CatalogueError
        No such size, or the size is not made in that schedule.

    Examples
    --------
    >>> row = pipe("DN 20", "80S")
    >>> row.size, round(1e3 * row.outside_diameter, 2), round(1e3 * row.wall, 2)
    ('NPS 3/4', 26.7, 3.91)
    """
    name = nominal_size(size)
    wanted = re.sub(r"(?i)sch(edule)?\.?|\s", "", str(schedule)).upper()
    rows = [row for row in table_rows("pipe") if row["size"] == name]
    for row in rows:
        if wanted in row["schedules"].split():
            return replace(record(PipeRow, row), schedule=wanted)
    known = [label for row in rows for label in row["schedules"].split()]
    error = unknown(f"NPS {name} pipe of schedule", schedule, known)
    raise error


def row_by_class(table: str, what: str, size: str, pressure_class: int) -> dict[str, str]:
    """Return the row of a table keyed by size and pressure class."""
    name = nominal_size(size)
    rows = table_rows(table)
    of_size = [row for row in rows if row["size"] == name]
    if not of_size:
        sizes = dict.fromkeys(f"NPS {row['size']}" for row in rows)
        error = unknown(f"{what} of size", f"NPS {name}", sizes)
        raise error
    for row in of_size:
        if row["pressure_class"] == str(pressure_class):
            return row
    classes = [row["pressure_class"] for row in of_size]
    error = unknown(f"NPS {name} {what} of class", pressure_class, classes)
    raise error


def socket(size: str, pressure_class: int) -> SocketRow:
    """Socket and body of an ASME B16.11 socket-welding fitting [m].

    Raises
    ------
    CatalogueError
        The size is not made in that class.

    Examples
    --------
    >>> row = socket("NPS 1/2", 3000)
    >>> round(1e3 * (row.bore + 2 * row.wall), 2)  # outside diameter of the socket
    31.14
    """
    row = row_by_class("socket", "socket fitting", size, pressure_class)
    return record(SocketRow, row)


def elbow_cap(size: str, pressure_class: int) -> ElbowCapRow:
    """Centre to socket bottom of elbow and tee, and end wall of a cap (B16.11) [m].

    Raises
    ------
    CatalogueError
        The size is not made in that class.
    """
    row = row_by_class("elbow_cap", "socket fitting", size, pressure_class)
    return record(ElbowCapRow, row)


def flange(size: str, pressure_class: int = 150) -> FlangeRow:
    """Socket-welding flange, ASME B16.5 class 150 [m].

    Raises
    ------
    CatalogueError
        The size or class is not held.

    Examples
    --------
    >>> round(1e3 * flange("1/2").hub_diameter, 2)
    30.23
    """
    hub = row_by_class("flange", "socket-welding flange", size, pressure_class)
    disc = row_by_class("flange_disc", "socket-welding flange", size, pressure_class)
    told = {f"disc_{name}": disc[name] for name in ("source", "standing")}
    return record(FlangeRow, disc | hub | told)
