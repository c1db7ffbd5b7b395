"""A dive as somebody corrects it: single fields are given anew, and what contradicts itself is refused.

What a recorder measured is not written over: the time and the depths of a dive with samples follow them.
Its start may be corrected, because a clock can be wrong; every recorder of the dive then moves along.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any, Final

from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.problems import RefusedRecord
from logbook_app.dive.record import Dive, Site, Water
from logbook_app.dive.shifted_dive import shifted
from logbook_app.language import _

FOLLOWS_RECORDING: Final = ("duration_min", "max_depth_m", "mean_depth_m")
_NUMBERS: Final = (
    "number", "surface_bar", "elevation_m", "weights_kg", "air_temperature_c", "lowest_temperature_c",
    "visibility_m", "rating",
)  # fmt: skip
_TEXTS: Final = ("diver", "suit", "current", "conditions", "purpose", "notes", "trip", "supervised_by")
_LISTS: Final = ("buddies", "tags")
EDITABLE: Final = (
    "began_at", "utc_offset_min", *FOLLOWS_RECORDING, *_NUMBERS, "site", "water", "cylinders", "kit",
    "photos", "camera_ahead_s", "role", "environments", *_TEXTS, *_LISTS, "extra",
)  # fmt: skip

# What `extra` holds for the program itself, or as text that only a program reads.
_NOT_FOR_THE_DIVER: Final = ("whole recording", "uddf:unread")


def edited(dive: Dive, given: Mapping[str, Any]) -> Dive:
    """Return a dive with some of its fields given anew.

    given   values by the names in `EDITABLE`. `extra` is a mapping with the texts to change, None to leave
            one out. Where a dive has no samples, the water goes with the site unless it is given as well

    Raises RefusedRecord, in one sentence, for a field that cannot be changed and for what contradicts
    itself.
    """
    _refuse_unknown(given)
    _refuse_to_overrule(dive, given)
    told = {name: _tidy(name, value) for name, value in given.items() if name not in ("extra", "began_at")}
    if "extra" in given:
        told["extra"] = _extra(dive, given["extra"])
    if "site" in told and "water" not in told:
        told["water"] = _water(dive, told["site"])
    changed = replace(_begun(dive, given.get("began_at")), **told)
    _refuse_contradictions(dive, changed)
    return changed


def is_for_the_diver(name: str, value: str) -> bool:
    """Return whether a value of `extra` is a text that a diver may change."""
    if name in _NOT_FOR_THE_DIVER or value.lstrip().startswith("<"):
        return False
    try:
        float(value)
    except ValueError:
        return True
    return False


def _refuse_unknown(given: Mapping[str, Any]) -> None:
    for name in given:
        if name not in EDITABLE:
            raise RefusedRecord(
                _("{name} is no field that can be changed; these can: {names}.").format(
                    name=name, names=", ".join(EDITABLE)
                )
            )


def _refuse_to_overrule(dive: Dive, given: Mapping[str, Any]) -> None:
    if dive.profile_sha256 is None:
        return
    if any(given.get(name, getattr(dive, name)) != getattr(dive, name) for name in FOLLOWS_RECORDING):
        raise RefusedRecord(
            _("Time and depths of this dive follow its recording; let another recording lead instead.")
        )


def _tidy(name: str, value: Any) -> Any:
    if name in _TEXTS:
        return _whole(value).strip()
    if name in _LISTS:
        told = (" ".join(_whole(each).split()) for each in value)
        return tuple(dict.fromkeys(each for each in told if each))
    if name in ("cylinders", "kit", "photos", "environments"):
        return tuple(value)
    return None if value == "" else value


def _whole(text: str) -> str:
    """Return a text of whole characters; half of one could never be saved."""
    if not text.isascii() and any("\ud800" <= letter <= "\udfff" for letter in text):
        raise RefusedRecord(_("The text has half a character in it; write it anew."))
    return text


def _extra(dive: Dive, given: Mapping[str, str | None]) -> dict[str, str]:
    for name in given:
        if name not in dive.extra or not is_for_the_diver(name, dive.extra[name]):
            raise RefusedRecord(_("{name} is no text that can be changed here.").format(name=name))
    told = {**dive.extra, **given}
    return {name: _whole(text) for name, text in told.items() if text is not None}


def _water(dive: Dive, site: Site | None) -> Water:
    """Return the water of a dive at another site: a recorder's metre stays what its gauge measured."""
    if dive.profile_sha256 is not None:
        return dive.water
    if site is not None and site.water is not None:
        return site.water
    left = dive.site.water if dive.site else None
    return Water.RECORDER if dive.water == left else dive.water


def _begun(dive: Dive, began_at: datetime | None) -> Dive:
    if began_at is None:
        return dive
    if began_at.tzinfo is None:
        raise RefusedRecord(_("The start of a dive needs its offset from UTC."))
    moved = shifted(dive, (began_at - dive.began_at) / timedelta(minutes=1))
    return replace(moved, began_at=began_at)  # to the microsecond


def _refuse_contradictions(before: Dive, after: Dive) -> None:
    _refuse_filled_cylinders(c for c in after.cylinders if c not in before.cylinders)
    depths = (after.mean_depth_m, after.max_depth_m)
    if depths != (before.mean_depth_m, before.max_depth_m) and (after.mean_depth_m or 0) > after.max_depth_m:
        raise RefusedRecord(_("The mean depth is below the greatest depth; check both."))


def _refuse_filled_cylinders(cylinders: Iterable[Cylinder]) -> None:
    for cylinder in cylinders:
        if cylinder.start_bar is not None and (cylinder.end_bar or 0) > cylinder.start_bar:
            raise RefusedRecord(_("The end pressure is above the start pressure; check both."))
