"""Two recordings of one dive laid over each other, with no trust in either clock.

Both are put on one step of a second. Of all the ways to slide one along the other, each with the part
that they then share, the depths are correlated: the correlation does not care for a gauge that stands
beside zero, and the products of all ways come out of one Fourier transform,

    r(lag) = (S_ab - S_a S_b / n) / sqrt((S_aa - S_a^2 / n) (S_bb - S_b^2 / n))

with every sum over the n seconds shared at that lag. A short shared part agrees more easily by chance, so
the lag is the one with the largest atanh(r) sqrt(n): Fisher's transform, whose spread falls with the root of
n. The top of the parabola through it and its two neighbours places the lag between two seconds.
J. P. Lewis, "Fast normalized cross-correlation" (1995); R. A. Fisher (1915); both recalled from memory.

Whether it is the same dive is another question, and depth alone cannot answer it: two dives along the
same wall are as deep at the same minute. What tells them apart is how fast the divers go up and down
meanwhile. The limits below are ours, set by what cuts of a real two-day recording show
(tests/analysis/test_clock_alignment.py); two human dives of one shape can still look like one.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np

from logbook_app.dive.profile import Profile
from logbook_app.physics.units import FloatArray

STEP_S: Final = 1.0
LEAST_SHARED: Final = 0.5  # of the shorter recording; one who came half a dive later cannot be placed
LEAST_SPREAD_M: Final = 0.5  # who stays at one depth could be laid anywhere
SPEED_OVER_S: Final = 15
SAME_DEPTHS, SAME_SPEEDS, SAME_GAP_M = 0.9, 0.85, 1.5
PERHAPS_DEPTHS, PERHAPS_SPEEDS = 0.8, 0.5
_NO_WAY: Final = -1.0


class Likeness(StrEnum):
    """Whether two recordings are of one dive, by their shapes alone."""

    SAME = "same"
    PERHAPS = "perhaps"
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class Alignment:
    """How one recording lies on another.

    lag_s             to add to the second's times for the first's [s]
    offset_m          how much deeper the second's depths read, the median of what they share [m]
    gap_m             what then still lies between the depths, root of the mean square [m]
    shared_s          time that both recorded, once so laid [s]
    depths_agree      correlation of the depths meanwhile, up to 1
    speeds_agree      correlation of the vertical speeds meanwhile, up to 1
    """

    lag_s: float
    offset_m: float
    gap_m: float
    shared_s: float
    depths_agree: float
    speeds_agree: float

    @property
    def likeness(self) -> Likeness:
        """Whether they are of one dive: the confidence in the lag."""
        alike = self.depths_agree >= SAME_DEPTHS and self.speeds_agree >= SAME_SPEEDS
        if alike and self.gap_m <= SAME_GAP_M:
            return Likeness.SAME
        if self.depths_agree >= PERHAPS_DEPTHS and self.speeds_agree >= PERHAPS_SPEEDS:
            return Likeness.PERHAPS
        return Likeness.OTHER


def aligned(first: Profile, second: Profile) -> Alignment | None:
    """Return how the second recording lies on the first, None where one of them shows no change of depth.

    first, second  samples, each on its own clock and at its own steps
    """
    a, b = _each_second_m(first), _each_second_m(second)
    if min(a.std(), b.std()) < LEAST_SPREAD_M:
        return None
    agreement, shared = _agreement_at_every_lag(a, b)
    with np.errstate(divide="ignore"):
        certainty = np.arctanh(np.minimum(agreement, 1 - 1e-12)) * np.sqrt(shared)
    best = int(certainty.argmax())
    if agreement[best] <= 0.0:
        return None
    lag = best - (len(b) - 1)
    began = max(0, lag)
    ended = min(len(a), len(b) + lag)
    both = a[began:ended], b[began - lag : ended - lag]
    apart_m = both[1] - both[0]
    offset_m = float(np.median(apart_m))
    starts_apart_s = float(first.time_s[0] - second.time_s[0])
    return Alignment(
        lag_s=(lag + _top_beside(certainty, best)) * STEP_S + starts_apart_s,
        offset_m=offset_m,
        gap_m=float(np.sqrt(np.mean((apart_m - offset_m) ** 2))),
        shared_s=(ended - began - 1) * STEP_S,
        depths_agree=float(agreement[best]),
        speeds_agree=_correlation(*map(_speeds, both)),
    )


def _each_second_m(profile: Profile) -> FloatArray:
    every_s = np.arange(profile.time_s[0], profile.time_s[-1] + STEP_S / 2, STEP_S)
    return np.interp(every_s, profile.time_s, profile.depth_m)


def _agreement_at_every_lag(a: FloatArray, b: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the correlation, and the seconds shared, at every lag from `1 - len(b)` to `len(a) - 1`."""
    length = 1 << (len(a) + len(b) - 1).bit_length()

    def spectrum(values: FloatArray) -> np.ndarray:
        return np.fft.rfft(values, length)

    def sums(x: np.ndarray, y: np.ndarray) -> FloatArray:
        products = np.fft.irfft(x * y.conj(), length)
        return np.concatenate([products[length - len(b) + 1 :], products[: len(a)]])

    a, b = a - a.mean(), b - b.mean()  # else the sums of squares lose the digits that matter
    of_a, of_b, there_a, there_b = spectrum(a), spectrum(b), spectrum(a * 0 + 1), spectrum(b * 0 + 1)
    shared = np.rint(sums(there_a, there_b))
    sum_a, sum_b = sums(of_a, there_b), sums(there_a, of_b)
    spread_a = sums(spectrum(a * a), there_b) - sum_a**2 / shared
    spread_b = sums(there_a, spectrum(b * b)) - sum_b**2 / shared
    enough = shared >= LEAST_SHARED * min(len(a), len(b))
    enough &= np.minimum(spread_a, spread_b) >= LEAST_SPREAD_M**2 * shared
    agreement = np.full(len(shared), _NO_WAY)
    together = sums(of_a, of_b) - sum_a * sum_b / shared
    agreement[enough] = together[enough] / np.sqrt(spread_a[enough] * spread_b[enough])
    return agreement, shared


def _top_beside(values: FloatArray, best: int) -> float:
    """Return how far from the largest value the parabola through it and its neighbours has its top."""
    if not 0 < best < len(values) - 1 or not np.isfinite(values[best - 1 : best + 2]).all():
        return 0.0
    before, top, after = values[best - 1 : best + 2]
    bend = before - 2 * top + after
    return float(np.clip(0.5 * (before - after) / bend, -0.5, 0.5)) if bend < 0 else 0.0


def _speeds(depth_m: FloatArray) -> FloatArray:
    """Return the mean vertical speed over `SPEED_OVER_S` from every second on [m/s]."""
    over = min(int(SPEED_OVER_S / STEP_S), len(depth_m) - 1)
    smooth_m = np.convolve(depth_m, np.full(over, 1 / over), "valid")
    return np.diff(smooth_m) / STEP_S


def _correlation(a: FloatArray, b: FloatArray) -> float:
    a, b = a - a.mean(), b - b.mean()
    spread = float(np.sqrt((a @ a) * (b @ b)))
    return float(a @ b) / spread if spread > 0 else 0.0
