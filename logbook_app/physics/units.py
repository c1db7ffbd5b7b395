"""Conversions to and from the units that appear in files and on dials.

Everything else in the program keeps one unit per quantity. All factors are exact by definition. Source: the
international yard and pound agreement of 1959, the standard acceleration of free fall, the kelvin scale.
"""

from typing import Final, TypeVar

import numpy as np
import numpy.typing as npt

from logbook_app.physics.constants import GRAVITY_M_S2

FloatArray = npt.NDArray[np.float64]

# One number or an array of them; a function gives back the kind that it was given.
Numbers = TypeVar("Numbers", float, FloatArray)

METRES_PER_FOOT: Final = 0.3048
KILOGRAMS_PER_POUND: Final = 0.45359237
BAR_PER_PSI: Final = KILOGRAMS_PER_POUND * GRAVITY_M_S2 / 0.0254**2 / 1e5
LITRES_PER_CUBIC_FOOT: Final = (10.0 * METRES_PER_FOOT) ** 3
ZERO_CELSIUS_K: Final = 273.15


def metres_from_feet(feet: Numbers) -> Numbers:
    """Return a length given in feet. [m]

    feet  the length, scalar or array [ft]

    >>> round(metres_from_feet(60.0), 3)
    18.288
    """
    return feet * METRES_PER_FOOT


def feet_from_metres(metres: Numbers) -> Numbers:
    """Return a length given in metres. [ft]

    metres  the length, scalar or array [m]

    >>> round(feet_from_metres(18.288), 3)
    60.0
    """
    return metres / METRES_PER_FOOT


def bar_from_psi(psi: Numbers) -> Numbers:
    """Return a pressure given in pounds-force per square inch. [bar]

    psi  the pressure, scalar or array [psi]

    >>> round(bar_from_psi(3000.0), 2)
    206.84
    """
    return psi * BAR_PER_PSI


def psi_from_bar(bar: Numbers) -> Numbers:
    """Return a pressure given in bar. [psi]

    bar  the pressure, scalar or array [bar]

    >>> round(psi_from_bar(200.0), 1)
    2900.8
    """
    return bar / BAR_PER_PSI


def bar_from_pascals(pascals: Numbers) -> Numbers:
    """Return a pressure given in pascals. [bar]

    pascals  the pressure, scalar or array [Pa]

    >>> round(bar_from_pascals(101325.0), 5)
    1.01325
    """
    return pascals / 1e5


def pascals_from_bar(bar: Numbers) -> Numbers:
    """Return a pressure given in bar. [Pa]

    bar  the pressure, scalar or array [bar]

    >>> round(pascals_from_bar(1.01325), 2)
    101325.0
    """
    return bar * 1e5


def celsius_from_fahrenheit(fahrenheit: Numbers) -> Numbers:
    """Return a temperature given in degrees Fahrenheit. [deg C]

    fahrenheit  the temperature, scalar or array [deg F]

    >>> round(celsius_from_fahrenheit(50.0), 2)
    10.0
    """
    return (fahrenheit - 32.0) / 1.8


def fahrenheit_from_celsius(celsius: Numbers) -> Numbers:
    """Return a temperature given in degrees Celsius. [deg F]

    celsius  the temperature, scalar or array [deg C]

    >>> round(fahrenheit_from_celsius(10.0), 2)
    50.0
    """
    return celsius * 1.8 + 32.0


def celsius_from_kelvin(kelvin: Numbers) -> Numbers:
    """Return a temperature given in kelvin. [deg C]

    kelvin  the temperature, scalar or array [K]

    >>> round(celsius_from_kelvin(287.15), 2)
    14.0
    """
    return kelvin - ZERO_CELSIUS_K


def kelvin_from_celsius(celsius: Numbers) -> Numbers:
    """Return a temperature given in degrees Celsius. [K]

    celsius  the temperature, scalar or array [deg C]

    >>> round(kelvin_from_celsius(14.0), 2)
    287.15
    """
    return celsius + ZERO_CELSIUS_K


def litres_from_cubic_feet(cubic_feet: Numbers) -> Numbers:
    """Return a volume given in cubic feet. [L]

    cubic_feet  the volume, scalar or array [cu ft]

    >>> round(litres_from_cubic_feet(1.0), 3)
    28.317
    """
    return cubic_feet * LITRES_PER_CUBIC_FOOT


def cubic_feet_from_litres(litres: Numbers) -> Numbers:
    """Return a volume given in litres. [cu ft]

    litres  the volume, scalar or array [L]

    >>> round(cubic_feet_from_litres(28.316846592), 3)
    1.0
    """
    return litres / LITRES_PER_CUBIC_FOOT


def kilograms_from_pounds(pounds: Numbers) -> Numbers:
    """Return a mass given in pounds. [kg]

    pounds  the mass, scalar or array [lb]

    >>> round(kilograms_from_pounds(10.0), 3)
    4.536
    """
    return pounds * KILOGRAMS_PER_POUND


def pounds_from_kilograms(kilograms: Numbers) -> Numbers:
    """Return a mass given in kilograms. [lb]

    kilograms  the mass, scalar or array [kg]

    >>> round(pounds_from_kilograms(4.5359237), 3)
    10.0
    """
    return kilograms / KILOGRAMS_PER_POUND
