"""A logbook that Leadline wrote as JSON becomes dives again, equal to those that were written.

logbook_json.py documents the form. Twice through the file: first its frame, wherever in it format
and version stand, then its dives, one at a time in the memory of the longest. The analysis is not
read; it is made again. Keys that are missing take what an unwritten value takes, keys that nobody
knows are passed over, so that a script may cut a file down to what it needs.

A dive read so keeps its id and its recordings. Only two things can differ: the name of a stored
profile, where another device deflates differently, and, where the reader says whose dives they
are, the diver with everything that is named after him.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import datetime
from math import inf, nan
from typing import Any, Final

import numpy as np

from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.kit import UsedKit
from logbook_app.dive.photo import Photo
from logbook_app.dive.pre_dive_card import PreDiveCard, card_from_plain
from logbook_app.dive.problems import Problem, RefusedFile, RefusedRecord
from logbook_app.dive.profile import FloatArray, GasSwitch, Profile, Remark
from logbook_app.dive.record import (
    Account,
    Dive,
    Environment,
    Recording,
    Role,
    Site,
    Water,
    name_from_content,
)
from logbook_app.files.json_pieces import Around, parsed, pieces
from logbook_app.files.kit_json import kit_from_json
from logbook_app.files.logbook_json import FORMAT, VERSION
from logbook_app.files.read_dive import (
    ReadDive,
    ReadKit,
    ReadOptions,
    kept_again,
    recording_fingerprint,
)
from logbook_app.language import _
from logbook_app.physics.breathing_gas import BreathingGas

Fields = Mapping[str, Any]

_DIVE_ID: Final = re.compile("[0-9a-f]{32}")


def parse_logbook_json(
    chunks: Callable[[], Iterable[bytes]], file_name: str, options: ReadOptions
) -> Iterator[ReadDive | ReadKit | Problem]:
    """Yield the dives of a logbook's JSON in the order of the file, its kit, and what was odd in it.

    Raises RefusedFile where the text is no such JSON or no dive of it could be read.
    """
    frame = _frame(chunks(), file_name)
    read, refusal = 0, ""
    for place, piece in enumerate(pieces(chunks(), file_name), start=1):
        if isinstance(piece, Around):
            break
        try:
            yield _entry(parsed(piece), options)
            read += 1
        except (RefusedRecord, ValueError) as error:
            reason = str(error).rstrip(".")
            refusal = refusal or _("dive {place} of the file: {reason}").format(place=place, reason=reason)
            yield Problem(
                file_name,
                _("dive {place} of the file").format(place=place),
                _("the dive was not read: {reason}.").format(reason=reason),
            )
    if not read:
        why = _("no dive that could be read: {refusal}").format(refusal=refusal) if refusal else _("no dive")
        raise RefusedFile(
            _("{file_name} is a logbook in JSON but holds {why}.").format(file_name=file_name, why=why)
        )
    yield from _kit(frame, file_name, options)
    if not frame.complete:
        yield Problem(
            file_name,
            "",
            _("the file breaks off: {read} complete dives were read, nothing after them was.").format(
                read=read
            ),
        )


def _frame(chunks: Iterable[bytes], file_name: str) -> Around:
    """Return what stands around the dives. Raises RefusedFile where it is not of a logbook."""
    *_dives, frame = pieces(chunks, file_name)
    if not isinstance(frame, Around):
        raise TypeError("what stands around the dives comes last")
    try:
        told = parsed(frame.text)
    except ValueError as error:
        raise RefusedFile(
            _("{file_name} is not JSON that can be read ({error}).").format(file_name=file_name, error=error)
        ) from error
    if not isinstance(told, dict) or told.get("format") != FORMAT:
        raise RefusedFile(
            _('{file_name} is JSON but no logbook: only files whose "format" is "{form}" are read.').format(
                file_name=file_name, form=FORMAT
            )
        )
    if told.get("version") != VERSION:
        raise RefusedFile(
            _(
                "{file_name} is a logbook in JSON of version {get}; version {known} is read. Update "
                "Leadline, or export the file again."
            ).format(file_name=file_name, get=str(told.get("version"))[:20], known=VERSION)
        )
    return frame


def _kit(frame: Around, file_name: str, options: ReadOptions) -> Iterator[ReadKit | Problem]:
    """Yield the kit of a logbook; another diver's is not one's own."""
    told = parsed(frame.text).get("kit")
    if told is None or options.diver:
        return
    try:
        yield kit_from_json(told)
    except RefusedRecord as error:
        yield Problem(file_name, "", _("{error}; the dives were read.").format(error=error))


def _entry(entry: Any, options: ReadOptions) -> ReadDive:
    entry = _object(entry, "a dive")
    told = _object(entry.get("dive"), "dive")
    samples = [entry.get("samples"), *_list(entry, "further_samples")]
    profiles = [None if each is None else profile_from_json(each) for each in samples]
    dive = dive_from_json(told)
    if not told.get("id"):
        dive = replace(dive, id=name_from_content("dive", recording_fingerprint(dive, profiles[0])))
    count = max(len(dive.recordings), 1 if profiles[0] is not None else 0)
    missing = [None] * (count - len(profiles))
    profiles = [*profiles, *missing] if count else profiles[1:]
    return kept_again(_named(dive, told, profiles[:count]), profiles, options.diver)


def _named(dive: Dive, told: Fields, profiles: list[Profile | None]) -> Dive:
    """Return the dive with a recording for each profile, named where a script left the names out."""
    recordings = [*dive.recordings, *[Recording("")] * (len(profiles) - len(dive.recordings))]
    for place, recording in enumerate(recordings):
        if place >= len(dive.recordings) or told["recordings"][place].get("fingerprint") is None:
            name = recording_fingerprint(dive, profiles[place])
            recordings[place] = replace(recording, fingerprint=name)
    return replace(dive, recordings=tuple(recordings))


def dive_from_json(told: Fields) -> Dive:
    """Return the record that `dive_to_json` wrote, its recordings with the names that it gives.

    Raises RefusedRecord where a value is missing, of the wrong kind or cannot be.
    """
    try:
        return Dive(**_record(told))
    except (KeyError, TypeError, ValueError, OverflowError, AttributeError) as error:
        what = (
            _("{name!r} is missing").format(name=error.args[0]) if isinstance(error, KeyError) else str(error)
        )
        raise RefusedRecord(_("its record cannot be read: {what}").format(what=what)) from error


def _record(told: Fields) -> dict[str, Any]:
    began_at = datetime.fromisoformat(_text(told, "began_at"))
    offset = began_at.utcoffset()
    known: dict[str, Any] = {
        "began_at": began_at,
        "utc_offset_min": round(offset.total_seconds() / 60) if offset else 0,
        "duration_min": _needed(told, "duration_min"),
        "max_depth_m": _needed(told, "max_depth_m"),
        "site": None if told.get("site") is None else _site(_object(told["site"], "site")),
        "water": Water(told.get("water", Water.RECORDER)),
        "role": None if told.get("role") is None else Role(told["role"]),
        "environments": tuple(Environment(each) for each in _list(told, "environments")),
        "cylinders": tuple(_cylinder(_object(each, "a cylinder")) for each in _list(told, "cylinders")),
        "buddies": _texts(told, "buddies"),
        "tags": _texts(told, "tags"),
        "kit": tuple(_used_kit(_object(each, _("a piece of kit"))) for each in _list(told, "kit")),
        "pre_dive": _card(told.get("pre_dive")),
        "photos": tuple(_photo(_object(each, _("a photo"))) for each in _list(told, "photos")),
        "camera_ahead_s": _count(told, "camera_ahead_s") or 0,
        "estimate": bool(told.get("estimate", False)),
        "recordings": tuple(_recording(_object(r, "a recording")) for r in _list(told, "recordings")),
        "extra": {_whole(k): _whole(v) for k, v in _object(told.get("extra") or {}, "extra").items()},
    }
    known |= {name: _number(told, name) for name in _NUMBERS}
    known |= {name: _count(told, name) for name in ("number", "rating")}
    known |= {name: _text(told, name, "") for name in _TEXTS}
    if told.get("utc_offset_min") is not None:
        known["utc_offset_min"] = _count(told, "utc_offset_min")
    if told.get("id"):
        known["id"] = _id(_text(told, "id"))
    return known


def _id(text: str) -> str:
    """Return the id of a dive; Leadline gives no others, and what is made of ids relies on that."""
    if not _DIVE_ID.fullmatch(text):
        raise RefusedRecord(
            _('"{text}" is not the id of a dive; leave the id out, and it gets one').format(text=text[:40])
        )
    return text


_NUMBERS = (
    "mean_depth_m", "surface_bar", "elevation_m", "weights_kg", "air_temperature_c", "lowest_temperature_c",
    "visibility_m",
)  # fmt: skip
_TEXTS = ("diver", "suit", "current", "conditions", "purpose", "notes", "trip", "supervised_by")


def profile_from_json(told: Any) -> Profile:
    """Return the samples that `profile_to_json` wrote.

    Raises RefusedRecord where a value is missing, of the wrong kind or cannot be.
    """
    try:
        told = dict(_object(told, "samples"))
        switches = [_object(each, "a switch") for each in told.pop("switches", [])]
        remarks = [_object(each, "a remark") for each in told.pop("remarks", [])]
        return Profile(
            time_s=_array(told.pop("time_s")),
            depth_m=_array(told.pop("depth_m")),
            channels={name: _array(values) for name, values in told.items()},
            switches=tuple(GasSwitch(_needed(s, "time_s"), int(_needed(s, "cylinder"))) for s in switches),
            remarks=tuple(Remark(_needed(r, "time_s"), _remark_text(r)) for r in remarks),
        )
    except (KeyError, TypeError, ValueError, OverflowError) as error:
        what = (
            _("{name!r} is missing").format(name=error.args[0]) if isinstance(error, KeyError) else str(error)
        )
        raise RefusedRecord(_("its samples cannot be read: {what}").format(what=what)) from error


def _site(told: Fields) -> Site:
    water = told.get("water")
    return Site(
        id=_text(told, "id"),
        name=_text(told, "name"),
        elevation_m=_number(told, "elevation_m"),
        latitude_deg=_number(told, "latitude_deg"),
        longitude_deg=_number(told, "longitude_deg"),
        water=None if water is None else Water(water),
        region=_text(told, "region", ""),
    )


def _cylinder(told: Fields) -> Cylinder:
    gas = told.get("gas")
    return Cylinder(
        gas=None if gas is None else _gas(_object(gas, "gas")),
        volume_l=_number(told, "volume_l"),
        start_bar=_number(told, "start_bar"),
        end_bar=_number(told, "end_bar"),
        name=_text(told, "name", ""),
    )


def _card(told: Any) -> PreDiveCard | None:
    return None if told is None else card_from_plain(_object(told, _("a pre-dive card")))


def _used_kit(told: Fields) -> UsedKit:
    return UsedKit(_text(told, "id"), _text(told, "name", ""))


def _photo(told: Fields) -> Photo:
    return Photo(_text(told, "sha256"), _text(told, "file_name", ""), _text(told, "taken_local", ""))


def _gas(told: Fields) -> BreathingGas:
    return BreathingGas(_needed(told, "oxygen_fraction"), _number(told, "helium_fraction") or 0.0)


def _recording(told: Fields) -> Recording:
    return Recording(
        fingerprint="" if told.get("fingerprint") is None else _text(told, "fingerprint"),
        recorder=_text(told, "recorder", ""),
        file_name=_text(told, "file_name", ""),
        account=None if told.get("account") is None else _account(_object(told["account"], "account")),
    )


def _account(told: Fields) -> Account:
    return Account(
        began_at=datetime.fromisoformat(_text(told, "began_at")),
        utc_offset_min=_count(told, "utc_offset_min") or 0,
        duration_min=_needed(told, "duration_min"),
        max_depth_m=_needed(told, "max_depth_m"),
        mean_depth_m=_number(told, "mean_depth_m"),
        surface_bar=_number(told, "surface_bar"),
        lowest_temperature_c=_number(told, "lowest_temperature_c"),
        cylinders=tuple(_cylinder(_object(each, "a cylinder")) for each in _list(told, "cylinders")),
    )


def _object(value: Any, what: str) -> dict[str, Any]:
    if not isinstance(value, dict):
        raise RefusedRecord(_("{what} is not an object").format(what=what))
    return value


def _list(told: Fields, name: str) -> list[Any]:
    value = told.get(name) or []
    if not isinstance(value, list):
        raise RefusedRecord(_("{name} is not an array").format(name=name))
    return value


def _text(told: Fields, name: str, otherwise: str | None = None) -> str:
    value = told[name] if otherwise is None else told.get(name, otherwise)
    return _whole(value, name)


def _texts(told: Fields, name: str) -> tuple[str, ...]:
    return tuple(_whole(value, name) for value in _list(told, name))


def _whole(value: Any, name: str = "a text") -> str:
    """Return a text of whole characters; half of one could never be saved."""
    if not isinstance(value, str):
        raise RefusedRecord(_("{name} is not a text").format(name=name))
    if not value.isascii() and any("\ud800" <= letter <= "\udfff" for letter in value):
        raise RefusedRecord(_("{name} has half a character in it").format(name=name))
    return value


def _remark_text(told: Fields) -> str:
    text = told["text"]
    if not isinstance(text, str):
        raise RefusedRecord(_("the text of a remark is not a text"))
    return text


def _number(told: Fields, name: str) -> float | None:
    value = told.get(name)
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise RefusedRecord(_("{name} is not a number").format(name=name))
    return float(value)


def _needed(told: Fields, name: str) -> float:
    value = _number(told, name)
    if value is None:
        raise RefusedRecord(_("{name} is missing").format(name=name))
    return value


def _count(told: Fields, name: str) -> int | None:
    value = told.get(name)
    if value is None or (isinstance(value, int) and not isinstance(value, bool)):
        return value
    raise RefusedRecord(_("{name} is not a whole number").format(name=name))


_WITHOUT_END = {None: nan, "inf": inf, "-inf": -inf}


def _array(values: Any) -> FloatArray:
    if not isinstance(values, list):
        raise RefusedRecord(_("a channel is not an array"))
    told = [_WITHOUT_END[value] if value is None or isinstance(value, str) else value for value in values]
    return np.array(told, dtype=np.float64)
