"""Who belongs to the club, and which device speaks for whom.

A device makes its own secret and shows it with an invitation; the club keeps the SHA-256 of both. A
fast digest is enough for secrets that nobody can guess. An invitation is good for one device and seven
days, for a new member or for a further device of one who is there.
"""

from __future__ import annotations

import hashlib
import secrets
import uuid
from dataclasses import dataclass
from typing import Final

from logbook_app.sync.messages import Join
from server.database import Database

INVITATION_MS: Final = 7 * 86_400_000


@dataclass(frozen=True, slots=True)
class Member:
    """One member of the club."""

    id: str
    name: str
    instructor: bool


class Accounts:
    """The members, invitations and devices of one club, in the club's database.

    number   of the club, which leads every key
    """

    def __init__(self, database: Database, number: int) -> None:
        self._database, self._number = database, number

    def add_member(self, name: str, *, instructor: bool) -> Member:
        """Keep a new member."""
        member = Member(uuid.uuid4().hex, name, instructor)
        query = "INSERT INTO members (club, id, name, instructor) VALUES (?, ?, ?, ?)"
        self._database.run(query, self._number, member.id, name, int(instructor))
        return member

    def members(self) -> list[Member]:
        """Return the members by name."""
        query = "SELECT id, name, instructor FROM members WHERE club = ? ORDER BY name, id"
        rows = self._database.all(query, self._number)
        return [Member(id_, name, bool(instructor)) for id_, name, instructor in rows]

    def member(self, member_id: str) -> Member | None:
        """Return a member, None where there is none of this id."""
        return next((member for member in self.members() if member.id == member_id), None)

    def remove_member(self, member_id: str) -> None:
        """Take away a member's name and invitations; the secrets stay, so that devices hear why."""
        self._database.run("DELETE FROM members WHERE club = ? AND id = ?", self._number, member_id)
        self._database.run("DELETE FROM invitations WHERE club = ? AND member = ?", self._number, member_id)

    def invite(self, member_id: str, now_ms: int) -> str:
        """Return the code of a new invitation; it is kept nowhere."""
        code = secrets.token_urlsafe(16)
        query = "INSERT INTO invitations (club, code, member, until_ms) VALUES (?, ?, ?, ?)"
        self._database.run(query, self._number, _digest(code), member_id, now_ms + INVITATION_MS)
        return code

    def join(self, asked: Join, now_ms: int) -> Member | None:
        """Let a device speak for the member that its invitation names, None where that is not good.

        The same device may ask again with the same secret.
        """
        code, token = _digest(asked.code), _digest(asked.token)
        query = "SELECT member, until_ms, token FROM invitations WHERE club = ? AND code = ?"
        row = self._database.one(query, self._number, code)
        if row is None or row[2] not in (None, token) or (row[2] is None and row[1] < now_ms):
            return None
        query = "UPDATE invitations SET token = ? WHERE club = ? AND code = ?"
        self._database.run(query, token, self._number, code)
        self._keep_device(token, row[0], asked.name)
        return self.member(row[0])

    def _keep_device(self, token: str, member_id: str, name: str) -> None:
        query = (
            "INSERT INTO tokens (club, token, member, name) VALUES (?, ?, ?, ?)"
            " ON CONFLICT (club, token) DO UPDATE SET member = excluded.member, name = excluded.name"
        )
        self._database.run(query, self._number, token, member_id, name)

    def speaker(self, token: str) -> tuple[str, str] | None:
        """Return the device and the member that a secret speaks for."""
        digest = _digest(token)
        query = "SELECT member FROM tokens WHERE club = ? AND token = ?"
        row = self._database.one(query, self._number, digest)
        return (digest, row[0]) if row else None

    def devices_of(self, member_id: str) -> list[tuple[str, str]]:
        """Return id and name of a member's devices."""
        query = "SELECT token, name FROM tokens WHERE club = ? AND member = ? ORDER BY name, token"
        return [(token, name) for token, name in self._database.all(query, self._number, member_id)]


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()
