"""The oxygen clock and the pulmonary dose.

Central nervous system: every partial pressure has a longest single exposure; the fraction used is the sum
of time over limit. The limits are the NOAA table's, straight lines between its rows. Below its first row,
0.60 bar, nothing is counted; above its last, 1.60 bar, there is no limit any more: the dose is counted at
the last row's rate, which is too little, and `outside_table` says so.

At the surface the fraction halves every 90 minutes: a convention of technical diving, not a NOAA rule.

Lungs: pulmonary units by `minutes * ((ppO2 - 0.5) / 0.5) ** (5/6)`, 1 for each minute at 1 bar.

Between samples the partial pressure runs in a straight line, so a dose is a difference of the integral of
its rate over pressure, exact for rows and ramps of any length. The table is printed in atmospheres absolute
and is used here in bar, 1.3 % on the cautious side.

Source of the table: NOAA Diving Manual, 4th edition, 2001, oxygen partial pressure and exposure limits for
normal exposures; read in several transcriptions, not in print.
"""

from collections.abc import Callable
from typing import Final

import numpy as np
import numpy.typing as npt

from logbook_app.physics.units import FloatArray, Numbers

NOAA_PPO2_BAR: Final = np.array([0.6, 0.7, 0.8, 0.9, 1.0, 1.1, 1.2, 1.3, 1.4, 1.5, 1.6])
NOAA_SINGLE_LIMIT_MIN: Final = np.array([720.0, 570, 450, 360, 300, 240, 210, 180, 150, 120, 45])
NOAA_DAY_LIMIT_MIN: Final = np.array([720.0, 570, 450, 360, 300, 270, 240, 210, 180, 180, 150])
SURFACE_HALF_TIME_MIN: Final = 90.0

LOWEST_TABULATED_BAR: Final = 0.6
HIGHEST_TABULATED_BAR: Final = 1.6
_LUNG_THRESHOLD_BAR: Final = 0.5
_LUNG_EXPONENT: Final = 5.0 / 6.0
# Below this change the difference of integrals loses more digits than the rate in the middle does.
_LEVEL_BAR: Final = 1e-6


def ppo2_bar(ambient_bar: Numbers, oxygen_fraction: Numbers) -> Numbers:
    """Return the partial pressure of oxygen in the breathing gas. [bar]

        ppO2 = fraction * p_ambient

    ambient_bar      absolute pressure, scalar or array [bar]
    oxygen_fraction  share of oxygen in the dry gas, scalar or array, 0 to 1 [fraction]

    Dry gas, as the published limits count it. Source: Dalton's law.

    >>> round(ppo2_bar(4.01325, 0.32), 4)
    1.2842
    """
    return ambient_bar * oxygen_fraction


def single_limit_min(ppo2_bar: npt.ArrayLike) -> FloatArray:
    """Return the longest single exposure at a partial pressure. [min]

    ppo2_bar  partial pressure of oxygen, scalar or array [bar]

    Returns inf below 0.60 bar and the 45 min of the last row above 1.60 bar, where no limit holds any more.
    Source: at the head of this module.

    >>> single_limit_min([0.5, 1.32, 1.6]).round(6).tolist()
    [inf, 174.0, 45.0]
    """
    return _limit_min(ppo2_bar, NOAA_SINGLE_LIMIT_MIN)


def day_limit_min(ppo2_bar: npt.ArrayLike) -> FloatArray:
    """Return the longest exposure in any 24 hours at a partial pressure. [min]

    ppo2_bar  partial pressure of oxygen, scalar or array [bar]

    Returns inf below 0.60 bar. Source: at the head of this module.

    >>> day_limit_min([1.25, 1.4]).round(6).tolist()
    [225.0, 180.0]
    """
    return _limit_min(ppo2_bar, NOAA_DAY_LIMIT_MIN)


def outside_table(ppo2_bar: npt.ArrayLike) -> npt.NDArray[np.bool_]:
    """Return where the partial pressure is above the last row of the table, so that no limit holds.

    ppo2_bar  partial pressure of oxygen, scalar or array [bar]

    >>> outside_table([1.6, 1.62]).tolist()
    [False, True]
    """
    # A hair above 1.60 is the rounding of a product, not a deeper dive.
    return np.asarray(np.asarray(ppo2_bar) > HIGHEST_TABULATED_BAR + 1e-9)


def cns_rate_per_min(ppo2_bar: npt.ArrayLike) -> FloatArray:
    """Return the share of the single-exposure limit used in a minute. [1/min]

        rate = 1 / limit

    ppo2_bar  partial pressure of oxygen, scalar or array [bar]

    0 below 0.60 bar, 1/45 from 1.60 bar up. Source: at the head of this module.

    >>> cns_rate_per_min(1.4).round(6).item()
    0.006667
    """
    return np.asarray(1.0 / single_limit_min(ppo2_bar))


def cns_fraction_along(
    time_min: npt.ArrayLike, ppo2_start_bar: npt.ArrayLike, ppo2_end_bar: npt.ArrayLike
) -> FloatArray:
    """Return the share of the single-exposure limit used up to every sample. [fraction]

    time_min        time of each sample, shape (n,) [min]
    ppo2_start_bar  partial pressure at the start of each segment, shape (n - 1,) [bar]
    ppo2_end_bar    partial pressure at its end, on the gas of that segment, shape (n - 1,) [bar]

    Returns shape (n,), from 0. Exact for straight lines between samples. Nothing is lost during a dive.
    Source: at the head of this module.

    >>> cns_fraction_along([0.0, 30.0], [1.4], [1.4]).round(6).tolist()
    [0.0, 0.2]
    """
    return dose_along(time_min, ppo2_start_bar, ppo2_end_bar, cns_rate_per_min, _cns_integral)


def cns_after_surface(fraction: Numbers, minutes: float) -> Numbers:
    """Return what is left of the oxygen clock after a time at the surface. [fraction]

        left = fraction * 0.5 ** (minutes / 90)

    fraction  share used when surfacing [fraction]
    minutes   time on air at the surface, 0 or more [min]

    Source: a convention of technical diving from about 1990, read in secondary texts; not a NOAA rule.

    >>> round(cns_after_surface(0.80, 60.0), 4)
    0.504
    """
    left: float = 0.5 ** (minutes / SURFACE_HALF_TIME_MIN)
    return fraction * left


def otu_rate_per_min(ppo2_bar: npt.ArrayLike) -> FloatArray:
    """Return the pulmonary dose of a minute. [OTU/min]

        rate = ((ppO2 - 0.5) / 0.5) ** (5/6) above 0.5 bar, else 0

    ppo2_bar  partial pressure of oxygen, scalar or array [bar]

    Source: J. M. Clark, C. J. Lambertsen, Pulmonary oxygen tolerance in man, Institute for Environmental
    Medicine, University of Pennsylvania, report 1-70, 1970; the exponent recalled from memory, also printed
    as 0.83.

    >>> otu_rate_per_min([0.5, 1.0, 1.6]).round(3).tolist()
    [0.0, 1.0, 1.929]
    """
    return np.asarray(_above_lung_threshold(ppo2_bar) ** _LUNG_EXPONENT)


def otu_along(
    time_min: npt.ArrayLike, ppo2_start_bar: npt.ArrayLike, ppo2_end_bar: npt.ArrayLike
) -> FloatArray:
    """Return the pulmonary dose up to every sample. [OTU]

    time_min        time of each sample, shape (n,) [min]
    ppo2_start_bar  partial pressure at the start of each segment, shape (n - 1,) [bar]
    ppo2_end_bar    partial pressure at its end, on the gas of that segment, shape (n - 1,) [bar]

    Returns shape (n,), from 0. Exact for straight lines between samples:
    `t / (p1 - p0) * 3/11 * (z1 ** (11/6) - z0 ** (11/6))`, z as in `otu_rate_per_min`.
    Source: that formula, integrated.

    >>> otu_along([0.0, 3.0], [0.5], [1.4]).round(3).tolist()
    [0.0, 2.671]
    """
    return dose_along(time_min, ppo2_start_bar, ppo2_end_bar, otu_rate_per_min, _otu_integral)


def dose_along(
    time_min: npt.ArrayLike,
    ppo2_start_bar: npt.ArrayLike,
    ppo2_end_bar: npt.ArrayLike,
    rate_per_min: Callable[[FloatArray], FloatArray],
    integral: Callable[[FloatArray], FloatArray],
) -> FloatArray:
    """Return a dose of oxygen up to every sample, of any dose that only adds up. [unit of the dose]

        dose of a segment = t * (integral(p1) - integral(p0)) / (p1 - p0)

    time_min        time of each sample, shape (n,) [min]
    ppo2_start_bar  partial pressure at the start of each segment, shape (n - 1,) [bar]
    ppo2_end_bar    partial pressure at its end, on the gas of that segment, shape (n - 1,) [bar]
    rate_per_min    gives the dose of a minute at a partial pressure [unit of the dose/min]
    integral        gives the integral of that rate over partial pressure [unit of the dose bar/min]

    Returns shape (n,), from 0. Exact for straight lines between samples. Source: the definition of a mean.

    >>> dose_along([0.0, 3.0], [1.0], [2.0], lambda p: p, lambda p: 0.5 * p**2).tolist()
    [0.0, 4.5]
    """
    start_bar, end_bar = (np.asarray(p, dtype=np.float64) for p in (ppo2_start_bar, ppo2_end_bar))
    change_bar = end_bar - start_bar
    level = np.abs(change_bar) < _LEVEL_BAR
    ramp = (integral(end_bar) - integral(start_bar)) / np.where(level, 1.0, change_bar)
    mean_rate_per_min = np.where(level, rate_per_min(0.5 * (start_bar + end_bar)), ramp)
    steps_min = np.diff(np.asarray(time_min, dtype=np.float64))
    return np.concatenate([[0.0], np.cumsum(steps_min * mean_rate_per_min)])


def integral_of_rate(ppo2_bar: FloatArray, rows_min: FloatArray) -> FloatArray:
    """Return the integral of one over a limit of the table over partial pressure. [bar/min]

    ppo2_bar  partial pressure of oxygen, scalar or array [bar]
    rows_min  the limit in each row of the table, shape (11,) [min]

    0 below 0.60 bar; above 1.60 bar the last row's rate goes on. Source: the table, integrated.

    >>> integral_of_rate(np.array([0.6, 1.6]), np.full(11, 100.0)).round(6).tolist()
    [0.0, 0.01]
    """
    inside_bar = np.clip(ppo2_bar, LOWEST_TABULATED_BAR, HIGHEST_TABULATED_BAR)
    row = np.clip(np.searchsorted(NOAA_PPO2_BAR, inside_bar, side="right") - 1, 0, NOAA_PPO2_BAR.size - 2)
    up_to_row = np.cumsum(_mean_of_inverse(rows_min[:-1], rows_min[1:]) * np.diff(NOAA_PPO2_BAR))
    limit_min = np.interp(inside_bar, NOAA_PPO2_BAR, rows_min)
    within = _mean_of_inverse(rows_min[row], limit_min) * (inside_bar - NOAA_PPO2_BAR[row])
    above = np.maximum(ppo2_bar - HIGHEST_TABULATED_BAR, 0.0) / rows_min[-1]
    return np.asarray(np.concatenate([[0.0], up_to_row])[row] + within + above)


def _above_lung_threshold(ppo2_bar: npt.ArrayLike) -> FloatArray:
    excess = (np.asarray(ppo2_bar, dtype=np.float64) - _LUNG_THRESHOLD_BAR) / _LUNG_THRESHOLD_BAR
    return np.maximum(excess, 0.0)


def _otu_integral(ppo2_bar: FloatArray) -> FloatArray:
    """Return the integral of the pulmonary rate over partial pressure. [OTU bar/min]"""
    power = _LUNG_EXPONENT + 1.0
    return np.asarray(_LUNG_THRESHOLD_BAR / power * _above_lung_threshold(ppo2_bar) ** power)


def _limit_min(ppo2_bar: npt.ArrayLike, rows_min: FloatArray) -> FloatArray:
    pressure_bar = np.asarray(ppo2_bar, dtype=np.float64)
    limit_min = np.interp(pressure_bar, NOAA_PPO2_BAR, rows_min)
    return np.where(pressure_bar < LOWEST_TABULATED_BAR, np.inf, limit_min)


def _cns_integral(ppo2_bar: FloatArray) -> FloatArray:
    return integral_of_rate(ppo2_bar, NOAA_SINGLE_LIMIT_MIN)


def _mean_of_inverse(one_min: FloatArray, other_min: FloatArray) -> FloatArray:
    """Return the mean of 1 / limit while the limit runs in a straight line from one value to another. [1/min]

    mean = ln(other / one) / (other - one),   1 / one where they are equal
    """
    change = other_min / one_min - 1.0
    equal = np.abs(change) < 1e-9
    return np.where(equal, 1.0, np.log1p(change) / np.where(equal, 1.0, change)) / one_min
