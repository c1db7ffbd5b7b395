"""The mean depth of a dive, weighted by time."""

import numpy as np
import numpy.typing as npt

from logbook_app.physics.depth_samples import depth_samples


def mean_depth_m(time: npt.ArrayLike, depth_m: npt.ArrayLike) -> float:
    """Return the mean depth over a recording, straight lines between samples. [m]

        mean = sum of dt * (d0 + d1) / 2, over the whole time

    time     time of each sample, never falling, shape (n,), in any one unit [min or s]
    depth_m  depth at each sample, shape (n,) [m]

    A recording of one instant has that sample's depth. The plain mean of the samples would be wrong
    wherever a recorder samples unevenly. Source: trapezoidal rule, exact for straight lines.

    >>> mean_depth_m([0.0, 1.0, 3.0], [0.0, 10.0, 10.0])
    8.333333333333334
    """
    clock, depth = depth_samples(time, depth_m)
    whole = clock[-1] - clock[0]
    if whole <= 0.0:
        return float(np.mean(depth))
    return float(np.sum(np.diff(clock) * 0.5 * (depth[1:] + depth[:-1])) / whole)
