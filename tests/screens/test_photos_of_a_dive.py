"""Photos on the page of a dive: added, marked on the chart, looked at, taken away; the camera put right."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from correcting import asked, dive_numbered, open_page, touch, weekend_and_two_by_hand
from driver import SIZES, Driver, OpenApp
from PIL import Image


@pytest.fixture
def photo(tmp_path: Path) -> Path:
    """A painted photo of a camera that wrote 14 Nov 2026, 11:20:00; dive 214 began at 11:05."""
    told = Image.Exif()
    told.get_ifd(0x8769)[36867] = "2026:11:14 11:20:00"
    image = Image.new("RGB", (900, 600), (20, 90, 130))
    image.paste((240, 230, 200), (0, 400, 900, 600))
    path = tmp_path / "pike.jpg"
    image.save(path, exif=told)
    return path


@pytest.fixture
def page(open_app: OpenApp, tmp_path: Path) -> Driver:
    return open_page(open_app(weekend_and_two_by_hand(tmp_path / "photos.leadline")), 214)


def add(page: Driver, *paths: Path) -> None:
    """Drop files on the window, as on a desk."""
    page.window.dispatch("on_drop_begin", 0, 0)
    for path in paths:
        page.window.dispatch("on_drop_file", str(path).encode(), 0, 0)
    page.window.dispatch("on_drop_end", 0, 0)
    page.idle()
    page.idle()


def place_of(page: Driver) -> float:
    return float(page.find(test_id="chart").photos[0][0])


def test_a_photo_is_added_marked_and_taken_back(page: Driver, photo: Path) -> None:
    before = dive_numbered(page, 214)
    add(page, photo)
    after = dive_numbered(page, 214)
    (kept,) = after.photos
    expected_s = (before.began_local.replace(hour=11, minute=20, second=0) - before.began_local) / timedelta(
        seconds=1
    )
    assert place_of(page) == expected_s
    assert page.find(test_id="photo-0").texture is not None
    assert asked(page, lambda logbook: logbook.photo(kept.sha256)) == photo.read_bytes()
    page.tap(test_id="undo")
    page.idle()
    assert dive_numbered(page, 214) == before


def test_the_cameras_clock_is_stepped_and_kept_as_one_change(page: Driver, photo: Path) -> None:
    add(page, photo)
    place_s, dive = place_of(page), dive_numbered(page, 214)
    lines = len(asked(page, lambda logbook: logbook.history(dive.id)))
    for _ in range(3):
        page.tap(page.bring_into_view(page.find(test_id="camera-more")))
    assert page.find(test_id="camera-ahead").text == "3 min"
    page.wait(1.2)
    page.idle()
    assert dive_numbered(page, 214).camera_ahead_s == 180
    assert place_of(page) == place_s - 180
    assert len(asked(page, lambda logbook: logbook.history(dive.id))) == lines + 1


def test_what_is_no_photo_is_said_and_the_others_are_added(page: Driver, photo: Path, tmp_path: Path) -> None:
    (tmp_path / "notes.jpg").write_text("Two pike.")
    before = dive_numbered(page, 214)
    add(page, tmp_path / "notes.jpg", photo)
    assert page.says("1 photo is added. notes.jpg is no picture that can be read")
    assert len(dive_numbered(page, 214).photos) == 1
    page.tap(test_id="undo")
    page.idle()
    assert dive_numbered(page, 214) == before


def test_photos_that_are_there_already_are_not_added_twice(page: Driver, photo: Path) -> None:
    add(page, photo)
    add(page, photo)
    assert page.says("These photos are there already.")
    assert not page.find_all(test_id="undo")
    assert len(dive_numbered(page, 214).photos) == 1


def test_files_that_are_no_pictures_are_brought_in_as_before(page: Driver, tmp_path: Path) -> None:
    (tmp_path / "wrist.uddf").write_text("<uddf/>")
    add(page, tmp_path / "wrist.uddf")
    assert page.app.shell.rooms.current == "import"


@pytest.mark.parametrize("size", SIZES)
def test_a_photo_fills_the_screen_and_can_be_taken_away(
    open_app: OpenApp, tmp_path: Path, photo: Path, size: str
) -> None:
    app = open_app(weekend_and_two_by_hand(tmp_path / "photos.leadline"), size=SIZES[size])
    page = open_page(app, 214)
    add(page, photo)
    touch(page, "photo-0")
    page.idle()
    shown = page.find(test_id="photo")
    assert shown.texture.size == (900, 600)
    assert shown.width >= 0.75 * page.window.width - 120
    assert page.misfits() == []
    touch(page, "remove-photo")
    page.idle()
    assert page.app.shell.rooms.current == "dive"
    assert dive_numbered(page, 214).photos == ()
    page.tap(test_id="undo")
    page.idle()
    assert len(dive_numbered(page, 214).photos) == 1


def test_photos_are_chosen_from_the_folders_where_there_is_no_chooser(
    page: Driver, photo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from logbook_app.screens import dive_page, photo_page

    monkeypatch.setattr(dive_page, "has_file_chooser", lambda: False)
    monkeypatch.setattr(photo_page, "starting_folder", lambda: photo.parent)
    touch(page, "add-photos")
    page.idle()
    page.frames(4)
    touch(page, "file-pike.jpg")
    touch(page, "add-chosen")
    page.idle()
    assert page.app.shell.rooms.current == "dive"
    assert [each.file_name for each in dive_numbered(page, 214).photos] == ["pike.jpg"]
