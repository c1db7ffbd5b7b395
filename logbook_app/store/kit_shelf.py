"""The kit in the logbook file: pieces, what was done for them, sets, and the dives that used them.

Nothing is deleted here either: a piece or a set goes to the bin, an entry of care is taken back, and
each can come back as it was.
"""

from __future__ import annotations

import json
import sqlite3
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from operator import attrgetter
from pathlib import Path
from typing import Any

from logbook_app.dive.kit import CareInterval, CareRecord, Check, KitItem, KitSet, UsedKit
from logbook_app.dive.problems import LogbookError, RefusedRecord, UnknownKit
from logbook_app.language import _
from logbook_app.store.dive_rows import instant_from_text, instant_to_text
from logbook_app.store.logbook_file import reading

Row = tuple[Any, ...]
Uses = dict[str, list[tuple[date, float]]]
"""Id of a piece -> the day and the minutes of each dive that used it."""

_PLAIN = (
    "id", "name", "kind", "maker", "model", "serial", "price", "currency", "notes",
    "dives_before", "hours_before",
)  # fmt: skip
_ITEM = (*_PLAIN, "retired", "bought_on", "intervals")
_TO_BIN = "UPDATE kit_items SET binned_at = ifnull(binned_at, ?2) WHERE id = ?1"
_FROM_BIN = "UPDATE kit_items SET binned_at = NULL WHERE id = ?1"
_ADD_CARE = (
    "INSERT OR IGNORE INTO kit_care (id, item_id, kind, done_on, note, taken_back_at)"
    " VALUES (?, ?, ?, ?, ?, ?)"
)
_SHOW_CARE = _ADD_CARE.replace("INSERT OR IGNORE", "REPLACE")
_KEEP_SET = (
    "INSERT INTO kit_sets (id, name, item_ids) VALUES (?, ?, ?) ON CONFLICT (id)"
    " DO UPDATE SET name = excluded.name, item_ids = excluded.item_ids"
)
_SET_TO_BIN = "UPDATE kit_sets SET binned_at = ifnull(binned_at, ?2) WHERE id = ?1"
_SET_FROM_BIN = "UPDATE kit_sets SET binned_at = NULL WHERE id = ?1"
_TAKE_BACK = "UPDATE kit_care SET taken_back_at = ifnull(taken_back_at, ?2) WHERE id = ?1"
_CARE = "SELECT id, item_id, kind, done_on, note, taken_back_at FROM kit_care"
_plain_values = attrgetter(*_PLAIN)


@dataclass(frozen=True, slots=True)
class KitShelf:
    """The kit in one logbook file.

    connection, path   of the file
    change             begins a change that is kept as a whole or not at all
    tell               what learns within a change of which records it was: `kit`, `set` or `care`, and ids
    """

    connection: sqlite3.Connection
    path: Path
    change: Callable[[], AbstractContextManager[None]]
    tell: Callable[[str, Iterable[str]], None]

    def items(self, *, binned: bool = False) -> list[KitItem]:
        """Return the pieces by name, those in the bin or those that are not."""
        rows = self._rows(
            f"SELECT {', '.join(_ITEM)} FROM kit_items WHERE (binned_at IS NOT NULL) = ?"  # noqa: S608
            " ORDER BY name COLLATE NOCASE, id",
            [int(binned)],
        )
        return [_item(row) for row in rows]

    def item(self, item_id: str) -> KitItem:
        """Return one piece, in the bin or not. Raises UnknownKit."""
        rows = self._rows(f"SELECT {', '.join(_ITEM)} FROM kit_items WHERE id = ?", [item_id])  # noqa: S608
        if not rows:
            raise _unknown(_("piece of kit"), item_id)
        return _item(rows[0])

    def known_ids(self) -> set[str]:
        """Return the ids of all pieces and sets, the bin included."""
        return {key for (key,) in self._rows("SELECT id FROM kit_items UNION SELECT id FROM kit_sets")}

    def binned_at(self) -> dict[str, datetime]:
        """Return when each piece in the bin went there."""
        rows = self._rows("SELECT id, binned_at FROM kit_items WHERE binned_at IS NOT NULL")
        return {item_id: instant_from_text(at) for item_id, at in rows}

    def keep_items(self, items: Iterable[KitItem]) -> None:
        """Keep pieces, inserted or replaced by id, all of them or none."""
        kept = list(items)
        with self.change():
            write_items(self.connection, kept)
            self.tell("kit", [item.id for item in kept])

    def bin_item(self, item_id: str, at: datetime) -> None:
        """Put a piece into the bin; the dives that used it keep its name. Raises UnknownKit."""
        self._one("kit", _TO_BIN, item_id, at)

    def bin_items(self, item_ids: Iterable[str], at: datetime) -> None:
        """Put pieces into the bin; ids that are not there are passed over."""
        wanted = [(item_id, instant_to_text(at)) for item_id in item_ids]
        if wanted:
            with self.change():
                self.connection.executemany(_TO_BIN, wanted)
                self.tell("kit", [item_id for item_id, _at in wanted])

    def take_in(
        self,
        items: Iterable[KitItem],
        care: Iterable[CareRecord],
        sets: Iterable[KitSet],
        from_bin: Iterable[str] = (),
    ) -> None:
        """Keep what another logbook told, all of it or none; entries of care that are there stay.

        from_bin   ids of pieces that come out of the bin
        """
        taken, noted, together, back = list(items), list(care), list(sets), list(from_bin)
        with self.change():
            write_items(self.connection, taken)
            self.connection.executemany(_ADD_CARE, map(_care_row, noted))
            self.connection.executemany(_KEEP_SET, map(_set_row, together))
            self.connection.executemany(_FROM_BIN, ((item_id,) for item_id in back))
            self.tell("kit", dict.fromkeys((*(item.id for item in taken), *back)))
            self.tell("care", [each.id for each in noted])
            self.tell("set", [each.id for each in together])

    def restore_item(self, item_id: str) -> None:
        """Take a piece out of the bin, as it was. Raises UnknownKit."""
        self._one("kit", _FROM_BIN, item_id)

    def care(self, *, taken_back: bool = False) -> list[CareRecord]:
        """Return what was done for every piece, the latest first.

        taken_back   also what was taken back
        """
        where = "" if taken_back else " WHERE taken_back_at IS NULL"
        rows = self._rows(f"{_CARE}{where} ORDER BY done_on DESC, rowid DESC")
        return [_care(row) for row in rows]

    def add_care(self, records: Iterable[CareRecord]) -> None:
        """Write down what was done; an entry that is there already stays as it is."""
        noted = list(records)
        with self.change():
            self.connection.executemany(_ADD_CARE, map(_care_row, noted))
            self.tell("care", [each.id for each in noted])

    def take_back_care(self, care_id: str, at: datetime) -> None:
        """Let an entry of care count no more. Raises UnknownKit."""
        self._one("care", _TAKE_BACK, care_id, at)

    def give_back_care(self, care_id: str) -> None:
        """Let an entry of care that was taken back count again. Raises UnknownKit."""
        self._one("care", "UPDATE kit_care SET taken_back_at = NULL WHERE id = ?1", care_id)

    def sets(self) -> list[KitSet]:
        """Return the sets by name, without those in the bin."""
        rows = self._rows(
            "SELECT id, name, item_ids FROM kit_sets WHERE binned_at IS NULL ORDER BY name COLLATE NOCASE, id"
        )
        return list(map(_set, rows))

    def keep_sets(self, sets: Iterable[KitSet]) -> None:
        """Keep sets, inserted or replaced by id, all of them or none."""
        kept = list(sets)
        with self.change():
            self.connection.executemany(_KEEP_SET, map(_set_row, kept))
            self.tell("set", [each.id for each in kept])

    def bin_set(self, set_id: str, at: datetime) -> None:
        """Put a set into the bin; its pieces stay. Raises UnknownKit."""
        self._one("set", _SET_TO_BIN, set_id, at)

    def restore_set(self, set_id: str) -> None:
        """Take a set out of the bin. Raises UnknownKit."""
        self._one("set", _SET_FROM_BIN, set_id)

    def uses(self) -> Uses:
        """Return the dives of every piece, in order of their start, without dives in the bin."""
        found: Uses = defaultdict(list)
        for item_id, began_at, offset_min, duration_min in self._rows(
            "SELECT DISTINCT kit.item_id, began_at, utc_offset_min, duration_min FROM kit"
            " JOIN dives ON dives.id = kit.dive_id WHERE dives.binned_at IS NULL ORDER BY began_at, dives.id"
        ):
            day = (instant_from_text(began_at) + timedelta(minutes=offset_min)).date()
            found[item_id].append((day, duration_min))
        return dict(found)

    def last_used(self) -> list[UsedKit]:
        """Return what the owner's last dive with any kit used, in the order in which it was put on."""
        rows = self._rows(
            "SELECT item_id, name FROM kit WHERE dive_id = (SELECT dives.id FROM dives"
            " JOIN kit ON kit.dive_id = dives.id WHERE binned_at IS NULL AND diver = ''"
            " ORDER BY began_at DESC, dives.id LIMIT 1) ORDER BY place"
        )
        return [UsedKit(*row) for row in rows]

    def _rows(self, query: str, values: Sequence[Any] = ()) -> list[Row]:
        with reading(self.connection, self.path):
            return self.connection.execute(query, values).fetchall()

    def _one(self, kind: str, statement: str, key: str, *instants: datetime) -> None:
        with self.change():
            changed = self.connection.execute(statement, [key, *map(instant_to_text, instants)])
            if changed.rowcount == 0:
                raise _unknown(_("entry of kit"), key)
            self.tell(kind, [key])


def write_items(connection: sqlite3.Connection, items: Iterable[KitItem]) -> None:
    """Insert or replace pieces by id, within the caller's transaction; one in the bin stays there."""
    marks = ", ".join("?" * len(_ITEM))
    renewed = ", ".join(f"{name} = excluded.{name}" for name in _ITEM if name != "id")
    connection.executemany(
        f"INSERT INTO kit_items ({', '.join(_ITEM)}) VALUES ({marks})"  # noqa: S608
        f" ON CONFLICT (id) DO UPDATE SET {renewed}",
        map(_item_row, items),
    )


def read_items(connection: sqlite3.Connection, ids: Iterable[str]) -> Iterator[tuple[KitItem, bool]]:
    """Yield the pieces of these ids, and whether each is in the bin."""
    for item_id in ids:
        query = f"SELECT {', '.join(_ITEM)}, binned_at IS NOT NULL FROM kit_items WHERE id = ?"  # noqa: S608
        for *row, binned in connection.execute(query, [item_id]).fetchall():
            yield _item(tuple(row)), bool(binned)


def read_sets(connection: sqlite3.Connection, ids: Iterable[str]) -> Iterator[tuple[KitSet, bool]]:
    """Yield the sets of these ids, and whether each is in the bin."""
    for set_id in ids:
        query = "SELECT id, name, item_ids, binned_at IS NOT NULL FROM kit_sets WHERE id = ?"
        for *row, binned in connection.execute(query, [set_id]).fetchall():
            yield _set(tuple(row)), bool(binned)


def read_care(connection: sqlite3.Connection, ids: Iterable[str]) -> Iterator[tuple[CareRecord, bool]]:
    """Yield the entries of care of these ids; none is ever in the bin."""
    for care_id in ids:
        for row in connection.execute(f"{_CARE} WHERE id = ?", [care_id]).fetchall():
            yield _care(row), False


def show_kit(
    connection: sqlite3.Connection, kind: str, found: Sequence[tuple[Any, bool]], at: datetime
) -> None:
    """Keep pieces (`kit`), sets (`set`) or entries of care (`care`) as they are told, in the bin or not.

    Runs within the caller's transaction and tells nobody of it.
    """
    records = [one for one, _binned in found]
    if kind == "care":
        connection.executemany(_SHOW_CARE, map(_care_row, records))
        return
    if kind == "kit":
        write_items(connection, records)
    else:
        connection.executemany(_KEEP_SET, map(_set_row, records))
    to_bin, from_bin = (_TO_BIN, _FROM_BIN) if kind == "kit" else (_SET_TO_BIN, _SET_FROM_BIN)
    connection.executemany(to_bin, [(one.id, instant_to_text(at)) for one, binned in found if binned])
    connection.executemany(from_bin, [(one.id,) for one, binned in found if not binned])


def _item_row(item: KitItem) -> Row:
    bought_on = item.bought_on.isoformat() if item.bought_on else None
    return (*_plain_values(item), int(item.retired), bought_on, _intervals_text(item.intervals))


def _item(row: Row) -> KitItem:
    *plain, retired, bought_on, intervals = row
    known: dict[str, Any] = dict(zip(_PLAIN, plain, strict=True))
    try:
        return KitItem(
            **known,
            retired=bool(retired),
            bought_on=date.fromisoformat(bought_on) if bought_on else None,
            intervals=_intervals(intervals),
        )
    except (ValueError, TypeError, RefusedRecord) as error:
        raise LogbookError(
            _(
                "The piece of kit {row} in the logbook cannot be read ({error}); put back the last backup."
            ).format(row=row[0], error=error)
        ) from error


def _intervals_text(intervals: Iterable[CareInterval]) -> str:
    return json.dumps([[each.check, each.months, each.dives, each.hours] for each in intervals])


def _intervals(text: str) -> tuple[CareInterval, ...]:
    return tuple(CareInterval(Check(check), *rest) for check, *rest in json.loads(text))


def _care_row(care: CareRecord) -> Row:
    taken_back = instant_to_text(care.taken_back_at) if care.taken_back_at else None
    return (care.id, care.item_id, care.check.value, care.done_on.isoformat(), care.note, taken_back)


def _set_row(kit_set: KitSet) -> Row:
    return (kit_set.id, kit_set.name, json.dumps(kit_set.item_ids))


def _set(row: Row) -> KitSet:
    key, name, item_ids = row
    return KitSet(id=key, name=name, item_ids=tuple(json.loads(item_ids)))


def _care(row: Row) -> CareRecord:
    key, item_id, check, done_on, note, taken_back = row
    return CareRecord(
        id=key,
        item_id=item_id,
        check=Check(check),
        done_on=date.fromisoformat(done_on),
        note=note,
        taken_back_at=instant_from_text(taken_back) if taken_back else None,
    )


def _unknown(what: str, key: str) -> UnknownKit:
    return UnknownKit(
        _("There is no {what} {key} in the logbook; it may have been made on another device.").format(
            what=what, key=key
        )
    )
