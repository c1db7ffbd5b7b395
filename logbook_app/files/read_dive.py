"""What a reader hands over: one dive with its samples, named so that reading it again adds nothing."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace

from logbook_app.dive.kit import CareRecord, KitItem, KitSet
from logbook_app.dive.profile import Profile, profile_digest, profile_to_bytes
from logbook_app.dive.record import Dive, Recording, name_from_content


@dataclass(frozen=True, slots=True)
class ReadDive:
    """A dive as a file gave it; `dive.recordings` holds the one recording that it came from.

    profile   its samples, None for a dive that the file describes without samples
    further   where a logbook wrote the file: the samples of each recording after the first, then
              what else is kept with the dive
    known_as  id of the dive in the logbook that wrote the file, empty where none did
    """

    dive: Dive
    profile: Profile | None
    further: tuple[Profile | None, ...] = ()
    known_as: str = ""

    @property
    def profiles(self) -> list[Profile]:
        """Return every profile that is kept with the dive."""
        return [profile for profile in (self.profile, *self.further) if profile is not None]


@dataclass(frozen=True, slots=True)
class ReadKit:
    """The kit that a file told beside its dives.

    care   what was done for it
    """

    items: tuple[KitItem, ...] = ()
    care: tuple[CareRecord, ...] = ()
    sets: tuple[KitSet, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.items or self.care or self.sets)


@dataclass(frozen=True, slots=True)
class ReadOptions:
    """What the diver knows about a file that the file does not say.

    utc_offset_min  offset of start times that carry no zone [min]
    csv_columns     what each column of a table of samples is, as in "time=1:min,depth=3:ft"
    diver           whose dives they are; empty for the owner of the logbook
    owner           what the owner is called: a dive that a picture code says is theirs is their own
    """

    utc_offset_min: int | None = None
    csv_columns: str | None = None
    diver: str = ""
    owner: str = ""


def recorded(dive: Dive, profile: Profile | None, *, recorder: str, file_name: str) -> ReadDive:
    """Return `dive` with its recording and with the id that follows from what was recorded."""
    fingerprint = recording_fingerprint(dive, profile)
    digest = profile_digest(profile_to_bytes(profile)) if profile is not None else None
    recording = Recording(fingerprint, digest, recorder, file_name)
    named = replace(dive, id=name_from_content("dive", fingerprint), recordings=(recording,))
    return ReadDive(named, profile)


def kept_again(dive: Dive, profiles: Sequence[Profile | None], diver: str) -> ReadDive:
    """Return a dive that a logbook wrote, with the id and the recordings that it had there.

    profiles  the samples of each of `dive.recordings`; what comes after them belongs to none, as
              the whole of a recording that was split into dives
    diver     whose dives the reader says they are; where that is somebody else than the record
              says, the dive is another one and its recordings get other names
    """
    other = bool(diver) and diver != dive.diver
    dive = replace(dive, diver=diver) if other else dive
    recordings = tuple(
        replace(
            recording,
            fingerprint=recording_fingerprint(dive, profile) if other else recording.fingerprint,
            profile_sha256=profile_digest(profile_to_bytes(profile)) if profile is not None else None,
        )
        for recording, profile in zip(dive.recordings, profiles, strict=False)
    )
    dive_id = name_from_content("dive", recording_fingerprint(dive, _first(profiles))) if other else dive.id
    named = replace(dive, id=dive_id, recordings=recordings)
    return ReadDive(named, _first(profiles), tuple(profiles[1:]), named.id)


def _first(profiles: Sequence[Profile | None]) -> Profile | None:
    return profiles[0] if profiles else None


def recording_fingerprint(dive: Dive, profile: Profile | None) -> str:
    """Return the name of a recording: SHA-256 over diver, start, duration, greatest depth and samples.

    The samples enter as their times and depths alone. A later reader that understands one more
    channel must still recognise the recording, and the deflated bytes of a profile depend on the
    deflate library of the device, which two devices need not share.
    """
    digest = hashlib.sha256()
    told = (dive.diver, dive.began_at.isoformat(), repr(dive.duration_min), repr(dive.max_depth_m))
    digest.update("\n".join(told).encode())
    if profile is not None:
        digest.update(profile.time_s.astype("<f8").tobytes())
        digest.update(profile.depth_m.astype("<f8").tobytes())
    return digest.hexdigest()
