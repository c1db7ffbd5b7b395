"""A process that writes to a club or reads from it, beside others, run as `python -m tests.server.racing`.

Says "ready", waits for a line, then goes ahead; tells one change of the club in a line.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator

from logbook_app.sync.changes import Change
from logbook_app.sync.messages import Pull, Pulled, Push, Pushed, SentChange
from logbook_app.sync.stamps import StampClock
from server.database import Database
from server.deciding import Club
from server.memory_club import MemoryLedger
from server.permissions import Caller
from server.sql_club import open_club
from server.sqlite_database import SqliteDatabase

A_PUSH = 3
NOW_MS = 10**12


def database_at(place: str) -> Database:
    """Open a database by its path or address."""
    if not place.startswith("postgresql:"):
        return SqliteDatabase(place)
    from server.postgresql_database import PostgresqlDatabase

    return PostgresqlDatabase(place)


def pushed(club: Club, origin: str, pushes: int) -> Iterator[str]:
    """Push dives for everybody to read, and yield the changes that the club acknowledged."""
    for push in range(pushes):
        numbers = range(push * A_PUSH + 1, (push + 1) * A_PUSH + 1)
        changes = [
            Change(origin, number, "", f"shown:{number}", StampClock(number).stamp, {"readers": ["*"]}, {})
            for number in numbers
        ]
        answer = club.answer(Push(1, 1, tuple(map(SentChange, changes))), Caller(origin, origin, NOW_MS))
        assert isinstance(answer, Pushed)
        time.sleep(0.001)  # else one process would write all it has before another gets a turn
        yield from (judged.change for judged in answer.verdicts if judged.verdict == "accepted")


def pulled(club: Club, up_to: int) -> Iterator[str]:
    """Follow the log until it has reached a number, and yield the changes that came."""
    since = 0
    while since < up_to:
        answer = club.answer(Pull(1, since, 7), Caller("reader", "reader", NOW_MS))
        assert isinstance(answer, Pulled)
        yield from (event.change.id for event in answer.events if event.change)
        since = answer.next


def main(place: str, what: str, name: str, how_many: str) -> None:
    club = Club(open_club(database_at(place)), MemoryLedger())
    _say("ready")
    sys.stdin.readline()
    told = pushed(club, name, int(how_many)) if what == "push" else pulled(club, int(how_many))
    for change in told:
        _say(change)


def _say(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main(*sys.argv[1:])
