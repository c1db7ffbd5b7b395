"""The sync's records and the logbook's tables as one: what comes in is merged, and shown, or neither.

Every change of the sync is one transaction of the logbook file. Within it each record that changes is
looked at as the diver saw it before and sees it afterwards; where that differs, dives, kit and settings
are written as they are from then on, through the ways by which every save goes, and the history tells
on which device it was done. Of two sides of a conflict the one that does not show stands in the history
as well, as written and replaced.

A record that this program cannot read changes nothing that is there; it is kept and goes on.
Samples that have not come yet are left out of their dive until they do.

What other members show stays among the records of the sync, its samples too: it is in no table of dives,
in no sum and in no export, and goes without a trace when it is withdrawn.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, contextmanager
from dataclasses import replace
from datetime import datetime
from typing import Any, Final, TypeVar

from logbook_app.dive.history import PRESENT, SYNC, changed_fields
from logbook_app.dive.kit import CareRecord, KitItem, KitSet
from logbook_app.dive.problems import RefusedRecord
from logbook_app.dive.profile import MAGIC, profile_from_bytes
from logbook_app.dive.record import Dive
from logbook_app.language import _
from logbook_app.store.device_tables import DeviceTables
from logbook_app.store.dive_rows import instant_from_text, instant_to_text
from logbook_app.store.history_rows import Told, write_history
from logbook_app.store.kit_shelf import show_kit
from logbook_app.store.own_records import SETTINGS
from logbook_app.store.refused_records import DiveTables, RefusedRecords
from logbook_app.store.shown_records import ShownRecords
from logbook_app.sync.changes import kind_of, name_of, origin_of, owner_of
from logbook_app.sync.device_store import OwnChange, Standing
from logbook_app.sync.merging import (
    DELETED,
    NO_RECORD,
    Conflict,
    Record,
    conflicts_of,
    heads_of,
    is_deleted,
    values_of,
)
from logbook_app.sync.own_changes import seen_record, write
from logbook_app.sync.records import read_as, record_name, settings_from_values
from logbook_app.sync.shown_dives import SHOWN

Kind = TypeVar("Kind")
_TRIES_KEPT: Final = 100
_KIT: Final[Mapping[str, Any]] = {"kit": KitItem, "set": KitSet, "care": CareRecord}


class SyncShelf(DeviceTables):
    """The sync of one logbook file; see `sync.device_store.DeviceStore`.

    dives        the tables of dives
    now          the device's clock
    unreadable   keys of records that came and that this program cannot show
    shown        ids of dives that were written since this object was made
    """

    def __init__(
        self,
        connection: sqlite3.Connection,
        transaction: Callable[[], AbstractContextManager[None]],
        dives: DiveTables,
        now: Callable[[], datetime],
    ) -> None:
        super().__init__(connection, transaction)
        self._dives, self._now = dives, now
        self._before: dict[str, Record] = {}
        self._arrived: set[str] = set()
        self._others_moved = False
        self.unreadable: set[str] = set()
        self.shown: set[str] = set()

    @contextmanager
    def change(self) -> Iterator[None]:
        """Begin a transaction at whose end the logbook shows what the records say."""
        with self._transaction():
            self._before, self._arrived, self._others_moved = {}, set(), False
            yield
            self._show()

    # Conflicts

    def conflicts(self) -> list[tuple[str, Conflict]]:
        """Return each field of the diver's records that has two sides, with the key of the record."""
        names = self._all("SELECT key FROM sync_conflicts ORDER BY key")
        keys = [f"{self.state().member}/{name}" for (name,) in names]
        return [(key, conflict) for key in keys for conflict in conflicts_of(seen_record(self, key))]

    def choose(self, key: str, name: str, change_id: str) -> None:
        """Let one side of a conflict stand alone.

        change_id   of the side that is chosen

        Raises RefusedRecord where the field has no such side any more.
        """
        with self.change():
            field = seen_record(self, key).get(name)
            chosen = [edit.value for edit in field.heads if edit.change == change_id] if field else []
            if not chosen:
                raise RefusedRecord(_("This was settled meanwhile, perhaps on another device; look again."))
            now_ms = int(self._now().timestamp() * 1000)
            write(self, key, {name: chosen[0]}, now_ms, chooses=True)

    # What waits, and what was refused

    def waiting(self) -> set[str]:
        """Return the names of the records with changes that the club has not got yet."""
        query = "SELECT DISTINCT record FROM sync_changes WHERE standing = ?"
        return {name for (name,) in self._all(query, Standing.WAITING)}

    @property
    def refused_records(self) -> RefusedRecords:
        """What the club refused of the diver's changes."""
        return RefusedRecords(self, self._connection, self._dives, self._now)

    # What others see

    def show_dives(
        self, dives: Iterable[Dive], diver: str, parts: Mapping[str, Sequence[str] | None]
    ) -> None:
        """Let others see these parts of dives, or nothing of them.

        parts   by the id of the dive; None for one that is withdrawn
        """
        with self.change():
            shown = self._shown()
            for dive in dives:
                chosen = parts[dive.id]
                if chosen is None:
                    shown.withdraw(dive.id)
                else:
                    shown.show(dive, diver, chosen)

    def follow_dives(self, dives: Iterable[Dive]) -> None:
        """Let what others see of dives say what the dives say now."""
        with self.change():
            shown = self._shown()
            for dive in dives:
                shown.follow(dive)

    @property
    def shown_records(self) -> ShownRecords:
        """What others see and what they show, to look at."""
        return self._shown()

    def _shown(self) -> ShownRecords:
        return ShownRecords(self._connection, self, int(self._now().timestamp() * 1000))

    # What was tried

    def note_tried(self, at: datetime, told: Mapping[str, Any]) -> None:
        """Keep what a sync came to, and forget the oldest of many."""
        with self._transaction():
            row = [instant_to_text(at), json.dumps(told)]
            self._connection.execute("INSERT INTO sync_log (at, told) VALUES (?, ?)", row)
            self._connection.execute(
                "DELETE FROM sync_log WHERE id <= (SELECT max(id) FROM sync_log) - ?", [_TRIES_KEPT]
            )

    def tries(self, count: int) -> list[tuple[datetime, dict[str, Any]]]:
        """Return the last syncs that were tried, the latest first."""
        rows = self._all("SELECT at, told FROM sync_log ORDER BY id DESC LIMIT ?", count)
        return [(instant_from_text(at), json.loads(told)) for at, told in rows]

    # Pictures that came

    def unkept_blobs(self) -> list[str]:
        """Return the names of whole bytes that are no samples and that no picture has taken over."""
        query = "SELECT sha256 FROM sync_blobs WHERE whole = 1 AND substr(part, 1, 4) <> ? ORDER BY 1"
        return [name for (name,) in self._all(query, MAGIC)]

    def keep_picture(self, name: str, data: bytes, thumbnail: bytes) -> None:
        """Keep a picture that came, within a change."""
        self._connection.execute("INSERT OR IGNORE INTO pictures VALUES (?, ?, ?)", [name, data, thumbnail])
        self._taken_over(name)

    # What changes a record

    def put_own(self, own: OwnChange) -> None:
        """See DeviceStore."""
        self._touch(own.change.key(self.state().member))
        super().put_own(own)

    def put_decided(self, key: str, record: Record) -> None:
        """See DeviceStore."""
        self._touch(key)
        named = self._named_by(key) if kind_of(key) == SHOWN else set()
        super().put_decided(key, record)
        self._forget_bytes(named)

    def put_carried(self, record_name: str, record: Record) -> None:
        """See DeviceStore."""
        self._touch(f"{self.state().member}/{record_name}")
        super().put_carried(record_name, record)

    def swap_staged(self) -> None:
        """See DeviceStore."""
        for (key,) in self._all("SELECT key FROM sync_records UNION SELECT key FROM sync_staged"):
            self._touch(key)
        named = {name for (name,) in self._all("SELECT sha256 FROM sync_named WHERE key LIKE '%/shown:%'")}
        super().swap_staged()
        self._forget_bytes(named)

    def _named_by(self, key: str) -> set[str]:
        return {name for (name,) in self._all("SELECT sha256 FROM sync_named WHERE key = ?", key)}

    def _forget_bytes(self, names: Iterable[str]) -> None:
        """Forget samples that only a record named which is not shown any more."""
        for name in names:
            if self._one("SELECT 1 FROM sync_named WHERE sha256 = ?", name) is None and not self._waits(name):
                self._connection.execute(
                    "UPDATE sync_blobs SET part = NULL, whole = 0 WHERE sha256 = ?", [name]
                )

    def _waits(self, name: str) -> bool:
        query = "SELECT 1 FROM sync_changes WHERE standing = ? AND instr(content, ?)"
        return self._one(query, Standing.WAITING, name) is not None

    def finish_blob(self, name: str) -> bool:
        """Keep whole bytes: samples with the samples, and their dives then have them."""
        true = super().finish_blob(name)
        keys = [key for (key,) in self._all("SELECT key FROM sync_named WHERE sha256 = ?", name)]
        only_shown = bool(keys) and all(kind_of(key) == SHOWN for key in keys)
        if true and (only_shown or self._keep_samples(name)):
            for key in keys:
                self._touch(key)
                self._arrived.add(key)
        return true

    def _keep_samples(self, name: str) -> bool:
        data = self.blob_part(name, 0, self.blob_size(name) or 0)
        try:
            profile_from_bytes(data)
        except RefusedRecord:
            return False  # a picture, or nothing that can be shown
        self._connection.execute("INSERT OR IGNORE INTO profiles VALUES (?, ?)", [name, data])
        self._taken_over(name)
        return True

    def _taken_over(self, name: str) -> None:
        self._connection.execute("UPDATE sync_blobs SET part = NULL, whole = 0 WHERE sha256 = ?", [name])

    def _touch(self, key: str) -> None:
        if owner_of(key) != self.state().member:
            self._others_moved = True
        elif key not in self._before:
            self._before[key] = seen_record(self, key)

    # Showing

    def _show(self) -> None:
        after = {key: seen_record(self, key) for key in self._before}
        changed = {
            key: record
            for key, record in after.items()
            if record and (record != self._before[key] or key in self._arrived)
        }
        for key, record in changed.items():
            self._note_conflict(key, record)
        self._show_dives({key: record for key, record in changed.items() if kind_of(key) == "dive"})
        for kind, of in _KIT.items():
            records = {key: record for key, record in changed.items() if kind_of(key) == kind}
            show_kit(self._connection, kind, list(self._readable(records, of)), self._now())
        for key in changed:
            if name_of(key) == SETTINGS:
                self._connection.executemany(
                    "REPLACE INTO settings VALUES (?, ?)",
                    settings_from_values(values_of(changed[key])).items(),
                )
        if changed or self._others_moved:
            self._connection.execute("UPDATE logbook SET revision = revision + 1")

    def _note_conflict(self, key: str, record: Record) -> None:
        """Keep the name of a record with two sides; before a club is joined its key has no owner."""
        self._connection.execute("DELETE FROM sync_conflicts WHERE key = ?", [name_of(key)])
        if any(conflicts_of(record)) and kind_of(key) != SHOWN:  # it follows the dive
            self._connection.execute("INSERT INTO sync_conflicts VALUES (?)", [name_of(key)])

    def _readable(self, records: Mapping[str, Record], of: type[Kind]) -> Iterator[tuple[Kind, bool]]:
        """Yield what records hold, and whether it is deleted; those that cannot be read are noted."""
        for key, record in records.items():
            try:
                one: Any = read_as(of, values_of(record))
                if record_name(kind_of(key), one.id) != name_of(key):
                    raise RefusedRecord(key)
            except RefusedRecord:
                self.unreadable.add(key)
            else:
                self.unreadable.discard(key)
                yield one, is_deleted(record)

    def _show_dives(self, records: Mapping[str, Record]) -> None:
        if not records:
            return
        found = list(self._readable(records, Dive))
        self.shown |= {dive.id for dive, _deleted in found}
        told = self._dives.put([self._with_samples_here(dive) for dive, _deleted in found])
        binned = [dive.id for dive, deleted in found if deleted]
        told += self._dives.put_away(binned, [dive.id for dive, deleted in found if not deleted])
        member = self.state().member
        keys = {dive.id: f"{member}/{record_name('dive', dive.id)}" for dive, _deleted in found}
        self._write_history(told, keys, records)

    def _with_samples_here(self, dive: Dive) -> Dive:
        here = [
            each if each.profile_sha256 is None or self._has_samples(each.profile_sha256)
            else replace(each, profile_sha256=None)
            for each in dive.recordings
        ]  # fmt: skip
        if tuple(here) == dive.recordings:
            return dive
        return replace(dive, recordings=tuple(here), estimate=here[0].profile_sha256 is None)

    def _has_samples(self, name: str) -> bool:
        here = "SELECT 1 FROM profiles WHERE sha256 = ?"
        on_its_way = "SELECT 1 FROM sync_blobs WHERE sha256 = ? AND whole = 1"
        if self._one(here, name) is None and self._one(on_its_way, name):
            self._keep_samples(name)  # somebody showed the same samples before
        return self._one(here, name) is not None

    def _write_history(
        self, told: Sequence[Told], keys: Mapping[str, str], records: Mapping[str, Record]
    ) -> None:
        came_later = {name_of(key) for key in self._arrived}
        own = self.state().origin
        origins: dict[Told, str] = {}
        for line in told:
            key = keys[line[0]]
            samples_alone = line[1] in ("recordings", "estimate") and name_of(key) in came_later
            if not samples_alone:
                origins[line] = _written_on(records[key], line[1])
        for dive_id, key in keys.items():
            origins |= dict(self._lost_sides(dive_id, key, records[key]))
        shown = {line: "" if origin == own else origin for line, origin in origins.items()}
        write_history(self._connection, shown, self._now(), SYNC, lambda line: shown[line])

    def _lost_sides(self, dive_id: str, key: str, record: Record) -> Iterator[tuple[Told, str]]:
        """Yield what came and lost at once, as lines of the history: written, and replaced."""
        values, known = values_of(record), heads_of(self._before.get(key, NO_RECORD))
        for conflict in conflicts_of(record):
            for lost in conflict.others:
                if lost.change in known or conflict.name == DELETED:
                    continue
                try:
                    dive = read_as(Dive, values)
                    other = read_as(Dive, {**values, conflict.name: lost.value})
                except RefusedRecord:
                    continue
                for name, shows, kept in changed_fields(dive, other):
                    yield (dive_id, name, shows, kept), origin_of(lost.change)
                    yield (dive_id, name, kept, shows), origin_of(conflict.shown.change)


def _written_on(record: Record, name: str) -> str:
    """Return the device on which the field of a line of the history was written."""
    field = record.get(DELETED if name == PRESENT else name.partition(".")[0])
    if field is None or not field.heads:
        field = next(each for each in record.values() if each.heads)
    return origin_of(field.heads[0].change)
