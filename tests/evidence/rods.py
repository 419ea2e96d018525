"""Two student laboratory experiments as brackets: rods that cool, and a rod heated at one end.

Facts only, as they were reported; the logs themselves are not ours to give, and how the rods
lay is not stated. They show a film or a metal that is wrong by a third, and no more.

Aluminium, 25 mm x 305 mm, in still room air of about 23 degC, logged every 2 s: loss at 70 degC
7.5 W/m²K smooth, 9.7 rough, 12.0 lacquered, each +-15 %. Stainless steel of type 303, 25.4 mm,
insulated, a band heater round one end, the other held cold, eight thermocouples 12.7 mm apart:
3.65 to 4.3 mm²/s fit them to 0.13 to 0.18 K, with 3.7 to 5 W/m²K through the insulation.
"""

import numpy as np
from interpass.physics.films import convection_still_horizontal, radiation
from interpass.physics.metals import conductivity_at, material, specific_heat_at

from evidence.check import make_check, one

RODS = "Measured: rods of student laboratories"
HERE = "evidence/rods.py"
LOSSES = {"smooth": (7.5, 0.07), "rough": (9.7, 0.25), "lacquered": (12.0, 0.85)}
"""Loss measured [W/m²K], and the emissivity of such a surface (from memory)."""
READ_TO = 0.15  # share of a loss
SURFACE, AIR, DIAMETER = 343.15, 296.15, 0.025  # K, K, m
BRACKET = (3.65e-6, 4.3e-6)  # m²/s
GRADES = ("304L", "316L", "321", "347")
OTHER_GRADE = 0.20  # share: none of them is type 303, and 304L and 321 differ by a fifth
WARM = 333.15  # K


def cooling_rods():
    """Film and radiation of a 25 mm rod at 70 degC in still air."""
    film = float(convection_still_horizontal(SURFACE, AIR, DIAMETER))
    for finish, (loss, emissivity) in LOSSES.items():
        ours = film + float(radiation(SURFACE, AIR, emissivity))
        what = f"loss of a {finish} aluminium rod at 70 degC, emissivity {emissivity:g}"
        source = "student laboratory logs, orientation not stated; +-15 %; emissivity from memory"
        found = [one(ours, loss, READ_TO * loss)]
        yield make_check(found, RODS, what, source, "measured", "W/m²K", "each", HERE)


def heated_rod():
    """Diffusivity of the austenitic grades of our table at 60 degC; type 303 is not in it."""
    ours = [_diffusivity(material(name)) for name in GRADES]
    middle = sum(BRACKET) / 2
    source = (
        "type 303, student laboratory logs; bracket 3.65 to 4.3, other grades within 20 %"
    )
    found = [
        one(1e6 * np.array(ours), [1e6 * middle] * len(ours), OTHER_GRADE * 1e6 * middle)
    ]
    what = "diffusivity of 304L, 316L, 321 and 347 at 60 degC"
    return make_check(found, RODS, what, source, "measured", "mm²/s", "each", HERE)


def _diffusivity(metal):
    capacity = metal.density * float(specific_heat_at(metal, WARM))
    return float(conductivity_at(metal, WARM)) / capacity


def rod_checks():
    """Both experiments; they take no time."""
    return [*cooling_rods(), heated_rod()]
