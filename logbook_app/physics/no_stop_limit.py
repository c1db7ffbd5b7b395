"""How much longer the diver may stay and still come straight up.

Staying at one depth on one gas, every tension runs along an exponential towards what is inspired. The
no-stop time ends when the first compartment reaches its surfacing limit M at the high gradient factor:

    t = -1/k * ln((q - M) / (q - p))        when q > M, for nitrogen alone

With helium in the breathing gas or the tissue the limit moves with the mix of the gases and helium may
leave while nitrogen enters. The first crossing is then looked for on a grid of times and at the turning
point of each compartment's total, and halved down. The ascent itself is not counted: "straight to the
surface at that instant".

Source: worked out from Haldane's equation (`tissue_loading`) and the limit of `gradient_factors`.
"""

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
    reached = drive_bar > room_bar
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

    def over(minutes: FloatArray | float) -> npt.NDArray[np.bool_]:
        """Return where a compartment is over its limit after its own time, shape (n, 16)."""
        n2_then = n2_inspired_bar[:, None] + n2_gap_bar * np.exp(-ZHL16C.n2_rate_per_min * minutes)
        he_then = he_inspired_bar[:, None] + he_gap_bar * np.exp(-ZHL16C.he_rate_per_min * minutes)
        allowed_bar = surfacing_limit_bar(n2_then, he_then, surface_bar, gf_high)
        return np.asarray(n2_then + he_then > allowed_bar)

    if_over_now = np.any(over(0.0), axis=1)
    low_min = np.zeros_like(n2_bar)
    high_min = np.full_like(n2_bar, np.inf)
    for earlier_min, later_min in pairwise(_GRID_MIN):
        first = np.isinf(high_min) & over(later_min)
        low_min = np.where(first, earlier_min, low_min)
        high_min = np.where(first, later_min, high_min)
    turning_min = _turning_point_min(n2_gap_bar, he_gap_bar)
    sooner = (turning_min < high_min) & over(turning_min)
    high_min = np.where(sooner, turning_min, high_min)
    before = _GRID_MIN[np.searchsorted(_GRID_MIN, turning_min) - 1]
    low_min = np.where(sooner, np.maximum(before, 0.0), low_min)
    crosses = np.isfinite(high_min)
    high_min = np.where(crosses, high_min, LONGEST_MIN)
    for _ in range(_HALVINGS):
        middle_min = 0.5 * (low_min + high_min)
        is_over = over(middle_min)
        low_min = np.where(is_over, low_min, middle_min)
        high_min = np.where(is_over, middle_min, high_min)
    minutes = np.min(np.where(crosses, low_min, np.inf), axis=1)
    return np.where(if_over_now, 0.0, minutes)


def _turning_point_min(n2_gap_bar: FloatArray, he_gap_bar: FloatArray) -> FloatArray:
    """Return when the total of a compartment turns round, 0 where it does not within a day, shape (n, 16)."""
    n2_rate, he_rate = ZHL16C.n2_rate_per_min, ZHL16C.he_rate_per_min
    with np.errstate(divide="ignore", invalid="ignore"):
        minutes = np.log(-(he_rate * he_gap_bar) / (n2_rate * n2_gap_bar)) / (he_rate - n2_rate)
    return np.where((minutes > 0.0) & (minutes < LONGEST_MIN), minutes, 0.0)
