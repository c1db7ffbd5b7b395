"""How long a diver was above the ceiling, and by how much.

Under a ceiling of up to 3 m the stop that is due is 3 m, under one of 3 to 6 m it is 6 m, and so on: the
ceiling rounded up to a multiple of 3 m. Time above the ceiling counts for the stop that was due just then.

Depth and ceiling both run in straight lines between samples here, and every crossing is found on those lines,
so the recorder's interval does not round the minutes. The true ceiling bends a little between samples; with
samples every 10 s that is far below what a recorder resolves.

Source: the model's own ceiling (`ceiling`); the rounding to stops is common practice, no source.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from logbook_app.physics.ascent_steps import STOP_SPACING_M
from logbook_app.physics.depth_bands import share_within
from logbook_app.physics.units import FloatArray


@dataclass(frozen=True)
class MissedStop:
    """Time above the ceiling while one stop was due.

    stop_depth_m  the stop, a multiple of 3 m [m]
    minutes       time above the ceiling [min]
    most_above_m  the furthest above it [m]
    """

    stop_depth_m: float
    minutes: float
    most_above_m: float


@dataclass(frozen=True)
class MissedStops:
    """What was missed on a dive.

    stops            the stops that were missed, from the deepest up; empty when there are none
    most_above_at_s  when the diver was furthest above the ceiling, None if never [s]
    ceiling_left_m   ceiling that was left when the recording ended, 0 if none [m]
    """

    stops: tuple[MissedStop, ...]
    most_above_at_s: float | None
    ceiling_left_m: float

    @property
    def minutes(self) -> float:
        """Time above the ceiling, all stops together. [min]"""
        return sum(stop.minutes for stop in self.stops)

    @property
    def most_above_m(self) -> float:
        """The furthest above the ceiling, 0 if never. [m]"""
        return max((stop.most_above_m for stop in self.stops), default=0.0)

    @property
    def any(self) -> bool:
        """Whether the diver was above the ceiling, or the recording ended under one."""
        return bool(self.stops) or self.ceiling_left_m > 0.0


NONE_MISSED: Final = MissedStops((), None, 0.0)


def missed_stops(time_s: npt.ArrayLike, depth_m: npt.ArrayLike, ceiling_m: npt.ArrayLike) -> MissedStops:
    """Return the time that a diver spent above the ceiling, by the stop that was due.

    time_s     time of each sample, never falling, shape (n,) [s]
    depth_m    depth at each sample, shape (n,) [m]
    ceiling_m  ceiling at each sample (`ceiling.ceiling_m`), 0 where none, shape (n,) [m]

    Raises ValueError when the shapes differ or there is no sample. Source: at the head of this module.

    >>> found = missed_stops([0, 60, 120], [5.0, 1.0, 5.0], [2.0, 2.0, 2.0])
    >>> found.stops, found.most_above_at_s
    ((MissedStop(stop_depth_m=3.0, minutes=0.5, most_above_m=1.0),), 60.0)
    """
    clock_s, depth, ceiling = (np.asarray(v, dtype=np.float64) for v in (time_s, depth_m, ceiling_m))
    if clock_s.size == 0 or not clock_s.shape == depth.shape == ceiling.shape:
        raise ValueError(
            f"Times {clock_s.shape}, depths {depth.shape} and ceilings {ceiling.shape} need the same one row "
            "of samples."
        )
    above_m = ceiling - depth
    stops = _by_stop(clock_s, above_m, ceiling)
    return MissedStops(
        stops=stops,
        most_above_at_s=float(clock_s[np.argmax(above_m)]) if stops else None,
        ceiling_left_m=max(0.0, float(ceiling[-1])),
    )


def _by_stop(clock_s: FloatArray, above_m: FloatArray, ceiling_m: FloatArray) -> tuple[MissedStop, ...]:
    steps_s = np.diff(clock_s)
    found = []
    for number in range(int(np.ceil(np.max(ceiling_m) / STOP_SPACING_M)), 0, -1):
        stop_m = number * STOP_SPACING_M
        due_from, due_to = share_within(ceiling_m, stop_m - STOP_SPACING_M, stop_m)
        above_from, above_to = share_within(above_m, 0.0, np.inf)
        begins, ends = np.maximum(due_from, above_from), np.minimum(due_to, above_to)
        there = (ends > begins) & (steps_s > 0.0)
        if np.any(there):
            rise_m = np.diff(above_m)
            at_ends_m = np.maximum(above_m[:-1] + begins * rise_m, above_m[:-1] + ends * rise_m)
            minutes = float(np.sum(((ends - begins) * steps_s)[there])) / 60.0
            found.append(MissedStop(stop_m, minutes, float(np.max(at_ends_m[there]))))
    return tuple(found)
