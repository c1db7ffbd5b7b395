"""Any number of dives in a club's database, laid into the tables: those of the demo under other names."""

from __future__ import annotations

import random
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass, replace
from hashlib import sha256
from pathlib import Path
from typing import Any
from uuid import UUID

from logbook_app.demo_logbook import make_demo_logbook
from logbook_app.logbook import Logbook
from logbook_app.sync.changes import Change, canonical, with_change
from logbook_app.sync.messages import Push, SentChange, Verdict
from logbook_app.sync.packing import packed
from logbook_app.sync.records import record_name, written_values
from logbook_app.sync.stamps import StampClock
from logbook_app.sync.wire import to_json
from server.database import Database
from server.deciding import Club
from server.memory_club import MemoryLedger
from server.permissions import Caller
from server.sql_club import SqlClub, found_club, open_club

OF_A_MEMBER = 500
AT_ONCE = 50_000
NOW_MS = 1_950_000_000_000
STAMP = StampClock(NOW_MS).stamp
COLUMNS = {
    "records": ("key", "digest", "content"),
    "named": ("name", "key"),
    "seen": ("origin", "number", "digest", "verdict", "stamp", "seq"),
    "log": ("seq", "key", "change", "author", "stamp", "content", "audience"),
}


@dataclass(frozen=True)
class Written:
    """A dive of the demo: its fields, its record and its change as a club keeps them."""

    fields: dict[str, Any]
    record: str
    change: str


def demo_dives(folder: Path) -> list[Written]:
    """Return the dives of the demo."""
    make_demo_logbook(folder / "demo.leadline")
    with closing(Logbook.open(folder / "demo.leadline")) as logbook:
        return [_written(written_values(dive)) for dive in logbook.dives()]


def _written(fields: dict[str, Any]) -> Written:
    change = Change("o" * 32, 100, "", record_name("dive", "0" * 32), STAMP, fields, {})
    return Written(fields, packed(with_change({}, change)), canonical(to_json(change)))


class FullClubs:
    """Clubs with so many dives in a database.

    of_a_club   dives
    """

    def __init__(self, database: Database, dives: list[Written], many: int, of_a_club: int) -> None:
        self.database, self._dives, self.many, self._of_a_club = database, dives, many, of_a_club
        self.clubs = [open_club(database)]
        while len(self.clubs) < -(-many // of_a_club):
            self.clubs.append(found_club(database))
        self._floor = of_a_club * 9 // 10  # tidied up once a month, the log holds what is lately
        self._chance = random.Random(1)

    def load(self) -> None:
        """Lay the dives into the tables, whose rows are then as a push would have left them."""
        for table, columns in COLUMNS.items():
            for first in range(0, self.many, AT_ONCE):
                with self.database.change():
                    self.database.load(table, ("club", *columns), self._rows(table, first))
        for club in self.clubs:
            with club.change():
                club.put_state(replace(club.state(), seq=self._of_a_club, floor=self._floor))

    def _rows(self, table: str, first: int) -> Iterator[tuple[Any, ...]]:
        row = getattr(self, f"_{table}")
        for dive in range(first, min(first + AT_ONCE, self.many)):
            if table != "log" or self._seq(dive) > self._floor:
                yield (self.clubs[dive // self._of_a_club].number, *row(dive))

    def _member(self, dive: int) -> str:
        return UUID(int=dive // OF_A_MEMBER + 2**127).hex

    def _key(self, dive: int) -> str:
        return f"{self._member(dive)}/dive:{sha256(b'%d' % dive).hexdigest()[:32]}"

    def _records(self, dive: int) -> tuple[str, str, str]:
        content = self._dives[dive % len(self._dives)].record
        return self._key(dive), f"{dive:032x}", content

    def _named(self, dive: int) -> tuple[str, str]:
        return sha256(b"samples %d" % dive).hexdigest(), self._key(dive)

    def _seen(self, dive: int) -> tuple[str, int, str, str, str, int]:
        number = dive % OF_A_MEMBER + 1
        return self._member(dive), number, f"{dive:016x}", Verdict.ACCEPTED, STAMP, self._seq(dive)

    def _log(self, dive: int) -> tuple[Any, ...]:
        change = f"{self._member(dive)}.{dive % OF_A_MEMBER + 1}.{dive:016x}"
        content = self._dives[dive % len(self._dives)].change
        return self._seq(dive), self._key(dive), change, self._member(dive), STAMP, content, "[]"

    def _seq(self, dive: int) -> int:
        return dive % self._of_a_club + 1

    def ask(self, club: SqlClub, member: str, changes: int) -> tuple[Club, Push, Caller]:
        """Return a push of new dives by a member, ready to be answered."""
        origin = UUID(int=self._chance.getrandbits(128)).hex
        sent = [self._new(origin, number + 1) for number in range(changes)]
        return Club(club, MemoryLedger()), Push(1, 1, tuple(sent)), Caller(member, origin, NOW_MS)

    def _new(self, origin: str, number: int) -> SentChange:
        fields = self._chance.choice(self._dives).fields
        samples = {"profile_sha256": sha256(f"{origin} {number}".encode()).hexdigest()}
        name = record_name("dive", UUID(int=self._chance.getrandbits(128)).hex)
        said = {**fields, "recordings": [samples]}
        return SentChange(Change(origin, number, "", name, STAMP, said, {}))

    def somebody(self) -> tuple[SqlClub, str]:
        """Return a club and one of its members, drawn by lot."""
        dive = self._chance.randrange(self.many)
        return self.clubs[dive // self._of_a_club], self._member(dive)
