"""Both stores keep the same club, and what the file must outlive, it outlives."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from logbook_app.sync.merging import value_of
from server.club_store import ClubStore, Ledger
from server.deciding import Club
from server.ledger_file import FileLedger
from server.memory_club import MemoryClub, MemoryLedger
from server.sql_club import sole_club
from server.sqlite_database import SqliteDatabase
from tests.server.mirrored_club import CALLS, MirroredClub
from tests.sync.desk import Desk
from tests.sync.test_simulation import world_of

pytestmark = pytest.mark.law

WORLDS = 60


@pytest.mark.parametrize("first", range(0, WORLDS, 20))
def test_both_stores_say_the_same_in_every_world(first):
    for seed in range(first, first + 20):
        world_of(seed, kept_in=MirroredClub)


def test_every_call_is_mirrored():
    calls = {name for name in vars(ClubStore) if not name.startswith("_")}
    assert calls == {*CALLS, "change", "blob_part"}
    assert isinstance(FileLedger.erased, type(MemoryLedger.erased))
    assert {name for name in vars(Ledger) if not name.startswith("_")} <= set(dir(FileLedger))


def test_a_club_is_there_again_when_its_file_is_opened_again(tmp_path):
    desk = Desk(sole_club(SqliteDatabase(tmp_path / "club.sqlite")))
    phone = desk.device("ada", "phone")
    phone.write("dive:1", notes="größer, 大")
    assert phone.sync().counts_agree
    desk.store.close()
    again = Desk(sole_club(SqliteDatabase(tmp_path / "club.sqlite")))
    assert value_of(again.store.record("ada/dive:1"), "notes") == "größer, 大"
    assert again.device("ada", "tablet").sync().counts_agree
    again.store.close()


def put_and_fail(club: ClubStore) -> None:
    with club.change():
        club.put_part("a" * 64, 0, b"x")
        _ = 1 / 0


def test_a_change_that_fails_leaves_no_trace(tmp_path):
    club = sole_club(SqliteDatabase(tmp_path / "club.sqlite"))
    before = club.state()
    with pytest.raises(ZeroDivisionError):
        put_and_fail(club)
    assert (club.state(), club.arrived("a" * 64)) == (before, 0)
    club.close()


def test_a_club_s_file_syncs_at_every_commit(tmp_path):
    club = sole_club(SqliteDatabase(tmp_path / "club.sqlite"))
    assert club.database.one("PRAGMA synchronous")[0] == 2
    assert club.database.one("PRAGMA journal_mode")[0] == "wal"
    club.close()


def test_a_file_of_a_newer_program_is_left_alone(tmp_path):
    path = tmp_path / "club.sqlite"
    sole_club(SqliteDatabase(path)).close()
    with sqlite3.connect(path) as connection:
        connection.execute("PRAGMA user_version = 99")
    connection.close()
    with pytest.raises(ValueError, match="newer program"):
        sole_club(SqliteDatabase(path))


def test_a_backup_put_back_by_an_officer_begins_an_epoch_and_gets_back_what_it_lacks(tmp_path):
    desk = Desk(sole_club(SqliteDatabase(tmp_path / "club.sqlite")))
    desk.club = Club(desk.store, FileLedger(tmp_path / "ledger"))
    phone, friend = desk.device("ada", "phone"), desk.device("bo", "tablet")
    phone.write("dive:1", notes="calm")
    friend.write("dive:1", notes="bo's own")
    phone.sync()
    friend.sync()
    desk.store.database.back_up(tmp_path / "backup.sqlite")
    phone.write("ada/dive:1", notes="rough")
    phone.sync()
    desk.club.erase("bo")
    desk.store.close()

    desk.store = sole_club(SqliteDatabase((tmp_path / "backup.sqlite").rename(tmp_path / "restored.sqlite")))
    desk.club = Club(desk.store, FileLedger(tmp_path / "ledger"))
    desk.club.begin_epoch(desk.now_ms)
    assert desk.store.state().epoch == 2
    assert not desk.store.record("bo/dive:1")
    assert phone.sync().counts_agree
    assert value_of(desk.store.record("ada/dive:1"), "notes") == "rough"
    assert friend.sync().ended == "account_gone"
    desk.store.close()


def lines_of(ledger: FileLedger) -> tuple[list[str], list[str]]:
    return list(ledger.erased_members()), list(ledger.removed_keys())


def test_a_ledger_is_there_again_and_passes_over_a_line_that_was_cut(tmp_path):
    path = tmp_path / "ledger"
    ledger = FileLedger(path)
    ledger.write_erased("ada")
    ledger.write_removed("bo/dive:1")
    assert ledger.next_epoch(2) == 2
    whole = path.read_bytes()
    for at in range(len(whole) + 1):
        path.write_bytes(whole[:at])
        erased, removed = lines_of(FileLedger(path))
        assert erased == ["ada"] * (at > whole.index(b"\n"))
        assert removed == ["bo/dive:1"] * (whole[:at].count(b"\n") > 1)
        FileLedger(path).write_erased("cy")
        assert "cy" in lines_of(FileLedger(path))[0]
    assert FileLedger(Path(path)).next_epoch(2) == 3


def test_the_dictionaries_put_everything_back_after_trouble():
    club = MemoryClub()
    before = club.tables.copied()
    with pytest.raises(ZeroDivisionError):
        put_and_fail(club)
    assert club.tables == before
