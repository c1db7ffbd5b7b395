"""What became of a record: every change of it by field, with the value before and after.

A value is kept as JSON, so that it can be read without this program and compared without doubt:
numbers keep all their digits, instants are ISO 8601 in UTC, what a record has several of is an array.
Two names are not fields of a dive:

    present        whether the dive is in the logbook: null before it came, false in the bin
    extra.NAME     one value of `extra`; null where there is none of that name

Nothing here is ever taken away again: taking a change back is a change as well.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass, replace
from datetime import UTC, datetime
from enum import Enum
from typing import Any, Final

from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.kit import UsedKit
from logbook_app.dive.photo import photos_from_plain
from logbook_app.dive.pre_dive_card import PreDiveCard, card_from_plain, card_to_plain
from logbook_app.dive.record import Account, Dive, Environment, Recording, Role, Site, Water
from logbook_app.physics.breathing_gas import BreathingGas

DIVE: Final = "dive"
PRESENT: Final = "present"
EXTRA: Final = "extra."
NOT_THERE: Final = "null"

# Why a record changed.
BY_HAND, EDIT, PUT_BACK, UNDO = "hand", "edit", "put back", "undo"
IMPORT, JOIN, SHIFT, LEAD = "import", "join", "shift", "lead"
DELETE, RESTORE, TAGS = "delete", "restore", "tags"
SYNC: Final = "sync"


@dataclass(frozen=True, slots=True)
class FieldChange:
    """One field of one record, changed once.

    id             counts from 1 through the whole logbook
    change         the same for all that was changed at once
    kind           what kind of record: `dive`
    record_id      which one
    field          of the record, or one of the names above
    before, after  as JSON
    at             the instant [UTC]
    why            what did it
    origin         the device it was done on, empty for this one
    """

    id: int
    change: int
    kind: str
    record_id: str
    field: str
    before: str
    after: str
    at: datetime
    why: str
    origin: str = ""


def changed_fields(before: Dive | None, after: Dive) -> Iterator[tuple[str, str, str]]:
    """Yield name, value before and value after of each field that two records of a dive differ in.

    A dive that was not there before has one change, that it came: what it said then is what it says now
    with every later change taken off.
    """
    if before is None:
        yield PRESENT, NOT_THERE, "true"
        return
    told_before, told_after = _told(before), _told(after)
    for name in dict.fromkeys((*told_before, *told_after)):
        was, now = told_before.get(name), told_after.get(name)
        if was != now:  # by value: 42 and 42.0 are one
            yield name, value_to_json(was), value_to_json(now)


def with_values(dive: Dive, values: Mapping[str, str]) -> Dive:
    """Return a dive in which the named fields say what the JSON says.

    Raises RefusedRecord where that dive would contradict itself.
    """
    extra = dict(dive.extra)
    told: dict[str, Any] = {}
    for name, value in values.items():
        if not name.startswith(EXTRA):
            told[name] = value_from_json(name, value)
        elif value == NOT_THERE:
            extra.pop(name.removeprefix(EXTRA), None)
        else:
            extra[name.removeprefix(EXTRA)] = json.loads(value)
    return replace(dive, extra=extra, **told)


def value_to_json(value: Any) -> str:
    """Return the value of a field as JSON."""
    return json.dumps(_plain(value), ensure_ascii=False)


def value_from_json(name: str, text: str) -> Any:
    """Return the value of a dive's field that `value_to_json` wrote."""
    told = json.loads(text)
    if told is None:
        return None
    return _READ[name](told) if name in _READ else told


def told_value(dive: Dive, name: str) -> Any:
    """Return what a dive says in a field of its history, None where it says nothing."""
    return dive.extra.get(name.removeprefix(EXTRA)) if name.startswith(EXTRA) else getattr(dive, name)


def _told(dive: Dive) -> dict[str, Any]:
    plain = {each.name: getattr(dive, each.name) for each in fields(dive) if each.name not in ("id", "extra")}
    return plain | {f"{EXTRA}{name}": value for name, value in dive.extra.items()}


def _plain(value: Any) -> Any:
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat()
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, PreDiveCard):
        return card_to_plain(value)
    if is_dataclass(value):
        return {each.name: _plain(getattr(value, each.name)) for each in fields(value)}
    return [_plain(each) for each in value] if isinstance(value, tuple) else value


def _site(told: dict[str, Any]) -> Site:
    water = told["water"]
    return Site(**{**told, "water": None if water is None else Water(water)})


def _cylinder(told: dict[str, Any]) -> Cylinder:
    gas = told["gas"]
    return Cylinder(**{**told, "gas": None if gas is None else BreathingGas(**gas)})


def _cylinders(told: list[dict[str, Any]]) -> tuple[Cylinder, ...]:
    return tuple(map(_cylinder, told))


def _recordings(told: list[dict[str, Any]]) -> tuple[Recording, ...]:
    return tuple(Recording(**{**each, "account": _account(each["account"])}) for each in told)


def _account(told: dict[str, Any] | None) -> Account | None:
    if told is None:
        return None
    began_at, cylinders = datetime.fromisoformat(told["began_at"]), _cylinders(told["cylinders"])
    return Account(**{**told, "began_at": began_at, "cylinders": cylinders})


_READ: Final[dict[str, Any]] = {
    "began_at": datetime.fromisoformat,
    "site": _site,
    "water": Water,
    "role": Role,
    "environments": lambda told: tuple(map(Environment, told)),
    "cylinders": _cylinders,
    "recordings": _recordings,
    "kit": lambda told: tuple(UsedKit(**each) for each in told),
    "pre_dive": card_from_plain,
    "photos": photos_from_plain,
    "buddies": tuple,
    "tags": tuple,
}
