"""Made-up dives that are hard on an integrator, and the gases breathed on them."""

from dataclasses import dataclass

import numpy as np

SURFACE_BAR = 1.01325


@dataclass(frozen=True)
class Recorded:
    """Samples of one dive: time, depth, and the oxygen and helium breathed from each sample on."""

    time_min: np.ndarray
    depth_m: np.ndarray
    oxygen: np.ndarray
    helium: np.ndarray
    surface_bar: float = SURFACE_BAR

    @property
    def ambient_bar(self) -> np.ndarray:
        return self.surface_bar + self.depth_m * 0.1

    @property
    def nitrogen(self) -> np.ndarray:
        return 1.0 - self.oxygen - self.helium


def on_one_gas(time_min, depth_m, oxygen=0.21, helium=0.0, surface_bar=SURFACE_BAR) -> Recorded:
    time = np.asarray(time_min, dtype=float)
    return Recorded(
        time, np.asarray(depth_m, float), np.full(time.size, oxygen), np.full(time.size, helium), surface_bar
    )


def multilevel() -> Recorded:
    return on_one_gas([0, 2, 22, 24, 44, 46, 66, 69, 72, 73], [0, 32, 30, 20, 18, 12, 10, 5, 5, 0])


def sawtooth() -> Recorded:
    time = np.arange(0.0, 61.0)
    return on_one_gas(time, np.where(time % 2 == 1, 30.0, 12.0) * (time > 0) * (time < 60))


def nitrox_with_switch() -> Recorded:
    time = np.array([0, 2, 25, 30, 31, 40, 42.0])
    depth = np.array([0, 33, 33, 21, 6, 6, 0.0])
    return Recorded(time, depth, np.array([0.32, 0.32, 0.32, 0.5, 1.0, 1.0, 1.0]), np.zeros(7))


def trimix() -> Recorded:
    time = np.array([0, 3, 20, 24, 28, 31, 36, 50, 75, 76.0])
    depth = np.array([0, 60, 60, 30, 21, 12, 9, 6, 6, 0.0])
    oxygen = np.array([0.18, 0.18, 0.18, 0.18, 0.5, 0.5, 0.5, 1.0, 1.0, 0.21])
    return Recorded(time, depth, oxygen, np.array([0.45, 0.45, 0.45, 0.45, 0, 0, 0, 0, 0, 0.0]))


def every_second() -> Recorded:
    time_s = np.arange(0.0, 301.0)
    return on_one_gas(time_s / 60.0, 25.0 * np.sin(np.pi * time_s / 300.0) ** 2)


def irregular() -> Recorded:
    chance = np.random.default_rng(20)
    time = np.concatenate([[0.0], np.cumsum(chance.exponential(0.7, 120))])
    time[40:43] = time[40]  # three samples at one instant
    depth = np.abs(np.cumsum(chance.normal(0.0, 3.0, 121)))
    depth[41:43] = depth[40]
    return on_one_gas(time, depth, 0.28, 0.0, 0.83)


def twenty_hours() -> Recorded:
    time = np.concatenate([[0.0, 5.0], np.arange(60.0, 1201.0, 60.0)])
    return on_one_gas(time, np.where(time > 0, 12.0 + 6.0 * np.sin(time), 0.0), 0.4, 0.1)


def night_between_samples() -> Recorded:
    return on_one_gas([0, 2, 40, 42, 3000, 3002, 3020, 3022], [0, 18, 18, 0, 0, 20, 20, 0], 0.25, 0.2)


HARD_DIVES = [
    multilevel,
    sawtooth,
    nitrox_with_switch,
    trimix,
    every_second,
    irregular,
    twenty_hours,
    night_between_samples,
]
