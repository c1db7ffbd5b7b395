"""The one way by which a page reads what members wrote: with the eyes of who looks at it.

Nothing else of the pages asks the store for a record or a blob. What is not shared with the viewer is not
there for the page, whatever the viewer's role: a role opens what the club itself keeps, never a logbook.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from logbook_app.dive.problems import RefusedRecord
from logbook_app.dive.profile import Profile, profile_from_bytes
from logbook_app.dive.record import Dive
from logbook_app.sync.changes import EVERYBODY, kind_of, owner_of
from logbook_app.sync.merging import Json, Record, is_deleted, values_of
from logbook_app.sync.records import SignOff, read_as
from server.club_store import ClubStore

DIVE: Final = "dive"
SIGN_OFF: Final = "signoff"
REQUEST: Final = "request"
PAGE: Final = 500
LAST: Final = "\U0010ffff"


@dataclass(frozen=True, slots=True)
class SeenDive:
    """A dive that the viewer may see, and whose it is."""

    key: str
    owner: str
    dive: Dive
    record: Record


class Reading:
    """What one viewer sees of a club's records.

    viewer   id of the member; the empty one sees what is shared with everybody
    """

    def __init__(self, store: ClubStore, viewer: str) -> None:
        self._store, self._viewer = store, viewer

    def may_see(self, key: str) -> bool:
        """Return whether a record is shared with the viewer."""
        return owner_of(key) == self._viewer or bool(
            self._store.audience(key) & {EVERYBODY, self._viewer or EVERYBODY}
        )

    def record(self, key: str) -> Record | None:
        """Return a record as it stands, None where the viewer sees none."""
        record = self._store.record(key) if self.may_see(key) else None
        return record if record and not is_deleted(record) else None

    def values(self, key: str) -> Mapping[str, Json] | None:
        """Return what a record says, None where the viewer sees none."""
        record = self.record(key)
        return None if record is None else values_of(record)

    def keys(self, owner: str, kind: str) -> Iterator[str]:
        """Yield the keys of one member's records of a kind that the viewer sees."""
        start = f"{owner}/{kind}:"
        after = start
        while True:
            found = self._store.visible(self._viewer or EVERYBODY, after, PAGE)
            for key in found:
                if not key.startswith(start):
                    return
                if self.may_see(key):
                    yield key
            if len(found) < PAGE:
                return
            after = found[-1]

    def dive(self, key: str) -> SeenDive | None:
        """Return a dive, None where the viewer sees none or it cannot be read."""
        record = self.record(key) if kind_of(key) == DIVE else None
        if record is None:
            return None
        try:
            return SeenDive(key, owner_of(key), read_as(Dive, values_of(record)), record)
        except RefusedRecord:
            return None

    def dives(self, owner: str) -> Iterator[SeenDive]:
        """Yield the dives of one member that the viewer sees."""
        yield from (seen for key in self.keys(owner, DIVE) if (seen := self.dive(key)))

    def sign_off(self, key: str) -> SignOff | None:
        """Return a sign-off, None where the viewer sees none or it cannot be read."""
        values = self.values(key) if kind_of(key) == SIGN_OFF else None
        try:
            return None if values is None else read_as(SignOff, values)
        except RefusedRecord:
            return None

    def profile(self, seen: SeenDive) -> Profile | None:
        """Return the samples of a dive that was read, None where there are none that can be read."""
        name = seen.dive.profile_sha256
        size = self._store.blob_size(name) if name else None
        if name is None or size is None:
            return None
        data = b""
        while len(data) < size:
            part = self._store.blob_part(name, len(data), size)
            if not part:
                return None
            data += part
        try:
            return profile_from_bytes(data)
        except RefusedRecord:
            return None
