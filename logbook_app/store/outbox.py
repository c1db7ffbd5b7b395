"""What the diver changes, told to the sync within the same transaction; nothing where nobody shares.

The rules of the sync are loaded with the first change that is told: a logbook that shares with nobody,
and the first frame of the app, go without.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from typing import TYPE_CHECKING

from logbook_app.dive.history import PRESENT
from logbook_app.dive.record import Dive
from logbook_app.store.history_rows import Told

if TYPE_CHECKING:
    from logbook_app.store.own_records import OwnRecords


class Outbox:
    """The way out of one logbook file.

    now   the device's clock
    """

    def __init__(self, connection: sqlite3.Connection, now: Callable[[], datetime]) -> None:
        self._connection, self._now = connection, now

    @property
    def begun(self) -> bool:
        """Whether the diver has joined a club or begun to share by file."""
        return self._connection.execute("SELECT 1 FROM sync_state").fetchone() is not None

    def dives(self, before: Mapping[str, Dive], after: Iterable[Dive]) -> None:
        """Tell what changed in dives; those that were not there before are told whole."""
        if self.begun:
            self._records().dives(before, after)

    def presence(self, told: Iterable[Told]) -> None:
        """Tell which dives went to the bin and which came out of it."""
        moved = {dive_id: present != "true" for dive_id, name, _, present in told if name == PRESENT}
        if moved and self.begun:
            self._records().deleted("dive", moved)

    def kit(self, kind: str, ids: Iterable[str]) -> None:
        """Tell what pieces of kit, sets or entries of care are now: `kit`, `set` or `care`."""
        if self.begun:
            self._records().kit(kind, ids)

    def settings(self, values: Mapping[str, str]) -> None:
        """Tell the settings that follow the diver."""
        if self.begun:
            self._records().settings(values)

    def _records(self) -> OwnRecords:
        from logbook_app.store.own_records import OwnRecords

        return OwnRecords(self._connection, self._now())
