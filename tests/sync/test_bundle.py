"""Two devices of one diver, and a file between them."""

from __future__ import annotations

import hashlib
import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook_app.dive.problems import RefusedMessage
from logbook_app.sync.bundle import TakenIn, bundle_of, bundle_to_bytes, parse_bundle, take_in
from logbook_app.sync.merging import DELETED, conflicts_of, is_deleted, value_of
from tests.sync.desk import Desk, Device

pytestmark = pytest.mark.law


@pytest.fixture
def desk() -> Desk:
    return Desk()


def pass_on(giver: Device, taker: Device) -> TakenIn:
    data = bundle_to_bytes(bundle_of(giver.store, giver.store.tables.blobs))
    return take_in(taker.store, parse_bundle(data))


def test_two_devices_that_pass_files_both_ways_hold_the_same(desk):
    phone, tablet = desk.device("ada", "phone"), desk.device("ada", "tablet")
    phone.write("dive:1", notes="calm")
    pass_on(phone, tablet)
    phone.write("dive:1", notes="rough")
    tablet.write("dive:1", depth=18)
    tablet.write("dive:2", notes="another")
    pass_on(phone, tablet)
    pass_on(tablet, phone)
    for name in ("dive:1", "dive:2"):
        assert phone.sees(name) == tablet.sees(name)
    assert value_of(phone.sees("dive:1"), "notes") == "rough"
    assert value_of(phone.sees("dive:1"), "depth") == 18


def test_a_true_conflict_is_kept_on_both_and_a_deletion_travels(desk):
    phone, tablet = desk.device("ada", "phone"), desk.device("ada", "tablet")
    phone.write("dive:1", notes="calm")
    pass_on(phone, tablet)
    phone.write("dive:1", notes="rough")
    desk.now_ms += 1
    tablet.write("dive:1", notes="swell")
    pass_on(phone, tablet)
    pass_on(tablet, phone)
    for device in (phone, tablet):
        (conflict,) = conflicts_of(device.sees("dive:1"))
        assert (conflict.shown.value, conflict.others[0].value) == ("swell", "rough")
    tablet.write("dive:1", **{DELETED: True})
    pass_on(tablet, phone)
    assert is_deleted(phone.sees("dive:1"))


def test_a_file_taken_in_twice_brings_nothing_the_second_time(desk):
    phone, tablet = desk.device("ada", "phone"), desk.device("ada", "tablet")
    name = hashlib.sha256(b"samples").hexdigest()
    phone.store.tables.blobs[name] = b"samples"
    phone.write("dive:1", notes="calm", recordings=[{"profile_sha256": name}])
    assert pass_on(phone, tablet) == TakenIn(changes=1, records=0, blobs=1)
    assert pass_on(phone, tablet) == TakenIn()
    assert tablet.store.tables.blobs == {name: b"samples"}


def test_what_a_club_showed_goes_on_by_file_and_comes_back_to_the_club(desk):
    phone, tablet, loner = (desk.device("ada", name) for name in ("phone", "tablet", "loner"))
    phone.write("dive:1", notes="calm")
    phone.sync()
    tablet.sync()
    assert pass_on(tablet, loner).records == 1
    assert value_of(loner.sees("dive:1"), "notes") == "calm"
    loner.write("dive:1", notes="edited without a club")
    assert loner.sync().counts_agree
    phone.sync()
    assert value_of(phone.sees("ada/dive:1"), "notes") == "edited without a club"
    assert not list(conflicts_of(phone.sees("ada/dive:1")))
    assert not loner.store.carried()


def test_a_change_sent_by_two_devices_is_one(desk):
    phone, tablet = desk.device("ada", "phone"), desk.device("ada", "tablet")
    phone.write("dive:1", notes="calm")
    pass_on(phone, tablet)
    for device in (tablet, phone, tablet):
        assert device.sync().counts_agree
    assert len([line for line in desk.store.lines(0, 100) if line.change]) == 1


def test_another_member_s_file_is_refused_and_leaves_all_as_it_was(desk):
    ada, bo = desk.device("ada", "phone"), desk.device("bo", "tablet")
    ada.write("shownpage:1", notes="calm", readers=["bo"])
    ada.sync()
    bo.sync()
    with pytest.raises(RefusedMessage, match="another member"):
        pass_on(ada, bo)
    assert not bo.store.tables.own


def test_what_belongs_to_others_does_not_go_into_the_file(desk):
    ada, bo = desk.device("ada", "phone"), desk.device("bo", "tablet")
    ada.write("shownpage:1", notes="calm", writers=["bo"])
    ada.sync()
    bo.sync()
    bo.write("ada/shownpage:1", notes="by bo")
    bundle = bundle_of(bo.store, {})
    assert not bundle.records
    assert not bundle.changes


def test_half_a_file_and_other_files_are_refused(desk):
    phone = desk.device("ada", "phone")
    phone.write("dive:1", notes="calm")
    data = bundle_to_bytes(bundle_of(phone.store, {}))
    for at in range(0, len(data), 7):
        with pytest.raises(RefusedMessage):
            parse_bundle(data[:at])
    for other in (b"{}", b"[]", data.replace(b'"version":1', b'"version":2'), b"\x00" * 9):
        with pytest.raises(RefusedMessage):
            parse_bundle(other)


def test_samples_that_rotted_in_the_file_are_refused(desk):
    phone = desk.device("ada", "phone")
    name = hashlib.sha256(b"samples").hexdigest()
    told = json.loads(bundle_to_bytes(bundle_of(phone.store, {name: b"samples"})))
    told["blobs"][name] = "cm90dGVu"
    with pytest.raises(RefusedMessage, match="damaged"):
        parse_bundle(json.dumps(told).encode())


@settings(max_examples=60)
@given(st.data())
def test_three_devices_and_files_in_any_order_come_to_the_same(data):
    desk = Desk()
    devices = [desk.device("ada", name) for name in ("a", "b", "c")]
    places = st.integers(0, 2)
    for _ in range(data.draw(st.integers(1, 12))):
        desk.now_ms += data.draw(st.integers(0, 2))
        who = devices[data.draw(places)]
        if data.draw(st.booleans()):
            field = data.draw(st.sampled_from(["notes", "depth", DELETED]))
            value = data.draw(st.booleans() if field == DELETED else st.integers(0, 3))
            who.write(data.draw(st.sampled_from(["dive:1", "dive:2"])), **{field: value})
        else:
            pass_on(devices[data.draw(places)], who)
    for giver in [*devices, *devices]:
        for taker in devices:
            pass_on(giver, taker)
    for name in ("dive:1", "dive:2"):
        assert devices[0].sees(name) == devices[1].sees(name) == devices[2].sees(name)
