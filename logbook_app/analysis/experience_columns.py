"""The dives that count for a diver's experience as arrays, one place a dive, in order of their start."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date
from math import nan
from typing import Any

import numpy as np
from numpy.typing import NDArray

from logbook_app.dive.record import Dive, Environment, Role
from logbook_app.physics.units import feet_from_metres

Mask = NDArray[np.bool_]
Floats = NDArray[np.float64]
Days = NDArray[np.datetime64]
Places = NDArray[np.intp]

ROLES = {role: place for place, role in enumerate(Role, start=1)}
_KIND_OF_WATER = "uddf:site.environment"
# What a file says of a site, in the standard's words, says as much of the dives there.
_OF_SITE = {
    "pool": Environment.CONFINED,
    "cave-cavern": Environment.OVERHEAD,
    "under-ice": Environment.ICE,
}
BITS = {environment: 1 << place for place, environment in enumerate(Environment)}


@dataclass(frozen=True, slots=True, eq=False)
class ExperienceColumns:
    """Every dive at once; what is not known of a dive is not a number.

    ids                  array of texts
    day                  of the start, by the clock on the dock
    began_s, ended_s     instants [s]
    depth_m, depth_ft    greatest depth in tenths of a metre and in whole feet, as gauges show it
    role                 see `ROLES`, 0 where none is written down
    environments         bits, see `BITS`
    overlap              whether any dive began before another had ended
    """

    ids: NDArray[Any]
    day: Days
    began_s: Floats
    ended_s: Floats
    duration_min: Floats
    depth_m: Floats
    depth_ft: Floats
    supervised: Mask
    role: NDArray[np.int8]
    environments: NDArray[np.int32]
    visibility_m: Floats
    coldest_c: Floats
    elevation_m: Floats
    overlap: bool

    def __len__(self) -> int:
        return len(self.ids)

    def until(self, on_day: date) -> ExperienceColumns:
        """Return only the dives up to a day, itself included."""
        there = self.day <= np.datetime64(on_day, "D")
        return self if there.all() else self._part(np.flatnonzero(there))

    def _part(self, places: Places) -> ExperienceColumns:
        names = (name for name in self.__slots__ if name != "overlap")
        part: dict[str, Any] = {name: getattr(self, name)[places] for name in names}
        return ExperienceColumns(**part, overlap=self.overlap)


def experience_columns(dives: Iterable[Dive], supervised: Collection[str] = ()) -> ExperienceColumns:
    """Return dives of one diver as arrays.

    supervised   ids of dives that somebody confirmed to have supervised, beside those whose record says so
    """
    told = sorted(dives, key=lambda dive: (dive.began_at, dive.duration_min, dive.id))
    count = len(told)
    began_s = _floats([dive.began_at.timestamp() for dive in told])
    duration_min = _floats([dive.duration_min for dive in told])
    metres = _floats([dive.max_depth_m for dive in told])
    offset_s = _floats([dive.utc_offset_min * 60.0 for dive in told])
    ended_s = began_s + duration_min * 60
    ids = np.empty(count, dtype=object)
    ids[:] = [dive.id for dive in told]
    return ExperienceColumns(
        ids=ids,
        day=np.floor((began_s + offset_s) / 86_400).astype(np.int64).astype("datetime64[D]"),
        began_s=began_s,
        ended_s=ended_s,
        duration_min=duration_min,
        depth_m=_rounded(metres * 10) / 10,
        depth_ft=_rounded(feet_from_metres(metres)),
        supervised=np.array([bool(dive.supervised_by) or dive.id in supervised for dive in told], dtype=bool),
        role=np.array([ROLES[dive.role] if dive.role else 0 for dive in told], dtype=np.int8),
        environments=np.array([_bits(dive) for dive in told], dtype=np.int32),
        visibility_m=_known([dive.visibility_m for dive in told]),
        coldest_c=_known([dive.lowest_temperature_c for dive in told]),
        elevation_m=_known([dive.surface_elevation_m for dive in told]),
        overlap=bool((np.maximum.accumulate(ended_s)[:-1] > began_s[1:]).any()) if count else False,
    )


def _bits(dive: Dive) -> int:
    found = {BITS[each] for each in dive.environments}
    if dive.extra and (of_site := _OF_SITE.get(dive.extra.get(_KIND_OF_WATER, ""))):
        found.add(BITS[of_site])
    return sum(found)


def _floats(values: list[float]) -> Floats:
    return np.array(values, dtype=np.float64)


def _known(values: list[float | None]) -> Floats:
    return np.array([nan if value is None else value for value in values], dtype=np.float64)


def _rounded(values: Floats) -> Floats:
    """Round halves away from the surface, whatever their neighbours are; a billionth of doubt is a half."""
    return np.floor(values + 0.5 + 1e-9)
