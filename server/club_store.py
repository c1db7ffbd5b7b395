"""What the club's decisions need to be kept, whoever keeps it.

`deciding.py` knows only these methods. `memory_club.py` keeps everything in dictionaries, `sql_club.py`
in a file. The same rules are run against both.

What must outlive the loss of the database stands apart, in the `Ledger`: a backup of last week must
neither bring back a member who was erased since, nor a record that was removed, nor let a device in that
was shut out, nor bring back an epoch.
"""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from typing import Protocol

from logbook_app.sync.merging import Record
from logbook_app.sync.stamps import StampClock


@dataclass(frozen=True, slots=True)
class ClubState:
    """What the club keeps of itself.

    epoch     begun anew with every restored backup
    restored_ms   when that was, 0 for the first epoch
    seq       of the latest line of the log
    floor     the log holds what came after it
    aged      the log may be cut up to here the next time: where it stood at the last tidying
    clock     for stamps
    least_schema   of programs that may push
    """

    epoch: int = 1
    seq: int = 0
    floor: int = 0
    aged: int = 0
    clock: StampClock = field(default_factory=StampClock)
    least_schema: int = 1
    restored_ms: int = 0


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the log.

    key       of the record
    change    id of the change, empty where the audience changed or the whole record has to be sent
    author    member who made the change
    stamp     that the club gave it
    content   the change as JSON
    audience  who may see the record now and could not, or could and may not; "*" is everybody
    """

    seq: int
    key: str
    change: str = ""
    author: str = ""
    stamp: str = ""
    content: str = ""
    audience: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Seen:
    """The verdict on a change, for when it is sent again."""

    change: str
    verdict: str
    stamp: str
    seq: int


@dataclass(frozen=True, slots=True)
class Device:
    """A device that may speak for a member.

    standing   "" or the code of the refusal that it gets
    """

    id: str
    member: str
    seen_ms: int
    standing: str = ""


class Ledger(Protocol):
    """What no backup of the database may undo: ids and numbers only, in a file of their own."""

    def erased(self, member: str) -> bool:
        """Return whether this member was erased."""

    def removed(self, key: str) -> bool:
        """Return whether this record was removed for good."""

    def erased_members(self) -> Iterable[str]:
        """Return everybody who was erased."""

    def removed_keys(self) -> Iterable[str]:
        """Return every record that was removed."""

    def revoked_devices(self) -> Iterable[str]:
        """Return every device that was shut out."""

    def write_erased(self, member: str) -> None:
        """Keep, before it happens, that a member is erased."""

    def write_removed(self, key: str) -> None:
        """Keep, before it happens, that a record is removed."""

    def write_revoked(self, device: str) -> None:
        """Keep, before it happens, that a device is shut out."""

    def next_epoch(self, at_least: int) -> int:
        """Return an epoch that no restored database has ever had, and keep it."""


class ClubStore(Protocol):
    """The club's database. Everything within one `change` is kept together or not at all."""

    def change(self) -> AbstractContextManager[None]:
        """Begin a transaction that is on the disk when it ends."""

    def state(self) -> ClubState:
        """Return the club's state."""

    def put_state(self, state: ClubState) -> None:
        """Keep the club's state."""

    def record(self, key: str) -> Record:
        """Return a record, an empty one where there is none."""

    def put_record(self, key: str, record: Record, audience: frozenset[str], now_ms: int) -> None:
        """Keep a record, who may see it and since when it is deleted; an empty one is taken away."""

    def audience(self, key: str) -> frozenset[str]:
        """Return who may see a record, its owner included."""

    def visible(self, member: str, after: str, limit: int) -> list[str]:
        """Return the keys that a member may see, in order, after this one."""

    def digests(self, member: str) -> Iterable[tuple[str, str]]:
        """Return key and digest of every record that a member may see."""

    def keys_of(self, owner: str) -> list[str]:
        """Return the keys of a member's own records."""

    def deleted_before(self, ms: int) -> list[str]:
        """Return the records of which the club has known since before this time that they are deleted."""

    def seen(self, change: str) -> Seen | None:
        """Return the verdict on a change, None for one that never came."""

    def put_seen(self, seen: Seen) -> None:
        """Keep a verdict."""

    def numbers(self, origin: str, up_to: int) -> int:
        """Return how many different numbers of an origin were accepted, up to this one."""

    def number_taken(self, origin: str, number: int) -> bool:
        """Return whether a change of this number has a verdict."""

    def append(self, line: Line) -> None:
        """Add a line to the log."""

    def lines(self, after: int, limit: int) -> list[Line]:
        """Return the lines of the log after this one."""

    def cut_log(self, up_to: int) -> None:
        """Take away the lines up to this one."""

    def forget_changes(self, key: str) -> None:
        """Take away what the log says of a record, but not who had to forget it."""

    def device(self, device_id: str) -> Device | None:
        """Return a device, None where it never came."""

    def put_device(self, device: Device) -> None:
        """Keep a device."""

    def devices(self) -> list[Device]:
        """Return all devices."""

    def naming(self, name: str) -> list[str]:
        """Return the keys of the records that name this blob."""

    def blob_size(self, name: str) -> int | None:
        """Return the size of a complete blob, None where there is none."""

    def blob_part(self, name: str, at: int, most: int) -> bytes:
        """Return bytes of a complete blob."""

    def arrived(self, name: str) -> int:
        """Return how many bytes of an incomplete blob are there."""

    def put_part(self, name: str, at: int, data: bytes) -> None:
        """Keep bytes of an incomplete blob, which is cut at this place first."""

    def finish_blob(self, name: str) -> bool:
        """Make an incomplete blob complete where its bytes have this name, else drop it."""

    def drop_blobs_without_record(self) -> None:
        """Take away the complete blobs that no record names."""
