"""How much nitrogen and helium each compartment holds as the diver goes along.

One compartment, one gas: the gap between what is inspired and what is dissolved closes at the rate
k = ln 2 / half-time. At constant depth that is Haldane's equation. While depth changes linearly the inspired
pressure runs in a straight line from q0 to q1, and Schreiner's solution can be written as a weighted mean

    p(t) = E p(0) + w0 q0 + w1 q1        E = exp(-k t),  w1 = 1 - (1 - E)/(k t),  w0 = 1 - E - w1

whose weights are positive and add up to one. Written so, nothing large cancels, and no tension can overshoot
what was breathed.

A whole recording is a chain of such steps. Unrolled, with u the inspired part of each step,

    p(t_n) = exp(-k t_n) * (p(0) + sum over steps of u * exp(+k t_at_the_end_of_the_step))

which is one cumulative sum instead of a loop. exp(+k t) would overflow in time, and its rounding grows with
k t, so the recording is cut into blocks of k t <= 100: a loop over a handful of blocks, none over samples.

Sources: J. S. Haldane et al., J Hyg 8 (1908) 342; H. R. Schreiner, P. L. Kelley, A pragmatic view of
decompression, Proc. 4th Symp. Underwater Physiology, 1971. The equations are recalled from memory; the
tests hold them against numerical integration of the differential equation.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from logbook_app.physics.breathing_gas import AIR, BreathingGas
from logbook_app.physics.compartments import COMPARTMENT_COUNT, ZHL16C
from logbook_app.physics.inspired_pressure import inspired_inert_bar
from logbook_app.physics.units import FloatArray

# Below exp(100) the rounding of the exponent costs 1e-14 of a tension; overflow is at exp(709).
_LARGEST_EXPONENT: Final = 100.0


@dataclass(frozen=True, eq=False)
class Tensions:
    """Inert gas dissolved in the sixteen compartments at one instant.

    n2_bar  nitrogen tension, shape (16,) [bar]
    he_bar  helium tension, shape (16,) [bar]

    Raises ValueError when the shapes are not (16,) or a tension is negative or not a number.
    """

    n2_bar: FloatArray
    he_bar: FloatArray

    def __post_init__(self) -> None:
        for field in ("n2_bar", "he_bar"):
            tension_bar = np.array(getattr(self, field), dtype=np.float64)
            if tension_bar.shape != (COMPARTMENT_COUNT,) or not np.all(tension_bar >= 0.0):
                raise ValueError(
                    f"Tensions need {COMPARTMENT_COUNT} pressures of 0 bar or more in {field}; "
                    f"these have shape {tension_bar.shape}: {tension_bar}."
                )
            tension_bar.setflags(write=False)
            object.__setattr__(self, field, tension_bar)

    @property
    def has_helium(self) -> bool:
        """Whether any compartment holds helium."""
        return bool(np.any(self.he_bar > 0.0))


def saturated_on_air(surface_bar: float) -> Tensions:
    """Return the tensions of somebody who has breathed air at one pressure for days. [bar]

    surface_bar  pressure of the air [bar]

    >>> float(round(saturated_on_air(1.01325).n2_bar[0], 5))
    0.75093
    """
    return Tensions(
        np.full(COMPARTMENT_COUNT, inspired_inert_bar(surface_bar, AIR.nitrogen)), np.zeros(COMPARTMENT_COUNT)
    )


def haldane_bar(
    start_bar: FloatArray | float,
    inspired_bar: float,
    half_time_min: FloatArray | float,
    minutes: FloatArray | float,
) -> FloatArray:
    """Return one gas's tension after a time at constant inspired pressure. [bar]

        p = p0 + (q - p0) * (1 - 2 ** (-t / half_time))

    start_bar      tension at the start, scalar or array [bar]
    inspired_bar   inspired pressure of the gas [bar]
    half_time_min  half-time, scalar or array [min]
    minutes        time, 0 or more, scalar or array [min]

    Source: Haldane's equation, as at the head of this module.

    >>> haldane_bar(0.75093, 3.12093, 4.0, 4.0).round(5).item()
    1.93593
    """
    closed = -np.expm1(-np.log(2.0) / np.asarray(half_time_min) * minutes)
    return np.asarray(start_bar + (inspired_bar - start_bar) * closed)


def schreiner_bar(
    start_bar: FloatArray | float,
    inspired_start_bar: float,
    inspired_end_bar: float,
    half_time_min: FloatArray | float,
    minutes: float,
) -> FloatArray:
    """Return one gas's tension after a time of linearly changing inspired pressure. [bar]

        p = E p0 + w0 q0 + w1 q1        (weights at the head of this module)

    start_bar           tension at the start, scalar or array [bar]
    inspired_start_bar  inspired pressure at the start [bar]
    inspired_end_bar    inspired pressure at the end [bar]
    half_time_min       half-time, scalar or array [min]
    minutes             time, 0 or more [min]

    Source: Schreiner's equation, as at the head of this module.

    >>> schreiner_bar(0.75093, 0.75093, 3.12093, 5.0, 1.5).round(5).item()
    0.98112
    """
    kept, at_start, at_end = _weights(np.log(2.0) / np.asarray(half_time_min) * minutes)
    return np.asarray(kept * start_bar + at_start * inspired_start_bar + at_end * inspired_end_bar)


def after_constant(start: Tensions, ambient_bar: float, gas: BreathingGas, minutes: float) -> Tensions:
    """Return the tensions after a time at one pressure on one gas. [bar]

    start        tensions at the beginning [bar]
    ambient_bar  absolute pressure around the diver [bar]
    gas          what is breathed
    minutes      time, 0 or more [min]

    Raises ValueError for a negative time. Source: Haldane's equation.

    >>> rested = saturated_on_air(1.01325)
    >>> float(round(after_constant(rested, 4.01325, BreathingGas(0.21), 5.0).n2_bar[0], 5))
    1.93593
    """
    if minutes < 0.0:
        raise ValueError(f"A time of {minutes:g} min is before the start; give 0 or more.")
    n2_inspired_bar = inspired_inert_bar(ambient_bar, gas.nitrogen)
    he_inspired_bar = inspired_inert_bar(ambient_bar, gas.helium)
    return Tensions(
        haldane_bar(start.n2_bar, n2_inspired_bar, ZHL16C.n2_half_time_min, minutes),
        haldane_bar(start.he_bar, he_inspired_bar, ZHL16C.he_half_time_min, minutes),
    )


def load_along(
    start: Tensions,
    time_min: npt.ArrayLike,
    ambient_bar: npt.ArrayLike,
    n2_fraction: npt.ArrayLike,
    he_fraction: npt.ArrayLike,
) -> tuple[FloatArray, FloatArray]:
    """Return the tensions at every sample of a recording. [bar]

    Pressure changes linearly between samples. The gas of a sample is breathed from that instant until the
    next sample; the gas of the last sample is never breathed.

    start        tensions at the first sample [bar]
    time_min     time of each sample, never falling, shape (n,) [min]
    ambient_bar  absolute pressure at each sample, shape (n,) [bar]
    n2_fraction  share of nitrogen from each sample on, scalar or shape (n,) [fraction]
    he_fraction  share of helium from each sample on, scalar or shape (n,) [fraction]

    Returns nitrogen and helium, shape (n, 16) each; row 0 is the start. Raises ValueError when the
    shapes differ, there is no sample, or time runs backwards. Source: Schreiner's equation, exact between
    samples; agreement with a numerical integration is better than 1e-12 bar.

    >>> n2, he = load_along(saturated_on_air(1.01325), [0.0, 1.5], [1.01325, 4.01325], 0.79, 0.0)
    >>> n2.shape, float(round(n2[1, 0], 5))
    ((2, 16), 0.98112)
    """
    time = np.asarray(time_min, dtype=np.float64)
    ambient = np.asarray(ambient_bar, dtype=np.float64)
    if time.ndim != 1 or time.size == 0 or time.shape != ambient.shape:
        raise ValueError(
            f"Times {time.shape} and pressures {ambient.shape} need the same one row of samples."
        )
    steps_min = np.diff(time)
    if not np.all(steps_min >= 0.0):
        first = int(np.flatnonzero(~(steps_min >= 0.0))[0]) + 1
        raise ValueError(f"Time runs backwards at sample {first}, {time[first]:g} min.")
    n2 = np.broadcast_to(np.asarray(n2_fraction, dtype=np.float64), time.shape)
    he = np.broadcast_to(np.asarray(he_fraction, dtype=np.float64), time.shape)
    n2_bar = _one_gas_along(start.n2_bar, time, steps_min, ambient, n2, ZHL16C.n2_rate_per_min)
    if not start.has_helium and not np.any(he[:-1] > 0.0):
        return n2_bar, np.zeros_like(n2_bar)
    return n2_bar, _one_gas_along(start.he_bar, time, steps_min, ambient, he, ZHL16C.he_rate_per_min)


def _one_gas_along(
    start_bar: FloatArray,
    time_min: FloatArray,
    steps_min: FloatArray,
    ambient_bar: FloatArray,
    fraction: FloatArray,
    rate_per_min: FloatArray,
) -> FloatArray:
    """Chain the steps of one gas, block by block; the formula is at the head of this module."""
    tension_bar = np.empty((time_min.size, rate_per_min.size))
    tension_bar[0] = start_bar
    uptake_bar = _uptake_bar(steps_min, ambient_bar, fraction, rate_per_min)
    block_min = _LARGEST_EXPONENT / float(np.max(rate_per_min))
    first, last = 0, time_min.size - 1
    while first < last:
        end = int(np.searchsorted(time_min, time_min[first] + block_min, side="right")) - 1
        if end <= first:  # one step longer than a block, a night between two samples
            end = first + 1
            kept = np.exp(-rate_per_min * steps_min[first])
            tension_bar[end] = kept * tension_bar[first] + uptake_bar[first]
        else:
            growth = np.exp((time_min[first + 1 : end + 1] - time_min[first])[:, None] * rate_per_min)
            gathered = np.cumsum(uptake_bar[first:end] * growth, axis=0)
            tension_bar[first + 1 : end + 1] = (tension_bar[first] + gathered) / growth
        first = end
    return tension_bar


def _uptake_bar(
    steps_min: FloatArray, ambient_bar: FloatArray, fraction: FloatArray, rate_per_min: FloatArray
) -> FloatArray:
    """Return what each step adds to an empty compartment, w0 q0 + w1 q1, shape (n - 1, 16). [bar]"""
    # A recorder samples at one interval, so there are few distinct steps and few exponentials to take.
    distinct_min, which = np.unique(steps_min, return_inverse=True)
    _, at_start, at_end = _weights(distinct_min[:, None] * rate_per_min)
    inspired_start_bar = inspired_inert_bar(ambient_bar[:-1], fraction[:-1])
    inspired_end_bar = inspired_inert_bar(ambient_bar[1:], fraction[:-1])
    return at_start[which] * inspired_start_bar[:, None] + at_end[which] * inspired_end_bar[:, None]


def _weights(exponent: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the weights E, w0 and w1 of start tension, start and end inspired pressure, for k t >= 0."""
    closed = -np.expm1(-exponent)
    x = np.minimum(exponent, 0.01)
    # Near zero 1 - closed/exponent cancels; the series is exact to the last digit up to 0.01.
    series = x * (1 / 2 - x * (1 / 6 - x * (1 / 24 - x * (1 / 120 - x * (1 / 720 - x / 5040)))))
    at_end = np.where(exponent < 0.01, series, 1.0 - closed / np.maximum(exponent, 0.01))
    return 1.0 - closed, closed - at_end, at_end
