"""The club's store in dictionaries: for a club that lasts as long as its process.

Everything kept is immutable, so that a transaction which fails puts back copies of the dictionaries.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from logbook_app.sync.changes import EVERYBODY, blobs_named, number_of, origin_of, owner_of
from logbook_app.sync.hash_tree import record_digest
from logbook_app.sync.merging import NO_RECORD, Record, is_deleted
from logbook_app.sync.messages import Verdict
from server.club_store import ClubState, Device, Line, Seen


@dataclass(slots=True)
class Tables:
    """What a club's database holds."""

    state: ClubState = field(default_factory=ClubState)
    records: dict[str, Record] = field(default_factory=dict)
    audiences: dict[str, frozenset[str]] = field(default_factory=dict)
    digests: dict[str, str] = field(default_factory=dict)
    deleted: dict[str, int] = field(default_factory=dict)
    seen: dict[str, Seen] = field(default_factory=dict)
    numbers: dict[str, dict[int, bool]] = field(default_factory=dict)
    log: dict[int, Line] = field(default_factory=dict)
    devices: dict[str, Device] = field(default_factory=dict)
    blobs: dict[str, bytes] = field(default_factory=dict)
    parts: dict[str, bytes] = field(default_factory=dict)

    def copied(self) -> Tables:
        """Return tables that share their rows with these and nothing else."""
        rest = (dict(getattr(self, name)) for name in Tables.__slots__[1:])
        return Tables(self.state, *rest)


class MemoryClub:
    """See `club_store.ClubStore` for every method.

    tables   of an earlier club, to go on from
    """

    def __init__(self, tables: Tables | None = None) -> None:
        self.tables = tables or Tables()

    @contextmanager
    def change(self) -> Iterator[None]:
        """See ClubStore."""
        before = self.tables.copied()
        try:
            yield
        except BaseException:
            self.tables = before
            raise

    def state(self) -> ClubState:
        """See ClubStore."""
        return self.tables.state

    def put_state(self, state: ClubState) -> None:
        """See ClubStore."""
        self.tables.state = state

    def record(self, key: str) -> Record:
        """See ClubStore."""
        return self.tables.records.get(key, NO_RECORD)

    def put_record(self, key: str, record: Record, audience: frozenset[str], now_ms: int) -> None:
        """See ClubStore."""
        since = self.tables.deleted.pop(key, now_ms)
        if is_deleted(record):
            self.tables.deleted[key] = since
        if record:
            self.tables.records[key], self.tables.audiences[key] = record, audience
            self.tables.digests[key] = record_digest(record)
        else:
            for table in (self.tables.records, self.tables.audiences, self.tables.digests):
                table.pop(key, None)

    def audience(self, key: str) -> frozenset[str]:
        """See ClubStore."""
        return self.tables.audiences.get(key, frozenset())

    def visible(self, member: str, after: str, limit: int) -> list[str]:
        """See ClubStore."""
        return [key for key in self._seen_by(member) if key > after][:limit]

    def digests(self, member: str) -> Iterable[tuple[str, str]]:
        """See ClubStore."""
        return [(key, self.tables.digests[key]) for key in self._seen_by(member)]

    def _seen_by(self, member: str) -> list[str]:
        who = {member, EVERYBODY}
        return sorted(key for key, audience in self.tables.audiences.items() if audience & who)

    def keys_of(self, owner: str) -> list[str]:
        """See ClubStore."""
        return [key for key in self.tables.records if owner_of(key) == owner]

    def deleted_before(self, ms: int) -> list[str]:
        """See ClubStore."""
        return [key for key, since in self.tables.deleted.items() if since < ms]

    def seen(self, change: str) -> Seen | None:
        """See ClubStore."""
        return self.tables.seen.get(change)

    def put_seen(self, seen: Seen) -> None:
        """See ClubStore."""
        self.tables.seen[seen.change] = seen
        origin, number = origin_of(seen.change), number_of(seen.change)
        taken = self.tables.numbers.get(origin, {})
        accepted = taken.get(number, False) or seen.verdict == Verdict.ACCEPTED
        self.tables.numbers[origin] = {**taken, number: accepted}

    def numbers(self, origin: str, up_to: int) -> int:
        """See ClubStore."""
        taken = self.tables.numbers.get(origin, {})
        return sum(number <= up_to and accepted for number, accepted in taken.items())

    def number_taken(self, origin: str, number: int) -> bool:
        """See ClubStore."""
        return number in self.tables.numbers.get(origin, {})

    def append(self, line: Line) -> None:
        """See ClubStore."""
        self.tables.log[line.seq] = line

    def lines(self, after: int, limit: int) -> list[Line]:
        """See ClubStore."""
        return [line for seq, line in self.tables.log.items() if seq > after][:limit]

    def cut_log(self, up_to: int) -> None:
        """See ClubStore."""
        self._keep_lines(lambda line: line.seq > up_to)

    def forget_changes(self, key: str) -> None:
        """See ClubStore."""
        self._keep_lines(lambda line: line.key != key or not line.change)

    def _keep_lines(self, stays: Any) -> None:
        self.tables.log = {seq: line for seq, line in self.tables.log.items() if stays(line)}

    def device(self, device_id: str) -> Device | None:
        """See ClubStore."""
        return self.tables.devices.get(device_id)

    def put_device(self, device: Device) -> None:
        """See ClubStore."""
        self.tables.devices[device.id] = device

    def devices(self) -> list[Device]:
        """See ClubStore."""
        return list(self.tables.devices.values())

    def naming(self, name: str) -> list[str]:
        """See ClubStore."""
        return [key for key, record in self.tables.records.items() if name in blobs_named(record)]

    def blob_size(self, name: str) -> int | None:
        """See ClubStore."""
        return len(self.tables.blobs[name]) if name in self.tables.blobs else None

    def blob_part(self, name: str, at: int, most: int) -> bytes:
        """See ClubStore."""
        return self.tables.blobs[name][at : at + most]

    def arrived(self, name: str) -> int:
        """See ClubStore."""
        return len(self.tables.parts.get(name, b""))

    def put_part(self, name: str, at: int, data: bytes) -> None:
        """See ClubStore."""
        self.tables.parts[name] = self.tables.parts.get(name, b"")[:at] + data

    def finish_blob(self, name: str) -> bool:
        """See ClubStore."""
        data = self.tables.parts.pop(name, b"")
        if hashlib.sha256(data).hexdigest() != name:
            return False
        self.tables.blobs[name] = data
        return True

    def drop_blobs_without_record(self) -> None:
        """See ClubStore."""
        named = {name for record in self.tables.records.values() for name in blobs_named(record)}
        self.tables.blobs = {name: data for name, data in self.tables.blobs.items() if name in named}


class MemoryLedger:
    """A ledger that lasts as long as its process."""

    def __init__(self) -> None:
        self._erased: dict[str, None] = {}
        self._removed: dict[str, None] = {}
        self._revoked: dict[str, None] = {}
        self._epoch = 1

    def erased(self, member: str) -> bool:
        """See Ledger."""
        return member in self._erased

    def removed(self, key: str) -> bool:
        """See Ledger."""
        return key in self._removed

    def erased_members(self) -> list[str]:
        """See Ledger."""
        return list(self._erased)

    def removed_keys(self) -> list[str]:
        """See Ledger."""
        return list(self._removed)

    def revoked_devices(self) -> list[str]:
        """See Ledger."""
        return list(self._revoked)

    def write_erased(self, member: str) -> None:
        """See Ledger."""
        self._erased[member] = None

    def write_removed(self, key: str) -> None:
        """See Ledger."""
        self._removed[key] = None

    def write_revoked(self, device: str) -> None:
        """See Ledger."""
        self._revoked[device] = None

    def next_epoch(self, at_least: int) -> int:
        """See Ledger."""
        self._epoch = max(self._epoch + 1, at_least)
        return self._epoch
