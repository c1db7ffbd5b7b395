"""A change: what one person did to one record at one moment on one device.

Its id ends in a digest of its content. The same change sent twice is therefore one change, and two
phones that were set up from one backup, and count on from the same number, still name two different
edits differently. No number has to be reserved or handed out again, nothing is renamed, and no order
of arrival is needed: what a change replaces is what it says it saw.

A record belongs to one diver for good. Its key is the owner and a name of the owner's own, so that
two divers who import the same file have a dive each. A change says no owner where the record is its
author's own: that is everything a diver has written before joining a club.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Annotated, Final

from logbook_app.sync.merging import NO_RECORD, Edit, Field, Json, Record, merged
from logbook_app.sync.stamps import STAMP
from logbook_app.sync.wire import AnyValue, Matching, Within

ORIGIN: Final = re.compile("[0-9a-z]{1,32}")
MEMBER: Final = re.compile("[0-9a-z-]{1,64}")
RECORD_NAME: Final = re.compile("[a-z]{1,16}:[0-9A-Za-z_-]{1,64}")
KEY: Final = re.compile(f"(?:{MEMBER.pattern})?/{RECORD_NAME.pattern}")
CHANGE_ID: Final = re.compile(rf"{ORIGIN.pattern}\.[0-9]{{1,15}}\.[0-9a-f]{{16}}")

SHA256: Final = re.compile("[0-9a-f]{64}")
FIELD_NAME: Final = re.compile("[a-z0-9_]{1,64}")
ANY_OWNER: Final = re.compile(f"(?:{MEMBER.pattern})?")

ChangeId = Annotated[str, Matching(CHANGE_ID)]
Key = Annotated[str, Matching(KEY)]
FieldName = Annotated[str, Matching(FIELD_NAME)]

_CANONICAL: Final = json.JSONEncoder(sort_keys=True, separators=(",", ":"), allow_nan=False)
_NESTED: Final = (dict, list, tuple)

READERS: Final = "readers"
WRITERS: Final = "writers"
EVERYBODY: Final = "*"


@dataclass(frozen=True, slots=True)
class Change:
    """One change of one record.

    origin   of the device that made it
    number   of the change on that device, from 1; only to count by
    owner    of the record, empty where it is the author's own
    record   its name among the owner's records: kind and id
    stamp    when, by the device that made it
    fields   what was written
    saw      for each of these fields, the changes that it replaces
    schema   of the program that made it
    id       follows from all of this
    """

    origin: Annotated[str, Matching(ORIGIN)]
    number: Annotated[int, Within(1, 10**15 - 1)]
    owner: Annotated[str, Matching(ANY_OWNER)]
    record: Annotated[str, Matching(RECORD_NAME)]
    stamp: Annotated[str, Matching(STAMP)]
    fields: Annotated[Mapping[FieldName, AnyValue], Within(1, 200)]
    saw: Annotated[Mapping[FieldName, tuple[ChangeId, ...]], Within(0, 200)]
    schema: Annotated[int, Within(1, 10**6)] = 1
    id: str = field(init=False, compare=False)

    def __post_init__(self) -> None:
        told = [self.origin, self.number, self.owner, self.record, self.stamp, self.schema]
        digest = digest_of(
            [*told, dict(self.fields), {name: sorted(seen) for name, seen in self.saw.items()}]
        )
        object.__setattr__(self, "id", f"{self.origin}.{self.number}.{digest[:16]}")

    def key(self, author: str) -> str:
        """Return the key of the record that this author changed; no author yet is an empty one."""
        return f"{self.owner or author}/{self.record}"

    def as_record(self, stamp: str = "") -> Record:
        """Return what the change alone knows of its record.

        stamp   that the club gave it, where it gave one
        """
        return {
            name: Field((Edit(self.id, stamp or self.stamp, value),), frozenset(self.saw.get(name, ())))
            for name, value in self.fields.items()
        }


def kept_change(content: str) -> Change:
    """Return a change from a store of one's own, where it stands as `canonical` wrote it.

    It was looked at when it came, and is not looked at again for what a stranger could put into it.
    """
    told = json.loads(content)
    saw = {name: tuple(seen) for name, seen in told.pop("saw").items()}
    return Change(**told, saw=saw)


def with_change(record: Record, change: Change, stamp: str = "") -> Record:
    """Return the record with a change; it makes no difference whether it was there before."""
    return merged(record or NO_RECORD, change.as_record(stamp))


def owner_of(key: str) -> str:
    """Return who owns the record of this key."""
    return key.partition("/")[0]


def name_of(key: str) -> str:
    """Return the record's name among its owner's records."""
    return key.partition("/")[2]


def kind_of(key: str) -> str:
    """Return what kind of record this is: dive, site, kit ..."""
    return name_of(key).partition(":")[0]


def origin_of(change_id: str) -> str:
    """Return the device that made a change."""
    return change_id.partition(".")[0]


def number_of(change_id: str) -> int:
    """Return the number of a change on the device that made it."""
    return int(change_id.split(".")[1])


def canonical(value: Json) -> str:
    """Return a value as JSON that is the same text on every device."""
    return _CANONICAL.encode(value)


def digest_of(value: Json) -> str:
    """Return the SHA-256 of a value, in hexadecimal."""
    return hashlib.sha256(canonical(value).encode()).hexdigest()


def blobs_named(record: Record) -> frozenset[str]:
    """Return the SHA-256 of every blob that a record's heads name, those kept beside included."""
    return frozenset(
        name
        for each in record.values()
        for edit in each.heads
        if isinstance(edit.value, _NESTED)
        for name in _digests_in(edit.value)
    )


def _digests_in(value: Json) -> Iterator[str]:
    """Yield what stands under a name that ends in sha256, however deep."""
    if isinstance(value, dict):
        for name, each in value.items():
            if name.endswith("sha256") and isinstance(each, str) and SHA256.fullmatch(each):
                yield each
            else:
                yield from _digests_in(each)
    elif isinstance(value, list | tuple):
        for each in value:
            yield from _digests_in(each)
