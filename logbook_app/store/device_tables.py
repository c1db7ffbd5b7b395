"""The device's side of a sync in the logbook file: `sync.device_store.DeviceStore` in plain SQL.

It knows records and changes, not dives: what they mean for the logbook is `sync_shelf`'s. Samples and
pictures that the logbook has are offered from where they lie; `sync_blobs` holds what is on its way.
"""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import AbstractContextManager
from typing import Any, Final

from logbook_app.sync.changes import blobs_named, canonical, kept_change
from logbook_app.sync.device_store import DeviceState, OwnChange, Staging, Standing
from logbook_app.sync.hash_tree import record_digest
from logbook_app.sync.merging import NO_RECORD, Record, is_deleted
from logbook_app.sync.messages import LARGEST_BLOB
from logbook_app.sync.packing import packed, unpacked
from logbook_app.sync.stamps import StampClock
from logbook_app.sync.wire import to_json

_OWN: Final = "SELECT content, standing, stamp, seq, place FROM sync_changes"
_HERE: Final = (
    "SELECT sha256 AS name, samples AS data FROM profiles"
    " UNION ALL SELECT sha256, image FROM pictures"
    " UNION ALL SELECT sha256, part FROM sync_blobs WHERE whole = 1"
)
_NAMES_HERE: Final = f"SELECT name FROM ({_HERE})"  # noqa: S608
_SMALL_ENOUGH: Final = f"length(data) <= {LARGEST_BLOB}"  # a larger picture stays on its device


class CarriedRecords(Mapping[str, Record]):
    """The records to be given to the club, read when asked for: after a file there are thousands."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection

    def __getitem__(self, name: str) -> Record:
        query = "SELECT content FROM sync_carried WHERE record = ?"
        row = self._connection.execute(query, [name]).fetchone()
        if row is None:
            raise KeyError(name)
        return unpacked(row[0])

    def __iter__(self) -> Iterator[str]:
        rows = self._connection.execute("SELECT record FROM sync_carried ORDER BY record").fetchall()
        return iter([name for (name,) in rows])

    def __len__(self) -> int:
        return int(self._connection.execute("SELECT count(*) FROM sync_carried").fetchone()[0])


class DeviceTables:
    """See `sync.device_store.DeviceStore` for every method that says nothing else.

    connection    to the logbook file
    transaction   begins a change of the file that is kept as a whole or not at all
    """

    def __init__(
        self, connection: sqlite3.Connection, transaction: Callable[[], AbstractContextManager[None]]
    ) -> None:
        self._connection, self._transaction = connection, transaction

    def _all(self, query: str, *values: Any) -> list[Any]:
        return self._connection.execute(query, values).fetchall()

    def _one(self, query: str, *values: Any) -> Any:
        return self._connection.execute(query, values).fetchone()

    def change(self) -> AbstractContextManager[None]:
        """See DeviceStore."""
        return self._transaction()

    def state(self) -> DeviceState:
        """See DeviceStore."""
        row = self._one("SELECT * FROM sync_state")
        _id, origin, number, member, ms, count, epoch, cursor, *staged = row
        staging = Staging(*staged) if staged[0] is not None else None
        return DeviceState(origin, number, member, StampClock(ms, count), epoch, cursor, staging)

    def put_state(self, state: DeviceState) -> None:
        """See DeviceStore."""
        staging = state.staging
        staged = (staging.epoch, staging.seq, staging.after) if staging else (None, None, None)
        clock = (state.clock.ms, state.clock.count)
        row = (state.origin, state.number, state.member, *clock, state.epoch, state.cursor, *staged)
        self._connection.execute("REPLACE INTO sync_state VALUES (1, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", row)

    # One's own changes

    def own(self, change_id: str) -> OwnChange | None:
        """See DeviceStore."""
        row = self._one(f"{_OWN} WHERE id = ?", change_id)
        return _own(row) if row else None

    def put_own(self, own: OwnChange) -> None:
        """See DeviceStore."""
        change = own.change
        content = canonical(to_json(change))
        row = (change.id, change.owner, change.record, change.origin, change.number, content)
        self._connection.execute(
            "INSERT INTO sync_changes (id, owner, record, origin, number, content, standing, stamp, seq)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (id)"
            " DO UPDATE SET standing = excluded.standing, stamp = excluded.stamp, seq = excluded.seq",
            (*row, own.standing, own.stamp, own.seq),
        )

    def own_of(self, owner: str, record: str) -> list[OwnChange]:
        """See DeviceStore."""
        rows = self._all(f"{_OWN} WHERE owner = ? AND record = ? ORDER BY place", owner, record)
        return list(map(_own, rows))

    def own_standing(self, standing: str, after: int, limit: int) -> list[OwnChange]:
        """See DeviceStore."""
        query = f"{_OWN} WHERE standing = ? AND place > ? ORDER BY place LIMIT ?"
        return list(map(_own, self._all(query, standing, after, limit)))

    def accepted(self, origin: str) -> int:
        """See DeviceStore."""
        query = "SELECT count(*) FROM sync_changes WHERE standing = ? AND origin = ?"
        return int(self._one(query, Standing.ACCEPTED, origin)[0])

    # What the club decided

    def decided(self, key: str) -> Record:
        """See DeviceStore."""
        row = self._one("SELECT content FROM sync_records WHERE key = ?", key)
        return unpacked(row[0]) if row else NO_RECORD

    def put_decided(self, key: str, record: Record) -> None:
        """See DeviceStore."""
        self._connection.execute("DELETE FROM sync_named WHERE key = ?", [key])
        if not record:
            self._connection.execute("DELETE FROM sync_records WHERE key = ?", [key])
            return
        row = (key, packed(record), record_digest(record))
        self._connection.execute("REPLACE INTO sync_records VALUES (?, ?, ?)", row)
        self._name_blobs(key, record)

    def _name_blobs(self, key: str, record: Record) -> None:
        names = () if is_deleted(record) else blobs_named(record)
        self._connection.executemany("INSERT INTO sync_named VALUES (?, ?)", ((key, name) for name in names))

    def decided_keys(self) -> list[str]:
        """See DeviceStore."""
        return [key for (key,) in self._all("SELECT key FROM sync_records ORDER BY key")]

    def digests(self) -> Iterable[tuple[str, str]]:
        """See DeviceStore."""
        return self._all("SELECT key, digest FROM sync_records")

    def stage(self, records: Mapping[str, Record]) -> None:
        """See DeviceStore."""
        rows = ((key, packed(record)) for key, record in records.items())
        self._connection.executemany("REPLACE INTO sync_staged VALUES (?, ?)", rows)

    def staged(self, key: str) -> Record:
        """See DeviceStore."""
        row = self._one("SELECT content FROM sync_staged WHERE key = ?", key)
        return unpacked(row[0]) if row else NO_RECORD

    def drop_staged(self) -> None:
        """See DeviceStore."""
        self._connection.execute("DELETE FROM sync_staged")

    def swap_staged(self) -> None:
        """See DeviceStore."""
        for table in ("sync_records", "sync_named"):
            self._connection.execute(f"DELETE FROM {table}")  # noqa: S608
        for key, content in self._all("SELECT key, content FROM sync_staged"):
            record = unpacked(content)
            row = (key, content, record_digest(record))
            self._connection.execute("INSERT INTO sync_records VALUES (?, ?, ?)", row)
            self._name_blobs(key, record)
        self.drop_staged()

    def carried(self) -> Mapping[str, Record]:
        """See DeviceStore."""
        return CarriedRecords(self._connection)

    def put_carried(self, record_name: str, record: Record) -> None:
        """See DeviceStore."""
        self._connection.execute("DELETE FROM sync_carried WHERE record = ?", [record_name])
        if record:
            self._connection.execute("INSERT INTO sync_carried VALUES (?, ?)", [record_name, packed(record)])

    # Samples and pictures

    def blobs_here(self) -> dict[str, bytes]:
        """Return all samples and pictures of the diver's that are here and may travel, by their names."""
        others = "SELECT sha256 FROM sync_named WHERE key NOT LIKE ? || '/%'"
        own = "SELECT sha256 FROM sync_named WHERE key LIKE ? || '/%' UNION SELECT sha256 FROM profiles"
        theirs = f"name IN ({others}) AND name NOT IN ({own})"
        query = f"SELECT name, data FROM ({_HERE}) WHERE {_SMALL_ENOUGH} AND NOT ({theirs})"  # noqa: S608
        member = self.state().member
        rows = self._all(query, member, member)
        return {name: bytes(data) for name, data in rows}

    def blobs_to_offer(self) -> list[str]:
        """See DeviceStore."""
        at_club = "SELECT sha256 FROM sync_blobs WHERE at_club = 1"
        query = f"{_NAMES_HERE} WHERE {_SMALL_ENOUGH} EXCEPT {at_club} ORDER BY 1"
        return [name for (name,) in self._all(query)]

    def blobs_to_get(self) -> list[str]:
        """See DeviceStore."""
        query = f"SELECT sha256 FROM sync_named EXCEPT {_NAMES_HERE} ORDER BY 1"  # noqa: S608
        return [name for (name,) in self._all(query)]

    def put_at_club(self, names: Iterable[str], there: bool) -> None:
        """See DeviceStore."""
        rows = [(name, int(there)) for name in names]
        if not rows:
            self._connection.execute("UPDATE sync_blobs SET at_club = ?", [int(there)])
        self._connection.executemany(
            "INSERT INTO sync_blobs (sha256, at_club) VALUES (?, ?)"
            " ON CONFLICT (sha256) DO UPDATE SET at_club = excluded.at_club",
            rows,
        )

    def blob_size(self, name: str) -> int | None:
        """See DeviceStore."""
        row = self._one(f"SELECT length(data) FROM ({_HERE}) WHERE name = ?", name)  # noqa: S608
        return row[0] if row else None

    def blob_part(self, name: str, at: int, most: int) -> bytes:
        """See DeviceStore."""
        query = f"SELECT substr(data, ?, ?) FROM ({_HERE}) WHERE name = ?"  # noqa: S608
        row = self._one(query, at + 1, most, name)
        return bytes(row[0]) if row else b""

    def arrived(self, name: str) -> int:
        """See DeviceStore."""
        query = "SELECT length(part) FROM sync_blobs WHERE sha256 = ? AND whole = 0 AND part IS NOT NULL"
        row = self._one(query, name)
        return int(row[0]) if row else 0

    def put_part(self, name: str, at: int, data: bytes) -> None:
        """See DeviceStore."""
        row = self._one("SELECT part FROM sync_blobs WHERE sha256 = ?", name)
        before = bytes(row[0])[:at] if row and row[0] is not None else b""
        self._connection.execute(
            "INSERT INTO sync_blobs (sha256, part) VALUES (?, ?)"
            " ON CONFLICT (sha256) DO UPDATE SET part = excluded.part",
            [name, before + data],
        )

    def finish_blob(self, name: str) -> bool:
        """See DeviceStore."""
        row = self._one("SELECT part FROM sync_blobs WHERE sha256 = ?", name)
        data = bytes(row[0]) if row and row[0] is not None else b""
        true = hashlib.sha256(data).hexdigest() == name
        kept = (data, 1) if true else (None, 0)
        self._connection.execute("UPDATE sync_blobs SET part = ?, whole = ? WHERE sha256 = ?", [*kept, name])
        return true


def _own(row: tuple[Any, ...]) -> OwnChange:
    content, standing, stamp, seq, place = row
    return OwnChange(kept_change(content), standing, stamp, seq, place)
