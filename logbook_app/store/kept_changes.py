"""What was done to many dives at once, kept so that it can be read later and taken back.

An import, a join of two records and a shift of clocks are each a row of the table `imports`. Its
report is text of the logbook's own making; the store keeps it and does not look into it.
"""

from __future__ import annotations

import json
import sqlite3
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from logbook_app.dive.record import Dive
from logbook_app.store.dive_rows import dive_from_text, dive_to_text, instant_from_text, instant_to_text


@dataclass(frozen=True, slots=True)
class KeptChange:
    """One change that can be taken back.

    kind       `import`, `join`, `shift`, `delete` or `tags`
    at         when it was made [UTC]
    added      ids of the dives it brought
    binned     ids of the dives it put into the bin
    changed    dives that were there already: as they were before it, as it left them
    kit        ids of the pieces of kit it brought
    report     what was told about it, as text
    id         counts from 1; 0 before it is kept
    undone_at  when it was taken back, None where it stands [UTC]
    """

    kind: str
    at: datetime
    added: tuple[str, ...] = ()
    binned: tuple[str, ...] = ()
    changed: tuple[tuple[Dive, Dive], ...] = ()
    kit: tuple[str, ...] = ()
    report: str = ""
    id: int = 0
    undone_at: datetime | None = None

    @property
    def touched(self) -> frozenset[str]:
        """Ids of every dive that it brought, put away or changed."""
        return frozenset((*self.added, *self.binned, *(after.id for _, after in self.changed)))


def write_change(connection: sqlite3.Connection, kept: KeptChange) -> int:
    """Insert a change, or replace what is kept of the one with its id; return the id."""
    changed = [[dive_to_text(before), dive_to_text(after)] for before, after in kept.changed]
    dives = json.dumps({"added": kept.added, "binned": kept.binned, "changed": changed, "kit": kept.kit})
    if kept.id:
        connection.execute(
            "UPDATE imports SET report = ?, dives = ? WHERE id = ?", [kept.report, dives, kept.id]
        )
        return kept.id
    row = connection.execute(
        "INSERT INTO imports (kind, at, report, dives) VALUES (?, ?, ?, ?)",
        [kept.kind, instant_to_text(kept.at), kept.report, dives],
    )
    return int(row.lastrowid or 0)


def mark_undone(connection: sqlite3.Connection, change_id: int, at: datetime) -> None:
    """Note that a change was taken back."""
    connection.execute("UPDATE imports SET undone_at = ? WHERE id = ?", [instant_to_text(at), change_id])


def read_changes(connection: sqlite3.Connection) -> list[KeptChange]:
    """Return every change that was kept, the first one first."""
    rows = connection.execute("SELECT id, kind, at, undone_at, report, dives FROM imports ORDER BY id")
    return [_change(row) for row in rows]


def _change(row: tuple[Any, ...]) -> KeptChange:
    change_id, kind, at, undone_at, report, dives = row
    kept = json.loads(dives)
    return KeptChange(
        kind=kind,
        at=instant_from_text(at),
        added=tuple(kept["added"]),
        binned=tuple(kept["binned"]),
        changed=tuple((dive_from_text(before), dive_from_text(after)) for before, after in kept["changed"]),
        kit=tuple(kept.get("kit", ())),  # older changes knew none
        report=report,
        id=change_id,
        undone_at=None if undone_at is None else instant_from_text(undone_at),
    )
