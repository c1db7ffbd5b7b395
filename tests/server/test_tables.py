"""The tables: the club leads every key, and what an older program kept is there after an update."""

from __future__ import annotations

import gzip
import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from logbook_app.sync.merging import value_of
from logbook_app.sync.packing import unpacked
from server import tables
from server.accounts import Accounts
from server.club_store import Line, Seen
from server.sql_club import SqlClub, club_numbers, open_club
from server.sqlite_database import SqliteDatabase
from tests.sync.desk import Desk

pytestmark = pytest.mark.law

# A club as the first program kept it, written by that program: shared, deleted and refused records, a
# blob that is whole and one that is not, a device that was revoked.
FORM_1 = Path(__file__).with_name("club_of_form_1.sqlite.gz")
SECRETS = {"Tess": "ab" * 32, "Ada": "cd" * 32}
TABLES = "SELECT name FROM sqlite_schema WHERE type = 'table'"


@pytest.fixture
def old(tmp_path) -> Path:
    path = tmp_path / "club.sqlite"
    path.write_bytes(gzip.decompress(FORM_1.read_bytes()))
    return path


@pytest.fixture
def kept(old) -> dict[str, list[Any]]:
    """What stands in the file before it is opened."""
    with closing(sqlite3.connect(old)) as connection:
        names = [name for (name,) in connection.execute(TABLES)]
        return {name: connection.execute(f"SELECT * FROM {name}").fetchall() for name in names}  # noqa: S608


@pytest.fixture
def club(old, kept) -> Iterator[SqlClub]:
    with closing(open_club(SqliteDatabase(old))) as club:
        yield club


def test_a_file_of_the_first_form_becomes_a_club_among_others(club, kept):
    assert club.database.form() == tables.FORM
    assert club_numbers(club.database) == [club.number]
    left = [name for (name,) in club.database.all(TABLES)]
    assert {*kept, "clubs"} - {"state"} <= set(left)
    assert not [name for name in left if name == "state" or name.startswith("old_")]
    said, ((_, *state),) = club.state(), kept["state"]
    assert [said.epoch, said.seq, said.floor, said.aged] == state[:4]
    assert [said.clock.ms, said.clock.count, said.least_schema, said.restored_ms] == state[4:]


def test_its_records_are_who_may_see_them(club, kept):
    assert len(kept["records"]) == 5
    for key, _owner, content, digest, deleted_ms in kept["records"]:
        assert club.record(key) == unpacked(content)
        assert (key in club.deleted_before(10**15)) == (deleted_ms is not None)
        assert club.audience(key) == {who for who, of in kept["audiences"] if of == key}
        assert dict(club.digests(key.partition("/")[0]))[key] == digest
    for member, _, _ in kept["members"]:
        seen = sorted({of for who, of in kept["audiences"] if who in (member, "*")})
        assert club.visible(member, "", 100) == seen == sorted(dict(club.digests(member)))


def test_its_verdicts_log_devices_and_blobs_are_there(club, kept):
    assert {verdict for _, _, _, verdict, _, _ in kept["seen"]} == {"accepted", "denied"}
    for change, _origin, _number, verdict, stamp, seq in kept["seen"]:
        assert club.seen(change) == Seen(change, verdict, stamp, seq)
    told = [Line(*line, frozenset(json.loads(audience))) for *line, audience in kept["log"]]
    assert club.lines(0, 100) == told
    assert [(each.id, each.member, each.seen_ms, each.standing) for each in club.devices()] == kept["devices"]
    assert [(name, club.blob_size(name)) for name, _ in kept["blobs"]] == kept["blobs"]
    for name, at, data in kept["parts"]:
        assert club.blob_part(name, at, 10**6) == data
    for name, key in kept["named"]:
        assert club.naming(name) == [key]


def test_its_members_and_their_devices_are_known(club, kept):
    accounts = Accounts(club.database, club.number)
    assert [(each.id, each.name, int(each.signs)) for each in accounts.members()] == kept["members"]
    assert {accounts.speaker(token) for token in SECRETS.values()} == {row[:2] for row in kept["tokens"]}
    assert len(club.database.all("SELECT * FROM invitations")) == len(kept["invitations"]) == 3


def test_its_devices_go_on_where_they_were(club):
    accounts = Accounts(club.database, club.number)
    desk = Desk(club)
    ada, tess = accounts.members()
    tablet = desk.device(tess.id, "tablet2")
    assert tablet.sync().counts_agree
    assert value_of(tablet.sees(f"{ada.id}/dive:1"), "notes") == "größer, 大"
    tablet.write("dive:9", notes="later")
    assert tablet.sync().sent == 1


def test_a_file_is_taken_over_whole_or_stays_as_it_was(old, kept, monkeypatch):
    monkeypatch.setattr(tables, "_FROM_ONE_CLUB", tables._FROM_ONE_CLUB + "DROP TABLE nowhere;")
    with pytest.raises(sqlite3.OperationalError, match="nowhere"):
        open_club(SqliteDatabase(old))
    with closing(sqlite3.connect(old)) as connection:
        assert connection.execute("PRAGMA user_version").fetchone() == (1,)
        for name, lines in kept.items():
            assert connection.execute(f"SELECT * FROM {name}").fetchall() == lines  # noqa: S608


KEYS = {
    "sqlite": """
        SELECT tables.name, keys.origin = 'pk',
            (SELECT name FROM pragma_index_info(keys.name) WHERE seqno = 0)
        FROM sqlite_schema AS tables JOIN pragma_index_list(tables.name) AS keys
        WHERE tables.type = 'table'""",
    "postgresql": """
        SELECT tables.relname, keys.indisprimary, columns.attname
        FROM pg_class AS tables JOIN pg_index AS keys ON keys.indrelid = tables.oid
        JOIN pg_attribute AS columns ON columns.attrelid = tables.oid AND columns.attnum = keys.indkey[0]
        WHERE tables.relnamespace = current_schema()::regnamespace""",
}
NAMES = {
    "sqlite": TABLES,
    "postgresql": "SELECT relname FROM pg_class WHERE relkind = 'r'"
    " AND relnamespace = current_schema()::regnamespace",
}


def test_the_club_leads_every_key(open_database, kind):
    database = open_database()
    open_club(database)
    names = {name for (name,) in database.all(NAMES[kind])}
    keys = database.all(KEYS[kind])
    assert names == {"clubs", *tables.TABLES}
    assert {table for table, primary, _ in keys if primary} == names
    assert len(keys) > len(names) > 10
    assert {first for _, _, first in keys} == {"club"}, keys


def test_nothing_counts_by_a_sequence(new_address):
    from server.postgresql_database import PostgresqlDatabase

    with closing(open_club(PostgresqlDatabase(new_address)).database) as database:
        assert database.all(NAMES["postgresql"])
        assert not database.all(NAMES["postgresql"].replace("'r'", "'S'"))


def test_the_steps_since_are_taken_with_rows_in_the_tables_in_both_databases(
    open_database, kind, monkeypatch
):
    database = open_database()
    with monkeypatch.context() as long_ago:
        long_ago.setattr(tables, "_LATER", ())
        long_ago.setattr(tables, "FORM", 2)
        tables.prepare(database)
    number = tables.new_number()
    database.run("INSERT INTO clubs VALUES (?, 1, 3, 0, 0, 5, 0, 1, 0)", number)
    database.run("INSERT INTO members (club, instructor, id, name) VALUES (?, 1, 'a1', 'Tess')", number)
    club = open_club(open_database())
    assert (club.number, club.state().seq, database.form()) == (number, 3, tables.FORM)
    (tess,) = Accounts(database, number).members()
    assert (tess.name, tess.signs_as) == ("Tess", "instructor")
    assert {name for (name,) in database.all(NAMES[kind])} == {"clubs", *tables.TABLES}
