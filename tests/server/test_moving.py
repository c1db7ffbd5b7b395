"""One club alone moves between databases, is backed up and put back; its neighbours stay as they are."""

from __future__ import annotations

import gzip
from collections.abc import Iterator
from contextlib import ExitStack, closing
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from logbook_app.dive.problems import LeadlineError
from logbook_app.logbook import Logbook
from server.club_store import Line, Seen
from server.moving import copy_club, write_backup
from server.sql_club import SqlClub, found_club, open_club
from server.sqlite_database import SqliteDatabase
from server.tables import TABLES
from tests.server.racing import database_at
from tests.server.test_tables import FORM_1

pytestmark = pytest.mark.law


@pytest.fixture
def full(tmp_path) -> Iterator[SqlClub]:
    """A club that has something in every table of long ago."""
    path = tmp_path / "full.sqlite"
    path.write_bytes(gzip.decompress(FORM_1.read_bytes()))
    with closing(SqliteDatabase(path)) as database:
        yield open_club(database)


def all_of(club: SqlClub) -> dict[str, list[Any]]:
    """Everything that is kept of a club, but its number."""
    rows = {}
    for table in TABLES:
        columns = ", ".join(name for name in sorted(club.database.columns(table)) if name != "club")
        query = f"SELECT {columns} FROM {table} WHERE club = ?"  # noqa: S608
        rows[table] = sorted(club.database.all(query, club.number), key=repr)
    return rows | {"clubs": [club.state()]}


def test_a_club_is_the_same_wherever_it_went(full, new_address, tmp_path):
    with ExitStack() as stack:
        places = new_address, str(tmp_path / "back.sqlite")
        there, back = (open_club(stack.enter_context(closing(database_at(place)))) for place in places)
        copy_club(full, there)
        copy_club(there, back)
        kept = all_of(full)
        assert all(kept[table] for table in ("records", "audiences", "seen", "log", "parts", "tokens"))
        assert kept == all_of(there) == all_of(back)
        assert len({full.number, there.number, back.number}) == 3


def test_one_club_is_put_back_alone(full, open_database, tmp_path):
    clubs = [found_club(open_database()) for _ in range(3)]
    for club in clubs:
        copy_club(full, club)
    before = all_of(full)
    write_backup(clubs[1], tmp_path / "backup.sqlite")
    for club in clubs:
        with club.change():
            club.cut_log(3)
            club.drop_blobs_without_record()
            club.put_part("a" * 64, 0, b"later")
    changed = all_of(clubs[0])
    assert changed != before
    with closing(open_club(SqliteDatabase(tmp_path / "backup.sqlite"))) as backup:
        assert all_of(backup) == before
        copy_club(backup, clubs[1])
    assert [all_of(club) for club in clubs] == [changed, before, changed]


def test_a_copy_that_fails_leaves_the_club_as_it_was(full, open_database, monkeypatch):
    club = found_club(open_database())
    copy_club(full, club)
    before = all_of(club)
    with full.change():
        full.cut_log(2)
    monkeypatch.setattr("server.moving.TABLES", (*TABLES[:4], "nowhere"))
    with pytest.raises(Exception, match="nowhere"):
        copy_club(full, club)
    assert all_of(club) == before


def test_a_backup_shows_one_moment_while_the_club_goes_on(full, open_database, tmp_path, monkeypatch):
    club, writer = open_club(open_database()), open_club(open_database())
    copy_club(full, club)
    before = all_of(club)
    each = type(club.database).each

    def written_meanwhile(*asked: Any) -> Any:
        with writer.change():
            writer.put_seen(Seen("meanwhile.1.0123456789abcdef", "accepted", "", writer.state().seq + 1))
            writer.put_state(replace(writer.state(), seq=writer.state().seq + 1))
        return each(*asked)

    monkeypatch.setattr(type(club.database), "each", written_meanwhile)
    write_backup(club, tmp_path / "backup.sqlite")
    monkeypatch.undo()
    with closing(open_club(SqliteDatabase(tmp_path / "backup.sqlite"))) as backup:
        assert all_of(backup)["seen"] == before["seen"]
        assert all_of(backup)["clubs"] == before["clubs"]
    assert writer.state().seq > before["clubs"][0].seq


def test_a_backup_takes_no_file_s_place(full, tmp_path):
    path = tmp_path / "backup.sqlite"
    path.write_bytes(b"somebody's")
    with pytest.raises(LeadlineError, match="choose another name"):
        write_backup(full, path)
    assert path.read_bytes() == b"somebody's"
    with pytest.raises(LeadlineError, match="No such file"):
        write_backup(full, tmp_path / "nowhere" / "backup.sqlite")


def no_database(path: Path) -> None:
    path.write_bytes(b"a letter, not a database" * 100)


def empty(path: Path) -> None:
    path.write_bytes(b"")


def logbook(path: Path) -> None:
    Logbook.open(path).close()


def damaged(path: Path) -> None:
    with closing(open_club(SqliteDatabase(path))) as club, club.change():
        for number in range(300):
            club.append(Line(number, f"ada/dive:{number}", content="x" * 200))
    data = bytearray(path.read_bytes())
    data[20_000:60_000] = bytes(40_000)
    path.write_bytes(data)


@pytest.mark.parametrize("make", [no_database, empty, logbook, damaged])
def test_what_is_no_backup_changes_nothing(open_home, tmp_path, make):
    home = open_home()
    home.invite("Ada")
    before, files = all_of(home.store), sorted(home.folder.iterdir())
    make(tmp_path / "given")
    with pytest.raises(LeadlineError, match=r"no backup of a club|damaged"):
        home.restore(tmp_path / "given")
    assert (all_of(home.store), sorted(home.folder.iterdir())) == (before, files)


def test_a_backup_of_the_first_form_is_put_back(open_home, tmp_path):
    home = open_home()
    (tmp_path / "old").write_bytes(gzip.decompress(FORM_1.read_bytes()))
    home.restore(tmp_path / "old")
    assert [member.name for member in home.accounts.members()] == ["Ada", "Tess"]
    assert home.store.state().epoch == home.ledger.epoch == 2
    assert open_home().accounts.speaker("ab" * 32)
