"""Fixtures for the rooms; the window and the app come from tests/conftest.py."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from bringing_in import ONE_DIVE, SEASON, WEEKEND

from logbook_app.shipped_files import shipped_folder


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A home with recordings in its downloads, on a device without a chooser of its own."""
    from logbook_app.screens import import_page

    home = tmp_path / "home"
    downloads = home / "Downloads"
    (downloads / "Older").mkdir(parents=True)
    for name in (WEEKEND, SEASON, ONE_DIVE):
        shutil.copy(shipped_folder("demo_data") / name, downloads / name)
    (downloads / "broken.uddf").write_text("<uddf><profiledata>")
    (downloads / "picture.jpg").write_bytes(b"\xff\xd8")
    monkeypatch.setenv("HOME", str(home))
    monkeypatch.setattr(import_page, "has_file_chooser", lambda: False)
    return home
