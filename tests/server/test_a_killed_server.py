"""A club's process is killed at any moment: what it acknowledged is there, and nothing by half.

A kill leaves the system's own cache intact; against a pulled plug the club rests on SQLite syncing its log
at every commit (`synchronous = FULL`, checked in `test_stores`).
"""

from __future__ import annotations

import random
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest

from logbook_app.sync.changes import Change
from logbook_app.sync.hash_tree import record_digest
from server.club_home import ClubHome
from server.sql_club import open_club
from server.sqlite_database import SqliteDatabase
from server.worker import Serving

pytestmark = pytest.mark.law

ROOT = Path(__file__).parents[2]
KILLS = 8
SERVE = """
import sys
from pathlib import Path
from logbook_app.sync.changes import Change
from logbook_app.sync.messages import Push, SentChange
from logbook_app.sync.stamps import StampClock
from server.club_home import ClubHome
from server.permissions import Caller

home = ClubHome(Path(sys.argv[1]))
began = home.store.state().seq
for number in range(began + 1, began + 100_000):
    stamp = StampClock(number).stamp
    changes = tuple(
        SentChange(Change(part, number, "", f"dive:{part}{number}", stamp, {"n": number}, {}))
        for part in ("a", "b")
    )
    answer = home.club.answer(Push(1, 1, changes), Caller("ada", "phone", 10**12))
    print(" ".join(judged.change for judged in answer.verdicts), flush=True)
"""


def test_what_a_killed_club_acknowledged_is_there_whole(tmp_path):
    acknowledged: set[str] = set()
    moments = random.Random(7)
    for _ in range(KILLS):
        command = [sys.executable, "-c", SERVE, str(tmp_path)]
        with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True) as server:
            acknowledged |= set(server.stdout.readline().split())
            time.sleep(moments.random() * 0.1)
            server.kill()
            acknowledged |= {word for line in server.stdout for word in line.split() if line.endswith("\n")}
        club = open_club(SqliteDatabase(tmp_path / "club.sqlite"))
        lines = club.lines(0, 10**6)
        assert club.database.connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert all(club.seen(change) for change in acknowledged)
        assert acknowledged <= {line.change for line in lines}
        assert [line.seq for line in lines] == list(range(1, club.state().seq + 1))
        assert len(lines) % 2 == 0  # two changes a push
        digests = dict(club.digests("ada"))
        assert digests == {line.key: record_digest(club.record(line.key)) for line in lines}
        club.close()
    assert len(acknowledged) > 2 * KILLS


def test_an_erasure_that_was_cut_off_is_finished_when_the_club_is_served_again(tmp_path):
    """The ledger is written first; then the power went."""
    with closing(ClubHome(tmp_path)) as home:
        ada, _code = home.invite("Ada")
        key = f"{ada.id}/dive:1"
        record = Change("a", 1, "", "dive:1", "0" * 16, {"notes": "calm"}, {}).as_record()
        with home.store.change():
            home.store.put_record(key, record, frozenset({ada.id}), 1)
        home.ledger.write_erased(ada.id)
        number = home.store.number
    Serving(str(tmp_path), None, number, "A club", 1).app()
    with closing(ClubHome(tmp_path)) as home:
        assert not home.store.record(key)
        assert not home.accounts.members()
