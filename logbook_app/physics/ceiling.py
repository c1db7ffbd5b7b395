"""The depth above which the model would not yet let the diver go.

A compartment with tension p tolerates, at gradient factor g, an ambient pressure down to

    P = (p - a g) / (g / b - g + 1)

and the ceiling is the deepest such pressure over the compartments, as a depth.

The factor itself changes with depth: low at the anchor D, the deepest ceiling at the low factor so far in
the dive, and high at the surface. With x = depth / D the limit of one compartment is quadratic in x, and so
is

    excess(x) = p - limit = A x^2 + B x + C
    A = (high - low) s k D,   B = (high - low) m - k D (1 + high s),   C = p - P_s - high m
    s = 1/b - 1,  m = a + s P_s,  k = bar per metre,  P_s the surface pressure

A is never negative, so the curve opens upwards; at x = 1 no compartment is over, because the anchor is
never above the present ceiling at the low factor. So when C > 0 the first root lies in (0, 1], everything
between it and the anchor is tolerated, and the shallowest depth that every compartment tolerates is the
largest of these roots. When no C is positive the diver may surface and there is no ceiling, whatever the
low factor says at depth.

Sources: as in `gradient_factors`; the quadratic is worked out here from the formulas there.
"""

import numpy as np
import numpy.typing as npt

from logbook_app.physics.ambient_pressure import bar_per_metre, depth_m
from logbook_app.physics.constants import DENSITY_EN13319_KG_M3
from logbook_app.physics.gradient_factors import GradientFactors, combined_a_b
from logbook_app.physics.units import FloatArray


def tolerated_ambient_bar(n2_bar: FloatArray, he_bar: FloatArray, factor: float) -> FloatArray:
    """Return the least ambient pressure that each compartment tolerates. [bar]

        P = (p - a g) / (g / b - g + 1)

    n2_bar  nitrogen tension, shape (..., 16) [bar]
    he_bar  helium tension, shape (..., 16) [bar]
    factor  gradient factor g [fraction]

    Returns shape (..., 16). Source: `gradient_factors`, turned round for P.

    >>> float(round(tolerated_ambient_bar(np.full(16, 2.0), np.zeros(16), 1.0)[7], 4))
    1.4256
    """
    a_bar, b = combined_a_b(n2_bar, he_bar)
    return np.asarray((n2_bar + he_bar - a_bar * factor) / (factor / b - factor + 1.0))


def signed_ceiling_m(
    n2_bar: FloatArray,
    he_bar: FloatArray,
    surface_bar: float,
    factor: float,
    density_kg_m3: float = DENSITY_EN13319_KG_M3,
) -> FloatArray:
    """Return the ceiling at one gradient factor, negative where it lies above the surface. [m]

    n2_bar         nitrogen tension, shape (..., 16) [bar]
    he_bar         helium tension, shape (..., 16) [bar]
    surface_bar    pressure of the air at the surface [bar]
    factor         gradient factor [fraction]
    density_kg_m3  density of the water, or of the depth scale [kg/m3]

    Returns shape (...), the largest over the compartments. Source: at the head of this module.

    >>> signed_ceiling_m(np.full(16, 1.5), np.zeros(16), 1.01325, 0.85).round(2).item()
    2.5
    """
    tolerated_bar = np.max(tolerated_ambient_bar(n2_bar, he_bar, factor), axis=-1)
    return np.asarray(depth_m(tolerated_bar, surface_bar, density_kg_m3))


def anchor_m(low_ceiling_m: FloatArray) -> FloatArray:
    """Return, for every sample, the depth at which the low factor counts. [m]

    The running maximum over the samples so far of the ceiling at the low factor, never above the surface.

    low_ceiling_m  signed ceiling at the low factor, shape (n,) [m]

    Source: Baker's line between the factors starts at the first stop; taking the ceiling itself for it is
    a convention of ours that needs no plan of stops.

    >>> anchor_m(np.array([-2.0, 3.0, 1.0, 4.0])).tolist()
    [0.0, 3.0, 3.0, 4.0]
    """
    return np.maximum.accumulate(np.maximum(low_ceiling_m, 0.0))


def ceiling_m(
    n2_bar: FloatArray,
    he_bar: FloatArray,
    surface_bar: float,
    density_kg_m3: float = DENSITY_EN13319_KG_M3,
    factors: GradientFactors = GradientFactors(),  # noqa: B008 - frozen, so sharing it is safe
) -> FloatArray:
    """Return the shallowest depth tolerated at every sample, with the gradient factor of that depth. [m]

    n2_bar         nitrogen tension at each sample of one dive, shape (n, 16) [bar]
    he_bar         helium tension at each sample, shape (n, 16) [bar]
    surface_bar    pressure of the air at the surface [bar]
    density_kg_m3  density of the water, or of the depth scale [kg/m3]
    factors        the diver's gradient factors

    Returns shape (n,), 0 where the diver may surface. A no-stop dive has no ceiling anywhere.
    Source: at the head of this module.

    >>> ceiling_m(np.full((1, 16), 1.0), np.zeros((1, 16)), 1.01325).tolist()
    [0.0]
    """
    low_m = signed_ceiling_m(n2_bar, he_bar, surface_bar, factors.low, density_kg_m3)
    return interpolated_ceiling_m(n2_bar, he_bar, surface_bar, density_kg_m3, factors, anchor_m(low_m))


def interpolated_ceiling_m(
    n2_bar: FloatArray,
    he_bar: FloatArray,
    surface_bar: float,
    density_kg_m3: float,
    factors: GradientFactors,
    anchor_m: npt.ArrayLike,
) -> FloatArray:
    """Return the shallowest tolerated depth when the depth of the low factor is already known. [m]

    n2_bar         nitrogen tension, shape (..., 16) [bar]
    he_bar         helium tension, shape (..., 16) [bar]
    surface_bar    pressure of the air at the surface [bar]
    density_kg_m3  density of the water, or of the depth scale [kg/m3]
    factors        the diver's gradient factors
    anchor_m       depth at which the low factor counts, scalar or shape (...), not above the present
                   ceiling at the low factor [m]

    Returns shape (...), between 0 and the anchor. Source: at the head of this module.

    >>> deep = np.full(16, 2.0)
    >>> interpolated_ceiling_m(deep, np.zeros(16), 1.01325, 1019.7, GradientFactors(), 9.5).round(2).item()
    8.53
    """
    a_bar, b = combined_a_b(n2_bar, he_bar)
    slope = 1.0 / b - 1.0
    spread = factors.high - factors.low
    surface_gradient_bar = a_bar + slope * surface_bar
    deepest_m = np.maximum(np.asarray(anchor_m, dtype=np.float64), 0.0)[..., None]
    deepest_bar = deepest_m * bar_per_metre(density_kg_m3)
    square = spread * slope * deepest_bar
    linear = spread * surface_gradient_bar - deepest_bar * (1.0 + factors.high * slope)
    constant = n2_bar + he_bar - surface_bar - factors.high * surface_gradient_bar
    # The root form that does not cancel. Rounding can push the discriminant of a double root below zero.
    under = -linear + np.sqrt(np.maximum(linear**2 - 4.0 * square * constant, 0.0))
    root = 2.0 * constant / np.where(under > 0.0, under, 1.0)
    # A compartment that is over at the surface and has no root is held at the anchor, never let up.
    share = np.where(constant > 0.0, np.where(under > 0.0, np.minimum(root, 1.0), 1.0), 0.0)
    return np.asarray(np.max(share * deepest_m, axis=-1))
