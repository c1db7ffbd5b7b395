"""A recording that another app hands over becomes a file of ours; whatever else comes is left alone."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from logbook_app.screens.opened_files import copy_of_opened, watch_for_opened_files


class Address:
    """Stands for an address of Android: what it is called, and what it leads to."""

    def __init__(self, last: str | None, path: Path) -> None:
        self.last, self.path = last, path

    def getLastPathSegment(self) -> str | None:  # noqa: N802 - as Android has it
        return self.last


class Intent:
    def __init__(self, action: str, address: Address | None) -> None:
        self.action, self.address = action, address

    def getAction(self) -> str:  # noqa: N802
        return self.action

    def getData(self) -> Address | None:  # noqa: N802
        return self.address


class Resolver:
    """Opens what an address leads to; the descriptor is the caller's to close."""

    def openFileDescriptor(self, address: Address, _mode: str) -> Resolver:  # noqa: N802
        self.descriptor = os.open(address.path, os.O_RDONLY)
        return self

    def detachFd(self) -> int:  # noqa: N802
        return self.descriptor


VIEW = "android.intent.action.VIEW"


@pytest.mark.parametrize(
    ("last", "name"),
    [
        ("weekend.uddf", "weekend.uddf"),
        ("primary:Download/weekend.uddf", "weekend.uddf"),
        ("../../etc/passwd", "passwd"),
        (".hidden", "hidden"),
        ("msf:4711", "msf_4711"),
        (None, "opened"),
    ],
)
def test_what_is_handed_over_is_copied_under_a_name_of_its_own(tmp_path, last, name):
    given = tmp_path / "given"
    given.write_bytes(b"<uddf/>")
    copy = copy_of_opened(Intent(VIEW, Address(last, given)), Resolver(), tmp_path / "opened")
    assert copy == tmp_path / "opened" / name
    assert copy.read_bytes() == b"<uddf/>"


def test_an_app_that_is_just_started_opens_nothing(tmp_path):
    assert copy_of_opened(Intent("android.intent.action.MAIN", None), Resolver(), tmp_path) is None
    assert copy_of_opened(Intent(VIEW, None), Resolver(), tmp_path) is None
    assert copy_of_opened(None, Resolver(), tmp_path) is None


def test_a_file_that_is_taken_back_is_no_trouble(tmp_path):
    gone = Intent(VIEW, Address("gone.uddf", tmp_path / "gone"))
    assert copy_of_opened(gone, Resolver(), tmp_path / "opened") is None


def test_on_a_desk_nothing_is_watched(tmp_path):
    watch_for_opened_files(lambda: tmp_path / "opened", lambda _path: pytest.fail("nothing can come here"))
    assert not (tmp_path / "opened").exists()
