"""Two records of one dive become one, another recorder can lead, and it can all be taken back."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.joined_dive import (
    account_of,
    as_before,
    joined,
    lead_with,
    with_recordings_of,
    without_recording,
)
from logbook_app.dive.problems import RefusedRecord
from logbook_app.dive.record import Account, Dive, Recording, Site
from logbook_app.physics.breathing_gas import AIR, BreathingGas
from tests.dive.strategies import dives, plain_dive

pytestmark = pytest.mark.law

NITROX = BreathingGas(0.32)


def wrist() -> Dive:
    return plain_dive(
        id="wrist",
        recordings=(Recording("w", "0" * 64, "wrist"),),
        cylinders=(Cylinder(AIR, 12.0),),
        number=58,
    )


def console() -> Dive:
    first = plain_dive()
    return plain_dive(
        id="console",
        began_at=first.began_at + timedelta(seconds=50),
        duration_min=41.0,
        max_depth_m=18.6,
        mean_depth_m=11.0,
        cylinders=(Cylinder(NITROX), Cylinder(BreathingGas(0.5))),
        recordings=(Recording("c", "1" * 64, "console"),),
    )


def by_hand(**known) -> Dive:
    fields = {
        "id": "hand",
        "estimate": True,
        "number": 12,
        "cylinders": (Cylinder(NITROX, 15.0, 210.0, 60.0),),
    }
    return plain_dive(**{**fields, **known})


def test_two_recorders_become_one_dive_led_by_the_first():
    both = joined(wrist(), console())
    assert [recording.fingerprint for recording in both.recordings] == ["w", "c"]
    assert both.recordings[1].account == account_of(console())
    changed = {f.name for f in fields(Dive) if getattr(both, f.name) != getattr(wrist(), f.name)}
    assert changed == {"recordings", "mean_depth_m"}


def test_another_recorder_leads_with_its_own_start_depths_and_gases():
    led = lead_with(joined(wrist(), console()), "c")
    assert [recording.fingerprint for recording in led.recordings] == ["c", "w"]
    assert led.recordings[0].account is None
    assert account_of(led) == account_of(console())
    assert led.number == 58


def test_leading_and_leading_back_changes_nothing():
    both = with_recordings_of(wrist(), console())
    assert lead_with(lead_with(both, "c"), "w") == both
    assert lead_with(both, "w") is both


def test_a_recorder_that_knows_no_gas_and_no_pressure_leads_with_those_of_the_dive():
    silent = replace(console(), cylinders=(Cylinder(None),), surface_bar=None)
    led = lead_with(joined(replace(wrist(), surface_bar=0.9), silent), "c")
    assert led.cylinders == wrist().cylinders
    assert led.surface_bar == 0.9


def test_a_recording_that_is_not_there_is_refused():
    with pytest.raises(RefusedRecord, match="no such recording"):
        lead_with(wrist(), "z")


def test_without_a_recording_the_next_one_leads_and_the_last_one_stays():
    both = with_recordings_of(wrist(), console())
    assert without_recording(both, "c") == wrist()
    assert account_of(without_recording(both, "w")) == account_of(console())
    assert without_recording(wrist(), "w") == wrist()
    assert without_recording(wrist(), "z") == wrist()


def test_what_a_hand_wrote_fills_what_the_recording_has_not():
    hand = by_hand(
        site=Site.named("Some pier"),
        buddies=("Imke",),
        notes="Two seals.",
        weights_kg=6.0,
        rating=4,
        tags=("night",),
        visibility_m=8.0,
    )
    recorded = replace(wrist(), cylinders=(Cylinder(),))
    for one in (joined(recorded, hand), joined(hand, recorded)):
        assert (one.site, one.buddies, one.notes, one.weights_kg) == (hand.site, ("Imke",), "Two seals.", 6.0)
        assert (one.rating, one.tags, one.visibility_m) == (4, ("night",), 8.0)
        assert one.cylinders == hand.cylinders
        assert one.recordings == recorded.recordings
        assert not one.estimate
        assert one.duration_min == recorded.duration_min
    assert joined(hand, recorded).id == "hand"


def test_where_both_say_something_else_both_are_kept():
    recorded = replace(wrist(), site=Site.named("Some pier"), notes="From the recorder.", weights_kg=5.0)
    hand = by_hand(site=Site.named("Other pier"), notes="By hand.", weights_kg=6.0, max_depth_m=18.0)
    one = joined(recorded, hand)
    assert one.site == recorded.site
    assert one.notes == "From the recorder.\n\nBy hand."
    assert one.extra == {
        "also written: site": "Other pier",
        "also written: weights_kg": "6.0",
        "also written: number": "58",
        "also written: greatest depth": "18 m",
        "also written: start": hand.began_local.isoformat(timespec="minutes"),
    }


def test_the_number_that_a_hand_wrote_stays_before_one_that_was_counted():
    assert joined(wrist(), by_hand()).number == 12
    assert joined(by_hand(), wrist()).number == 12
    assert joined(wrist(), by_hand(number=None)).number == 58
    assert joined(wrist(), replace(console(), number=3)).number == 58


def test_dives_of_two_divers_and_one_record_twice_are_refused():
    with pytest.raises(RefusedRecord, match="two divers"):
        joined(wrist(), replace(console(), diver="Imke"))
    with pytest.raises(RefusedRecord, match="one record already"):
        joined(wrist(), wrist())


def test_nothing_written_is_lost_in_a_join():
    hand = by_hand(current="strong", conditions="swell", purpose="search", suit="dry", air_temperature_c=3.0)
    recorded = replace(
        wrist(), current="none", conditions="calm", purpose="fun", suit="wet", air_temperature_c=4.0
    )
    told = repr(joined(recorded, hand))
    for word in ("strong", "swell", "search", "dry", "3.0", "none", "calm", "fun", "wet", "4.0"):
        assert word in told


@given(dives(), dives())
def test_a_join_taken_back_at_once_is_as_it_was(keep: Dive, other: Dive) -> None:
    keep = replace(keep, diver="", recordings=(Recording("k", "0" * 64),), estimate=False)
    other = replace(other, diver="", id="other", recordings=(Recording("o", "1" * 64),), estimate=False)
    after = joined(keep, other)
    assert as_before(after, keep, after) == keep
    assert as_before(lead_with(after, "o"), keep, after).recordings == keep.recordings


@given(dives(), dives(), st.text(max_size=5))
def test_what_was_written_since_stays_when_a_change_is_taken_back(
    keep: Dive, other: Dive, words: str
) -> None:
    keep = replace(keep, diver="", recordings=(Recording("k", "0" * 64),), estimate=False)
    other = replace(other, diver="", id="other", recordings=(), estimate=True)
    after = joined(keep, other)
    since = f"{after.current} and {words}"
    assert as_before(replace(after, current=since), keep, after) == replace(keep, current=since)


def test_a_recording_that_led_a_hand_entry_goes_with_the_join():
    hand = by_hand(notes="By hand.")
    after = joined(hand, with_recordings_of(wrist(), console()))
    assert as_before(after, hand, after) == hand
    assert as_before(lead_with(after, "c"), hand, after) == hand


def test_an_account_is_utc_like_a_dive():
    east = plain_dive().began_local.astimezone()
    assert Account(east, 40.0, 18.0).began_at == plain_dive().began_at
    with pytest.raises(RefusedRecord):
        Account(east.replace(tzinfo=None), 40.0, 18.0)
