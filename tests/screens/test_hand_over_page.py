"""A dive is handed over at the dock: the name is written once, and the code on the screen can be read."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from bringing_in import asked, bring_in
from driver import SIZES, Driver, OpenApp

from logbook_app.demo_logbook import demo_clock, throw_away_demo
from logbook_app.files.code_picture import read_code
from logbook_app.files.picture_code import parse_picture_code
from logbook_app.logbook import FORMATS


@pytest.fixture
def demo() -> Iterator[Path]:
    """The demo logbook, to be thrown away."""
    with throw_away_demo() as path:
        yield path


def open_page(open_app: OpenApp, demo: Path, size: tuple[int, int] = SIZES["tablet"]) -> Driver:
    """Go from the Buddies room to the last dive, as a diver does."""
    app = open_app(demo, size=size, at=demo_clock()())
    app.app.go("buddies")
    app.until(lambda: app.find_all(test_id="pair-0"), "a likely pair")
    app.idle()
    app.tap(app.bring_into_view(app.find(test_id="hand-over")))
    app.idle()
    app.idle()
    assert app.app.shell.rooms.current == "hand-over"
    return app


def write_name(app: Driver, name: str) -> None:
    app.tap(app.bring_into_view(app.find(test_id="own-name")))
    app.type(name)
    app.tap(app.bring_into_view(app.find(test_id="keep-name")))
    app.idle()
    app.idle()


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
def test_the_code_on_the_screen_is_read_by_another_library(
    open_app: OpenApp, demo: Path, tmp_path: Path, size: tuple[int, int]
) -> None:
    """In the night theme too it is black on white."""
    app = open_page(open_app, demo, size)
    assert app.find(test_id="handed-words").text.startswith("Write down your name first")
    assert not app.find_all(test_id="code")
    write_name(app, "Ada Brix")
    app.app.look.wear("night")
    square = app.bring_into_view(app.find(test_id="code"))
    app.frames(3)
    assert square.module_px >= 4
    assert app.misfits() == []
    picture = app.picture(tmp_path / "screen.png")
    read = parse_picture_code(read_code(picture, "screen.png"), "screen.png")
    newest = asked(app, lambda book: [dive for dive in book.own_dives() if dive.profile_sha256][-1])
    assert (read.dive.diver, read.dive.began_at) == ("Ada Brix", newest.began_at)
    assert app.find(test_id="handed-words").text.startswith("Depths to 0.1 m and times to the second")


def test_the_name_is_kept_for_the_next_dive(open_app: OpenApp, demo: Path) -> None:
    app = open_page(open_app, demo)
    write_name(app, "Ada Brix")
    assert asked(app, lambda logbook: logbook.settings().name) == "Ada Brix"
    other = asked(app, lambda logbook: [dive.id for dive in logbook.own_dives() if dive.profile_sha256][-2])
    app.app.open_dive(other)
    app.idle()
    app.idle()
    app.tap(app.bring_into_view(app.find(test_id="hand-over")))
    app.idle()
    app.idle()
    assert app.find_all(test_id="code")
    app.press_back()
    assert app.app.shell.rooms.current == "dive"


def test_it_goes_out_as_a_file(open_app: OpenApp, demo: Path) -> None:
    app = open_page(open_app, demo)
    app.tap(app.bring_into_view(app.find(test_id="hand-over-uddf")))
    app.idle()
    app.idle()
    assert list(demo.parent.glob("*.uddf"))


def test_a_photo_is_chosen_among_the_files_of_the_device(
    open_app: OpenApp, demo: Path, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Photos show for this visit alone; the dive comes in as its diver's."""
    from logbook_app.screens import buddies_room

    monkeypatch.setattr(buddies_room, "has_file_chooser", lambda: False)
    app = open_page(open_app, demo)
    write_name(app, "Ada Brix")
    picture = home / "Downloads" / "code.png"
    asked(app, lambda book: book.hand_over(book.own_dives()[-1].id).write_png(picture))
    asked(app, lambda book: book.change_settings(replace(book.settings(), name="")))
    app.press_back()
    app.idle()
    app.tap(app.bring_into_view(app.find(test_id="read-code")))
    app.idle()
    app.idle()
    assert app.app.shell.rooms.current == "import"
    bring_in(app, "code.png")
    assert app.find(test_id="report-heading").text == "1 dive added."
    assert asked(app, lambda book: [dive for dive in book.dives() if dive.diver == "Ada Brix"])
    app.press_back()
    assert app.app.shell.rooms.room("import").endings == list(FORMATS)
