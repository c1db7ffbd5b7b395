"""The tissue figures at every sample of many dives, slot by slot along their lanes.

Every array operation moves all lanes one step forward, one row for each compartment. Single precision is
enough here, because each lane sets out from a double (`dive_lanes`) and what is carried along is the
tension above the surface equilibrium: a ceiling is true within 1e-4 m, a no-stop time within 0.01 min. One
inert gas only; with helium the limits have no closed form (`no_stop_limit`).

With y = p - p_eq, x = q - p_eq and M = limit - p_eq at the surface, each compartment gives

    step      y = E y + w0 x_before + w1 x
    load      y / M                                                          the largest counts
    ceiling   c y - e,  c = 1 / (g/b - g + 1),  e = c (a g - p_eq) + P_s     the largest counts
    no-stop   ln((x - y) / (x - M)) / k  where x > M                         the least counts

Where x <= M the divisor is taken as zero: that gives infinity where the compartment is loading and no number
where it is unloading, and neither is ever the least.

Source: formulas of `tissue_loading`, `ceiling`, `residual_load` and `no_stop_limit`.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from logbook_app.physics.compartments import COMPARTMENT_COUNT, ZHL16C
from logbook_app.physics.constants import WATER_VAPOUR_37C_BAR
from logbook_app.physics.dive_lanes import Lanes, single, step_weights
from logbook_app.physics.gradient_factors import GradientFactors, surfacing_limit_bar
from logbook_app.physics.many_dives import SingleArray
from logbook_app.physics.no_stop_limit import LONGEST_MIN
from logbook_app.physics.units import FloatArray

_SHORT_ROW: Final = 4096


@dataclass(frozen=True, eq=False)
class TissueFigures:
    """Figures at every slot of some lanes, shape (slots, lanes) each.

    ceiling_m    ceiling at the low gradient factor, negative above the surface [m]
    load         load of the leading compartment [fraction]
    no_stop_min  further no-stop time, 0 where a limit is passed, NaN where there is none in 24 h [min]
    """

    ceiling_m: SingleArray
    load: SingleArray
    no_stop_min: SingleArray


def scan_tissues(
    lanes: Lanes, ambient_bar: SingleArray, start_bar: FloatArray, factors: GradientFactors
) -> TissueFigures:
    """Return the tissue figures at every slot of the lanes; those in free slots mean nothing.

    lanes        dives of one step, cut into lanes
    ambient_bar  their pressures before and at every slot, from `Lanes.turned_bar` [bar]
    start_bar    nitrogen with which each lane sets out, shape (lanes, 16) [bar]
    factors      the diver's gradient factors

    Source: at the head of this module.

    >>> from logbook_app.physics.many_dives import square_dive
    >>> from logbook_app.physics.dive_lanes import cut_into_lanes
    >>> lanes = cut_into_lanes(square_dive(4.01325, minutes=30.0), np.array([0]), 16)
    >>> start_bar = lanes.starts_bar(np.full((1, 16), 0.75093))
    >>> found = scan_tissues(lanes, lanes.turned_bar(), start_bar, GradientFactors(1.0, 1.0))
    >>> round(found.no_stop_min[lanes.held[0], 0].item(), 2)
    16.54
    """
    scan = _Scan(lanes, start_bar, factors)
    drive_bar = _drive_bar(lanes, ambient_bar)
    switches = _switches_by_slot(lanes, ambient_bar)
    found = TissueFigures(*(np.empty_like(drive_bar[1:]) for _ in range(3)))
    with np.errstate(divide="ignore", invalid="ignore"):
        for slot in range(lanes.slots):
            scan.step(drive_bar[slot], drive_bar[slot + 1])
            for lane, new_drive_bar in switches.get(slot, ()):
                drive_bar[slot + 1, lane] = new_drive_bar
            scan.ceiling_m(out=found.ceiling_m[slot])
            scan.load(out=found.load[slot])
            scan.no_stop_min(drive_bar[slot + 1], found.load[slot], out=found.no_stop_min[slot])
    return found


class _Scan:
    """All compartments of all lanes at one slot, shape (16, lanes), with their constants."""

    def __init__(self, lanes: Lanes, start_bar: FloatArray, factors: GradientFactors) -> None:
        count = len(start_bar)
        self._kept, self._at_start, self._at_end = (
            _column(weight, count) for weight in step_weights(lanes.step_min)
        )
        nothing, rest_bar = np.zeros(COMPARTMENT_COUNT), lanes.rest_bar[:, None]
        room_bar = surfacing_limit_bar(nothing, nothing, lanes.surface_bar, factors.high) - rest_bar
        slope = 1.0 / (factors.low / ZHL16C.n2_b - factors.low + 1.0)
        offset_bar = slope * (ZHL16C.n2_a_bar * factors.low - rest_bar) + lanes.surface_bar[:, None]
        self._room_bar, self._per_room = lanes.columns(room_bar), _by_lane(1.0 / room_bar, lanes)
        self._slope, self._offset_bar = _column(slope, count), _by_lane(offset_bar, lanes)
        self._metres_per_bar = single(lanes.metres_per_bar)[lanes.dive_of_lane]
        self._minutes_per_e = _column(1.0 / ZHL16C.n2_rate_per_min, count)
        self._excess_bar = single((start_bar - rest_bar[lanes.dive_of_lane]).T)  # y
        self._block, self._beyond_bar = (np.empty_like(self._excess_bar) for _ in range(2))

    def step(self, start_bar: SingleArray, end_bar: SingleArray) -> None:
        # One matrix product is shorter; where numpy has no linear algebra library, as on a phone, it is slow.
        np.multiply(self._excess_bar, self._kept, out=self._excess_bar)
        np.multiply(start_bar, self._at_start, out=self._block)
        np.add(self._excess_bar, self._block, out=self._excess_bar)
        np.multiply(end_bar, self._at_end, out=self._block)
        np.add(self._excess_bar, self._block, out=self._excess_bar)

    def ceiling_m(self, out: SingleArray) -> None:
        np.multiply(self._excess_bar, self._slope, out=self._block)
        np.subtract(self._block, self._offset_bar, out=self._block)
        np.maximum.reduce(self._block, axis=0, out=out)
        np.multiply(out, self._metres_per_bar, out=out)

    def load(self, out: SingleArray) -> None:
        np.multiply(self._excess_bar, self._per_room, out=self._block)
        np.maximum.reduce(self._block, axis=0, out=out)

    def no_stop_min(self, drive_bar: SingleArray, load: SingleArray, out: SingleArray) -> None:
        np.maximum(drive_bar, self._room_bar, out=self._beyond_bar)
        np.subtract(self._beyond_bar, self._room_bar, out=self._beyond_bar)
        np.subtract(drive_bar, self._excess_bar, out=self._block)
        np.divide(self._block, self._beyond_bar, out=self._block)
        np.log(self._block, out=self._block)
        np.multiply(self._block, self._minutes_per_e, out=self._block)
        np.fmin.reduce(self._block, axis=0, out=out)
        np.putmask(out, out > LONGEST_MIN, np.nan)
        np.putmask(out, load > 1.0, 0.0)


def _column(by_compartment: FloatArray, lanes: int) -> SingleArray:
    """Return one number a compartment, ready to meet blocks of shape (16, lanes)."""
    column = single(by_compartment)[:, None]
    # numpy buffers a lone column against shorter rows, at three times the price of a whole block.
    return column if lanes > _SHORT_ROW else np.repeat(column, lanes, axis=1)


def _by_lane(by_dive: FloatArray, lanes: Lanes) -> SingleArray:
    """Return numbers that follow from the surface, ready to meet blocks of shape (16, lanes)."""
    if lanes.surface_bar[0] == lanes.surface_bar[-1]:  # the dives are in order of it
        return _column(by_dive[0], len(lanes.rows_bar))
    return lanes.columns(by_dive)


def _drive_bar(lanes: Lanes, ambient_bar: SingleArray) -> SingleArray:
    """Return x before and at every slot, on the gas of the way there, shape (slots + 1, lanes). [bar]"""
    drive_bar = _inspired_bar(ambient_bar, single(lanes.n2_fraction))
    if lanes.changing.size:
        there_bar = ambient_bar[1:, lanes.changing]
        drive_bar[1:, lanes.changing] = _inspired_bar(there_bar, single(lanes.n2_along_changing.T))
    drive_bar -= single(lanes.rest_bar)[lanes.dive_of_lane]
    return drive_bar


def _inspired_bar(ambient_bar: SingleArray, n2_fraction: SingleArray) -> SingleArray:
    """Return what `inspired_pressure` says, in single precision. [bar]"""
    return np.asarray((ambient_bar - np.float32(WATER_VAPOUR_37C_BAR)) * n2_fraction)


def _switches_by_slot(lanes: Lanes, ambient_bar: SingleArray) -> dict[int, list[tuple[int, float]]]:
    """Return, for every slot with switches, the lanes that switch there and their x on the new gas [bar]."""
    there_bar = ambient_bar[lanes.switch_slot + 1, lanes.switch_lane]
    rest_bar = lanes.rest_bar[lanes.dive_of_lane[lanes.switch_lane]]
    drive_bar = _inspired_bar(there_bar, single(lanes.switch_n2)) - single(rest_bar)
    switches: dict[int, list[tuple[int, float]]] = {}
    for slot, lane, after_bar in zip(lanes.switch_slot, lanes.switch_lane, drive_bar, strict=True):
        switches.setdefault(int(slot), []).append((int(lane), float(after_bar)))
    return switches
