"""How much longer the diver may stay and still come straight up.

Staying at one depth on one gas, every tension runs along an exponential towards what is inspired. The
no-stop time ends when the first compartment reaches its surfacing limit M at the high gradient factor:

    t = -1/k * ln((q - M) / (q - p))        when q > M, for nitrogen alone

With helium in the breathing gas or the tissue the limit moves with the mix of the gases, and one gas may
leave while the other enters, so that a compartment can pass its limit and come back. The first crossing is
bracketed on a grid of times, or at a peak between two points of the grid, and halved down.

The ascent itself is not counted: "straight to the surface at that instant".

Source: worked out from Haldane's equation (`tissue_loading`) and the limit of `gradient_factors`.
"""

from collections.abc import Callable
from itertools import pairwise
from typing import Final

import numpy as np
import numpy.typing as npt

from logbook_app.physics.ambient_pressure import ambient_bar as ambient_at_bar
from logbook_app.physics.breathing_gas import BreathingGas
from logbook_app.physics.compartments import ZHL16C
from logbook_app.physics.constants import DENSITY_EN13319_KG_M3
from logbook_app.physics.gradient_factors import surfacing_limit_bar
from logbook_app.physics.inspired_pressure import inspired_inert_bar
from logbook_app.physics.tissue_loading import Tensions
from logbook_app.physics.units import FloatArray

# A stay of more than a day is no limit.
LONGEST_MIN: Final = 24 * 60.0
_GRID_MIN: Final = np.concatenate([[0.0], np.geomspace(0.05, LONGEST_MIN, 64)])
_HALVINGS: Final = 45
# Between two points of the grid an excess can peak about a millibar higher than at them.
_NEAR_BAR: Final = 0.01
_THIRDS: Final = 40


def no_stop_min(
    n2_bar: FloatArray,
    he_bar: FloatArray,
    ambient_bar: npt.ArrayLike,
    surface_bar: float,
    n2_fraction: npt.ArrayLike,
    he_fraction: npt.ArrayLike,
    gf_high: float,
) -> FloatArray:
    """Return how long the diver may stay at each sample's depth before surfacing would pass a limit. [min]

    n2_bar       nitrogen tension at each sample, shape (n, 16) [bar]
    he_bar       helium tension at each sample, shape (n, 16) [bar]
    ambient_bar  absolute pressure, scalar or shape (n,) [bar]
    surface_bar  pressure of the air at the surface [bar]
    n2_fraction  share of nitrogen breathed from here on, scalar or shape (n,) [fraction]
    he_fraction  share of helium breathed from here on, scalar or shape (n,) [fraction]
    gf_high      gradient factor at the surface [fraction]

    Returns shape (n,): 0 where a limit is already passed, NaN where none is reached within 24 h.
    Source: at the head of this module.

    >>> rest = np.full((1, 16), 0.7509345)
    >>> no_stop_min(rest, np.zeros((1, 16)), 4.01325, 1.01325, 0.79, 0.0, 1.0).round(2).tolist()
    [16.54]
    """
    count = n2_bar.shape[0]
    ambient = np.broadcast_to(np.asarray(ambient_bar, dtype=np.float64), (count,))
    n2_inspired_bar = inspired_inert_bar(ambient, np.broadcast_to(np.asarray(n2_fraction, float), (count,)))
    he_inspired_bar = inspired_inert_bar(ambient, np.broadcast_to(np.asarray(he_fraction, float), (count,)))
    helium = (he_inspired_bar > 0.0) | np.any(he_bar > 0.0, axis=1)
    minutes = np.empty(count)
    plain = ~helium
    if np.any(plain):
        minutes[plain] = _nitrogen_min(n2_bar[plain], n2_inspired_bar[plain], surface_bar, gf_high)
    if np.any(helium):
        minutes[helium] = _helium_min(
            n2_bar[helium],
            he_bar[helium],
            n2_inspired_bar[helium],
            he_inspired_bar[helium],
            surface_bar,
            gf_high,
        )
    return np.where(minutes <= LONGEST_MIN, minutes, np.nan)


def no_stop_at_depths(
    tensions: Tensions,
    depths_m: npt.ArrayLike,
    gas: BreathingGas,
    surface_bar: float,
    density_kg_m3: float = DENSITY_EN13319_KG_M3,
    gf_high: float = 0.85,
) -> FloatArray:
    """Return the no-stop time of a next dive at each of several depths, reached at once. [min]

    tensions       what is dissolved when the dive begins [bar]
    depths_m       depths to look at, shape (m,) [m]
    gas            what will be breathed
    surface_bar    pressure of the air at the surface [bar]
    density_kg_m3  density of the water, or of the depth scale [kg/m3]
    gf_high        gradient factor at the surface [fraction]

    Returns shape (m,); 0 and NaN as in `no_stop_min`. Source: at the head of this module.

    >>> from logbook_app.physics.breathing_gas import AIR
    >>> from logbook_app.physics.tissue_loading import saturated_on_air
    >>> no_stop_at_depths(saturated_on_air(1.01325), [6.0, 30.0], AIR, 1.01325, gf_high=1.0).round(2).tolist()
    [nan, 16.54]
    """
    depths = np.atleast_1d(np.asarray(depths_m, dtype=np.float64))
    n2_bar = np.broadcast_to(tensions.n2_bar, (depths.size, tensions.n2_bar.size))
    he_bar = np.broadcast_to(tensions.he_bar, n2_bar.shape)
    pressure_bar = ambient_at_bar(depths, surface_bar, density_kg_m3)
    return no_stop_min(n2_bar, he_bar, pressure_bar, surface_bar, gas.nitrogen, gas.helium, gf_high)


def _nitrogen_min(
    n2_bar: FloatArray, inspired_bar: FloatArray, surface_bar: float, gf_high: float
) -> FloatArray:
    allowed_bar = surfacing_limit_bar(n2_bar, np.zeros_like(n2_bar), surface_bar, gf_high)
    room_bar = allowed_bar - n2_bar
    drive_bar = inspired_bar[:, None] - n2_bar
    reached = (drive_bar > room_bar) & (room_bar >= 0.0)
    share = np.where(reached, room_bar, 0.0) / np.where(reached, drive_bar, 1.0)
    with np.errstate(invalid="ignore", divide="ignore"):
        minutes = -np.log1p(-share) / ZHL16C.n2_rate_per_min
    minutes = np.min(np.where(reached, minutes, np.inf), axis=1)
    return np.where(np.any(room_bar < 0.0, axis=1), 0.0, minutes)


def _helium_min(
    n2_bar: FloatArray,
    he_bar: FloatArray,
    n2_inspired_bar: FloatArray,
    he_inspired_bar: FloatArray,
    surface_bar: float,
    gf_high: float,
) -> FloatArray:
    n2_gap_bar = n2_bar - n2_inspired_bar[:, None]
    he_gap_bar = he_bar - he_inspired_bar[:, None]

    def excess_bar(minutes: FloatArray | float) -> FloatArray:
        """Return tension minus limit of every compartment after its own time, shape (n, 16)."""
        n2_then = n2_inspired_bar[:, None] + n2_gap_bar * np.exp(-ZHL16C.n2_rate_per_min * minutes)
        he_then = he_inspired_bar[:, None] + he_gap_bar * np.exp(-ZHL16C.he_rate_per_min * minutes)
        return n2_then + he_then - surfacing_limit_bar(n2_then, he_then, surface_bar, gf_high)

    under_min, over_min = _first_bracket(excess_bar, n2_bar.shape)
    crosses = np.isfinite(over_min)
    over_min = np.where(crosses, over_min, LONGEST_MIN)
    for _ in range(_HALVINGS):
        middle_min = 0.5 * (under_min + over_min)
        over = excess_bar(middle_min) > 0.0
        under_min = np.where(over, under_min, middle_min)
        over_min = np.where(over, middle_min, over_min)
    minutes = np.min(np.where(crosses, under_min, np.inf), axis=1)
    return np.where(np.any(excess_bar(0.0) > 0.0, axis=1), 0.0, minutes)


def _first_bracket(
    excess_bar: Callable[[FloatArray | float], FloatArray], shape: tuple[int, ...]
) -> tuple[FloatArray, FloatArray]:
    """Return times before and after each compartment's first crossing, the latter inf where there is none."""
    under_min, over_min = np.zeros(shape), np.full(shape, np.inf)
    highest_bar, highest_at = np.full(shape, -np.inf), np.zeros(shape, dtype=np.intp)
    for index, (earlier_min, later_min) in enumerate(pairwise(_GRID_MIN), start=1):
        then_bar = excess_bar(later_min)
        first = np.isinf(over_min) & (then_bar > 0.0)
        under_min = np.where(first, earlier_min, under_min)
        over_min = np.where(first, later_min, over_min)
        highest_at = np.where(then_bar > highest_bar, index, highest_at)
        highest_bar = np.maximum(then_bar, highest_bar)
    if np.any(np.isinf(over_min) & (highest_bar > -_NEAR_BAR)):
        before_min = _GRID_MIN[highest_at - 1]
        after_min = _GRID_MIN[np.minimum(highest_at + 1, _GRID_MIN.size - 1)]
        peak_min = _peak_min(excess_bar, before_min, after_min)
        bump = np.isinf(over_min) & (excess_bar(peak_min) > 0.0)
        under_min, over_min = np.where(bump, before_min, under_min), np.where(bump, peak_min, over_min)
    return under_min, over_min


def _peak_min(
    excess_bar: Callable[[FloatArray | float], FloatArray], low_min: FloatArray, high_min: FloatArray
) -> FloatArray:
    """Return where the excess is largest between two times, by thirds: it has one peak there."""
    for _ in range(_THIRDS):
        third_min = (high_min - low_min) / 3.0
        rising = excess_bar(low_min + third_min) < excess_bar(high_min - third_min)
        low_min = np.where(rising, low_min + third_min, low_min)
        high_min = np.where(rising, high_min, high_min - third_min)
    return 0.5 * (low_min + high_min)
