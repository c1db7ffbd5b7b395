"""Several processes serve one club: nobody misses a line of the log, and clubs do not touch each other."""

from __future__ import annotations

import re
import signal
import subprocess
import sys
from contextlib import ExitStack, closing
from dataclasses import replace
from pathlib import Path

import pytest

from logbook_app.sync.messages import Code, Hello, Join, Joined, Pull, Welcome
from server.database import Database
from server.deciding import Club
from server.memory_club import MemoryLedger
from server.sql_club import SqlClub, found_club, open_club
from tests.server.clubs import ServedClub, token_of
from tests.server.racing import A_PUSH, database_at, pulled
from tests.server.test_serving import asked, said_until, serving

pytestmark = pytest.mark.law

ROOT = Path(__file__).parents[2]
PUSHERS, PUSHES = ("ada", "bo", "cy"), 40
LINES = len(PUSHERS) * PUSHES * A_PUSH


@pytest.fixture
def place(kind, request, tmp_path) -> str:
    return str(tmp_path / "clubs.sqlite") if kind == "sqlite" else request.getfixturevalue("new_address")


def started(stack: ExitStack, *arguments: str) -> subprocess.Popen[str]:
    command = [sys.executable, "-m", "tests.server.racing", *arguments]
    return stack.enter_context(
        subprocess.Popen(command, cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    )


def test_who_pulls_while_others_push_misses_nothing(place, open_database):
    club = open_club(open_database())
    with ExitStack() as stack:
        pushers = [started(stack, place, "push", name, str(PUSHES)) for name in PUSHERS]
        puller = started(stack, place, "pull", "dee", str(LINES))
        for process in (*pushers, puller):
            assert process.stdout.readline() == "ready\n"
        for process in (*pushers, puller):
            process.stdin.write("go\n")
            process.stdin.flush()
        here = list(pulled(Club(club, MemoryLedger()), LINES))
        there = puller.stdout.read().split()
        acknowledged = [change for process in pushers for change in process.stdout.read().split()]
    assert len(set(acknowledged)) == len(acknowledged) == LINES
    assert here == there == [line.change for line in club.lines(0, LINES)]
    assert set(here) == set(acknowledged)


def test_what_a_killed_process_acknowledged_is_there_and_nothing_by_half(new_address):
    with closing(database_at(new_address)) as database:
        club = open_club(database)
        for name in PUSHERS:
            with ExitStack() as stack:
                pusher = started(stack, new_address, "push", name, "100000")
                assert pusher.stdout.readline() == "ready\n"
                pusher.stdin.write("go\n")
                pusher.stdin.flush()
                told = [pusher.stdout.readline().strip() for _ in range(20)]
                pusher.kill()
            with club.change():  # waits until the server has put back what the killed one had begun
                lines = club.lines(0, 10**6)
                assert all(club.seen(change) for change in told)
                assert [line.seq for line in lines] == list(range(1, club.state().seq + 1))
                assert len(lines) % A_PUSH == 0


WAITS_FOR_NOBODY = {"sqlite": "PRAGMA busy_timeout = 0", "postgresql": "SET lock_timeout = '1ms'"}


def test_a_club_has_one_writer_at_a_time_and_others_read_what_was_committed(kind, open_database):
    one, other = open_club(open_database()), open_club(open_database())
    other.database.run(WAITS_FOR_NOBODY[kind])
    before = other.state()
    with one.change():
        one.put_state(replace(before, seq=1))
        with pytest.raises(Exception, match="lock"), other.change():
            pass
        assert other.state() == before
    assert other.state().seq == 1
    with other.change():
        assert other.state().seq == 1


def test_clubs_in_postgresql_do_not_wait_for_each_other(new_address):
    with ExitStack() as stack:
        one, other = (stack.enter_context(closing(database_at(new_address))) for _ in range(2))
        first, second = found_club(one), found_club(other)
        other.run(WAITS_FOR_NOBODY["postgresql"])
        with first.change(), second.change():
            for club in (first, second):
                club.put_state(replace(club.state(), seq=club.number))
        assert [club.state().seq for club in (first, second)] == [first.number, second.number]


def end_session(of: Database, officer: Database) -> None:
    (process,) = of.one("SELECT pg_backend_pid()")
    officer.run("SELECT pg_terminate_backend(?, 5000)", process)


def change_while_the_session_ends(club: SqlClub, officer: Database) -> None:
    with club.change():
        club.put_part("a" * 64, 0, b"x")
        end_session(club.database, officer)
        club.put_part("a" * 64, 1, b"y")


def test_a_connection_that_broke_is_made_anew_and_a_change_by_half_is_none(new_address):
    with closing(database_at(new_address)) as database, closing(database_at(new_address)) as officer:
        club = open_club(database)
        end_session(database, officer)
        assert club.state().epoch == 1
        with pytest.raises(Exception, match="terminat"):
            change_while_the_session_ends(club, officer)
        assert club.arrived("a" * 64) == 0
        with club.change():
            club.put_part("a" * 64, 0, b"x")
        assert club.arrived("a" * 64) == 1


def test_it_makes_no_difference_which_process_is_asked(open_home):
    one, other = (ServedClub(open_home()) for _ in range(2))
    ada, bo = one.joined("Ada", "phone"), other.joined("Bo", "tablet")
    for number, process in enumerate((one, other, one, other), 1):
        answer = process.push("phone", f"shown:{number}", number, readers=["*"])
        assert [judged.seq for judged in answer.verdicts] == [number]
    for process in (one, other):
        told = process.ask(Pull(1, 0), token_of("tablet"))
        assert [event.key for event in told.events] == [f"{ada}/shown:{number}" for number in range(1, 5)]
    one.home.erase(ada)
    assert other.ask(Hello(1), token_of("phone")).code == Code.ACCOUNT_GONE
    assert other.ask(Hello(1), token_of("tablet")).member == bo


def test_several_workers_answer_at_one_address(new_address, tmp_path):
    with serving(tmp_path / "club", "--workers", "2", "--database", new_address) as (process, address):
        code = re.search(r"^[\w-]{22}$", said_until(process, r"^[\w-]{22}$"), re.MULTILINE).group()
        assert isinstance(asked(address, Join(code, token_of("phone"), "phone")), Joined)
        for _ in range(10):  # each over a connection of its own
            assert isinstance(asked(address, Hello(1), token_of("phone")), Welcome)
        process.send_signal(signal.SIGTERM)
        process.communicate(timeout=60)
        assert process.returncode == 0
