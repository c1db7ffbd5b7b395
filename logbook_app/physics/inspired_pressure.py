"""The pressure of an inert gas where it meets the blood."""

from logbook_app.physics.constants import WATER_VAPOUR_37C_BAR
from logbook_app.physics.units import Numbers


def inspired_inert_bar(ambient_bar: Numbers, fraction: Numbers) -> Numbers:
    """Return the pressure of one inert gas in the lung. [bar]

    Water vapour takes its share of the ambient pressure first:

        p = (p_ambient - p_water) * fraction

    ambient_bar  pressure around the diver, scalar or array [bar]
    fraction     share of nitrogen or helium in the dry gas, scalar or array, 0 to 1 [fraction]

    Valid at body temperature with a respiratory quotient of 1; other quotients take 0.0567 or 0.0494 bar
    instead of 0.0627, which moves the surface nitrogen by about one percent.
    Source: A. A. Buehlmann, Decompression - Decompression Sickness, Springer 1984; recalled from memory.

    >>> round(inspired_inert_bar(1.01325, 0.79), 4)
    0.7509
    """
    return (ambient_bar - WATER_VAPOUR_37C_BAR) * fraction
