"""A damaged logbook: what can be read is saved, what cannot is told, and the file stays as it is.

Every page of a real logbook file is spoilt in turn, as a dying card spoils them; what is saved must be what
was there, to the last field.
"""

from __future__ import annotations

import random
import shutil
from collections.abc import Callable
from contextlib import closing, suppress
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest

from logbook_app.dive.problems import LogbookError
from logbook_app.dive.profile import Profile, profile_digest, profile_to_bytes
from logbook_app.dive.record import Dive, Recording, Site
from logbook_app.store.logbook_store import LogbookStore
from logbook_app.store.salvage import Salvaged, salvage
from tests.dive.strategies import plain_dive

pytestmark = pytest.mark.law

DIVES = 120
PAGE = 4096
WIPES = 40
FLIPS = 25


def numbered(number: int) -> tuple[Dive, list[Profile]]:
    depth_m = np.random.default_rng(number).integers(10, 400, 120) / 10
    profile = Profile(time_s=np.arange(120) * 10.0, depth_m=depth_m)
    dive = plain_dive(
        id=f"{number:08d}",
        began_at=plain_dive().began_at + timedelta(hours=3 * number),
        buddies=("Ada", "Bo"),
        notes="word " * (number % 40),
        site=Site.named(f"Place {number % 7}"),
        recordings=(Recording(f"print {number}", profile_digest(profile_to_bytes(profile))),),
    )
    return dive, [profile]


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("sound") / "sound.leadline"
    with closing(LogbookStore(path)) as store:
        store.save(map(numbered, range(DIVES)))
        store.set_settings({"units": "metric"})
        store._connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return path


def spoilt(sound: Path, folder: Path, spoil: Callable[[bytearray], None]) -> Path:
    path = folder / "spoilt.leadline"
    data = bytearray(sound.read_bytes())
    spoil(data)
    path.write_bytes(data)
    return path


def saved_of(path: Path, into: Path, most_altered: int = 0) -> Salvaged | None:
    """Salvage, check what every salvage keeps, and return what it says; None where nothing could be read.

    most_altered   how many dives may be saved without all that they had
    """
    before = path.read_bytes()
    done = None
    with suppress(LogbookError):
        done = salvage(path, into)
    assert path.read_bytes() == before
    if done is None:
        assert not list(into.parent.glob(f"{into.name}*"))
        return None
    originals = {number: numbered(number) for number in range(DIVES)}
    with closing(LogbookStore(done.path)) as store:
        assert store.damage() == []
        dives = store.dives()
        assert len(dives) == done.dives
        assert bool(done.lost) >= (done.dives < DIVES or done.samples < DIVES)
        for dive in dives:
            was, (profile,) = originals[int(dive.id)]
            if dive.recordings == was.recordings:
                assert store.profile_of(dive) == profile
        assert sum(dive == originals[int(dive.id)][0] for dive in dives) >= len(dives) - most_altered
        assert store.places_with("word") is not None
    into.unlink()
    return done


def test_a_sound_logbook_is_saved_whole(sound: Path, tmp_path: Path) -> None:
    done = saved_of(sound, tmp_path / "new.leadline")
    assert done == Salvaged(tmp_path / "new.leadline", DIVES, DIVES, ())


def test_whatever_page_is_wiped_most_is_saved(sound: Path, tmp_path: Path) -> None:
    """No more is lost than lay on it, but where it was the header, or the one that names a table's others."""
    pages = sound.stat().st_size // PAGE
    nothing, fewest = 0, DIVES
    for page in (0, 1, *random.Random(4).sample(range(2, pages), WIPES)):

        def wipe(data: bytearray, at: int = page * PAGE) -> None:
            data[at : at + PAGE] = bytes(PAGE)

        done = saved_of(spoilt(sound, tmp_path, wipe), tmp_path / "new.leadline", most_altered=DIVES)
        nothing += done is None
        fewest = min(fewest, done.dives) if done else fewest
    assert nothing <= 4
    assert fewest > DIVES * 0.6


def test_flipped_bytes_anywhere(sound: Path, tmp_path: Path) -> None:
    """A letter that became another is not noticed by anybody: rows have no checksum, as samples have."""
    chance, size = random.Random(9), sound.stat().st_size
    saved = 0
    for _ in range(FLIPS):

        def flip(data: bytearray) -> None:
            for _ in range(chance.choice((1, 8, 64))):
                data[chance.randrange(size)] ^= 1 << chance.randrange(8)

        done = saved_of(spoilt(sound, tmp_path, flip), tmp_path / "new.leadline", most_altered=DIVES)
        saved += done.dives if done else 0
    assert saved > FLIPS * DIVES * 0.7


@pytest.mark.parametrize("share", [0.25, 0.5, 0.75, 0.98])
def test_a_file_that_was_cut_off(sound: Path, tmp_path: Path, share: float) -> None:
    def cut(data: bytearray) -> None:
        del data[int(len(data) * share) :]

    saved_of(spoilt(sound, tmp_path, cut), tmp_path / "new.leadline", most_altered=DIVES)


def test_what_was_in_the_log_beside_the_file_is_saved(tmp_path: Path) -> None:
    """A file that was copied while it was in use, with its log; and one whose log was left behind."""
    store = LogbookStore(tmp_path / "used.leadline")
    store.save(map(numbered, range(10)))
    shutil.copyfile(store.path, tmp_path / "copied.leadline")
    shutil.copyfile(f"{store.path}-wal", tmp_path / "copied.leadline-wal")
    store.close()
    done = salvage(tmp_path / "copied.leadline", tmp_path / "new.leadline")
    assert (done.dives, done.lost) == (10, ())
    (tmp_path / "copied.leadline-wal").unlink()
    with pytest.raises(LogbookError, match="Put back the last backup"):
        salvage(tmp_path / "copied.leadline", tmp_path / "another.leadline")


def test_nothing_is_written_over(sound: Path, tmp_path: Path) -> None:
    there = tmp_path / "there.leadline"
    there.write_bytes(b"mine")
    with pytest.raises(LogbookError, match="is there already; choose a new name"):
        salvage(sound, there)
    assert there.read_bytes() == b"mine"
