"""How a recording is read for a printed table: depth in feet of sea water, and bottom time.

A table knows one kind of dive: down, a stay at the deepest depth, and up at 30 fsw a minute. Bottom time
runs from leaving the surface to leaving the bottom. A recorded dive wanders, so its bottom is where this
module puts it: bottom time is that of the shortest table dive that is nowhere shallower than the recording.

The table dive is as deep as the recording or deeper at every instant, so it takes up no less nitrogen;
every delay on the way up counts as bottom time. A precautionary stop does not: NOAA counts 3 to 5 minutes
between 15 and 20 fsw neither as bottom time nor as surface interval, so up to 5 minutes at 20 fsw or less
are allowed, on a dive deeper than that. A stop held below 20 fsw, 6.1 m, counts as bottom time: too much
rather than too little.

Sources: the definition of bottom time and its rounding up to the minute, recalled from memory; the ascent
at 30 fsw/min, US Navy Diving Manual, Revision 4, p. 9-12, and heading of table 9-9 of Revision 7 in a
transcription; the stop, slides of the NOAA Diving Center. The reading of a recording is this logbook's own.
"""

import math
from typing import Final

import numpy as np
import numpy.typing as npt

from logbook_app.physics.units import FloatArray, Numbers

# 1 fsw is 0.30643 metres of sea water of 0.1 bar each, from sea water of 64 lb/ft3: read in an article that
# cites the Navy's manual. The rule of thumb, 33 fsw to the atmosphere, is 0.2 % off and is not mixed in.
BAR_PER_FSW: Final = 0.030643

ASCENT_FSW_MIN: Final = 30.0
STOP_FSW: Final = 20.0
LONGEST_STOP_MIN: Final = 5.0
_ROUNDING_SLACK_MIN: Final = 1e-6


def fsw_from_gauge_bar(gauge_bar: Numbers) -> Numbers:
    """Return a pressure above the surface's as feet of sea water. [fsw]

    gauge_bar  pressure of the water alone, 0.1 for each metre of a recorder, scalar or array [bar]

    Source: 1 fsw = 0.30643 msw and 1 msw = 0.1 bar, see the constant.

    >>> round(fsw_from_gauge_bar(1.8), 2)
    58.74
    """
    return gauge_bar / BAR_PER_FSW


def bottom_time_min(time_s: npt.ArrayLike, depth_fsw: npt.ArrayLike) -> int:
    """Return the bottom time that a recording is entered into a table with, in whole minutes. [min]

    Of the table dive to the deepest depth D that is nowhere shallower than the recording:

        B = max over t of  t - (D - depth(t)) / 30 - 5 where depth(t) <= 20 < D

    time_s     time of each sample from leaving the surface to surfacing, never falling, shape (n,) [s]
    depth_fsw  depth at each sample, straight lines between them, shape (n,) [fsw]

    Rounded up to the minute, at least 1. Source: at the head of this module.

    >>> bottom_time_min([0, 60, 1800, 1920, 2100, 2160], [0, 60, 60, 18, 18, 0])
    31
    """
    clock_min = np.asarray(time_s, dtype=np.float64) / 60.0
    depth = np.asarray(depth_fsw, dtype=np.float64)
    deepest = float(depth.max())
    minutes, reached, may_be_stop = _with_last_crossings(clock_min - clock_min[0], depth)
    left_out = np.where(may_be_stop & (deepest > STOP_FSW), LONGEST_STOP_MIN, 0.0)
    leaves = float(np.max(minutes - (deepest - reached) / ASCENT_FSW_MIN - left_out))
    return max(1, math.ceil(leaves - _ROUNDING_SLACK_MIN))


def _with_last_crossings(
    minutes: FloatArray, depth: FloatArray
) -> tuple[FloatArray, FloatArray, npt.NDArray[np.bool_]]:
    """Return the samples, and the instants of coming up through 20 fsw, which are no part of a stop."""
    rises = np.flatnonzero((depth[:-1] > STOP_FSW) & (depth[1:] <= STOP_FSW))
    share = (depth[rises] - STOP_FSW) / (depth[rises] - depth[rises + 1])
    crossed = minutes[rises] + share * (minutes[rises + 1] - minutes[rises])
    return (
        np.concatenate([minutes, crossed]),
        np.concatenate([depth, np.full(rises.size, STOP_FSW)]),
        np.concatenate([depth <= STOP_FSW, np.zeros(rises.size, dtype=np.bool_)]),
    )
