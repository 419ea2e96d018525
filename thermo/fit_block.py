"""What readings taught, as lines for the case file."""

from .joint import Case, Doubt
from .priors import best_value

UNITS = {  # of the last word of a key: unit in the file, SI value of one
    "voltage": ("V", 1.0),
    "current": ("A", 1.0),
    "net_power": ("W", 1.0),
    "end_gap": ("mm", 1e-3),
    "clearance_conductance": ("W/m^2/K", 1.0),
    "film_coefficient": ("W/m^2/K", 1.0),
    "conductance": ("W/m^2/K", 1.0),
}


def block(case: Case) -> str:
    """Lines that give a case what a fit left of its doubt.

    Travel is left out: it is that of one pass, not of the next joint.

    Parameters
    ----------
    case : Case
        As a fit returns it, with its bands in ``doubt``.
    """
    tables: dict[str, list[str]] = {}
    for doubt in case.doubt:
        table, _, key = doubt.key.rpartition(".")
        if not table.startswith("pass") and not key.startswith("travel"):
            tables.setdefault(table, []).append(_line(case, doubt, key))
    return "\n\n".join(
        "\n".join([f"[{table}]", *lines]) for table, lines in tables.items()
    )


def _line(case: Case, doubt: Doubt, key: str) -> str:
    """One band in the form of the file."""
    values = (best_value(case, doubt.key), doubt.low, doubt.high)
    best, low, high = (_text(key, value) for value in values)
    return f"{key} = {{ best = {best}, low = {low}, high = {high} }}"


def _text(key: str, value: float) -> str:
    if key == "air":
        return f'"{value - 273.15:.4g} degC"'
    if key in UNITS:
        unit, one = UNITS[key]
        return f'"{value / one:.4g} {unit}"'
    return f"{value:.4g}"
