"""How much oxygen in a day and in a row of days: the daily limits beside the single-dive ones.

Central nervous system: beside the longest single exposure the NOAA table has a limit for any 24 hours. The
share used is the sum of time over that limit, over all dives of the 24 hours. It does not decay at the
surface; it leaves when it is a day old. Limits are straight lines between rows; below 0.60 bar nothing
counts, above 1.60 bar there is no limit and the last row's rate counts, which is too little
(`oxygen_exposure.outside_table` says where).

Lungs: the REPEX allowance of pulmonary units falls with the number of consecutive days with an exposure, from
850 on a single day to 300 a day from the eleventh day on.

Sources: NOAA limits, as in `oxygen_exposure`. REPEX: R. W. Hamilton, Tolerating exposure to high oxygen
levels: Repex and other methods, Marine Technology Society Journal 23 (1989) 19-25, reproduced in the NOAA
Diving Manual; recalled from memory, only the 850 of the first day read in a secondary text.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import Final

import numpy as np
import numpy.typing as npt

from logbook_app.physics.oxygen_exposure import (
    NOAA_DAY_LIMIT_MIN,
    day_limit_min,
    dose_along,
    integral_of_rate,
)
from logbook_app.physics.units import FloatArray

DAY_MIN: Final = 24 * 60.0
# Allowance for each day of a mission of 1, 2, 3 ... days; 300 from the eleventh to the thirtieth day.
REPEX_DAILY_OTU: Final = (850, 700, 620, 525, 460, 420, 380, 350, 330, 310, 300)
REPEX_LONGEST_DAYS: Final = 30


def day_fraction_along(
    time_min: npt.ArrayLike, ppo2_start_bar: npt.ArrayLike, ppo2_end_bar: npt.ArrayLike
) -> FloatArray:
    """Return the share of the 24-hour limit used up to every sample, counted from the first. [fraction]

    time_min        time of each sample, shape (n,) [min]
    ppo2_start_bar  partial pressure of oxygen at the start of each segment, shape (n - 1,) [bar]
    ppo2_end_bar    partial pressure at its end, on the gas of that segment, shape (n - 1,) [bar]

    Returns shape (n,), from 0. Exact for straight lines between samples. Nothing decays. Source: at the head
    of this module.

    >>> day_fraction_along([0.0, 30.0], [1.4], [1.4]).round(4).tolist()
    [0.0, 0.1667]
    """

    def rate_per_min(ppo2_bar: FloatArray) -> FloatArray:
        return 1.0 / day_limit_min(ppo2_bar)

    def integral(ppo2_bar: FloatArray) -> FloatArray:
        return integral_of_rate(ppo2_bar, NOAA_DAY_LIMIT_MIN)

    return dose_along(time_min, ppo2_start_bar, ppo2_end_bar, rate_per_min, integral)


def dose_within_24_h(time_min: npt.ArrayLike, dose: npt.ArrayLike, at_min: npt.ArrayLike) -> FloatArray:
    """Return the dose of the 24 hours before an instant, of any dose that only adds up. [unit of the dose]

    time_min  time of each sample of several dives on one clock, never falling, shape (n,) [min]
    dose      dose up to each sample, over all the dives, never falling, shape (n,) [unit of the dose]
    at_min    the instants, scalar or array [min]

    Between samples the dose is taken to grow evenly; before the first nothing was, after the last nothing is
    added. Source: the definition of the 24-hour limit.

    >>> dose_within_24_h([0.0, 60.0, 1500.0, 1530.0], [0.0, 0.2, 0.2, 0.3], [60.0, 1470.0, 1530.0]).tolist()
    [0.2, 0.1, 0.09999999999999998]
    """
    clock_min, total = (np.asarray(v, dtype=np.float64) for v in (time_min, dose))
    now_min = np.asarray(at_min, dtype=np.float64)
    return np.asarray(np.interp(now_min, clock_min, total) - np.interp(now_min - DAY_MIN, clock_min, total))


def largest_dose_in_24_h(time_min: npt.ArrayLike, dose: npt.ArrayLike) -> float:
    """Return the largest dose of any 24 hours, wherever they begin. [unit of the dose]

    time_min  time of each sample of several dives on one clock, never falling, shape (n,) [min]
    dose      dose up to each sample, over all the dives, never falling, shape (n,) [unit of the dose]

    The dose of a sliding window is a broken line with its corners where either end meets a sample; its
    largest value is at one of them. Source: the definition of the 24-hour limit.

    >>> round(largest_dose_in_24_h([0.0, 60.0, 1400.0, 1460.0], [0.0, 0.3, 0.3, 0.6]), 6)
    0.5
    """
    clock_min = np.asarray(time_min, dtype=np.float64)
    corners_min = np.concatenate([clock_min, clock_min + DAY_MIN])
    return float(np.max(dose_within_24_h(clock_min, dose, corners_min)))


def repex_daily_otu(days: int) -> int:
    """Return the pulmonary dose allowed on each day of a row of days. [OTU]

    days  consecutive days with an exposure, 1 to 30

    Raises ValueError outside the table. Source: REPEX, at the head of this module.

    >>> repex_daily_otu(1), repex_daily_otu(4), repex_daily_otu(20)
    (850, 525, 300)
    """
    if not 1 <= days <= REPEX_LONGEST_DAYS:
        raise ValueError(
            f"The allowance of pulmonary units is tabulated for 1 to {REPEX_LONGEST_DAYS} days in a row, "
            f"not for {days}; a day without an exposure begins a new row."
        )
    return REPEX_DAILY_OTU[min(days, len(REPEX_DAILY_OTU)) - 1]


def repex_total_otu(days: int) -> int:
    """Return the pulmonary dose allowed over a row of days together. [OTU]

    days  consecutive days with an exposure, 1 to 30

    From the fifteenth day the table prints no total ("as required"); 300 a day is carried on. Raises
    ValueError outside the table. Source: REPEX, at the head of this module.

    >>> repex_total_otu(4), repex_total_otu(14)
    (2100, 4200)
    """
    return days * repex_daily_otu(days)


@dataclass(frozen=True)
class PulmonaryAllowance:
    """Where a diver stands with the pulmonary dose after some days in a row.

    days          consecutive days with an exposure, the last one included
    today_otu     dose of the last day [OTU]
    total_otu     dose of all of them [OTU]
    allowed_otu   allowed over that many days [OTU]
    days_over     after which days, counted from 1, the total was over what so many days allow
    tomorrow_otu  what a further day in the row may add, 0 if nothing, None past the table [OTU]
    """

    days: int
    today_otu: float
    total_otu: float
    allowed_otu: int
    days_over: tuple[int, ...]
    tomorrow_otu: float | None


def pulmonary_allowance(daily_otu: Sequence[float]) -> PulmonaryAllowance:
    """Return where a row of days with exposures stands against REPEX.

    daily_otu  dose of each of the consecutive days with an exposure, oldest first, 1 to 30 of them [OTU]

    Raises ValueError for no days, for more than 30 and for a dose that is not 0 or more. Source: REPEX, at
    the head of this module.

    >>> found = pulmonary_allowance([600, 500, 500, 400])
    >>> found.total_otu, found.allowed_otu, found.tomorrow_otu
    (2000, 2100, 300)
    """
    for number, dose_otu in enumerate(daily_otu, start=1):
        if not dose_otu >= 0.0:
            raise ValueError(f"A dose of {dose_otu:g} OTU on day {number} is not 0 or more.")
    days = len(daily_otu)
    allowed_otu = repex_total_otu(days)
    totals_otu = list(accumulate(daily_otu))
    return PulmonaryAllowance(
        days=days,
        today_otu=daily_otu[-1],
        total_otu=totals_otu[-1],
        allowed_otu=allowed_otu,
        days_over=tuple(n for n, total in enumerate(totals_otu, start=1) if total > repex_total_otu(n)),
        tomorrow_otu=max(0.0, repex_total_otu(days + 1) - totals_otu[-1])
        if days < REPEX_LONGEST_DAYS
        else None,
    )
