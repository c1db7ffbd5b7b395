"""Where a device's secret lies: in the system's keyring, or in a file that only its owner can read."""

from __future__ import annotations

import stat
from collections.abc import Iterator
from pathlib import Path

import keyring
import pytest
from keyring.backend import KeyringBackend
from keyring.backends.fail import Keyring as NoKeyring

from logbook_app.dive.problems import NoClub
from logbook_app.sync.membership import Membership, MembershipFile

pytestmark = pytest.mark.law


class InMemory(KeyringBackend):
    """A keyring that works, until it is locked."""

    priority = 1

    def __init__(self) -> None:
        super().__init__()
        self.kept: dict[tuple[str, str], str] = {}
        self.locked = False

    def get_password(self, service: str, username: str) -> str | None:
        self._open()
        return self.kept.get((service, username))

    def set_password(self, service: str, username: str, password: str) -> None:
        self._open()
        self.kept[service, username] = password

    def delete_password(self, service: str, username: str) -> None:
        self._open()
        del self.kept[service, username]

    def _open(self) -> None:
        if self.locked:
            raise keyring.errors.KeyringLocked


@pytest.fixture
def system() -> Iterator[InMemory]:
    before, here = keyring.get_keyring(), InMemory()
    keyring.set_keyring(here)
    yield here
    keyring.set_keyring(before)


@pytest.fixture
def no_system() -> Iterator[None]:
    before = keyring.get_keyring()
    keyring.set_keyring(NoKeyring())
    yield
    keyring.set_keyring(before)


MINE = Membership.new("https://club.example")


def test_a_secret_goes_to_the_keyring_and_is_in_no_file(system: InMemory, tmp_path: Path) -> None:
    file = MembershipFile(tmp_path / "logbook.leadline")
    file.write(MINE)
    assert list(system.kept.values()) == [MINE.token]
    assert MINE.token not in file.path.read_text()
    assert file.read() == MINE
    file.remove()
    assert system.kept == {}
    assert file.read() is None


def test_two_logbooks_have_two_secrets(system: InMemory, tmp_path: Path) -> None:
    files = [MembershipFile(tmp_path / name) for name in ("one.leadline", "two.leadline")]
    memberships = [Membership.new("https://club.example") for _ in files]
    for file, membership in zip(files, memberships, strict=True):
        file.write(membership)
    assert [file.read() for file in files] == memberships
    assert len(system.kept) == 2


@pytest.mark.usefixtures("no_system")
def test_without_a_keyring_the_file_is_the_owners_alone(tmp_path: Path) -> None:
    file = MembershipFile(tmp_path / "logbook.leadline")
    file.write(MINE)
    assert file.read() == MINE
    assert stat.S_IMODE(file.path.stat().st_mode) == 0o600


def test_a_keyring_that_is_locked_when_it_is_written_to_counts_as_none(
    system: InMemory, tmp_path: Path
) -> None:
    file = MembershipFile(tmp_path / "logbook.leadline")
    system.locked = True
    file.write(MINE)
    assert file.read() == MINE


def test_a_keyring_that_is_locked_later_is_said(system: InMemory, tmp_path: Path) -> None:
    file = MembershipFile(tmp_path / "logbook.leadline")
    file.write(MINE)
    system.locked = True
    with pytest.raises(NoClub, match="unlock it, or join anew"):
        file.read()
    system.locked = False
    assert file.read() == MINE
