"""What printed tables say of a current: for the electrode, and for the pipe it welds."""

from math import isfinite

from . import catalogue
from .joint import Case, Pass
from .tables import table_rows

STAINLESS = ("austenitic", "superaustenitic", "duplex", "super duplex", "nickel")
NOT_LISTED = ("copper", "own")
TUNGSTEN_LIKE = 0.2e-3  # m; 3/32 in is 2.4 mm in the trade


def tungsten_range(p: Pass) -> tuple[float, float] | None:
    """Least and most current of the electrode given, widest of the tables [A]."""
    if p.tungsten is None:
        return None
    near = [row for row in catalogue.tungstens()
            if abs(row.diameter - p.tungsten) < TUNGSTEN_LIKE]  # fmt: skip
    if not near:
        return None
    return min(r.current_min for r in near), max(r.current_max for r in near)


def tungstens(_: Case, p: Pass) -> str | None:
    """Electrodes whose range holds the current, in words, where none is given."""
    if p.tungsten is not None or not isfinite(p.current):
        return None
    sizes = {
        row.diameter
        for row in catalogue.tungstens()
        if row.current_min <= p.current <= row.current_max
    }
    shown = [f"{1e3 * size:.1f}" for size in sorted(sizes)]
    return f"{' or '.join(shown)} mm" if shown else "none listed"


def table_currents(case: Case, _: Pass) -> tuple[float | None, float] | None:
    """Least and most current of the printed tables for this pipe [A].

    Plates by thickness, pipes by diameter; between two lines of a table linear, beyond
    its ends held. Pipe thinner than the tables' thinnest has no least current: it takes
    less than any plate.
    """
    family = case.pipe.material.family
    metal = "stainless" if family in STAINLESS else "carbon steel"
    if family in NOT_LISTED:
        return None
    plate = _interpolated("fillet on plate", metal, "thickness_mm", case.pipe.wall)
    diameter = case.pipe.outside_diameter
    pipe = _interpolated("root pass on pipe", "any", "outside_diameter_mm", diameter)
    if pipe is None:
        return None, plate[1] if plate else 0.0
    bounds = [pair for pair in (plate, pipe) if pair]
    return min(low for low, _ in bounds), max(high for _, high in bounds)


def _interpolated(
    weld: str, metal: str, by: str, metres: float
) -> tuple[float, float] | None:
    """Return the current bounds of one table [A]; None below the pipes it lists."""
    rows = [
        row
        for row in table_rows("current")
        if (row["weld"], row["metal"]) == (weld, metal)
    ]
    at, x = [float(row[by]) for row in rows], 1e3 * metres
    if by == "outside_diameter_mm" and x < at[0]:
        return None
    lows, highs = ([float(r[f"current_{end}_A"]) for r in rows] for end in ("min", "max"))
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
