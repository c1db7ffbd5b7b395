"""The time between dives: breathing air at the surface, and waiting for a limit to be met.

The inspired pressure is constant, so every tension runs along one exponential towards equilibrium. With
nitrogen alone a compartment passes a fixed limit at an instant that has a closed form. With helium on board
the limit moves with the mix of the two gases, and the last crossing is bracketed on a grid and halved.
"""

from collections.abc import Callable
from typing import Final

import numpy as np
import numpy.typing as npt

from logbook_app.physics.breathing_gas import AIR
from logbook_app.physics.compartments import ZHL16C
from logbook_app.physics.inspired_pressure import inspired_inert_bar
from logbook_app.physics.tissue_loading import Tensions
from logbook_app.physics.units import FloatArray

# The pressure that each compartment may hold, from its nitrogen and helium tension, shape (..., 16).
LimitBar = Callable[[FloatArray, FloatArray], FloatArray]

# After 60 half-times a gap has shrunk by 1e-18: what is over a limit then stays over it.
_HALF_TIMES_WATCHED: Final = 60.0
_GRID_POINTS: Final = 400
_HALVINGS: Final = 80


def tensions_at(start: Tensions, surface_bar: float, minutes: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Return the tensions after several times on air at the surface. [bar]

        p = q + (p0 - q) * exp(-k t)

    start        tensions when the interval begins [bar]
    surface_bar  pressure of the air [bar]
    minutes      times since then, 0 or more, shape (m,) [min]

    Returns nitrogen and helium, shape (m, 16) each. Source: Haldane's equation, see `tissue_loading`.

    >>> after_dive = Tensions(np.full(16, 1.5), np.zeros(16))
    >>> n2_bar, he_bar = tensions_at(after_dive, 1.01325, [0.0, 5.0])
    >>> n2_bar[:, 0].round(4).tolist()
    [1.5, 1.1255]
    """
    time_min = np.asarray(minutes, dtype=np.float64)[..., None]
    equilibrium_bar = inspired_inert_bar(surface_bar, AIR.nitrogen)
    n2_left = np.exp(-ZHL16C.n2_rate_per_min * time_min)
    n2_bar = equilibrium_bar + (start.n2_bar - equilibrium_bar) * n2_left
    return n2_bar, start.he_bar * np.exp(-ZHL16C.he_rate_per_min * time_min)


def minutes_until_within(start: Tensions, surface_bar: float, limit_bar: LimitBar) -> float:
    """Return how long to wait on air until no compartment is over a limit, now or ever after. [min]

    The end of the last interval in which a compartment is over the limit.

    start        tensions now [bar]
    surface_bar  pressure of the air that is breathed meanwhile [bar]
    limit_bar    gives the allowed pressure for nitrogen and helium tensions of shape (..., 16) [bar]

    Returns 0 when nothing is over it, inf when a compartment stays or comes over it for good.
    Source: Haldane's equation turned round for the time.

    >>> after_dive = Tensions(np.full(16, 1.5), np.zeros(16))
    >>> minutes_until_within(after_dive, 1.01325, lambda n2, he: np.full(16, 1.6))
    0.0
    """
    return float(np.max(waits_min(start, surface_bar, limit_bar)))


def waits_min(start: Tensions, surface_bar: float, limit_bar: LimitBar) -> FloatArray:
    """Return how long each compartment makes a diver wait on air until it keeps to a limit. [min]

    start        tensions now [bar]
    surface_bar  pressure of the air that is breathed meanwhile [bar]
    limit_bar    gives the allowed pressure for nitrogen and helium tensions of shape (..., 16) [bar]

    Returns shape (16,): 0 where the limit is kept now and ever after, inf where it never will be for good.
    The largest governs. Source: Haldane's equation turned round for the time.

    >>> after_dive = Tensions(np.full(16, 1.5), np.zeros(16))
    >>> waits_min(after_dive, 1.01325, lambda n2, he: np.full(16, 1.2)).round(1)[:2].tolist()
    [3.7, 5.9]
    """
    if start.has_helium:
        return _last_crossings_min(start, surface_bar, limit_bar)
    equilibrium_bar = inspired_inert_bar(surface_bar, AIR.nitrogen)
    allowed_bar = limit_bar(start.n2_bar, start.he_bar)
    over = start.n2_bar > allowed_bar
    waits = np.zeros(over.shape)
    with np.errstate(divide="ignore", invalid="ignore"):
        gaps = (start.n2_bar - equilibrium_bar)[over] / (allowed_bar - equilibrium_bar)[over]
        waits[over] = np.log(gaps) / ZHL16C.n2_rate_per_min[over]
    waits[equilibrium_bar > allowed_bar] = np.inf
    return waits


def _last_crossings_min(start: Tensions, surface_bar: float, limit_bar: LimitBar) -> FloatArray:
    def excess_bar(minutes: FloatArray) -> FloatArray:
        """Return total tension minus limit, each compartment at its own time, for shape (..., 16)."""
        n2_left = np.exp(-ZHL16C.n2_rate_per_min * minutes)
        n2_bar = equilibrium_bar + (start.n2_bar - equilibrium_bar) * n2_left
        he_bar = start.he_bar * np.exp(-ZHL16C.he_rate_per_min * minutes)
        return n2_bar + he_bar - limit_bar(n2_bar, he_bar)

    equilibrium_bar = inspired_inert_bar(surface_bar, AIR.nitrogen)
    horizon_min = _HALF_TIMES_WATCHED * ZHL16C.n2_half_time_min
    grid_min = np.concatenate([[0.0], np.geomspace(1e-5, 1.0, _GRID_POINTS)])[:, None] * horizon_min
    over = excess_bar(grid_min) > 0.0
    last_over = over.shape[0] - 1 - np.argmax(over[::-1], axis=0)
    column = np.arange(over.shape[1])
    low_min = grid_min[last_over, column]
    high_min = grid_min[np.minimum(last_over + 1, over.shape[0] - 1), column]
    for _ in range(_HALVINGS):
        middle_min = 0.5 * (low_min + high_min)
        still_over = excess_bar(middle_min) > 0.0
        low_min = np.where(still_over, middle_min, low_min)
        high_min = np.where(still_over, high_min, middle_min)
    return np.where(over[-1], np.inf, np.where(np.any(over, axis=0), high_min, 0.0))
