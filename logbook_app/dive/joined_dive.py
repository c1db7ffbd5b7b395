"""Two records of one dive become one, and can be parted again.

A dive has one leading recording: its start, length, depths and cylinders are the dive's own, because
samples and gas switches make sense with no others. Each further recording keeps its own in its
`Account`, so that it can lead later and nothing of it is lost.

What people wrote (place, buddies, notes, weights and so on) belongs to the dive whoever leads.
Where two records differ in it, the one that stays keeps its word and the other's is kept beside it,
in `extra` under "also written:"; notes are simply put together.
"""

from __future__ import annotations

import json
from dataclasses import fields, replace
from typing import Any, Final

from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.kit import UsedKit
from logbook_app.dive.pre_dive_card import card_to_plain
from logbook_app.dive.problems import RefusedRecord
from logbook_app.dive.record import Account, Dive, Recording
from logbook_app.language import _

ALSO_WRITTEN: Final = "also written: "

# What goes with a recording; `Account` has the same names.
_BY_THE_RECORDER: Final = tuple(field.name for field in fields(Account))
_WRITTEN: Final = (
    "site",
    "elevation_m",
    "weights_kg",
    "suit",
    "air_temperature_c",
    "visibility_m",
    "current",
    "conditions",
    "purpose",
    "trip",
    "supervised_by",
    "role",
    "rating",
)
_MEASURED: Final = ("surface_bar", "lowest_temperature_c", "mean_depth_m")
_NOTHING: Final = (None, "")
_TEXT_APART: Final = "\n\n"


def lead_with(dive: Dive, fingerprint: str) -> Dive:
    """Return the dive led by another of its recordings, with that recorder's start, depths and gases.

    Raises RefusedRecord where the dive has no recording of this name.
    """
    leader = recording_named(dive, fingerprint)
    if leader is None:
        raise RefusedRecord(
            _("This dive has no such recording; look at its recordings and choose one of them.")
        )
    first, *rest = dive.recordings
    if leader == first:
        return dive
    behind = [recording for recording in rest if recording != leader]
    return replace(
        dive,
        recordings=(replace(leader, account=None), replace(first, account=account_of(dive)), *behind),
        estimate=leader.profile_sha256 is None,
        **_fields_from(leader.account, dive),
    )


def recording_named(dive: Dive, fingerprint: str) -> Recording | None:
    """Return one of a dive's recordings, None where it has none of this name."""
    return next((r for r in dive.recordings if r.fingerprint == fingerprint), None)


def with_recordings_of(dive: Dive, other: Dive) -> Dive:
    """Return the dive with the other's recordings behind its own; the first recording still leads."""
    if not other.recordings:
        return dive
    first, *rest = other.recordings
    brought = (replace(first, account=account_of(other)), *rest)
    new = [recording for recording in brought if recording_named(dive, recording.fingerprint) is None]
    return replace(dive, recordings=(*dive.recordings, *new))


def without_recording(dive: Dive, fingerprint: str) -> Dive:
    """Return the dive without one of its recordings; where that one led, the next one leads.

    The only recording of a dive stays.
    """
    others = [r.fingerprint for r in dive.recordings if r.fingerprint != fingerprint]
    if not others or len(others) == len(dive.recordings):
        return dive
    led = lead_with(dive, others[0]) if dive.recordings[0].fingerprint == fingerprint else dive
    return replace(led, recordings=tuple(r for r in led.recordings if r.fingerprint != fingerprint))


def joined(keep: Dive, other: Dive) -> Dive:
    """Return two records of one dive as one, under the first one's id.

    The one with samples leads, the first of the two where both have some. A number that somebody
    wrote by hand stays before one that an import counted.

    Raises RefusedRecord where they are dives of two divers, or one and the same record.
    """
    if keep.id == other.id:
        raise RefusedRecord(_("This is one record already; name two different dives."))
    if keep.diver != other.diver:
        raise RefusedRecord(_("These are dives of two divers and stay two; compare them instead."))
    if not keep.recordings and other.recordings:
        return _with_words_of(replace(other, id=keep.id), keep)
    both = with_recordings_of(keep, other)
    if keep.estimate and not other.estimate:
        both = lead_with(both, other.recordings[0].fingerprint)
    return _with_words_of(both, other)


def as_before(now: Dive, before: Dive, after: Dive) -> Dive:
    """Return a dive with one change of it taken back, and with all that was changed since.

    now            the dive as it is
    before, after  as it was before the change and as the change left it
    """
    if before.recordings:
        brought = {r.fingerprint for r in after.recordings} - {r.fingerprint for r in before.recordings}
        for fingerprint in brought:
            now, after = without_recording(now, fingerprint), without_recording(after, fingerprint)
    elif after.recordings and recording_named(now, after.recordings[0].fingerprint):
        now = lead_with(now, after.recordings[0].fingerprint)
    return replace(
        now,
        **{
            field.name: getattr(before, field.name)
            for field in fields(Dive)
            if getattr(now, field.name) == getattr(after, field.name)
        },
    )


def account_of(dive: Dive) -> Account:
    """Return what the leading recorder, or the diver, says of a dive."""
    return Account(**{name: getattr(dive, name) for name in _BY_THE_RECORDER})


def _fields_from(account: Account | None, dive: Dive) -> dict[str, Any]:
    """Return what changes in a dive when this account leads.

    Where it knows no surface pressure or no gas, those of the dive stay: the load rests on them.
    """
    if account is None:
        return {}
    told = {name: getattr(account, name) for name in _BY_THE_RECORDER}
    if account.surface_bar is None:
        told["surface_bar"] = dive.surface_bar
    if not any(cylinder.gas for cylinder in account.cylinders):
        told["cylinders"] = dive.cylinders
    return told


def _with_words_of(dive: Dive, other: Dive) -> Dive:
    """Return the dive with what the other says beyond it; `dive` has its recordings already."""
    taken: dict[str, Any] = {}
    beside = _figures_beside(dive, other)
    for name in (*_WRITTEN, *_MEASURED):
        own, others = getattr(dive, name), getattr(other, name)
        if own in _NOTHING:
            taken[name] = others
        elif name in _WRITTEN and others not in (*_NOTHING, own):
            beside[ALSO_WRITTEN + name] = _told(others)
    numbers = [number for number in _numbers(dive, other) if number is not None]
    if len(set(numbers)) == 2:
        beside[ALSO_WRITTEN + "number"] = str(numbers[1])
    if dive.pre_dive and other.pre_dive and dive.pre_dive.id != other.pre_dive.id:
        beside[ALSO_WRITTEN + "pre-dive card"] = json.dumps(card_to_plain(other.pre_dive), ensure_ascii=False)
    return replace(
        dive,
        number=numbers[0] if numbers else None,
        buddies=tuple(dict.fromkeys((*dive.buddies, *other.buddies))),
        tags=tuple(dict.fromkeys((*dive.tags, *other.tags))),
        environments=tuple(dict.fromkeys((*dive.environments, *other.environments))),
        kit=_kit(dive, other),
        pre_dive=dive.pre_dive or other.pre_dive,
        photos=tuple({photo.sha256: photo for photo in (*other.photos, *dive.photos)}.values()),
        camera_ahead_s=dive.camera_ahead_s or other.camera_ahead_s,
        notes=_TEXT_APART.join(dict.fromkeys(text for text in (dive.notes, other.notes) if text)),
        cylinders=_cylinders(dive, other),
        extra={**other.extra, **beside, **dive.extra},
        **taken,
    )


def _kit(dive: Dive, other: Dive) -> tuple[UsedKit, ...]:
    """Return what either used, each piece once, as the dive that stays calls it."""
    own = {used.id for used in dive.kit}
    return (*dive.kit, *(used for used in other.kit if used.id not in own))


def _numbers(dive: Dive, other: Dive) -> tuple[int | None, int | None]:
    """Return both numbers, first the one that stays: what a hand wrote goes before what was counted."""
    by_hand = other.estimate and not dive.estimate
    return (other.number, dive.number) if by_hand else (dive.number, other.number)


def _figures_beside(dive: Dive, other: Dive) -> dict[str, str]:
    """Return the start, time and depth that somebody wrote by hand; a recording's are in its account."""
    if other.recordings:
        return {}
    written = {
        "start": other.began_local.isoformat(timespec="minutes"),
        "time": f"{other.duration_min:g} min",
        "greatest depth": f"{other.max_depth_m:g} m",
    }
    own = {"time": f"{dive.duration_min:g} min", "greatest depth": f"{dive.max_depth_m:g} m"}
    return {ALSO_WRITTEN + name: words for name, words in written.items() if own.get(name) != words}


def _cylinders(dive: Dive, other: Dive) -> tuple[Cylinder, ...]:
    """Return the dive's cylinders, each filled up with what the other knows of the one in its place."""
    if not dive.cylinders:
        return other.cylinders
    if other.recordings:
        return dive.cylinders  # its recorder numbers them by itself; they are in its account
    pairs = list(zip(dive.cylinders, other.cylinders, strict=False))
    filled = [
        replace(
            own,
            **{
                name: getattr(hand, name)
                for name in ("gas", "volume_l", "start_bar", "end_bar", "name")
                if getattr(own, name) in _NOTHING
            },
        )
        for own, hand in pairs
    ]
    return (*filled, *dive.cylinders[len(pairs) :])


def _told(value: Any) -> str:
    return str(value) if isinstance(value, str) else str(getattr(value, "name", value))
