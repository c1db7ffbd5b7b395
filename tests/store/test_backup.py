"""A backup holds everything, takes a name only when it is whole, and comes back only when it is sound."""

from __future__ import annotations

import os
import sqlite3
import stat
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from logbook_app.dive.problems import LogbookError
from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Dive
from logbook_app.store import backup
from logbook_app.store.backup import put_back, put_back_unopened, write_backup
from logbook_app.store.logbook_store import LogbookStore
from tests.dive.strategies import entries, plain_dive

pytestmark = pytest.mark.law


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "logbook.leadline"


@pytest.fixture
def store(path: Path) -> Iterator[LogbookStore]:
    """A logbook with one dive."""
    store = LogbookStore(path)
    store.save([(plain_dive(id="one"), [])])
    yield store
    store.close()


def ids(store: LogbookStore) -> list[str]:
    return [dive.id for dive in store.dives()]


def spoil(path: Path) -> None:
    """Overwrite the pages after the first, as a failing disk would."""
    with path.open("r+b") as file:
        file.seek(4096)
        file.write(b"\xa5" * (path.stat().st_size - 4096))


@settings(deadline=None, max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(batch=st.lists(entries(), max_size=3, unique_by=lambda entry: entry[0].id))
def test_what_is_backed_up_comes_back_equal(tmp_path: Path, batch: list[tuple[Dive, list[Profile]]]) -> None:
    for left in tmp_path.iterdir():
        left.unlink()
    with closing(LogbookStore(tmp_path / "a")) as store:
        store.save(batch)
        store.set_settings({"units": "imperial"})
        before = store.dives()
        write_backup(store, tmp_path / "kept")
    with closing(LogbookStore(tmp_path / "b")) as other:
        put_back(other, tmp_path / "kept", tmp_path / "aside")
        assert other.dives() == before
        assert other.settings() == {"units": "imperial"}
        assert other.damage() == []


def test_a_backup_is_one_file_of_its_owner_alone(store: LogbookStore, tmp_path: Path) -> None:
    made = write_backup(store, tmp_path / "kept.leadline")
    assert (made.dives, made.problems) == (1, ())
    assert made.size_bytes == made.path.stat().st_size
    beside = {entry.name for entry in tmp_path.iterdir()} - {"logbook.leadline-wal", "logbook.leadline-shm"}
    assert beside == {"logbook.leadline", "kept.leadline"}
    if os.name == "posix":
        assert stat.S_IMODE(made.path.stat().st_mode) == 0o600


def test_the_log_beside_the_file_is_in_the_backup(store: LogbookStore, tmp_path: Path) -> None:
    """A plain copy of the file would lack what SQLite has not folded into it yet."""
    store.save([(plain_dive(id="two"), [])])
    write_backup(store, tmp_path / "kept")
    with closing(LogbookStore(tmp_path / "kept")) as kept:
        assert sorted(ids(kept)) == ["one", "two"]


def test_a_later_backup_takes_the_place_of_an_earlier_one(store: LogbookStore, tmp_path: Path) -> None:
    write_backup(store, tmp_path / "kept")
    store.save([(plain_dive(id="two"), [])])
    assert write_backup(store, tmp_path / "kept").dives == 2


@pytest.mark.parametrize("there", ["text", "database", "folder", "itself"])
def test_what_is_no_backup_is_never_written_over(store: LogbookStore, tmp_path: Path, there: str) -> None:
    place = tmp_path / "place"
    if there == "text":
        place.write_text("fins, mask, a new torch")
    elif there == "database":
        with closing(sqlite3.connect(place)) as other, other:
            other.execute("CREATE TABLE recipes (id)")
    elif there == "folder":
        place.mkdir()
    else:
        place = store.path
    before = place.read_bytes() if place.is_file() and place != store.path else None
    with pytest.raises(LogbookError, match=str(place)):
        write_backup(store, place)
    assert before is None or place.read_bytes() == before
    assert ids(store) == ["one"]


def test_a_folder_that_is_not_there_is_named(store: LogbookStore, tmp_path: Path) -> None:
    with pytest.raises(LogbookError, match=r"cannot be used: .+\. Choose another place\."):
        write_backup(store, tmp_path / "no folder" / "kept")


def test_a_damaged_logbook_does_not_replace_a_sound_backup(path: Path, tmp_path: Path) -> None:
    kept, copy = tmp_path / "kept", tmp_path / "copy"
    with closing(LogbookStore(path)) as store:
        store.save([(plain_dive(id="one"), [])])
        write_backup(store, kept)
    sound = kept.read_bytes()
    with closing(sqlite3.connect(path)) as other, other:
        other.execute("INSERT INTO buddies VALUES ('no such dive', 0, 'Ottilie Brandner')")
    with closing(LogbookStore(path)) as store:
        with pytest.raises(LogbookError, match="earlier backup"):
            write_backup(store, kept)
        assert kept.read_bytes() == sound
        assert write_backup(store, copy).problems


class TestPuttingBack:
    def test_what_was_there_is_kept_aside_and_can_come_back(
        self, store: LogbookStore, tmp_path: Path
    ) -> None:
        write_backup(store, tmp_path / "kept")
        store.save([(plain_dive(id="two"), [])])
        put_back(store, tmp_path / "kept", tmp_path / "aside")
        assert ids(store) == ["one"]
        put_back(store, tmp_path / "aside", tmp_path / "aside 2")
        assert sorted(ids(store)) == ["one", "two"]

    def test_the_file_stays_as_safe_as_it_was(self, store: LogbookStore, tmp_path: Path) -> None:
        """The log and its syncs are those of any logbook, though the backup had none."""
        write_backup(store, tmp_path / "kept")
        put_back(store, tmp_path / "kept", tmp_path / "aside")
        read = store._connection.execute
        assert read("PRAGMA journal_mode").fetchone() == ("wal",)
        assert read("PRAGMA synchronous").fetchone() == (2,)
        assert read("PRAGMA foreign_keys").fetchone() == (1,)

    def test_another_program_that_has_the_file_open_sees_the_new_dives(
        self, store: LogbookStore, tmp_path: Path
    ) -> None:
        write_backup(store, tmp_path / "kept")
        with closing(LogbookStore(store.path)) as other:
            other.save([(plain_dive(id="two"), [])])
            before = other.revision()
            put_back(store, tmp_path / "kept", tmp_path / "aside")
            assert ids(other) == ["one"]
            assert other.revision() > before

    def test_another_program_that_is_writing_is_waited_for_and_then_named(
        self, store: LogbookStore, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        write_backup(store, tmp_path / "kept")
        monkeypatch.setattr(backup, "WAIT_FOR_OTHERS_S", 0.05)
        store._connection.execute("PRAGMA busy_timeout = 50")
        with closing(sqlite3.connect(store.path, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            with pytest.raises(LogbookError, match="nother program is writing"):
                put_back(store, tmp_path / "kept", tmp_path / "aside")
            other.execute("ROLLBACK")
        assert ids(store) == ["one"]

    def test_an_older_backup_is_brought_up_to_date(self, store: LogbookStore, tmp_path: Path) -> None:
        write_backup(store, tmp_path / "kept")
        with closing(sqlite3.connect(tmp_path / "kept")) as older, older:
            older.execute("DELETE FROM migrations WHERE name = 'trips_of_dives'")
            older.execute("ALTER TABLE dives DROP COLUMN trip")
        put_back(store, tmp_path / "kept", tmp_path / "aside")
        assert store.dive("one").trip == ""

    def test_what_is_not_sound_changes_nothing(self, store: LogbookStore, tmp_path: Path) -> None:
        kept = write_backup(store, tmp_path / "kept").path
        spoil(kept)
        text = tmp_path / "text"
        text.write_text("fins, mask")
        newer = write_backup(store, tmp_path / "newer").path
        with closing(sqlite3.connect(newer)) as other, other:
            other.execute("INSERT INTO migrations (name) VALUES ('tides_of_2040')")
        for refused in (kept, text, newer, tmp_path / "no such file", tmp_path, store.path):
            with pytest.raises(LogbookError):
                put_back(store, refused, tmp_path / "aside")
        assert ids(store) == ["one"]
        assert not (tmp_path / "aside").exists()
        assert [entry.name for entry in tmp_path.iterdir() if "restored" in entry.name] == []

    def test_a_logbook_that_cannot_be_opened_is_put_aside_as_it_is(self, path: Path, tmp_path: Path) -> None:
        with closing(LogbookStore(path)) as store:
            store.save([(plain_dive(id="one"), [])])
            write_backup(store, tmp_path / "kept")
        path.write_bytes(b"a failing disk left this")
        put_back_unopened(path, tmp_path / "kept", tmp_path / "aside")
        assert (tmp_path / "aside").read_bytes() == b"a failing disk left this"
        with closing(LogbookStore(path)) as store:
            assert ids(store) == ["one"]
