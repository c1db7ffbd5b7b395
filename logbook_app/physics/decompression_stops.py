"""The stops that the model requires on the way up, and how long it all takes.

A reckoning about a dive that is over: what still lay between the diver and the surface at some sample of
the recording. It is no plan for a dive and no advice under water.

The rules, all of them conventions of this logbook built from common practice:

* Stops are at whole multiples of 3 m, the last at 3 m. The diver goes from stop to stop at 10 m/min and
  waits in whole minutes; the travel counts in the time to the surface, not in the minutes of a stop.
* The diver goes on when every compartment, with the tensions it will have on arrival, tolerates the next
  stop at the gradient factor of that stop, and waits until then. Somebody who starts between two multiples
  of 3 m, above the stop that was due, therefore waits right there.
* The line of gradient factors runs from the anchor (`ceiling.anchor_m`, the deepest ceiling at the low factor
  so far), rounded up to 3 m, to the surface. The anchor stays where it is for the whole way up.
* What is breathed is the richest of the gas in use and of those carried whose switch depth is not
  shallower than the diver. Switching takes no time, and a leg is breathed on the gas of its deeper end.

The steps themselves are in `ascent_steps`.

Sources: the model, as in `tissue_loading` and `gradient_factors`; the rules of the stops, common practice, no
source.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from logbook_app.physics.ascent_steps import GAS_IN_USE, Ascent, divers_at, rise_or_wait
from logbook_app.physics.breathing_gas import BreathingGas
from logbook_app.physics.safety_stop import STOP_DEEP_M, STOP_SHALLOW_M, USUAL_STOP_MIN, WANTED_BEYOND_M
from logbook_app.physics.tissue_loading import Tensions
from logbook_app.physics.units import FloatArray

LONGEST_WAY_UP_MIN: Final = 24 * 60.0
SUGGESTED_STOP_M: Final = 5.0


@dataclass(frozen=True)
class Stop:
    """A wait that the model requires.

    depth_m  where [m]
    minutes  how long, without the travel to it [min]
    gas      what is breathed meanwhile
    """

    depth_m: float
    minutes: int
    gas: BreathingGas


@dataclass(frozen=True)
class WayUp:
    """Everything between one moment of a dive and the surface.

    stops                the required stops, from the deepest up; empty when there are none
    time_to_surface_min  all of it, travel and stops [min]
    """

    stops: tuple[Stop, ...]
    time_to_surface_min: float

    @property
    def stop_min(self) -> int:
        """Minutes of all required stops together. [min]"""
        return sum(stop.minutes for stop in self.stops)


@dataclass(frozen=True)
class SuggestedStop:
    """A safety stop: common practice suggests it, the model does not require it.

    depth_m  where [m]
    minutes  how long [min]
    """

    depth_m: float = SUGGESTED_STOP_M
    minutes: int = int(USUAL_STOP_MIN)


def way_up(
    tensions: Tensions,
    depth_m: float,
    anchor_m: float,
    gas: BreathingGas,
    ascent: Ascent,
) -> WayUp:
    """Return the required stops and the time to the surface from one moment of a dive.

    tensions  what is dissolved at that moment [bar]
    depth_m   depth of the diver [m]
    anchor_m  deepest ceiling at the low factor so far, the present one included [m]
    gas       the gas in use
    ascent    surface, water, gradient factors and the other gases along

    Raises ValueError with a sentence when the way up takes more than 24 h, or an argument is no number.
    Source: the rules at the head of this module.

    >>> from logbook_app.physics.breathing_gas import AIR
    >>> from logbook_app.physics.ceiling import signed_ceiling_m
    >>> from logbook_app.physics.tissue_loading import after_constant, saturated_on_air
    >>> loaded = after_constant(saturated_on_air(1.01325), 5.01325, AIR, 20.0)
    >>> low_ceiling_m = signed_ceiling_m(loaded.n2_bar, loaded.he_bar, 1.01325, 0.40).item()
    >>> found = way_up(loaded, 40.0, low_ceiling_m, AIR, Ascent(1.01325))
    >>> [(stop.depth_m, stop.minutes) for stop in found.stops], round(found.time_to_surface_min, 6)
    ([(12.0, 1), (9.0, 3), (6.0, 4), (3.0, 9)], 21.0)
    """
    diver = divers_at(
        ascent,
        tensions.n2_bar[None],
        tensions.he_bar[None],
        *(np.array([value]) for value in (depth_m, anchor_m, gas.nitrogen, gas.helium)),
    )
    stops: dict[float, Stop] = {}
    while diver.depth_m[0] > 0.0:
        at_m = float(diver.depth_m[0])
        diver = rise_or_wait(diver, ascent)
        if diver.depth_m[0] == at_m:
            breathed = gas if diver.gas[0] == GAS_IN_USE else ascent.carried[diver.gas[0]].gas
            minutes = stops[at_m].minutes + 1 if at_m in stops else 1
            stops[at_m] = Stop(at_m, minutes, breathed)
        if diver.elapsed_min[0] > LONGEST_WAY_UP_MIN:
            raise ValueError(
                f"From {depth_m:g} m on {gas.name} the way up takes more than 24 hours; "
                "no stops are given for it. Check the depths and the gas of the recording."
            )
    return WayUp(tuple(stops.values()), float(diver.elapsed_min[0]))


def time_to_surface_min(
    n2_bar: FloatArray,
    he_bar: FloatArray,
    depth_m: npt.ArrayLike,
    anchor_m: npt.ArrayLike,
    n2_fraction: npt.ArrayLike,
    he_fraction: npt.ArrayLike,
    ascent: Ascent,
) -> FloatArray:
    """Return the time to the surface, required stops included, from every one of several samples. [min]

    n2_bar       nitrogen tension at each sample, shape (m, 16) [bar]
    he_bar       helium tension at each sample, shape (m, 16) [bar]
    depth_m      depth at each sample, shape (m,) [m]
    anchor_m     deepest ceiling at the low factor up to each sample (`ceiling.anchor_m` over ALL samples
                 of the dive, then thinned), shape (m,) [m]
    n2_fraction  share of nitrogen in use from each sample on, scalar or shape (m,) [fraction]
    he_fraction  share of helium in use from each sample on, scalar or shape (m,) [fraction]
    ascent       surface, water, gradient factors and the other gases along

    Returns shape (m,): 0 at the surface, NaN where the way up takes more than 24 h and nothing is said. A
    simulation for each sample, so give it a thinned set (`watched_samples`); it takes at most 24 h of minutes
    in steps, whatever the tensions are. Source: the rules at the head of this module.

    >>> rest = np.full((2, 16), 0.75)
    >>> minutes = time_to_surface_min(rest, 0 * rest, [30.0, 0.0], [0.0, 0.0], 0.79, 0.0, Ascent(1.01325))
    >>> minutes.round(6).tolist()
    [3.0, 0.0]
    """
    depth = np.asarray(depth_m, dtype=np.float64)
    anchor, n2, he = (
        np.broadcast_to(np.asarray(values, dtype=np.float64), depth.shape)
        for values in (anchor_m, n2_fraction, he_fraction)
    )
    divers = divers_at(ascent, n2_bar, he_bar, depth, anchor, n2, he)
    minutes = np.full(depth.shape, np.nan)
    while divers.row.size:
        up = divers.depth_m <= 0.0
        minutes[divers.row[up]] = divers.elapsed_min[up]
        divers = rise_or_wait(divers.only(~up), ascent)
        divers = divers.only(divers.elapsed_min <= LONGEST_WAY_UP_MIN)
    return minutes


def watched_samples(time_s: npt.ArrayLike, every_s: float = 20.0) -> npt.NDArray[np.intp]:
    """Return which samples to reckon the time to the surface for. [index, counted from 0]

    time_s   time of each sample, never falling, shape (n,) [s]
    every_s  least time from one to the next, above 0 [s]

    The first sample in each whole interval of this length, and the very last. Source: common practice, no
    source.

    >>> watched_samples([0, 8, 16, 24, 32, 40, 47], 20.0).tolist()
    [0, 3, 5, 6]
    """
    clock_s = np.asarray(time_s, dtype=np.float64)
    interval = np.floor((clock_s - clock_s[:1]) / every_s)
    first = np.diff(interval, prepend=-1.0) > 0.0
    first[-1:] = True
    return np.flatnonzero(first)


def suggested_safety_stop(found: WayUp, deepest_m: float) -> SuggestedStop | None:
    """Return the safety stop that common practice would add to a way up, if any.

    found      the way up with its required stops
    deepest_m  deepest point of the dive so far [m]

    None after a dive that stayed within 10 m, and where the required stops between 3 and 6 m take those
    three minutes anyway. Source: common practice, no source.

    >>> suggested_safety_stop(WayUp((), 3.0), 30.0)
    SuggestedStop(depth_m=5.0, minutes=3)
    """
    waited_min = sum(s.minutes for s in found.stops if STOP_SHALLOW_M <= s.depth_m <= STOP_DEEP_M)
    if deepest_m <= WANTED_BEYOND_M or waited_min >= USUAL_STOP_MIN:
        return None
    return SuggestedStop()
