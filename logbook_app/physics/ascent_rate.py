"""How fast the diver came up, measured so that the recorder cannot cry wolf.

From one sample to the next a rate means little: a recorder that resolves 0.3 m and samples every second
shows 18 m/min for a diver who hangs still. The rate is therefore taken over a window of 30 s that slides
continuously along the recording, with depth on straight lines between samples. One flicker of 0.3 m moves
such a rate by 0.6 m/min only; a stretch counts as fast when the diver rose more than the limit allows in
the window plus that one flicker. An ascent at the limit is not reported for its rounding, one at 11 m/min
against a limit of 10 is.

Shorter windows would need a larger allowance, longer ones hide a burst: 20 s at 17 m/min just shows in 30 s
and vanishes in 60 s. Both numbers are ours; the limit of 10 m/min is common practice, no source.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from logbook_app.physics.depth_samples import depth_samples
from logbook_app.physics.units import FloatArray

USUAL_LIMIT_M_MIN: Final = 10.0
WINDOW_S: Final = 30.0
# The coarsest step that recorders write, one foot; recorders in metres step by 0.1 m.
FLICKER_M: Final = 0.3


@dataclass(frozen=True)
class FastStretch:
    """A part of an ascent that was faster than the limit.

    began_s, ended_s  time of its deepest and shallowest point [s]
    from_m, to_m      depth there [m]
    rate_m_min        the fastest window within it [m/min]
    """

    began_s: float
    ended_s: float
    from_m: float
    to_m: float
    rate_m_min: float


def fastest_ascent(
    time_s: npt.ArrayLike, depth_m: npt.ArrayLike, window_s: float = WINDOW_S
) -> tuple[float, float]:
    """Return the fastest ascent over any window of a recording, and when it began. [m/min], [s]

    time_s    time of each sample, rising, shape (n,) [s]
    depth_m   depth at each sample, shape (n,) [m]
    window_s  length of the window [s]

    A recording shorter than the window is one window of its own length. The rate is 0 when the diver never
    rose. Source: common practice, no source; the window is explained at the head of this module.

    >>> fastest_ascent([0, 60, 120], [18, 9, 9])
    (9.0, 0.0)
    """
    clock_s, depth = depth_samples(time_s, depth_m)
    length_s = min(window_s, float(clock_s[-1] - clock_s[0]))
    if length_s <= 0.0:
        return 0.0, float(clock_s[0])
    begins_s, rise_m = _rise_over_window(clock_s, depth, length_s)
    fastest = int(np.argmax(rise_m))
    return max(0.0, float(rise_m[fastest]) / length_s * 60.0), float(begins_s[fastest])


def fast_stretches(
    time_s: npt.ArrayLike,
    depth_m: npt.ArrayLike,
    limit_m_min: float = USUAL_LIMIT_M_MIN,
    window_s: float = WINDOW_S,
    flicker_m: float = FLICKER_M,
) -> list[FastStretch]:
    """Return the parts of a recording in which the diver rose faster than a limit.

    time_s       time of each sample, rising, shape (n,) [s]
    depth_m      depth at each sample, shape (n,) [m]
    limit_m_min  fastest ascent allowed [m/min]
    window_s     length of the window over which a rate is taken [s]
    flicker_m    rise that is put down to the recorder [m]

    Windows that overlap make one stretch, trimmed to its deepest and shallowest point. A recording shorter
    than the window has no stretch. Source: common practice, no source; see the head of this module.

    >>> [f"{s.from_m:.0f} to {s.to_m:.0f} m at {s.rate_m_min:.0f} m/min" for s in
    ...  fast_stretches([0, 60, 105, 300], [18, 18, 9, 9])]
    ['18 to 9 m at 12 m/min']
    """
    clock_s, depth = depth_samples(time_s, depth_m)
    if clock_s[-1] - clock_s[0] < window_s:
        return []
    begins_s, rise_m = _rise_over_window(clock_s, depth, window_s)
    fast = rise_m > limit_m_min * window_s / 60.0 + flicker_m
    if not np.any(fast):
        return []
    corner = np.flatnonzero(fast)
    # Between neighbouring corners the rise is a straight line: when both are fast, so is all between.
    apart = (np.diff(corner) > 1) & (np.diff(begins_s[corner]) > window_s)
    runs = np.split(corner, np.flatnonzero(apart) + 1)
    rate_m_min = rise_m / window_s * 60.0
    return [
        _stretch(
            clock_s, depth, begins_s[run[0]], begins_s[run[-1]] + window_s, float(np.max(rate_m_min[run]))
        )
        for run in runs
    ]


def _rise_over_window(
    clock_s: FloatArray, depth_m: FloatArray, window_s: float
) -> tuple[FloatArray, FloatArray]:
    """Return where a window may begin and how far the diver rises in it, shape (m,) each. [s], [m]

    The rise is a broken line in the beginning of the window, with its corners where either end meets a
    sample; its largest value is at one of them.
    """
    corners_s = np.unique(np.concatenate([clock_s, clock_s - window_s]))
    begins_s = corners_s[(corners_s >= clock_s[0]) & (corners_s <= clock_s[-1] - window_s)]
    ends_m = np.interp(begins_s + window_s, clock_s, depth_m)
    return begins_s, np.interp(begins_s, clock_s, depth_m) - ends_m


def _stretch(
    clock_s: FloatArray, depth_m: FloatArray, first_s: float, last_s: float, rate_m_min: float
) -> FastStretch:
    """Trim a run of windows to its deepest and shallowest point."""
    inside = (clock_s > first_s) & (clock_s < last_s)
    points_s = np.concatenate([[first_s], clock_s[inside], [last_s]])
    points_m = np.interp(points_s, clock_s, depth_m)
    began = points_m.size - 1 - int(np.argmax(points_m[::-1]))
    ended = began + int(np.argmin(points_m[began:]))
    return FastStretch(
        began_s=float(points_s[began]),
        ended_s=float(points_s[ended]),
        from_m=float(points_m[began]),
        to_m=float(points_m[ended]),
        rate_m_min=rate_m_min,
    )
