"""A club's store that is two: every call goes to dictionaries and to a database, and must say the same."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import contextmanager
from typing import Any

from server.club_store import Line
from server.memory_club import MemoryClub, Tables
from server.sql_club import SqlClub
from tests.sync.world import CrashingClub

IN_ANY_ORDER = {"digests", "keys_of", "deleted_before", "naming", "devices"}
CALLS = (
    "state", "put_state", "record", "put_record", "audience", "visible", "digests", "keys_of",
    "deleted_before", "seen", "put_seen", "numbers", "number_taken", "append", "lines", "cut_log",
    "forget_changes", "device", "put_device", "devices", "naming", "blob_size", "arrived", "put_part",
    "finish_blob", "drop_blobs_without_record",
)  # fmt: skip


class MirroredClub(CrashingClub):
    """`found` founds a club in the database, which keeps those of other worlds as well."""

    def __init__(self, power: Any, tables: Tables | None = None, *, found: Callable[[], SqlClub]) -> None:
        super().__init__(power, tables)
        self.sql = found()
        if tables:
            with self.sql.change():
                fill(self.sql, tables)

    @contextmanager
    def transaction(self):
        with self.sql.change(), super().transaction():
            yield

    def blob_part(self, name: str, at: int, most: int) -> bytes:
        """The database gives what lies in one part; the two must begin alike and go on alike."""
        one, other = super().blob_part(name, at, most), self.sql.blob_part(name, at, most)
        assert one.startswith(other)
        assert bool(one) == bool(other)
        return other


def _both(call: str) -> Any:
    def called(self: MirroredClub, *values: Any) -> Any:
        one, other = getattr(MemoryClub, call)(self, *values), getattr(self.sql, call)(*values)
        same = sorted(one, key=repr) == sorted(other, key=repr) if call in IN_ANY_ORDER else one == other
        assert same, (call, values, one, other)
        return one

    return called


for _call in CALLS:
    setattr(MirroredClub, _call, _both(_call))


def fill(club: SqlClub, tables: Tables) -> None:
    """Put into a club's file what its dictionaries hold."""
    club.put_state(tables.state)
    for key, record in tables.records.items():
        club.put_record(key, record, tables.audiences[key], tables.deleted.get(key, 0))
    for seen in tables.seen.values():
        club.put_seen(seen)
    for line in tables.log.values():
        club.append(Line(**{name: getattr(line, name) for name in Line.__slots__}))
    for device in tables.devices.values():
        club.put_device(device)
    for name, data in (tables.blobs | tables.parts).items():
        club.put_part(name, 0, data)
        if name in tables.blobs:
            club.finish_blob(name)
