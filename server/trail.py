"""The audit trail: who did what to whom in the running of the club, one line after the other.

Lines are only ever added. Each carries a digest over itself and the line before it, so that a line that
was changed or taken out in the database shows. Members stand in it by their ids: who is erased leaves no
name behind.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from logbook_app.sync.changes import digest_of
from server.database import Database

_LINE: Final = "number, at_ms, actor, what, whom, detail, digest"

COMMAND_LINE: Final = ""  # an officer at the machine that serves


@dataclass(frozen=True, slots=True)
class Line:
    """One line.

    actor   id of the member who did it, empty for a command at the server's own machine
    what    that was done, one word of a few
    whom    id of the member it was done to, empty where to nobody
    detail  in few words, with nothing personal in it
    """

    number: int
    at_ms: int
    actor: str
    what: str
    whom: str
    detail: str
    digest: str


class Trail:
    """The trail of one club."""

    def __init__(self, database: Database, club: int) -> None:
        self._database, self._club = database, club

    def write(self, at_ms: int, actor: str, what: str, whom: str = "", detail: str = "") -> None:
        """Add a line, within the transaction of what it tells of."""
        last = next(iter(self.lines(1)), None)
        number = last.number + 1 if last else 1
        digest = _digest(last.digest if last else "", number, at_ms, actor, what, whom, detail)
        self._database.run(
            "INSERT INTO trail (club, number, at_ms, actor, what, whom, detail, digest)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            self._club, number, at_ms, actor, what, whom, detail, digest,
        )  # fmt: skip

    def lines(self, count: int, before: int = 2**62) -> list[Line]:
        """Return lines, the latest first."""
        query = f"SELECT {_LINE} FROM trail WHERE club = ? AND number < ? ORDER BY number DESC LIMIT ?"  # noqa: S608
        return [Line(*row) for row in self._database.all(query, self._club, before, count)]

    def first_broken(self) -> int:
        """Return the number of the first line that does not follow from the one before it, 0 for none."""
        query = f"SELECT {_LINE} FROM trail WHERE club = ? ORDER BY number"  # noqa: S608
        before, number = "", 0
        for row in self._database.each(query, self._club):
            line, number = Line(*row), number + 1
            told = (line.number, line.at_ms, line.actor, line.what, line.whom, line.detail)
            if line.number != number or line.digest != _digest(before, *told):
                return number
            before = line.digest
        return 0


def _digest(before: str, *told: int | str) -> str:
    return digest_of([before, *told])
