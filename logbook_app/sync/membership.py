"""The device's secret and the club it is for: a small file beside the logbook that only its owner can read.

The secret itself is in the system's keyring where there is one; the file then says so in its place. It is
never a part of the logbook file, of an export or of a backup: who is given one of those must not be able to
speak for the diver.
"""

from __future__ import annotations

import json
import os
import secrets
from contextlib import suppress
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Final

from logbook_app.dive.problems import NoClub
from logbook_app.language import _
from logbook_app.sync.system_keyring import forget_secret, keep_secret, kept_secret

IN_KEYRING: Final = "in the keyring"


@dataclass(frozen=True, slots=True)
class Membership:
    """A club that this device speaks with.

    token        the device's secret
    member, club   as the club said when it was joined; empty while its answer is awaited
    plain_host   that may be talked to without TLS
    """

    address: str
    token: str
    member: str = ""
    club: str = ""
    plain_host: str = ""

    @classmethod
    def new(cls, address: str, plain_host: str = "") -> Membership:
        """Return one with a new secret."""
        return cls(address, secrets.token_hex(32), plain_host=plain_host)


class MembershipFile:
    """The file for one logbook.

    logbook_path   of the logbook file
    """

    def __init__(self, logbook_path: Path) -> None:
        self.path = logbook_path.with_name(f"{logbook_path.name}.club")

    def read(self) -> Membership | None:
        """Return what is kept, None where there is nothing. Raises NoClub where it cannot be read."""
        try:
            told = json.loads(self.path.read_text(encoding="utf-8"))
            return _with_secret(Membership(**{name: str(value) for name, value in told.items()}), self.path)
        except FileNotFoundError:
            return None
        except (OSError, ValueError, TypeError, AttributeError) as error:
            raise NoClub(
                _("{path} cannot be read; remove it and join the club anew.").format(path=self.path)
            ) from error

    def write(self, membership: Membership) -> None:
        """Keep it, on the disk before this returns. Raises NoClub where it cannot be kept."""
        name = _name_of(self.path)
        in_keyring = keep_secret(name, membership.token)
        kept = replace(membership, token=IN_KEYRING) if in_keyring else membership
        _write_secret(self.path, asdict(kept))

    def remove(self) -> None:
        """Forget it."""
        forget_secret(_name_of(self.path))
        with suppress(FileNotFoundError):
            self.path.unlink()


class LeftClubs:
    """Clubs that were left and that have not been told yet, in a file like the one of the membership.

    logbook_path   of the logbook file
    """

    def __init__(self, logbook_path: Path) -> None:
        self.path = logbook_path.with_name(f"{logbook_path.name}.club-left")

    def all(self) -> list[Membership]:
        """Return them; a file that cannot be read names none."""
        try:
            told = json.loads(self.path.read_text(encoding="utf-8"))
            return [Membership(**{name: str(value) for name, value in each.items()}) for each in told]
        except (OSError, ValueError, TypeError, AttributeError):
            return []

    def add(self, membership: Membership) -> None:
        """Keep one more. Raises NoClub where it cannot be kept."""
        self._write([*self.all(), membership])

    def remove(self, membership: Membership) -> None:
        """Forget one. Raises NoClub where that cannot be kept."""
        self._write([each for each in self.all() if each != membership])

    def _write(self, left: list[Membership]) -> None:
        if left:
            _write_secret(self.path, [asdict(each) for each in left])
        else:
            self.path.unlink(missing_ok=True)


def _with_secret(membership: Membership, path: Path) -> Membership:
    """Return a membership with its secret. Raises NoClub where the keyring does not give it."""
    if membership.token != IN_KEYRING:
        return membership
    secret = kept_secret(_name_of(path))
    if secret is None:
        raise NoClub(
            _("The keyring of this system does not give the secret for the club: unlock it, or join anew.")
        )
    return replace(membership, token=secret)


def _name_of(path: Path) -> str:
    return str(path.absolute())


def _write_secret(path: Path, told: object) -> None:
    """Write a file that only its owner can read, whole or not at all. Raises NoClub where it cannot be."""
    unfinished = path.with_name(f"{path.name}.unfinished")
    try:
        unfinished.unlink(missing_ok=True)
        handle = os.open(unfinished, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            json.dump(told, file)
            file.flush()
            os.fsync(file.fileno())
        unfinished.replace(path)
    except OSError as error:
        raise NoClub(
            _("{path} cannot be written: {reason}.").format(path=path, reason=error.strerror or error)
        ) from error
