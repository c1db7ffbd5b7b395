"""Dives cut into short lanes that can all move forward together.

A loop over the samples of a logbook takes Python minutes. Turned by ninety degrees it takes a moment: every
dive is cut into lanes of a few dozen samples, and a loop over the slots of a lane moves thousands of lanes
forward with each array operation (`lane_scan`). For that the tensions at the start of every lane have to
be known first. They can be, because a stretch of time changes a tension along a straight line
(`dive_uptake`): where an empty compartment ends after a lane of L slots is one product of the lane's
pressures with fixed weights, those of `tissue_loading`,

    gained = sum over slots j of E^(L-1-j) (w0 q_before_j + w1 q_j)

lanes join into dives, dives into a chain, and the tensions found there lead back into every lane.

A slot is the step that arrives at its sample, so n samples take n slots. The lanes are filled from the right;
in the free slots in front, and in the step that arrives at the first sample, the diver is held still at that
sample's pressure. This is undone exactly by setting out from

    v = q + (p_start - q) exp(+k h)        h the time held still, q inspired at the first sample

which lies within 2^(h / half-time) of what it stands for: harmless for the short steps allowed here.

Source: worked out from Schreiner's equation, see `tissue_loading`.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, cached_property
from typing import Final

import numpy as np

from logbook_app.physics.ambient_pressure import bar_per_metre
from logbook_app.physics.breathing_gas import AIR
from logbook_app.physics.compartments import COMPARTMENT_COUNT, ZHL16C
from logbook_app.physics.constants import WATER_VAPOUR_37C_BAR
from logbook_app.physics.dive_uptake import Uptake, ends_along_chain
from logbook_app.physics.inspired_pressure import inspired_inert_bar
from logbook_app.physics.many_dives import IndexArray, ManyDives, SingleArray
from logbook_app.physics.tissue_loading import schreiner_bar
from logbook_app.physics.units import FloatArray

# 32 slots of a minute are six half-times of the fastest compartment.
LONGEST_STEP_MIN: Final = 1.0


@cache
def step_weights(step_min: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return what one step makes of the tension before it and of the two inspired pressures. [fraction]

        p(t) = E p(0) + w0 q0 + w1 q1

    step_min  length of the step [min]

    Returns E, w0 and w1, shape (16,) each; they add up to 1. Source: Schreiner's equation, see
    `tissue_loading`.

    >>> [weight.round(4)[0].item() for weight in step_weights(5.0)]
    [0.5, 0.2213, 0.2787]
    """
    one, half_time_min = np.ones(COMPARTMENT_COUNT), ZHL16C.n2_half_time_min
    return (
        schreiner_bar(one, 0.0, 0.0, half_time_min, step_min),
        schreiner_bar(0.0, 1.0, 0.0, half_time_min, step_min),
        schreiner_bar(0.0, 0.0, 1.0, half_time_min, step_min),
    )


def single(values: FloatArray | SingleArray) -> SingleArray:
    """Return numbers in single precision, row after row in memory.

    values  any array

    >>> single(np.ones((2, 3)).T).flags.c_contiguous
    True
    """
    return np.ascontiguousarray(values, dtype=np.float32)


@dataclass(frozen=True, eq=False)
class Lanes:
    """Some dives of one sampling step, cut into lanes of equal length.

    dives         which dives they are, in this order, shape (m,) [index]
    step_min      time between samples [min]
    surface_bar, metres_per_bar
                  of each dive, shape (m,) [bar], [m/bar]
    rows_bar      ambient pressure at each slot, shape (lanes, slots) [bar]
    n2_fraction   share of nitrogen breathed on the way to each lane's first slot, shape (lanes,) [fraction]
    first_lane    of each dive, shape (m,) [index]
    held          free slots in front of each dive's first sample, shape (m,)
    dive_of_lane  which of these dives each lane belongs to, shape (lanes,) [index]
    switch_lane, switch_slot, switch_n2
                  where another gas is breathed from a slot's sample on, and its share of nitrogen
    """

    dives: IndexArray
    step_min: float
    surface_bar: FloatArray
    metres_per_bar: FloatArray
    rows_bar: FloatArray
    n2_fraction: FloatArray
    first_lane: IndexArray
    held: IndexArray
    dive_of_lane: IndexArray
    switch_lane: IndexArray
    switch_slot: IndexArray
    switch_n2: FloatArray

    @property
    def slots(self) -> int:
        """Length of a lane."""
        return int(self.rows_bar.shape[1])

    @property
    def last_lane(self) -> IndexArray:
        """Of each dive, shape (m,)."""
        return np.append(self.first_lane[1:], len(self.rows_bar)) - 1

    @cached_property
    def lane_number(self) -> IndexArray:
        """Place of each lane in its dive, counted from 0, shape (lanes,)."""
        return np.asarray(np.arange(len(self.rows_bar)) - self.first_lane[self.dive_of_lane])

    @cached_property
    def before_bar(self) -> FloatArray:
        """Ambient pressure from which each lane's first step sets out, shape (lanes,). [bar]"""
        before_bar = np.empty(len(self.rows_bar))
        before_bar[1:] = self.rows_bar[:-1, -1]
        before_bar[self.first_lane] = self.rows_bar[self.first_lane, 0]
        return before_bar

    @property
    def rest_bar(self) -> FloatArray:
        """Nitrogen of somebody saturated on air at each dive's surface, shape (m,). [bar]"""
        return inspired_inert_bar(self.surface_bar, np.asarray(AIR.nitrogen))

    def turned_bar(self) -> SingleArray:
        """Return the pressure before and at every slot, shape (slots + 1, lanes). [bar]"""
        turned_bar = np.empty((self.slots + 1, len(self.rows_bar)), dtype=np.float32)
        turned_bar[0] = self.before_bar
        turned_bar[1:] = self.rows_bar.T
        return turned_bar

    def columns(self, by_dive: FloatArray) -> SingleArray:
        """Return numbers of each dive and compartment, shape (m, 16), by lane, shape (16, lanes)."""
        return single(single(by_dive)[self.dive_of_lane].T)

    @cached_property
    def changing(self) -> IndexArray:
        """Lanes in which the gas changes."""
        return np.unique(self.switch_lane)

    @cached_property
    def n2_along_changing(self) -> FloatArray:
        """Share of nitrogen breathed on the way to every slot of those lanes, shape (changing, slots)."""
        n2_fraction = np.repeat(self.n2_fraction[self.changing][:, None], self.slots, axis=1)
        row = np.searchsorted(self.changing, self.switch_lane)
        for lane, slot, fraction in zip(row, self.switch_slot, self.switch_n2, strict=True):
            n2_fraction[lane, slot + 1 :] = fraction
        return n2_fraction

    @cached_property
    def end_of_empty_bar(self) -> FloatArray:
        """Nitrogen at the end of each lane of a diver who was empty at the start of its dive. [bar]"""
        kept = np.exp(-ZHL16C.n2_rate_per_min * self.step_min * self.slots)
        kept_by_lane = np.where(self.lane_number[:, None] > 0, kept, 0.0)
        return ends_along_chain(Uptake(kept_by_lane, _gained_bar(self)))

    @cached_property
    def uptake(self) -> Uptake:
        """Nitrogen uptake of each dive, shape (m, 16)."""
        rate = ZHL16C.n2_rate_per_min * self.step_min
        lane_count = self.lane_number[self.last_lane] + 1
        kept = np.exp(-rate * (lane_count * self.slots - self.held - 1)[:, None])
        kept_with_hold = np.exp(-rate * (lane_count * self.slots)[:, None])
        hold_bar = self._held_at_bar * (kept - kept_with_hold)
        return Uptake(kept, self.end_of_empty_bar[self.last_lane] - hold_bar)

    def starts_bar(self, dive_start_bar: FloatArray) -> FloatArray:
        """Return the nitrogen with which each lane sets out, shape (lanes, 16). [bar]

        dive_start_bar  tension at the first sample of each dive, shape (m, 16) [bar]
        """
        rate = ZHL16C.n2_rate_per_min * self.step_min
        held_bar = self._held_at_bar
        virtual_bar = held_bar + (dive_start_bar - held_bar) * np.exp(rate * (self.held + 1)[:, None])
        kept = np.exp(-rate * (np.arange(self.lane_number.max() + 1) * self.slots)[:, None])
        start_bar: FloatArray = kept[self.lane_number]
        start_bar *= virtual_bar[self.dive_of_lane]
        start_bar[1:] += self.end_of_empty_bar[:-1]
        start_bar[self.first_lane] = virtual_bar
        return start_bar

    @property
    def _held_at_bar(self) -> FloatArray:
        """Inspired nitrogen at the first sample of each dive, shape (m, 1). [bar]"""
        first = self.first_lane
        return inspired_inert_bar(self.rows_bar[first, :1], self.n2_fraction[first, None])


def cut_into_lanes(dives: ManyDives, chosen: IndexArray, slots: int) -> Lanes:
    """Return some dives, all of one sampling step, cut into lanes.

    dives   the logbook
    chosen  which dives, in this order, shape (m,) [index]
    slots   length of a lane

    >>> from logbook_app.physics.many_dives import square_dive
    >>> cut_into_lanes(square_dive(2.0, minutes=0.5), np.array([0]), 3).held.tolist()
    [2]
    """
    count = dives.count[chosen]
    lane_count = -(-count // slots)
    first_lane = np.cumsum(lane_count) - lane_count
    held = lane_count * slots - count
    dive_of_lane = np.repeat(np.arange(chosen.size), lane_count)
    came_from = (np.arange(dive_of_lane.size) - first_lane[dive_of_lane]) * slots - held[dive_of_lane] - 1
    before = dives.first[chosen][dive_of_lane] + np.maximum(came_from, 0)
    switch_lane, switch_slot, switches = _switches(dives, chosen, first_lane * slots + held, slots)
    return Lanes(
        dives=chosen,
        step_min=float(dives.step_min[chosen[0]]),
        surface_bar=dives.surface_bar[chosen],
        metres_per_bar=1.0 / (dives.density_kg_m3[chosen] * bar_per_metre(1.0)),
        rows_bar=_rows_bar(dives, chosen, first_lane * slots, held, slots),
        n2_fraction=dives.n2_fraction[before],
        first_lane=first_lane,
        held=held,
        dive_of_lane=dive_of_lane,
        switch_lane=switch_lane,
        switch_slot=switch_slot,
        switch_n2=dives.n2_fraction[switches],
    )


def in_lanes(dives: ManyDives, slots: int, lanes_at_once: int) -> Iterator[Lanes]:
    """Yield the dives of even step in lanes, a few thousand lanes at a time, dives of one step together.

    dives          the logbook
    slots          length of a lane
    lanes_at_once  largest number of lanes to a yield, unless one dive has more

    >>> from logbook_app.physics.many_dives import square_dive
    >>> [lanes.rows_bar.shape for lanes in in_lanes(square_dive(2.0, minutes=0.5), 3, 100)]
    [(2, 3)]
    """
    for step_min in np.unique(dives.step_min[dives.step_min <= LONGEST_STEP_MIN]):
        alike = np.flatnonzero(dives.step_min == step_min)
        # Dives from one surface share their limits, which spares memory where there are thousands of lanes.
        alike = alike[np.argsort(dives.surface_bar[alike], kind="stable")]
        lanes = np.cumsum(-(-dives.count[alike] // slots))
        while alike.size:
            some = max(1, int(np.searchsorted(lanes, lanes_at_once, side="right")))
            yield cut_into_lanes(dives, alike[:some], slots)
            alike, lanes = alike[some:], lanes[some:] - lanes[some - 1]


def _rows_bar(
    dives: ManyDives, chosen: IndexArray, begin: IndexArray, held: IndexArray, slots: int
) -> FloatArray:
    """Lay the pressures of the chosen dives into their lanes, the first one into the free slots too."""
    ambient_bar, count = dives.ambient_bar, dives.count[chosen]
    rows_bar = np.empty(begin[-1] + held[-1] + count[-1])
    places = (begin, begin + held, begin + held + count, dives.first[chosen], dives.first[chosen] + count)
    for free, first, end, recorded, recorded_end in zip(*(place.tolist() for place in places), strict=True):
        rows_bar[free:first] = ambient_bar[recorded]
        rows_bar[first:end] = ambient_bar[recorded:recorded_end]
    return rows_bar.reshape(-1, slots)


def _switches(
    dives: ManyDives, chosen: IndexArray, place: IndexArray, slots: int
) -> tuple[IndexArray, IndexArray, IndexArray]:
    """Return lane and slot of every change of gas in the chosen dives, and the sample it is at."""
    if not dives.switches.size:
        return dives.switches, dives.switches, dives.switches
    dive = np.searchsorted(dives.first, dives.switches, side="right") - 1
    place_of_dive = np.full(len(dives), -1)
    place_of_dive[chosen] = place
    here = place_of_dive[dive] >= 0
    switches, dive = dives.switches[here], dive[here]
    at = place_of_dive[dive] + switches - dives.first[dive]
    return at // slots, at % slots, switches


def _gained_bar(lanes: Lanes) -> FloatArray:
    """Return where an empty compartment ends after each lane alone, shape (lanes, 16). [bar]"""
    from_start, from_end = _lane_weights(lanes.step_min, lanes.slots)
    weights = np.zeros((lanes.slots + 1, COMPARTMENT_COUNT))
    weights[:-1] += from_start
    weights[1:] += from_end
    ambient_bar = lanes.rows_bar @ weights[1:] + lanes.before_bar[:, None] * weights[0]
    gained_bar: FloatArray = (ambient_bar - WATER_VAPOUR_37C_BAR * weights.sum(axis=0)) * lanes.n2_fraction[
        :, None
    ]
    if lanes.changing.size:
        ends_bar = lanes.rows_bar[lanes.changing]
        starts_bar = np.column_stack([lanes.before_bar[lanes.changing], ends_bar[:, :-1]])
        gained_bar[lanes.changing] = (
            inspired_inert_bar(starts_bar, lanes.n2_along_changing) @ from_start
            + inspired_inert_bar(ends_bar, lanes.n2_along_changing) @ from_end
        )
    return gained_bar


def _lane_weights(step_min: float, slots: int) -> tuple[FloatArray, FloatArray]:
    """Return what the pressures at the start and the end of each step add at the end of the lane.

    Shape (slots, 16) each. [fraction]
    """
    _, at_start, at_end = step_weights(step_min)
    kept = np.exp(-ZHL16C.n2_rate_per_min * step_min * np.arange(slots)[::-1, None])
    return kept * at_start, kept * at_end
