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
from server.database import Database, Row
from server.roles import Member, Role, SignsAs

INVITATION_MS: Final = 7 * 86_400_000


_MEMBER: Final = "id, name, role, signs_as, signs_for, left_ms"
_BROWSER: Final = "browser"  # used up by a person on the pages, and by no device


@dataclass(frozen=True, slots=True)
class OpenInvitation:
    """An invitation that nobody has used yet.

    id   what the club keeps of its code
    """

    id: str
    member: str
    until_ms: int


class Accounts:
    """The members, invitations and devices of one club, in the club's database.

    number   of the club, which leads every key
    """

    def __init__(self, database: Database, number: int) -> None:
        self._database, self._number = database, number

    def add_member(
        self,
        name: str,
        role: Role = Role.MEMBER,
        signs_as: SignsAs = SignsAs.NOTHING,
        signs_for: frozenset[str] = frozenset(),
    ) -> Member:
        """Keep a new member."""
        member = Member(uuid.uuid4().hex, name, role, signs_as, signs_for)
        query = "INSERT INTO members (club, id, name, role, signs_as, signs_for) VALUES (?, ?, ?, ?, ?, ?)"
        values = (member.id, name, role.value, signs_as.value, _words(signs_for))
        self._database.run(query, self._number, *values)
        return member

    def members(self) -> list[Member]:
        """Return the members by name, those who left as well."""
        query = f"SELECT {_MEMBER} FROM members WHERE club = ? ORDER BY name, id"  # noqa: S608
        return [_member(row) for row in self._database.all(query, self._number)]

    def member(self, member_id: str) -> Member | None:
        """Return a member, None where there is none of this id."""
        query = f"SELECT {_MEMBER} FROM members WHERE club = ? AND id = ?"  # noqa: S608
        row = self._database.one(query, self._number, member_id)
        return _member(row) if row else None

    def give_role(self, member_id: str, role: Role) -> None:
        """Give a member a role."""
        query = "UPDATE members SET role = ? WHERE club = ? AND id = ?"
        self._database.run(query, role.value, self._number, member_id)

    def give_signing(self, member_id: str, signs_as: SignsAs, signs_for: frozenset[str]) -> None:
        """Say as what a member signs, and toward which qualifications."""
        query = "UPDATE members SET signs_as = ?, signs_for = ? WHERE club = ? AND id = ?"
        self._database.run(query, signs_as.value, _words(signs_for), self._number, member_id)

    def let_go(self, member_id: str, left_ms: int) -> None:
        """Let a member be out of the club from this instant on, or back in it where it is 0."""
        query = "UPDATE members SET left_ms = ? WHERE club = ? AND id = ?"
        self._database.run(query, left_ms, self._number, member_id)
        query = "DELETE FROM invitations WHERE club = ? AND member = ? AND token IS NULL"
        self._database.run(query, self._number, member_id)

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

    def open_invitations(self, now_ms: int) -> list[OpenInvitation]:
        """Return the invitations that are good, the one that ends first before the others."""
        query = (
            "SELECT code, member, until_ms FROM invitations"
            " WHERE club = ? AND token IS NULL AND until_ms >= ? ORDER BY until_ms, code"
        )
        return [OpenInvitation(*row) for row in self._database.all(query, self._number, now_ms)]

    def withdraw(self, invitation: str) -> str:
        """Let an open invitation be good for nobody; return whose it was, empty where it is not open."""
        query = "SELECT member FROM invitations WHERE club = ? AND code = ? AND token IS NULL"
        row = self._database.one(query, self._number, invitation)
        query = "DELETE FROM invitations WHERE club = ? AND code = ? AND token IS NULL"
        self._database.run(query, self._number, invitation)
        return row[0] if row else ""

    def use_up(self, code: str, now_ms: int) -> Member | None:
        """Return whom an invitation names and let it be good for nothing more; None where it is not good."""
        query = "SELECT member, until_ms, token FROM invitations WHERE club = ? AND code = ?"
        row = self._database.one(query, self._number, _digest(code))
        if row is None or row[2] is not None or row[1] < now_ms:
            return None
        query = "UPDATE invitations SET token = ? WHERE club = ? AND code = ?"
        self._database.run(query, _BROWSER, self._number, _digest(code))
        return self.member(row[0])

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


def _member(row: Row) -> Member:
    member_id, name, role, signs_as, signs_for, left_ms = row
    return Member(member_id, name, Role(role), SignsAs(signs_as), frozenset(signs_for.split()), left_ms)


def _words(names: frozenset[str]) -> str:
    return " ".join(sorted(names))


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()
