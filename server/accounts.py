"""Who belongs to the club, and which device speaks for whom.

A device makes its own secret and shows it with an invitation; the club keeps the SHA-256 of both. A
fast digest is enough for secrets that nobody can guess. An invitation is good for one device and seven
days, for a new member or for a further device of one who is there.
"""

from __future__ import annotations

import hashlib
import secrets
import sqlite3
import uuid
from dataclasses import dataclass
from typing import Final

from logbook_app.sync.messages import Join

INVITATION_MS: Final = 7 * 86_400_000


@dataclass(frozen=True, slots=True)
class Member:
    """One member of the club."""

    id: str
    name: str
    instructor: bool


class Accounts:
    """The members, invitations and devices in the club's file."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection

    def add_member(self, name: str, *, instructor: bool) -> Member:
        """Keep a new member."""
        member = Member(uuid.uuid4().hex, name, instructor)
        self._connection.execute("INSERT INTO members VALUES (?, ?, ?)", (member.id, name, instructor))
        return member

    def members(self) -> list[Member]:
        """Return the members by name."""
        rows = self._connection.execute("SELECT id, name, instructor FROM members ORDER BY name, id")
        return [Member(id_, name, bool(instructor)) for id_, name, instructor in rows]

    def member(self, member_id: str) -> Member | None:
        """Return a member, None where there is none of this id."""
        return next((member for member in self.members() if member.id == member_id), None)

    def remove_member(self, member_id: str) -> None:
        """Take away a member's name and invitations; the secrets stay, so that devices hear why."""
        self._connection.execute("DELETE FROM members WHERE id = ?", (member_id,))
        self._connection.execute("DELETE FROM invitations WHERE member = ?", (member_id,))

    def invite(self, member_id: str, now_ms: int) -> str:
        """Return the code of a new invitation; it is kept nowhere."""
        code = secrets.token_urlsafe(16)
        row = (_digest(code), member_id, now_ms + INVITATION_MS)
        self._connection.execute("INSERT INTO invitations VALUES (?, ?, ?, NULL)", row)
        return code

    def join(self, asked: Join, now_ms: int) -> Member | None:
        """Let a device speak for the member that its invitation names, None where that is not good.

        The same device may ask again with the same secret.
        """
        code, token = _digest(asked.code), _digest(asked.token)
        query = "SELECT member, until_ms, token FROM invitations WHERE code = ?"
        row = self._connection.execute(query, (code,)).fetchone()
        if row is None or row[2] not in (None, token) or (row[2] is None and row[1] < now_ms):
            return None
        self._connection.execute("UPDATE invitations SET token = ? WHERE code = ?", (token, code))
        self._connection.execute("REPLACE INTO tokens VALUES (?, ?, ?)", (token, row[0], asked.name))
        return self.member(row[0])

    def speaker(self, token: str) -> tuple[str, str] | None:
        """Return the device and the member that a secret speaks for."""
        digest = _digest(token)
        row = self._connection.execute("SELECT member FROM tokens WHERE token = ?", (digest,)).fetchone()
        return (digest, row[0]) if row else None

    def devices_of(self, member_id: str) -> list[tuple[str, str]]:
        """Return id and name of a member's devices."""
        query = "SELECT token, name FROM tokens WHERE member = ? ORDER BY name, token"
        return self._connection.execute(query, (member_id,)).fetchall()


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()
