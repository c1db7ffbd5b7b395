"""What a stretch of time does to whatever the diver brings into it.

On one gas at one pressure, along a whole dive, or through a night at the surface, the tension at the end is
a straight line in the tension at the start:

    p_end = kept * p_start + gained        kept = exp(-k duration),  0 <= kept <= 1

`gained` is where an empty compartment would end. Neither depends on the diver, only on the dive, so the
pair can be kept with the dive; and two stretches one after the other are again such a pair,

    kept = kept_2 * kept_1        gained = kept_2 * gained_1 + gained_2

That is why a changed first dive of a trip costs no new look at the samples of the other dives, and why a
logbook of years can be chained in a few array operations: pairs of neighbours are joined, then pairs of
pairs. Every term is positive, so nothing cancels.

Source: worked out from Schreiner's equation, see `tissue_loading`.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from logbook_app.physics.compartments import COMPARTMENT_COUNT, ZHL16C
from logbook_app.physics.tissue_loading import Tensions, load_along
from logbook_app.physics.units import FloatArray


@dataclass(frozen=True, eq=False)
class Uptake:
    """The pair of numbers by which one stretch of time, or each of many, changes every compartment.

    kept        share of the tension at the start that is left at the end, shape (..., 16) [fraction]
    gained_bar  what an empty compartment would hold at the end, shape (..., 16) [bar]
    """

    kept: FloatArray
    gained_bar: FloatArray

    def end_bar(self, start_bar: FloatArray) -> FloatArray:
        """Return the tension at the end for one at the start, shape (..., 16). [bar]"""
        return self.kept * start_bar + self.gained_bar


def uptake_at_constant(
    inspired_bar: npt.ArrayLike, minutes: npt.ArrayLike, rate_per_min: FloatArray
) -> Uptake:
    """Return the uptake of one or many stretches at constant inspired pressure.

        kept = exp(-k t)        gained = q (1 - exp(-k t))

    inspired_bar  inspired pressure of the gas, scalar or shape (d,) [bar]
    minutes       time, 0 or more, inf for ever, scalar or shape (d,) [min]
    rate_per_min  k of every compartment, shape (16,) [1/min]

    Returns shape (16,) or (d, 16). Source: Haldane's equation, see `tissue_loading`.

    >>> night = uptake_at_constant(0.75, 5.0, ZHL16C.n2_rate_per_min)
    >>> night.end_bar(np.full(16, 1.5)).round(4)[0].item()
    1.125
    """
    exponent = np.asarray(minutes, dtype=np.float64)[..., None] * rate_per_min
    inspired = np.asarray(inspired_bar, dtype=np.float64)[..., None]
    return Uptake(np.exp(-exponent), -np.expm1(-exponent) * inspired)


def uptake_along(
    time_min: npt.ArrayLike,
    ambient_bar: npt.ArrayLike,
    n2_fraction: npt.ArrayLike,
    he_fraction: npt.ArrayLike,
) -> tuple[Uptake, Uptake]:
    """Return the uptake of nitrogen and of helium along a recording.

    time_min     time of each sample, never falling, shape (n,) [min]
    ambient_bar  absolute pressure at each sample, shape (n,) [bar]
    n2_fraction  share of nitrogen from each sample on, scalar or shape (n,) [fraction]
    he_fraction  share of helium from each sample on, scalar or shape (n,) [fraction]

    Raises ValueError as `load_along` does. Source: at the head of this module.

    >>> n2, he = uptake_along([0.0, 1.5], [1.01325, 4.01325], 0.79, 0.0)
    >>> n2.end_bar(np.full(16, 0.75093)).round(5)[0].item(), he.gained_bar.max().item()
    (0.98112, 0.0)
    """
    time = np.asarray(time_min, dtype=np.float64)
    empty = Tensions(np.zeros(COMPARTMENT_COUNT), np.zeros(COMPARTMENT_COUNT))
    n2_bar, he_bar = load_along(empty, time, ambient_bar, n2_fraction, he_fraction)
    minutes = time[-1] - time[0]
    return (
        Uptake(np.exp(-ZHL16C.n2_rate_per_min * minutes), n2_bar[-1]),
        Uptake(np.exp(-ZHL16C.he_rate_per_min * minutes), he_bar[-1]),
    )


def followed_by(first: Uptake, second: Uptake) -> Uptake:
    """Return the uptake of two stretches of time, one straight after the other.

    first, second  uptakes of one shape, (16,) or (d, 16)

    Source: at the head of this module.

    >>> half = uptake_at_constant(3.0, 10.0, ZHL16C.n2_rate_per_min)
    >>> whole = uptake_at_constant(3.0, 20.0, ZHL16C.n2_rate_per_min)
    >>> bool(np.allclose(followed_by(half, half).gained_bar, whole.gained_bar, rtol=0.0, atol=1e-15))
    True
    """
    return Uptake(second.kept * first.kept, second.end_bar(first.gained_bar))


def ends_along_chain(stretches: Uptake) -> FloatArray:
    """Return the tension at the end of each of many stretches that follow one another. [bar]

    stretches  one uptake for each stretch in order of time, shape (d, 16); a stretch that keeps nothing
               begins a new chain, and so does the first, whatever it keeps

    Returns shape (d, 16). Source: at the head of this module.

    >>> keeps, gains = np.array([[0.0], [0.5], [0.5]]), np.array([[2.0], [1.0], [1.0]])
    >>> ends_along_chain(Uptake(keeps, gains)).ravel().tolist()
    [2.0, 2.0, 2.0]
    """
    kept, end_bar = stretches.kept.copy(), stretches.gained_bar.copy()
    begins = np.concatenate([[0], np.flatnonzero(~kept.any(axis=1)), [len(kept)]])
    longest = int(np.max(begins[1:] - begins[:-1]))
    reach = 1
    while reach < longest:
        end_bar[reach:] += kept[reach:] * end_bar[:-reach]
        if 2 * reach < longest:
            kept[reach:] *= kept[:-reach]
        reach *= 2
    return end_bar
