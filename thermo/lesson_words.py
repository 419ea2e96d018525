"""Numbers of the lesson as a student writes them.

Sums are done in kilograms, joules and degC whatever the units of the page, for that is
what the tables of specific heat are in; a result that is a temperature, or a rise of one,
is shown in the page's own unit beside it.
"""

from math import isfinite

from .layout import NOTHING
from .units import SI, UnitSystem


def kJ(energy: float) -> str:
    """Heat given in J.

    Examples
    --------
    >>> kJ(35333.0), per_degree(158.8), seconds(973.1)
    ('35.3 kJ', '159 J/degC', '973 s')
    """
    return f"{energy / 1e3:.1f} kJ"


def kg(mass: float) -> str:
    """Mass given in kg."""
    return f"{mass:.3f} kg"


def per_degree(capacity: float) -> str:
    """Heat capacity given in J/K."""
    return f"{capacity:.0f} J/degC"


def specific(heat: float) -> str:
    """Specific heat given in J/kg/K."""
    return f"{heat:.0f} J/kg/degC"


def seconds(time: float) -> str:
    """Time given in s; a dash where there is none."""
    return f"{time:.0f} s" if isfinite(time) else NOTHING


def rise(dT: float, units: UnitSystem = SI) -> str:
    """Difference of temperature given in K: degC, and the page's unit if it is another.

    Examples
    --------
    >>> from thermo.units import US
    >>> rise(100.0), rise(100.0, US)
    ('100 degC', '100 degC (180 degF)')
    """
    plain = f"{dT:.0f} degC"
    return plain if units is SI else f"{plain} ({units.temperature_difference(dT)})"


def degrees(T: float, units: UnitSystem = SI) -> str:
    """Temperature given in K: degC, and the page's unit if it is another.

    Examples
    --------
    >>> from thermo.units import US
    >>> degrees(423.15), degrees(423.15, US)
    ('150 degC', '150 degC (302 degF)')
    """
    plain = f"{T - 273.15:.0f} degC"
    return plain if units is SI else f"{plain} ({units.temperature(T)})"


def millimetres(length: float, units: UnitSystem = SI, digits: int = 0) -> str:
    """Length given in m: mm, and inches on a page in US units."""
    plain = f"{1e3 * length:.{digits}f} mm"
    return plain if units is SI else f"{plain} ({units.length(length, 2)})"


def times(ratio: float) -> str:
    """How many times.

    Examples
    --------
    >>> times(5.3665)
    '5.37'
    """
    return f"{ratio:.3g}"
