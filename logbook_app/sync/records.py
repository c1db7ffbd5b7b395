"""Dives, sites, settings, kit and sign-offs as the fields of a record, and back.

A field is what two people may change apart from each other: the notes of a dive, its cylinders as a
whole, its site as a whole. What belongs together is one field, so that a merge cannot mix a start
pressure with another cylinder's end.

A program that meets a field it does not know leaves it in the record; writing sends only what a diver
changed, so that an older device cannot undo what it never understood.

The bytes of a profile stay where they are and are named by `profile_sha256` within `recordings`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from datetime import datetime
from typing import Any, Final

from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.problems import RefusedRecord
from logbook_app.dive.record import Account, Dive, Recording, Site, Water, name_from_content
from logbook_app.physics.breathing_gas import BreathingGas
from logbook_app.sync.changes import RECORD_NAME
from logbook_app.sync.merging import Json, same_value

Values = Mapping[str, Json]

# What follows a diver from device to device; the look of a screen stays with the screen.
SETTINGS_THAT_TRAVEL: Final = ("gf_low", "gf_high", "ascent_limit_m_min", "ppo2_limit_bar", "units")
_PLAIN: Final = tuple(
    each.name
    for each in fields(Dive)
    if each.name not in {"began_at", "site", "water", "cylinders", "buddies", "tags", "recordings", "extra"}
)


@dataclass(frozen=True, slots=True)
class SignOff:
    """What an instructor confirms of a dive or a skill, in a record of the instructor's own.

    what       that is confirmed, in the instructor's words
    whom       member it is confirmed to
    record     key of the record that was looked at
    digest     over the values that were confirmed, see `signed_digest`
    changes    the changes that they came from, so that a later one can be named
    """

    what: str
    whom: str
    record: str
    digest: str
    changes: tuple[str, ...] = ()


def record_name(kind: str, identity: str) -> str:
    """Return the name of a record among its owner's: its kind and its id, or what follows from the id."""
    name = f"{kind}:{identity}"
    return name if RECORD_NAME.fullmatch(name) else f"{kind}:{name_from_content(kind, identity)}"


def dive_values(dive: Dive) -> dict[str, Json]:
    """Return every field of a dive as its record holds it."""
    return {name: getattr(dive, name) for name in _PLAIN} | {
        "began_at": dive.began_at.isoformat(),
        "site": None if dive.site is None else site_values(dive.site),
        "water": dive.water.value,
        "cylinders": [_cylinder_values(cylinder) for cylinder in dive.cylinders],
        "buddies": list(dive.buddies),
        "tags": list(dive.tags),
        "recordings": [_recording_values(recording) for recording in dive.recordings],
        "extra": dict(dive.extra),
    }


def dive_from_values(values: Values) -> Dive:
    """Return the dive that a record holds. Raises RefusedRecord where it cannot be one yet.

    Fields that are missing take what an unwritten value takes.
    """
    try:
        known = {name: values[name] for name in _PLAIN if name in values}
        return Dive(**known, **_turned(values))
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise RefusedRecord(f"A dive that was synced cannot be read: {error}") from error


def _turned(values: Values) -> dict[str, Any]:
    site = values.get("site")
    return {
        "began_at": datetime.fromisoformat(values["began_at"]),
        "site": None if site is None else site_from_values(site),
        "water": Water(values.get("water", Water.RECORDER)),
        "cylinders": tuple(map(_cylinder, values.get("cylinders", ()))),
        "buddies": tuple(values.get("buddies", ())),
        "tags": tuple(values.get("tags", ())),
        "recordings": tuple(map(_recording, values.get("recordings", ()))),
        "extra": dict(values.get("extra", {})),
    }


def site_values(site: Site) -> dict[str, Json]:
    """Return every field of a site."""
    return asdict(site) | {"water": None if site.water is None else site.water.value}


def site_from_values(values: Values) -> Site:
    """Return the site that a record holds; what nobody here knows is left in the record."""
    known = {each.name: values[each.name] for each in fields(Site) if each.name in values}
    if known.get("water") is not None:
        known["water"] = Water(known["water"])
    return Site(**known)


def settings_values(settings: Mapping[str, str]) -> dict[str, Json]:
    """Return the settings that follow the diver."""
    return {name: settings[name] for name in SETTINGS_THAT_TRAVEL if name in settings}


def settings_from_values(values: Values) -> dict[str, str]:
    """Return the settings that a record holds, those alone that follow the diver."""
    return {name: values[name] for name in SETTINGS_THAT_TRAVEL if isinstance(values.get(name), str)}


def sign_off_values(sign_off: SignOff) -> dict[str, Json]:
    """Return every field of a sign-off."""
    return asdict(sign_off) | {"changes": list(sign_off.changes)}


def sign_off_from_values(values: Values) -> SignOff:
    """Return the sign-off that a record holds. Raises RefusedRecord where it is none."""
    told = {each.name: values.get(each.name) for each in fields(SignOff) if each.name != "changes"}
    if not all(isinstance(value, str) for value in told.values()):
        raise RefusedRecord("A sign-off that was synced says not what was signed.")
    changes = values.get("changes", ())
    return SignOff(**told, changes=tuple(changes) if isinstance(changes, list | tuple) else ())  # type: ignore[arg-type]


def changed_values(before: Values, after: Values) -> dict[str, Json]:
    """Return the fields that are new or other, so that a change says no more than what was changed."""
    return {
        name: value
        for name, value in after.items()
        if name not in before or not same_value(before[name], value)
    }


def _cylinder_values(cylinder: Cylinder) -> dict[str, Json]:
    gas = cylinder.gas
    return {
        "gas": None if gas is None else {"oxygen": gas.oxygen, "helium": gas.helium},
        "volume_l": cylinder.volume_l,
        "start_bar": cylinder.start_bar,
        "end_bar": cylinder.end_bar,
        "name": cylinder.name,
    }


def _cylinder(values: Values) -> Cylinder:
    known = {each.name: values[each.name] for each in fields(Cylinder) if each.name in values}
    gas = known.pop("gas", None)
    return Cylinder(None if gas is None else BreathingGas(gas["oxygen"], gas["helium"]), **known)


def _recording_values(recording: Recording) -> dict[str, Json]:
    told = {each.name: getattr(recording, each.name) for each in fields(Recording)}
    return told | {"account": None if recording.account is None else _account_values(recording.account)}


def _recording(values: Values) -> Recording:
    known = {each.name: values[each.name] for each in fields(Recording) if each.name in values}
    account = known.pop("account", None)
    return Recording(**known, account=None if account is None else _account(account))


def _account_values(account: Account) -> dict[str, Json]:
    told = {each.name: getattr(account, each.name) for each in fields(Account)}
    cylinders = [_cylinder_values(cylinder) for cylinder in account.cylinders]
    return told | {"began_at": account.began_at.isoformat(), "cylinders": cylinders}


def _account(values: Values) -> Account:
    known = {each.name: values[each.name] for each in fields(Account) if each.name in values}
    known["began_at"] = datetime.fromisoformat(known["began_at"])
    known["cylinders"] = tuple(map(_cylinder, known.get("cylinders", ())))
    return Account(**known)
