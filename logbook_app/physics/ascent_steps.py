"""One step of a way up: every diver rises to the next stop or waits one more minute.

Many samples are reckoned side by side, one a row: all rise or wait in the same step, so that a step costs
little more for a hundred samples than for one. Waiting minute by minute rather than solving for the time
finds the first minute that is allowed, also where helium leaves while nitrogen enters and a tension turns.
The rules are those of `decompression_stops`.
"""

import math
from dataclasses import dataclass, field, fields, replace
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
from logbook_app.physics.tissue_loading import haldane_bar, schreiner_bar
from logbook_app.physics.units import FloatArray

STOP_SPACING_M: Final = 3.0
GAS_IN_USE: Final = -1
# A depth that a sum of decimals has pushed off its multiple of 3 m is still that stop.
_SAME_DEPTH_M: Final = 1e-9


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
class Ascent:
    """What all divers of one reckoning share.

    surface_bar    pressure of the air at the surface [bar]
    density_kg_m3  density of the water, or of the depth scale [kg/m3]
    factors        the diver's gradient factors
    carried        gases along besides the one in use, each with its switch depth
    """

    surface_bar: float
    density_kg_m3: float = DENSITY_EN13319_KG_M3
    factors: GradientFactors = field(default_factory=GradientFactors)
    carried: tuple[CarriedGas, ...] = ()

    def ambient_bar(self, depth_m: FloatArray) -> FloatArray:
        """Return the absolute pressure at depths [m]. [bar]"""
        return ambient_bar(depth_m, self.surface_bar, self.density_kg_m3)


@dataclass(frozen=True, eq=False)
class Divers:
    """Divers on the way up, one a row, each at a time of its own.

    row          the sample that each answers for, shape (m,) [index, counted from 0]
    depth_m      depth of each, shape (m,) [m]
    anchor_m     where the low factor counts, a multiple of 3 m, shape (m,) [m]
    gas          place of the gas among those carried, or GAS_IN_USE, shape (m,)
    oxygen       its share of oxygen, shape (m,) [fraction]
    fraction     its shares of nitrogen and, where helium matters, of helium, shape (m, 1 or 2) [fraction]
    tension_bar  tensions of the same gases, shape (m, 1 or 2, 16) [bar]
    elapsed_min  time since the way up began, shape (m,) [min]
    leg_min      time of the leg ahead, shape (m,) [min]
    leg          weights of tension, inspired pressure at its deep and at its shallow end for the leg ahead,
                 kept because only a first leg can be of odd length, shape (m, 3, 1 or 2, 16)
    """

    row: npt.NDArray[np.intp]
    depth_m: FloatArray
    anchor_m: FloatArray
    gas: npt.NDArray[np.intp]
    oxygen: FloatArray
    fraction: FloatArray
    tension_bar: FloatArray
    elapsed_min: FloatArray
    leg_min: FloatArray
    leg: FloatArray

    def only(self, these: npt.NDArray[np.bool_]) -> "Divers":
        """Return some of them, by a mask of shape (m,)."""
        return self if np.all(these) else Divers(*(getattr(self, f.name)[these] for f in fields(self)))


def divers_at(
    ascent: Ascent,
    n2_bar: FloatArray,
    he_bar: FloatArray,
    depth_m: FloatArray,
    anchor_m: FloatArray,
    n2_fraction: FloatArray,
    he_fraction: FloatArray,
) -> Divers:
    """Return divers about to come up.

    ascent       what they share
    n2_bar       nitrogen tension, shape (m, 16) [bar]
    he_bar       helium tension, shape (m, 16) [bar]
    depth_m      depth, shape (m,) [m]
    anchor_m     deepest ceiling at the low factor so far, rounded up to 3 m here, shape (m,) [m]
    n2_fraction  share of nitrogen in use, shape (m,) [fraction]
    he_fraction  share of helium in use, shape (m,) [fraction]

    Raises ValueError with a sentence where a number is missing. Source: `decompression_stops`.

    >>> sea = Ascent(1.01325)
    >>> one, none = np.ones(1), np.zeros(1)
    >>> diver = divers_at(sea, np.full((1, 16), 0.75), np.zeros((1, 16)), 7.0 * one, none, 0.79 * one, none)
    >>> diver.leg_min.tolist()
    [0.1]
    """
    _refuse_what_is_no_number(n2_bar, he_bar, depth_m, anchor_m, n2_fraction, he_fraction)
    helium = np.any(he_bar > 0.0) or np.any(he_fraction > 0.0) or any(c.gas.helium for c in ascent.carried)
    gases = 2 if helium else 1
    depth_m = np.where(depth_m > _SAME_DEPTH_M, depth_m, 0.0)
    leg_min = np.where(depth_m > 0.0, depth_m - _next_stop_m(depth_m), STOP_SPACING_M) / USUAL_LIMIT_M_MIN
    return Divers(
        row=np.arange(depth_m.size),
        depth_m=depth_m,
        anchor_m=STOP_SPACING_M * np.ceil(np.maximum(anchor_m, 0.0) / STOP_SPACING_M - _SAME_DEPTH_M),
        gas=np.full(depth_m.size, GAS_IN_USE),
        oxygen=1.0 - n2_fraction - he_fraction,
        fraction=np.stack([n2_fraction, he_fraction][:gases], axis=1),
        tension_bar=np.stack([n2_bar, he_bar][:gases], axis=1),
        elapsed_min=np.zeros(depth_m.size),
        leg_min=leg_min,
        leg=_leg_weights(leg_min, gases),
    )


def rise_or_wait(divers: Divers, ascent: Ascent) -> Divers:
    """Return the divers at their next stop where it is tolerated on arrival, else a minute later.

    divers  all of them below the surface
    ascent  what they share

    Whoever is still at the same depth has waited. Source: `decompression_stops`.

    >>> sea = Ascent(1.01325)
    >>> one, none = np.ones(1), np.zeros(1)
    >>> diver = divers_at(sea, np.full((1, 16), 3.0), np.zeros((1, 16)), 7.0 * one, none, 0.79 * one, none)
    >>> rise_or_wait(diver, sea).depth_m.tolist(), rise_or_wait(diver, sea).elapsed_min.tolist()
    ([7.0], [1.0])
    """
    divers = _on_richest_gas(divers, ascent)
    gases = divers.fraction.shape[1]
    next_m = _next_stop_m(divers.depth_m)
    here_bar, there_bar = (
        inspired_inert_bar(ascent.ambient_bar(depth_m)[:, None], divers.fraction)[:, :, None]
        for depth_m in (divers.depth_m, next_m)
    )
    kept, at_start, at_end = np.moveaxis(divers.leg, 1, 0)
    arrived_bar = kept * divers.tension_bar + at_start * here_bar + at_end * there_bar
    waited_bar = here_bar + (divers.tension_bar - here_bar) * _KEPT_IN_A_MINUTE[:gases]
    rises = _tolerated(arrived_bar, next_m, divers.anchor_m, ascent)
    return replace(
        divers,
        depth_m=np.where(rises, next_m, divers.depth_m),
        tension_bar=np.where(rises[:, None, None], arrived_bar, waited_bar),
        elapsed_min=divers.elapsed_min + np.where(rises, divers.leg_min, 1.0),
        leg_min=np.where(rises, _USUAL_LEG_MIN, divers.leg_min),
        leg=np.where(rises[:, None, None, None], _USUAL_LEG[:, :, :gases], divers.leg),
    )


def _on_richest_gas(divers: Divers, ascent: Ascent) -> Divers:
    gas, oxygen, fraction = divers.gas, divers.oxygen, divers.fraction
    for number, carried in enumerate(ascent.carried):
        reached = carried.switch_depth_m >= divers.depth_m - _SAME_DEPTH_M
        takes = reached & (carried.gas.oxygen > oxygen)
        shares = np.array([carried.gas.nitrogen, carried.gas.helium])[: fraction.shape[1]]
        gas = np.where(takes, number, gas)
        oxygen = np.where(takes, carried.gas.oxygen, oxygen)
        fraction = np.where(takes[:, None], shares, fraction)
    return replace(divers, gas=gas, oxygen=oxygen, fraction=fraction)


def _tolerated(
    tension_bar: FloatArray, depth_m: FloatArray, anchor_m: FloatArray, ascent: Ascent
) -> npt.NDArray[np.bool_]:
    """Return whose compartments all tolerate a depth at the factor of that depth, shape (m,)."""
    n2_bar = tension_bar[:, 0]
    he_bar = tension_bar[:, 1] if tension_bar.shape[1] > 1 else np.zeros_like(n2_bar)
    a_bar, b = combined_a_b(n2_bar, he_bar)
    pressure_bar = ascent.ambient_bar(depth_m)[:, None]
    factor = ascent.factors.at_depth(depth_m, anchor_m)[:, None]
    allowed_bar = pressure_bar + factor * (a_bar + pressure_bar / b - pressure_bar)
    return np.asarray(np.all(n2_bar + he_bar <= allowed_bar, axis=1))


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
