"""The diver's dives, kit and settings as changes of records, within the transaction that changes them."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping
from contextlib import nullcontext
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Final

from logbook_app.dive.diver_settings import settings_from_text
from logbook_app.dive.problems import RefusedRecord
from logbook_app.dive.record import Dive
from logbook_app.store.device_tables import DeviceTables
from logbook_app.store.dive_rows import instant_from_text, read_dives
from logbook_app.store.kit_shelf import read_care, read_items, read_sets
from logbook_app.store.shown_records import ShownRecords
from logbook_app.sync.device_store import DeviceState
from logbook_app.sync.merging import DELETED, Json, value_of
from logbook_app.sync.own_changes import seen_record, write
from logbook_app.sync.records import (
    changed_values,
    record_name,
    settings_values,
    values_from,
    written_values,
)

SETTINGS: Final = record_name("settings", "diver")
KNOWN_AS: Final = "club_knows_as"  # among the settings: what the club calls the diver


def called(settings: Mapping[str, str]) -> str:
    """Return what the diver is called: by their own word, else by the club's."""
    return settings.get("name", "") or settings.get(KNOWN_AS, "")


@dataclass(slots=True)
class OwnRecords:
    """What is written of the diver's own records, on this device at this moment.

    beginning   all that is here is told for the first time: no dive of it is a new one
    """

    connection: sqlite3.Connection
    now: datetime
    beginning: bool = False
    tables: DeviceTables = field(init=False)

    def __post_init__(self) -> None:
        self.tables = DeviceTables(self.connection, nullcontext)

    def dives(self, before: Mapping[str, Dive], after: Iterable[Dive]) -> None:
        """Write what changed in dives; of a new one all that it says."""
        usual = None if self.beginning else self._usual_parts()
        for dive in after:
            was = before.get(dive.id)
            said = (
                written_values(dive) if was is None else changed_values(values_from(was), values_from(dive))
            )
            self._write(record_name("dive", dive.id), said)
            if was is not None:
                self.shown.follow(dive)
            elif usual is not None and dive.own:
                self.shown.show(dive, called(self._settings()), usual)

    def _usual_parts(self) -> tuple[str, ...] | None:
        """Return which parts of every new dive the diver's club sees, None where it sees none."""
        wanted = settings_from_text(self._settings())
        shows = wanted.shows_new_dives and bool(self.tables.state().member)
        return tuple(wanted.shown_parts.split()) if shows else None

    def _settings(self) -> dict[str, str]:
        return dict(self.connection.execute("SELECT name, value FROM settings"))

    @property
    def shown(self) -> ShownRecords:
        """What others see of the diver's dives."""
        return ShownRecords(self.connection, self.tables, int(self.now.timestamp() * 1000))

    def deleted(self, kind: str, moved: Mapping[str, bool]) -> None:
        """Write of records whether they are deleted."""
        if kind == "dive":
            self.shown.go_along(moved)
        for identity, gone in moved.items():
            self._write(record_name(kind, identity), {DELETED: gone})

    def kit(self, kind: str, ids: Iterable[str]) -> None:
        """Write what pieces, sets or entries of care are now, and whether they are in the bin."""
        read: Any = {"kit": read_items, "set": read_sets, "care": read_care}[kind]
        for one, gone in read(self.connection, list(ids)):
            name = record_name(kind, one.id)
            known = bool(seen_record(self.tables, self._key(name)))
            said = values_from(one) if known else written_values(one)
            self._write(name, said | ({DELETED: gone} if known or gone else {}))

    def settings(self, values: Mapping[str, str]) -> None:
        """Write the settings that follow the diver, and what the diver is called on what others see."""
        if "name" in values and not self.beginning:
            self.shown.call(called(self._settings()))
        self._write(SETTINGS, settings_values(values))

    def begin(self, origin: str) -> None:
        """Begin to share: everything that is here becomes the first changes.

        What a dive says is stamped with when it was last changed: an older state of it, from a device that
        was put back from a backup, does not win over what was written since.
        """
        self.beginning = True
        self.tables.put_state(DeviceState(origin))
        last = dict(
            self.connection.execute(
                "SELECT record_id, max(at) FROM history WHERE record_kind = 'dive' GROUP BY record_id"
            )
        )
        dives = {dive.id: dive for dive in read_dives(self.connection, "1")}
        rows = self.connection.execute("SELECT id FROM dives WHERE binned_at IS NOT NULL")
        binned = {dive_id for (dive_id,) in rows}
        began, self_now = instant_from_text("1970-01-01T00:00:00.000000+00:00"), self.now
        at = {dive_id: instant_from_text(last[dive_id]) if dive_id in last else began for dive_id in dives}
        for dive_id in sorted(dives, key=lambda each: (at[each], each)):
            self.now = min(at[dive_id], self_now)
            self.dives({}, [dives[dive_id]])
            if dive_id in binned:
                self.deleted("dive", {dive_id: True})
        self.now = self_now
        for kind, table in (("kit", "kit_items"), ("set", "kit_sets"), ("care", "kit_care")):
            ids = self.connection.execute(f"SELECT id FROM {table} ORDER BY id").fetchall()  # noqa: S608
            self.kit(kind, [key for (key,) in ids])
        self.settings(self._settings())

    def _key(self, name: str) -> str:
        return f"{self.tables.state().member}/{name}"

    def _write(self, name: str, said: Mapping[str, Json]) -> None:
        key, now_ms = self._key(name), int(self.now.timestamp() * 1000)
        if "recordings" in said:
            said = {**said, "recordings": self._with_samples_elsewhere(key, said["recordings"])}
        try:
            write(self.tables, key, said, now_ms)
        except RefusedRecord:  # too long for one change, perhaps not for several
            for field_name, value in said.items():
                write(self.tables, key, {field_name: value}, now_ms)

    def _with_samples_elsewhere(self, key: str, recordings: Json) -> Json:
        """Name the samples again that another device has and this one does not."""
        known = value_of(seen_record(self.tables, key), "recordings") or []
        names = {each["fingerprint"]: each.get("profile_sha256") for each in known}
        return [
            each | {"profile_sha256": each["profile_sha256"] or names.get(each["fingerprint"])}
            for each in recordings
        ]
