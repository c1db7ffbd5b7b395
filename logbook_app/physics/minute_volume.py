"""How much gas a diver breathes, from two readings of the cylinder's gauge.

Minute volume is what passes through the lungs in a minute at the surface. At depth the same breath
takes as many times more gas as the pressure there is higher.
"""

from logbook_app.physics.constants import STANDARD_PRESSURE_BAR


def ideal_content_l(water_volume_l: float, gauge_bar: float) -> float:
    """Return the gas in a cylinder by Boyle's law, as litres at 1.01325 bar. [L]

        content = water volume * (gauge + 1.01325) / 1.01325

    water_volume_l  volume of the cylinder [L]
    gauge_bar       reading of its gauge, above the air around it [bar]

    Source: Boyle's law.

    >>> round(ideal_content_l(11.1, 206.843))
    2277
    """
    return water_volume_l * (gauge_bar + STANDARD_PRESSURE_BAR) / STANDARD_PRESSURE_BAR


def minute_volume_l_min(used_l: float, minutes: float, mean_ambient_bar: float) -> float:
    """Return the minute volume, in litres at 1.01325 bar breathed at the surface. [L/min]

        minute volume = used / minutes / (mean ambient / 1.01325)

    used_l            gas used, as litres at 1.01325 bar [L]
    minutes           time breathed from the cylinder, above 0 [min]
    mean_ambient_bar  absolute pressure at the time-weighted mean depth of that time [bar]

    Raises ValueError with a sentence when there is no rate to be had. Source: Boyle's law.

    >>> round(minute_volume_l_min(12.0 * 120.0 / 1.01325, 45.0, 2.2), 2)
    14.55
    """
    if minutes <= 0.0:
        raise ValueError(f"No minute volume from {minutes:g} min on the gas; a time above 0 is needed.")
    if used_l <= 0.0:
        raise ValueError(
            f"No minute volume from {used_l:g} L used; the end pressure must be below the begin pressure."
        )
    return used_l / minutes * STANDARD_PRESSURE_BAR / mean_ambient_bar
