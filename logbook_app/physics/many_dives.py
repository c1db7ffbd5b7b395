"""The samples of many dives laid end to end, and the figures at each of them.

Looked at one by one, thousands of dives cost a hundred array operations each; laid end to end they share
them. The dives are in order of time. Each has its own clock, surface, water and gases, and an interval at
the surface before it.
"""

from dataclasses import dataclass, fields
from functools import cached_property
from typing import Final

import numpy as np
import numpy.typing as npt

from logbook_app.physics.constants import AIR_INERT, DENSITY_EN13319_KG_M3, STANDARD_PRESSURE_BAR
from logbook_app.physics.units import FloatArray

IndexArray = npt.NDArray[np.intp]
SingleArray = npt.NDArray[np.float32]

# Floats tell equal steps of a clock apart in their last digits; whole microseconds do not.
_TICKS_PER_MIN: Final = 60e6


@dataclass(frozen=True, eq=False)
class ManyDives:
    """Samples of a diver's dives, n in all, and what belongs to each of the d dives, oldest first.

    count          samples of each dive, 1 or more, shape (d,)
    time_min       time of each sample on its dive's own clock, never falling within it, shape (n,) [min]
    ambient_bar    absolute pressure, changing linearly between samples, shape (n,) [bar]
    n2_fraction    share of nitrogen breathed from each sample on, shape (n,) [fraction]
    he_fraction    share of helium breathed from each sample on, shape (n,) [fraction]
    surface_bar    pressure at the surface, shape (d,) [bar]
    density_kg_m3  of the water, or of the depth scale, shape (d,) [kg/m3]
    interval_min   time on air before the dive, at the surface pressure of the dive before it; inf for a
                   diver who begins saturated on air at this dive's own surface, shape (d,) [min]

    Oxygen is the rest of the gas. Raises ValueError when the shapes do not belong together.

    >>> dive = square_dive(4.01325, minutes=1.0)
    >>> len(dive), dive.first.tolist(), dive.step_min.round(3).tolist()
    (1, [0], [0.167])
    """

    count: IndexArray
    time_min: FloatArray
    ambient_bar: FloatArray
    n2_fraction: FloatArray
    he_fraction: FloatArray
    surface_bar: FloatArray
    density_kg_m3: FloatArray
    interval_min: FloatArray

    def __post_init__(self) -> None:
        samples, dives = int(np.sum(self.count)), self.count.size
        if dives and int(np.min(self.count)) < 1:
            raise ValueError("Every dive needs a sample; leave out the dives that have none.")
        by_sample = {"time_min", "ambient_bar", "n2_fraction", "he_fraction"}
        for field in fields(self):
            shape, wanted = getattr(self, field.name).shape, (samples if field.name in by_sample else dives,)
            if shape != wanted:
                raise ValueError(
                    f"{field.name} has the shape {shape}; {dives} dives of {samples} samples need {wanted}."
                )

    def __len__(self) -> int:
        return self.count.size

    @cached_property
    def first(self) -> IndexArray:
        """Place of each dive's first sample, shape (d,)."""
        return np.asarray(np.cumsum(self.count) - self.count)

    def samples(self, dive: int) -> slice:
        """Return where the samples of one dive lie."""
        return slice(self.first[dive], self.first[dive] + self.count[dive])

    @cached_property
    def duration_min(self) -> FloatArray:
        """Time from the first sample of each dive to its last, shape (d,). [min]"""
        return np.asarray(self.time_min[self.first + self.count - 1] - self.time_min[self.first])

    @cached_property
    def step_min(self) -> FloatArray:
        """The one step between all samples of a dive, NaN where they differ, shape (d,). [min]"""
        steps = np.diff(np.rint(self.time_min * _TICKS_PER_MIN).astype(np.int64), append=0)
        steps[self.first + self.count - 1] = steps[self.first]  # no step leads out of a dive
        shortest, longest = np.minimum.reduceat(steps, self.first), np.maximum.reduceat(steps, self.first)
        return np.where((shortest == longest) & (self.count > 1), longest / _TICKS_PER_MIN, np.nan)

    @cached_property
    def switches(self) -> IndexArray:
        """Places of the samples from which another share of nitrogen is breathed than before."""
        changed = np.flatnonzero(np.diff(self.n2_fraction)) + 1
        return np.setdiff1d(changed, self.first, assume_unique=True)

    @cached_property
    def breathes_helium(self) -> npt.NDArray[np.bool_]:
        """Whether there is helium in any gas of each dive, shape (d,)."""
        return np.asarray(np.maximum.reduceat(self.he_fraction, self.first) > 0.0)


def square_dive(ambient_bar: float, minutes: float) -> ManyDives:
    """Return one dive on air at one pressure with a sample every ten seconds, to try things on.

    ambient_bar  pressure all along [bar]
    minutes      time there [min]

    Made up, no source.

    >>> square_dive(4.01325, minutes=0.5).time_min.round(2).tolist()
    [0.0, 0.17, 0.33, 0.5]
    """
    time_min = np.arange(round(minutes * 6) + 1) / 6
    return ManyDives(
        count=np.array([time_min.size]),
        time_min=time_min,
        ambient_bar=np.full(time_min.size, ambient_bar),
        n2_fraction=np.full(time_min.size, AIR_INERT),
        he_fraction=np.zeros(time_min.size),
        surface_bar=np.array([STANDARD_PRESSURE_BAR]),
        density_kg_m3=np.array([DENSITY_EN13319_KG_M3]),
        interval_min=np.array([np.inf]),
    )


@dataclass(eq=False)
class FiguresAlong:
    """Figures at every sample of many dives, in single precision.

    The dives keep no order in the arrays; `of` finds one.

    place, count   where the samples of each dive begin in the arrays, and how many they are, shape (d,)
    ceiling_m      ceiling at the low gradient factor, negative above the surface [m]
    load           load of the leading compartment [fraction]
    no_stop_min    further no-stop time, 0 where a limit is passed, NaN where there is none in 24 h [min]
    ppo2_bar       oxygen pressure on the gas breathed from the sample on [bar]
    cns_fraction   oxygen clock since the dive began, without what was carried into it [fraction]
    otu            pulmonary dose since the dive began [OTU]
    """

    place: IndexArray
    count: IndexArray
    ceiling_m: SingleArray
    load: SingleArray
    no_stop_min: SingleArray
    ppo2_bar: SingleArray
    cns_fraction: SingleArray
    otu: SingleArray

    def of(self, dive: int) -> slice:
        """Return where the samples of one dive lie in every array."""
        return slice(self.place[dive], self.place[dive] + self.count[dive])
