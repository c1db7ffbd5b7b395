"""The club's store in one SQLite file, in plain SQL. See `club_store.ClubStore` for every method.

Write-ahead log, `synchronous = FULL`: what was answered is on the disk. One writer at a time, who takes
the lock when the transaction begins, because a lock that is taken later may be refused half way.

Records are kept whole, packed, beside what is searched in them: who may see them, since when they are
deleted, which blobs they name. Blobs lie in the file as well, in the parts in which they came: the samples
of a dive are some ten kilobytes, and one file is one backup.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any, Final

from logbook_app.sync.changes import EVERYBODY, blobs_named, number_of, origin_of, owner_of
from logbook_app.sync.hash_tree import record_digest
from logbook_app.sync.merging import NO_RECORD, Record, is_deleted
from logbook_app.sync.messages import Verdict
from logbook_app.sync.packing import packed, unpacked
from logbook_app.sync.stamps import StampClock
from server.club_store import ClubState, Device, Line, Seen

FORM: Final = 1  # of the tables; a file of a later one is left alone
BUSY_MS: Final = 5_000

_TABLES: Final = """
CREATE TABLE state (
    id INTEGER PRIMARY KEY CHECK (id = 1), epoch INTEGER NOT NULL, seq INTEGER NOT NULL,
    floor INTEGER NOT NULL, aged INTEGER NOT NULL, clock_ms INTEGER NOT NULL, clock_count INTEGER NOT NULL,
    least_schema INTEGER NOT NULL, restored_ms INTEGER NOT NULL);
CREATE TABLE records (
    key TEXT PRIMARY KEY, owner TEXT NOT NULL, content TEXT NOT NULL, digest TEXT NOT NULL,
    deleted_ms INTEGER) WITHOUT ROWID;
CREATE INDEX records_of_owner ON records (owner);
CREATE INDEX records_deleted ON records (deleted_ms) WHERE deleted_ms IS NOT NULL;
CREATE TABLE audiences (member TEXT NOT NULL, key TEXT NOT NULL, PRIMARY KEY (member, key)) WITHOUT ROWID;
CREATE INDEX audiences_of_key ON audiences (key);
CREATE TABLE named (name TEXT NOT NULL, key TEXT NOT NULL, PRIMARY KEY (name, key)) WITHOUT ROWID;
CREATE INDEX named_by_key ON named (key);
CREATE TABLE seen (
    change TEXT PRIMARY KEY, origin TEXT NOT NULL, number INTEGER NOT NULL, verdict TEXT NOT NULL,
    stamp TEXT NOT NULL, seq INTEGER NOT NULL) WITHOUT ROWID;
CREATE INDEX seen_numbers ON seen (origin, number, verdict);
CREATE TABLE log (
    seq INTEGER PRIMARY KEY, key TEXT NOT NULL, change TEXT NOT NULL, author TEXT NOT NULL,
    stamp TEXT NOT NULL, content TEXT NOT NULL, audience TEXT NOT NULL);
CREATE INDEX log_of_key ON log (key);
CREATE TABLE devices (
    id TEXT PRIMARY KEY, member TEXT NOT NULL, seen_ms INTEGER NOT NULL,
    standing TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE blobs (name TEXT PRIMARY KEY, size INTEGER NOT NULL) WITHOUT ROWID;
CREATE TABLE parts (name TEXT NOT NULL, at INTEGER NOT NULL, data BLOB NOT NULL, PRIMARY KEY (name, at));
CREATE TABLE members (
    id TEXT PRIMARY KEY, name TEXT NOT NULL, instructor INTEGER NOT NULL) WITHOUT ROWID;
CREATE TABLE invitations (
    code TEXT PRIMARY KEY, member TEXT NOT NULL, until_ms INTEGER NOT NULL, token TEXT) WITHOUT ROWID;
CREATE TABLE tokens (token TEXT PRIMARY KEY, member TEXT NOT NULL, name TEXT NOT NULL) WITHOUT ROWID;
INSERT INTO state VALUES (1, 1, 0, 0, 0, 0, 0, 1, 0);
"""
_SEEN_BY: Final = "FROM audiences WHERE member IN (?, ?)"


class SqliteClub:
    """One club's file, opened or made.

    connection   to it, for what else is kept in the same file

    Raises ValueError for a file of a later form.
    """

    def __init__(self, path: Path | str) -> None:
        self.connection = sqlite3.connect(path, isolation_level=None, check_same_thread=False)
        for pragma in (
            "journal_mode = WAL", "synchronous = FULL", f"busy_timeout = {BUSY_MS}", "trusted_schema = OFF",
        ):  # fmt: skip
            self.connection.execute(f"PRAGMA {pragma}")
        with self.change():
            self._prepare(path)

    def _prepare(self, path: Path | str) -> None:
        form = self._one("PRAGMA user_version")[0]
        if form > FORM:
            raise ValueError(f"The club's file {path} was written by a newer program; update this one.")
        if form == 0:
            for statement in _TABLES.split(";"):
                self.connection.execute(statement)
            self.connection.execute(f"PRAGMA user_version = {FORM}")

    def close(self) -> None:
        """Close the file."""
        self.connection.close()

    def back_up(self, path: Path) -> None:
        """Write all of the club into another file, while it goes on."""
        with closing(sqlite3.connect(path)) as target:
            self.connection.backup(target)

    @contextmanager
    def change(self) -> Iterator[None]:
        """See ClubStore."""
        self.connection.execute("BEGIN IMMEDIATE")
        try:
            yield
            self.connection.execute("COMMIT")
        except BaseException:
            if self.connection.in_transaction:
                self.connection.execute("ROLLBACK")
            raise

    def _all(self, query: str, *values: Any) -> list[Any]:
        return self.connection.execute(query, values).fetchall()

    def _one(self, query: str, *values: Any) -> Any:
        return self.connection.execute(query, values).fetchone()

    def state(self) -> ClubState:
        """See ClubStore."""
        _, epoch, seq, floor, aged, ms, count, least_schema, restored_ms = self._one("SELECT * FROM state")
        return ClubState(epoch, seq, floor, aged, StampClock(ms, count), least_schema, restored_ms)

    def put_state(self, state: ClubState) -> None:
        """See ClubStore."""
        clock = state.clock
        self.connection.execute(
            "REPLACE INTO state VALUES (1, ?, ?, ?, ?, ?, ?, ?, ?)",
            (state.epoch, state.seq, state.floor, state.aged, clock.ms, clock.count, state.least_schema,
             state.restored_ms),
        )  # fmt: skip

    def record(self, key: str) -> Record:
        """See ClubStore."""
        row = self._one("SELECT content FROM records WHERE key = ?", key)
        return unpacked(row[0]) if row else NO_RECORD

    def put_record(self, key: str, record: Record, audience: frozenset[str], now_ms: int) -> None:
        """See ClubStore."""
        known = self._one("SELECT deleted_ms FROM records WHERE key = ?", key)
        for table in ("records", "audiences", "named"):
            self.connection.execute(f"DELETE FROM {table} WHERE key = ?", (key,))  # noqa: S608
        if not record:
            return
        since = known[0] if known and known[0] is not None else now_ms
        row = (
            key,
            owner_of(key),
            packed(record),
            record_digest(record),
            since if is_deleted(record) else None,
        )
        self.connection.execute("INSERT INTO records VALUES (?, ?, ?, ?, ?)", row)
        self.connection.executemany("INSERT INTO audiences VALUES (?, ?)", ((who, key) for who in audience))
        names = blobs_named(record)
        self.connection.executemany("INSERT INTO named VALUES (?, ?)", ((name, key) for name in names))

    def audience(self, key: str) -> frozenset[str]:
        """See ClubStore."""
        return frozenset(who for (who,) in self._all("SELECT member FROM audiences WHERE key = ?", key))

    def visible(self, member: str, after: str, limit: int) -> list[str]:
        """See ClubStore."""
        query = f"SELECT DISTINCT key {_SEEN_BY} AND key > ? ORDER BY key LIMIT ?"
        return [key for (key,) in self._all(query, member, EVERYBODY, after, limit)]

    def digests(self, member: str) -> Iterable[tuple[str, str]]:
        """See ClubStore."""
        query = f"SELECT key, digest FROM records WHERE key IN (SELECT key {_SEEN_BY})"  # noqa: S608
        return self._all(query, member, EVERYBODY)

    def keys_of(self, owner: str) -> list[str]:
        """See ClubStore."""
        return [key for (key,) in self._all("SELECT key FROM records WHERE owner = ?", owner)]

    def deleted_before(self, ms: int) -> list[str]:
        """See ClubStore."""
        return [key for (key,) in self._all("SELECT key FROM records WHERE deleted_ms < ?", ms)]

    def seen(self, change: str) -> Seen | None:
        """See ClubStore."""
        row = self._one("SELECT change, verdict, stamp, seq FROM seen WHERE change = ?", change)
        return Seen(*row) if row else None

    def put_seen(self, seen: Seen) -> None:
        """See ClubStore."""
        row = (
            seen.change,
            origin_of(seen.change),
            number_of(seen.change),
            seen.verdict,
            seen.stamp,
            seen.seq,
        )
        self.connection.execute("REPLACE INTO seen VALUES (?, ?, ?, ?, ?, ?)", row)

    def numbers(self, origin: str, up_to: int) -> int:
        """See ClubStore."""
        query = "SELECT count(DISTINCT number) FROM seen WHERE origin = ? AND number <= ? AND verdict = ?"
        return int(self._one(query, origin, up_to, Verdict.ACCEPTED)[0])

    def number_taken(self, origin: str, number: int) -> bool:
        """See ClubStore."""
        return self._one("SELECT 1 FROM seen WHERE origin = ? AND number = ?", origin, number) is not None

    def append(self, line: Line) -> None:
        """See ClubStore."""
        audience = json.dumps(sorted(line.audience))
        row = (line.seq, line.key, line.change, line.author, line.stamp, line.content, audience)
        self.connection.execute("INSERT INTO log VALUES (?, ?, ?, ?, ?, ?, ?)", row)

    def lines(self, after: int, limit: int) -> list[Line]:
        """See ClubStore."""
        rows = self._all("SELECT * FROM log WHERE seq > ? ORDER BY seq LIMIT ?", after, limit)
        return [
            Line(seq, key, change, author, stamp, content, frozenset(json.loads(audience)))
            for seq, key, change, author, stamp, content, audience in rows
        ]

    def cut_log(self, up_to: int) -> None:
        """See ClubStore."""
        self.connection.execute("DELETE FROM log WHERE seq <= ?", (up_to,))

    def forget_changes(self, key: str) -> None:
        """See ClubStore."""
        self.connection.execute("DELETE FROM log WHERE key = ? AND change != ''", (key,))

    def device(self, device_id: str) -> Device | None:
        """See ClubStore."""
        row = self._one("SELECT * FROM devices WHERE id = ?", device_id)
        return Device(*row) if row else None

    def put_device(self, device: Device) -> None:
        """See ClubStore."""
        row = (device.id, device.member, device.seen_ms, device.standing)
        self.connection.execute("REPLACE INTO devices VALUES (?, ?, ?, ?)", row)

    def devices(self) -> list[Device]:
        """See ClubStore."""
        return [Device(*row) for row in self._all("SELECT * FROM devices")]

    def naming(self, name: str) -> list[str]:
        """See ClubStore."""
        return [key for (key,) in self._all("SELECT key FROM named WHERE name = ?", name)]

    def blob_size(self, name: str) -> int | None:
        """See ClubStore."""
        row = self._one("SELECT size FROM blobs WHERE name = ?", name)
        return row[0] if row else None

    def blob_part(self, name: str, at: int, most: int) -> bytes:
        """See ClubStore. No more than what lies in one part; who wants more asks again."""
        query = "SELECT at, data FROM parts WHERE name = ? AND at <= ? ORDER BY at DESC LIMIT 1"
        row = self._one(query, name, at)
        return bytes(row[1][at - row[0] :][:most]) if row else b""

    def arrived(self, name: str) -> int:
        """See ClubStore."""
        return int(self._one("SELECT ifnull(sum(length(data)), 0) FROM parts WHERE name = ?", name)[0])

    def put_part(self, name: str, at: int, data: bytes) -> None:
        """See ClubStore."""
        self.connection.execute("DELETE FROM parts WHERE name = ? AND at >= ?", (name, at))
        self.connection.execute(
            "UPDATE parts SET data = substr(data, 1, ?2 - at) WHERE name = ?1 AND at + length(data) > ?2",
            (name, at),
        )
        self.connection.execute("INSERT INTO parts VALUES (?, ?, ?)", (name, at, data))

    def finish_blob(self, name: str) -> bool:
        """See ClubStore."""
        digest, size = hashlib.sha256(), 0
        parts = self.connection.execute("SELECT data FROM parts WHERE name = ? ORDER BY at", (name,))
        for (data,) in parts:
            digest.update(data)
            size += len(data)
        if digest.hexdigest() != name:
            self.connection.execute("DELETE FROM parts WHERE name = ?", (name,))
            return False
        self.connection.execute("REPLACE INTO blobs VALUES (?, ?)", (name, size))
        return True

    def drop_blobs_without_record(self) -> None:
        """See ClubStore."""
        for table in ("blobs", "parts"):
            self.connection.execute(f"DELETE FROM {table} WHERE name NOT IN (SELECT name FROM named)")  # noqa: S608
