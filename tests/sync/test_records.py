"""Every record becomes fields and the same record again."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook_app.dive.kit import CareInterval, CareRecord, Check, KitItem, KitSet
from logbook_app.dive.problems import RefusedRecord
from logbook_app.dive.record import Dive, Site
from logbook_app.sync.changes import RECORD_NAME, Change
from logbook_app.sync.merging import values_of
from logbook_app.sync.records import (
    SignOff,
    changed_since_sign_off,
    changed_values,
    read_as,
    record_name,
    settings_from_values,
    settings_values,
    signed_digest,
    values_from,
)
from logbook_app.sync.stamps import StampClock
from tests.dive.strategies import accounts, entries, plain_dive, sites

pytestmark = pytest.mark.law


def there_and_back(values: dict) -> dict:
    return json.loads(json.dumps(values, allow_nan=False))


@given(entries(told=st.none() | accounts))
def test_a_dive_comes_back_equal(entry):
    dive = entry[0]
    assert read_as(Dive, there_and_back(values_from(dive))) == dive


@given(sites)
def test_a_site_comes_back_equal(site):
    assert read_as(Site, there_and_back(values_from(site))) == site


@pytest.mark.parametrize(
    "record",
    [
        KitItem(name="Ada's first stage", intervals=(CareInterval(Check.SERVICE, months=12, dives=100),)),
        KitSet(name="cold water", item_ids=("a", "b")),
        CareRecord(item_id="a", check=Check.VISUAL, done_on=plain_dive().began_at.date()),
        SignOff(what="navigation", whom="ada", record="ada/dive:1", names=("max_depth_m",), digest="00"),
    ],
    ids=lambda record: type(record).__name__,
)
def test_other_records_come_back_equal(record):
    assert read_as(type(record), there_and_back(values_from(record))) == record


def test_what_nobody_knows_is_passed_over_and_what_is_missing_takes_its_default():
    values = values_from(plain_dive()) | {"moon_phase": {"name": "full"}}
    del values["notes"], values["tags"]
    assert read_as(Dive, values).notes == ""
    assert changed_values(values, values_from(plain_dive(id=values["id"]))) == {"notes": "", "tags": []}


@pytest.mark.parametrize(
    "wrong",
    [
        {"began_at": "yesterday"},
        {"began_at": None},
        {"duration_min": "long"},
        {"max_depth_m": True},
        {"water": "beer"},
        {"cylinders": {"gas": None}},
        {"cylinders": [{"gas": {"oxygen": 3, "helium": 0}}]},
        {"buddies": [1]},
        {"extra": {"a": 1}},
        {"duration_min": -1},
    ],
    ids=str,
)
def test_a_dive_that_cannot_be_is_refused_in_a_sentence(wrong):
    with pytest.raises(RefusedRecord):
        read_as(Dive, values_from(plain_dive()) | wrong)


def test_a_dive_without_its_start_is_refused():
    values = values_from(plain_dive())
    del values["began_at"]
    with pytest.raises(RefusedRecord, match="began_at"):
        read_as(Dive, values)


@given(st.text(max_size=90))
def test_every_id_has_a_name_that_can_travel(identity):
    assert RECORD_NAME.fullmatch(record_name("site", identity))


def test_only_the_settings_that_follow_the_diver_travel():
    kept = {"gf_low": "40", "theme": "night", "units": "metric"}
    assert settings_values(kept) == {"gf_low": "40", "units": "metric"}
    assert settings_from_values({"gf_low": "35", "theme": "night", "units": 3}) == {"gf_low": "35"}


def test_a_change_after_a_sign_off_is_seen():
    first = Change("a", 1, "", "dive:1", StampClock(1).stamp, {"max_depth_m": 18, "notes": "calm"}, {})
    record = first.as_record()
    names = ("max_depth_m",)
    sign_off = SignOff(
        what="deep", whom="ada", record="ada/dive:1", names=names, digest=signed_digest(record, names)
    )
    assert values_of(record)["notes"] == "calm"
    assert not changed_since_sign_off(record, sign_off)
    later = Change("a", 2, "", "dive:1", StampClock(2).stamp, {"notes": "rough"}, {"notes": (first.id,)})
    assert not changed_since_sign_off({**record, **later.as_record()}, sign_off)
    deeper = Change("a", 3, "", "dive:1", StampClock(3).stamp, {"max_depth_m": 21}, {})
    assert changed_since_sign_off({**record, **deeper.as_record()}, sign_off)
