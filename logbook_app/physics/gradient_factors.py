"""How much of the model's limit the diver chooses to use.

A compartment tolerates `a + P / b` at ambient pressure P. A gradient factor allows only a share of the way
from P to there:

    limit = P + factor * (a + P / b - P)

A low factor counts at the first, deepest ceiling, a high one at the surface, a straight line between (see
`ceiling`). Nitrogen and helium in one compartment share its tolerance: a and b are averaged with the two
tensions as weights.

Sources: tolerance, Buehlmann (see `compartments`); gradient factors, E. C. Baker, Clearing up the confusion
about "deep stops", 1998, recalled from memory; weighted means of a and b read in a secondary text.
"""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from logbook_app.physics.compartments import ZHL16C
from logbook_app.physics.units import FloatArray

LOWEST_FACTOR: Final = 0.10
HIGHEST_FACTOR: Final = 1.00


@dataclass(frozen=True)
class GradientFactors:
    """The pair of gradient factors that a diver has chosen.

    low   share of the limit used at the deepest ceiling, 0.10 to 1.00 [fraction]
    high  share of the limit used at the surface, from low to 1.00 [fraction]

    Raises ValueError with a sentence for the diver when the pair makes no sense.

    >>> GradientFactors().name
    '40/85'
    """

    low: float = 0.40
    high: float = 0.85

    def __post_init__(self) -> None:
        for word, factor in (("low", self.low), ("high", self.high)):
            if not (math.isfinite(factor) and LOWEST_FACTOR <= factor <= HIGHEST_FACTOR):
                raise ValueError(
                    f"The {word} gradient factor of {factor * 100:g} % is outside 10 to 100 %; "
                    "choose one in between."
                )
        if self.low > self.high:
            raise ValueError(
                f"The low gradient factor, {self.low * 100:g} %, is above the high one, "
                f"{self.high * 100:g} %; choose a low factor that is not above the high one."
            )

    @property
    def name(self) -> str:
        """The pair in percent, as divers write it: 40/85."""
        return f"{self.low * 100:g}/{self.high * 100:g}"

    def at_depth(self, depth_m: npt.ArrayLike, deepest_ceiling_m: npt.ArrayLike) -> FloatArray:
        """Return the factor that counts at a depth, on the line from the deepest ceiling up. [fraction]

        depth_m            depth, scalar or shape (m,) [m]
        deepest_ceiling_m  depth at which the low factor counts, scalar or shape (m,) [m]

        >>> GradientFactors(0.30, 0.85).at_depth(9.0, 21.0).round(4).item()
        0.6143
        """
        deepest_m = np.asarray(deepest_ceiling_m, dtype=np.float64)
        share = np.minimum(depth_m / np.where(deepest_m > 0.0, deepest_m, 1.0), 1.0)
        return np.where(deepest_m > 0.0, self.high - (self.high - self.low) * share, self.high)


def combined_a_b(n2_bar: FloatArray, he_bar: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return each compartment's a and b for the gases it holds. [bar], [fraction]

        a = (a_n2 * p_n2 + a_he * p_he) / (p_n2 + p_he), b likewise

    n2_bar  nitrogen tension, shape (..., 16) [bar]
    he_bar  helium tension, shape (..., 16) [bar]

    Without helium, nitrogen's own a and b come back exactly. Source: at the head of this module.

    >>> half = np.ones(16)
    >>> a_bar, b = combined_a_b(half, half)
    >>> float(round(a_bar[0], 5)), float(round(b[0], 5))
    (1.39425, 0.5174)
    """
    if not np.any(he_bar):
        return ZHL16C.n2_a_bar, ZHL16C.n2_b
    helium_share = he_bar / np.maximum(n2_bar + he_bar, 1e-300)
    return (
        ZHL16C.n2_a_bar + (ZHL16C.he_a_bar - ZHL16C.n2_a_bar) * helium_share,
        ZHL16C.n2_b + (ZHL16C.he_b - ZHL16C.n2_b) * helium_share,
    )


def limit_bar(
    n2_bar: FloatArray, he_bar: FloatArray, ambient_bar: npt.ArrayLike, factor: float
) -> FloatArray:
    """Return the inert gas pressure that each compartment may hold at a pressure. [bar]

        limit = P + factor * (a + P / b - P)

    n2_bar       nitrogen tension, shape (..., 16) [bar]
    he_bar       helium tension, shape (..., 16) [bar]
    ambient_bar  absolute pressure, scalar or shape (...) [bar]
    factor       gradient factor [fraction]

    Returns shape (..., 16), or (16,) without helium at one pressure: the limit depends on the tensions only
    through the mix of the two gases. Source: at the head of this module.

    >>> rest = np.full(16, 0.75)
    >>> float(round(limit_bar(rest, np.zeros(16), 1.01325, 0.85)[4], 5))
    1.73887
    """
    a_bar, b = combined_a_b(n2_bar, he_bar)
    pressure_bar = np.asarray(ambient_bar, dtype=np.float64)[..., None]
    return np.asarray(pressure_bar + factor * (a_bar + pressure_bar / b - pressure_bar))


def surfacing_limit_bar(
    n2_bar: FloatArray, he_bar: FloatArray, surface_bar: npt.ArrayLike, high_factor: float
) -> FloatArray:
    """Return the inert gas pressure with which each compartment may come to the surface. [bar]

    n2_bar       nitrogen tension, shape (..., 16) [bar]
    he_bar       helium tension, shape (..., 16) [bar]
    surface_bar  pressure of the air at the surface, scalar or shape (...) [bar]
    high_factor  gradient factor at the surface [fraction]

    The limit of `limit_bar` at the surface. Source: at the head of this module.

    >>> float(round(surfacing_limit_bar(np.ones(16), np.zeros(16), 1.01325, 1.0)[4], 5))
    1.86692
    """
    return limit_bar(n2_bar, he_bar, surface_bar, high_factor)
