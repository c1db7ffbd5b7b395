"""German words are longer: every room still fits, on the smallest phone and on a tablet."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from driver import Driver, OpenApp
from entering import enter

from logbook_app.catalogues import use_language
from logbook_app.demo_logbook import demo_clock, make_demo_logbook
from logbook_app.logbook import Logbook
from logbook_app.screens.rooms import DOORWAYS

SIZES = ((360, 640), (1280, 800))
ROOMS = [name for name in DOORWAYS if name != "help"]  # whose pages are looked at one by one


@pytest.fixture(scope="module")
def german_demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo logbook of a diver who reads German."""
    path = tmp_path_factory.mktemp("german") / "demo.leadline"
    make_demo_logbook(path)
    logbook = Logbook.open(path)
    logbook.change_settings(replace(logbook.settings(), language="de"))
    logbook.close()
    return path


@pytest.fixture
def app(german_demo: Path, open_app: OpenApp, tmp_path: Path) -> Iterator[Driver]:
    path = Path(shutil.copy(german_demo, tmp_path / "demo.leadline"))
    yield open_app(path, at=demo_clock()())
    use_language("en")


@pytest.mark.parametrize("room", ROOMS)
def test_a_room_fits_in_german(app: Driver, room: str, tmp_path: Path) -> None:
    enter(app, room, tmp_path)
    for size in SIZES:
        app.resize(*size)
        app.frames(4)
        app.idle()
        assert app.misfits() == []


@pytest.mark.parametrize("room", [name for name in DOORWAYS if name != "help"])
def test_its_help_fits_in_german(app: Driver, room: str) -> None:
    app.app.open_help(room)
    app.idle()
    for size in SIZES:
        app.resize(*size)
        app.frames(4)
        assert app.misfits() == []
