"""One dive after another: what a diver carries from each dive of a logbook into the next.

Each dive and the interval before it is a straight line in what was brought into it (`dive_uptake`), so the
whole logbook is one chain of such lines, and the samples are looked at twice only: once for the lines, once
for the figures.

Dives with an even step and no helium go through `lane_scan`, thousands of samples at a time; the
others, and those into which helium is carried, through the exact functions one by one. Both give the same
lines, so they mix in one chain.

A chain begins where the interval is infinite: saturated on air at the dive's own surface.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
import numpy.typing as npt

from logbook_app.physics.breathing_gas import AIR
from logbook_app.physics.ceiling import signed_ceiling_m
from logbook_app.physics.compartments import COMPARTMENT_COUNT, ZHL16C
from logbook_app.physics.dive_lanes import Lanes, in_lanes
from logbook_app.physics.dive_uptake import (
    Uptake,
    ends_along_chain,
    followed_by,
    uptake_along,
    uptake_at_constant,
)
from logbook_app.physics.gradient_factors import GradientFactors
from logbook_app.physics.inspired_pressure import inspired_inert_bar
from logbook_app.physics.lane_oxygen import oxygen_along_lanes
from logbook_app.physics.lane_scan import scan_tissues
from logbook_app.physics.many_dives import FiguresAlong, ManyDives
from logbook_app.physics.no_stop_limit import no_stop_min
from logbook_app.physics.oxygen_exposure import cns_fraction_along, otu_along, ppo2_bar
from logbook_app.physics.residual_load import load_by_compartment
from logbook_app.physics.tissue_loading import Tensions, load_along
from logbook_app.physics.units import FloatArray

# Less helium than this, the tolerance of a tension, is none: with any at all, limits have no closed form. The
# slowest compartment is under it five days after a dive.
TRACE_BAR: Final = 1e-9
# Long lanes take fewer operations, many lanes use each one better. Found by trial, and not sharply.
LANES_AT_ONCE: Final = 6000
_SLOTS_FOR_SAMPLES: Final = ((8, 8_000), (16, 40_000), (32, np.inf))


@dataclass(frozen=True, eq=False)
class Chain:
    """A logbook whose dives follow one another.

    dives         the logbook
    lanes         those of its dives that have an even step
    n2, he        uptake of each dive, shape (d, 16)
    start_n2_bar, start_he_bar, end_n2_bar, end_he_bar
                  tensions at the first and last sample of each dive, shape (d, 16) [bar]
    """

    dives: ManyDives
    lanes: tuple[Lanes, ...]
    n2: Uptake
    he: Uptake
    start_n2_bar: FloatArray
    start_he_bar: FloatArray
    end_n2_bar: FloatArray
    end_he_bar: FloatArray

    @cached_property
    def alone(self) -> npt.NDArray[np.bool_]:
        """Which dives need the exact functions: an uneven step, or helium, shape (d,)."""
        carries_helium = np.any(self.start_he_bar > 0.0, axis=1)
        return np.asarray(~self.in_lanes | self.dives.breathes_helium | carries_helium)

    @cached_property
    def in_lanes(self) -> npt.NDArray[np.bool_]:
        """Which dives are among the lanes, shape (d,)."""
        among = np.zeros(len(self.dives), dtype=bool)
        for lanes in self.lanes:
            among[lanes.dives] = True
        return among


def chained(
    dives: ManyDives,
    slots: int | None = None,
    lanes_at_once: int = LANES_AT_ONCE,
    start: Tensions | None = None,
) -> Chain:
    """Return the logbook with what each dive takes over from the one before.

    dives          the logbook
    slots          length of a lane; found from the number of samples unless given
    lanes_at_once  lanes moved forward together; neither changes a result beyond its rounding
    start          tensions when the first dive begins; saturated on air at its surface unless given [bar]

    Source: at the head of this module.

    >>> from logbook_app.physics.many_dives import square_dive
    >>> float(chained(square_dive(4.01325, minutes=5.0)).end_n2_bar[0, 0].round(4))
    1.9359
    """
    lanes = tuple(in_lanes(dives, slots or _usual_slots(dives.time_min.size), lanes_at_once))
    n2, he = _uptakes(dives, lanes)
    start_n2_bar, end_n2_bar = _along_chain(
        intervals_before(dives, AIR.nitrogen, ZHL16C.n2_rate_per_min), n2, start.n2_bar if start else None
    )
    start_he_bar = np.zeros_like(start_n2_bar)
    if np.any(he.gained_bar) or (start and start.has_helium):
        start_he_bar, _ = _along_chain(
            intervals_before(dives, AIR.helium, ZHL16C.he_rate_per_min), he, start.he_bar if start else None
        )
        start_he_bar[np.max(start_he_bar, axis=1) <= TRACE_BAR] = 0.0
    return Chain(
        dives=dives,
        lanes=lanes,
        n2=n2,
        he=he,
        start_n2_bar=start_n2_bar,
        start_he_bar=start_he_bar,
        end_n2_bar=end_n2_bar,
        end_he_bar=he.end_bar(start_he_bar),
    )


def figures_along(chain: Chain, factors: GradientFactors) -> FiguresAlong:
    """Return the figures at every sample of every dive.

    chain    the logbook, chained
    factors  the diver's gradient factors

    Single precision: see `lane_scan`. Source: at the head of this module.

    >>> from logbook_app.physics.many_dives import square_dive
    >>> figures = figures_along(chained(square_dive(4.01325, minutes=5.0)), GradientFactors(1.0, 1.0))
    >>> round(float(figures.no_stop_min[figures.of(0)][0]), 2)
    16.54
    """
    figures = _room_for(chain)
    begin = 0
    for lanes in chain.lanes:
        _look_at_lanes(lanes, chain.start_n2_bar[lanes.dives], factors, figures, begin)
        begin += lanes.rows_bar.size
    for dive in np.flatnonzero(chain.alone).tolist():
        _look_alone(chain, dive, factors, figures)
    return figures


def _usual_slots(samples: int) -> int:
    return next(slots for slots, up_to in _SLOTS_FOR_SAMPLES if samples <= up_to)


def _uptakes(dives: ManyDives, lanes: Iterable[Lanes]) -> tuple[Uptake, Uptake]:
    minutes = dives.duration_min[:, None]
    n2, he = (
        Uptake(np.exp(-minutes * rate_per_min), np.zeros((len(dives), COMPARTMENT_COUNT)))
        for rate_per_min in (ZHL16C.n2_rate_per_min, ZHL16C.he_rate_per_min)
    )
    alone = np.ones(len(dives), dtype=bool)
    for some in lanes:
        n2.gained_bar[some.dives] = some.uptake.gained_bar
        alone[some.dives] = False
    for dive in np.flatnonzero(alone | dives.breathes_helium).tolist():
        at = dives.samples(dive)
        both = uptake_along(
            dives.time_min[at], dives.ambient_bar[at], dives.n2_fraction[at], dives.he_fraction[at]
        )
        n2.gained_bar[dive], he.gained_bar[dive] = both[0].gained_bar, both[1].gained_bar
    return n2, he


def intervals_before(dives: ManyDives, air_fraction: float, rate_per_min: FloatArray) -> Uptake:
    """Return the uptake of one gas in the interval before each dive, shape (d, 16).

    dives         the logbook
    air_fraction  share of the gas in the air [fraction]
    rate_per_min  k of every compartment for it, shape (16,) [1/min]

    Before the first dive, and where the interval is infinite, nothing is kept. Source: Haldane's equation.

    >>> from logbook_app.physics.many_dives import square_dive
    >>> dive = square_dive(4.01325, minutes=5.0)
    >>> float(intervals_before(dive, 0.79, ZHL16C.n2_rate_per_min).gained_bar[0, 0].round(4))
    0.7509
    """
    minutes = dives.interval_min.copy()
    minutes[:1] = np.inf
    at_bar = np.where(np.isinf(minutes), dives.surface_bar, _one_earlier(dives.surface_bar))
    inspired_bar = inspired_inert_bar(at_bar, np.asarray(air_fraction))
    return uptake_at_constant(inspired_bar, minutes, rate_per_min)


def _along_chain(
    intervals: Uptake, dives: Uptake, first_bar: FloatArray | None
) -> tuple[FloatArray, FloatArray]:
    """Return one gas's tension at the start and the end of each dive, shape (d, 16) each. [bar]"""
    if first_bar is not None:
        intervals.gained_bar[0] = first_bar
    end_bar = ends_along_chain(followed_by(intervals, dives))
    return intervals.end_bar(_one_earlier(end_bar)), end_bar


def _one_earlier(by_dive: FloatArray) -> FloatArray:
    """Return what belongs to the dive before, zero for the first."""
    earlier = np.zeros_like(by_dive)
    earlier[1:] = by_dive[:-1]
    return earlier


def _room_for(chain: Chain) -> FiguresAlong:
    dives, begin = chain.dives, 0
    place = np.empty(len(dives), dtype=np.intp)
    for lanes in chain.lanes:
        place[lanes.dives] = begin + lanes.first_lane * lanes.slots + lanes.held
        begin += lanes.rows_bar.size
    rest = np.flatnonzero(~chain.in_lanes)
    place[rest] = begin + np.cumsum(dives.count[rest]) - dives.count[rest]
    room = begin + int(np.sum(dives.count[rest]))
    return FiguresAlong(place, dives.count, *(np.empty(room, dtype=np.float32) for _ in range(6)))


def _look_at_lanes(
    lanes: Lanes, dive_start_bar: FloatArray, factors: GradientFactors, figures: FiguresAlong, begin: int
) -> None:
    """Put in the figures of many dives, lane after lane."""
    ambient_bar = lanes.turned_bar()
    shape, place = lanes.rows_bar.shape, slice(begin, begin + lanes.rows_bar.size)
    for found in (
        oxygen_along_lanes(lanes, ambient_bar),
        scan_tissues(lanes, ambient_bar, lanes.starts_bar(dive_start_bar), factors),
    ):
        for name, by_slot in vars(found).items():
            getattr(figures, name)[place].reshape(shape)[...] = by_slot.T


def _look_alone(chain: Chain, dive: int, factors: GradientFactors, figures: FiguresAlong) -> None:
    """Put in the figures of one dive by the exact functions."""
    dives, at, into = chain.dives, chain.dives.samples(dive), figures.of(dive)
    time_min, ambient_bar = dives.time_min[at], dives.ambient_bar[at]
    n2_fraction, he_fraction = dives.n2_fraction[at], dives.he_fraction[at]
    oxygen = 1.0 - n2_fraction - he_fraction
    surface_bar, density_kg_m3 = float(dives.surface_bar[dive]), float(dives.density_kg_m3[dive])
    start = Tensions(chain.start_n2_bar[dive], chain.start_he_bar[dive])
    n2_bar, he_bar = load_along(start, time_min, ambient_bar, n2_fraction, he_fraction)
    figures.ceiling_m[into] = signed_ceiling_m(n2_bar, he_bar, surface_bar, factors.low, density_kg_m3)
    figures.load[into] = load_by_compartment(n2_bar, he_bar, surface_bar, factors.high).max(axis=1)
    figures.no_stop_min[into] = no_stop_min(
        n2_bar, he_bar, ambient_bar, surface_bar, n2_fraction, he_fraction, factors.high
    )
    figures.ppo2_bar[into] = ppo2_bar(ambient_bar, oxygen)
    doses = time_min, ppo2_bar(ambient_bar[:-1], oxygen[:-1]), ppo2_bar(ambient_bar[1:], oxygen[:-1])
    figures.cns_fraction[into], figures.otu[into] = cns_fraction_along(*doses), otu_along(*doses)
