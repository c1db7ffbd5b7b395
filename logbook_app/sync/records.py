"""Dives, kit, sites, settings and sign-offs as the fields of a record, and back.

A record travels as its dataclass is annotated, so that a new field of a dive needs no line here. A
field is what two people may change apart from each other: the notes of a dive, its cylinders as a
whole, its site as a whole. What belongs together is one field, so that a merge cannot mix a start
pressure with another cylinder's end.

A program that meets a field it does not know leaves it in the record. Only what a diver changed is
sent, so that an older device cannot undo what it never understood.

The bytes of a profile stay where they are and are named by `profile_sha256` within `recordings`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import MISSING, dataclass, fields, is_dataclass
from datetime import UTC, date, datetime
from enum import Enum
from functools import cache
from types import NoneType, UnionType
from typing import Any, Final, TypeVar, Union, get_args, get_origin, get_type_hints

from logbook_app.dive.diver_settings import SETTINGS_THAT_TRAVEL
from logbook_app.dive.problems import RefusedRecord
from logbook_app.dive.record import name_from_content
from logbook_app.language import _
from logbook_app.sync.changes import RECORD_NAME, digest_of
from logbook_app.sync.merging import Json, Record, same_value, value_of

Values = Mapping[str, Json]
Kind = TypeVar("Kind")


@dataclass(frozen=True, slots=True, kw_only=True)
class SignOff:
    """What a signer confirms of a dive, a skill or a requirement, in a record of the signer's own.

    what       that is confirmed, in the signer's words
    whom       member it is confirmed to
    record     key of the record that was looked at, empty where it was a requirement
    names      of the fields that were confirmed
    digest     over their values, see `signed_digest`; of a requirement over those of its evidence
    changes    that these values came from, so that a later one can be named
    evidence   keys of the dives that a requirement was confirmed on
    rules, requirement   ids of the set and of the requirement in it, empty where no requirement was signed
    signer, role   what the club calls the signer, and as what they signed
    supervised whether the signer stood over the dive
    on         the day by the signer's calendar
    """

    what: str
    whom: str
    record: str
    names: tuple[str, ...]
    digest: str
    changes: tuple[str, ...] = ()
    evidence: tuple[str, ...] = ()
    rules: str = ""
    requirement: str = ""
    signer: str = ""
    role: str = ""
    remark: str = ""
    supervised: bool = False
    on: date | None = None


SIGNED_FIELDS: Final = frozenset({"what", "whom", "record", "names", "digest"})  # a sign-off says all


def record_name(kind: str, identity: str) -> str:
    """Return the name of a record among its owner's: its kind and its id, or what follows from the id.

    >>> record_name("dive", "0f3a")
    'dive:0f3a'
    """
    name = f"{kind}:{identity}"
    return name if RECORD_NAME.fullmatch(name) else f"{kind}:{name_from_content(kind, identity)}"


def values_from(record: Any) -> dict[str, Json]:
    """Return every field of a frozen dataclass as a record holds it."""
    return {each.name: _plain(getattr(record, each.name)) for each in fields(record)}


def written_values(record: Any) -> dict[str, Json]:
    """Return the fields of a frozen dataclass that say something: what an unwritten one takes is left out."""
    plain = values_from(record)
    unwritten = {each.name: _plain(each.default) for each in fields(record) if each.default is not MISSING}
    unwritten |= {
        each.name: _plain(each.default_factory())
        for each in fields(record)
        if each.name != "id" and each.default_factory is not MISSING
    }
    return {
        name: value
        for name, value in plain.items()
        if name not in unwritten or not same_value(unwritten[name], value)
    }


def read_as(kind: type[Kind], values: Values) -> Kind:
    """Return what a record holds as a dataclass of this kind.

    Fields that are missing take what an unwritten value takes, fields nobody here knows are passed
    over.

    Raises RefusedRecord where a value is missing, of the wrong kind, or cannot be.
    """
    of: Any = kind
    record: Kind = _dataclass_reader(of)(values)
    return record


def holds_no_more(kind: Any, value: Json) -> bool:
    """Return whether a value is one of this kind and has nothing beside what that kind has."""
    try:
        return same_value(_plain(_reader(kind)(value)), value)
    except (RefusedRecord, ValueError, OverflowError):
        return False


def changed_values(before: Values, after: Values) -> dict[str, Json]:
    """Return the fields that are new or other, so that a change says no more than what was changed."""
    return {
        name: value
        for name, value in after.items()
        if name not in before or not same_value(before[name], value)
    }


def settings_values(settings: Mapping[str, str]) -> dict[str, Json]:
    """Return the settings that follow the diver."""
    return {name: settings[name] for name in SETTINGS_THAT_TRAVEL if name in settings}


def settings_from_values(values: Values) -> dict[str, str]:
    """Return the settings that a record holds, those alone that follow the diver."""
    return {name: values[name] for name in SETTINGS_THAT_TRAVEL if isinstance(values.get(name), str)}


def signed_digest(record: Record, names: tuple[str, ...]) -> str:
    """Return the digest over what somebody signs: these fields' values, as everybody sees them."""
    return digest_of({name: value_of(record, name) for name in names})


def changed_since_sign_off(record: Record, sign_off: SignOff) -> bool:
    """Return whether a record says something else by now than what was signed."""
    return signed_digest(record, sign_off.names) != sign_off.digest


def _plain(value: Any) -> Json:
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Enum):
        return value.value
    if is_dataclass(value):
        return values_from(value)
    if isinstance(value, Mapping):
        return {name: _plain(each) for name, each in value.items()}
    return [_plain(each) for each in value] if isinstance(value, tuple) else value


@cache
def _reader(kind: Any) -> Callable[[Any], Any]:
    origin, of = get_origin(kind), get_args(kind)
    if origin in (Union, UnionType):
        (inner,) = (each for each in of if each is not NoneType)
        return lambda value: None if value is None else _reader(inner)(value)
    if origin is tuple:
        return lambda value: tuple(map(_reader(of[0]), _of(list, value)))
    if origin is Mapping:
        return lambda value: {_of(str, name): _reader(of[1])(each) for name, each in _of(dict, value).items()}
    if _is_record(kind):
        return _dataclass_reader(kind)
    if issubclass(kind, Enum):
        return lambda value: kind(_of(str, value))
    if issubclass(kind, date):
        return lambda value: kind.fromisoformat(_of(str, value))
    if kind is float:
        return lambda value: float(_of((int, float), value))
    return lambda value: _of(kind, value)


def _is_record(kind: Any) -> bool:
    return is_dataclass(kind)


@cache
def _dataclass_reader(kind: Any) -> Callable[[Any], Any]:
    readers = {name: _reader(of) for name, of in get_type_hints(kind).items()}
    needed = [each.name for each in fields(kind) if each.default is each.default_factory is MISSING]

    def read(values: Any) -> Any:
        values = _of(dict, values)
        if missing := [name for name in needed if name not in values]:
            raise RefusedRecord(_("A record that was synced lacks “{name}”.").format(name=missing[0]))
        try:
            return kind(**{name: read(values[name]) for name, read in readers.items() if name in values})
        except (ValueError, OverflowError) as error:
            raise RefusedRecord(
                _("A record that was synced cannot be read: {why}").format(why=error)
            ) from error

    return read


def _of(kind: Any, value: Any) -> Any:
    if not isinstance(value, kind) or (isinstance(value, bool) and kind is not bool):
        raise RefusedRecord(
            _("A value that was synced is not of its kind: “{value}”.").format(value=str(value)[:40])
        )
    return value
