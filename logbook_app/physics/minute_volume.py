"""How much gas a diver breathes, from two readings of the cylinder's gauge.

Free gas is what a cylinder holds, as litres at 1.01325 bar and the cylinder's temperature. Boyle's law
gives the ideal figure; a real gas under pressure holds less (air, trimix) or more (oxygen) than that, see
`compressibility`.

Minute volume is what passes through the lungs in a minute. At depth the same breath takes as many times more
gas as the pressure there is higher, so the gas used is divided by time and by mean ambient pressure.
"""

from logbook_app.physics.breathing_gas import BreathingGas
from logbook_app.physics.compressibility import HIGHEST_PRESSURE_BAR, compressibility_factor
from logbook_app.physics.constants import STANDARD_PRESSURE_BAR


def ideal_free_gas_l(water_volume_l: float, gauge_bar: float) -> float:
    """Return the gas in a cylinder by Boyle's law, as litres at 1.01325 bar. [L]

        free gas = water volume * (gauge + 1.01325) / 1.01325

    water_volume_l  volume of the cylinder [L]
    gauge_bar       reading of its gauge, above the standard atmosphere [bar]

    Source: Boyle's law.

    >>> round(ideal_free_gas_l(11.1, 206.843))
    2277
    """
    return water_volume_l * (gauge_bar + STANDARD_PRESSURE_BAR) / STANDARD_PRESSURE_BAR


def free_gas_l(
    water_volume_l: float, gauge_bar: float, gas: BreathingGas, temperature_c: float = 20.0
) -> float:
    """Return the real gas in a cylinder, as litres at 1.01325 bar and the same temperature. [L]

        free gas = water volume * p / 1.01325 * Z(1.01325 bar) / Z(p),   p = gauge + 1.01325

    water_volume_l  volume of the cylinder [L]
    gauge_bar       reading of its gauge, above the standard atmosphere, 0 to 448 [bar]
    gas             what is in it
    temperature_c   temperature of the gas [deg C]

    Raises ValueError outside the range of `compressibility`. Source: the law of real gases with GERG-2008.

    >>> round(free_gas_l(11.1, 206.843, BreathingGas(0.21)), -1)
    2200.0
    """
    compressed = compressibility_factor(gas, gauge_bar + STANDARD_PRESSURE_BAR, temperature_c)
    free = compressibility_factor(gas, STANDARD_PRESSURE_BAR, temperature_c)
    return ideal_free_gas_l(water_volume_l, gauge_bar) * free / compressed


def minute_volume_l_min(used_l: float, minutes: float, mean_ambient_bar: float) -> float:
    """Return the minute volume, the litres that pass through the lungs in a minute. [L/min]

        minute volume = used / minutes * 1.01325 / mean ambient

    used_l            gas used, as litres at 1.01325 bar [L]
    minutes           time breathed from the cylinder, above 0 [min]
    mean_ambient_bar  absolute pressure at the time-weighted mean depth of that time, above 0 [bar]

    Raises ValueError with a sentence when there is no rate to be had. Source: Boyle's law.

    >>> round(minute_volume_l_min(12.0 * 120.0 / 1.01325, 45.0, 2.2), 2)
    14.55
    """
    if not minutes > 0.0:
        raise ValueError(
            f"No minute volume follows from {minutes:g} min on the gas; it takes a time above 0."
        )
    if not mean_ambient_bar > 0.0:
        raise ValueError(f"No minute volume follows from a mean pressure of {mean_ambient_bar:g} bar.")
    if not used_l > 0.0:
        raise ValueError(
            f"No minute volume follows from {used_l:g} L used; the end pressure has to be below "
            "the start pressure and the cylinder's volume above 0."
        )
    return used_l / minutes * STANDARD_PRESSURE_BAR / mean_ambient_bar


def gas_breathed_l(minute_volume: float, minutes: float, mean_ambient_bar: float) -> float:
    """Return the gas that a diver breathes in some time, as litres at 1.01325 bar. [L]

        gas = minute volume * minutes * mean ambient / 1.01325

    minute_volume     litres that pass through the lungs in a minute [L/min]
    minutes           time [min]
    mean_ambient_bar  absolute pressure at the time-weighted mean depth of that time [bar]

    Source: Boyle's law; it is `minute_volume_l_min` the other way round.

    >>> round(gas_breathed_l(15.0, 20.0, 3.03975), 6)
    900.0
    """
    return minute_volume * minutes * mean_ambient_bar / STANDARD_PRESSURE_BAR


def gauge_bar_holding(
    water_volume_l: float, free_l: float, gas: BreathingGas, temperature_c: float = 20.0
) -> float:
    """Return what the gauge of a cylinder shows when it holds some free gas. [bar]

    water_volume_l  volume of the cylinder, above 0 [L]
    free_l          free gas in it, as litres at 1.01325 bar [L]
    gas             what is in it
    temperature_c   temperature of the gas [deg C]

    At or under the surrounding pressure the gauge shows 0. Raises ValueError where no cylinder holds as much,
    above 448 bar. Source: `free_gas_l` the other way round, by halving.

    >>> round(gauge_bar_holding(12.0, free_gas_l(12.0, 50.0, BreathingGas(0.32)), BreathingGas(0.32)), 6)
    50.0
    """
    low_bar, high_bar = 0.0, HIGHEST_PRESSURE_BAR - STANDARD_PRESSURE_BAR
    if free_l > free_gas_l(water_volume_l, high_bar, gas, temperature_c):
        raise ValueError(
            f"{free_l:.0f} L are more than a cylinder of {water_volume_l:g} L holds at {high_bar:.0f} bar."
        )
    for _ in range(60):
        middle_bar = (low_bar + high_bar) / 2
        if free_gas_l(water_volume_l, middle_bar, gas, temperature_c) < free_l:
            low_bar = middle_bar
        else:
            high_bar = middle_bar
    return high_bar if high_bar > 1e-9 else 0.0
