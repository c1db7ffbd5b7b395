"""Logbooks made up for the many-dives functions: mixed on purpose, never an expected value."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from logbook_app.physics.many_dives import ManyDives


@dataclass
class OneDive:
    """One dive of a logbook to be, as somebody would write it down."""

    time_min: np.ndarray
    depth_m: np.ndarray
    oxygen: np.ndarray | float = 0.21
    helium: np.ndarray | float = 0.0
    surface_bar: float = 1.01325
    density_kg_m3: float = 10_000 / 9.80665
    interval_min: float = np.inf


def joined(dives: list[OneDive]) -> ManyDives:
    """Return the dives laid end to end."""

    def by_sample(values):
        wide = (np.broadcast_to(v, d.time_min.shape) for v, d in zip(values, dives, strict=True))
        return np.concatenate(list(wide))

    oxygen, helium = by_sample([d.oxygen for d in dives]), by_sample([d.helium for d in dives])
    return ManyDives(
        count=np.array([d.time_min.size for d in dives]),
        time_min=np.concatenate([d.time_min for d in dives]),
        ambient_bar=by_sample([d.surface_bar + d.depth_m * d.density_kg_m3 * 9.80665e-5 for d in dives]),
        n2_fraction=1.0 - oxygen - helium,
        he_fraction=helium,
        surface_bar=np.array([d.surface_bar for d in dives]),
        density_kg_m3=np.array([d.density_kg_m3 for d in dives]),
        interval_min=np.array([d.interval_min for d in dives]),
    )


def wandering(random: np.random.Generator, step_s: float, samples: int, **fields) -> OneDive:
    """Return a dive that goes down, wanders upwards with the swell and comes up."""
    along = np.linspace(0.0, 1.0, samples)
    deepest_m = random.uniform(6.0, 45.0)
    depth_m = deepest_m * np.interp(along, [0, 0.07, 0.4, 0.7, 0.9, 0.97, 1], [0, 1, 0.9, 0.5, 0.2, 0.15, 0])
    depth_m[1:-1] += random.normal(0.0, 0.15, max(0, samples - 2))
    return OneDive(np.arange(samples) * step_s / 60.0, np.round(np.maximum(depth_m, 0.0), 2), **fields)


def with_switches(dive: OneDive, *switches: tuple[int, float]) -> OneDive:
    """Return the dive with another share of oxygen from each named sample on."""
    oxygen = np.broadcast_to(dive.oxygen, dive.time_min.shape).copy()
    for sample, share in switches:
        oxygen[sample:] = share
    dive.oxygen = oxygen
    return dive


def years_of_diving(seed: int, dives: int = 40) -> ManyDives:
    """Return trips at several elevations and in several waters, by several recorders, a few on helium."""
    random = np.random.default_rng(seed)
    book = []
    for number in range(dives):
        fields = {
            "surface_bar": random.choice([1.01325, 1.002, 0.82]),
            "density_kg_m3": random.choice([10_000 / 9.80665, 1000.0, 1025.0]),
            "interval_min": np.inf if number % 7 == 0 else random.uniform(0.0, 1500.0),
            "oxygen": random.choice([0.21, 0.32, 0.36]),
        }
        step_s = random.choice([1.0, 4.0, 10.0, 10.0, 20.0, 30.0, 60.0])
        samples = int(random.integers(2, 400))
        dive = wandering(random, step_s, samples, **fields)
        if random.random() < 0.3:
            at = np.sort(random.choice(np.arange(1, samples + 1), 2))
            dive = with_switches(dive, (int(at[0]), 0.5), (int(at[1]), 0.8))
        if random.random() < 0.2:  # a recorder that stumbles
            dive.time_min = dive.time_min + np.where(np.arange(samples) > samples // 2, 0.03, 0.0)
        if number % 17 == 5:
            dive.oxygen, dive.helium = 0.18, np.where(dive.depth_m > 20.0, 0.4, 0.0)
        book.append(dive)
    return joined(book)
