"""A dive as a picture code: how large it is, what comes back, and what hostile letters meet."""

from __future__ import annotations

import zlib
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.problems import RefusedFile, RefusedRecord
from logbook_app.dive.profile import GasSwitch, Profile
from logbook_app.dive.record import Dive, Site
from logbook_app.files.base45 import from_base45, to_base45
from logbook_app.files.code_picture import MOST_VERSION, QUIET_ZONE, handed_over, read_code
from logbook_app.files.picture_code import MARK, left_out, parse_picture_code, picture_code
from logbook_app.files.read_dive import ReadOptions
from logbook_app.files.recording_file import read_recording
from logbook_app.logbook import Logbook
from logbook_app.physics.breathing_gas import AIR, BreathingGas
from logbook_app.shipped_files import shipped_folder
from tests.dive import strategies

LARGEST_VERSION = 25  # what an hour's dive at 10 s may need


def hour(step_s: float, noise_m: float = 0.4) -> tuple[Dive, Profile]:
    """An hour's dive nobody made, restless in every sample."""
    time_s = np.arange(0.0, 3601, step_s)
    depth_m = np.interp(time_s, [0, 180, 1500, 3000, 3420, 3600], [0, 31, 24, 12, 5, 0])
    noise = np.random.default_rng(7).normal(0, noise_m, len(time_s))
    depth_m = np.round(np.maximum(0, depth_m + noise * (depth_m > 2)), 1)
    dive = Dive(
        began_at=datetime(2026, 6, 14, 8, 5, 12, tzinfo=UTC),
        utc_offset_min=120,
        duration_min=60.0,
        max_depth_m=float(depth_m.max()),
        site=Site.named("Heron Ledge"),
        cylinders=(Cylinder(AIR, 15.0, 205, 61), Cylinder(BreathingGas(0.5), 7.0, 200, 150)),
    )
    return dive, Profile(time_s, depth_m, switches=(GasSwitch(3000.0, 1),))


# RFC 9285, sections 4.3 and 4.4, recalled from memory.
@pytest.mark.published
@pytest.mark.parametrize(
    ("data", "letters"),
    [(b"AB", "BB8"), (b"Hello!!", "%69 VD92EX0"), (b"base-45", "UJCLQE7W581"), (b"ietf!", "QED8WEX0")],
)
def test_base45_as_the_standard_prints_it(data: bytes, letters: str) -> None:
    assert to_base45(data) == letters
    assert from_base45(letters) == data


@pytest.mark.published
@pytest.mark.parametrize("letters", ["GGW", ":::", "A", "ab8", "BB8\n"])
def test_what_base45_cannot_give_is_refused(letters: str) -> None:
    """`GGW` stands for 65536 (RFC 9285, section 6, recalled from memory)."""
    with pytest.raises(ValueError, match=r".+"):
        from_base45(letters)


def test_a_dive_comes_back_as_it_was_recorded() -> None:
    dive, profile = hour(10)
    read = parse_picture_code(picture_code(dive, profile, "Ada Brix"), "photo.png")
    assert read.profile == profile
    told = replace(read.dive, id=dive.id, recordings=(), diver="")
    assert told == replace(dive, site=Site.named("Heron Ledge"))
    assert read.dive.diver == "Ada Brix"


@pytest.mark.law
@given(strategies.profiles(), st.data())
def test_any_dive_comes_back_within_what_is_said(profile: Profile, data: st.DataObject) -> None:
    """Half a second and half a decimetre, in whatever logbook."""
    dive = data.draw(strategies.dives())
    try:
        code = picture_code(dive, profile, "Ada")
    except RefusedRecord:
        seconds = len(np.unique(np.rint(profile.time_s)))
        assert seconds < 2 or abs(profile.depth_m).max() > 350 or abs(profile.time_s).max() > 48 * 3600
        return
    read = parse_picture_code(code, "photo.png", ReadOptions())
    assert read.profile is not None
    assert abs((read.dive.began_at - dive.began_at).total_seconds()) <= 0.5
    nearest = np.abs(read.profile.time_s[:, None] - profile.time_s[None, :]).min(axis=1)
    assert nearest.max() <= 0.5
    for at_s, depth_m in zip(read.profile.time_s, read.profile.depth_m, strict=True):
        near = np.abs(profile.time_s - at_s) <= 0.5
        assert np.abs(profile.depth_m[near] - depth_m).min() <= 0.05 + 1e-9


@pytest.mark.parametrize("noise_m", [0.0, 0.4, 2.0])
def test_an_hour_at_ten_seconds_fits(noise_m: float) -> None:
    code = handed_over(*hour(10, noise_m), "Ada Brix")
    assert code.version <= LARGEST_VERSION, code.version


def test_every_dive_of_the_demo_fits(tmp_path: Path) -> None:
    logbook = Logbook.open(tmp_path / "demo.leadline")
    logbook.import_files(sorted(shipped_folder("demo_data").glob("*.uddf")))
    versions = [
        logbook.hand_over(dive.id, "Ada Brix").version for dive in logbook.dives() if dive.profile_sha256
    ]
    logbook.close()
    assert len(versions) > 50
    assert max(versions) <= LARGEST_VERSION, sorted(versions)[-5:]


def test_too_much_for_a_code_is_refused() -> None:
    """Four hours of noise at a sample a second."""
    time_s = np.arange(0.0, 4 * 3600, 1)
    depth_m = np.round(20 + np.random.default_rng(7).normal(0, 2, len(time_s)), 1)
    dive = Dive(began_at=datetime(2026, 6, 14, tzinfo=UTC), duration_min=240, max_depth_m=30)
    with pytest.raises(RefusedRecord, match="more than a picture code holds"):
        handed_over(dive, Profile(time_s, depth_m), "Ada")


def test_nobodys_dive_and_one_without_samples_are_not_handed_over() -> None:
    dive, profile = hour(10)
    with pytest.raises(RefusedRecord, match="your name first"):
        picture_code(dive, profile, " \n")
    with pytest.raises(RefusedRecord, match="no samples"):
        picture_code(dive, None, "Ada")


def test_what_is_left_out_is_said() -> None:
    dive, profile = hour(10)
    assert left_out(dive, profile) == []
    warm = Profile(profile.time_s, profile.depth_m, {"temperature_c": np.full(len(profile), 9.0)})
    assert left_out(replace(dive, notes="Pike.", weights_kg=6.0), warm) == [
        "temperatures along the dive",
        "notes",
        "kit and weights",
    ]


@given(st.text())
def test_hostile_letters_are_refused_in_one_sentence(text: str) -> None:
    for letters in (text, f"{MARK}1:{text}"):
        with pytest.raises(RefusedFile):
            parse_picture_code(letters, "photo.png")


@given(st.binary(max_size=300))
def test_hostile_bytes_are_refused_in_one_sentence(data: bytes) -> None:
    with pytest.raises(RefusedFile):
        parse_picture_code(f"{MARK}1:{to_base45(zlib.compress(data))}", "photo.png")


def test_a_changed_letter_is_noticed_and_a_flood_is_not_unfolded() -> None:
    code = picture_code(*hour(10), "Ada")
    for place in range(len(MARK) + 2, len(code), 7):
        changed = code[:place] + ("A" if code[place] != "A" else "B") + code[place + 1 :]
        with pytest.raises(RefusedFile):
            parse_picture_code(changed, "photo.png")
    with pytest.raises(RefusedFile):
        parse_picture_code(f"{MARK}1:{to_base45(zlib.compress(bytes(2_000_000), 9))}", "photo.png")
    with pytest.raises(RefusedFile, match="another version"):
        parse_picture_code(code.replace("/1:", "/2:"), "photo.png")


def test_a_photo_is_read_back_by_another_library(tmp_path: Path) -> None:
    """Written by segno, turned and paled like a photo, read by zxing-cpp."""
    from PIL import Image

    dive, profile = hour(10)
    code = handed_over(dive, profile, "Ada Brix")
    code.write_png(tmp_path / "code.png")
    with Image.open(tmp_path / "code.png") as picture:
        assert picture.width == len(code.rows) * 8
        turned = (
            picture.convert("L").rotate(7, expand=True, fillcolor=255).point(lambda grey: 40 + grey * 0.7)
        )
        turned.save(tmp_path / "photo.jpg", quality=80)
    (read,) = read_recording(tmp_path / "photo.jpg")
    assert read.profile == profile  # type: ignore[union-attr]
    assert not any(any(row) for row in code.rows[:QUIET_ZONE])
    assert code.version <= MOST_VERSION


def test_a_photo_without_a_code_and_a_damaged_one_are_refused(tmp_path: Path) -> None:
    from PIL import Image

    Image.new("L", (60, 60), 200).save(tmp_path / "empty.png")
    with pytest.raises(RefusedFile, match="no picture code"):
        read_code(tmp_path / "empty.png", "empty.png")
    (tmp_path / "broken.png").write_bytes(b"\x89PNG\r\n\x1a\nnothing")
    with pytest.raises(RefusedFile, match="no picture that can be read"):
        list(read_recording(tmp_path / "broken.png"))


def test_without_a_reader_the_photo_says_what_is_missing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import sys

    monkeypatch.setitem(sys.modules, "zxingcpp", None)
    with pytest.raises(RefusedFile, match="nothing on this device reads picture codes"):
        read_code(tmp_path / "photo.png", "photo.png")


def test_the_name_travels_and_nothing_is_added_twice(tmp_path: Path) -> None:
    """In a buddy's logbook it is another diver's dive, in one's own one's own."""
    dive, profile = hour(10)
    handed_over(dive, profile, "Ada Brix").write_png(tmp_path / "code.png")
    buddy = Logbook.open(tmp_path / "buddy.leadline")
    first, again = (buddy.import_files([tmp_path / "code.png"]) for _ in range(2))
    assert (len(first.added), len(again.added), len(again.already_there)) == (1, 0, 1)
    assert [each.diver for each in buddy.dives()] == ["Ada Brix"]
    buddy.close()
    own = Logbook.open(tmp_path / "own.leadline")
    own.change_settings(replace(own.settings(), name="Ada Brix"))
    own.import_files([tmp_path / "code.png"])
    assert [each.diver for each in own.dives()] == [""]
    own.close()
    read = parse_picture_code(picture_code(dive, profile, "Ada"), "x", ReadOptions(diver="Tom"))
    assert read.dive.diver == "Tom"
