"""Conversions to and from the units that appear in files and on dials.

Everything else in the program keeps one unit per quantity. All factors are exact by definition. Source: the
international yard and pound agreement of 1959, the standard acceleration of free fall, the kelvin scale.

>>> round(bar_from_psi(3000.0), 2)
206.84
>>> round(metres_from_feet(60.0), 3)
18.288
"""

from typing import Final, TypeVar

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

# One number or an array of them; a function gives back the kind that it was given.
Numbers = TypeVar("Numbers", float, FloatArray)

METRES_PER_FOOT: Final = 0.3048
KILOGRAMS_PER_POUND: Final = 0.45359237
_STANDARD_GRAVITY_M_S2: Final = 9.80665
BAR_PER_PSI: Final = KILOGRAMS_PER_POUND * _STANDARD_GRAVITY_M_S2 / 0.0254**2 / 1e5
LITRES_PER_CUBIC_FOOT: Final = (10.0 * METRES_PER_FOOT) ** 3
ZERO_CELSIUS_K: Final = 273.15


def metres_from_feet(feet: Numbers) -> Numbers:
    """Return a length given in feet. [m]"""
    return feet * METRES_PER_FOOT


def feet_from_metres(metres: Numbers) -> Numbers:
    """Return a length given in metres. [ft]"""
    return metres / METRES_PER_FOOT


def bar_from_psi(psi: Numbers) -> Numbers:
    """Return a pressure given in pounds-force per square inch. [bar]"""
    return psi * BAR_PER_PSI


def psi_from_bar(bar: Numbers) -> Numbers:
    """Return a pressure given in bar. [psi]"""
    return bar / BAR_PER_PSI


def bar_from_pascals(pascals: Numbers) -> Numbers:
    """Return a pressure given in pascals. [bar]"""
    return pascals / 1e5


def pascals_from_bar(bar: Numbers) -> Numbers:
    """Return a pressure given in bar. [Pa]"""
    return bar * 1e5


def celsius_from_fahrenheit(fahrenheit: Numbers) -> Numbers:
    """Return a temperature given in degrees Fahrenheit. [deg C]"""
    return (fahrenheit - 32.0) / 1.8


def fahrenheit_from_celsius(celsius: Numbers) -> Numbers:
    """Return a temperature given in degrees Celsius. [deg F]"""
    return celsius * 1.8 + 32.0


def celsius_from_kelvin(kelvin: Numbers) -> Numbers:
    """Return a temperature given in kelvin. [deg C]"""
    return kelvin - ZERO_CELSIUS_K


def kelvin_from_celsius(celsius: Numbers) -> Numbers:
    """Return a temperature given in degrees Celsius. [K]"""
    return celsius + ZERO_CELSIUS_K


def litres_from_cubic_feet(cubic_feet: Numbers) -> Numbers:
    """Return a volume given in cubic feet. [L]"""
    return cubic_feet * LITRES_PER_CUBIC_FOOT


def cubic_feet_from_litres(litres: Numbers) -> Numbers:
    """Return a volume given in litres. [ft3]"""
    return litres / LITRES_PER_CUBIC_FOOT


def kilograms_from_pounds(pounds: Numbers) -> Numbers:
    """Return a mass given in pounds. [kg]"""
    return pounds * KILOGRAMS_PER_POUND


def pounds_from_kilograms(kilograms: Numbers) -> Numbers:
    """Return a mass given in kilograms. [lb]"""
    return kilograms / KILOGRAMS_PER_POUND
