"""Backups that nobody has to think of: when they are made, which are kept, and what never replaces them."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

from logbook_app.dive.problems import LogbookError
from logbook_app.logbook import Logbook
from logbook_app.store import backup_places
from logbook_app.store.automatic_backups import KEPT, automatic_backups, backup_before, daily_backup
from logbook_app.store.logbook_store import LogbookStore
from logbook_app.store.migrations import MIGRATIONS
from tests.dive.strategies import plain_dive

pytestmark = pytest.mark.law
NOW = datetime(2026, 11, 14, 12, tzinfo=timezone(timedelta(hours=1)))


@pytest.fixture
def store(tmp_path: Path) -> Iterator[LogbookStore]:
    opened = LogbookStore(tmp_path / "book.leadline")
    opened.save([(plain_dive(id="one"), [])])
    yield opened
    opened.close()


def names(store: LogbookStore) -> list[str]:
    return sorted(path.name for path in automatic_backups(store.path))


def test_once_a_day_and_only_where_something_changed(store: LogbookStore) -> None:
    assert daily_backup(store, NOW).made is not None
    assert daily_backup(store, NOW + timedelta(hours=2)).made is None
    assert daily_backup(store, NOW + timedelta(days=1)).made is None  # as it was
    store.save([(plain_dive(id="two"), [])])
    assert daily_backup(store, NOW + timedelta(days=1)).made is not None
    assert names(store) == ["book daily 2026-11-14.leadline", "book daily 2026-11-15.leadline"]


def test_a_logbook_without_anything_is_not_backed_up(tmp_path: Path) -> None:
    with closing(LogbookStore(tmp_path / "empty.leadline")) as store:
        assert daily_backup(store, NOW).made is None
        assert automatic_backups(store.path) == []


def test_the_older_ones_go_and_each_kind_has_its_number(store: LogbookStore) -> None:
    for day in range(12):
        store.save([(plain_dive(id=f"daily {day}"), [])])
        daily_backup(store, NOW + timedelta(days=day))
        store.save([(plain_dive(id=f"before {day}"), [])])
        backup_before(store, NOW + timedelta(days=day, hours=1))
    assert len(names(store)) == sum(KEPT.values())
    assert names(store)[0] == "book before 2026-11-21 130000.leadline"
    assert names(store)[-1] == "book daily 2026-11-25.leadline"


def test_one_can_be_put_back(store: LogbookStore) -> None:
    made = daily_backup(store, NOW).made
    assert made is not None
    assert made.path.stat().st_mode & 0o077 == 0
    assert made.path.parent.stat().st_mode & 0o077 == 0
    with closing(LogbookStore(made.path)) as copy:
        assert [dive.id for dive in copy.dives()] == ["one"]


def test_a_damaged_logbook_replaces_no_backup(store: LogbookStore) -> None:
    daily_backup(store, NOW)
    store._connection.execute("INSERT INTO profiles (sha256, samples) VALUES (?, ?)", ["ab" * 32, b"spoilt"])
    store.save([(plain_dive(id="two"), [])])
    done = daily_backup(store, NOW + timedelta(days=1))
    assert done.made is None
    assert "are damaged" in done.problems[0].what
    assert names(store) == ["book daily 2026-11-14.leadline"]


def test_no_room_for_it_is_told_and_stops_nothing(store: LogbookStore) -> None:
    store.path.with_name("book backups").write_text("a file where the folder should be")
    done = daily_backup(store, NOW)
    assert (done.made, done.problems) == (None, ())
    assert done.trouble


def test_before_many_dives_are_read_in(tmp_path: Path) -> None:
    """One small recording has none; two have, once; into a damaged logbook nothing is read."""
    logbook = Logbook.open(tmp_path / "book.leadline", now=lambda: NOW)
    recordings = [tmp_path / f"{day}.csv" for day in (12, 13)]
    for day, recording in zip((12, 13), recordings, strict=True):
        recording.write_text(f"# began: 2026-11-{day}T10:00+01:00\ntime_s,depth_m\n0,0\n60,18\n1800,0\n")
    logbook.import_files(recordings[:1])
    assert logbook.automatic_backups() == []
    logbook.import_files(recordings)
    assert [path.name for path in logbook.automatic_backups()] == ["book before 2026-11-14 120000.leadline"]
    logbook.close()
    with closing(sqlite3.connect(logbook.path)) as file:
        file.execute("UPDATE profiles SET samples = x'00'")
        file.execute("UPDATE logbook SET revision = revision + 1")
        file.commit()
    spoilt = Logbook.open(tmp_path / "book.leadline", now=lambda: NOW)
    with closing(spoilt), pytest.raises(LogbookError, match="Nothing was read in, because the logbook is"):
        spoilt.import_files(recordings)


def test_before_an_earlier_file_is_brought_up_to_date(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "earlier.leadline"
    with monkeypatch.context() as earlier:
        earlier.setattr("logbook_app.store.migrations.MIGRATIONS", MIGRATIONS[:-1])
        sqlite3.connect(path).close()
        with closing(sqlite3.connect(path, isolation_level=None)) as file:
            from logbook_app.store.logbook_file import prepare
            from logbook_app.store.migrations import migrate

            prepare(file)
            migrate(file)
    before = shutil.copyfile(path, tmp_path / "kept")
    LogbookStore(path, lambda: NOW).close()
    (copied,) = automatic_backups(path)
    assert copied.name == "earlier before 2026-11-14 120000.leadline"
    with closing(sqlite3.connect(copied)) as one, closing(sqlite3.connect(before)) as other:
        assert list(one.iterdump()) == list(other.iterdump())


def test_where_it_cannot_be_copied_it_is_left_as_it_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "earlier.leadline"
    LogbookStore(path).close()
    monkeypatch.setattr("logbook_app.store.logbook_store.lacks_migrations", lambda _connection: True)
    backup_places.backups_folder(path).write_text("in the way")
    with pytest.raises(LogbookError, match="Make room beside it; it was left as it is"):
        LogbookStore(path)
