"""Every store keeps the same club, and what the database must outlive, it outlives."""

from __future__ import annotations

from contextlib import closing
from functools import partial
from pathlib import Path

import pytest

from logbook_app.sync.merging import value_of
from logbook_app.sync.messages import Join
from server.accounts import Accounts
from server.club_store import ClubStore, Ledger
from server.deciding import Club
from server.ledger_file import FileLedger
from server.memory_club import MemoryClub, MemoryLedger
from server.moving import copy_club, write_backup
from server.sql_club import club_numbers, found_club, open_club
from server.sqlite_database import SqliteDatabase
from tests.server.mirrored_club import CALLS, MirroredClub
from tests.sync.desk import Desk
from tests.sync.torture import world_of

pytestmark = pytest.mark.law

WORLDS = {"sqlite": 60, "postgresql": 20}  # a call of the second costs a message to another process


@pytest.mark.parametrize("third", range(3))
def test_every_store_says_the_same_in_every_world(open_database, kind, third):
    database = open_database() if kind == "postgresql" else SqliteDatabase(":memory:")
    worlds = WORLDS[kind]
    for seed in range(third, worlds, 3):
        world_of(seed, kept_in=partial(MirroredClub, found=lambda: found_club(database)))
    numbers = club_numbers(database)
    assert len(numbers) > worlds // 3  # and one for every restore
    assert len({open_club(database, number).state() for number in numbers}) > worlds // 6


def test_every_call_is_mirrored():
    calls = {name for name in vars(ClubStore) if not name.startswith("_")}
    assert calls == {*CALLS, "change", "blob_part"}
    assert isinstance(FileLedger.erased, type(MemoryLedger.erased))
    assert {name for name in vars(Ledger) if not name.startswith("_")} <= set(dir(FileLedger))


def test_a_club_is_there_again_when_its_database_is_opened_again(open_database):
    desk = Desk(open_club(open_database()))
    phone = desk.device("ada", "phone")
    phone.write("dive:1", notes="größer, 大")
    assert phone.sync().counts_agree
    desk.store.close()
    again = Desk(open_club(open_database()))
    assert value_of(again.store.record("ada/dive:1"), "notes") == "größer, 大"
    assert again.device("ada", "tablet").sync().counts_agree
    again.store.close()


def test_a_name_may_have_any_character(open_database, tmp_path):
    database = open_database()
    club = open_club(database)
    accounts = Accounts(database, club.number)
    with club.change():
        code = accounts.invite(accounts.add_member("Ada\0 大 ☂").id, 0)
        member = accounts.join(Join(code, "ab" * 32, "a \0phone"), 0)
    assert member.name.replace("\0", "") == "Ada 大 ☂"
    ((_, phone),) = accounts.devices_of(member.id)
    assert phone.replace("\0", "") == "a phone"
    write_backup(club, tmp_path / "backup.sqlite")
    with closing(open_club(SqliteDatabase(tmp_path / "backup.sqlite"))) as backup:
        copy_club(backup, club)


def put_and_fail(club: ClubStore) -> None:
    with club.change():
        club.put_part("a" * 64, 0, b"x")
        _ = 1 / 0


def test_a_change_that_fails_leaves_no_trace(open_database):
    club = open_club(open_database())
    before = club.state()
    with pytest.raises(ZeroDivisionError):
        put_and_fail(club)
    assert (club.state(), club.arrived("a" * 64)) == (before, 0)
    club.close()


def test_a_club_s_file_syncs_at_every_commit(tmp_path):
    club = open_club(SqliteDatabase(tmp_path / "club.sqlite"))
    assert club.database.one("PRAGMA synchronous")[0] == 2
    assert club.database.one("PRAGMA journal_mode")[0] == "wal"
    club.close()


def test_a_database_of_a_newer_program_is_left_alone(open_database):
    open_club(open_database())
    open_database().put_form(99)
    with pytest.raises(ValueError, match="newer program"):
        open_club(open_database())


def test_a_backup_put_back_by_an_officer_begins_an_epoch_and_gets_back_what_it_lacks(open_database, tmp_path):
    desk = Desk(open_club(open_database()))
    desk.club = Club(desk.store, FileLedger(tmp_path / "ledger"))
    phone, friend, lost = (
        desk.device(*each) for each in (("ada", "phone"), ("bo", "tablet"), ("ada", "lost"))
    )
    phone.write("dive:1", notes="calm")
    friend.write("dive:1", notes="bo's own")
    for device in (phone, friend, lost):
        device.sync()
    write_backup(desk.store, tmp_path / "backup.sqlite")
    phone.write("ada/dive:1", notes="rough")
    phone.sync()
    desk.club.erase("bo")
    desk.club.revoke("lost")

    with closing(open_club(SqliteDatabase(tmp_path / "backup.sqlite"))) as backup:
        copy_club(backup, desk.store)
    desk.club = Club(desk.store, FileLedger(tmp_path / "ledger"))
    desk.club.begin_epoch(desk.now_ms)
    assert desk.store.state().epoch == 2
    assert not desk.store.record("bo/dive:1")
    assert phone.sync().counts_agree
    assert value_of(desk.store.record("ada/dive:1"), "notes") == "rough"
    assert friend.sync().ended == "account_gone"
    assert lost.sync().ended == "revoked"


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
