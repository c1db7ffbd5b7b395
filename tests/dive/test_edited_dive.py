"""A correction changes what was given and nothing else; what contradicts itself is refused in a sentence."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.edited_dive import EDITABLE, edited, is_for_the_diver
from logbook_app.dive.problems import RefusedRecord
from logbook_app.dive.record import Account, Dive, Recording, Site, Water
from logbook_app.physics.breathing_gas import AIR
from tests.dive.strategies import dives, plain_dive

pytestmark = pytest.mark.law

RECORDED = plain_dive(
    recordings=(
        Recording("wrist", "0" * 64),
        Recording("console", "1" * 64, account=Account(plain_dive().began_at, 41.0, 18.1)),
    )
)


def test_every_field_but_the_name_and_the_recordings_can_be_changed() -> None:
    """A pre-dive card is moved and taken off as a whole, see `pre_dive_cards`."""
    kept = {"id", "estimate", "recordings", "pre_dive"}
    assert {field.name for field in fields(Dive)} - set(EDITABLE) == kept


@given(dives(), dives())
def test_an_edit_changes_what_was_given_and_nothing_else(dive: Dive, other: Dive) -> None:
    plain = (
        "number",
        "rating",
        "weights_kg",
        "visibility_m",
        "air_temperature_c",
        "surface_bar",
        "elevation_m",
    )
    for name in plain:
        value = getattr(other, name)
        assert edited(dive, {name: value}) == replace(dive, **{name: value})


def test_the_start_moves_every_recorder_and_the_time_of_a_recording_stays() -> None:
    later = RECORDED.began_at + timedelta(hours=1, microseconds=1)
    moved = edited(RECORDED, {"began_at": later})
    assert moved.began_at == later
    account = moved.recordings[1].account
    assert account is not None
    assert abs(account.began_at - later) < timedelta(milliseconds=1)
    assert moved.duration_min == RECORDED.duration_min


@pytest.mark.parametrize(
    ("dive", "given_", "words"),
    [
        (RECORDED, {"duration_min": 50.0}, "follow its recording"),
        (RECORDED, {"max_depth_m": 30.0}, "follow its recording"),
        (plain_dive(), {"mean_depth_m": 19.0}, "mean depth is below the greatest"),
        (plain_dive(mean_depth_m=12.0), {"max_depth_m": 11.0}, "mean depth is below the greatest"),
        (plain_dive(), {"cylinders": [Cylinder(AIR, 12.0, 50.0, 200.0)]}, "end pressure is above"),
        (plain_dive(), {"rating": 11}, "A rating of 11"),
        (plain_dive(), {"max_depth_m": 0.0}, "A greatest depth of 0 m"),
        (plain_dive(), {"began_at": datetime(2031, 5, 4, 9, 30)}, "needs its offset"),
        (plain_dive(), {"id": "another"}, "id is no field that can be changed"),
        (plain_dive(), {"recordings": ()}, "recordings is no field that can be changed"),
        (plain_dive(), {"notes": "half \ud800"}, "half a character"),
        (
            plain_dive(extra={"uddf:density": "1030.0"}),
            {"extra": {"uddf:density": "1"}},
            "no text that can be",
        ),
        (plain_dive(), {"extra": {"new": "text"}}, "no text that can be"),
    ],
)
def test_what_cannot_be_is_refused_in_one_sentence(dive: Dive, given_: dict[str, Any], words: str) -> None:
    with pytest.raises(RefusedRecord, match=words) as refused:
        edited(dive, given_)
    assert str(refused.value).endswith(".")


def test_what_a_file_said_already_is_no_reason_to_refuse_another_field() -> None:
    odd = plain_dive(cylinders=(Cylinder(AIR, 12.0, 50.0, 200.0),))
    assert edited(odd, {"notes": "checked"}).notes == "checked"
    assert edited(RECORDED, {"max_depth_m": RECORDED.max_depth_m}) == RECORDED


def test_names_and_texts_are_tidied() -> None:
    dive = edited(plain_dive(), {"buddies": ["  Imke  R. ", "Tom", "", "Tom"], "suit": " 7 mm "})
    assert (dive.buddies, dive.suit) == (("Imke R.", "Tom"), "7 mm")


def test_a_text_of_the_file_is_changed_or_left_out_and_the_others_stay() -> None:
    dive = plain_dive(extra={"wave": "small", "moon": "half"})
    assert edited(dive, {"extra": {"wave": "none"}}).extra == {"wave": "none", "moon": "half"}
    assert edited(dive, {"extra": {"wave": None}}).extra == {"moon": "half"}


@pytest.mark.parametrize(
    ("name", "value", "for_the_diver"),
    [
        ("uddf:owner", "Nele Brandt", True),
        ("uddf:density", "1030", False),
        ("uddf:unread", "<unread/>", False),
        ("whole recording", "1 of 2, abc", False),
    ],
)
def test_only_what_a_diver_reads_is_for_the_diver(name: str, value: str, for_the_diver: bool) -> None:
    assert is_for_the_diver(name, value) is for_the_diver


LAKE = Site.named("Tarn", water=Water.FRESH)
NOWHERE = Site.named("Somewhere")


@pytest.mark.parametrize(
    ("before", "site", "after"),
    [
        (plain_dive(), LAKE, Water.FRESH),
        (plain_dive(site=LAKE, water=Water.FRESH), NOWHERE, Water.RECORDER),
        (plain_dive(water=Water.SEA), NOWHERE, Water.SEA),
        (RECORDED, LAKE, Water.RECORDER),
    ],
)
def test_the_water_goes_with_the_site_unless_a_gauge_measured(before: Dive, site: Site, after: Water) -> None:
    """A recorder's metre is a tenth of a bar whatever it lies in (EN 13319, see DEVELOPERS.md)."""
    assert edited(before, {"site": site}).water is after
    assert edited(before, {"site": site, "water": Water.SEA}).water is Water.SEA


@given(st.text())
def test_any_text_is_taken_whole_or_refused(text: str) -> None:
    assert edited(plain_dive(), {"notes": text}).notes == text.strip()
