"""The load of the sixteen compartments along a dive, column by column of a chart.

A column of a screen holds many samples. Its colour stands for the greatest load among them, so that no
short peak is lost however far the chart is zoomed out.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from logbook_app.physics.units import FloatArray


def greatest_by_column(
    time_s: FloatArray, loads: FloatArray, from_s: float, to_s: float, columns: int
) -> FloatArray:
    """Return the greatest load of each compartment in each column, (16, columns); NaN beyond the dive.

    time_s, loads   the samples, time increasing, (n,) and (n, 16); between them loads change linearly
    from_s, to_s    the stretch that the columns share evenly [s]
    """
    edges_s = np.linspace(from_s, to_s, columns + 1)
    at_edges = _between_samples(time_s, loads, np.clip(edges_s, time_s[0], time_s[-1]))
    greatest = np.maximum(at_edges[:-1], at_edges[1:])
    first = np.searchsorted(time_s, edges_s)
    filled = np.flatnonzero(first[1:] > first[:-1])
    if filled.size:
        inside = loads[: first[filled[-1] + 1]]
        greatest[filled] = np.maximum(greatest[filled], np.maximum.reduceat(inside, first[filled], axis=0))
    greatest[(edges_s[1:] < time_s[0]) | (edges_s[:-1] > time_s[-1])] = np.nan
    return greatest.T


def _between_samples(time_s: FloatArray, loads: FloatArray, at_s: FloatArray) -> FloatArray:
    after = np.clip(np.searchsorted(time_s, at_s), 1, len(time_s) - 1)
    share = ((at_s - time_s[after - 1]) / (time_s[after] - time_s[after - 1]))[:, None]
    return np.asarray(loads[after - 1] * (1 - share) + loads[after] * share)


def runs_of(there: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Return the runs of True, each as its first place and the place after its last.

    >>> runs_of(np.array([True, False, True, True]))
    [(0, 1), (2, 4)]
    """
    steps = np.flatnonzero(np.diff(np.concatenate(([False], there, [False])).astype(np.int8)))
    return [(int(first), int(after)) for first, after in steps.reshape(-1, 2)]
