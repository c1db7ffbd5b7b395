"""Gas breathed on a dive, from what the cylinders lost and how deep the diver was meanwhile.

Each cylinder answers for the time it was breathed from, split at the gas switches. Where no
figure can be worked out, the reason is given in words instead: there is never a rate without
a volume, two pressures and a time.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from logbook_app.analysis.breathed_samples import Breathed, breathed_samples, recorded_channel
from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Dive
from logbook_app.language import _
from logbook_app.physics.ambient_pressure import ambient_bar
from logbook_app.physics.breathing_gas import AIR
from logbook_app.physics.compressibility import HIGHEST_PRESSURE_BAR
from logbook_app.physics.constants import STANDARD_PRESSURE_BAR
from logbook_app.physics.mean_depth import mean_depth_m
from logbook_app.physics.minute_volume import free_gas_l, ideal_free_gas_l, minute_volume_l_min
from logbook_app.physics.units import FloatArray

DEPTH_BAND_M = 10.0


@dataclass(frozen=True, slots=True)
class CylinderUse:
    """One cylinder's share.

    minutes            time breathed from it
    mean_ambient_bar   over that time
    used_l             free gas at 1.01325 bar, real gas; ideal_used_l the same by the ideal-gas law [L]
    minute_volume_l_min   breathed a minute, as if at the surface [L/min]
    """

    cylinder: int
    minutes: float
    mean_ambient_bar: float
    used_l: float
    ideal_used_l: float
    minute_volume_l_min: float
    end_bar: float


@dataclass(frozen=True, slots=True)
class DepthUse:
    """Gas breathed in one band of depth, between sampled pressures of a cylinder.

    from_m, to_m          the band; a stretch between two readings belongs to the band of its mean depth [m]
    minutes, used_l       time and free gas, all cylinders together [min] [L]
    minute_volume_l_min   breathed a minute, as if at the surface [L/min]
    """

    from_m: float
    to_m: float
    minutes: float
    used_l: float
    minute_volume_l_min: float


@dataclass(frozen=True, slots=True)
class GasUse:
    """Gas use of a whole dive; the figures are None where `reason` says why.

    end_bar    pressure left in the first cylinder breathed from [bar]
    by_depth   where the recorder sampled a cylinder's pressure, the shallowest band first
    """

    cylinders: tuple[CylinderUse, ...] = ()
    used_l: float | None = None
    minute_volume_l_min: float | None = None
    ideal_minute_volume_l_min: float | None = None
    end_bar: float | None = None
    by_depth: tuple[DepthUse, ...] = ()
    reason: str = ""


def gas_use(dive: Dive, profile: Profile | None) -> GasUse:
    """Return the gas breathed on a dive, or the reason why it cannot be worked out."""
    if profile is None and dive.mean_depth_m is None:
        return GasUse(reason=_("No samples and no mean depth: the minute volume cannot be worked out."))
    breathed = breathed_samples(dive, profile)
    if breathed.loop is not None or breathed.loop_unknown:
        return GasUse(reason=_("On a closed circuit no minute volume follows from the cylinders."))
    minutes, mean_bar = _breathed_from(dive, profile, breathed)
    answers = [
        _use_of(index, _with_recorded_pressure(cylinder, profile, index), minutes[index], mean_bar[index])
        for index, cylinder in enumerate(dive.cylinders)
        if minutes[index] > 0
    ]
    uses = [answer for answer in answers if isinstance(answer, CylinderUse)]
    reasons = [answer for answer in answers if isinstance(answer, str)]
    if reasons or not uses:
        return GasUse(cylinders=tuple(uses), reason=reasons[0] if reasons else "")
    return replace(_sum_of(uses), by_depth=_by_depth(dive, profile, breathed))


def _sum_of(uses: list[CylinderUse]) -> GasUse:
    bar_minutes = sum(use.minutes * use.mean_ambient_bar for use in uses)
    used_l, ideal_l = sum(use.used_l for use in uses), sum(use.ideal_used_l for use in uses)
    return GasUse(
        cylinders=tuple(uses),
        used_l=used_l,
        minute_volume_l_min=minute_volume_l_min(used_l, 1.0, bar_minutes),
        ideal_minute_volume_l_min=minute_volume_l_min(ideal_l, 1.0, bar_minutes),
        end_bar=uses[0].end_bar,
    )


def _breathed_from(dive: Dive, profile: Profile | None, breathed: Breathed) -> tuple[FloatArray, FloatArray]:
    """Return minutes breathed from each cylinder and the mean ambient pressure over them."""
    count = max(1, len(dive.cylinders))
    if profile is None:
        ambient = ambient_bar(dive.mean_depth_m or 0.0, breathed.surface_bar, dive.water.density_kg_m3)
        only_first = np.arange(count) == 0
        return np.where(only_first, dive.duration_min, 0.0), np.full(count, ambient)
    segment_min = np.diff(breathed.time_s) / 60
    segment_bar = (breathed.ambient_bar[:-1] + breathed.ambient_bar[1:]) / 2
    under = np.maximum(breathed.depth_m[:-1], breathed.depth_m[1:]) > 0.5
    index = breathed.cylinder[:-1]
    minutes: FloatArray = np.bincount(index[under], segment_min[under], minlength=count).astype(np.float64)
    bar_minutes = np.bincount(index[under], (segment_min * segment_bar)[under], minlength=count)
    return minutes, np.divide(bar_minutes, minutes, out=np.ones(count), where=minutes > 0)


def _with_recorded_pressure(cylinder: Cylinder, profile: Profile | None, index: int) -> Cylinder:
    """Return the cylinder with the pressures the recorder sampled, where none were written down."""
    sampled = profile.channel(f"pressure_bar_{index}") if profile else None
    known = np.empty(0) if sampled is None else sampled[_can_be(sampled)]
    if not known.size:
        return cylinder
    return replace(
        cylinder,
        start_bar=float(known[0]) if cylinder.start_bar is None else cylinder.start_bar,
        end_bar=float(known[-1]) if cylinder.end_bar is None else cylinder.end_bar,
    )


def _can_be(sampled_bar: FloatArray) -> NDArray[np.bool_]:
    """Return which readings a gauge can give: a sensor that lost its cylinder may write anything."""
    most_bar = HIGHEST_PRESSURE_BAR - STANDARD_PRESSURE_BAR
    return np.asarray((sampled_bar >= 0.0) & (sampled_bar <= most_bar))


def _use_of(index: int, cylinder: Cylinder, minutes: float, mean_bar: float) -> CylinderUse | str:
    """Return one cylinder's use, or why there is none."""
    if cylinder.volume_l is None:
        return _("No cylinder volume was written down: the minute volume cannot be worked out.")
    if cylinder.start_bar is None or cylinder.end_bar is None:
        return _("A start or end pressure is missing: the minute volume cannot be worked out.")
    if cylinder.end_bar >= cylinder.start_bar:
        return _("The end pressure is not below the start pressure: no minute volume follows from it.")
    gas, volume_l = cylinder.gas or AIR, cylinder.volume_l
    start_bar, end_bar = cylinder.start_bar, cylinder.end_bar
    ideal_l = ideal_free_gas_l(volume_l, start_bar) - ideal_free_gas_l(volume_l, end_bar)
    try:
        used_l = free_gas_l(volume_l, start_bar, gas) - free_gas_l(volume_l, end_bar, gas)
    except ValueError as outside:
        return str(outside)
    return CylinderUse(
        cylinder=index,
        minutes=float(minutes),
        mean_ambient_bar=float(mean_bar),
        used_l=float(used_l),
        ideal_used_l=float(ideal_l),
        minute_volume_l_min=float(minute_volume_l_min(used_l, minutes, mean_bar)),
        end_bar=cylinder.end_bar,
    )


def _by_depth(dive: Dive, profile: Profile | None, breathed: Breathed) -> tuple[DepthUse, ...]:
    """Return the gas breathed by band of depth, from the pressures the recorder sampled."""
    bands: dict[int, list[tuple[float, float, float]]] = {}
    for index, cylinder in enumerate(dive.cylinders):
        sampled_bar = recorded_channel(profile, breathed, f"pressure_bar_{index}")
        if sampled_bar is not None and cylinder.volume_l is not None:
            for stretch in _stretches(index, cylinder, sampled_bar, dive, breathed):
                bands.setdefault(int(stretch[0] // DEPTH_BAND_M), []).append(stretch[1:])
    return tuple(_band(band, np.array(bands[band])) for band in sorted(bands))


def _stretches(
    index: int, cylinder: Cylinder, sampled_bar: FloatArray, dive: Dive, breathed: Breathed
) -> Iterator[tuple[float, float, float, float]]:
    """Yield mean depth, minutes, bar-minutes and free gas of each stretch breathed between two readings."""
    known = np.flatnonzero(_can_be(sampled_bar)).tolist()
    content_l = [
        free_gas_l(cylinder.volume_l or 0.0, float(sampled_bar[at]), cylinder.gas or AIR) for at in known
    ]
    for place, (first, last) in enumerate(pairwise(known)):
        used_l = content_l[place] - content_l[place + 1]
        if used_l <= 0 or (breathed.cylinder[first:last] != index).any():
            continue
        window = slice(first, last + 1)
        minutes = float(breathed.time_s[last] - breathed.time_s[first]) / 60
        mean_m = mean_depth_m(breathed.time_s[window], np.maximum(breathed.depth_m[window], 0.0))
        mean_bar = ambient_bar(mean_m, breathed.surface_bar, dive.water.density_kg_m3)
        yield mean_m, minutes, minutes * mean_bar, used_l


def _band(band: int, stretches: FloatArray) -> DepthUse:
    minutes, bar_minutes, used_l = stretches.sum(axis=0).tolist()
    return DepthUse(
        from_m=band * DEPTH_BAND_M,
        to_m=(band + 1) * DEPTH_BAND_M,
        minutes=minutes,
        used_l=used_l,
        minute_volume_l_min=minute_volume_l_min(used_l, minutes, bar_minutes / minutes),
    )
