"""What others are given of a diver's records: nothing but what is written for them and holds no more."""

from __future__ import annotations

import hashlib
from dataclasses import fields
from datetime import UTC, datetime

import pytest

from logbook_app.dive.kit import KitItem
from logbook_app.dive.record import Dive, Recording, Site, Water
from logbook_app.sync.changes import Change
from logbook_app.sync.merging import Edit, Field
from logbook_app.sync.messages import (
    Blobs,
    Code,
    Fetch,
    GetBlob,
    GiveBack,
    Pull,
    PutBlob,
    Snapshot,
    Verdict,
)
from logbook_app.sync.records import values_from
from logbook_app.sync.shown_dives import PARTS, ShownDive, ShownSamples, shown_dive, shown_name
from logbook_app.sync.stamps import StampClock
from server.permissions import audience_of
from tests.sync.desk import NOW_MS, Desk
from tests.sync.test_deciding import SHARING, keys_seen, push

pytestmark = pytest.mark.law

BEGAN = datetime(2030, 5, 1, 9, tzinfo=UTC)
DIVE = Dive(
    id="d1",
    began_at=BEGAN,
    duration_min=40,
    max_depth_m=18,
    site=Site("s", "Wreck of the Ada", 440.0, 46.1234, 9.4321, Water.FRESH, "Lago"),
    notes="I was unwell",
    buddies=("Bo",),
    rating=3,
    tags=("deep",),
    suit="dry",
    weights_kg=9,
    recordings=(Recording("f", "ab" * 32),),
)
SHOWN = values_from(shown_dive(DIVE, "Ada", PARTS, ShownSamples("cd" * 32, "ab" * 8)))
KEY = f"ada/{shown_name('d1')}"
PRIVATE_FIELDS = sorted(
    ({each.name for each in fields(Dive)} | {each.name for each in fields(KitItem)})
    - {each.name for each in fields(ShownDive)}
)


def everything_told(desk: Desk, member: str, since: int = 0) -> str:
    asked = (Snapshot(1), Pull(1, since), Fetch(1, (KEY, "ada/dive:d1")))
    return repr([desk.ask(each, member, f"{member} phone") for each in asked])


@pytest.mark.parametrize("kind", ["dive", "kit", "set", "care", "settings", "buddy", "certificate", "card"])
@pytest.mark.parametrize("role", SHARING)
def test_what_a_diver_keeps_is_the_diver_s_alone_whoever_it_names(kind, role):
    desk = Desk()
    assert push(desk, "ada", f"{kind}:1", {"notes": "secret", **SHARING[role]}) == Verdict.ACCEPTED
    assert keys_seen(desk, "bo", f"ada/{kind}:1") == [False] * 3
    assert keys_seen(desk, "ada", f"ada/{kind}:1") == [True] * 3
    assert push(desk, "bo", f"{kind}:1", {"notes": "by bo"}, owner="ada") == Verdict.DENIED
    assert "secret" not in everything_told(desk, "bo")


def test_what_is_shown_arrives_and_says_nothing_that_is_not_shown():
    desk = Desk()
    push(desk, "ada", "dive:d1", values_from(DIVE))
    assert push(desk, "ada", shown_name("d1"), {**SHOWN, "readers": ["*"]}) == Verdict.ACCEPTED
    assert keys_seen(desk, "bo", KEY) == [True] * 3
    told = everything_told(desk, "bo")
    assert "Wreck of the Ada" in told
    for secret in ("unwell", "46.1234", "deep", "dry", "ab" * 32):
        assert secret not in told


@pytest.mark.parametrize("name", [*PRIVATE_FIELDS, "writers", "fitness", "unknown"])
def test_a_field_that_is_not_for_others_is_refused(name):
    assert push(Desk(), "ada", shown_name("d1"), {**SHOWN, name: ["x"], "readers": ["*"]}) == Verdict.INVALID


@pytest.mark.parametrize(
    "more",
    [
        {"site": {"name": "Wreck", "latitude_deg": 46.1}},
        {"samples": {"profile_sha256": "cd" * 32, "of": "", "notes": "unwell"}},
        {
            "cylinders": [
                {"gas": None, "volume_l": 12.0, "start_bar": 200.0, "end_bar": 50.0, "name": "rented"}
            ]
        },
        {"diver": {"first": "Ada"}},
        {"began_at": "yesterday, unwell"},
        {"water": "unwell"},
        {"max_depth_m": "unwell"},
        {"buddies": [["Bo"]]},
    ],
)
def test_a_field_that_holds_more_than_it_may_is_refused(more):
    assert push(Desk(), "ada", shown_name("d1"), {**SHOWN, **more, "readers": ["*"]}) == Verdict.INVALID


def test_what_got_in_by_another_way_is_shown_to_nobody():
    """A device gives back what the club lost: it may have been written by a program with an error."""
    desk = Desk()
    edit = {name: Edit(f"o.1.{'0' * 16}", StampClock(NOW_MS).stamp, value) for name, value in SHOWN.items()}
    record = {name: Field((each,)) for name, each in edit.items()}
    named = Field((Edit(f"o.2.{'0' * 16}", StampClock(NOW_MS).stamp, ["*"]),))
    private = Field((Edit(f"o.3.{'0' * 16}", StampClock(NOW_MS).stamp, "unwell"),))
    desk.ask(GiveBack(1, {KEY: {**record, "readers": named, "notes": private}}), "ada", "ada phone")
    assert keys_seen(desk, "ada", KEY) == [True] * 3
    assert keys_seen(desk, "bo", KEY) == [False] * 3
    kept_beside = Field((edit["site"], Edit(f"o.4.{'0' * 16}", StampClock(NOW_MS).stamp, {"lat": 46.1})))
    assert audience_of(KEY, {**record, "readers": named}) == {"ada", "*"}
    assert audience_of(KEY, {**record, "readers": named, "site": kept_beside}) == {"ada"}


def test_only_the_copy_of_the_samples_is_given_away():
    desk, whole, copy = Desk(), b"with heart rate", b"time and depth"
    names = [hashlib.sha256(data).hexdigest() for data in (whole, copy)]
    push(desk, "ada", "dive:d1", {"recordings": [{"profile_sha256": names[0]}], "readers": ["*"]})
    shown = {**SHOWN, "samples": {"profile_sha256": names[1], "of": names[0][:16]}, "readers": ["*"]}
    push(desk, "ada", shown_name("d1"), shown)
    for name, data in zip(names, (whole, copy), strict=True):
        desk.ask(PutBlob(name, 0, len(data), data), "ada", "ada phone")
    assert desk.ask(GetBlob(names[1], 0), "bo", "bo phone").data == copy
    assert desk.ask(GetBlob(names[0], 0), "bo", "bo phone").code == Code.MISSING
    assert desk.ask(Blobs(tuple(names)), "bo", "bo phone").there == {names[1]}


def test_what_is_withdrawn_is_forgotten_and_its_samples_are_not_given_again():
    desk = Desk()
    ada, bo = desk.device("ada", "phone"), desk.device("bo", "tablet")
    name = hashlib.sha256(b"copy").hexdigest()
    ada.store.tables.blobs[name] = b"copy"
    shown = {**SHOWN, "samples": {"profile_sha256": name, "of": ""}}
    ada.write(shown_name("d1"), **shown, readers=["*"])
    for device in (ada, bo):
        device.sync()
    assert bo.sees(KEY)
    ada.write(KEY, readers=[])
    for device in (ada, bo):
        assert device.sync().counts_agree
    assert not bo.sees(KEY)
    assert desk.ask(GetBlob(name, 0), "bo", "bo phone").code == Code.MISSING


def test_a_change_is_a_change_of_one_owner_s_record():
    """Somebody else's `shown` record cannot be written under any name."""
    desk = Desk()
    push(desk, "ada", shown_name("d1"), {**SHOWN, "readers": ["*"]})
    assert push(desk, "bo", shown_name("d1"), {"diver": "Bo"}, owner="ada") == Verdict.DENIED
    assert Change("o", 1, "ada", shown_name("d1"), StampClock(1).stamp, {"diver": "Bo"}, {}).key("bo") == KEY
