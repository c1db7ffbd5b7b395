"""Who looks at the pages: passwords, sessions, and how often somebody may try.

A password is something that people think of, so it is kept as argon2id, which is slow on purpose. The
token of a session is something that nobody can guess, so its SHA-256 is enough. Tries are counted in the
club's database: several processes count together, and a restart forgets nothing.
"""

from __future__ import annotations

import hashlib
import secrets
from functools import cache
from typing import Final

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from server.database import Database

SESSION_MS: Final = 14 * 86_400_000
TRIES: Final = 5
TRIES_WITHIN_MS: Final = 15 * 60_000
TRIES_OF_AN_ADDRESS: Final = 30  # a club house has one address
SHORTEST_PASSWORD, LONGEST_PASSWORD = 10, 200

# 46 MiB and one pass: one of the settings that the OWASP cheat sheet on passwords names.
_HASHER: Final = PasswordHasher(time_cost=1, memory_cost=46 * 1024, parallelism=1)


def new_token() -> str:
    """Return a token that nobody can guess."""
    return secrets.token_urlsafe(32)


def form_token(session_token: str) -> str:
    """Return what a form carries, so that a form on another site cannot speak for who is signed in."""
    return digest_of("forms of " + session_token)


def digest_of(secret: str) -> str:
    """Return how a secret is kept."""
    return hashlib.sha256(secret.encode()).hexdigest()


class Sessions:
    """Passwords, sessions and tries of one club."""

    def __init__(self, database: Database, club: int) -> None:
        self._database, self._club = database, club

    def set_password(self, member_id: str, password: str) -> None:
        """Keep a password and end every session that was begun with another."""
        self._keep(member_id, _HASHER.hash(password))
        self.end_all(member_id)

    def has_password(self, member_id: str) -> bool:
        """Return whether a member has one."""
        return self._kept(member_id) is not None

    def password_is(self, member_id: str, password: str) -> bool:
        """Return whether this is the member's password. Takes as long for a member that is not there."""
        kept = self._kept(member_id)
        try:
            _HASHER.verify(kept or _nobodys(), password)
        except (VerificationError, InvalidHashError):
            return False
        if kept and _HASHER.check_needs_rehash(kept):
            self._keep(member_id, _HASHER.hash(password))
        return kept is not None

    def _keep(self, member_id: str, digest: str) -> None:
        query = (
            "INSERT INTO passwords (club, member, digest) VALUES (?, ?, ?)"
            " ON CONFLICT (club, member) DO UPDATE SET digest = excluded.digest"
        )
        self._database.run(query, self._club, member_id, digest)

    def _kept(self, member_id: str) -> str | None:
        query = "SELECT digest FROM passwords WHERE club = ? AND member = ?"
        row = self._database.one(query, self._club, member_id)
        return row[0] if row else None

    def begin(self, member_id: str, now_ms: int) -> str:
        """Begin a session and return its token."""
        token = new_token()
        self._database.run("DELETE FROM sessions WHERE club = ? AND until_ms < ?", self._club, now_ms)
        self._database.run(
            "INSERT INTO sessions (club, until_ms, token, member) VALUES (?, ?, ?, ?)",
            self._club, now_ms + SESSION_MS, digest_of(token), member_id,
        )  # fmt: skip
        return token

    def member_of(self, token: str, now_ms: int) -> str:
        """Return the member whose session this is, empty where it is nobody's or has ended."""
        query = "SELECT member FROM sessions WHERE club = ? AND token = ? AND until_ms >= ?"
        row = self._database.one(query, self._club, digest_of(token), now_ms)
        return row[0] if row else ""

    def end(self, token: str) -> None:
        """End a session."""
        query = "DELETE FROM sessions WHERE club = ? AND token = ?"
        self._database.run(query, self._club, digest_of(token))

    def end_all(self, member_id: str) -> None:
        """End every session of a member."""
        self._database.run("DELETE FROM sessions WHERE club = ? AND member = ?", self._club, member_id)

    def forget(self, member_id: str) -> None:
        """Take away what is kept of a member here."""
        self._database.run("DELETE FROM passwords WHERE club = ? AND member = ?", self._club, member_id)
        self.end_all(member_id)

    def wait_ms(self, who: str, now_ms: int, most: int = TRIES) -> int:
        """Return how long somebody has to wait before trying again, 0 where not at all."""
        query = "SELECT at_ms FROM tries WHERE club = ? AND who = ? AND at_ms > ? ORDER BY at_ms DESC LIMIT ?"
        since = now_ms - TRIES_WITHIN_MS
        times = [at for (at,) in self._database.all(query, self._club, digest_of(who), since, most)]
        return int(times[-1]) + TRIES_WITHIN_MS - now_ms if len(times) == most else 0

    def note_try(self, who: str, now_ms: int) -> None:
        """Count a try that failed."""
        self._database.run(
            "DELETE FROM tries WHERE club = ? AND at_ms < ?", self._club, now_ms - TRIES_WITHIN_MS
        )
        self._database.run(
            "INSERT INTO tries (club, at_ms, who, id) VALUES (?, ?, ?, ?)",
            self._club, now_ms, digest_of(who), secrets.token_hex(8),
        )  # fmt: skip


@cache
def _nobodys() -> str:
    return _HASHER.hash(secrets.token_hex(8))
