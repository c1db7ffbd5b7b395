"""Oxygen pressure and doses at every sample of many dives, cut into lanes.

The rates of clock and lungs are read from one fine table, as the two parts of a complex number, and the mean
over a step is taken by Simpson's rule. No such rule can take the jump with which the clock starts at
0.60 bar, nor a step across several rows of its table; those few steps are looked up at many points. The
clock is true within 1e-4, the lungs within 0.01 units.

Source: `oxygen_exposure`.
"""

from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np
import numpy.typing as npt

from logbook_app.physics.dive_lanes import Lanes, single
from logbook_app.physics.many_dives import SingleArray
from logbook_app.physics.oxygen_exposure import (
    LOWEST_TABULATED_BAR,
    cns_rate_per_min,
    otu_rate_per_min,
)

ComplexArray = npt.NDArray[np.complex64]

_BINS_PER_BAR: Final = 10_000
# Oxygen at 70 m; the lungs' rate stays there above it.
_HIGHEST_BAR: Final = 8.0
# Single precision rounds a hold at 0.60 bar to either side; this much less still counts.
_ROUNDING: Final = 2e-6
_CLOCK_STARTS_BAR: Final = np.float32(LOWEST_TABULATED_BAR * (1.0 - _ROUNDING))
# One row of the table in ten seconds; from 1.45 bar on the rows lie ten times as steeply.
_LARGE_CHANGE_BAR_MIN: Final = 0.1 / 6.0
_STEEP_FROM_BAR: Final = 1.45
_POINTS: Final = 64
_HARD_AT_ONCE: Final = 4000
_ALONG: Final = ((np.arange(_POINTS) + 0.5) / _POINTS).astype(np.float32)


@dataclass(frozen=True, eq=False)
class OxygenFigures:
    """Figures at every slot of some lanes, shape (slots, lanes) each.

    ppo2_bar      oxygen pressure on the gas breathed from the sample on [bar]
    cns_fraction  oxygen clock since the dive began [fraction]
    otu           pulmonary dose since the dive began [OTU]
    """

    ppo2_bar: SingleArray
    cns_fraction: SingleArray
    otu: SingleArray


def oxygen_along_lanes(lanes: Lanes, ambient_bar: SingleArray) -> OxygenFigures:
    """Return the oxygen figures at every slot of the lanes; those in free slots mean nothing.

    lanes        dives of one step, cut into lanes
    ambient_bar  their pressures before and at every slot, from `Lanes.turned_bar` [bar]

    Source: at the head of this module.

    >>> from logbook_app.physics.many_dives import square_dive
    >>> from logbook_app.physics.dive_lanes import cut_into_lanes
    >>> lanes = cut_into_lanes(square_dive(1.4 / 0.21, minutes=30.0), np.array([0]), 16)
    >>> round(oxygen_along_lanes(lanes, lanes.turned_bar()).cns_fraction[-1, -1].item(), 4)
    0.2
    """
    o2_fraction = single(1.0 - lanes.n2_fraction)
    from_bar, to_bar = ambient_bar[:-1] * o2_fraction, ambient_bar[1:] * o2_fraction
    if lanes.changing.size:
        o2_changing = 1.0 - lanes.n2_along_changing.T
        from_bar[:, lanes.changing] = ambient_bar[:-1, lanes.changing] * o2_changing
        to_bar[:, lanes.changing] = ambient_bar[1:, lanes.changing] * o2_changing
    doses = _doses(lanes, from_bar, to_bar)
    for slot in range(1, lanes.slots):  # several times as fast as numpy's own running sum along columns
        np.add(doses[slot], doses[slot - 1], out=doses[slot])
    doses += _before_lane(lanes, doses)
    switched_bar = ambient_bar[lanes.switch_slot + 1, lanes.switch_lane]
    to_bar[lanes.switch_slot, lanes.switch_lane] = switched_bar * (1.0 - lanes.switch_n2)
    return OxygenFigures(to_bar, doses.real, doses.imag)


def _doses(lanes: Lanes, from_bar: SingleArray, to_bar: SingleArray) -> ComplexArray:
    """Return what each step adds to clock and lungs."""
    at_end = _rates(to_bar)
    dose = _rates(np.float32(0.5) * (from_bar + to_bar))
    dose *= np.float32(4.0)
    dose += at_end
    dose[0] += _rates(from_bar[0])
    dose[1:] += at_end[:-1]  # a step starts where the one before ended, unless the gas changed there
    inside = lanes.switch_slot < lanes.slots - 1
    slot, lane = lanes.switch_slot[inside], lanes.switch_lane[inside]
    dose[slot + 1, lane] += _rates(from_bar[slot + 1, lane]) - at_end[slot, lane]
    dose *= np.float32(lanes.step_min / 6.0)
    hard = np.flatnonzero(_too_hard_for_the_rule(from_bar, to_bar, lanes.step_min))
    flat_dose, flat_from_bar, flat_to_bar = dose.ravel(), from_bar.ravel(), to_bar.ravel()
    for some in np.array_split(hard, 1 + hard.size // _HARD_AT_ONCE):
        mean_rate = _mean_of_many_points(flat_from_bar[some], flat_to_bar[some])
        flat_dose[some] = mean_rate * np.float32(lanes.step_min)
    return dose


def _too_hard_for_the_rule(
    from_bar: SingleArray, to_bar: SingleArray, step_min: float
) -> npt.NDArray[np.bool_]:
    over_the_jump = (from_bar > _CLOCK_STARTS_BAR) != (to_bar > _CLOCK_STARTS_BAR)
    change_bar = np.abs(to_bar - from_bar) * np.float32(step_min)
    steep = (to_bar > _STEEP_FROM_BAR) & (change_bar > 0.1 * _LARGE_CHANGE_BAR_MIN)
    return np.asarray(over_the_jump | (change_bar > _LARGE_CHANGE_BAR_MIN) | steep)


def _mean_of_many_points(from_bar: SingleArray, to_bar: SingleArray) -> ComplexArray:
    return np.asarray(np.mean(_rates(from_bar + _ALONG[:, None] * (to_bar - from_bar)), axis=0))


def _before_lane(lanes: Lanes, doses: ComplexArray) -> ComplexArray:
    """Return the doses of the lanes before in the dive, less what the free slots took, shape (lanes,)."""
    total = doses[-1].astype(np.complex128)
    before = np.cumsum(total) - total
    at_first_sample = before[lanes.first_lane] + doses[lanes.held, lanes.first_lane]
    return np.asarray(before - at_first_sample[lanes.dive_of_lane], dtype=np.complex64)


@cache
def _rate_table() -> ComplexArray:
    """Return clock (real) and lung (imaginary) rates in the middle of each bin of oxygen pressure. [1/min]"""
    middle_bar = (np.arange(_BINS_PER_BAR * _HIGHEST_BAR) + 0.5) / _BINS_PER_BAR
    return (cns_rate_per_min(middle_bar) + 1j * otu_rate_per_min(middle_bar)).astype(np.complex64)


def _rates(ppo2_bar: SingleArray) -> ComplexArray:
    bins = (ppo2_bar * np.float32(_BINS_PER_BAR * (1.0 + _ROUNDING))).astype(np.intp)
    return np.take(_rate_table(), bins, mode="clip")
