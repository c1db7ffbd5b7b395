"""Time and depth of a recording: two rows of numbers that belong together."""

import numpy as np
import numpy.typing as npt

from logbook_app.physics.units import FloatArray


def depth_samples(time_s: npt.ArrayLike, depth_m: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Return time and depth of every sample as arrays, shape (n,) each. [s], [m]

    time_s   time of each sample, shape (n,) [s]
    depth_m  depth at each sample, shape (n,) [m]

    Raises ValueError when the shapes differ or there is no sample. Source: none needed, nothing is reckoned.

    >>> [row.tolist() for row in depth_samples([0, 10], [0, 3])]
    [[0.0, 10.0], [0.0, 3.0]]
    """
    clock_s, depth = np.asarray(time_s, dtype=np.float64), np.asarray(depth_m, dtype=np.float64)
    if clock_s.size == 0 or clock_s.shape != depth.shape:
        raise ValueError(f"Times {clock_s.shape} and depths {depth.shape} need the same one row of samples.")
    return clock_s, depth
