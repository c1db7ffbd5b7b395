"""What the club sees of the diver's dives, kept as the records that show them; within the caller's change.

A record that shows a dive follows the dive: whatever changes in it changes there, in the same transaction,
as far as the parts that the diver chose. With the dive it goes to the bin and comes back. Withdrawn, it
names nobody any more, and the club tells everybody to forget it.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Collection, Iterable, Mapping
from typing import Any, Final

from logbook_app.dive.problems import RefusedRecord
from logbook_app.dive.profile import profile_digest, profile_from_bytes, profile_to_bytes
from logbook_app.dive.record import Dive
from logbook_app.store.device_tables import DeviceTables
from logbook_app.sync.changes import EVERYBODY, READERS, kind_of, owner_of
from logbook_app.sync.merging import (
    DELETED,
    Json,
    Record,
    conflicts_of,
    is_deleted,
    same_value,
    value_of,
    values_of,
)
from logbook_app.sync.own_changes import seen_record, write
from logbook_app.sync.records import read_as, record_name, values_from
from logbook_app.sync.shown_dives import (
    GAS,
    SAMPLES,
    SHOWN,
    ShownDive,
    ShownSamples,
    dive_of_another,
    shown_dive,
    shown_name,
    shown_samples,
)

_OWN_NAMES: Final = (
    "SELECT record FROM sync_changes WHERE owner = '' AND record LIKE 'shown:%'"
    " UNION SELECT substr(key, instr(key, '/') + 1) FROM sync_records WHERE key LIKE ? || '/shown:%'"
    " UNION SELECT record FROM sync_carried WHERE record LIKE 'shown:%'"
)


class ShownRecords:
    """The records of the kind `shown` in one logbook file.

    now_ms   the device's clock
    """

    def __init__(self, connection: sqlite3.Connection, tables: DeviceTables, now_ms: int) -> None:
        self._connection, self._tables, self._now_ms = connection, tables, now_ms

    # The diver's own

    def parts_of(self, dive_id: str) -> tuple[str, ...] | None:
        """Return which parts of a dive others see, None where they see nothing."""
        record = self._record(dive_id)
        return tuple(value_of(record, "parts", ())) if _is_shown(record) else None

    def seen_of(self, dive_id: str) -> ShownDive | None:
        """Return what others see of a dive, None where they see nothing."""
        record = self._record(dive_id)
        return read_as(ShownDive, values_of(record)) if _is_shown(record) else None

    def show(self, dive: Dive, diver: str, parts: Collection[str]) -> None:
        """Let others see these parts of a dive."""
        record = self._record(dive.id)
        said = self._values(dive, diver, parts, record)
        self._say(dive.id, record, {**said, READERS: [EVERYBODY], DELETED: False})

    def withdraw(self, dive_id: str) -> None:
        """Let nobody see a dive any more."""
        record = self._record(dive_id)
        if record:
            self._say(dive_id, record, {READERS: [], DELETED: False})

    def follow(self, dive: Dive) -> None:
        """Let what others see of a dive say what the dive says, where they see anything."""
        record = self._record(dive.id)
        if _is_shown(record):
            parts = value_of(record, "parts", ())
            said = self._values(dive, value_of(record, "diver", ""), parts, record)
            self._say(dive.id, record, said)

    def go_along(self, moved: Mapping[str, bool]) -> None:
        """Let what shows dives go to the bin with them, and come out of it as it was."""
        for dive_id, gone in moved.items():
            record = self._record(dive_id)
            if gone and _is_shown(record):
                self._say(dive_id, record, {READERS: [], DELETED: True})
            elif not gone and is_deleted(record):
                self._say(dive_id, record, {READERS: [EVERYBODY], DELETED: False})

    def call(self, diver: str) -> None:
        """Let all that others see say that this is what the diver is called."""
        for name in self._names():
            key = self._key(name)
            record = seen_record(self._tables, key)
            if _is_shown(record) and value_of(record, "diver") != diver:
                write(self._tables, key, {"diver": diver}, self._now_ms, chooses=True)

    def are_shown(self) -> set[str]:
        """Return the names of the records by which others see a dive; see `shown_name`."""
        return {name for name in self._names() if _is_shown(seen_record(self._tables, self._key(name)))}

    # Others'

    def of_others(self) -> list[Dive]:
        """Return the dives that other members show, as dives of theirs, in order of their start."""
        member = self._tables.state().member
        keys = [key for key in self._tables.decided_keys() if kind_of(key) == SHOWN]
        found = [self._of_another(key) for key in keys if owner_of(key) != member]
        return sorted(filter(None, found), key=lambda dive: (dive.began_at, dive.id))

    def _of_another(self, key: str) -> Dive | None:
        record = seen_record(self._tables, key)
        if not record or is_deleted(record):
            return None
        try:
            shown = read_as(ShownDive, values_of(record))
            here = shown.samples is not None and self._are_samples(shown.samples.profile_sha256)
            return dive_of_another(key, shown, samples_here=here)
        except RefusedRecord:
            return None

    def _are_samples(self, name: str) -> bool:
        data = self._tables.blob_part(name, 0, self._tables.blob_size(name) or 0)
        try:
            profile_from_bytes(data)
        except RefusedRecord:
            return False
        return True

    # Inside

    def _record(self, dive_id: str) -> Record:
        return seen_record(self._tables, self._key(shown_name(dive_id)))

    def _key(self, name: str) -> str:
        return f"{self._tables.state().member}/{name}"

    def _names(self) -> list[str]:
        member = self._tables.state().member
        return [name for (name,) in self._connection.execute(_OWN_NAMES, [member])]

    def _say(self, dive_id: str, record: Record, said: Mapping[str, Json]) -> None:
        """Write what is new, or settles what two devices wrote of the same dive."""
        known, open_ones = values_of(record), {conflict.name for conflict in conflicts_of(record)}
        news = {
            name: value
            for name, value in said.items()
            if name not in known or not same_value(known[name], value) or name in open_ones
        }
        if news.get(DELETED) is False and not is_deleted(record):
            del news[DELETED]
        if news:
            write(self._tables, self._key(shown_name(dive_id)), news, self._now_ms, chooses=True)

    def _values(self, dive: Dive, diver: str, parts: Collection[str], record: Record) -> dict[str, Json]:
        samples = self._samples(dive, parts, value_of(record, "samples"))
        return values_from(shown_dive(dive, diver, parts, samples))

    def _samples(self, dive: Dive, parts: Collection[str], shown: Any) -> ShownSamples | None:
        """Return the copy that others get; the one they have where the samples are the same, or not here."""
        name = dive.profile_sha256 or self._elsewhere(dive)
        if name is None or SAMPLES not in parts:
            return None
        told = read_as(ShownSamples, shown) if shown else None
        of = name[:16] + ("+" if GAS in parts else "-")  # with changes of gas, or without
        if told and told.of == of:
            return told
        data = self._copy(name, parts)
        return ShownSamples(self._keep(data), of) if data else told

    def _elsewhere(self, dive: Dive) -> str | None:
        """Return the name of samples that another device of the diver's has and this one does not."""
        known = seen_record(self._tables, self._key(record_name("dive", dive.id)))
        recordings = value_of(known, "recordings") or []
        return recordings[0].get("profile_sha256") if recordings else None

    def _copy(self, name: str, parts: Collection[str]) -> bytes:
        row = self._connection.execute("SELECT samples FROM profiles WHERE sha256 = ?", [name]).fetchone()
        try:
            return profile_to_bytes(shown_samples(profile_from_bytes(row[0]), parts)) if row else b""
        except RefusedRecord:
            return b""  # damaged: the check of the file says so

    def _keep(self, data: bytes) -> str:
        name = profile_digest(data)
        if self._tables.blob_size(name) is None:
            self._connection.execute(
                "INSERT INTO sync_blobs (sha256, part, whole) VALUES (?, ?, 1)"
                " ON CONFLICT (sha256) DO UPDATE SET part = excluded.part, whole = 1",
                [name, data],
            )
        return name


def shown_ids(names: Iterable[str], dive_ids: Iterable[str]) -> set[str]:
    """Return which of these dives the records of these names show."""
    wanted = set(names)
    return {dive_id for dive_id in dive_ids if shown_name(dive_id) in wanted}


def _is_shown(record: Record) -> bool:
    return bool(value_of(record, READERS)) and not is_deleted(record)
