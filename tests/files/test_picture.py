"""A picture is taken as it is; its time comes from EXIF; what is no picture is refused in a sentence.

The pictures are painted here with Pillow. Tags and their form are those of EXIF 2.31 (CIPA DC-008-2016,
4.6.5; recalled, not seen in print): DateTimeOriginal is 36867, OffsetTimeOriginal 36881, DateTime 306.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from pathlib import Path

import pytest
from PIL import Image

from logbook_app.dive.hand_entry import HandEntry
from logbook_app.dive.photo import Photo
from logbook_app.dive.problems import LogbookError, RefusedFile, RefusedRecord
from logbook_app.files import picture
from logbook_app.files.picture import read_picture
from logbook_app.logbook import Logbook

NOON = datetime(2026, 6, 1, 12, tzinfo=UTC)


def painted(
    path: Path, *, size: tuple[int, int] = (640, 480), exif: dict[int, str] | None = None, turned: int = 0
) -> Path:
    """Paint a picture, blue above and sand below, with what a camera writes of it."""
    image = Image.new("RGB", size, (20, 90, 130))
    image.paste((240, 230, 200), (0, size[1] // 2, *size))
    told = Image.Exif()
    if turned:
        told[0x0112] = turned
    for tag, value in (exif or {}).items():
        if tag == 306:
            told[tag] = value
        else:
            told.get_ifd(0x8769)[tag] = value
    image.save(path, exif=told)
    return path


@pytest.mark.published
@pytest.mark.parametrize(
    ("exif", "offset_min", "taken"),
    [
        ({36867: "2026:06:01 12:20:05"}, 120, "2026-06-01T12:20:05"),
        ({36867: "2026:06:01 12:20:05", 36881: "+05:00"}, 120, "2026-06-01T09:20:05"),
        ({306: "2026:06:01 12:20:05"}, 0, "2026-06-01T12:20:05"),
        ({36867: "    :  :     :  :  "}, 0, ""),
        ({}, 0, ""),
    ],
)
def test_the_time_is_the_cameras_brought_to_the_dock_where_it_says_its_offset(
    tmp_path: Path, exif: dict[int, str], offset_min: int, taken: str
) -> None:
    assert read_picture(painted(tmp_path / "pike.jpg", exif=exif), offset_min).taken_local == taken


@pytest.mark.law
def test_a_picture_is_kept_to_the_last_byte_with_a_small_one_the_right_way_up(tmp_path: Path) -> None:
    path = painted(tmp_path / "pike.jpg", turned=6)  # EXIF: turn a quarter clockwise to see it upright
    read = read_picture(path, 0)
    assert read.data == path.read_bytes()
    assert read.sha256 == sha256(path.read_bytes()).hexdigest()
    with Image.open(io.BytesIO(read.thumbnail)) as small:
        assert small.format == "JPEG"
        assert small.height == 360 > small.width
        assert small.getpixel((10, 180))[2] < 220 < small.getpixel((10, 180))[0]  # sand comes to the left


@pytest.mark.parametrize("ending", ["png", "webp", "tif", "bmp", "gif"])
def test_other_forms_are_read(tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"pike.{ending}"
    Image.new("P" if ending == "gif" else "RGB", (20, 10)).save(path)
    assert read_picture(path, 0).thumbnail


@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("notes.jpg", b"Two pike under the jetty.", "notes.jpg is no picture that can be read"),
        ("empty.png", b"", "empty.png is no picture that can be read"),
        ("half.jpg", None, "half.jpg is no picture that can be read"),
    ],
)
def test_what_is_no_picture_is_refused_in_a_sentence(
    tmp_path: Path, name: str, data: bytes | None, words: str
) -> None:
    path = tmp_path / name
    path.write_bytes(painted(tmp_path / "whole.jpg").read_bytes()[:900] if data is None else data)
    with pytest.raises(RefusedFile, match=words):
        read_picture(path, 0)


def test_what_is_not_there_or_too_large_is_refused_in_a_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(RefusedFile, match="cannot be read: No such file"):
        read_picture(tmp_path / "gone.jpg", 0)
    monkeypatch.setattr(picture, "LARGEST_MB", 0.001)
    with pytest.raises(RefusedFile, match="make it smaller"):
        read_picture(painted(tmp_path / "large.jpg"), 0)


@pytest.mark.derived
@pytest.mark.parametrize(("ahead_s", "time_s"), [(0, 1205.0), (120, 1085.0), (-60, 1265.0)])
def test_a_photo_has_its_place_on_the_dive_by_the_camera_less_its_lead(ahead_s: int, time_s: float) -> None:
    """20 min 5 s after noon on the dock; a camera two minutes ahead took it two minutes earlier."""
    photo = Photo("0" * 64, "pike.jpg", "2026-06-01T12:20:05")
    assert photo.time_s(NOON, ahead_s) == time_s
    assert Photo("0" * 64).time_s(NOON, ahead_s) is None


def test_a_time_that_no_camera_writes_is_refused() -> None:
    for text in ("yesterday", "2026-06-01T12:20:05+02:00"):
        with pytest.raises(RefusedRecord, match="no time that a camera"):
            Photo("0" * 64, "", text)


@pytest.fixture
def logbook(tmp_path: Path) -> Iterator[Logbook]:
    with closing(Logbook.open(tmp_path / "a.leadline", now=lambda: NOON + timedelta(days=1))) as opened:
        opened.add_by_hand(HandEntry(began_local=NOON, duration_min=45, max_depth_m=18))
        yield opened


@pytest.mark.law
def test_photos_are_added_taken_away_and_come_back_with_the_undo(logbook: Logbook, tmp_path: Path) -> None:
    dive = logbook.dives()[0]
    paths = [painted(tmp_path / "a.jpg"), painted(tmp_path / "b.jpg", size=(320, 480)), tmp_path / "no.jpg"]
    changes, problems = logbook.add_photos(dive.id, paths)
    assert [problem.file for problem in problems] == ["no.jpg"]
    photos = logbook.dive(dive.id).photos
    assert [photo.file_name for photo in photos] == ["a.jpg", "b.jpg"]
    assert logbook.photo(photos[0].sha256) == paths[0].read_bytes()
    assert set(logbook.thumbnails(logbook.dive(dive.id))) == {photo.sha256 for photo in photos}
    assert logbook.add_photos(dive.id, [paths[0]])[0].change_id == 0  # it is there already
    gone = logbook.change_dive(dive.id, photos=photos[1:])
    logbook.take_back(gone.change_id)
    assert logbook.dive(dive.id).photos == photos
    logbook.take_back(changes.change_id)
    assert logbook.dive(dive.id) == dive


@pytest.mark.law
def test_a_backup_takes_the_pictures_along(logbook: Logbook, tmp_path: Path) -> None:
    dive = logbook.dives()[0]
    path = painted(tmp_path / "a.jpg")
    logbook.add_photos(dive.id, [path])
    made = logbook.back_up(tmp_path / "backup.leadline")
    with closing(Logbook.open(made.path)) as copy:
        assert copy.photo(copy.dives()[0].photos[0].sha256) == path.read_bytes()


def test_a_picture_that_is_damaged_or_was_never_here_is_said(logbook: Logbook, tmp_path: Path) -> None:
    dive = logbook.dives()[0]
    logbook.add_photos(dive.id, [painted(tmp_path / "a.jpg")])
    logbook._store._connection.execute("UPDATE pictures SET image = x'00'")
    assert any("The photo" in problem.what for problem in logbook.check())
    with pytest.raises(LogbookError, match="damaged"):
        logbook.photo(logbook.dive(dive.id).photos[0].sha256)
    with pytest.raises(LogbookError, match="another device"):
        logbook.photo("0" * 64)
