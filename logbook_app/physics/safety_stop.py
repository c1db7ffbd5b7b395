"""The time spent at the safety stop.

After a dive beyond 10 m divers wait three minutes between 3 and 6 m before surfacing. Common practice, no
source.
"""

from typing import Final

import numpy as np
import numpy.typing as npt

from logbook_app.physics.units import FloatArray

STOP_SHALLOW_M: Final = 3.0
STOP_DEEP_M: Final = 6.0
NEEDED_BEYOND_M: Final = 10.0
USUAL_STOP_MIN: Final = 3.0


def safety_stop_wanted(depth_m: npt.ArrayLike, beyond_m: float = NEEDED_BEYOND_M) -> bool:
    """Return whether the dive went deep enough for a safety stop.

    depth_m   depth at each sample, shape (n,) [m]
    beyond_m  depth beyond which a stop is usual [m]

    >>> safety_stop_wanted([0.0, 10.0, 0.0])
    False
    """
    return bool(np.any(np.asarray(depth_m, dtype=np.float64) > beyond_m))


def safety_stop_min(
    time_s: npt.ArrayLike,
    depth_m: npt.ArrayLike,
    shallow_m: float = STOP_SHALLOW_M,
    deep_m: float = STOP_DEEP_M,
    beyond_m: float = NEEDED_BEYOND_M,
) -> float:
    """Return the time between 3 and 6 m after the diver left 10 m for the last time. [min]

    Crossings are found on the straight lines between samples, so a coarse recording counts right.

    time_s     time of each sample, never falling, shape (n,) [s]
    depth_m    depth at each sample, shape (n,) [m]
    shallow_m  shallow edge of the stop [m]
    deep_m     deep edge of the stop [m]
    beyond_m   depth to have come up from [m]

    Returns 0 when the dive never went beyond 10 m. Dips below the stop only pause it.
    Source: common practice, no source.

    >>> round(safety_stop_min([0, 60, 120, 180, 360, 420], [0, 20, 20, 5, 5, 0]), 3)
    3.467
    """
    clock_s = np.asarray(time_s, dtype=np.float64)
    depth = np.asarray(depth_m, dtype=np.float64)
    deep = np.flatnonzero(depth > beyond_m)
    if deep.size == 0:
        return 0.0
    last = int(deep[-1])
    inside = _share_inside(depth[last:-1], depth[last + 1 :], shallow_m, deep_m)
    return float(np.sum(inside * np.diff(clock_s[last:])) / 60.0)


def _share_inside(start_m: FloatArray, end_m: FloatArray, shallow_m: float, deep_m: float) -> FloatArray:
    """Return which share of each straight segment lies between two depths. [fraction]"""
    top_m, bottom_m = np.minimum(start_m, end_m), np.maximum(start_m, end_m)
    level = top_m == bottom_m
    overlap_m = np.minimum(bottom_m, deep_m) - np.maximum(top_m, shallow_m)
    share = np.maximum(overlap_m, 0.0) / np.where(level, 1.0, bottom_m - top_m)
    return np.where(level, (overlap_m >= 0.0).astype(np.float64), share)
