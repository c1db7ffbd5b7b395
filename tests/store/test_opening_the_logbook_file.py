"""A file that is not ours is refused in one sentence and left as it was; ours is brought up to date."""

from __future__ import annotations

import os
import re
import shutil
import sqlite3
import stat
import sys
from contextlib import closing
from pathlib import Path

import pytest
from sqlite_utils import Database

from logbook_app.dive.problems import LogbookError
from logbook_app.store import migrations
from logbook_app.store.care import back_up, restore
from logbook_app.store.logbook_file import APPLICATION_ID, change
from logbook_app.store.logbook_store import LogbookStore
from tests.dive.strategies import plain_dive

pytestmark = pytest.mark.law


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A logbook with one dive, closed."""
    path = tmp_path / "logbook.sqlite"
    with closing(LogbookStore(path)) as store:
        store.save([(plain_dive(id="one"), [])])
    return path


def refused(path: Path) -> str:
    """Return the sentence with which opening is refused, having checked that nothing was touched."""
    before = _everything_in(path.parent)
    with pytest.raises(LogbookError) as refusal:
        LogbookStore(path)
    assert _everything_in(path.parent) == before
    return str(refusal.value)


def _everything_in(folder: Path) -> dict[str, bytes]:
    if not folder.is_dir():
        return {}
    return {entry.name: entry.read_bytes() if entry.is_file() else b"" for entry in folder.iterdir()}


def _sqlite(path: Path, *statements: str) -> None:
    with closing(sqlite3.connect(path)) as connection, connection:
        for statement in statements:
            connection.execute(statement)


def test_a_missing_folder_and_file_are_made_for_their_owner_alone(tmp_path: Path) -> None:
    path = tmp_path / "new folder" / "ünder" / "logbook #1?.sqlite"
    with closing(LogbookStore(path)) as store:
        store.save([(plain_dive(), [])])
        private = {entry.name: entry.stat().st_mode for entry in path.parent.iterdir()}
    assert path.name in private
    if os.name == "posix":
        assert stat.S_IMODE(path.parent.stat().st_mode) == 0o700
        assert {stat.S_IMODE(mode) for mode in private.values()} == {0o600}


def test_a_path_may_be_text_and_an_empty_file_becomes_a_logbook(tmp_path: Path) -> None:
    (tmp_path / "empty").touch()
    with closing(LogbookStore(str(tmp_path / "empty"))) as store:
        assert store.dives() == []


def test_the_file_is_marked_as_ours_where_the_format_says(path: Path) -> None:
    """Published: SQLite, Database File Format, 1.3 The Database Header: offset 68, 4 bytes, big-endian."""
    header = path.read_bytes()[:100]
    assert header[:16] == b"SQLite format 3\0"
    assert int.from_bytes(header[68:72], "big") == APPLICATION_ID


def test_the_mark_is_in_the_file_from_the_first_moment(tmp_path: Path) -> None:
    """A copy of the file alone, taken while the log beside it still holds everything, is still ours."""
    path = tmp_path / "logbook.sqlite"
    with closing(LogbookStore(path)):
        copy = tmp_path / "copy.sqlite"
        shutil.copy(path, copy)
    with closing(LogbookStore(copy)) as store:
        assert store.dives() == []


def test_writes_are_synced_and_references_are_checked(path: Path) -> None:
    """Published: SQLite, Pragma Statements: synchronous 2 is FULL, which syncs the log at each commit;
    fullfsync makes that sync reach the drive itself on Apple's systems."""
    with closing(LogbookStore(path)) as store:
        read = {
            name: store._connection.execute(f"PRAGMA {name}").fetchone()[0]
            for name in ("journal_mode", "synchronous", "fullfsync", "foreign_keys", "busy_timeout")
        }
    assert read == {
        "journal_mode": "wal",
        "synchronous": 2,
        "fullfsync": 1,
        "foreign_keys": 1,
        "busy_timeout": 10_000,
    }


def test_a_file_that_is_no_database_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "shopping.txt"
    path.write_text("fins, mask, a new torch\n" * 400)
    assert refused(path) == f"{path} is not a logbook and was left alone; choose another file."


def test_a_file_too_short_to_be_anything_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "short"
    path.write_bytes(b"SQLite format 3\0")
    assert "is the database of another program" in refused(path)


@pytest.mark.parametrize("journal", ["DELETE", "WAL"])
def test_the_database_of_another_program_is_left_alone(tmp_path: Path, journal: str) -> None:
    path = tmp_path / "recipes.sqlite"
    _sqlite(
        path, f"PRAGMA journal_mode = {journal}", "CREATE TABLE dives (id)", "INSERT INTO dives VALUES (1)"
    )
    sentence = refused(path)
    assert sentence == f"{path} is the database of another program and was left alone; choose another file."


def test_a_logbook_from_a_newer_program_is_shown_and_not_written_to(path: Path) -> None:
    """What this program knows it shows; every change is refused in one sentence, and the file stays."""
    _sqlite(path, "INSERT INTO migrations (name) VALUES ('tides_of_2040')")
    before = path.read_bytes()
    with closing(LogbookStore(path)) as store:
        words = "was written by a newer Leadline (tides_of_2040). It is shown and not written to; update"
        assert store.closed_because == f"The logbook {path} {words} this one."
        assert store.dives() == [plain_dive(id="one")]
        for write in (
            lambda: store.save([(plain_dive(id="two"), [])]),
            lambda: store.set_settings({"units": "imperial"}),
            lambda: store.bin("one", plain_dive().began_at),
            store.begin_sharing,
        ):
            with pytest.raises(LogbookError, match="It is shown and not written to"):
                write()
        store.keep_draft("plan", "half written")  # what only helps is left out
        store.save_derived("key", {"one": b"figures"})
    assert path.read_bytes() == before


def test_a_newer_file_that_lacks_what_this_program_reads_is_left_alone(
    path: Path,
) -> None:
    _sqlite(path, "UPDATE migrations SET name = 'tides_of_2040' WHERE name = 'trips_of_dives'")
    before = path.read_bytes()
    with pytest.raises(LogbookError, match="written by a newer Leadline"):
        LogbookStore(path)
    assert path.read_bytes() == before


def test_a_damaged_logbook_is_shown_and_not_written_to(path: Path) -> None:
    """One page of the words of dives is gone: the rest is there to be read, and nothing is written."""
    with closing(LogbookStore(path)) as store:
        store.save((plain_dive(id=f"{number:03}", notes="x" * 900), []) for number in range(60))
        (last,) = store._connection.execute(
            "SELECT max(pageno) FROM dbstat WHERE name = 'buddies'"
        ).fetchone()
        store._connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    data = bytearray(path.read_bytes())
    data[(last - 1) * 4096 : last * 4096] = bytes(4096)
    path.write_bytes(data)
    with closing(LogbookStore(path)) as store:
        assert "is damaged" in store.closed_because
        assert store.settings() == {}
        with pytest.raises(LogbookError, match="save what can be read into a new file"):
            store.set_settings({"units": "imperial"})
    assert path.read_bytes() == data


def test_a_logbook_that_was_cut_off_is_not_written_to(path: Path) -> None:
    with closing(LogbookStore(path)) as store:
        store.save((plain_dive(id=f"{number:03}", notes="x" * 900), []) for number in range(60))
        store._connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    data = path.read_bytes()[:-8192]
    path.write_bytes(data)
    with closing(LogbookStore(path)) as store:
        assert "is damaged (database disk image is malformed)" in store.closed_because
    assert path.read_bytes() == data


def test_damage_that_shows_while_writing_ends_the_writing(path: Path) -> None:
    damaged = sqlite3.DatabaseError("database disk image is malformed")
    damaged.sqlite_errorcode = sqlite3.SQLITE_CORRUPT
    with closing(LogbookStore(path)) as store:
        with pytest.raises(LogbookError), change(store._connection, path):
            raise damaged
        with pytest.raises(LogbookError, match="it is damaged; keep a copy"):
            store.set_settings({"units": "imperial"})


def test_a_folder_in_place_of_the_file_is_named(tmp_path: Path) -> None:
    (tmp_path / "logbook").mkdir()
    assert (
        refused(tmp_path / "logbook")
        == f"{tmp_path / 'logbook'} is not a file; choose a file for the logbook."
    )


def test_a_file_in_place_of_the_folder_is_named(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    sentence = refused(tmp_path / "file" / "logbook.sqlite")
    assert re.fullmatch(
        r"The logbook .*logbook\.sqlite cannot be used: .+\. Choose another place\.", sentence
    )


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="/proc is Linux's")
def test_a_folder_that_cannot_be_made_is_named() -> None:
    sentence = refused(Path("/proc/leadline/logbook.sqlite"))
    assert sentence.startswith("The logbook /proc/leadline/logbook.sqlite cannot be used: ")


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write anywhere")
@pytest.mark.parametrize("what", ["file", "folder"])
def test_what_is_read_only_is_named(path: Path, what: str) -> None:
    locked = path if what == "file" else path.parent
    locked.chmod(0o500)
    try:
        assert "is read-only; allow writing or choose another place." in refused(path)
    finally:
        locked.chmod(0o700)


def test_what_the_system_calls_read_only_is_named(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same for a test run by root, to whom the system never says so."""
    monkeypatch.setattr("logbook_app.store.logbook_file.os.access", lambda place, _: place != path)
    assert refused(path).endswith("or its folder is read-only; allow writing or choose another place.")


def test_a_damaged_table_of_contents_is_said(path: Path) -> None:
    data = bytearray(path.read_bytes())
    data[100:2000] = b"\xff" * 1900
    path.write_bytes(data)
    with pytest.raises(LogbookError, match="it is damaged; keep a copy of it as it is and put back"):
        LogbookStore(path)


def test_damage_further_in_is_said_when_it_is_read(path: Path) -> None:
    """Every page but the first overwritten: no dive comes out of it, only the sentence."""
    data = path.read_bytes()
    path.write_bytes(data[:4096] + b"\x55" * (len(data) - 4096))
    with pytest.raises(LogbookError, match="damaged"), closing(LogbookStore(path)) as store:
        store.dives()


def test_a_row_that_makes_no_dive_is_named(path: Path) -> None:
    _sqlite(path, "UPDATE dives SET max_depth_m = -4")
    with closing(LogbookStore(path)) as store, pytest.raises(LogbookError) as refusal:
        store.dives()
    assert str(refusal.value).startswith(
        "The dive one in the logbook cannot be read (A greatest depth of -4 m"
    )


def test_a_new_logbook_has_run_every_migration_once_and_in_order(path: Path) -> None:
    names = [(migration.__name__,) for migration in migrations.MIGRATIONS]
    LogbookStore(path).close()
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("SELECT name FROM migrations ORDER BY place").fetchall() == names


def test_reopening_changes_nothing(path: Path) -> None:
    before = path.read_bytes()
    LogbookStore(path).close()
    assert path.read_bytes() == before


def _with(monkeypatch: pytest.MonkeyPatch, migration: object) -> None:
    monkeypatch.setattr(migrations, "MIGRATIONS", (*migrations.MIGRATIONS, migration))


def test_a_later_migration_runs_on_an_old_logbook_and_keeps_its_dives(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def tides_of_2040(database: Database) -> None:
        database.execute("ALTER TABLE dives ADD COLUMN tide TEXT")

    _with(monkeypatch, tides_of_2040)
    with closing(LogbookStore(path)) as store:
        assert store.dives() == [plain_dive(id="one")]
        assert store._connection.execute("SELECT tide FROM dives").fetchall() == [(None,)]
    monkeypatch.undo()
    with closing(LogbookStore(path)) as store:
        assert "newer Leadline (tides_of_2040)" in store.closed_because


def test_a_migration_that_fails_half_way_leaves_the_logbook_as_it_was(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def half_done(database: Database) -> None:
        database.execute("CREATE TABLE half (id)")
        database.execute("DELETE FROM dive_words")
        database.execute("DELETE FROM dives")
        database.execute("INSERT INTO nowhere VALUES (1)")

    _with(monkeypatch, half_done)
    with pytest.raises(LogbookError, match="no such table: nowhere"):
        LogbookStore(path)
    monkeypatch.undo()
    with closing(LogbookStore(path)) as store:
        assert store.dives() == [plain_dive(id="one")]
        tables = store._connection.execute("SELECT name FROM sqlite_master WHERE name = 'half'").fetchall()
    assert tables == []


@pytest.mark.recorded
def test_the_first_migration_is_what_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Files exist that it made: a change to the tables is another migration, not another first one."""
    monkeypatch.setattr(migrations, "MIGRATIONS", migrations.MIGRATIONS[:1])
    path = tmp_path / "first.sqlite"
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        migrations.migrate(connection)
    assert _columns(path, "dives") == (
        "id began_at utc_offset_min duration_min max_depth_m mean_depth_m number diver site_version"
        " surface_bar elevation_m water weights_kg suit air_temperature_c lowest_temperature_c"
        " visibility_m current conditions purpose notes rating estimate extra binned_at"
    )
    assert _columns(path, "cylinders") == "dive_id place oxygen helium volume_l start_bar end_bar name"
    assert _columns(path, "recordings") == "dive_id place fingerprint profile_sha256 recorder file_name"


@pytest.mark.recorded
def test_the_second_migration_is_what_it_was(path: Path) -> None:
    assert _columns(path, "imports") == "id kind at undone_at report dives"
    assert (
        _columns(path, "recordings") == "dive_id place fingerprint profile_sha256 recorder file_name account"
    )


@pytest.mark.recorded
def test_the_third_migration_is_what_it_was(path: Path) -> None:
    assert " extra binned_at trip" in _columns(path, "dives")


@pytest.mark.recorded
def test_the_migration_of_pre_dive_cards_is_what_it_was(path: Path) -> None:
    assert " binned_at trip pre_dive" in _columns(path, "dives")


@pytest.mark.recorded
def test_the_migration_of_photos_is_what_it_was(path: Path) -> None:
    assert " pre_dive photos camera_ahead_s " in _columns(path, "dives")
    assert _columns(path, "pictures") == "sha256 image thumbnail"


@pytest.mark.recorded
def test_the_migration_of_what_a_dive_counts_for_is_what_it_was(path: Path) -> None:
    assert _columns(path, "dives").endswith(" camera_ahead_s supervised_by role environments")


@pytest.mark.recorded
def test_the_migration_that_brought_the_search_is_what_it_was(path: Path) -> None:
    assert _columns(path, "dive_words") == "place dive_id words"
    assert _columns(path, "logbook") == "id revision words_version words_indexed"


def _columns(path: Path, table: str) -> str:
    with closing(sqlite3.connect(path)) as connection:
        return " ".join(name for _, name, *_ in connection.execute(f"PRAGMA table_info({table})"))


@pytest.mark.parametrize("spoil", ["damaged", "newer"])
def test_a_backup_takes_the_place_of_what_cannot_be_written_to(path: Path, spoil: str) -> None:
    """By the same object that had it open; the file that was there is moved aside as it is."""
    at = plain_dive().began_at
    with closing(LogbookStore(path)) as store:
        backup = back_up(store, path.parent / "backup.leadline", at).path
    if spoil == "newer":
        _sqlite(path, "INSERT INTO migrations (name) VALUES ('tides_of_2040')")
    else:
        path.write_bytes(path.read_bytes()[:-4096])
    with closing(LogbookStore(path)) as store:
        assert store.closed_because
        was = path.read_bytes()
        done = restore(store, backup, at)
        assert done.kept_aside.read_bytes() == was
        assert store.closed_because == ""
        store.save([(plain_dive(id="two"), [])])
        assert {dive.id for dive in store.dives()} == {"one", "two"}
