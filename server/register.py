"""An index of what members show and sign, for pages that ask for a day, a member or a month.

It holds keys and what they are looked up by, nothing of what they say: that is read through `reading.py`,
for the eyes of whoever asks. The index follows the club's log as a device does, from a place in it; after
a restore, and where the log was cut, it is made anew.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from typing import Final, NamedTuple

from logbook_app.sync.changes import EVERYBODY, kind_of, owner_of
from logbook_app.sync.merging import Json, Record, is_deleted, values_of
from logbook_app.sync.shown_dives import SHOWN
from logbook_app.sync.sign_offs import BUDDY, REQUEST, SIGN_OFF
from server.sql_club import SqlClub

KINDS: Final = (SHOWN, SIGN_OFF, REQUEST, BUDDY)
LINES: Final = 1_000
MOST: Final = 1_000_000


class Entry(NamedTuple):
    """One line of the index. `everybody` tells whether every member may see the record."""

    key: str
    owner: str
    whom: str
    day: str
    everybody: bool


class Register:
    """The index of one club."""

    def __init__(self, store: SqlClub) -> None:
        self._store, self._database, self._club = store, store.database, store.number

    def catch_up(self) -> None:
        """Take in what happened since the last time."""
        state = self._store.state()
        if self._place() == (state.epoch, state.seq):
            return
        with self._store.change():
            state = self._store.state()
            epoch, seq = self._place()
            if epoch != state.epoch or seq < state.floor:
                self._make_anew(state.seq)
            else:
                self._follow(seq, state.seq)
            self._database.run(
                "INSERT INTO registered (club, epoch, seq) VALUES (?, ?, ?)"
                " ON CONFLICT (club) DO UPDATE SET epoch = excluded.epoch, seq = excluded.seq",
                self._club, state.epoch, state.seq,
            )  # fmt: skip

    def shown_to_everybody(self, key: str) -> bool:
        """Return whether every member may see a record."""
        query = "SELECT everybody FROM register WHERE club = ? AND key = ?"
        row = self._database.one(query, self._club, key)
        return bool(row and row[0])

    def of_owner(self, kind: str, owner: str, *, everybody: bool = False) -> list[Entry]:
        """Return what a member shows, the latest first; `everybody` leaves out what only some may see."""
        return self._entries("kind = ? AND owner = ? AND everybody >= ?", kind, owner, int(everybody))

    def for_whom(self, kind: str, whom: str) -> list[Entry]:
        """Return what is for a member: what was signed for them, what they are asked for."""
        return self._entries("kind = ? AND whom = ?", kind, whom)

    def of_kind(self, kind: str, most: int) -> list[Entry]:
        """Return the latest of a kind."""
        return self._entries("kind = ?", kind, most=most)

    def on_days(self, kind: str, first: str, last: str) -> list[Entry]:
        """Return what was on one of these days."""
        return self._entries("kind = ? AND day >= ? AND day <= ?", kind, first, last)

    def days(self, kind: str, most: int) -> list[tuple[str, int, int]]:
        """Return the latest days on which members dived: how many dives everybody may see, of how many."""
        query = (
            "SELECT day, count(*), count(DISTINCT owner) FROM register"
            " WHERE club = ? AND kind = ? AND everybody = 1 AND owner IN"
            " (SELECT id FROM members WHERE club = ? AND left_ms = 0)"
            " GROUP BY day ORDER BY day DESC LIMIT ?"
        )
        rows = self._database.all(query, self._club, kind, self._club, most)
        return [(day, dives, divers) for day, dives, divers in rows]

    def moved_at(self, member: str) -> int:
        """Return the place in the log at which something of a member, or for them, last changed."""
        row = self._database.one("SELECT seq FROM moved WHERE club = ? AND member = ?", self._club, member)
        return row[0] if row else 0

    def _entries(self, where: str, *values: Json, most: int = MOST) -> list[Entry]:
        query = (
            f"SELECT key, owner, whom, day, everybody FROM register WHERE club = ? AND {where}"  # noqa: S608
            " ORDER BY began_ms DESC, key LIMIT ?"
        )
        rows = self._database.all(query, self._club, *values, most)
        return [Entry(key, owner, whom, day, bool(everybody)) for key, owner, whom, day, everybody in rows]

    def _place(self) -> tuple[int, int]:
        row = self._database.one("SELECT epoch, seq FROM registered WHERE club = ?", self._club)
        return (row[0], row[1]) if row else (0, 0)

    def _follow(self, seq: int, last: int) -> None:
        while seq < last:
            lines = self._store.lines(seq, LINES)
            self._put({line.key: line.seq for line in lines})
            seq = lines[-1].seq if lines else last

    def _make_anew(self, seq: int) -> None:
        for table in ("register", "moved", "kept_answers"):
            self._database.run(f"DELETE FROM {table} WHERE club = ?", self._club)  # noqa: S608
        query = "SELECT key FROM records WHERE club = ?"
        self._put({key: seq for (key,) in self._database.all(query, self._club) if kind_of(key) in KINDS})

    def _put(self, keys: dict[str, int]) -> None:
        for key, seq in keys.items():
            if kind_of(key) not in KINDS:
                continue
            query = "SELECT owner, whom FROM register WHERE club = ? AND key = ?"
            moved = set(self._database.one(query, self._club, key) or ())
            self._database.run("DELETE FROM register WHERE club = ? AND key = ?", self._club, key)
            record = self._store.record(key)
            if record and not is_deleted(record):
                moved |= self._add(key, record)
            self._note_moved(moved | {owner_of(key)}, seq)

    def _add(self, key: str, record: Record) -> set[str]:
        values = values_of(record)
        whom = str(values.get("to" if kind_of(key) == REQUEST else "whom") or "")
        began = _began(values)
        day = (began + timedelta(minutes=_minutes(values))).date().isoformat() if began else ""
        began_ms = int(began.timestamp() * 1000) if began else 0
        everybody = EVERYBODY in self._store.audience(key)
        self._database.run(
            "INSERT INTO register (club, began_ms, everybody, key, kind, owner, whom, day)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            self._club, began_ms, int(everybody), key, kind_of(key), owner_of(key), whom, day,
        )  # fmt: skip
        return {owner_of(key), whom}

    def _note_moved(self, members: Iterable[str], seq: int) -> None:
        for member in filter(None, members):
            self._database.run(
                "INSERT INTO moved (club, seq, member) VALUES (?, ?, ?)"
                " ON CONFLICT (club, member) DO UPDATE SET seq = excluded.seq",
                self._club, seq, member,
            )  # fmt: skip


def _began(values: dict[str, Json]) -> datetime | None:
    """Return when a dive began, or the day of a signature; None where it does not say."""
    try:
        return datetime.fromisoformat(values.get("began_at") or values.get("on") or "").astimezone(UTC)
    except (TypeError, ValueError, OverflowError):
        return None


def _minutes(values: dict[str, Json]) -> int:
    offset = values.get("utc_offset_min")
    return offset if isinstance(offset, int) and abs(offset) < 24 * 60 else 0
