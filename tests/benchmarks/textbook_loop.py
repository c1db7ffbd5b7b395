"""The analysis of one dive as a textbook writes it: plain Python, Schreiner's equation as printed."""

from __future__ import annotations

import math

import numpy as np

from logbook_app.physics.compartments import ZHL16C
from logbook_app.physics.gradient_factors import GradientFactors
from logbook_app.physics.many_dives import ManyDives

HALF_TIMES = ZHL16C.n2_half_time_min.tolist()
A, B = ZHL16C.n2_a_bar.tolist(), ZHL16C.n2_b.tolist()
LIMITS_MIN = [720, 570, 450, 360, 300, 240, 210, 180, 150, 120, 45]


def clock_rate(ppo2_bar: float) -> float:
    if ppo2_bar < 0.6:
        return 0.0
    if ppo2_bar >= 1.6:
        return 1.0 / 45.0
    row = int((ppo2_bar - 0.6) * 10.0)
    along = (ppo2_bar - 0.6) * 10.0 - row
    return 1.0 / (LIMITS_MIN[row] + along * (LIMITS_MIN[row + 1] - LIMITS_MIN[row]))


def lung_rate(ppo2_bar: float) -> float:
    return ((ppo2_bar - 0.5) / 0.5) ** (5.0 / 6.0) if ppo2_bar > 0.5 else 0.0


def analysed(dives: ManyDives, dive: int, factors: GradientFactors) -> list[tuple[float, ...]]:
    """Return ceiling, load, no-stop time, oxygen pressure, clock and lungs at every sample of a dive."""
    at = dives.samples(dive)
    time_min, ambient_bar = dives.time_min[at].tolist(), dives.ambient_bar[at].tolist()
    fraction = dives.n2_fraction[at].tolist()
    surface_bar = float(dives.surface_bar[dive])
    rest_bar = (surface_bar - 0.0627) * 0.79
    tension_bar = [rest_bar] * 16
    clock, lungs, rows = 0.0, 0.0, []
    for n in range(len(time_min)):
        if n:
            minutes = time_min[n] - time_min[n - 1]
            start_bar = (ambient_bar[n - 1] - 0.0627) * fraction[n - 1]
            rate_bar_min = ((ambient_bar[n] - 0.0627) * fraction[n - 1] - start_bar) / minutes
            for i in range(16):
                k = math.log(2.0) / HALF_TIMES[i]
                tension_bar[i] = (
                    start_bar
                    + rate_bar_min * (minutes - 1.0 / k)
                    - (start_bar - tension_bar[i] - rate_bar_min / k) * math.exp(-k * minutes)
                )
            middle_bar = 0.5 * (ambient_bar[n - 1] + ambient_bar[n]) * (1.0 - fraction[n - 1])
            clock += minutes * clock_rate(middle_bar)
            lungs += minutes * lung_rate(middle_bar)
        inspired_bar = (ambient_bar[n] - 0.0627) * fraction[n]
        tolerated, load, least = [], [], [math.inf]
        for i in range(16):
            low = factors.low
            tolerated.append((tension_bar[i] - A[i] * low) / (low / B[i] - low + 1.0))
            limit_bar = surface_bar + factors.high * (A[i] + surface_bar / B[i] - surface_bar)
            load.append((tension_bar[i] - rest_bar) / (limit_bar - rest_bar))
            if inspired_bar > limit_bar and tension_bar[i] <= limit_bar:
                k = math.log(2.0) / HALF_TIMES[i]
                share = (inspired_bar - tension_bar[i]) / (inspired_bar - limit_bar)
                least.append(math.log(share) / k)
        no_stop_min = 0.0 if max(load) > 1.0 else min(least) if min(least) <= 1440.0 else math.nan
        ceiling_m = (max(tolerated) - surface_bar) * 10.0
        rows.append((ceiling_m, max(load), no_stop_min, ambient_bar[n] * (1.0 - fraction[n]), clock, lungs))
    return rows


def as_columns(rows: list[tuple[float, ...]]) -> np.ndarray:
    """Return the rows as an array, one column a sample."""
    return np.array(rows).T
