"""The shape of a dive and of a day: how deep by parts, up and down again, deeper than before.

Three habits that instructors look at after a dive. None of them is a fault of the model, and the numbers
below say where we draw a line, not where harm begins.

* Mean depth by parts of the dive: a dive that gets shallower shows falling numbers.
* Repeated ascents: rises of 10 m or more after which the diver went down again by 5 m or more. Common
  practice, no source; both numbers are ours.
* Reverse profiles: a dive of the day more than 3 m deeper than the one before it. The custom of going deepest
  first is old; the workshop on reverse dive profiles (M. A. Lang, C. E. Lehner, eds., Smithsonian
  Institution 2000, recalled from memory) found no reason against the other order for no-stop dives within
  40 m whose depths differ by less than 12 m. The 3 m are ours, one stop.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
import numpy.typing as npt

from logbook_app.physics.depth_samples import depth_samples
from logbook_app.physics.dive_bounds import SURFACE_DEPTH_M
from logbook_app.physics.mean_depth import mean_depth_m
from logbook_app.physics.units import FloatArray

LARGE_RISE_M: Final = 10.0
DOWN_AGAIN_M: Final = 5.0
REVERSE_BY_M: Final = 3.0
WORKSHOP_DIFFERENCE_M: Final = 12.0


def mean_depth_by_part_m(time_s: npt.ArrayLike, depth_m: npt.ArrayLike, parts: int = 3) -> tuple[float, ...]:
    """Return the mean depth of each of several equal parts of a dive, in order. [m]

    time_s   time of each sample, never falling, shape (n,) [s]
    depth_m  depth at each sample, shape (n,) [m]
    parts    number of parts of equal time, 1 or more

    Exact for straight lines between samples. Raises ValueError when the shapes differ or there is no sample.
    Source: trapezoidal rule, as in `mean_depth`.

    >>> mean_depth_by_part_m([0, 60, 120, 180], [0, 30, 10, 0])
    (15.0, 20.0, 5.0)
    """
    clock_s, depth = depth_samples(time_s, depth_m)
    edges_s = np.linspace(clock_s[0], clock_s[-1], parts + 1)
    means = []
    for begin_s, end_s in pairwise(edges_s):
        inside = (clock_s > begin_s) & (clock_s < end_s)
        points_s = np.concatenate([[begin_s], clock_s[inside], [end_s]])
        points_m = np.interp(points_s, clock_s, depth)
        points_m[1:-1] = depth[inside]
        means.append(mean_depth_m(points_s, points_m))
    return tuple(means)


@dataclass(frozen=True)
class Rise:
    """A part of a dive in which the diver came up a long way.

    began_s, ended_s  time of its deepest and its shallowest point [s]
    from_m, to_m      depth there [m]
    down_again        whether the diver went down again after it, which makes it a repeated ascent
    """

    began_s: float
    ended_s: float
    from_m: float
    to_m: float
    down_again: bool

    @property
    def to_surface(self) -> bool:
        """Whether it ended at the surface."""
        return self.to_m <= SURFACE_DEPTH_M


def large_rises(
    time_s: npt.ArrayLike,
    depth_m: npt.ArrayLike,
    rise_m: float = LARGE_RISE_M,
    again_m: float = DOWN_AGAIN_M,
) -> list[Rise]:
    """Return the large rises of a dive, in order. [list of Rise]

    time_s   time of each sample, never falling, shape (n,) [s]
    depth_m  depth at each sample, shape (n,) [m]
    rise_m   least rise that counts, above 0 [m]
    again_m  descent that ends a rise, above 0 [m]

    A pause or a smaller dip on the way up does not end a rise. Every dive has an ascent at its end; the rises
    with `down_again` are the repeated ones. Raises ValueError when the shapes differ or there is no sample.
    Source: common practice, no source.

    >>> rises = large_rises([0, 60, 120, 180, 240], [0, 30, 15, 28, 0])
    >>> [(rise.from_m, rise.to_m, rise.down_again) for rise in rises]
    [(30.0, 15.0, True), (28.0, 0.0, False)]
    """
    clock_s, depth = depth_samples(time_s, depth_m)

    def rise(began: int, ended: int, down_again: bool) -> Rise:
        return Rise(
            float(clock_s[began]), float(clock_s[ended]), float(depth[began]), float(depth[ended]), down_again
        )

    rises = []
    deepest = shallowest = 0  # the samples that bound the rise being watched
    for sample in _turning_points(depth):
        is_large = depth[deepest] - depth[shallowest] >= rise_m
        if depth[sample] < depth[shallowest]:
            shallowest = sample
        elif is_large and depth[sample] - depth[shallowest] >= again_m:
            rises.append(rise(deepest, shallowest, True))
            deepest = shallowest = sample
        elif depth[sample] >= depth[deepest]:
            deepest = shallowest = sample
    if depth[deepest] - depth[shallowest] >= rise_m:
        rises.append(rise(deepest, shallowest, False))
    return rises


@dataclass(frozen=True)
class ReverseProfile:
    """A dive of the day that went deeper than the one before it.

    dive             place of the deeper dive in the day, counted from 0
    deeper_by_m      how much deeper than the dive before [m]
    beyond_workshop  whether by 12 m or more, outside what the workshop of 2000 looked at
    """

    dive: int
    deeper_by_m: float
    beyond_workshop: bool


def reverse_profiles(
    deepest_m: Sequence[float], by_more_than_m: float = REVERSE_BY_M
) -> list[ReverseProfile]:
    """Return the dives of a day that went deeper than the one before.

    deepest_m       greatest depth of each dive of one day, in order [m]
    by_more_than_m  difference that is let pass [m]

    Source: common practice, no source; for the 12 m see the head of this module.

    >>> reverse_profiles([18.0, 20.0, 34.0])
    [ReverseProfile(dive=2, deeper_by_m=14.0, beyond_workshop=True)]
    """
    deeper_m = np.diff(np.asarray(deepest_m, dtype=np.float64))
    return [
        ReverseProfile(int(i) + 1, float(deeper_m[i]), bool(deeper_m[i] >= WORKSHOP_DIFFERENCE_M))
        for i in np.flatnonzero(deeper_m > by_more_than_m)
    ]


def _turning_points(depth_m: FloatArray) -> list[int]:
    """Return the samples at which depth turns, and the last; few, so that a loop over them is cheap."""
    direction = np.sign(np.diff(depth_m))
    turns = direction[1:] * direction[:-1] <= 0.0
    return [*(np.flatnonzero(turns) + 1).tolist(), depth_m.size - 1]
