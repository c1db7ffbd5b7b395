"""A half-made hand entry without a window: what it says, what it would save, what survives."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook_app.dive.record import Site
from logbook_app.physics.breathing_gas import AIR, BreathingGas
from logbook_app.screens.entry_draft import (
    EntryDraft,
    began_local,
    hand_entry,
    missing,
    names_in,
    troubles,
    what_will_be_saved,
)
from logbook_app.screens.entry_units import questions

NOW = datetime(2026, 11, 14, 14, 7, 30, tzinfo=timezone(timedelta(hours=1)))
METRIC, IMPERIAL = questions("metric"), questions("imperial")
DIVE = EntryDraft(max_depth_m=28.0, duration_min=41.0, oxygen=0.32)


def test_summary_says_what_will_be_saved() -> None:
    """Depth, time, gas and end, and what an entry without samples means."""
    assert what_will_be_saved(replace(DIVE, began_time=time(11, 11)), METRIC, NOW) == (
        "28 m for 41 min on nitrox 32, ended 11:52. No samples: the loading takes a square profile "
        "and the dive is marked an estimate."
    )


def test_summary_is_in_the_units_of_the_diver() -> None:
    """28 m are 92 ft, rounded to the whole foot that a diver would have typed (1 ft = 0.3048 m)."""
    assert what_will_be_saved(DIVE, IMPERIAL, NOW).startswith("92 ft for 41 min on nitrox 32")


def test_summary_names_what_is_needed() -> None:
    """An empty form asks for the three that have no default."""
    assert what_will_be_saved(EntryDraft(), METRIC, NOW) == "Still needed: greatest depth, dive time, gas."
    assert missing(DIVE) == ()


def test_without_a_time_the_dive_ends_now() -> None:
    """The usual case at the dock: the start is counted back, to the minute."""
    assert began_local(DIVE, NOW) == datetime(2026, 11, 14, 13, 26, tzinfo=NOW.tzinfo)


def test_a_dive_of_another_day_needs_its_time() -> None:
    """Counting back from now would be a guess."""
    yesterday = replace(DIVE, began_on=date(2026, 11, 13))
    assert began_local(yesterday, NOW) is None
    assert "time it began" in troubles(yesterday, METRIC, NOW)["start"]
    timed = replace(yesterday, began_time=time(23, 50))
    assert began_local(timed, NOW) == datetime(2026, 11, 13, 23, 50, tzinfo=NOW.tzinfo)
    assert "ended 00:31" in what_will_be_saved(timed, METRIC, NOW)


def test_a_start_by_a_clock_that_was_handed_in_keeps_its_offset() -> None:
    """A logbook on a boat keeps the boat's clock, whatever the system's zone is."""
    far_east = NOW.astimezone(timezone(timedelta(hours=9, minutes=30)))
    began = began_local(replace(DIVE, began_time=time(8, 0)), far_east)
    assert began is not None
    assert began.utcoffset() == timedelta(hours=9, minutes=30)


def test_a_dive_cannot_end_in_the_future() -> None:
    """A time of this evening, typed in the afternoon, is most likely yesterday's."""
    late = replace(DIVE, began_time=time(20, 0))
    assert troubles(late, METRIC, NOW)["start"] == (
        "It would end at 20:41, and it is 14:07 now. Check the day and the time."
    )
    assert what_will_be_saved(late, METRIC, NOW).startswith("Not ready to save. It would end at 20:41")


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"max_depth_m": 351.0}, "max_depth_m"),
        ({"duration_min": 601.0}, "duration_min"),
        ({"start_bar": 500.0}, "start_bar"),
        ({"water_temperature_c": -4.0}, "water_temperature_c"),
        ({"weights_kg": 51.0}, "weights_kg"),
        ({"volume_l": 0.1}, "volume_l"),
        ({"start_bar": 50.0, "end_bar": 200.0}, "end_bar"),
    ],
)
def test_each_bad_value_has_one_sentence_at_its_field(change: dict[str, float], field: str) -> None:
    """At that field and no other, in either system of units."""
    for asked in (METRIC, IMPERIAL):
        found = troubles(replace(DIVE, **change), asked, NOW)
        assert list(found) == [field]
        assert found[field].endswith(".")


def test_entry_carries_everything_that_was_written() -> None:
    """Nothing of the form is lost on the way to the record."""
    draft = replace(
        DIVE,
        site="Old  Quarry ",
        buddies=("Ada", "Tom"),
        volume_l=12.0,
        start_bar=200.0,
        end_bar=60.0,
        weights_kg=4.0,
        water_temperature_c=9.0,
        notes=" Silt on the north wall.\n",
    )
    entry = hand_entry(draft, NOW)
    assert entry is not None
    assert entry.site == Site.named("Old Quarry")
    assert (entry.max_depth_m, entry.duration_min, entry.gas) == (28.0, 41.0, BreathingGas(0.32))
    assert (entry.volume_l, entry.start_bar, entry.end_bar) == (12.0, 200.0, 60.0)
    assert (entry.weights_kg, entry.water_temperature_c, entry.buddies) == (4.0, 9.0, ("Ada", "Tom"))
    assert entry.notes == "Silt on the north wall."


def test_a_known_place_is_that_place() -> None:
    """Its elevation and its water count in the loading, so the name alone must find it."""
    lake = Site.named("Heron Ledge", elevation_m=412.0)
    entry = hand_entry(replace(DIVE, site="heron ledge"), NOW, [lake])
    assert entry is not None
    assert entry.site is lake


@pytest.mark.parametrize(
    "text", ["", "not json", "[1]", '{"oxygen": 7}', '{"began_on": "soon"}', '{"max_depth_m": "x"}']
)
def test_a_draft_that_cannot_be_read_is_an_empty_one(text: str) -> None:
    """A damaged draft must not keep the room from opening."""
    assert EntryDraft.from_text(text).empty


def optional(values: st.SearchStrategy[float]) -> st.SearchStrategy[float | None]:
    return st.none() | values


@pytest.mark.law
@given(
    draft=st.builds(
        EntryDraft,
        max_depth_m=optional(st.floats(0, 999)),
        duration_min=optional(st.floats(0, 9999)),
        oxygen=optional(st.floats(0.04, 0.5)),
        helium=st.floats(0, 0.5),
        began_on=st.none() | st.dates(),
        began_time=st.none() | st.times().map(lambda t: t.replace(second=0, microsecond=0)),
        site=st.text(),
        buddies=st.lists(st.text(min_size=1)).map(tuple),
        weights_kg=optional(st.floats(0, 50)),
        notes=st.text(),
    )
)
def test_a_draft_survives_a_restart(draft: EntryDraft) -> None:
    """What is kept comes back equal, whatever is written."""
    assert EntryDraft.from_text(draft.to_text()) == draft


@pytest.mark.law
@given(typed=st.integers(3, 1148))
def test_feet_typed_are_feet_shown(typed: int) -> None:
    """The record keeps metres; the form must not change a digit that the diver typed."""
    question = IMPERIAL["max_depth_m"]
    assert question.text(question.recorded(str(typed))) == str(typed)


def test_gas_not_chosen_is_not_air() -> None:
    """A form that silently took air would hide a slip; the gas is one of the four that are needed."""
    assert missing(replace(DIVE, oxygen=None)) == ("gas",)
    assert EntryDraft().gas == AIR


def test_names_are_parted_by_commas() -> None:
    """Spaces around and within are put right, empty ones dropped."""
    assert names_in(" Imke  R., Tom,, ") == ("Imke R.", "Tom")
    assert names_in("") == ()


def test_a_now_in_utc_gives_a_start_in_the_zone_of_the_system() -> None:
    """Where the clock handed in agrees with the system, the system knows the offset of that day."""
    utc = NOW.astimezone(UTC)
    began = began_local(replace(DIVE, began_time=time(8, 0)), utc)
    assert began is not None
    assert began.hour == 8
    assert began.tzinfo is not None
