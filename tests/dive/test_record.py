"""A record is complete when it exists; one that cannot be is refused in a sentence that says what."""

from __future__ import annotations

from dataclasses import FrozenInstanceError, replace
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import pytest
from hypothesis import given

from logbook_app.dive import problems
from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.problems import Problem, RefusedRecord
from logbook_app.dive.record import Dive, Recording, Site, Water, name_from_content
from tests.dive.strategies import dives, plain_dive

pytestmark = pytest.mark.law

NAN, INFINITY = float("nan"), float("inf")
EAST = timezone(timedelta(hours=14))


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("began_at", datetime(2031, 5, 4), "The start of a dive needs its offset from UTC."),
        ("began_at", datetime(1, 1, 1, tzinfo=UTC), "A dive in the year 1 cannot be; check its date."),
        ("began_at", datetime(9999, 1, 1, tzinfo=UTC), "A dive in the year 9999 cannot be; check its date."),
        ("began_at", datetime(1, 1, 1, tzinfo=EAST), "A dive in the year 1 cannot be; check its date."),
        ("began_at", datetime(1899, 1, 1, tzinfo=EAST), "A dive in the year 1898 cannot be; check its date."),
        ("utc_offset_min", 1440, "An offset of 1440 min from UTC cannot be; check the clock."),
        ("utc_offset_min", -1440, "An offset of -1440 min from UTC cannot be; check the clock."),
        ("duration_min", 0, "A dive of 0 min is not between 0 and 2,880 min; check the number and its unit."),
        ("duration_min", 2880.5, "A dive of 2,880.5 min is not between 0 and 2,880 min; check the number"),
        ("duration_min", NAN, "A dive of nan min is not between 0 and 2,880 min; check the number"),
        ("max_depth_m", -18, "A greatest depth of -18 m is not between 0 and 350 m; check the number"),
        ("max_depth_m", 0, "A greatest depth of 0 m is not between 0 and 350 m; check the number"),
        ("max_depth_m", INFINITY, "A greatest depth of inf m is not between 0 and 350 m; check the number"),
        ("mean_depth_m", -0.1, "A mean depth of -0.1 m is not between 0 and 350 m; check the number"),
        ("surface_bar", 1013.25, "A surface pressure of 1,013.25 bar is not between 0.2 and 1.2 bar; check"),
        ("elevation_m", NAN, "An elevation of nan m is not between -500 and 11,000 m; check the number"),
        ("rating", 0, "A rating of 0 is not between 1 and 10; check the number."),
        ("rating", 11, "A rating of 11 is not between 1 and 10; check the number."),
        ("number", -1, "A dive number of -1 is not between 0 and 1,000,000; check the number."),
        ("weights_kg", -2, "A weight of -2 kg is not between 0 and 1,000,000 kg; check the number"),
        ("visibility_m", NAN, "A visibility of nan m is not between 0 and 1,000,000 m; check the number"),
        ("air_temperature_c", NAN, "A temperature of nan degrees Celsius is not between -273.15 and"),
        ("lowest_temperature_c", -300, "A temperature of -300 degrees Celsius is not between -273.15 and"),
    ],
)
def test_a_dive_that_cannot_be_is_refused_with_the_value_and_what_to_check(
    field: str, value: Any, sentence: str
) -> None:
    with pytest.raises(RefusedRecord) as refusal:
        plain_dive(**{field: value})
    assert str(refusal.value).startswith(sentence)


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("volume_l", 0, "A cylinder of 0 L is not between 0 and 100 L; check the number and its unit."),
        (
            "volume_l",
            11_100,
            "A cylinder of 11,100 L is not between 0 and 100 L; check the number",
        ),
        ("start_bar", 2900, "A start pressure of 2,900 bar is not between 0 and 450 bar; check the number"),
        ("start_bar", NAN, "A start pressure of nan bar is not between 0 and 450 bar; check the number"),
        ("end_bar", -1, "An end pressure of -1 bar is not between 0 and 450 bar; check the number"),
    ],
)
def test_a_cylinder_that_cannot_be_is_refused(field: str, value: float, sentence: str) -> None:
    with pytest.raises(RefusedRecord) as refusal:
        Cylinder(**{field: value})
    assert str(refusal.value).startswith(sentence)


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        (
            "elevation_m",
            12_000,
            "An elevation of 12,000 m is not between -500 and 11,000 m; check the number",
        ),
        (
            "latitude_deg",
            90.1,
            "A latitude of 90.1 degrees is not between -90 and 90 degrees; check",
        ),
        (
            "longitude_deg",
            NAN,
            "A longitude of nan degrees is not between -180 and 180 degrees; check",
        ),
    ],
)
def test_a_site_that_cannot_be_is_refused(field: str, value: float, sentence: str) -> None:
    with pytest.raises(RefusedRecord) as refusal:
        Site("x", "Pier", **{field: value})
    assert str(refusal.value).startswith(sentence)


def test_the_start_is_kept_as_utc_and_shown_by_the_clock_on_the_dock() -> None:
    """Derived: 00:30 at UTC+5:45 is 18:45 UTC of the day before."""
    dock = timezone(timedelta(hours=5, minutes=45))
    dive = plain_dive(began_at=datetime(2031, 5, 4, 0, 30, tzinfo=dock), utc_offset_min=345, duration_min=50)
    assert dive.began_at.isoformat() == "2031-05-03T18:45:00+00:00"
    assert dive.began_local.isoformat() == "2031-05-04T00:30:00+05:45"
    assert dive.ended_at.isoformat() == "2031-05-03T19:35:00+00:00"


@given(dive=dives())
def test_no_clock_or_place_moves_a_dive(dive: Dive) -> None:
    assert dive.began_at.utcoffset() == timedelta(0)
    assert dive.began_local == dive.began_at
    assert dive.began_local.utcoffset() == timedelta(minutes=dive.utc_offset_min)
    assert dive.ended_at > dive.began_at
    assert replace(dive) == dive


def test_a_dive_that_can_be_still_can_once_its_start_is_utc() -> None:
    """What the store reads back is UTC: the first hours of 1900 in the east are 1899 there."""
    dive = plain_dive(began_at=datetime(1900, 1, 1, tzinfo=EAST))
    assert dive.began_at.year == 1899
    assert replace(dive, began_at=dive.began_at) == dive


def test_a_record_never_changes() -> None:
    dive = plain_dive()
    for record, field in ((dive, "notes"), (Site("x", "Pier"), "name"), (Cylinder(), "name")):
        with pytest.raises(FrozenInstanceError):
            setattr(record, field, "changed")
    assert replace(dive, notes="changed").notes == "changed"
    assert dive.notes == ""


def test_two_dives_written_down_at_once_have_names_of_their_own() -> None:
    assert plain_dive().id != plain_dive().id


def test_the_elevation_of_the_dive_goes_before_that_of_the_site() -> None:
    site = Site("tarn", "Upper tarn", elevation_m=2000.0)
    assert plain_dive(site=site, elevation_m=1985.0).surface_elevation_m == 1985.0
    assert plain_dive(site=site, elevation_m=0.0).surface_elevation_m == 0.0
    assert plain_dive(site=site).surface_elevation_m == 2000.0
    assert plain_dive().surface_elevation_m is None


def test_only_the_owners_dives_are_own() -> None:
    assert plain_dive().own
    assert not plain_dive(diver="Bo").own


def test_the_first_recording_leads() -> None:
    recordings = (Recording("a", "first"), Recording("b", "second"))
    assert plain_dive(recordings=recordings).profile_sha256 == "first"
    assert plain_dive(recordings=(Recording("a"), Recording("b", "second"))).profile_sha256 is None
    assert plain_dive().profile_sha256 is None


def test_a_site_is_the_same_however_its_name_is_spaced_and_cased() -> None:
    assert Site.named("Old  Pier ").id == Site.named("old pier").id != Site.named("old piers").id
    assert Site.named("Grüße").id == Site.named("GRÜSSE").id
    assert Site.named("Tarn", elevation_m=2000.0, water=Water.FRESH).elevation_m == 2000.0


def test_a_name_from_content_says_what_kind_of_thing_it_names() -> None:
    assert name_from_content("site", "x") != name_from_content("recording", "x")


@pytest.mark.published
def test_waters_weigh_what_is_printed() -> None:
    """EN 13319:2000 (1.0197 kg/l, as cited in the reference); fresh and sea: common practice, no source."""
    assert Water.RECORDER.density_kg_m3 == pytest.approx(1019.7, abs=0.05)
    assert (Water.FRESH.density_kg_m3, Water.SEA.density_kg_m3) == (1000.0, 1025.0)


def test_a_problem_is_one_line_with_its_file_and_place() -> None:
    assert Problem("a.csv", "row 3", "no depth").sentence() == "a.csv, row 3: no depth"
    assert Problem("", "row 3", "no depth").sentence() == "row 3: no depth"
    assert Problem("", "", "no depth").sentence() == "no depth"


def test_every_trouble_is_of_one_family() -> None:
    """So that whoever shows sentences to the diver catches one class."""
    kinds = [kind for kind in vars(problems).values() if isinstance(kind, type)]
    troubles = {kind for kind in kinds if issubclass(kind, Exception)}
    assert {problems.RefusedFile, problems.LogbookError, problems.Cancelled} < troubles
    assert all(issubclass(kind, problems.LeadlineError) for kind in troubles)
