"""A device's store in dictionaries, which may lose its power at the end of any transaction."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, replace

from logbook_app.sync.changes import blobs_named
from logbook_app.sync.device_store import DeviceState, OwnChange, Standing
from logbook_app.sync.hash_tree import record_digest
from logbook_app.sync.merging import NO_RECORD, Record, is_deleted


class PowerCut(Exception):
    """The device or the club stopped; nobody was told what was kept."""


@dataclass(slots=True)
class Tables:
    state: DeviceState
    own: dict[str, OwnChange] = field(default_factory=dict)
    decided: dict[str, Record] = field(default_factory=dict)
    digests: dict[str, str] = field(default_factory=dict)
    staged: dict[str, Record] = field(default_factory=dict)
    carried: dict[str, Record] = field(default_factory=dict)
    blobs: dict[str, bytes] = field(default_factory=dict)
    parts: dict[str, bytes] = field(default_factory=dict)
    at_club: dict[str, bool] = field(default_factory=dict)

    def copied(self) -> Tables:
        rest = (dict(getattr(self, name)) for name in Tables.__slots__[1:])
        return Tables(self.state, *rest)


class MemoryDevice:
    """See `logbook_app.sync.device_store.DeviceStore`.

    power   says at the end of a transaction whether the power goes "before" or "after" it is kept
    """

    def __init__(self, tables: Tables, power: Callable[[], str] = lambda: "") -> None:
        self.tables, self._power = tables, power

    @contextmanager
    def change(self) -> Iterator[None]:
        before = self.tables.copied()
        try:
            yield
            cut = self._power()
            if cut == "before":
                raise PowerCut
        except BaseException:
            self.tables = before
            raise
        if cut == "after":
            raise PowerCut

    def state(self) -> DeviceState:
        return self.tables.state

    def put_state(self, state: DeviceState) -> None:
        self.tables.state = state

    def own(self, change_id: str) -> OwnChange | None:
        return self.tables.own.get(change_id)

    def put_own(self, own: OwnChange) -> None:
        known = self.tables.own.get(own.change.id)
        place = known.place if known else len(self.tables.own) + 1
        self.tables.own[own.change.id] = own if own.place == place else replace(own, place=place)

    def own_of(self, owner: str, record: str) -> list[OwnChange]:
        name = (owner, record)
        return [own for own in self.tables.own.values() if (own.change.owner, own.change.record) == name]

    def own_standing(self, standing: str, after: int, limit: int) -> list[OwnChange]:
        found = [
            each for each in self.tables.own.values() if each.standing == standing and each.place > after
        ]
        return sorted(found, key=lambda own: own.place)[:limit]

    def accepted(self, origin: str) -> int:
        return sum(
            own.change.origin == origin and own.standing == Standing.ACCEPTED
            for own in self.tables.own.values()
        )

    def decided(self, key: str) -> Record:
        return self.tables.decided.get(key, NO_RECORD)

    def put_decided(self, key: str, record: Record) -> None:
        if record:
            self.tables.decided[key], self.tables.digests[key] = record, record_digest(record)
        else:
            self.tables.decided.pop(key, None), self.tables.digests.pop(key, None)

    def decided_keys(self) -> list[str]:
        return list(self.tables.decided)

    def digests(self) -> Iterable[tuple[str, str]]:
        return self.tables.digests.items()

    def stage(self, records: Mapping[str, Record]) -> None:
        self.tables.staged.update(records)

    def staged(self, key: str) -> Record:
        return self.tables.staged.get(key, NO_RECORD)

    def drop_staged(self) -> None:
        self.tables.staged = {}

    def swap_staged(self) -> None:
        self.tables.decided, self.tables.staged = self.tables.staged, {}
        self.tables.digests = {key: record_digest(record) for key, record in self.tables.decided.items()}

    def carried(self) -> Mapping[str, Record]:
        return self.tables.carried

    def put_carried(self, record_name: str, record: Record) -> None:
        self.tables.carried = {**self.tables.carried, record_name: record}
        if not record:
            del self.tables.carried[record_name]

    def keep_blob(self, name: str, data: bytes) -> None:
        """Have a blob that was made here."""
        self.tables.blobs[name] = data

    def blobs_to_offer(self) -> list[str]:
        return sorted(name for name in self.tables.blobs if not self.tables.at_club.get(name))

    def blobs_to_get(self) -> list[str]:
        named = {
            name
            for record in self.tables.decided.values()
            if not is_deleted(record)
            for name in blobs_named(record)
        }
        return sorted(named - self.tables.blobs.keys())

    def put_at_club(self, names: Iterable[str], there: bool) -> None:
        for name in list(names) or list(self.tables.at_club):
            self.tables.at_club[name] = there

    def blob_size(self, name: str) -> int | None:
        return len(self.tables.blobs[name]) if name in self.tables.blobs else None

    def blob_part(self, name: str, at: int, most: int) -> bytes:
        return self.tables.blobs[name][at : at + most]

    def arrived(self, name: str) -> int:
        return len(self.tables.parts.get(name, b""))

    def put_part(self, name: str, at: int, data: bytes) -> None:
        self.tables.parts[name] = self.tables.parts.get(name, b"")[:at] + data

    def finish_blob(self, name: str) -> bool:
        data = self.tables.parts.pop(name, b"")
        if hashlib.sha256(data).hexdigest() != name:
            return False
        self.tables.blobs[name] = data
        return True
