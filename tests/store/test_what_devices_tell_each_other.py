"""Logbook files that talk to a club or pass each other files: dives, kit and settings, not only records."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Iterator
from contextlib import ExitStack, closing
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings

from logbook_app.dive.history import EDIT, PRESENT, SYNC
from logbook_app.dive.kit import CareRecord, Check, KitItem, KitSet
from logbook_app.store.backup import put_back, write_backup
from logbook_app.store.logbook_store import LogbookStore
from logbook_app.sync.bundle import bundle_of, bundle_to_bytes, parse_bundle, take_in
from logbook_app.sync.conversation import Conversation, Outcome
from logbook_app.sync.device_store import Standing
from logbook_app.sync.own_changes import write
from tests.dive.strategies import Entry, entries, plain_dive
from tests.store.test_nothing_acknowledged_is_lost import forks, in_another_process, numbered
from tests.sync.desk import Desk

pytestmark = pytest.mark.law

NOON = datetime(2036, 6, 1, 12, tzinfo=UTC)


class Sitting:
    """One diver's logbook files, and a club."""

    def __init__(self, folder: Path, closing_all: ExitStack) -> None:
        self.folder, self._closing_all = folder, closing_all
        self.desk = Desk()
        self.at = NOON
        self.desk.now_ms = int(NOON.timestamp() * 1000)

    def now(self) -> datetime:
        self.at += timedelta(seconds=1)
        self.desk.now_ms += 1000
        return self.at

    def store(self, name: str, *, shares: bool = True) -> LogbookStore:
        store = LogbookStore(self.folder / f"{name}.leadline", self.now)
        self._closing_all.enter_context(closing(store))
        if shares:
            store.begin_sharing()
        return store

    def sync(self, store: LogbookStore, device: str, member: str = "ada") -> Outcome:
        shelf = store.sync
        now_ms = lambda: int(self.at.timestamp() * 1000)  # noqa: E731
        conversation = Conversation(shelf, now_ms, lambda: f"{device}x")
        talk = conversation.run()
        request = next(talk)
        try:
            while True:
                request = talk.send(self.desk.ask(request, member, device))
        except StopIteration:
            return conversation.outcome


@pytest.fixture
def sitting(tmp_path: Path) -> Iterator[Sitting]:
    with ExitStack() as closing_all:
        yield Sitting(tmp_path, closing_all)


def pass_on(giver: LogbookStore, taker: LogbookStore) -> None:
    shelf = giver.sync
    take_in(taker.sync, parse_bundle(bundle_to_bytes(bundle_of(shelf, shelf.blobs_here()))))


def rows_of_the_sync(store: LogbookStore) -> int:
    tables = ("sync_state", "sync_changes", "sync_records", "sync_blobs", "sync_carried")
    return sum(store._connection.execute(f"SELECT count(*) FROM {each}").fetchone()[0] for each in tables)  # noqa: S608


def test_nothing_is_kept_for_the_sync_before_the_diver_shares(sitting):
    store = sitting.store("phone", shares=False)
    store.save([numbered(1)])
    store.set_settings({"units": "imperial"})
    store.kit.keep_items([KitItem(name="A jacket")])
    assert rows_of_the_sync(store) == 0


def test_what_was_there_before_becomes_the_first_changes(sitting):
    store = sitting.store("phone", shares=False)
    store.save([numbered(1), numbered(2)])
    store.bin(numbered(2)[0].id, NOON)
    store.set_settings({"units": "imperial", "theme": "night"})
    store.begin_sharing()
    tablet = sitting.store("tablet")
    assert sitting.sync(store, "phone").counts_agree
    outcome = sitting.sync(tablet, "tablet")
    assert outcome.counts_agree
    assert outcome.blobs_received == 1
    assert tablet.dives() == store.dives()
    assert tablet.profile_of(tablet.dives()[0]) == store.profile_of(store.dives()[0])
    assert [dive.id for dive, _at in tablet.binned()] == [numbered(2)[0].id]
    assert tablet.settings() == {"units": "imperial"}


def test_every_kind_of_change_arrives(sitting):
    phone, tablet = sitting.store("phone"), sitting.store("tablet")
    jacket = KitItem(name="A jacket", bought_on=date(2030, 1, 2))
    done = CareRecord(item_id=jacket.id, check=Check.SERVICE, done_on=date(2031, 1, 2))
    together = KitSet(name="Lake", item_ids=(jacket.id,))
    phone.save([numbered(1), numbered(2)])
    phone.kit.keep_items([jacket])
    phone.kit.add_care([done])
    phone.kit.keep_sets([together])
    sitting.sync(phone, "phone")
    sitting.sync(tablet, "tablet")
    assert tablet.kit.items() == [jacket]
    assert tablet.kit.care() == [done]
    assert tablet.kit.sets() == [together]
    one, two = tablet.dives()
    tablet.save([(replace(one, notes="calm", extra={"tide": "low"}), ())])
    tablet.bin(two.id, NOON)
    tablet.kit.take_back_care(done.id, NOON)
    tablet.kit.bin_set(together.id, NOON)
    tablet.kit.bin_item(jacket.id, NOON)
    sitting.sync(tablet, "tablet")
    sitting.sync(phone, "phone")
    assert phone.dives() == tablet.dives()
    assert [dive for dive, _at in phone.binned()] == [dive for dive, _at in tablet.binned()]
    assert phone.kit.items() == []
    assert phone.kit.items(binned=True) == [jacket]
    assert phone.kit.care() == phone.kit.sets() == []
    phone.restore(two.id)
    phone.kit.restore_item(jacket.id)
    phone.kit.restore_set(together.id)
    phone.kit.give_back_care(done.id)
    sitting.sync(phone, "phone")
    sitting.sync(tablet, "tablet")
    assert tablet.dives() == phone.dives()
    assert len(tablet.dives()) == 2
    assert (tablet.kit.items(), tablet.kit.care(), tablet.kit.sets()) == ([jacket], [done], [together])


def test_the_history_tells_of_the_other_device(sitting):
    phone, tablet = sitting.store("phone"), sitting.store("tablet")
    phone.save([(plain_dive(id="d1"), ())])
    sitting.sync(phone, "phone")
    sitting.sync(tablet, "tablet")
    phone.save([(plain_dive(id="d1", notes="calm"), ())])
    sitting.sync(phone, "phone")
    sitting.sync(tablet, "tablet")
    came, edited = tablet.history("d1")
    assert (came.field, came.why, edited.field, edited.why) == (PRESENT, SYNC, "notes", SYNC)
    assert came.origin == edited.origin == phone.sync.state().origin
    assert {line.why for line in phone.history("d1")} == {EDIT}


@pytest.mark.parametrize("by_file", [False, True], ids=["by a club", "by files"])
def test_both_sides_of_a_conflict_are_kept_listed_and_one_can_be_chosen(sitting, by_file):
    phone, tablet = sitting.store("phone"), sitting.store("tablet")

    def everybody() -> None:
        for _again in range(2):
            if by_file:
                pass_on(phone, tablet)
                pass_on(tablet, phone)
            else:
                sitting.sync(phone, "phone")
                sitting.sync(tablet, "tablet")

    phone.save([(plain_dive(id="d1"), ())])
    everybody()
    phone.save([(plain_dive(id="d1", notes="calm"), ())])
    tablet.save([(plain_dive(id="d1", notes="rough"), ())])
    everybody()
    for store in (phone, tablet):
        assert store.dive("d1").notes == "rough"
        ((key, conflict),) = store.sync.conflicts()
        assert conflict.shown.value == "rough"
        assert [each.value for each in conflict.others] == ["calm"]
        said = [value for line in store.history("d1") for value in (line.before, line.after)]
        assert '"calm"' in said
        assert '"rough"' in said
        assert said[-1] == '"rough"'
    phone.sync.choose(key, "notes", conflict.others[0].change)
    assert phone.dive("d1").notes == "calm"
    everybody()
    assert tablet.dive("d1").notes == "calm"
    assert phone.sync.conflicts() == tablet.sync.conflicts() == []


def test_fields_that_two_devices_change_apart_are_both_there(sitting):
    phone, tablet = sitting.store("phone"), sitting.store("tablet")
    phone.save([(plain_dive(id="d1"), ())])
    pass_on(phone, tablet)
    phone.save([(plain_dive(id="d1", notes="calm"), ())])
    tablet.save([(plain_dive(id="d1", rating=4), ())])
    pass_on(phone, tablet)
    pass_on(tablet, phone)
    assert phone.dive("d1") == tablet.dive("d1") == plain_dive(id="d1", notes="calm", rating=4)
    assert phone.sync.conflicts() == []


def test_a_dive_shows_before_its_samples_have_come_and_has_them_afterwards(sitting):
    phone, tablet = sitting.store("phone"), sitting.store("tablet")
    phone.save([numbered(1)])
    shelf = phone.sync
    without = bundle_of(shelf, {})
    take_in(tablet.sync, without)
    (dive,) = tablet.dives()
    assert dive.profile_sha256 is None
    assert dive.estimate
    tablet.save([(replace(dive, notes="calm"), ())])
    sitting.sync(phone, "phone")
    sitting.sync(tablet, "tablet")
    sitting.sync(phone, "phone")
    assert tablet.dives() == phone.dives() == [replace(numbered(1)[0], notes="calm")]
    assert tablet.profile_of(tablet.dives()[0]) is not None
    assert not tablet.damage()


def test_a_record_that_cannot_be_read_changes_nothing_here_and_goes_on(sitting):
    phone, tablet, third = sitting.store("phone"), sitting.store("tablet"), sitting.store("third")
    phone.save([(plain_dive(id="d1"), ())])
    sitting.sync(phone, "phone")
    sitting.sync(tablet, "tablet")
    shelf = phone.sync
    with shelf.change():
        write(shelf, "ada/dive:d1", {"max_depth_m": "deep", "sonar": [1, 2]}, 2_100_000_000_000)
    assert shelf.unreadable == {"ada/dive:d1"}
    sitting.sync(phone, "phone")
    before = tablet.dive("d1")
    assert sitting.sync(tablet, "tablet").counts_agree
    assert tablet.dive("d1") == before
    tablet.save([(replace(before, notes="calm"), ())])
    assert sitting.sync(tablet, "tablet").counts_agree
    assert sitting.sync(third, "third").counts_agree
    assert third.dives() == []


def test_a_backup_put_back_gets_what_came_later_and_takes_another_name(sitting, tmp_path):
    phone = sitting.store("phone")
    phone.save([(plain_dive(id="d1"), ())])
    sitting.sync(phone, "phone")
    write_backup(phone, tmp_path / "kept.leadline")
    phone.save([(plain_dive(id="d1", notes="calm"), ())])
    sitting.sync(phone, "phone")
    before = phone.sync.state().origin
    put_back(phone, tmp_path / "kept.leadline", tmp_path / "aside.leadline")
    assert phone.sync.state().origin != before
    phone.save([(replace(phone.dive("d1"), rating=3), ())])
    assert sitting.sync(phone, "phone").counts_agree
    assert phone.dive("d1") == plain_dive(id="d1", notes="calm", rating=3)


def test_who_stops_sharing_keeps_the_logbook(sitting):
    phone = sitting.store("phone")
    phone.save([numbered(1)])
    sitting.sync(phone, "phone")
    dives = phone.dives()
    phone.stop_sharing()
    assert phone.dives() == dives
    assert not phone.shares
    assert rows_of_the_sync(phone) == 0
    phone.save([numbered(2)])
    assert rows_of_the_sync(phone) == 0


@settings(
    max_examples=40,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
    deadline=None,
)
@given(entry=entries())
def test_any_dive_arrives_as_it_was(tmp_path_factory, entry: Entry):
    with ExitStack() as closing_all:
        sitting = Sitting(tmp_path_factory.mktemp("any"), closing_all)
        phone, tablet = sitting.store("phone"), sitting.store("tablet")
        phone.save([entry])
        pass_on(phone, tablet)
        assert tablet.dives() == phone.dives() == [entry[0]]


@forks
@pytest.mark.parametrize("after_ms", range(5, 125, 10))
def test_killed_at_any_moment_data_and_changes_are_there_together(sitting, after_ms):
    """What the logbook says and what the changes say is the same, wherever the work was cut off."""
    store = sitting.store("phone")
    store.save([(plain_dive(id="d1"), ())])
    store.close()

    def work(tell):
        with closing(LogbookStore(store.path)) as other:
            tell()
            for number in range(10_000):
                other.save([(plain_dive(id="d1", notes=str(number)), ()), numbered(number)])
                other.rewrite((), NOON, EDIT, to_bin=[numbered(number)[0].id])

    child, heard = in_another_process(work)
    os.read(heard, 1)
    time.sleep(after_ms / 1000)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    os.close(heard)
    again, tablet = LogbookStore(store.path), sitting.store("tablet")
    with closing(again):
        shelf = again.sync
        waiting = shelf.own_standing(Standing.WAITING, 0, 10**6)
        assert shelf.state().number == len(waiting) == max(own.change.number for own in waiting)
        pass_on(again, tablet)
        assert tablet.dives() == again.dives()
        assert {dive.id for dive, _ in tablet.binned()} == {dive.id for dive, _ in again.binned()}
