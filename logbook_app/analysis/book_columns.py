"""The owner's whole logbook as arrays, one place a dive, in order of their start."""

from __future__ import annotations

import struct
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import isnan, nan
from typing import Any

import numpy as np
from numpy.typing import NDArray

from logbook_app.analysis.gas_use import gas_use
from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Dive

Floats = NDArray[np.float64]
Times = NDArray[np.datetime64]
FIGURES_RULES = "book figures 1"  # part of the key under which they are kept
_PACKED = struct.Struct("<dd")


@dataclass(frozen=True, slots=True, eq=False)
class BookColumns:
    """Every dive at once; what is not known of a dive is not a number, or empty.

    local            start by the clock on the dock, to the second
    minute_volume    [L/min]
    site, site_name  id and name of the place
    """

    ids: Sequence[str]
    local: Times
    duration_min: Floats
    depth_m: Floats
    coldest_c: Floats
    minute_volume: Floats
    site: Sequence[str]
    site_name: Sequence[str]
    latitude_deg: Floats
    longitude_deg: Floats

    def __len__(self) -> int:
        return len(self.ids)

    def part(self, chosen: NDArray[np.bool_]) -> BookColumns:
        """Return only some of the dives."""
        places = np.flatnonzero(chosen)
        which = places.tolist()
        return BookColumns(
            ids=[self.ids[place] for place in which],
            local=self.local[places],
            duration_min=self.duration_min[places],
            depth_m=self.depth_m[places],
            coldest_c=self.coldest_c[places],
            minute_volume=self.minute_volume[places],
            site=[self.site[place] for place in which],
            site_name=[self.site_name[place] for place in which],
            latitude_deg=self.latitude_deg[places],
            longitude_deg=self.longitude_deg[places],
        )


def book_columns(rows: Sequence[tuple[Any, ...]], figures: Mapping[str, bytes]) -> BookColumns:
    """Return the dives of a logbook file's rows.

    rows      see `store.book_rows`
    figures   dive id -> what `figures_of` made of it
    """
    columns = list(zip(*rows, strict=True)) if rows else [()] * 10
    ids, began, offset_min, duration_min, depth_m, coldest_c, site, name, north, east = columns
    told = np.array([_PACKED.unpack(figures[key]) if key in figures else (nan, nan) for key in ids])
    minute_volume, sampled_c = told.reshape(-1, 2).T
    written_c = np.array(coldest_c, dtype=np.float64)
    return BookColumns(
        ids=ids,
        local=np.array(began, "datetime64[s]") + np.array(offset_min, "timedelta64[m]"),
        duration_min=np.array(duration_min, dtype=np.float64),
        depth_m=np.array(depth_m, dtype=np.float64),
        coldest_c=np.where(np.isnan(written_c), sampled_c, written_c),
        minute_volume=minute_volume,
        site=[each or "" for each in site],
        site_name=[each or "" for each in name],
        latitude_deg=np.array(north, dtype=np.float64),
        longitude_deg=np.array(east, dtype=np.float64),
    )


def figures_of(dive: Dive, samples: Profile | None) -> bytes:
    """Return what only the samples of a dive tell, to be kept beside it: minute volume and coldest water.

    samples   mended, None where there are none
    """
    rate = gas_use(dive, samples).minute_volume_l_min
    sampled = None if samples is None else samples.channel("temperature_c")
    known = np.empty(0) if sampled is None else sampled[np.isfinite(sampled)]
    coldest_c = float(np.min(known)) if len(known) else nan
    return _PACKED.pack(nan if rate is None or isnan(rate) else rate, coldest_c)
