"""A club's store in plain SQL, beside other clubs. See `club_store.ClubStore` for every method.

Records are kept whole, packed, beside what is searched in them: who may see them, since when they are
deleted, which blobs they name. Blobs lie in the database as well, in the parts in which they came: the
samples of a dive are some ten kilobytes, and one file is one backup.

Nothing is remembered between two transactions, so that any number of processes may serve a club. Who
changes something holds the club's row until the transaction ends; what is read within is read once.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import astuple, replace
from typing import Any, Final

from logbook_app.dive.problems import LeadlineError
from logbook_app.sync.changes import EVERYBODY, blobs_named, number_of, origin_of, owner_of
from logbook_app.sync.hash_tree import record_digest
from logbook_app.sync.merging import NO_RECORD, Record, is_deleted
from logbook_app.sync.messages import Verdict
from logbook_app.sync.packing import packed, unpacked
from logbook_app.sync.stamps import StampClock
from server.club_store import ClubState, Device, Line, Seen
from server.database import Database, Row
from server.tables import new_number, prepare

_STATE: Final = "epoch, seq, floor, aged, clock_ms, clock_count, least_schema, restored_ms"
_LINE: Final = "seq, key, change, author, stamp, content, audience"


def club_numbers(database: Database) -> list[int]:
    """Return the clubs of a database."""
    return [number for (number,) in database.all("SELECT club FROM clubs ORDER BY club")]


def open_club(database: Database, number: int | None = None) -> SqlClub:
    """Return a club of a database; where that is empty, its tables are made and a club founded.

    number   of the club, not needed where there is only one

    Raises LeadlineError where it is not there, or there are several and none was named.
    """
    prepare(database)
    with database.alone():
        numbers = club_numbers(database) or [_founded(database)]
    if number is None and len(numbers) > 1:
        raise LeadlineError(f"This database keeps {len(numbers)} clubs; say which one with --club.")
    if number not in (None, *numbers):
        raise LeadlineError(f"This database keeps no club {number}; the command clubs lists them.")
    return SqlClub(database, numbers[0] if number is None else number)


def found_club(database: Database, host: str = "", name: str = "") -> SqlClub:
    """Return a new club, beside those that are there.

    host   at which it answers, where one server answers for several clubs

    Raises LeadlineError where another club answers there.
    """
    prepare(database)
    with database.alone():
        if host and host.casefold() in _hosts(database):
            raise LeadlineError(f"Another club answers at {host}; choose another host.")
        return SqlClub(database, _founded(database, host, name))


def hosts(database: Database) -> dict[str, tuple[int, str]]:
    """Return number and name of every club of a database by the host at which it answers.

    A club without a host answers at its number, which a web server in front may put there.
    """
    prepare(database)
    return _hosts(database)


def _hosts(database: Database) -> dict[str, tuple[int, str]]:
    rows = database.all("SELECT host, club, name FROM clubs")
    return {host or str(number): (number, name) for host, number, name in rows}


def named(database: Database, number: int) -> tuple[str, str]:
    """Return the host and the name of a club."""
    row = database.one("SELECT host, name FROM clubs WHERE club = ?", number)
    return (row[0], row[1]) if row else ("", "")


def _founded(database: Database, host: str = "", name: str = "") -> int:
    number = new_number()
    query = f"INSERT INTO clubs (club, host, name, {_STATE}) VALUES (?, ?, ?, 1, 0, 0, 0, 0, 0, 1, 0)"
    database.run(query, number, host.casefold(), name)
    return number


class SqlClub:
    """One club of a database whose tables are there.

    number   of the club, which leads every key
    """

    def __init__(self, database: Database, number: int) -> None:
        self.database, self.number = database, number
        # Within a transaction that changes something:
        self._state: ClubState | None = None
        self._rows: dict[str, tuple[int | None, Record]] = {}
        self._others: dict[str, frozenset[str]] = {}
        self._verdicts: dict[tuple[str, int], dict[str, Seen]] = {}

    def close(self) -> None:
        """Close the database."""
        self.database.close()

    @contextmanager
    def change(self) -> Iterator[None]:
        """See ClubStore."""
        with self.database.change():
            self._state = held = self._read_state(self.database.lock)
            try:
                yield
                if self._state is not held:
                    self._write_state(self._state)
            finally:
                self._state = None
                self._rows.clear()
                self._others.clear()
                self._verdicts.clear()

    def _all(self, query: str, *values: Any) -> list[Row]:
        return self.database.all(query, self.number, *values)

    def _one(self, query: str, *values: Any) -> Row | None:
        return self.database.one(query, self.number, *values)

    def _run(self, query: str, *values: Any) -> None:
        self.database.run(query, self.number, *values)

    def state(self) -> ClubState:
        """See ClubStore."""
        return self._state or self._read_state()

    def put_state(self, state: ClubState) -> None:
        """See ClubStore. It is written when the transaction ends, where it is the same as well."""
        if self._state is None:
            raise RuntimeError("A club's state is changed within a transaction.")
        self._state = replace(state)

    def _read_state(self, lock: str = "") -> ClubState:
        row = self._one(f"SELECT {_STATE} FROM clubs WHERE club = ?{lock}")
        if row is None:
            raise LeadlineError(f"This database keeps no club {self.number}.")
        epoch, seq, floor, aged, ms, count, least_schema, restored_ms = row
        return ClubState(epoch, seq, floor, aged, StampClock(ms, count), least_schema, restored_ms)

    def _write_state(self, state: ClubState) -> None:
        self.database.run(
            "UPDATE clubs SET epoch = ?, seq = ?, floor = ?, aged = ?, clock_ms = ?, clock_count = ?,"
            " least_schema = ?, restored_ms = ? WHERE club = ?",
            state.epoch, state.seq, state.floor, state.aged, state.clock.ms, state.clock.count,
            state.least_schema, state.restored_ms, self.number,
        )  # fmt: skip

    def record(self, key: str) -> Record:
        """See ClubStore."""
        return self._row(key)[1]

    def _row(self, key: str) -> tuple[int | None, Record]:
        if key in self._rows:
            return self._rows[key]
        row = self._one("SELECT deleted_ms, content FROM records WHERE club = ? AND key = ?", key)
        known = (row[0], unpacked(row[1])) if row else (None, NO_RECORD)
        if self._state:
            self._rows[key] = known
        return known

    def put_record(self, key: str, record: Record, audience: frozenset[str], now_ms: int) -> None:
        """See ClubStore."""
        since, known = self._row(key)
        deleted_ms = (since if since is not None else now_ms) if is_deleted(record) else None
        self._put_names(key, blobs_named(known), blobs_named(record))
        self._put_audience(key, audience if record else frozenset())
        self._rows.pop(key, None)
        if not record:
            self._run("DELETE FROM records WHERE club = ? AND key = ?", key)
            return
        self._run(
            "INSERT INTO records (club, key, deleted_ms, digest, content) VALUES (?, ?, ?, ?, ?)"
            " ON CONFLICT (club, key) DO UPDATE SET deleted_ms = excluded.deleted_ms,"
            " digest = excluded.digest, content = excluded.content",
            key, deleted_ms, record_digest(record), packed(record),
        )  # fmt: skip
        if self._state:
            self._rows[key] = (deleted_ms, record)

    def _put_names(self, key: str, before: frozenset[str], names: frozenset[str]) -> None:
        for name in before - names:
            self._run("DELETE FROM named WHERE club = ? AND name = ? AND key = ?", name, key)
        for name in names - before:
            self._run("INSERT INTO named (club, name, key) VALUES (?, ?, ?)", name, key)

    def _put_audience(self, key: str, audience: frozenset[str]) -> None:
        """Keep who may see a record beside its owner, whom the key names."""
        before = self._others_of(key) if self._row(key)[1] else frozenset()  # a new record has none
        others = audience - {owner_of(key)}
        for member in before - others:
            self._run("DELETE FROM audiences WHERE club = ? AND member = ? AND key = ?", member, key)
        for member in others - before:
            self._run("INSERT INTO audiences (club, member, key) VALUES (?, ?, ?)", member, key)
        self._others.pop(key, None)
        if self._state:
            self._others[key] = others

    def _others_of(self, key: str) -> frozenset[str]:
        if key in self._others:
            return self._others[key]
        rows = self._all("SELECT member FROM audiences WHERE club = ? AND key = ?", key)
        others = frozenset(member for (member,) in rows)
        if self._state:
            self._others[key] = others
        return others

    def others(self, key: str) -> frozenset[str]:
        """Return who may see a record beside its owner, without reading it."""
        return self._others_of(key)

    def audience(self, key: str) -> frozenset[str]:
        """See ClubStore."""
        return self._others_of(key) | {owner_of(key)} if self.record(key) else frozenset()

    def visible(self, member: str, after: str, limit: int) -> list[str]:
        """See ClubStore. Each of the three ways to see a record gives no more than is asked for."""
        first, end = _keys_of(member)
        shown = (
            "SELECT key FROM (SELECT key FROM audiences WHERE club = ? AND member = ? AND key > ?"
            " ORDER BY key LIMIT ?) AS shown"
        )
        query = (
            "SELECT key FROM (SELECT key FROM records WHERE club = ? AND key > ? AND key < ?"
            f" ORDER BY key LIMIT ?) AS own UNION {shown} UNION {shown} ORDER BY key LIMIT ?"
        )
        club = self.number
        rows = self._all(query, max(first, after), end, limit, club, member, after, limit,
                         club, EVERYBODY, after, limit, limit)  # fmt: skip
        return [key for (key,) in rows]

    def digests(self, member: str) -> Iterable[tuple[str, str]]:
        """See ClubStore."""
        query = (
            "SELECT key, digest FROM records WHERE club = ? AND key > ? AND key < ? UNION"
            " SELECT records.key, records.digest FROM audiences JOIN records"
            " ON records.club = audiences.club AND records.key = audiences.key"
            " WHERE audiences.club = ? AND audiences.member IN (?, ?)"
        )
        rows = self._all(query, *_keys_of(member), self.number, member, EVERYBODY)
        return [(key, digest) for key, digest in rows]

    def keys_of(self, owner: str) -> list[str]:
        """See ClubStore."""
        rows = self._all("SELECT key FROM records WHERE club = ? AND key > ? AND key < ?", *_keys_of(owner))
        return [key for (key,) in rows]

    def deleted_before(self, ms: int) -> list[str]:
        """See ClubStore."""
        rows = self._all("SELECT key FROM records WHERE club = ? AND deleted_ms < ?", ms)
        return [key for (key,) in rows]

    def seen(self, change: str) -> Seen | None:
        """See ClubStore."""
        return self._verdicts_on(origin_of(change), number_of(change)).get(change)

    def _verdicts_on(self, origin: str, number: int) -> dict[str, Seen]:
        """Return the verdicts on changes of this number: one change, or those of twins."""
        if (origin, number) in self._verdicts:
            return self._verdicts[origin, number]
        query = "SELECT digest, verdict, stamp, seq FROM seen WHERE club = ? AND origin = ? AND number = ?"
        rows = self._all(query, origin, number)
        seen = [Seen(f"{origin}.{number}.{digest}", *rest) for digest, *rest in rows]
        verdicts = {each.change: each for each in seen}
        if self._state:
            self._verdicts[origin, number] = verdicts
        return verdicts

    def put_seen(self, seen: Seen) -> None:
        """See ClubStore."""
        self._run(
            "INSERT INTO seen (club, origin, number, digest, verdict, stamp, seq)"
            " VALUES (?, ?, ?, ?, ?, ?, ?)"
            " ON CONFLICT (club, origin, number, digest) DO UPDATE SET verdict = excluded.verdict,"
            " stamp = excluded.stamp, seq = excluded.seq",
            *_parts_of(seen.change), seen.verdict, seen.stamp, seen.seq,
        )  # fmt: skip
        self._verdicts.pop(_parts_of(seen.change)[:2], None)

    def numbers(self, origin: str, up_to: int) -> int:
        """See ClubStore."""
        query = (
            "SELECT count(DISTINCT number) FROM seen"
            " WHERE club = ? AND origin = ? AND number <= ? AND verdict = ?"
        )
        row = self._one(query, origin, up_to, Verdict.ACCEPTED)
        return int(row[0]) if row else 0

    def number_taken(self, origin: str, number: int) -> bool:
        """See ClubStore."""
        return bool(self._verdicts_on(origin, number))

    def append(self, line: Line) -> None:
        """See ClubStore."""
        audience = json.dumps(sorted(line.audience))
        self._run(
            f"INSERT INTO log (club, {_LINE}) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            line.seq, line.key, line.change, line.author, line.stamp, line.content, audience,
        )  # fmt: skip

    def lines(self, after: int, limit: int) -> list[Line]:
        """See ClubStore."""
        rows = self._all(
            f"SELECT {_LINE} FROM log WHERE club = ? AND seq > ? ORDER BY seq LIMIT ?", after, limit
        )
        return [
            Line(seq, key, change, author, stamp, content, frozenset(json.loads(audience)))
            for seq, key, change, author, stamp, content, audience in rows
        ]

    def cut_log(self, up_to: int) -> None:
        """See ClubStore."""
        self._run("DELETE FROM log WHERE club = ? AND seq <= ?", up_to)

    def forget_changes(self, key: str) -> None:
        """See ClubStore."""
        self._run("DELETE FROM log WHERE club = ? AND key = ? AND change <> ''", key)

    def device(self, device_id: str) -> Device | None:
        """See ClubStore."""
        query = "SELECT id, member, seen_ms, standing FROM devices WHERE club = ? AND id = ?"
        row = self._one(query, device_id)
        return Device(*row) if row else None

    def put_device(self, device: Device) -> None:
        """See ClubStore."""
        self._run(
            "INSERT INTO devices (club, id, member, seen_ms, standing) VALUES (?, ?, ?, ?, ?)"
            " ON CONFLICT (club, id) DO UPDATE SET member = excluded.member, seen_ms = excluded.seen_ms,"
            " standing = excluded.standing",
            *astuple(device),
        )

    def devices(self) -> list[Device]:
        """See ClubStore."""
        rows = self._all("SELECT id, member, seen_ms, standing FROM devices WHERE club = ?")
        return [Device(*row) for row in rows]

    def naming(self, name: str) -> list[str]:
        """See ClubStore."""
        return [key for (key,) in self._all("SELECT key FROM named WHERE club = ? AND name = ?", name)]

    def blob_size(self, name: str) -> int | None:
        """See ClubStore."""
        row = self._one("SELECT size FROM blobs WHERE club = ? AND name = ?", name)
        return row[0] if row else None

    def blob_part(self, name: str, at: int, most: int) -> bytes:
        """See ClubStore. No more than what lies in one part; who wants more asks again."""
        query = "SELECT at, data FROM parts WHERE club = ? AND name = ? AND at <= ? ORDER BY at DESC LIMIT 1"
        row = self._one(query, name, at)
        return bytes(row[1][at - row[0] :][:most]) if row else b""

    def arrived(self, name: str) -> int:
        """See ClubStore."""
        row = self._one("SELECT sum(length(data)) FROM parts WHERE club = ? AND name = ?", name)
        return int(row[0]) if row and row[0] is not None else 0

    def put_part(self, name: str, at: int, data: bytes) -> None:
        """See ClubStore."""
        self._run("DELETE FROM parts WHERE club = ? AND name = ? AND at >= ?", name, at)
        self.database.run(
            "UPDATE parts SET data = substr(data, 1, CAST(? - at AS INTEGER))"
            " WHERE club = ? AND name = ? AND at + length(data) > ?",
            at, self.number, name, at,
        )  # fmt: skip
        self._run("INSERT INTO parts (club, name, at, data) VALUES (?, ?, ?, ?)", name, at, data)

    def finish_blob(self, name: str) -> bool:
        """See ClubStore."""
        digest, size = hashlib.sha256(), 0
        query = "SELECT data FROM parts WHERE club = ? AND name = ? ORDER BY at"
        for (data,) in self.database.each(query, self.number, name):
            digest.update(data)
            size += len(data)
        if digest.hexdigest() != name:
            self._run("DELETE FROM parts WHERE club = ? AND name = ?", name)
            return False
        self._run(
            "INSERT INTO blobs (club, name, size) VALUES (?, ?, ?)"
            " ON CONFLICT (club, name) DO UPDATE SET size = excluded.size",
            name, size,
        )  # fmt: skip
        return True

    def drop_blobs_without_record(self) -> None:
        """See ClubStore."""
        for table in ("blobs", "parts"):
            self._run(
                f"DELETE FROM {table} WHERE club = ? AND NOT EXISTS (SELECT 1 FROM named"
                f" WHERE named.club = {table}.club AND named.name = {table}.name)"
            )


def _keys_of(owner: str) -> tuple[str, str]:
    """Return what the keys of an owner's records lie between: "0" follows the "/" of every key."""
    return f"{owner}/", f"{owner}0"


def _parts_of(change: str) -> tuple[str, int, str]:
    return origin_of(change), number_of(change), change.rpartition(".")[2]
