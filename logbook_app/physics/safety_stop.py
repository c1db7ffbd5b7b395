"""The time spent at the safety stop.

After a dive beyond 10 m divers wait three minutes between 3 and 6 m before surfacing. Common practice, no
source. A stop is looked for after the diver left 10 m for the last time; crossings are found on the straight
lines between samples, so a coarse recording counts right.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from logbook_app.physics.depth_bands import share_within

STOP_SHALLOW_M: Final = 3.0
STOP_DEEP_M: Final = 6.0
WANTED_BEYOND_M: Final = 10.0
USUAL_STOP_MIN: Final = 3.0


@dataclass(frozen=True)
class SafetyStop:
    """The time a diver spent at the depth of the safety stop on the way up.

    began_s, ended_s  first and last instant there [s]
    minutes           time there, without dips and rises out of it [min]
    """

    began_s: float
    ended_s: float
    minutes: float


def safety_stop_wanted(depth_m: npt.ArrayLike, beyond_m: float = WANTED_BEYOND_M) -> bool:
    """Return whether the dive went deep enough for a safety stop.

    depth_m   depth at each sample, shape (n,) [m]
    beyond_m  depth beyond which a stop is usual [m]

    >>> safety_stop_wanted([0.0, 10.0, 0.0])
    False
    """
    return bool(np.any(np.asarray(depth_m, dtype=np.float64) > beyond_m))


def safety_stop(
    time_s: npt.ArrayLike,
    depth_m: npt.ArrayLike,
    shallow_m: float = STOP_SHALLOW_M,
    deep_m: float = STOP_DEEP_M,
    beyond_m: float = WANTED_BEYOND_M,
) -> SafetyStop | None:
    """Return the time between 3 and 6 m after the diver left 10 m for the last time.

    time_s     time of each sample, never falling, shape (n,) [s]
    depth_m    depth at each sample, shape (n,) [m]
    shallow_m  shallow edge of the stop [m]
    deep_m     deep edge of the stop [m]
    beyond_m   depth to have come up from [m]

    Returns None when the dive never went beyond 10 m or was never at the stop's depth afterwards. Passing
    through counts for the seconds it took. Source: common practice, no source.

    >>> safety_stop([0, 60, 120, 180, 360, 420], [0, 20, 20, 5, 5, 0])
    SafetyStop(began_s=176.0, ended_s=384.0, minutes=3.466666666666667)
    """
    clock_s = np.asarray(time_s, dtype=np.float64)
    depth = np.asarray(depth_m, dtype=np.float64)
    if not safety_stop_wanted(depth, beyond_m):
        return None
    last_deep = int(np.flatnonzero(depth > beyond_m)[-1])
    clock_s, depth = clock_s[last_deep:], depth[last_deep:]
    # Both edges belong to the stop, also for a diver who hangs level at the shallow one.
    enters, leaves = share_within(depth, float(np.nextafter(shallow_m, -np.inf)), deep_m)
    steps_s = np.diff(clock_s)
    there = (leaves > enters) & (steps_s > 0.0)
    if not np.any(there):
        return None
    began_s, ended_s = (clock_s[:-1] + enters * steps_s)[there], (clock_s[:-1] + leaves * steps_s)[there]
    return SafetyStop(float(began_s[0]), float(ended_s[-1]), float(np.sum(ended_s - began_s)) / 60.0)
