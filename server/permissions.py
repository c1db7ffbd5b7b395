"""Who may see a record and who may write which of its fields: asked for every change, page and blob.

What a diver keeps is the diver's alone, whoever its fields name: a dive, a piece of kit, a setting. Others
are given only records of the kinds that are written for others, and of a dive only what such a record may
hold (`logbook_app.sync.shown_dives`). That is decided where the audience of a record is worked out, so
that every page, event, snapshot and blob rests on it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from logbook_app.sync.changes import EVERYBODY, READERS, WRITERS, Change, kind_of, owner_of
from logbook_app.sync.merging import DELETED, Field, Json, Record, value_of
from logbook_app.sync.records import SIGNED_FIELDS
from logbook_app.sync.shown_dives import holds_only_shown, may_be_shown, only_shown
from server.roles import ANYTHING

OWNERS_ALONE: Final = frozenset({READERS, WRITERS, DELETED})
SIGN_OFF: Final = "signoff"


@dataclass(frozen=True, slots=True)
class Caller:
    """Who asks, and when: a member, by one of the member's devices.

    now_ms     the club's own clock
    signs_as   what the member signs as, empty for who signs nothing
    signs_for  the qualifications toward which the member signs; "*" is all of them
    """

    member: str
    device: str
    now_ms: int
    signs_as: str = ""
    signs_for: frozenset[str] = frozenset()


def audience_of(key: str, record: Record) -> frozenset[str]:
    """Return who may see a record: its owner, and whom the owner named of what may be shown; "*" is all."""
    if not _for_others(key) or not holds_only_shown(key, record):
        return frozenset({owner_of(key)})
    return frozenset({owner_of(key), *_members(record, READERS), *_members(record, WRITERS)})


def may_write(caller: Caller, key: str, record: Record, fields: Iterable[str]) -> bool:
    """Return whether a member may write these fields of this record; with their values, of a sign-off."""
    if kind_of(key) == SIGN_OFF and not _may_sign(caller, record, fields):
        return False
    if owner_of(key) == caller.member:
        return True
    named = _members(record, WRITERS) & {caller.member, EVERYBODY}
    return _for_others(key) and not OWNERS_ALONE & set(fields) and bool(named)


def _for_others(key: str) -> bool:
    return may_be_shown(key) or kind_of(key) == SIGN_OFF


def _may_sign(caller: Caller, record: Record, fields: Iterable[str]) -> bool:
    """Return whether a sign-off may be written: once and whole, by who signs for it, and for somebody else.

    Later it can be shown to others and withdrawn. What it says is settled by the change that came first,
    and by no merge.
    """
    content = set(fields) - OWNERS_ALONE
    signed = not record.keys() <= OWNERS_ALONE
    if not caller.signs_as or (content and (signed or not content >= SIGNED_FIELDS)):
        return False
    if _said(fields, "whom") == caller.member:
        return False
    rules, role = _said(fields, "rules"), _said(fields, "role")
    named = not rules or (isinstance(rules, str) and bool({rules, ANYTHING} & caller.signs_for))
    return named and (not role or role == caller.signs_as)


def _said(fields: Iterable[str], name: str) -> Json:
    """Return what is to be written into a field, or stands in the field of a whole record."""
    told = fields.get(name, "") if isinstance(fields, Mapping) else ""
    return value_of({name: told}, name) if isinstance(told, Field) else told


def _members(record: Record, name: str) -> frozenset[str]:
    named = value_of(record, name)
    return (
        frozenset(each for each in named if isinstance(each, str)) if isinstance(named, list) else frozenset()
    )


def well_formed(change: Change) -> bool:
    """Return whether a change says what can be read of the fields that the club itself reads.

    What shows a dive to others says nothing beside what may be shown.
    """
    told = [change.fields[name] for name in (READERS, WRITERS) if name in change.fields]
    lists = all(isinstance(names, list) and all(isinstance(each, str) for each in names) for names in told)
    whole = only_shown(change.key(""), change.fields)
    return lists and whole and isinstance(change.fields.get(DELETED, False), bool)
