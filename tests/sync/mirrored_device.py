"""A device's store that is two: dictionaries and a logbook file, which must say the same at every call."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from logbook_app.store.logbook_store import LogbookStore
from tests.sync.memory_device import MemoryDevice, PowerCut, Tables

IN_ANY_ORDER = {"decided_keys", "digests", "own_of"}
CALLS = (
    "state", "put_state", "own", "put_own", "own_of", "own_standing", "accepted", "decided",
    "put_decided", "decided_keys", "digests", "stage", "staged", "drop_staged", "swap_staged",
    "put_carried", "blobs_to_offer", "blobs_to_get", "put_at_club", "blob_size", "blob_part", "arrived",
    "put_part", "finish_blob",
)  # fmt: skip


class MirroredDevice(MemoryDevice):
    """See MemoryDevice.

    path   of a logbook file; `tables` may be given anew, as a device is put back from a backup
    """

    def __init__(self, path: Path, tables: Tables, power: Callable[[], str]) -> None:
        self.logbook = LogbookStore(path)
        self.logbook._connection.execute("PRAGMA synchronous = OFF")  # nobody cuts the power of a test
        self.logbook.begin_sharing()
        self.file = self.logbook.sync
        self._reversing = False
        super().__init__(tables, power)

    @property
    def tables(self) -> Tables:
        return self._tables

    @tables.setter
    def tables(self, tables: Tables) -> None:
        """Take other tables; within a change that is undone the file undoes its own."""
        self._tables = tables
        if not self._reversing:
            with self.file._transaction():
                self._fill(tables)

    @contextmanager
    def change(self):
        """Let both be undone where one is; a cut after the change is on the disk undoes neither."""
        power, cut = self._power, ""
        with self.file.change():
            self._reversing = True
            try:
                self._power = lambda: ""
                before = self._tables.copied()
                try:
                    yield
                    cut = power()
                    if cut == "before":
                        raise PowerCut
                except BaseException:
                    self._tables = before
                    raise
            finally:
                self._power, self._reversing = power, False
        if cut == "after":
            raise PowerCut

    def keep_blob(self, name: str, data: bytes) -> None:
        super().keep_blob(name, data)
        with self.file._transaction():
            self.file.put_part(name, 0, data)
            self.file.finish_blob(name)

    def carried(self) -> Any:
        one, other = super().carried(), self.file.carried()
        assert dict(one) == dict(other)
        return one

    def _fill(self, tables: Tables) -> None:
        for table in (
            "sync_changes", "sync_records", "sync_staged", "sync_carried", "sync_named", "sync_blobs",
            "sync_conflicts",
        ):  # fmt: skip
            self.logbook._connection.execute(f"DELETE FROM {table}")  # noqa: S608
        self.file.put_state(tables.state)
        for own in sorted(tables.own.values(), key=lambda each: each.place):
            self.file.put_own(own)
        for key, record in tables.decided.items():
            self.file.put_decided(key, record)
        self.file.stage(tables.staged)
        for name, record in tables.carried.items():
            self.file.put_carried(name, record)
        for name, data in (tables.parts | tables.blobs).items():
            self.file.put_part(name, 0, data)
            if name in tables.blobs:
                self.file.finish_blob(name)
        for name, there in tables.at_club.items():
            self.file.put_at_club([name], there)


def _both(call: str) -> Any:
    def called(self: MirroredDevice, *values: Any, **named: Any) -> Any:
        one = getattr(MemoryDevice, call)(self, *values, **named)
        other = getattr(self.file, call)(*values, **named)
        same = sorted(one, key=repr) == sorted(other, key=repr) if call in IN_ANY_ORDER else one == other
        assert same, (call, values, one, other)
        return one

    return called


for _call in CALLS:
    setattr(MirroredDevice, _call, _both(_call))
