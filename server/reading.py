"""The one way by which a page reads what members wrote: with the eyes of who looks at it.

Nothing else of the pages asks the store for a record or a blob. What is not shared with the viewer is not
there for the page, whatever the viewer's role: a role opens what the club itself keeps, never a logbook.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar

from logbook_app.dive.problems import RefusedRecord
from logbook_app.dive.profile import Profile, profile_from_bytes
from logbook_app.dive.record import Dive
from logbook_app.sync.changes import EVERYBODY, kind_of, owner_of
from logbook_app.sync.merging import Json, Record, is_deleted, values_of
from logbook_app.sync.records import SignOff, read_as
from logbook_app.sync.shown_dives import SHOWN, ShownDive, dive_of_another
from logbook_app.sync.sign_offs import BUDDY, REQUEST, SIGN_OFF, SignOffRequest, changed_since
from server.sql_club import SqlClub

Kind = TypeVar("Kind")


@dataclass(frozen=True)
class SeenDive:
    """A dive that the viewer may see, and whose it is; the dive's own id is the key."""

    key: str
    owner: str
    shown: ShownDive
    record: Record

    @cached_property
    def dive(self) -> Dive:
        """The dive as the rest of the program reckons with it. Raises RefusedRecord where it cannot be."""
        return dive_of_another(self.key, self.shown, samples_here=True)


@dataclass(frozen=True)
class SeenSignOff:
    """A signature that the viewer may see.

    changed   whether what was signed says something else by now, or is gone
    """

    key: str
    signer: str
    sign_off: SignOff
    changed: bool


class Reading:
    """What one viewer sees of a club's records.

    viewer   id of the member; the empty one sees what is shared with everybody
    """

    def __init__(self, store: SqlClub, viewer: str) -> None:
        self._store, self._viewer = store, viewer

    def may_see(self, key: str) -> bool:
        """Return whether a record is shared with the viewer."""
        if self._viewer and owner_of(key) == self._viewer:
            return True
        who = self._store.others(key)
        return EVERYBODY in who or (bool(self._viewer) and self._viewer in who)

    def record(self, key: str) -> Record | None:
        """Return a record as it stands, None where the viewer sees none."""
        record = self._store.record(key) if self.may_see(key) else None
        return record if record and not is_deleted(record) else None

    def audience(self, key: str) -> frozenset[str]:
        """Return who else sees a record of the viewer's own; nobody for what is another's."""
        return self._store.others(key) if owner_of(key) == self._viewer else frozenset()

    def dive(self, key: str) -> SeenDive | None:
        """Return a dive, None where the viewer sees none or it cannot be read."""
        record = self.record(key) if kind_of(key) == SHOWN else None
        shown = None if record is None else _read(ShownDive, values_of(record))
        if record is None or shown is None:
            return None
        seen = SeenDive(key, owner_of(key), shown, record)
        try:
            return seen if seen.dive else None
        except RefusedRecord:
            return None

    def dives(self, keys: Iterable[str]) -> Iterator[SeenDive]:
        """Yield those of these dives that the viewer sees."""
        yield from (seen for key in keys if (seen := self.dive(key)))

    def sign_offs(self, keys: Iterable[str]) -> Iterator[SeenSignOff]:
        """Yield those of these signatures, and of buddies' words, that the viewer sees."""
        for key in keys:
            record = self.record(key) if kind_of(key) in (SIGN_OFF, BUDDY) else None
            sign_off = None if record is None else _read(SignOff, values_of(record))
            if sign_off is not None:
                signed = (sign_off.record, *sign_off.evidence)
                there = {each: self._store.record(each) for each in signed if each}
                yield SeenSignOff(key, owner_of(key), sign_off, changed_since(sign_off, there))

    def requests(self, keys: Iterable[str]) -> Iterator[tuple[str, SignOffRequest]]:
        """Yield those of these requests that the viewer sees."""
        for key in keys:
            record = self.record(key) if kind_of(key) == REQUEST else None
            request = None if record is None else _read(SignOffRequest, values_of(record))
            if request is not None:
                yield key, request

    def profile(self, seen: SeenDive) -> Profile | None:
        """Return the samples of a dive that was read, None where there are none that can be read."""
        data = whole_blob(self._store, seen.shown.samples.profile_sha256) if seen.shown.samples else None
        try:
            return profile_from_bytes(data) if data else None
        except RefusedRecord:
            return None


def whole_blob(store: SqlClub, name: str) -> bytes | None:
    """Return the bytes of a blob that a record names which was read before; None where they are not there."""
    size, data = store.blob_size(name), b""
    while size is not None and len(data) < size:
        part = store.blob_part(name, len(data), size)
        if not part:
            return None
        data += part
    return data if size is not None else None


def _read(kind: type[Kind], values: Mapping[str, Json]) -> Kind | None:
    try:
        return read_as(kind, values)
    except RefusedRecord:
        return None
