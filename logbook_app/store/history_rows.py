"""The history of records as rows: written with the change that they tell of, and never touched again."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable
from datetime import datetime
from typing import Any

from logbook_app.dive.history import DIVE, FieldChange
from logbook_app.store.dive_rows import instant_from_text, instant_to_text

Told = tuple[str, str, str, str]  # id of a dive, field, value before, value after

_COLUMNS = "id, change, record_kind, record_id, field, before, after, at, why, origin"


def write_history(
    connection: sqlite3.Connection,
    told: Iterable[Told],
    at: datetime,
    why: str,
    origin_of: Callable[[Told], str] = lambda _told: "",
) -> int:
    """Add what one change did to dives; return the number of the change, 0 where it did nothing.

    origin_of   says on which device a line was written, empty for this one
    """
    rows = list(told)
    if not rows:
        return 0
    (change,) = connection.execute("SELECT ifnull(max(change), 0) + 1 FROM history").fetchone()
    connection.executemany(
        "INSERT INTO history (change, record_kind, record_id, field, before, after, at, why, origin)"
        " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        ((change, DIVE, *row, instant_to_text(at), why, origin_of(row)) for row in rows),
    )
    return int(change)


def read_history(connection: sqlite3.Connection, dive_id: str) -> list[FieldChange]:
    """Return what became of one dive, the first change first."""
    return _read(connection, "record_kind = ? AND record_id = ?", DIVE, dive_id)


def read_change(connection: sqlite3.Connection, change: int) -> list[FieldChange]:
    """Return all that was changed at once, in every record."""
    return _read(connection, "change = ?", change)


def _read(connection: sqlite3.Connection, where: str, *values: Any) -> list[FieldChange]:
    rows = connection.execute(f"SELECT {_COLUMNS} FROM history WHERE {where} ORDER BY id", values)  # noqa: S608
    return [_field_change(row) for row in rows]


def _field_change(row: tuple[Any, ...]) -> FieldChange:
    number, change, kind, record_id, field, before, after, at, why, origin = row
    return FieldChange(
        number, change, kind, record_id, field, before, after, instant_from_text(at), why, origin
    )
