"""One rule of the conversation at a time, device and club on one desk."""

from __future__ import annotations

import hashlib
from collections import Counter
from dataclasses import replace

import pytest

from logbook_app.dive.problems import RefusedMessage, RefusedRecord
from logbook_app.sync import messages
from logbook_app.sync.changes import Change
from logbook_app.sync.device_store import NO_PLACE, Standing
from logbook_app.sync.merging import DELETED, NO_RECORD, conflicts_of, is_deleted, value_of
from logbook_app.sync.messages import (
    LARGEST_CHANGE,
    Code,
    GiveBack,
    Pull,
    Push,
    Refusal,
    SentChange,
    Snapshot,
)
from logbook_app.sync.own_changes import begin_anew, write_again
from logbook_app.sync.records import SIGNED_FIELDS
from logbook_app.sync.stamps import PATIENCE_MS, stamp_ms
from server.deciding import GRACE_MS, HORIZON_MS
from tests.sync.desk import NOW_MS, Desk

pytestmark = pytest.mark.law

DAY_MS = 86_400_000


@pytest.fixture
def desk() -> Desk:
    return Desk()


def waiting(device):
    return device.store.own_standing(Standing.WAITING, 0, 100)


def test_a_dive_written_before_joining_reaches_the_other_device(desk):
    phone, tablet = desk.device("ada", "phone"), desk.device("ada", "tablet")
    phone.write("dive:1", notes="a turtle")
    assert value_of(phone.sees("dive:1"), "notes") == "a turtle"
    assert phone.sync().sent == 1
    assert tablet.sync().counts_agree
    assert value_of(tablet.sees("ada/dive:1"), "notes") == "a turtle"
    assert value_of(phone.sees("ada/dive:1"), "notes") == "a turtle"


def test_a_second_conversation_has_nothing_to_say(desk):
    phone = desk.device("ada", "phone")
    phone.write("dive:1", notes="calm")
    phone.sync()
    desk.asked.clear()
    assert phone.sync().counts_agree
    assert [type(request).__name__ for request in desk.asked] == ["Hello"]


def test_a_device_with_nothing_to_say_still_hears_and_finds_what_differs(desk):
    phone, tablet = desk.device("ada", "phone"), desk.device("ada", "tablet")
    phone.write("dive:1", notes="calm")
    phone.sync()
    tablet.sync()
    phone.write("ada/dive:1", notes="rough")
    phone.sync()
    assert tablet.sync().received == 1
    with tablet.store.change():
        tablet.store.put_decided("ada/dive:1", {})
    assert tablet.sync().repaired == 1
    desk.store.tables.numbers.clear()
    desk.asked.clear()
    assert phone.sync().counts_agree
    assert "Known" in [type(request).__name__ for request in desk.asked]  # the club lost a verdict


def test_the_same_dive_from_one_file_on_two_devices_is_one_without_conflict(desk):
    phone, tablet = desk.device("ada", "phone"), desk.device("ada", "tablet")
    for device in (phone, tablet):
        device.write("dive:f", depth=18.5, notes="calm")
        device.sync()
    assert phone.sync().kept_both == 0
    assert not list(conflicts_of(phone.sees("ada/dive:f")))


def test_the_same_dive_of_two_divers_is_one_for_each(desk):
    ada, bo = desk.device("ada", "phone"), desk.device("bo", "tablet")
    ada.write("shownpage:f", depth=18.5, readers=["bo"])
    bo.write("shownpage:f", depth=18.7, readers=["ada"])
    for device in (ada, bo, ada):
        device.sync()
    assert value_of(ada.sees("bo/shownpage:f"), "depth") == 18.7
    assert value_of(ada.sees("ada/shownpage:f"), "depth") == 18.5


def test_both_sides_of_a_conflict_come_to_every_device_and_a_choice_ends_it(desk):
    phone, tablet, third = (desk.device("ada", name) for name in ("phone", "tablet", "third"))
    phone.write("dive:1", notes="calm")
    phone.sync()
    tablet.sync()
    phone.write("ada/dive:1", notes="rough")
    desk.now_ms += 5
    tablet.write("ada/dive:1", notes="swell")
    tablet.sync()
    assert phone.sync().kept_both == 1
    third.sync()
    for device in (phone, third):
        (conflict,) = conflicts_of(device.sees("ada/dive:1"))
        assert (conflict.shown.value, conflict.others[0].value) == ("swell", "rough")
    third.write("ada/dive:1", notes="rough", chooses=True)
    third.sync()
    phone.sync()
    assert not list(conflicts_of(phone.sees("ada/dive:1")))
    assert value_of(phone.sees("ada/dive:1"), "notes") == "rough"


def test_a_deleted_dive_is_deleted_everywhere_and_comes_back_by_an_ordinary_edit(desk):
    phone, tablet = desk.device("ada", "phone"), desk.device("ada", "tablet")
    phone.write("dive:1", notes="calm")
    phone.sync()
    tablet.sync()
    tablet.write("ada/dive:1", **{DELETED: True})
    tablet.sync()
    phone.sync()
    assert is_deleted(phone.sees("ada/dive:1"))
    phone.write("ada/dive:1", **{DELETED: False})
    phone.sync()
    tablet.sync()
    assert value_of(tablet.sees("ada/dive:1"), "notes") == "calm"
    assert not is_deleted(tablet.sees("ada/dive:1"))


def test_what_is_no_longer_shared_is_forgotten_and_comes_whole_when_shared_again(desk):
    ada, bo = desk.device("ada", "phone"), desk.device("bo", "tablet")
    ada.write("shownpage:1", notes="calm", depth=18, readers=["bo"])
    ada.sync()
    bo.sync()
    assert bo.sees("ada/shownpage:1")
    ada.write("ada/shownpage:1", readers=[])
    ada.write("ada/shownpage:1", notes="my own business")
    ada.sync()
    bo.sync()
    assert not bo.sees("ada/shownpage:1")
    assert "ada/shownpage:1" not in bo.store.decided_keys()
    ada.write("ada/shownpage:1", readers=["*"])
    ada.sync()
    bo.sync()
    assert value_of(bo.sees("ada/shownpage:1"), "depth") == 18


def test_a_refused_edit_stops_showing_is_kept_and_can_become_one_s_own(desk):
    ada, bo = desk.device("ada", "phone"), desk.device("bo", "tablet")
    ada.write("shownpage:1", notes="calm", readers=["bo"])
    ada.sync()
    bo.sync()
    bo.write("ada/shownpage:1", notes="not calm at all")
    bo.write("shownpage:2", notes="mine")
    assert value_of(bo.sees("ada/shownpage:1"), "notes") == "not calm at all"
    outcome = bo.sync()
    assert (outcome.sent, outcome.not_accepted) == (1, 1)
    assert value_of(bo.sees("ada/shownpage:1"), "notes") == "calm"
    (refused,) = bo.store.own_standing(messages.Verdict.DENIED, 0, 10)
    with bo.store.change():
        write_again(bo.store, refused, "shownpage:3", desk.now_ms)
    assert value_of(bo.sees("shownpage:3"), "notes") == "not calm at all"
    assert bo.sync().sent == 1


def test_an_app_that_is_too_old_reads_and_keeps_what_it_would_have_sent(desk):
    old, new = desk.device("ada", "phone"), desk.device("ada", "tablet")
    old.sync()
    desk.club.require_schema(2)
    old.write("ada/dive:1", notes="written on the old app")
    new.write("dive:2", notes="written on the new app", tide="ebb")
    new.sync(schema=2)
    outcome = old.sync(schema=1)
    assert outcome.held_back
    assert outcome.counts_agree
    assert value_of(old.sees("ada/dive:2"), "tide") == "ebb"
    assert len(waiting(old)) == 1
    push = Push(1, 1, (SentChange(waiting(old)[0].change),))
    assert desk.ask(push, "ada", "phone") == Refusal(Code.TOO_OLD)
    assert old.sync(schema=2).sent == 1


def test_a_field_that_an_app_does_not_know_survives_its_edits(desk):
    new, old = desk.device("ada", "tablet"), desk.device("ada", "phone")
    new.write("dive:1", notes="calm", tide={"state": "ebb", "height_m": 1.5})
    new.sync(schema=2)
    old.sync()
    old.write("ada/dive:1", notes="rough")
    old.sync()
    new.sync(schema=2)
    assert value_of(new.sees("ada/dive:1"), "tide") == {"state": "ebb", "height_m": 1.5}
    assert value_of(new.sees("ada/dive:1"), "notes") == "rough"


def test_a_phone_in_2046_is_told_and_wins_nothing_for_twenty_years(desk):
    phone, tablet = desk.device("ada", "phone"), desk.device("ada", "tablet")
    phone.skew_ms = 20 * 365 * DAY_MS
    phone.write("dive:1", notes="from the future")
    outcome = phone.sync()
    assert outcome.clock_is_off
    assert abs(outcome.skew_ms - phone.skew_ms) < 10
    tablet.sync()
    desk.now_ms += 60_000
    tablet.write("ada/dive:1", notes="from now")
    tablet.sync()
    phone.skew_ms = 0
    phone.sync()
    assert value_of(phone.sees("ada/dive:1"), "notes") == "from now"
    change = phone.write("ada/dive:1", notes="with the clock put right")
    assert stamp_ms(change.stamp) <= desk.now_ms + PATIENCE_MS


def test_an_honest_clock_is_not_remarked_on(desk):
    phone = desk.device("ada", "phone")
    phone.skew_ms = 60_000
    assert not phone.sync().clock_is_off


@pytest.mark.parametrize("cut", range(1, 12))
def test_a_snapshot_goes_on_where_it_was_cut(desk, cut):
    phone, tablet = desk.device("ada", "phone"), desk.device("ada", "tablet")
    for number in range(9):
        phone.write(f"dive:{number}", notes=str(number))
    phone.sync()
    asked = 0

    def stop(request):
        nonlocal asked
        asked += isinstance(request, Snapshot)
        return asked > cut

    tablet.sync(stop=stop, page=2)
    staged = len(tablet.store.tables.staged)
    phone.write("ada/dive:0", notes="changed in between")
    phone.sync()
    desk.asked.clear()
    assert tablet.sync(page=2).counts_agree
    pages = sum(isinstance(request, Snapshot) for request in desk.asked)
    assert pages == (0 if cut >= 5 else 5 - staged // 2)
    assert value_of(tablet.sees("ada/dive:0"), "notes") == "changed in between"


def test_a_restored_club_gets_back_what_it_lost_and_loses_what_it_should(desk):
    phone, tablet, bo = desk.device("ada", "phone"), desk.device("ada", "tablet"), desk.device("bo", "bo")
    phone.write("shownpage:1", notes="calm", readers=["bo"])
    phone.sync()
    backup = desk.store.tables.copied()
    phone.write("ada/shownpage:1", notes="rough")
    phone.write("shownpage:2", notes="after the backup", writers=["bo"])
    for device in (phone, tablet, bo):
        device.sync()
    bo.write("ada/shownpage:2", notes="bo was there too")
    bo.sync()
    desk.restore(backup)
    assert bo.sync().put_off == 1
    assert value_of(bo.sees("ada/shownpage:1"), "notes") == "calm"
    assert phone.sync().counts_agree
    assert bo.sync().sent == 1
    for device in (phone, tablet, bo):
        assert device.sync().counts_agree
        assert value_of(device.sees("ada/shownpage:1"), "notes") == "rough"
        assert value_of(device.sees("ada/shownpage:2"), "notes") == "bo was there too"


def test_a_restored_club_gets_from_the_tablet_what_the_lost_phone_had_sent(desk):
    phone, tablet = desk.device("ada", "phone"), desk.device("ada", "tablet")
    backup = desk.store.tables.copied()
    phone.write("dive:1", notes="calm")
    phone.sync()
    tablet.sync()
    desk.restore(backup)
    assert tablet.sync().counts_agree
    assert value_of(desk.store.record("ada/dive:1"), "notes") == "calm"


def test_an_edit_that_waits_for_an_owner_does_not_wait_for_ever(desk):
    ada, bo = desk.device("ada", "phone"), desk.device("bo", "tablet")
    ada.write("shownpage:1", notes="calm", writers=["bo"])
    empty = desk.store.tables.copied()
    ada.sync()
    bo.sync()
    bo.write("ada/shownpage:1", notes="rough")
    bo.sync()
    desk.restore(empty)
    assert bo.sync().put_off == 1
    desk.now_ms += GRACE_MS
    outcome = bo.sync()
    assert (outcome.put_off, outcome.not_accepted) == (0, 1)


def test_a_club_whose_clock_was_a_month_ahead_gets_back_what_it_took_then(desk):
    phone, tablet = desk.device("ada", "phone"), desk.device("ada", "tablet")
    phone.sync()
    backup = desk.store.tables.copied()
    desk.now_ms += 30 * DAY_MS
    phone.skew_ms = 20 * 365 * DAY_MS  # so that it is the club's clock that stamps
    phone.write("ada/dive:1", notes="calm")
    phone.sync()
    other = desk.device("ada", "other")
    other.skew_ms = phone.skew_ms
    other.write("dive:1", notes="rough")
    other.sync()
    tablet.sync()
    desk.now_ms -= 30 * DAY_MS
    desk.restore(backup)  # and both phones are lost
    assert tablet.sync().counts_agree
    record = desk.store.record("ada/dive:1")
    assert value_of(record, "notes") == "rough"
    assert [edit.value for edit in record["notes"].heads] == ["rough", "calm"]
    assert all(stamp_ms(edit.stamp) <= desk.now_ms for edit in record["notes"].heads)
    assert value_of(tablet.sees("ada/dive:1"), "notes") == "rough"


def test_a_refusal_ends_with_the_epoch_that_it_was_given_in(desk):
    """The first backup put back was the wrong one; what it cost is made good by the right one."""
    ada, bo = desk.device("ada", "phone"), desk.device("bo", "tablet")
    ada.sync()
    too_old = desk.store.tables.copied()
    ada.write("ada/shownpage:1", notes="calm", writers=["bo"])
    for device in (ada, bo):
        device.sync()
    right = desk.store.tables.copied()
    bo.write("ada/shownpage:1", notes="rough")
    assert bo.sync().sent == 1
    desk.restore(too_old)  # and ada's phone is lost
    assert bo.sync().put_off == 1
    desk.now_ms += GRACE_MS
    assert bo.sync().not_accepted == 1
    desk.restore(right)
    assert bo.sync().sent == 1
    assert value_of(desk.store.record("ada/shownpage:1"), "notes") == "rough"
    assert value_of(bo.sees("ada/shownpage:1"), "notes") == "rough"


def test_what_was_replaced_stays_so_though_the_edit_between_is_lost_with_every_copy(desk):
    phone, bo = desk.device("ada", "phone"), desk.device("bo", "tablet")
    phone.write("shownpage:1", notes="calm", writers=["bo"])
    phone.sync()
    club, here = desk.store.tables.copied(), phone.store.tables.copied()
    phone.write("ada/shownpage:1", notes="rough")
    phone.sync()
    bo.sync()
    bo.write("ada/shownpage:1", notes="swell")
    phone.store.tables = here
    desk.restore(club)
    for device in (phone, bo, phone):
        assert device.sync().counts_agree
    for device in (phone, bo):
        assert value_of(device.sees("ada/shownpage:1"), "notes") == "swell"
        assert not list(conflicts_of(device.sees("ada/shownpage:1")))


def test_a_deletion_that_was_taken_back_after_the_backup_does_not_become_final(desk):
    """A backup of two years ago is put back, and the club tidies up before the owner comes."""
    phone = desk.device("ada", "phone")
    phone.write("dive:1", notes="calm")
    phone.write("dive:1", **{DELETED: True})
    phone.sync()
    backup = desk.store.tables.copied()
    phone.write("ada/dive:1", **{DELETED: False})
    phone.sync()
    desk.now_ms += 2 * HORIZON_MS
    phone.sync()
    desk.restore(backup)
    desk.club.tidy(desk.now_ms)
    assert phone.sync().counts_agree
    assert not is_deleted(desk.store.record("ada/dive:1"))
    assert value_of(phone.sees("ada/dive:1"), "notes") == "calm"


def test_a_deletion_becomes_final_a_while_after_a_restore(desk):
    phone = desk.device("ada", "phone")
    phone.write("dive:1", **{DELETED: True})
    phone.sync()
    desk.restore(desk.store.tables)
    desk.club.tidy(desk.now_ms + HORIZON_MS - 1)
    assert desk.store.record("ada/dive:1")
    desk.now_ms += HORIZON_MS + 1
    desk.club.tidy(desk.now_ms)
    assert not desk.store.record("ada/dive:1")


def test_a_second_phone_from_the_same_backup_loses_nothing_and_gets_a_name_of_its_own(desk):
    phone = desk.device("ada", "phone")
    phone.write("dive:1", notes="calm")
    phone.sync()
    twin = desk.device("ada", "phone2")
    twin.store.tables = phone.store.tables.copied()
    phone.write("dive:2", notes="on the first")
    twin.write("dive:3", notes="on the second")
    for device in (phone, twin, phone):
        assert device.sync().counts_agree
    assert {f"ada/dive:{n}" for n in (1, 2, 3)} <= set(phone.store.decided_keys())
    assert twin.store.state().origin != phone.store.state().origin
    twin.write("dive:4", notes="and on")
    assert twin.sync().counts_agree


def test_a_phone_restored_from_a_backup_loses_nothing_that_was_sent(desk):
    phone = desk.device("ada", "phone")
    phone.write("dive:1", notes="calm")
    phone.sync()
    backup = phone.store.tables.copied()
    phone.write("dive:2", notes="after the backup")
    phone.sync()
    phone.store.tables = backup
    phone.write("dive:3", notes="on the restored phone")
    assert phone.sync().counts_agree
    assert set(phone.store.decided_keys()) == {"ada/dive:1", "ada/dive:2", "ada/dive:3"}


def test_changes_that_the_club_lost_in_silence_are_missed_by_their_count(desk):
    """A database copied back by hand, without a new epoch."""
    phone, other = desk.device("ada", "phone"), desk.device("bo", "other")
    phone.sync()
    before = desk.store.tables.copied()
    phone.write("dive:1", notes="calm")
    phone.sync()
    desk.store.tables = before.copied()
    other.write("dive:9", notes="so that the log is as long as it was")
    other.sync()
    assert phone.sync().counts_agree
    assert value_of(desk.store.record("ada/dive:1"), "notes") == "calm"


def test_a_record_that_rotted_is_found_and_fetched_alone(desk):
    phone = desk.device("ada", "phone")
    for number in range(40):
        phone.write(f"dive:{number}", notes=str(number))
    phone.sync()
    phone.store.put_decided("ada/dive:7", NO_RECORD)
    desk.asked.clear()
    outcome = phone.sync()
    assert (outcome.counts_agree, outcome.repaired) == (True, 1)
    (fetch,) = (request for request in desk.asked if isinstance(request, messages.Fetch))
    assert fetch.keys == ("ada/dive:7",)


def test_a_mismatch_that_cannot_be_put_right_is_said(desk, monkeypatch):
    phone = desk.device("ada", "phone")
    phone.write("dive:1", notes="calm")
    monkeypatch.setattr(desk.store, "digests", lambda _: [("ada/dive:1", "00")])
    assert phone.sync().counts_agree is False


def test_a_device_that_was_away_for_two_years_brings_back_nothing_that_was_removed(desk):
    phone, tablet = desk.device("ada", "phone"), desk.device("ada", "tablet")
    phone.write("dive:1", notes="calm")
    phone.write("dive:2", notes="stays")
    phone.sync()
    tablet.sync()
    tablet.write("ada/dive:1", notes="edited in the drawer")
    phone.write("ada/dive:1", **{DELETED: True})
    phone.sync()
    for _ in range(2):
        desk.now_ms += HORIZON_MS
        phone.sync()
        desk.club.tidy(desk.now_ms)
    assert not desk.store.record("ada/dive:1")
    assert tablet.sync().ended == Code.RETIRED
    tablet.id = "tablet again"
    begin_anew(tablet.store)
    outcome = tablet.sync()
    assert (outcome.not_accepted, outcome.counts_agree) == (1, True)
    assert not tablet.sees("ada/dive:1")
    assert not desk.store.record("ada/dive:1")
    (kept,) = tablet.store.own_standing(messages.Verdict.GONE, 0, 10)
    assert kept.change.fields == {"notes": "edited in the drawer"}
    phone.sync()
    assert phone.store.decided_keys() == ["ada/dive:2"]


def test_a_revoked_device_keeps_everything_and_goes_on_when_paired_again(desk):
    phone = desk.device("ada", "phone")
    phone.write("dive:1", notes="calm")
    phone.sync()
    phone.write("dive:2", notes="not sent yet")
    desk.club.revoke("phone")
    assert phone.sync().ended == Code.REVOKED
    assert phone.sees("ada/dive:1")
    phone.id = "phone again"
    begin_anew(phone.store)
    assert phone.sync().sent == 1


def test_a_lost_phone_stays_shut_out_after_a_restore(desk):
    phone = desk.device("ada", "phone")
    phone.sync()
    backup = desk.store.tables.copied()
    desk.club.revoke("phone")
    desk.restore(backup)
    assert phone.sync().ended == Code.REVOKED


def test_an_erased_member_is_gone_from_club_and_friends_also_after_a_restore(desk):
    ada, bo = desk.device("ada", "phone"), desk.device("bo", "tablet")
    ada.write(
        "shownpage:1",
        notes="calm",
        readers=["bo"],
        recordings=[{"profile_sha256": put_blob(ada, b"samples")}],
    )
    ada.sync()
    bo.sync()
    backup = desk.store.tables.copied()
    desk.club.erase("ada")
    assert ada.sync().ended == Code.ACCOUNT_GONE
    assert not desk.store.tables.blobs
    bo.sync()
    assert not bo.store.decided_keys()
    desk.restore(backup)
    assert not desk.store.record("ada/shownpage:1")
    assert not desk.store.tables.blobs
    assert not [line for line in desk.store.lines(0, 100) if line.content]
    bo.sync()
    assert not bo.store.decided_keys()


def test_a_friend_who_was_away_during_an_erasure_still_forgets(desk):
    """What has to be forgotten stays in the log though the record is gone."""
    ada, bo = desk.device("ada", "phone"), desk.device("bo", "tablet")
    ada.write("shownpage:1", notes="calm", readers=["bo"])
    ada.sync()
    bo.sync()
    ada.write("ada/shownpage:1", readers=[])
    ada.sync()
    desk.club.erase("ada")
    pulled = desk.ask(Pull(1, bo.store.state().cursor), "bo", "tablet")
    assert [event.key for event in pulled.events if event.change is None and event.record is None]
    assert bo.sync().repaired == 0
    assert not bo.store.decided_keys()


def put_blob(device, data: bytes) -> str:
    name = hashlib.sha256(data).hexdigest()
    device.store.tables.blobs[name] = data
    return name


def test_small_blobs_go_together_and_large_ones_in_parts(desk):
    ada, tablet = desk.device("ada", "phone"), desk.device("ada", "tablet")
    blobs = [number.to_bytes(2, "big") * 400 for number in range(1_200)] + [b"long" * 1_000, b""]
    names = [put_blob(ada, data) for data in blobs]
    for first in range(0, len(names), 100):
        ada.write(
            f"dive:{first}", recordings=[{"profile_sha256": name} for name in names[first : first + 100]]
        )
    assert ada.sync(part=1_000).blobs_sent == len(blobs)
    assert tablet.sync().blobs_received == len(blobs)
    assert tablet.store.tables.blobs == ada.store.tables.blobs
    asked = Counter(type(request).__name__ for request in desk.asked)
    assert asked["PutBlob"] == 4
    assert asked["PutBlobs"] <= 6
    assert asked["GetBlobs"] <= 6


def test_a_blob_that_a_member_may_not_write_or_see_is_left_out_of_many(desk):
    ada, bo = desk.device("ada", "phone"), desk.device("bo", "tablet")
    mine, other = put_blob(ada, b"mine"), put_blob(bo, b"other")
    ada.write("dive:1", recordings=[{"profile_sha256": mine}])
    bo.write("dive:1", recordings=[{"profile_sha256": other}])
    ada.sync()
    bo.sync()
    parts = (messages.PutBlob(mine, 0, 4, b"mine"), messages.PutBlob(other, 0, 5, b"other"))
    answer = desk.ask(messages.PutBlobs(parts), "bo")
    assert ([part.name for part in answer.parts], answer.done) == ([other], 2)
    answer = desk.ask(messages.GetBlobs((mine, other)), "ada")
    assert ([(part.name, part.data) for part in answer.parts], answer.done) == ([(mine, b"mine")], 2)


def test_samples_follow_their_dive_and_go_on_after_a_cut(desk):
    phone, tablet, stranger = (
        desk.device("ada", "phone"),
        desk.device("ada", "tablet"),
        desk.device("cy", "cy"),
    )
    data = bytes(range(256)) * 5
    name = put_blob(phone, data)
    phone.write("dive:1", recordings=[{"profile_sha256": name}])
    parts = 0

    def stop(request):
        nonlocal parts
        parts += isinstance(request, messages.PutBlob | messages.GetBlob)
        return parts == 4

    phone.sync(stop=stop, part=256)
    assert desk.store.arrived(name) == 768
    assert phone.sync(part=256).blobs_sent == 1
    assert tablet.sync().blobs_received == 1
    assert tablet.store.tables.blobs == {name: data}
    assert desk.ask(messages.GetBlob(name, 0), "cy") == Refusal(Code.MISSING)
    assert desk.ask(messages.Blobs((name,)), "cy") == messages.Wanted({})
    assert stranger.sync().blobs_received == 0


def test_bytes_that_are_not_what_their_name_says_are_not_kept(desk):
    phone = desk.device("ada", "phone")
    name = put_blob(phone, b"samples")
    phone.write("dive:1", recordings=[{"profile_sha256": name}])
    phone.store.tables.blobs[name] = b"rotten!"
    assert phone.sync().blobs_sent == 0
    assert desk.store.blob_size(name) is None
    phone.store.tables.blobs[name] = b"samples"
    assert phone.sync().blobs_sent == 1


def test_another_member_s_logbook_is_not_mixed_in(desk):
    phone = desk.device("ada", "phone")
    phone.sync()
    phone.member = "bo"
    with pytest.raises(RefusedMessage, match="another member"):
        phone.sync()


def test_an_answer_to_another_question_is_refused(desk):
    talk = desk.device("ada", "phone").conversation().run()
    next(talk)
    with pytest.raises(RefusedMessage):
        talk.send(messages.Compared(True, 0))


def test_a_change_that_is_too_large_is_refused_where_it_is_written(desk):
    phone = desk.device("ada", "phone")
    with pytest.raises(RefusedRecord, match="Shorten"):
        phone.write("dive:1", notes="x" * LARGEST_CHANGE)
    assert not waiting(phone)
    assert phone.store.state().number == 0


def test_writing_what_is_there_already_is_no_change(desk):
    phone = desk.device("ada", "phone")
    phone.write("dive:1", notes="calm", depth=18)
    assert phone.write("dive:1", notes="calm", depth=18.0) is None
    assert phone.write("dive:1", notes="calm", depth=19).fields == {"depth": 19}


def test_many_changes_go_in_pages_that_a_club_takes(desk):
    phone = desk.device("ada", "phone")
    for number in range(30):
        phone.write(f"dive:{number}", notes="x" * 100_000)
    assert phone.sync().sent == 30
    sizes = [len(messages.to_wire(request)) for request in desk.asked if isinstance(request, Push)]
    assert len(sizes) > 1
    assert max(sizes) < messages.LARGEST_REQUEST
    assert desk.device("ada", "tablet").sync().counts_agree


def test_long_records_are_given_back_and_fetched_in_messages_that_are_taken(desk):
    phone = desk.device("ada", "phone")
    phone.sync()
    empty = desk.store.tables.copied()
    for number in range(30):
        phone.write(f"ada/dive:{number}", notes="x" * 100_000)
    phone.sync()
    tablet = desk.device("ada", "tablet")
    tablet.sync()
    desk.restore(empty)
    desk.asked.clear()
    assert tablet.sync().counts_agree
    given = [request for request in desk.asked if isinstance(request, GiveBack)]
    assert len(given) > 1
    assert all(len(messages.to_wire(request)) < messages.LARGEST_REQUEST for request in given)
    assert len(desk.store.tables.records) == 30
    tablet.store.tables.decided.clear()
    tablet.store.tables.digests.clear()
    assert tablet.sync().repaired == 30
    assert len(tablet.store.decided_keys()) == 30


def test_nobody_gives_back_what_is_another_s(desk):
    ada, cy = desk.device("ada", "phone"), desk.device("cy", "cy")
    ada.write("dive:1", notes="calm")
    ada.sync()
    forged = Change("cy", 1, "", "dive:1", "ffff" * 4, {"notes": "forged"}, {}).as_record()
    desk.ask(GiveBack(1, {"ada/dive:1": forged}), "cy", "cy")
    assert value_of(desk.store.record("ada/dive:1"), "notes") == "calm"
    own = {
        "cy/dive:1": forged,
        "cy/signoff:1": Change(
            "cy", 1, "", "signoff:1", "0" * 16, dict.fromkeys(SIGNED_FIELDS, "x"), {}
        ).as_record(),
    }
    desk.ask(GiveBack(1, own), "cy", "cy")
    (taken,) = desk.store.record("cy/dive:1")["notes"].heads
    assert stamp_ms(taken.stamp) <= desk.now_ms  # whatever stamp was forged
    assert not desk.store.record("cy/signoff:1")
    assert cy.sync().counts_agree


def test_a_place_that_the_log_no_longer_reaches_leads_to_a_snapshot(desk):
    phone, tablet = desk.device("ada", "phone"), desk.device("ada", "tablet")
    phone.write("dive:1", notes="calm")
    phone.sync()
    tablet.sync()
    phone.write("dive:2", notes="rough")
    phone.sync()
    for _ in range(2):
        desk.club.tidy(desk.now_ms)
    assert desk.ask(Pull(1, 0), "ada") == Refusal(Code.RESYNC)
    desk.store.put_state(replace(desk.store.state(), floor=desk.store.state().seq))
    assert tablet.sync().counts_agree
    assert tablet.store.state().cursor != NO_PLACE
    assert desk.now_ms > NOW_MS


@pytest.mark.parametrize("kind", [Snapshot, Pull, messages.Fetch])
def test_a_device_that_is_paired_again_in_the_middle_begins_anew(desk, kind):
    """Whatever was under way belongs to a place that the device has left."""
    phone, tablet = desk.device("ada", "phone"), desk.device("ada", "tablet")
    for number in range(5):
        phone.write(f"dive:{number}", notes=str(number))
    phone.sync()
    if kind is not Snapshot:
        tablet.sync()
        phone.write("ada/dive:9", notes="later")
        phone.sync()
        tablet.store.put_decided("ada/dive:3", NO_RECORD)
    paired = []

    def pair_again(request):
        if isinstance(request, kind) and getattr(request, "after", "x") and not paired:
            paired.append(request)
            begin_anew(tablet.store)
        return False

    assert tablet.sync(stop=pair_again, page=2).counts_agree
    assert paired
    assert tablet.store.tables.decided == phone.store.tables.decided


@pytest.mark.parametrize("kind", [messages.Compare, messages.Buckets, messages.Listing])
def test_counts_are_not_compared_while_somebody_else_writes(desk, kind):
    phone, tablet = desk.device("ada", "phone"), desk.device("ada", "tablet")
    tablet.write("dive:1", notes="calm", depth=18)
    tablet.sync()
    phone.sync()
    phone.store.put_decided("ada/dive:1", NO_RECORD)
    writes = []

    def write_meanwhile(request):
        if isinstance(request, kind) and len(writes) < 2:
            writes.append(tablet.write("ada/dive:1", notes=f"{len(writes)}"))
            change = SentChange(writes[-1])
            desk.ask(Push(1, 1, (change,)), "ada", "tablet")
        return False

    outcome = phone.sync(stop=write_meanwhile)
    assert outcome.counts_agree
    assert writes
    assert value_of(phone.sees("ada/dive:1"), "notes") == value_of(tablet.sees("ada/dive:1"), "notes")


def test_a_club_that_never_stops_changing_leaves_the_counts_open(desk):
    phone, tablet = desk.device("ada", "phone"), desk.device("ada", "tablet")
    numbers = iter(range(100))

    def write_meanwhile(request):
        if isinstance(request, messages.Compare):
            change = tablet.write("dive:1", notes=f"{next(numbers)}")
            desk.ask(Push(1, 1, (SentChange(change),)), "ada", "tablet")
        return False

    assert phone.sync(stop=write_meanwhile).counts_agree is None
    assert phone.sync().counts_agree
