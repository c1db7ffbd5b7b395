"""What the diver breathed, sample by sample: pressure, gas, and what a loop held.

The recording is never altered. What the physics needs and the recording lacks is added to a copy:
(0 s, 0 m) before a first sample that comes later, a sample at the instant of a gas switch between
two samples, and a square profile where there are no samples at all.

**On a loop** (closed circuit) the cylinder's gas is the diluent and the oxygen pressure decides. It is taken
from the sensors where they were recorded, in a straight line between readings; else from the set point, held
until the next; else from what the recorder worked out. A dive whose recorder says loop and
writes no oxygen pressure is taken as open circuit on the diluent, and says so.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Dive
from logbook_app.physics.ambient_pressure import ambient_bar, surface_pressure_bar
from logbook_app.physics.breathing_gas import AIR
from logbook_app.physics.constants import STANDARD_PRESSURE_BAR
from logbook_app.physics.oxygen_exposure import ppo2_bar
from logbook_app.physics.set_point import loop_fractions
from logbook_app.physics.units import FloatArray

_SENSORS = ("measured_ppo2_bar", *(f"measured_ppo2_bar_{place}" for place in range(2, 10)))


@dataclass(frozen=True, eq=False)
class LoopOxygen:
    """Oxygen pressure held in a loop; NaN where the open circuit was breathed.

    at_bar               from each sample on, (n,) [bar]
    start_bar, end_bar   at the start and the end of each segment, (n - 1,) [bar]
    """

    at_bar: FloatArray
    start_bar: FloatArray
    end_bar: FloatArray


@dataclass(frozen=True, eq=False)
class Breathed:
    """The samples as the physics takes them, each array (n,).

    oxygen, nitrogen, helium   fractions in the cylinder breathed FROM the sample's instant on; on a
                               loop, of the diluent
    cylinder                   its place in the dive's list
    recorded                   True where the recorder wrote the sample, False where it was added
    loop                       what the loop held, None for a dive on open circuit
    loop_unknown               True where the recorder says loop and no oxygen pressure was written
    """

    time_s: FloatArray
    depth_m: FloatArray
    ambient_bar: FloatArray
    oxygen: FloatArray
    nitrogen: FloatArray
    helium: FloatArray
    cylinder: NDArray[np.intp]
    recorded: NDArray[np.bool_]
    surface_bar: float
    gas_assumed: bool
    loop: LoopOxygen | None
    loop_unknown: bool


def surface_pressure_of(dive: Dive) -> float:
    """Return the pressure at the dive's surface: recorded, else by elevation, else sea level. [bar]"""
    if dive.surface_bar is not None:
        return dive.surface_bar
    if dive.surface_elevation_m is not None:
        return surface_pressure_bar(dive.surface_elevation_m)
    return STANDARD_PRESSURE_BAR


def breathed_samples(dive: Dive, profile: Profile | None) -> Breathed:
    """Return the samples of a dive with pressure and gas at each, ready for the physics."""
    time_s, depth_m, recorded = _whole_time_line(dive, profile)
    carried = [cylinder.gas for cylinder in dive.cylinders] or [None]
    cylinder = _cylinder_by_sample(profile, time_s, len(carried))
    gases = [gas or AIR for gas in carried]
    surface_bar = surface_pressure_of(dive)
    on_loop = _on_loop(profile, time_s, recorded)
    loop = _loop_oxygen(profile, time_s, recorded, on_loop) if on_loop.any() else None
    return Breathed(
        time_s=time_s,
        depth_m=depth_m,
        ambient_bar=np.asarray(
            ambient_bar(np.maximum(depth_m, 0.0), surface_bar, dive.water.density_kg_m3), dtype=np.float64
        ),
        oxygen=np.array([gas.oxygen for gas in gases])[cylinder],
        nitrogen=np.array([gas.nitrogen for gas in gases])[cylinder],
        helium=np.array([gas.helium for gas in gases])[cylinder],
        cylinder=cylinder,
        recorded=recorded,
        surface_bar=surface_bar,
        gas_assumed=any(carried[index] is None for index in np.unique(cylinder)),
        loop=loop,
        loop_unknown=bool(on_loop.any()) and loop is None,
    )


def oxygen_breathed_bar(breathed: Breathed) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the oxygen pressure breathed: from each sample on (n,), and at the start and the end of
    each segment (n - 1,). [bar]

    A loop cannot hold more oxygen than the pressure around it.
    """
    ambient, oxygen = breathed.ambient_bar, breathed.oxygen
    at = np.asarray(ppo2_bar(ambient, oxygen))
    start = np.asarray(ppo2_bar(ambient[:-1], oxygen[:-1]))
    end = np.asarray(ppo2_bar(ambient[1:], oxygen[:-1]))
    if breathed.loop is None:
        return at, start, end
    held = ((breathed.loop.at_bar, at, ambient), (breathed.loop.start_bar, start, ambient[:-1]))
    at, start = (np.where(np.isnan(loop), cylinder, np.minimum(loop, most)) for loop, cylinder, most in held)
    end = np.where(np.isnan(breathed.loop.end_bar), end, np.minimum(breathed.loop.end_bar, ambient[1:]))
    return at, start, end


def fractions_breathed(breathed: Breathed) -> tuple[FloatArray, FloatArray]:
    """Return the fractions of nitrogen and helium breathed from each sample on, (n,) each."""
    if breathed.loop is None:
        return breathed.nitrogen, breathed.helium
    on_loop = ~np.isnan(breathed.loop.at_bar)
    held_bar = np.where(on_loop, breathed.loop.at_bar, 0.0)
    nitrogen, helium = loop_fractions(breathed.ambient_bar, held_bar, breathed.nitrogen, breathed.helium)
    return np.where(on_loop, nitrogen, breathed.nitrogen), np.where(on_loop, helium, breathed.helium)


def recorded_channel(profile: Profile | None, breathed: Breathed, name: str) -> FloatArray | None:
    """Return a recorded channel with NaN at the samples that were added, None where there is none."""
    values = profile.channel(name) if profile else None
    return None if values is None else _spread(values, breathed.recorded)


def _whole_time_line(dive: Dive, profile: Profile | None) -> tuple[FloatArray, FloatArray, NDArray[np.bool_]]:
    if profile is None:
        square_s = np.array([0.0, dive.duration_min * 60])
        return square_s, np.full(2, dive.max_depth_m), np.zeros(2, dtype=bool)
    time_s, depth_m = profile.time_s, profile.depth_m
    recorded = np.ones(len(profile), dtype=bool)
    if time_s[0] > 0:
        time_s, depth_m = np.insert(time_s, 0, 0.0), np.insert(depth_m, 0, 0.0)
        recorded = np.insert(recorded, 0, False)
    between = [s.time_s for s in profile.switches if time_s[0] < s.time_s < time_s[-1]]
    added = np.setdiff1d(np.array(between, dtype=np.float64), time_s)
    at = np.searchsorted(time_s, added)
    depth_added = np.interp(added, time_s, depth_m)
    return np.insert(time_s, at, added), np.insert(depth_m, at, depth_added), np.insert(recorded, at, False)


def _cylinder_by_sample(profile: Profile | None, time_s: FloatArray, count: int) -> NDArray[np.intp]:
    """Return which cylinder is breathed from each sample on; the first until a switch says otherwise."""
    cylinder = np.zeros(len(time_s), dtype=np.intp)
    for switch in profile.switches if profile else ():
        cylinder[time_s >= switch.time_s] = min(switch.cylinder, count - 1)
    return cylinder


def _spread(values: FloatArray, recorded: NDArray[np.bool_]) -> FloatArray:
    whole = np.full(len(recorded), np.nan)
    whole[recorded] = values
    return whole


def _on_loop(profile: Profile | None, time_s: FloatArray, recorded: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return whether the loop is breathed from each sample on; the recorder says when that changes."""
    said = profile.channel("on_loop") if profile else None
    if said is None:
        return np.zeros(len(time_s), dtype=bool)
    return np.nan_to_num(_held(_spread(said, recorded))) > 0.5


def _loop_oxygen(
    profile: Profile | None, time_s: FloatArray, recorded: NDArray[np.bool_], on_loop: NDArray[np.bool_]
) -> LoopOxygen | None:
    channels = profile.channels if profile else {}
    sensors = [channels[name] for name in _SENSORS if name in channels]
    if sensors:
        readings = np.stack([_spread(sensor, recorded) for sensor in sensors])
        known = ~np.isnan(readings).all(axis=0)
        mean = np.nansum(readings[:, known], axis=0) / (~np.isnan(readings[:, known])).sum(axis=0)
        at_bar = np.interp(time_s, time_s[known], mean)
        start_bar, end_bar = at_bar[:-1], at_bar[1:]
    else:
        kept = next((channels[name] for name in ("set_ppo2_bar", "ppo2_bar") if name in channels), None)
        if kept is None:
            return None
        at_bar = _held(_spread(kept, recorded))
        start_bar = end_bar = at_bar[:-1]
    return LoopOxygen(
        at_bar=np.where(on_loop, at_bar, np.nan),
        start_bar=np.where(on_loop[:-1], start_bar, np.nan),
        end_bar=np.where(on_loop[:-1], end_bar, np.nan),
    )


def _held(values: FloatArray) -> FloatArray:
    """Return the values with each gap filled by the last one before it, or by the first there is."""
    known = np.flatnonzero(~np.isnan(values))
    if known.size == 0:
        return values
    before = np.searchsorted(known, np.arange(len(values)), side="right") - 1
    return values[known[np.maximum(before, 0)]]
