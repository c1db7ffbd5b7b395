"""What the club refused of the diver's changes, kept as a new record or let go, and back again."""

from __future__ import annotations

import sqlite3
import uuid
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any, Final, Protocol

from logbook_app.dive.history import SYNC
from logbook_app.dive.kit import KitItem, KitSet
from logbook_app.dive.problems import RefusedRecord
from logbook_app.dive.record import Dive
from logbook_app.language import _
from logbook_app.store.device_tables import DeviceTables
from logbook_app.store.dive_rows import read_dives
from logbook_app.store.history_rows import Told, write_history
from logbook_app.store.kit_shelf import read_items, read_sets
from logbook_app.sync.changes import READERS, WRITERS
from logbook_app.sync.device_store import OwnChange, Standing
from logbook_app.sync.merging import DELETED, values_of
from logbook_app.sync.messages import Verdict
from logbook_app.sync.own_changes import seen_record, write
from logbook_app.sync.records import read_as, record_name, values_from

# Kinds that a refused change can become a new record of, and where the logbook keeps them.
KEPT_ANEW: Final[dict[str, tuple[Any, str]]] = {
    "dive": (Dive, "dives"),
    "kit": (KitItem, "kit_items"),
    "set": (KitSet, "kit_sets"),
}


class DiveTables(Protocol):
    """How dives are written and put into the bin, by whom ever they were changed; within a change."""

    def put(self, dives: Sequence[Dive]) -> list[Told]:
        """Keep dives; return what changed."""

    def put_away(self, to_bin: Iterable[str], from_bin: Iterable[str]) -> list[Told]:
        """Put dives into the bin and take others out; return which moved."""


class RefusedRecords:
    """The refused changes in one logbook file.

    tables   of the sync; their change shows what it comes to
    now      the device's clock
    moved    ids of dives that went to the bin or came out of it since this object was made
    """

    def __init__(
        self,
        tables: DeviceTables,
        connection: sqlite3.Connection,
        dives: DiveTables,
        now: Callable[[], datetime],
    ) -> None:
        self._tables, self._connection, self._dives, self._now = tables, connection, dives, now
        self.moved: set[str] = set()

    def all(self) -> list[OwnChange]:
        """Return the changes that the club refused and with which the diver has not dealt, in their order."""
        found = [own for each in Verdict.REFUSED for own in self._tables.own_standing(each, 0, 10**9)]
        return sorted(found, key=lambda own: own.place)

    def count(self) -> int:
        """Return of how many records there are such changes."""
        return len({(own.change.owner, own.change.record) for own in self.all()})

    def whole_with(self, refused: Sequence[OwnChange]) -> dict[str, Any]:
        """Return a whole record of the diver's own as refused changes would have it, nothing for less.

        What they do not say is taken from what the diver sees of it, else from the logbook.
        """
        record = refused[0].change.record
        values = values_of(seen_record(self._tables, self._key(record))) or self._in_the_logbook(record)
        for own in refused:
            values |= own.change.fields
        for name in (DELETED, READERS, WRITERS):
            values.pop(name, None)
        return values

    def _in_the_logbook(self, record: str) -> dict[str, Any]:
        kind = record.partition(":")[0]
        rows = self._connection.execute(f"SELECT id FROM {KEPT_ANEW[kind][1]}")  # noqa: S608
        ids = [each for (each,) in rows if record_name(kind, each) == record]
        if kind == "dive":
            found: list[Any] = read_dives(self._connection, "dives.id = ?", ids) if ids else []
        else:
            read = read_items if kind == "kit" else read_sets
            found = [one for one, _gone in read(self._connection, ids)]
        return next(map(values_from, found), {})

    def keep_anew(self, change_ids: Iterable[str]) -> str:
        """Keep what refused changes of one record hold as a new record; return its name.

        A dive of the old name that the club has removed for good goes to the bin: it would count twice.

        Raises RefusedRecord where that is no whole record.
        """
        with self._tables.change():
            refused = self._still_refused(change_ids)
            kind, new_id = refused[0].change.record.partition(":")[0], uuid.uuid4().hex
            values = self.whole_with(refused)
            old_id = values.get("id")
            values["id"] = new_id
            read_as(KEPT_ANEW[kind][0], values)
            name = record_name(kind, new_id)
            write(self._tables, self._key(name), values, self._now_ms())
            self._move_old(kind, old_id, to_bin=True)
            self._let_go(refused)
        return name

    def let_go(self, change_ids: Iterable[str]) -> None:
        """List refused changes no more."""
        with self._tables.change():
            self._let_go(self._still_refused(change_ids))

    def take_up_again(self, change_ids: Iterable[str], kept_as: str = "") -> None:
        """List changes again that were dealt with; the record that they were kept as goes to the bin."""
        with self._tables.change():
            known = filter(None, map(self._tables.own, change_ids))
            dealt = [own for own in known if own.standing.startswith(Standing.LET_GO)]
            for own in dealt:
                self._tables.put_own(replace(own, standing=own.standing.removeprefix(Standing.LET_GO)))
            if kept_as and dealt:
                write(self._tables, self._key(kept_as), {DELETED: True}, self._now_ms())
                self._move_old(kept_as.partition(":")[0], self.whole_with(dealt).get("id"), to_bin=False)

    def _still_refused(self, change_ids: Iterable[str]) -> list[OwnChange]:
        known = filter(None, map(self._tables.own, change_ids))
        refused = [own for own in known if own.standing in Verdict.REFUSED]
        if not refused:
            raise RefusedRecord(_("This was settled meanwhile, perhaps on another device; look again."))
        return refused

    def _let_go(self, refused: Iterable[OwnChange]) -> None:
        for own in refused:
            self._tables.put_own(replace(own, standing=f"{Standing.LET_GO}{own.standing}"))

    def _move_old(self, kind: str, dive_id: str | None, *, to_bin: bool) -> None:
        """Put a dive away that has no record any more, or take it out; nobody else is told."""
        here = kind == "dive" and dive_id and read_dives(self._connection, "dives.id = ?", [dive_id])
        if not here or dive_id is None or seen_record(self._tables, self._key(record_name("dive", dive_id))):
            return
        told = self._dives.put_away([dive_id] if to_bin else [], [] if to_bin else [dive_id])
        write_history(self._connection, told, self._now(), SYNC)
        self.moved.add(dive_id)

    def _key(self, record: str) -> str:
        return f"{self._tables.state().member}/{record}"

    def _now_ms(self) -> int:
        return int(self._now().timestamp() * 1000)
