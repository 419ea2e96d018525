"""Doubtful numbers in their units, and the lines that give a case what a fit taught."""

from ..case_file.keys import kind_of
from ..doubt.bands import Band
from ..doubt.priors import best_value
from ..joint.case import Case, Doubt
from ..readings.fit import Fit
from ..text.kinds import SI, UnitSystem
from ..text.layout import paragraph

MORE_DIGITS = {"travel": 1, "voltage": 1}  # a band is narrower than what is usually shown
LEAST_LEARNT = 0.10  # of the variance; less says next to nothing
NOTHING_LEARNT = "Nothing was learnt that is worth a line of the case file."


def shown_band(key: str, band: Band, units: UnitSystem) -> tuple[str, str]:
    """Best estimate, and lowest to highest, in the unit of the number."""
    low, best, high = (
        shown_number(key, v, units) for v in (band.low, band.best, band.high)
    )
    return best, f"{low} to {high}"


def shown_number(key: str, value: float, units: UnitSystem) -> str:
    """Write a doubtful number in the unit it is shown in."""
    kind = kind_of(key)
    digits = units.digits(kind) + MORE_DIGITS.get(key.rpartition(".")[2], 0)
    return f"{units.value(kind, value):.{digits}f}"


OF_THE_DAY = ("travel", "air", "end_gap")


def block(found: Fit) -> str:
    """Lines that give a case what a fit taught; "" where it taught nothing.

    What the readings said next to nothing of is left out: it stands in the case already.
    Travel, air and end gap are left out: they are those of one joint, not of the next.

    Parameters
    ----------
    found : Fit
        With its bands in the ``doubt`` of its case.
    """
    learnt = {one.key for one in found.numbers if one.learnt >= LEAST_LEARNT}
    tables: dict[str, list[str]] = {}
    for doubt in found.case.doubt:
        table, _, key = doubt.key.rpartition(".")
        is_of_one = table.startswith("pass") or key in OF_THE_DAY
        if doubt.key in learnt and not is_of_one:
            lines = tables.setdefault(table, _head(found.case, table))
            lines.append(_line(found.case, doubt, key))
    return "\n\n".join(
        "\n".join([f"[{table}]", *lines]) for table, lines in tables.items()
    )


def _head(case: Case, table: str) -> list[str]:
    """Lines a table cannot do without: the device that the contact is of."""
    held = case.surroundings.holding
    if table != "surroundings.holding" or held is None or not held.by:
        return []
    return [f'on = "{held.on}"', f'by = "{held.by}"']


def _line(case: Case, doubt: Doubt, key: str) -> str:
    """One band in the form of the file."""
    values = (best_value(case, doubt.key), doubt.low, doubt.high)
    best, low, high = (_text(doubt.key, value) for value in values)
    return f"{key} = {{ best = {best}, low = {low}, high = {high} }}"


def _text(key: str, value: float) -> str:
    kind = kind_of(key)
    number, unit = f"{SI.value(kind, value):.4g}", SI.unit(kind)
    return f'"{number} {unit}"' if unit else number


def used(found: Fit) -> int:
    """Count the readings that were used."""
    return sum(not one.is_flagged for one in found.readings)


def block_text(found: Fit, width: int) -> str:
    """Lines for the case file, and what they are."""
    lines = block(found)
    if not lines:
        return "\n".join(paragraph(NOTHING_LEARNT, width=width))
    words = (
        "For the case file: what the readings taught, for the next joint like this one. "
        "Put each line into its table, in place of what stands there."
    )
    return "\n".join([*paragraph(words, width=width), "", lines])
