"""Metals: conductivity and volumetric enthalpy tabulated against temperature."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

TABLE_START = 200.0  # K
TABLE_STEP = 2.5  # K
TABLE_SIZE = 1321  # nodes, up to 3500 K
TABLE_TEMPERATURE: Array = TABLE_START + TABLE_STEP * np.arange(TABLE_SIZE)


@dataclass(frozen=True, eq=False)
class Material:
    """One metal.

    ``conductivity`` [W/m/K] and ``enthalpy`` [J/m³, zero at 20 degC] are (TABLE_SIZE,)
    arrays at ``TABLE_TEMPERATURE``, linear between; enthalpy is strictly increasing.
    """

    name: str
    family: str  # "austenitic", "carbon steel", "low alloy", "duplex", "nickel", ...
    density: float  # kg/m³ at 20 degC, constant: the model keeps mass
    conductivity: Array
    enthalpy: Array
    solidus: float  # K
    liquidus: float  # K
    latent_heat: float  # J/kg
    emissivity_bright: float
    emissivity_oxidised: float
    carbon_percent: float = 0.0
    sources: tuple[tuple[str, str, str], ...] = ()  # (quantity, source, standing)
