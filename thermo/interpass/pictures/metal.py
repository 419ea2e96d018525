"""Picture of a metal: conductivity and specific heat against temperature."""

from matplotlib.figure import Figure

from ..physics.metals import (
    TABLE_STEP,
    TABLE_TEMPERATURE,
    Material,
    conductivity_at,
    specific_heat_at,
)
from ..text.kinds import SI, UnitSystem
from .style import HOT, MEAN, SIZE, bare, canvas

COLDEST = 253.15  # K
BEYOND = 100.0  # K above the liquidus


def material_figure(metal: Material, units: UnitSystem = SI) -> Figure:
    """Conductivity and specific heat of a metal, as the model uses them.

    The heat of melting is left out of the picture's scale: the grey band marks where it
    is taken up.
    """
    every = TABLE_TEMPERATURE
    kelvin = every[(every > COLDEST) & (every < metal.liquidus + BEYOND)]
    shown = units.value("temperature", kelvin)
    melting = (kelvin > metal.solidus - TABLE_STEP) & (kelvin < metal.liquidus)
    heat = specific_heat_at(metal, kelvin)
    with canvas(SIZE) as figure:
        above, below = figure.subplots(2, 1, sharex=True)
        above.plot(shown, conductivity_at(metal, kelvin), color=HOT, lw=1.6)
        below.plot(shown, heat, color=MEAN, lw=1.6, ls=(0, (5, 2)))
        below.set_ylim(0.0, 1.1 * float(heat[~melting].max()))
        for axes in (above, below):
            axes.set_ylim(bottom=0.0)
            band = (
                units.value("temperature", metal.solidus),
                units.value("temperature", metal.liquidus),
            )
            axes.axvspan(*band, color="#d9d9d9", lw=0)
            bare(axes)
        above.set_title(f"{metal.name}, as the model uses it; grey: melting", loc="left")
        above.set_ylabel("Conductivity, W/m/K")
        below.set_ylabel("Specific heat, J/kg/K")
        below.set_xlabel(f"Temperature, {units.temperature_unit}")
    return figure
