"""Killed, crowded or out of room: what was acknowledged is there, and nothing is there by half.

A kill leaves the system's own cache intact, so these tests do not show what a pulled plug does;
for that the logbook rests on SQLite syncing the log at every commit (`synchronous = FULL`, checked
in `test_opening_the_logbook_file`).
"""

from __future__ import annotations

import os
import random
import signal
import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest

from logbook_app.dive.problems import LogbookError
from logbook_app.dive.profile import Profile, profile_digest, profile_to_bytes
from logbook_app.dive.record import Dive, Recording
from logbook_app.store.logbook_store import LogbookStore
from tests.dive.strategies import plain_dive

pytestmark = pytest.mark.law
forks = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")

# Tells the test that a save was acknowledged; what another process does, given a way to tell.
Tell = Callable[[], object]
Work = Callable[[Tell], None]

KILLS = 25
DIVES_A_SAVE = 3


@pytest.fixture
def store(tmp_path: Path) -> Iterator[LogbookStore]:
    store = LogbookStore(tmp_path / "logbook.sqlite")
    yield store
    store.close()


def numbered(number: int) -> tuple[Dive, list[Profile]]:
    """Return the dive of this number, the same in every process, with samples of its own."""
    random_depths = np.random.default_rng(number).integers(10, 400, 200)
    profile = Profile(time_s=np.arange(200) * 10.0, depth_m=random_depths / 10)
    recording = Recording(f"print {number}", profile_digest(profile_to_bytes(profile)))
    dive = plain_dive(
        id=f"{number:08d}",
        began_at=plain_dive().began_at + timedelta(hours=number),
        buddies=("Ada", "Bo"),
        recordings=(recording,),
    )
    return dive, [profile]


def tally(saves: int) -> Dive:
    """Return the one dive that every save replaces; its parts say how many saves there were."""
    return plain_dive(id="tally", notes=str(saves), tags=tuple(map(str, range(saves % 5))))


def in_another_process(work: Work) -> tuple[int, int]:
    """Fork, work there and end; return the process id and where what it tells can be read."""
    heard, told = os.pipe()
    child = os.fork()
    if child == 0:
        status = 1
        try:
            work(lambda: os.write(told, b"."))
            status = 0
        finally:
            os._exit(status)
    os.close(told)
    return child, heard


def all_told(heard: int) -> bytes:
    with os.fdopen(heard, "rb") as pipe:
        return pipe.read()


def save_until_killed(path: Path, first: int) -> Work:
    def work(tell: Tell) -> None:
        store = LogbookStore(path)
        for save in range(first, first + 10_000):
            dives = [numbered(save * DIVES_A_SAVE + place) for place in range(DIVES_A_SAVE)]
            store.save([*dives, (tally(save + 1), [])])
            tell()

    return work


@forks
def test_killed_at_any_moment_every_acknowledged_dive_is_there_and_none_by_half(tmp_path: Path) -> None:
    chance = random.Random(20310504)
    path = tmp_path / "logbook.sqlite"
    saved = acknowledged_in_all = 0
    for _ in range(KILLS):
        child, heard = in_another_process(save_until_killed(path, saved))
        time.sleep(chance.uniform(0.0, 0.08))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        acknowledged = len(all_told(heard))
        acknowledged_in_all += acknowledged
        saved = check_whole(path, at_least=saved + acknowledged)
    assert acknowledged_in_all > KILLS  # it was killed while it saved, not before


def check_whole(path: Path, at_least: int) -> int:
    """Return how many saves the logbook holds, having checked that it holds each of them whole.

    The one that the kill came upon may have been finished without being acknowledged.
    """
    with closing(LogbookStore(path)) as store:
        assert store._connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert store._connection.execute("PRAGMA foreign_key_check").fetchall() == []
        dives = {dive.id: dive for dive in store.dives()}
        saves = len(dives) // DIVES_A_SAVE
        assert at_least <= saves <= at_least + 1
        expected = [numbered(number)[0] for number in range(saves * DIVES_A_SAVE)]
        tallies = [tally(saves)] if saves else []
        assert dives == {dive.id: dive for dive in [*expected, *tallies]}
        assert store.revision() == saves
        last = [numbered(number) for number in range(max(0, len(expected) - DIVES_A_SAVE), len(expected))]
        for dive, (profile,) in last:
            assert store.profile(dive.profile_sha256 or "") == profile
        return saves


@forks
def test_two_programs_write_at_once_from_the_making_of_the_file_on(tmp_path: Path) -> None:
    path = tmp_path / "logbook.sqlite"

    def writer(first: int) -> Work:
        def work(tell: Tell) -> None:
            with closing(LogbookStore(path)) as store:
                for number in range(first, first + 30):
                    store.save([numbered(number)])
                    store.save([(numbered(number)[0], [])])  # looks before it writes
                    tell()

        return work

    children = [in_another_process(writer(first)) for first in (0, 100, 200)]
    told = [all_told(heard) for _, heard in children]
    ends = [os.waitpid(child, 0)[1] for child, _ in children]
    assert (told, ends) == ([b"." * 30] * 3, [0, 0, 0])
    with closing(LogbookStore(path)) as store:
        assert store.dives() == [numbered(first + n)[0] for first in (0, 100, 200) for n in range(30)]
        assert store.revision() == 180


def test_a_second_store_sees_each_change_and_reads_while_the_first_writes(store: LogbookStore) -> None:
    with closing(LogbookStore(store.path)) as second:
        store.save([numbered(1)])
        assert second.dives() == [numbered(1)[0]]
        store._connection.execute("BEGIN IMMEDIATE")
        store._connection.execute("DELETE FROM buddies")
        assert second.dives() == [numbered(1)[0]]
        store._connection.execute("ROLLBACK")


def test_a_logbook_can_be_opened_while_another_program_writes(store: LogbookStore) -> None:
    store._connection.execute("BEGIN IMMEDIATE")
    with closing(LogbookStore(store.path)) as second:
        assert second.dives() == []
    store._connection.execute("ROLLBACK")


def _pages(store: LogbookStore) -> int:
    return int(store._connection.execute("PRAGMA page_count").fetchone()[0])


def test_a_full_disk_is_said_and_takes_nothing_with_it(store: LogbookStore) -> None:
    store.save([numbered(1), (tally(1), [])])
    store._connection.execute(f"PRAGMA max_page_count = {_pages(store) + 2}")
    with pytest.raises(LogbookError, match=r"logbook\.sqlite cannot be used: the disk is full; make room"):
        store.save([(tally(2), []), *map(numbered, range(2, 200))])
    assert store.dives() == [tally(1), numbered(1)[0]]
    assert store.revision() == 1
    store._connection.execute("PRAGMA max_page_count = 100000")
    store.save(map(numbered, range(2, 200)))
    assert len(store.dives()) == 200


def test_a_locked_logbook_is_said_and_free_again_afterwards(store: LogbookStore) -> None:
    store._connection.execute("PRAGMA busy_timeout = 20")
    with closing(sqlite3.connect(store.path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(LogbookError, match="another program is writing to it; close that program"):
            store.save([numbered(1)])
        other.execute("ROLLBACK")
    store.save([numbered(1)])
    assert store.dives() == [numbered(1)[0]]


def test_a_logbook_that_becomes_read_only_is_said(store: LogbookStore) -> None:
    store.save([numbered(1)])
    store._connection.execute("PRAGMA query_only = ON")
    with pytest.raises(LogbookError, match="it is read-only; allow writing to it and its folder"):
        store.save([numbered(2)])
    assert store.dives() == [numbered(1)[0]]


def test_an_import_that_is_stopped_half_way_leaves_nothing(store: LogbookStore) -> None:
    def stopped() -> Iterator[tuple[Dive, list[Profile]]]:
        yield numbered(1)
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        store.save(stopped())
    assert store.dives() == []
    store.save([numbered(1)])


def test_samples_are_never_replaced_and_damage_in_them_is_said(store: LogbookStore) -> None:
    dive, (profile,) = numbered(1)
    store.save([(dive, [profile])])
    name = dive.profile_sha256 or ""
    data = bytearray(profile_to_bytes(profile))
    data[-9] ^= 1
    store._connection.execute("UPDATE profiles SET samples = ?", [bytes(data)])
    with pytest.raises(LogbookError, match=f"samples {name[:12]} in the logbook .* are damaged; put back"):
        store.profile(name)
    assert store.dives() == [dive]


def test_samples_of_another_dive_under_this_name_are_not_taken_for_it(store: LogbookStore) -> None:
    """Whole and readable, but not what the name says: the checksum notices what the format cannot."""
    (dive, (profile,)), (_, (other,)) = numbered(1), numbered(2)
    store.save([(dive, [profile])])
    store._connection.execute("UPDATE profiles SET samples = ?", [profile_to_bytes(other)])
    with pytest.raises(LogbookError, match="are damaged"):
        store.profile(dive.profile_sha256 or "")


def test_samples_that_are_not_there_are_named(store: LogbookStore) -> None:
    with pytest.raises(LogbookError, match="holds no samples feedfeed; read their file again"):
        store.profile("feedfeed")


def test_profiles_of_a_thousand_dives_come_in_one_call(store: LogbookStore) -> None:
    store.save(map(numbered, range(1100)))
    names = [dive.profile_sha256 or "" for dive in store.dives()]
    assert len(store.profiles(names)) == 1100
    assert store.profiles([]) == {}


def test_a_dive_taken_back_leaves_its_samples_for_the_next_who_names_them(store: LogbookStore) -> None:
    dive, (profile,) = numbered(1)
    store.save([(dive, [profile])])
    store.save([(replace(dive, recordings=()), [])])
    store.save([(dive, [])])
    assert store.profile(dive.profile_sha256 or "") == profile
