"""The stops that the model requires on the way up, and how long it all takes.

A reckoning about a dive that is over: what a diver, at some sample of the recording, still had between
himself and the surface. It is no plan for a dive and no advice under water.

The rules, all of them conventions of this logbook built from common practice:

* Stops are at whole multiples of 3 m, the last at 3 m. The diver goes from stop to stop at 10 m/min and
  waits in whole minutes; the travel counts in the time to the surface, not in the minutes of a stop.
* He goes on when every compartment, with the tensions it will have on arrival, tolerates the next stop
  at the gradient factor of that stop; until then he waits where he is. Somebody who starts between two
  multiples of 3 m, above the stop he should have made, therefore waits right there.
* The line of gradient factors runs from the anchor (`ceiling.anchor_m`, the deepest ceiling at the low factor
  so far), rounded up to 3 m, to the surface. The anchor stays where it is for the whole way up.
* He breathes the richest of the gas in use and of those carried whose switch depth is not shallower than
  where he is. Switching takes no time, and a leg is breathed on the gas of its deeper end.

Many samples are reckoned side by side, one a row: all rise or wait in the same step, so that a step costs
little more for a hundred samples than for one. Waiting minute by minute rather than solving for the time
finds the first minute that is allowed, also where helium leaves while nitrogen enters and a tension turns.

Sources: the model, as in `tissue_loading` and `gradient_factors`; the rules of the stops, common practice, no
source.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Final

import numpy as np
import numpy.typing as npt

from logbook_app.physics.ambient_pressure import ambient_bar
from logbook_app.physics.ascent_rate import USUAL_LIMIT_M_MIN
from logbook_app.physics.breathing_gas import BreathingGas
from logbook_app.physics.compartments import ZHL16C
from logbook_app.physics.constants import DENSITY_EN13319_KG_M3
from logbook_app.physics.gradient_factors import GradientFactors, combined_a_b
from logbook_app.physics.inspired_pressure import inspired_inert_bar
from logbook_app.physics.safety_stop import STOP_DEEP_M, STOP_SHALLOW_M, USUAL_STOP_MIN, WANTED_BEYOND_M
from logbook_app.physics.tissue_loading import Tensions, haldane_bar, schreiner_bar
from logbook_app.physics.units import FloatArray

STOP_SPACING_M: Final = 3.0
LONGEST_WAY_UP_MIN: Final = 24 * 60.0
SUGGESTED_STOP_M: Final = 5.0
# A depth that a sum of decimals has pushed off its multiple of 3 m is still that stop.
_SAME_DEPTH_M: Final = 1e-9
_GAS_IN_USE: Final = -1


@dataclass(frozen=True)
class CarriedGas:
    """A gas that the diver has along and the depth from which it is breathed on the way up.

    gas             what is in the cylinder
    switch_depth_m  deepest depth at which it is breathed, 0 or more [m]

    Raises ValueError with a sentence when the depth is none.
    """

    gas: BreathingGas
    switch_depth_m: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.switch_depth_m) and self.switch_depth_m >= 0.0):
            raise ValueError(
                f"A switch depth of {self.switch_depth_m:g} m for {self.gas.name} is not a depth; "
                "give 0 m or more."
            )


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
    surface_bar: float,
    density_kg_m3: float = DENSITY_EN13319_KG_M3,
    factors: GradientFactors = GradientFactors(),  # noqa: B008 - frozen, so sharing it is safe
    carried: Sequence[CarriedGas] = (),
) -> WayUp:
    """Return the required stops and the time to the surface from one moment of a dive.

    tensions       what is dissolved at that moment [bar]
    depth_m        depth of the diver [m]
    anchor_m       deepest ceiling at the low factor so far, the present one included [m]
    gas            the gas in use
    surface_bar    pressure of the air at the surface [bar]
    density_kg_m3  density of the water, or of the depth scale [kg/m3]
    factors        the diver's gradient factors
    carried        other gases along, each with its switch depth

    Raises ValueError with a sentence when the way up takes more than 24 h, or an argument is no number.
    Source: the rules at the head of this module.

    >>> from logbook_app.physics.breathing_gas import AIR
    >>> from logbook_app.physics.ceiling import signed_ceiling_m
    >>> from logbook_app.physics.tissue_loading import after_constant, saturated_on_air
    >>> loaded = after_constant(saturated_on_air(1.01325), 5.01325, AIR, 20.0)
    >>> low_ceiling_m = signed_ceiling_m(loaded.n2_bar, loaded.he_bar, 1.01325, 0.40).item()
    >>> found = way_up(loaded, 40.0, low_ceiling_m, AIR, 1.01325)
    >>> [(stop.depth_m, stop.minutes) for stop in found.stops], round(found.time_to_surface_min, 6)
    ([(12.0, 1), (9.0, 3), (6.0, 4), (3.0, 9)], 21.0)
    """
    water = _Water(surface_bar, density_kg_m3, factors, tuple(carried))
    diver = _divers(
        water,
        tensions.n2_bar[None],
        tensions.he_bar[None],
        *(np.array([value]) for value in (depth_m, anchor_m, gas.nitrogen, gas.helium)),
    )
    stops: dict[float, Stop] = {}
    while diver.depth_m[0] > 0.0:
        at_m = float(diver.depth_m[0])
        diver = _rise_or_wait(diver, water)
        if diver.depth_m[0] == at_m:
            breathed = gas if diver.gas[0] == _GAS_IN_USE else carried[diver.gas[0]].gas
            minutes = stops[at_m].minutes + 1 if at_m in stops else 1
            stops[at_m] = Stop(at_m, minutes, breathed)
        if diver.elapsed_min[0] > LONGEST_WAY_UP_MIN:
            raise ValueError(
                f"From {depth_m:g} m on {gas.name} the way up takes more than 24 hours; "
                "no stops are given for it."
            )
    return WayUp(tuple(stops.values()), float(diver.elapsed_min[0]))


def time_to_surface_min(
    n2_bar: FloatArray,
    he_bar: FloatArray,
    depth_m: npt.ArrayLike,
    anchor_m: npt.ArrayLike,
    n2_fraction: npt.ArrayLike,
    he_fraction: npt.ArrayLike,
    surface_bar: float,
    density_kg_m3: float = DENSITY_EN13319_KG_M3,
    factors: GradientFactors = GradientFactors(),  # noqa: B008 - frozen, so sharing it is safe
    carried: Sequence[CarriedGas] = (),
) -> FloatArray:
    """Return the time to the surface, required stops included, from every one of several samples. [min]

    n2_bar         nitrogen tension at each sample, shape (m, 16) [bar]
    he_bar         helium tension at each sample, shape (m, 16) [bar]
    depth_m        depth at each sample, shape (m,) [m]
    anchor_m       deepest ceiling at the low factor up to each sample (`ceiling.anchor_m` over ALL samples
                   of the dive, then thinned), shape (m,) [m]
    n2_fraction    share of nitrogen in use from each sample on, scalar or shape (m,) [fraction]
    he_fraction    share of helium in use from each sample on, scalar or shape (m,) [fraction]
    surface_bar    pressure of the air at the surface [bar]
    density_kg_m3  density of the water, or of the depth scale [kg/m3]
    factors        the diver's gradient factors
    carried        other gases along, each with its switch depth

    Returns shape (m,): 0 at the surface, NaN where the way up takes more than 24 h and nothing is said. A
    simulation for each sample, so give it a thinned set (`watched_samples`); it takes at most 24 h of minutes
    in steps, whatever the tensions are. Source: the rules at the head of this module.

    >>> rest = np.full((2, 16), 0.75)
    >>> time_to_surface_min(rest, 0 * rest, [30.0, 0.0], [0.0, 0.0], 0.79, 0.0, 1.01325).round(6).tolist()
    [3.0, 0.0]
    """
    depth = np.asarray(depth_m, dtype=np.float64)
    anchor, n2, he = (
        np.broadcast_to(np.asarray(values, dtype=np.float64), depth.shape)
        for values in (anchor_m, n2_fraction, he_fraction)
    )
    water = _Water(surface_bar, density_kg_m3, factors, tuple(carried))
    divers = _divers(water, n2_bar, he_bar, depth, anchor, n2, he)
    minutes = np.full(depth.shape, np.nan)
    while divers.row.size:
        up = divers.depth_m <= 0.0
        minutes[divers.row[up]] = divers.elapsed_min[up]
        divers = _rise_or_wait(divers.only(~up), water)
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


@dataclass(frozen=True)
class _Water:
    """What all divers of one reckoning share: the water, the factors, the gases along."""

    surface_bar: float
    density_kg_m3: float
    factors: GradientFactors
    carried: tuple[CarriedGas, ...]

    def ambient_bar(self, depth_m: FloatArray) -> FloatArray:
        return ambient_bar(depth_m, self.surface_bar, self.density_kg_m3)


@dataclass(frozen=True, eq=False)
class _Divers:
    """Divers on the way up, one a row, each at a time of his own.

    `gases` is 1 for nitrogen alone and 2 with helium. A leg is a weighted mean of the tension and of the
    inspired pressures at its deep and at its shallow end; the weights of the leg ahead are kept, because only
    a first leg can be of odd length.
    """

    row: npt.NDArray[np.intp]  # the sample that this diver answers for, (m,)
    depth_m: FloatArray  # (m,)
    anchor_m: FloatArray  # a multiple of 3 m, (m,)
    gas: npt.NDArray[np.intp]  # place among the carried gases, or the gas in use, (m,)
    oxygen: FloatArray  # (m,)
    fraction: FloatArray  # (m, gases)
    tension_bar: FloatArray  # (m, gases, 16)
    elapsed_min: FloatArray  # (m,)
    leg_min: FloatArray  # (m,)
    leg: FloatArray  # (m, 3, gases, 16)

    def only(self, these: npt.NDArray[np.bool_]) -> "_Divers":
        return self if np.all(these) else _Divers(*(getattr(self, f.name)[these] for f in fields(self)))


def _divers(
    water: _Water,
    n2_bar: FloatArray,
    he_bar: FloatArray,
    depth_m: FloatArray,
    anchor_m: FloatArray,
    n2_fraction: FloatArray,
    he_fraction: FloatArray,
) -> _Divers:
    _refuse_what_is_no_number(n2_bar, he_bar, depth_m, anchor_m, n2_fraction, he_fraction)
    helium = np.any(he_bar > 0.0) or np.any(he_fraction > 0.0) or any(c.gas.helium for c in water.carried)
    gases = 2 if helium else 1
    leg_min = np.where(depth_m > 0.0, depth_m - _next_stop_m(depth_m), STOP_SPACING_M) / USUAL_LIMIT_M_MIN
    return _Divers(
        row=np.arange(depth_m.size),
        depth_m=depth_m,
        anchor_m=STOP_SPACING_M * np.ceil(np.maximum(anchor_m, 0.0) / STOP_SPACING_M - _SAME_DEPTH_M),
        gas=np.full(depth_m.size, _GAS_IN_USE),
        oxygen=1.0 - n2_fraction - he_fraction,
        fraction=np.stack([n2_fraction, he_fraction][:gases], axis=1),
        tension_bar=np.stack([n2_bar, he_bar][:gases], axis=1),
        elapsed_min=np.zeros(depth_m.size),
        leg_min=leg_min,
        leg=_leg_weights(leg_min, gases),
    )


def _rise_or_wait(divers: _Divers, water: _Water) -> _Divers:
    """Take every diver to his next stop where it is tolerated on arrival, else through one more minute."""
    divers = _on_richest_gas(divers, water)
    gases = divers.fraction.shape[1]
    next_m = _next_stop_m(divers.depth_m)
    here_bar, there_bar = (
        inspired_inert_bar(water.ambient_bar(depth_m)[:, None], divers.fraction)[:, :, None]
        for depth_m in (divers.depth_m, next_m)
    )
    kept, at_start, at_end = np.moveaxis(divers.leg, 1, 0)
    arrived_bar = kept * divers.tension_bar + at_start * here_bar + at_end * there_bar
    waited_bar = here_bar + (divers.tension_bar - here_bar) * _KEPT_IN_A_MINUTE[:gases]
    rises = _tolerated(arrived_bar, next_m, divers.anchor_m, water)
    return replace(
        divers,
        depth_m=np.where(rises, next_m, divers.depth_m),
        tension_bar=np.where(rises[:, None, None], arrived_bar, waited_bar),
        elapsed_min=divers.elapsed_min + np.where(rises, divers.leg_min, 1.0),
        leg_min=np.where(rises, _USUAL_LEG_MIN, divers.leg_min),
        leg=np.where(rises[:, None, None, None], _USUAL_LEG[:, :, :gases], divers.leg),
    )


def _on_richest_gas(divers: _Divers, water: _Water) -> _Divers:
    gas, oxygen, fraction = divers.gas, divers.oxygen, divers.fraction
    for number, carried in enumerate(water.carried):
        reached = carried.switch_depth_m >= divers.depth_m - _SAME_DEPTH_M
        takes = reached & (carried.gas.oxygen > oxygen)
        shares = np.array([carried.gas.nitrogen, carried.gas.helium])[: fraction.shape[1]]
        gas = np.where(takes, number, gas)
        oxygen = np.where(takes, carried.gas.oxygen, oxygen)
        fraction = np.where(takes[:, None], shares, fraction)
    return replace(divers, gas=gas, oxygen=oxygen, fraction=fraction)


def _tolerated(
    tension_bar: FloatArray, depth_m: FloatArray, anchor_m: FloatArray, water: _Water
) -> npt.NDArray[np.bool_]:
    """Return whose compartments all tolerate a depth at the factor of that depth, shape (m,)."""
    n2_bar = tension_bar[:, 0]
    he_bar = tension_bar[:, 1] if tension_bar.shape[1] > 1 else np.zeros_like(n2_bar)
    a_bar, b = combined_a_b(n2_bar, he_bar)
    pressure_bar = water.ambient_bar(depth_m)[:, None]
    factor = _factor(depth_m, anchor_m, water.factors)[:, None]
    allowed_bar = pressure_bar + factor * (a_bar + pressure_bar / b - pressure_bar)
    return np.asarray(np.all(n2_bar + he_bar <= allowed_bar, axis=1))


def _factor(depth_m: FloatArray, anchor_m: FloatArray, factors: GradientFactors) -> FloatArray:
    """Return `GradientFactors.at_depth` for every diver, shape (m,). [fraction]"""
    anchored = anchor_m > 0.0
    share = np.minimum(depth_m / np.where(anchored, anchor_m, 1.0), 1.0)
    return np.where(anchored, factors.high - (factors.high - factors.low) * share, factors.high)


def _next_stop_m(depth_m: FloatArray) -> FloatArray:
    """Return the multiple of 3 m above each depth. [m]"""
    at_or_below = np.ceil(depth_m / STOP_SPACING_M - _SAME_DEPTH_M)
    return np.asarray(np.maximum(STOP_SPACING_M * (at_or_below - 1.0), 0.0))


def _leg_weights(leg_min: FloatArray, gases: int) -> FloatArray:
    """Return the weights of tension, deep and shallow inspired pressure, shape (m, 3, gases, 16)."""
    # Schreiner's equation is linear in its three pressures. Half-times counted in legs let one call serve
    # legs of different lengths.
    half_time_legs = _HALF_TIME_MIN[:gases] / leg_min[:, None, None]
    units = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    return np.stack([schreiner_bar(*unit, half_time_legs, 1.0) for unit in units], axis=1)


_HALF_TIME_MIN: Final = np.stack([ZHL16C.n2_half_time_min, ZHL16C.he_half_time_min])
_KEPT_IN_A_MINUTE: Final = haldane_bar(1.0, 0.0, _HALF_TIME_MIN, 1.0)
_USUAL_LEG_MIN: Final = STOP_SPACING_M / USUAL_LIMIT_M_MIN
_USUAL_LEG: Final = _leg_weights(np.array([_USUAL_LEG_MIN]), gases=2)


def _refuse_what_is_no_number(*given: FloatArray) -> None:
    if not all(np.all(np.isfinite(values)) for values in given):
        raise ValueError(
            "A way up needs a number for every depth, anchor, gas share and tension; one is missing."
        )
