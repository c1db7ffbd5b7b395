"""The load ticking down at the surface, cheap enough to be asked for with every frame.

Without helium every tension is one exponential towards equilibrium and every limit stands still, so that the
load of `residual_load` is one exponential too:

    load(t) = load(0) exp(-k t)

Sixteen numbers and the minutes since are all there is to it; plain floats are quicker than arrays here.

Source: worked out from Haldane's equation, see `tissue_loading`.
"""

import math
from dataclasses import dataclass

import numpy as np

from logbook_app.physics.compartments import ZHL16C
from logbook_app.physics.residual_load import load_by_compartment
from logbook_app.physics.units import FloatArray

_RATES_PER_MIN: tuple[float, ...] = tuple(ZHL16C.n2_rate_per_min.tolist())


@dataclass(frozen=True)
class LiveLoad:
    """The loads at one instant at the surface, from which those of every later one follow.

    at_start  load of every compartment then, sixteen numbers [fraction]

    >>> live = live_load(np.full(16, 1.5), 1.01325, 0.85)
    >>> [round(load, 4) for load in live.after(5.0)[:2]]
    [0.1931, 0.3087]
    """

    at_start: tuple[float, ...]

    def after(self, minutes: float) -> list[float]:
        """Return the load of every compartment after a time on air [min]. [fraction]"""
        exp = math.exp
        return [load * exp(-rate * minutes) for load, rate in zip(self.at_start, _RATES_PER_MIN, strict=True)]


def live_load(n2_bar: FloatArray, surface_bar: float, gf_high: float) -> LiveLoad:
    """Return the loads that follow from nitrogen tensions at the surface.

    n2_bar       nitrogen tension now, no helium, shape (16,) [bar]
    surface_bar  pressure of the air [bar]
    gf_high      gradient factor at the surface [fraction]

    Source: at the head of this module.

    >>> round(live_load(np.full(16, 1.5), 1.01325, 0.85).after(0.0)[0], 4)
    0.3863
    """
    load = load_by_compartment(n2_bar, np.zeros_like(n2_bar), surface_bar, gf_high)
    return LiveLoad(tuple(load.tolist()))
