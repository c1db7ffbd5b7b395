"""What a member may do in the club: a role, and for whom the member may sign.

The role is one of three, each with all that the one before it has. To sign is not a step of that ladder:
an officer need not be an instructor, and an instructor runs no club.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

ANYTHING: Final = "*"


class Role(StrEnum):
    """From the least to the most."""

    MEMBER = "member"
    OFFICER = "officer"  # invites, removes, sees names in the safety digest, enters paper histories
    ADMIN = "admin"  # gives roles, takes backups, erases

    @property
    def rank(self) -> int:
        """Higher for who may more."""
        return list(Role).index(self)


class SignsAs(StrEnum):
    """As what a member signs."""

    NOTHING = ""
    DIVE_LEADER = "dive leader"
    INSTRUCTOR = "instructor"


@dataclass(frozen=True, slots=True)
class Member:
    """One member of the club.

    signs_for   ids of the qualifications toward which the member signs; `*` is all of them
    left_ms     when the member left or was removed, 0 for who belongs to the club
    """

    id: str
    name: str
    role: Role = Role.MEMBER
    signs_as: SignsAs = SignsAs.NOTHING
    signs_for: frozenset[str] = frozenset()
    left_ms: int = 0

    @property
    def signs(self) -> bool:
        """Whether the member signs anything."""
        return bool(self.signs_as and self.signs_for)

    def may_act_as(self, role: Role) -> bool:
        """Return whether the member has all that this role has."""
        return not self.left_ms and self.role.rank >= role.rank

    def may_sign(self, qualification: str) -> bool:
        """Return whether the member signs toward a qualification; an empty name is toward none."""
        return (
            self.signs
            and not self.left_ms
            and (not qualification or bool({qualification, ANYTHING} & self.signs_for))
        )
