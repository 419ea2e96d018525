"""Air, argon, nitrogen and helium at 1 atm, tabulated against temperature.

What it computes: ``thermo/MODEL.md``, section 4.
"""

from functools import cache

import numpy as np
from numpy.typing import ArrayLike

from ..text.arrays import Array
from ..text.errors import unknown
from ..trade.rows import table_rows

_COLUMNS = {
    "conductivity": "conductivity_W_per_m_K",
    "viscosity": "viscosity_Pa_s",
    "specific heat": "specific_heat_J_per_kg_K",
    "density": "density_kg_per_m3",
    "prandtl": "prandtl",
}


@cache
def _gas_table() -> dict[str, dict[str, Array]]:
    """Columns of ``data/gas.csv`` by gas, as arrays."""
    rows = table_rows("gas")
    return {
        gas: {
            column: np.array([float(row[column]) for row in rows if row["gas"] == gas])
            for column in ("temperature_K", *_COLUMNS.values())
        }
        for gas in dict.fromkeys(row["gas"] for row in rows)
    }


def gas_property(gas: str, name: str, T: ArrayLike) -> Array:
    """One property of a gas at 1 atm, SI unit.

    Parameters
    ----------
    gas : str
        "air", "argon", "nitrogen" or "helium".
    name : str
        "conductivity" [W/m/K], "viscosity" [Pa s], "specific heat" [J/kg/K],
        "density" [kg/m³] or "prandtl".
    T : float or array
        Temperature; held at the ends of the table, 200 and 2000 K [K].

    Raises
    ------
    CatalogueError
        For a gas or property the table does not hold.

    Notes
    -----
    Linear between rows of ``data/gas.csv``, computed with CoolProp; within 0.3 %.

    Examples
    --------
    >>> round(float(gas_property("argon", "conductivity", 573.15)), 5)
    0.02957
    """
    table = _gas_table()
    if gas not in table:
        raise unknown(what="gas", value=gas, known=table)
    if name not in _COLUMNS:
        raise unknown(what="gas property", value=name, known=_COLUMNS)
    return np.interp(
        np.asarray(T, dtype=float),
        table[gas]["temperature_K"],
        table[gas][_COLUMNS[name]],
    )
