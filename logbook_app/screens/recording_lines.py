"""The recordings of one dive in words: which one leads, and what each says of start, depth and time."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta, timezone
from typing import Any

from logbook_app.analysis.spoken_times import clock_time
from logbook_app.analysis.spoken_units import SpokenUnits, spoken_duration
from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Account, Dive, Recording
from logbook_app.language import _


@dataclass(frozen=True, slots=True)
class RecordingLine:
    """One recording; `leads` is True for the one that the figures rest on."""

    fingerprint: str
    heading: str
    line: str
    leads: bool


def recording_lines(dive: Dive, units: SpokenUnits) -> tuple[RecordingLine, ...]:
    """Return the recordings of a dive that has several, the leading one first; none of any other."""
    if len(dive.recordings) < 2:
        return ()
    return tuple(
        RecordingLine(
            fingerprint=recording.fingerprint,
            heading=_name(recording, number),
            line=_line(dive if number == 1 else recording.account, recording, units),
            leads=number == 1,
        )
        for number, recording in enumerate(dive.recordings, start=1)
    )


def named_profiles(
    logbook: Any, dive: Dive, lines: tuple[RecordingLine, ...]
) -> list[tuple[Recording, str, Profile]]:
    """Return the recordings that do not lead and have samples, each with its heading and its samples."""
    if not lines:
        return []
    headings = {line.fingerprint: line.heading for line in lines}
    others = logbook.other_profiles(dive)
    return [(recording, headings[recording.fingerprint], profile) for recording, profile in others]


def _name(recording: Recording, number: int) -> str:
    return recording.recorder or recording.file_name or _("Recording {number}").format(number=number)


def _line(told: Dive | Account | None, recording: Recording, units: SpokenUnits) -> str:
    file = recording.file_name if recording.recorder else ""
    if told is None:
        return file
    local = told.began_at.astimezone(timezone(timedelta(minutes=told.utc_offset_min)))
    parts = (
        _("began {clock_time}").format(clock_time=clock_time(local)),
        units.depth(told.max_depth_m),
        spoken_duration(told.duration_min),
        "" if recording.profile_sha256 else _("no samples"),
        file,
    )
    return " · ".join(part for part in parts if part)
