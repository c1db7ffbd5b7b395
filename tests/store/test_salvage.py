"""A damaged logbook: what can be read is saved, what cannot is told, and the file stays as it is.

Every page of a real logbook file is spoilt in turn, as a dying card spoils them; what is saved must be what
was there, to the last field.
"""

from __future__ import annotations

import random
import shutil
from collections.abc import Callable
from contextlib import closing, suppress
from pathlib import Path

import pytest

from logbook_app.dive.problems import LogbookError
from logbook_app.store.logbook_store import LogbookStore
from logbook_app.store.salvage import Salvaged, salvage
from tests.store.spoiling import DIVES, PAGE, numbered, sound_logbook, tally

pytestmark = pytest.mark.law

WIPES = 40
FLIPS = 25


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return sound_logbook(tmp_path_factory.mktemp("sound") / "sound.leadline")


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


def test_spoilt_in_any_way_it_ends_in_sentences(tmp_path: Path) -> None:
    """A seeded part of `tests.store.spoiling`."""
    came = tally(2026, 40, tmp_path)
    assert came["logbook files spoilt"] == 40
    assert came["tracebacks"] == came["damaged files written to"] == 0
    assert came["  salvaged"] > 15
