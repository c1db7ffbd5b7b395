"""A recorder that ran all day wrote several dives into one series; each becomes a dive of its own.

The rule is that of `physics.dive_bounds`: a dive begins when depth first passes 1 m and ends when it
returns above 1 m and stays for three minutes; a shorter visit to the surface is the same dive. Depths
are held against what the gauge read at the surface (`profile_repair.surface_reading_m`), so that one
which stands beside zero still surfaces.

A recorder that falls silent near the surface for three minutes or more was in the dry: the dive ends
there, whatever the next sample says. One that falls silent deeper has failed under water, and the
dive goes on. `profile_repair.surfaced_gaps` tells them apart.

What lies between two dives is kept as the time between them. Its samples are no dive's, so they stay
in the whole recording alone, which is stored as it was beside its dives (`WHOLE_RECORDING` names it).
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import timedelta
from itertools import pairwise
from typing import Final

import numpy as np

from logbook_app.analysis.clock_shift import INTERVAL_BEFORE
from logbook_app.analysis.profile_repair import surface_reading_m, surfaced_gaps
from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.profile import GasSwitch, Profile, Remark, profile_digest, profile_to_bytes
from logbook_app.dive.record import Dive, name_from_content
from logbook_app.physics.dive_bounds import dive_bounds

WHOLE_RECORDING: Final = "whole recording"
_PROFILE_NAME: Final = re.compile("[0-9a-f]{64}")
_PRESSURES: Final = "cylinder pressures of the whole recording"
# Like INTERVAL_BEFORE said of the whole recording: true of its last dive only, as that is of its first.
_AFTER: Final = "uddf:surfaceintervalafterdive"


@dataclass(frozen=True, slots=True)
class Stretch:
    """Samples `first` to `last`, both included, of a recording; `dived` is False at the surface."""

    first: int
    last: int
    dived: bool


def stretches(profile: Profile) -> list[Stretch]:
    """Return a recording as dives and the surface around them: every sample once, in order."""
    dives = _dives(profile)
    found: list[Stretch] = []
    next_sample = 0
    for first, last in dives:
        if first > next_sample:
            found.append(Stretch(next_sample, first - 1, dived=False))
        found.append(Stretch(first, last, dived=True))
        next_sample = last + 1
    if next_sample < len(profile):
        found.append(Stretch(next_sample, len(profile) - 1, dived=False))
    return found


def part_of(profile: Profile, stretch: Stretch) -> Profile:
    """Return the samples of a stretch as a profile that begins at 0 s.

    Switches and remarks within it come along. Where the recording had named a cylinder before,
    the one in use when the stretch begins is named at its start.
    """
    samples = slice(stretch.first, stretch.last + 1)
    from_s, to_s = float(profile.time_s[stretch.first]), float(profile.time_s[stretch.last])
    before = [switch.cylinder for switch in profile.switches if switch.time_s <= from_s]
    return Profile(
        profile.time_s[samples] - from_s,
        profile.depth_m[samples],
        {name: values[samples] for name, values in _written(profile, samples).items()},
        (
            *(GasSwitch(0.0, cylinder) for cylinder in before[-1:]),
            *(replace(s, time_s=s.time_s - from_s) for s in profile.switches if from_s < s.time_s <= to_s),
        ),
        tuple(Remark(r.time_s - from_s, r.text) for r in profile.remarks if from_s <= r.time_s <= to_s),
    )


def split_recording(dive: Dive, profile: Profile) -> list[tuple[Dive, Profile]]:
    """Return the dives of one recording, in order; the pair as it came where it is one dive.

    dive     the record of the whole recording, with its one recording
    profile  its samples

    The parts are named after the recording and their place in it, so that the same file gives the
    same dives again.
    """
    parts = [(stretch, part_of(profile, stretch)) for stretch in stretches(profile) if stretch.dived]
    if len(parts) < 2:
        return [(dive, profile)]
    whole = profile_digest(profile_to_bytes(profile))
    return [
        (_dive(dive, part, float(profile.time_s[stretch.first]), (place, len(parts)), whole), part)
        for place, (stretch, part) in enumerate(parts, start=1)
    ]


def _dives(profile: Profile) -> list[tuple[int, int]]:
    """Return the first and last sample of every dive. A single sample has no length and is none."""
    depth_m = profile.depth_m - surface_reading_m(profile.time_s, profile.depth_m)
    ends = [-1, *surfaced_gaps(profile.time_s, depth_m), len(profile) - 1]
    found = [
        (begin + 1 + first, begin + 1 + last)
        for begin, end in pairwise(ends)
        for first, last in dive_bounds(profile.time_s[begin + 1 : end + 1], depth_m[begin + 1 : end + 1])
    ]
    return [(first, last) for first, last in found if last > first]


def _written(profile: Profile, samples: slice) -> Mapping[str, np.ndarray]:
    """Return the channels that hold a value somewhere in these samples."""
    return {name: v for name, v in profile.channels.items() if not np.isnan(v[samples]).all()}


def whole_recording_of(dive: Dive) -> str | None:
    """Return the name of the profile that this dive is the first part of, None for any other dive."""
    part, _, whole = dive.extra.get(WHOLE_RECORDING, "").partition(", ")
    return whole if part.startswith("1 of ") and _PROFILE_NAME.fullmatch(whole) else None


def _dive(dive: Dive, part: Profile, from_s: float, place: tuple[int, int], whole: str) -> Dive:
    number, in_all = place
    recording = dive.recordings[0]
    named = f"{recording.fingerprint}\npart {number}"
    fingerprint = hashlib.sha256(named.encode()).hexdigest()
    return replace(
        dive,
        id=name_from_content("dive", fingerprint),
        began_at=dive.began_at + timedelta(seconds=from_s),
        duration_min=float(part.time_s[-1]) / 60,
        max_depth_m=float(part.depth_m.max()),
        mean_depth_m=None,
        number=dive.number if number == 1 else None,
        lowest_temperature_c=None if "temperature_c" in part.channels else dive.lowest_temperature_c,
        cylinders=tuple(replace(c, start_bar=None, end_bar=None) for c in dive.cylinders),
        recordings=(
            replace(
                recording,
                fingerprint=fingerprint,
                profile_sha256=profile_digest(profile_to_bytes(part)),
            ),
        ),
        extra=_extra(dive, number, in_all) | {WHOLE_RECORDING: f"{number} of {in_all}, {whole}"},
    )


def _extra(dive: Dive, number: int, in_all: int) -> dict[str, str]:
    """Return what the file said beside the record, where it is true of this part."""
    extra = dict(dive.extra)
    if number > 1:
        extra.pop(INTERVAL_BEFORE, None)
    if number < in_all:
        extra.pop(_AFTER, None)
    pressures = [
        _pressures(cylinder) for cylinder in dive.cylinders if cylinder.start_bar or cylinder.end_bar
    ]
    return extra | ({_PRESSURES: "; ".join(pressures)} if pressures else {})


def _pressures(cylinder: Cylinder) -> str:
    start, end = (
        "not written" if bar is None else f"{bar:g} bar" for bar in (cylinder.start_bar, cylinder.end_bar)
    )
    return f"{start} to {end}"
