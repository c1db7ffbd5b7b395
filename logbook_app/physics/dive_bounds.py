"""Where in a recording the diver is diving.

A dive begins when depth first passes 1 m and ends when it returns above 1 m and stays there for three
minutes. Common practice, no source.
"""

from typing import Final

import numpy as np
import numpy.typing as npt

SURFACE_DEPTH_M: Final = 1.0
SURFACE_STAY_S: Final = 180.0


def dive_bounds(
    time_s: npt.ArrayLike,
    depth_m: npt.ArrayLike,
    surface_depth_m: float = SURFACE_DEPTH_M,
    surface_stay_s: float = SURFACE_STAY_S,
) -> list[tuple[int, int]]:
    """Return the first and last sample of every dive in a recording. [index, counted from 0]

    time_s           time of each sample, never falling, shape (n,) [s]
    depth_m          depth at each sample, shape (n,) [m]
    surface_depth_m  depth that has to be passed [m]
    surface_stay_s   time to stay at or above it for a dive to be over [s]

    A dive starts with the last sample at or above 1 m before it and ends with the first at or above 1 m
    after it, or with the first and last sample of the recording where there is none. Shorter visits to the
    surface stay part of the dive. Returns an empty list when depth never passes 1 m. Source: common
    practice, no source.

    >>> dive_bounds([0, 60, 120, 180, 240, 900], [0, 8, 8, 0, 0, 0])
    [(0, 3)]
    """
    clock_s = np.asarray(time_s, dtype=np.float64)
    under = np.asarray(depth_m, dtype=np.float64) > surface_depth_m
    if not np.any(under):
        return []
    change = np.diff(under.astype(np.int8), prepend=0, append=0)
    starts = np.maximum(np.flatnonzero(change == 1) - 1, 0)
    ends = np.minimum(np.flatnonzero(change == -1), under.size - 1)
    apart = clock_s[starts[1:]] - clock_s[ends[:-1]] >= surface_stay_s
    firsts = starts[np.concatenate([[True], apart])]
    lasts = ends[np.concatenate([apart, [True]])]
    return [(int(first), int(last)) for first, last in zip(firsts, lasts, strict=True)]
