"""The logbook as JSON: every record, its samples and its analysis, for scripts and for keeping.

One object:

    format      "leadline logbook", version 1
    written_at  instant of writing, ISO 8601
    kit         the diver's kit, see kit_json.py; of single dives only what they used
    dives       array, oldest first; each has
        dive      the record, see `dive_to_json`: keys carry their units, instants are ISO 8601 with
                  the local offset, what was not written down is null or empty
        samples   of the leading recording: null, or time_s, depth_m and every further channel as
                  arrays of one length (null where a sample has no value, "inf" and "-inf" where a
                  recorder wrote that), switches (time_s, cylinder) and remarks (time_s, text)
        further_samples   the same for each recording after the first, then what else is kept with
                  the dive: the whole of a recording that was split into dives
        analysis  figures of the model at the diver's own settings, see `analysis_to_json`

A dive that the recorder sampled keeps those samples exactly, and every number is written with all
its digits: logbook_json_reader.py makes equal records of it. The analysis can always be made
again, and is not read.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import asdict, fields
from datetime import datetime
from pathlib import Path
from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from logbook_app.analysis.dive_analysis import DiveAnalysis, DiveSeries
from logbook_app.analysis.gas_use import GasUse
from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.photo import photos_to_plain
from logbook_app.dive.pre_dive_card import card_to_plain
from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Account, Dive, Recording, Site
from logbook_app.files.kit_json import kit_to_json
from logbook_app.files.read_dive import ReadKit
from logbook_app.files.whole_file import written_whole
from logbook_app.physics.breathing_gas import BreathingGas

Json = dict[str, Any]

FORMAT: Final = "leadline logbook"
VERSION: Final = 1
_HALF_CHARACTER: Final = re.compile("[\ud800-\udfff]")  # in a remark; UTF-8 has no bytes for it


class Entry(NamedTuple):
    """One dive as the file holds it; `further` are the samples after those of the leading recording."""

    dive: Dive
    profile: Profile | None
    analysis: DiveAnalysis
    gas: GasUse
    further: Sequence[Profile | None] = ()


def write_logbook_json(
    path: Path,
    entries: Iterable[Entry],
    written_at: datetime,
    kit: ReadKit = ReadKit(),  # noqa: B008 (frozen)
) -> None:
    """Write dives to a file, whole or not at all, one at a time.

    Raises LogbookError where it cannot be written.
    """
    head: Json = {"format": FORMAT, "version": VERSION, "written_at": written_at.isoformat()}
    head |= {"kit": kit_to_json(kit)} if kit else {}
    before, after = json_text(head | {"dives": []}, indent=1).rsplit("[]", 1)
    with written_whole(path) as file:
        file.write(f"{before}[")
        for place, entry in enumerate(entries):
            file.write(",\n" if place else "\n")
            file.write(json_text(entry_to_json(entry), indent=1))
        file.write(f"\n]{after}\n")


def json_text(value: Any, *, indent: int | None = None) -> str:
    """Return a value as JSON that UTF-8 can hold: half a character is written as its escape."""
    text = json.dumps(value, ensure_ascii=False, indent=indent, allow_nan=False)
    return _HALF_CHARACTER.sub(lambda half: f"\\u{ord(half[0]):04x}", text)


def entry_to_json(entry: Entry) -> Json:
    """Return one dive with its samples and its analysis."""
    return {
        "dive": dive_to_json(entry.dive),
        "samples": _samples(entry.profile),
        "further_samples": [_samples(profile) for profile in entry.further],
        "analysis": analysis_to_json(entry.analysis, entry.gas),
    }


def _samples(profile: Profile | None) -> Json | None:
    return None if profile is None else profile_to_json(profile)


def dive_to_json(dive: Dive) -> Json:
    """Return the record of a dive; every key with a unit in its name is in that unit."""
    plain = {
        name: getattr(dive, name)
        for name in (
            "id", "number", "diver", "utc_offset_min", "duration_min", "max_depth_m", "mean_depth_m",
            "surface_bar", "elevation_m", "weights_kg", "suit", "air_temperature_c",
            "lowest_temperature_c", "visibility_m", "current", "conditions", "purpose", "notes",
            "rating", "trip", "supervised_by", "estimate",
        )
    }  # fmt: skip
    return plain | {
        "began_at": dive.began_local.isoformat(),
        "site": None if dive.site is None else _site(dive.site),
        "water": dive.water.value,
        "role": None if dive.role is None else dive.role.value,
        "environments": [each.value for each in dive.environments],
        "cylinders": [_cylinder(cylinder) for cylinder in dive.cylinders],
        "buddies": list(dive.buddies),
        "tags": list(dive.tags),
        "photos": photos_to_plain(dive.photos),
        "camera_ahead_s": dive.camera_ahead_s,
        "pre_dive": None if dive.pre_dive is None else card_to_plain(dive.pre_dive),
        "kit": [{"id": used.id, "name": used.name} for used in dive.kit],
        "recordings": [_recording(recording) for recording in dive.recordings],
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
        "gas_by_depth": [asdict(use) for use in gas.by_depth],
        "fast_ascents": [
            {name: getattr(stretch, name) for name in ("began_s", "ended_s", "from_m", "to_m", "rate_m_min")}
            for stretch in analysis.fast_ascents
        ],
    }
    return figures | (_series(analysis.series) if with_series else {})


def numbers(values: NDArray[np.float64] | None) -> list[float | str | None] | None:
    """Return an array as JSON: null where there is no value, "inf" and "-inf" for what has no end."""
    return None if values is None else [_number(float(value)) for value in values]


def _number(value: float) -> float | str | None:
    if math.isfinite(value):
        return value
    return None if math.isnan(value) else repr(value)


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


def _recording(recording: Recording) -> Json:
    return {
        "recorder": recording.recorder,
        "file_name": recording.file_name,
        "fingerprint": recording.fingerprint,
        "profile_sha256": recording.profile_sha256,
        "account": None if recording.account is None else _account(recording.account),
    }


def _account(account: Account) -> Json:
    """Return what a recorder that does not lead says of the dive; its start is in UTC."""
    plain = {field.name: getattr(account, field.name) for field in fields(account)}
    cylinders = [_cylinder(cylinder) for cylinder in account.cylinders]
    return plain | {"began_at": account.began_at.isoformat(), "cylinders": cylinders}


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
