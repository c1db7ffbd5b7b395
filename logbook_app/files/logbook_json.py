"""The logbook as JSON: every record, its samples and its analysis, for scripts and for keeping.

One object:

    format      "leadline logbook", version 1
    written_at  instant of writing, ISO 8601
    dives       array, oldest first; each has
        dive      the record, see `dive_to_json`: keys carry their units, instants are ISO 8601 with
                  the local offset, what was not written down is null or empty
        samples   null, or time_s, depth_m and every further channel as arrays of one length (null
                  where a sample has no value), switches (time_s, cylinder) and remarks (time_s, text)
        analysis  figures of the model at the diver's own settings, see `analysis_to_json`

A dive that the recorder sampled keeps those samples exactly; the analysis can always be made again.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from logbook_app.analysis.dive_analysis import DiveAnalysis, DiveSeries
from logbook_app.analysis.gas_use import GasUse
from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.problems import LogbookError
from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Dive, Site
from logbook_app.physics.breathing_gas import BreathingGas

Json = dict[str, Any]
Entry = tuple[Dive, Profile | None, DiveAnalysis, GasUse]


def write_logbook_json(path: Path, entries: Iterable[Entry], written_at: datetime) -> None:
    """Write dives to a file, whole or not at all. Raises LogbookError where it cannot be written."""
    document = {
        "format": "leadline logbook",
        "version": 1,
        "written_at": written_at.isoformat(),
        "dives": [entry_to_json(*entry) for entry in entries],
    }
    unfinished = path.with_name(path.name + ".unfinished")
    try:
        with unfinished.open("w", encoding="utf-8") as file:
            json.dump(document, file, ensure_ascii=False, indent=1, allow_nan=False)
            file.flush()
            os.fsync(file.fileno())
        unfinished.replace(path)
    except OSError as error:
        unfinished.unlink(missing_ok=True)
        raise LogbookError(f"{path} cannot be written: {error.strerror}. Choose another folder.") from error


def entry_to_json(dive: Dive, profile: Profile | None, analysis: DiveAnalysis, gas: GasUse) -> Json:
    """Return one dive with its samples and its analysis."""
    samples = None if profile is None else profile_to_json(profile)
    return {"dive": dive_to_json(dive), "samples": samples, "analysis": analysis_to_json(analysis, gas)}


def dive_to_json(dive: Dive) -> Json:
    """Return the record of a dive; every key with a unit in its name is in that unit."""
    plain = {
        name: getattr(dive, name)
        for name in (
            "id", "number", "diver", "utc_offset_min", "duration_min", "max_depth_m", "mean_depth_m",
            "surface_bar", "elevation_m", "weights_kg", "suit", "air_temperature_c",
            "lowest_temperature_c", "visibility_m", "current", "conditions", "purpose", "notes",
            "rating", "estimate",
        )
    }  # fmt: skip
    return plain | {
        "began_at": dive.began_local.isoformat(),
        "site": None if dive.site is None else _site(dive.site),
        "water": dive.water.value,
        "cylinders": [_cylinder(cylinder) for cylinder in dive.cylinders],
        "buddies": list(dive.buddies),
        "tags": list(dive.tags),
        "recordings": [
            {"recorder": r.recorder, "file_name": r.file_name, "profile_sha256": r.profile_sha256}
            for r in dive.recordings
        ],
        "extra": dict(dive.extra),
    }


def profile_to_json(profile: Profile) -> Json:
    """Return the samples as the recorder wrote them."""
    channels = {name: numbers(values) for name, values in profile.channels.items()}
    return {
        "time_s": numbers(profile.time_s),
        "depth_m": numbers(profile.depth_m),
        **channels,
        "switches": [{"time_s": s.time_s, "cylinder": s.cylinder} for s in profile.switches],
        "remarks": [{"time_s": r.time_s, "text": r.text} for r in profile.remarks],
    }


def analysis_to_json(analysis: DiveAnalysis, gas: GasUse, *, with_series: bool = False) -> Json:
    """Return what a dive did to the diver; see DiveAnalysis for each figure.

    with_series   add the figures at each sample as arrays; `cns_fraction` is then the array, whose
                  last value `cns_end_fraction` always gives
    """
    plain = {
        name: getattr(analysis, name)
        for name in (
            "max_depth_m", "mean_depth_m", "duration_min", "surface_bar", "load_end", "ceiling_max_m",
            "above_ceiling_min", "no_stop_least_min", "no_stop_least_at_s", "cns_fraction", "cns_carried",
            "otu", "ppo2_max_bar", "safety_stop_min", "required_stops", "lowest_temperature_c",
            "estimate", "gas_assumed", "repetitive_group",
        )
    }  # fmt: skip
    pairs = zip(analysis.tensions_end.n2_bar, analysis.tensions_end.he_bar, strict=True)
    figures = plain | {
        "ended_at": analysis.ended_at.isoformat(),
        "cns_end_fraction": analysis.cns_fraction,
        "compartments_end": [{"n2_bar": float(n2), "he_bar": float(he)} for n2, he in pairs],
        "leading_compartment": analysis.leading_compartment + 1,
        "minute_volume_l_min": gas.minute_volume_l_min,
        "ideal_minute_volume_l_min": gas.ideal_minute_volume_l_min,
        "gas_used_l": gas.used_l,
        "fast_ascents": [
            {name: getattr(stretch, name) for name in ("began_s", "ended_s", "from_m", "to_m", "rate_m_min")}
            for stretch in analysis.fast_ascents
        ],
    }
    return figures | (_series(analysis.series) if with_series else {})


def numbers(values: NDArray[np.float64] | None) -> list[float | None] | None:
    """Return an array as JSON: null where there is no value."""
    if values is None:
        return None
    return [None if np.isnan(value) else float(value) for value in values]


def gas_to_json(gas: BreathingGas | None) -> Json | None:
    """Return a gas by its fractions, null where it was not written down."""
    if gas is None:
        return None
    return {"name": gas.name, "oxygen_fraction": gas.oxygen, "helium_fraction": gas.helium}


def _series(series: DiveSeries) -> Json:
    return {
        name: numbers(getattr(series, name))
        for name in (
            "time_s", "depth_m", "ceiling_m", "no_stop_min", "load", "ppo2_bar", "cns_fraction",
            "temperature_c", "pressure_bar",
        )
    }  # fmt: skip


def _site(site: Site) -> Json:
    return {
        "id": site.id,
        "name": site.name,
        "region": site.region,
        "elevation_m": site.elevation_m,
        "latitude_deg": site.latitude_deg,
        "longitude_deg": site.longitude_deg,
        "water": None if site.water is None else site.water.value,
    }


def _cylinder(cylinder: Cylinder) -> Json:
    return {
        "name": cylinder.name,
        "gas": gas_to_json(cylinder.gas),
        "volume_l": cylinder.volume_l,
        "start_bar": cylinder.start_bar,
        "end_bar": cylinder.end_bar,
    }
