"""Which part of each straight line between two samples lies within a band of depths."""

from typing import Final

import numpy as np

from logbook_app.physics.units import FloatArray

# A change so small is rounding, and dividing by it could overflow.
_LEVEL_M: Final = 1e-9


def share_within(depth_m: FloatArray, over_m: float, up_to_m: float) -> tuple[FloatArray, FloatArray]:
    """Return the shares at which each segment enters and leaves `over < depth <= up to`. [fraction]

    depth_m          depth, or a height above or below something, at each sample, shape (n,) [m]
    over_m, up_to_m  the band; a level segment at `over_m` itself is outside, so that no band counts twice [m]

    Returns shape (n - 1,) each; what never enters leaves no later than it enters. Source: geometry.

    >>> [share.tolist() for share in share_within(np.array([0.0, 8.0, 8.0]), 2.0, 4.0)]
    [[0.25, 0.0], [0.5, 0.0]]
    """
    start_m, change_m = depth_m[:-1], np.diff(depth_m)
    level = np.abs(change_m) < _LEVEL_M
    run_m = np.where(level, 1.0, change_m)
    one, other = (over_m - start_m) / run_m, (up_to_m - start_m) / run_m
    within = (start_m > over_m) & (start_m <= up_to_m)
    enters = np.where(level, 0.0, np.clip(np.minimum(one, other), 0.0, 1.0))
    leaves = np.where(level, within.astype(np.float64), np.clip(np.maximum(one, other), 0.0, 1.0))
    return enters, leaves
