"""Two steels for the finite-element answers, written apart from the package.

A law takes T [K] at points and returns the heat stored since 20 degC [J/m3], its slope
[J/m3/K] and the conductivity [W/m/K].

Sources: 316L, Kim 1975 (ANL-75-55), coefficients read in public restatements; density
held at his fit for 20 degC (the fit from memory); latent heat 270 kJ/kg. Carbon steel,
EN 1993-1-2:2005 clause 3.4.1, read in a published restatement (density from memory).
"""

import numpy as np

ZERO = 273.15  # degC to K
AIR = 20.0 + ZERO  # also where stored heat is zero
SOLIDUS, LIQUIDUS, LATENT = 1648.15, 1673.15, 270e3
DENSITY_316L, DENSITY_STEEL = 7957.478, 7850.0


def stainless(T):
    """316L: Kim 1975, latent heat spread evenly from solidus to liquidus."""
    H = 4184 * (T - AIR) * (0.1097 + 3.174e-5 / 2 * (T + AIR))
    c = 4184 * (0.1097 + 3.174e-5 * T)
    if T.max() > SOLIDUS:
        melted = (T - SOLIDUS) / (LIQUIDUS - SOLIDUS)
        H = H + LATENT * np.clip(melted, 0, 1)
        c = c + ((melted > 0) & (melted < 1)) * LATENT / (LIQUIDUS - SOLIDUS)
    return DENSITY_316L * H, DENSITY_316L * c, 9.248 + 0.01571 * T


def carbon_steel(T):
    """Carbon steel: EN 1993-1-2 clause 3.4.1, specific heat integrated in closed form."""
    t = T - ZERO
    low = np.minimum(t, 600.0)
    H = _to_600(low) - _to_600(20.0)
    c = 425 + low * (0.773 + low * (-1.69e-3 + low * 2.22e-6))
    k = np.where(t < 800, 54 - 3.33e-2 * t, 27.3)
    hot = np.flatnonzero(t >= 600)
    if hot.size:
        H[hot], c[hot] = _hot_steel(t[hot])
    return DENSITY_STEEL * H, DENSITY_STEEL * c, k


def _hot_steel(t):
    """Stored heat [J/kg] and specific heat [J/kg/K] from 600 degC up, t in degC."""
    low, high = np.minimum(t, 735.0), np.clip(t, 735.0, 900.0)
    where = [t < 735, t < 900]
    below = AT_600 + _to_735(low) - _to_735(600.0)
    above = AT_735 + _to_900(high) - _to_900(735.0)
    H = np.select(where, [below, above], AT_900 + 650 * (t - 900))
    c = np.select(where, [666 + 13002 / (738 - low), 545 + 17820 / (high - 731)], 650.0)
    return H, c


def _to_600(t):
    return t * (425 + t * (0.773 / 2 + t * (-1.69e-3 / 3 + t * 2.22e-6 / 4)))


def _to_735(t):
    return 666 * t - 13002 * np.log(738 - t)


def _to_900(t):
    return 545 * t + 17820 * np.log(t - 731)


AT_600 = _to_600(600.0) - _to_600(20.0)
AT_735 = AT_600 + _to_735(735.0) - _to_735(600.0)
AT_900 = AT_735 + _to_900(900.0) - _to_900(735.0)
