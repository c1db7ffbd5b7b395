"""Dives and samples leave as tables, and the tables are read again."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from written_logbook import digest, plain_site

from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.problems import LogbookError
from logbook_app.dive.profile import GasSwitch, Profile
from logbook_app.dive.record import Dive, Environment, Recording, Role
from logbook_app.files.dives_csv import write_dives_csv
from logbook_app.files.samples_csv import write_samples_csv
from logbook_app.files.written_gas import gas_text
from logbook_app.physics.breathing_gas import AIR, BreathingGas, parse_gas
from tests.dive.strategies import gases, plain_dive

_fresh_folder = settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


@pytest.mark.law
@given(gas=gases())
def test_a_gas_is_written_so_that_it_reads_back_to_the_last_digit(gas):
    assert parse_gas(gas_text(gas)) == gas


@pytest.mark.parametrize(
    ("gas", "text"), [(AIR, "air"), (BreathingGas(0.32), "32"), (BreathingGas(0.18, 0.45), "18/45")]
)
def test_a_gas_is_written_as_a_diver_says_it(gas, text):
    assert gas_text(gas) == text


# One row a dive


def full_dive() -> Dive:
    return plain_dive(
        number=41,
        utc_offset_min=120,
        mean_depth_m=11.25,
        site=plain_site(),
        surface_bar=1.0105,
        cylinders=(Cylinder(BreathingGas(0.32), 12.0, 205.5, 60.0), Cylinder(BreathingGas(0.5), 7.0)),
        buddies=("Odile Marsh", "Holt, Rune"),
        weights_kg=8.5,
        suit="semi-dry",
        air_temperature_c=20.0,
        lowest_temperature_c=12.5,
        visibility_m=9.0,
        current="mild",
        conditions="swell",
        purpose="research",
        rating=7,
        tags=("wreck", "night"),
        trip="Sorvane, spring",
        supervised_by="Odile Marsh",
        role=Role.TRAINING,
        environments=(Environment.NIGHT, Environment.COLD),
        notes='First, "quoted".\nSecond; ü',
        estimate=True,
    )


def test_a_row_holds_the_record_in_the_units_that_its_header_names(tmp_path):
    path = tmp_path / "dives.csv"
    write_dives_csv(path, [full_dive(), plain_dive()])
    with path.open(encoding="utf-8", newline="") as file:
        first, second = csv.DictReader(file)
    assert first["began"] == "2031-05-04T11:30:00+02:00"
    assert (first["duration (min)"], first["depth (m)"], first["mean depth (m)"]) == ("42.0", "18.3", "11.25")
    assert (first["gas"], first["cylinder (L)"], first["start pressure (bar)"]) == (
        "32; 50",
        "12.0; 7.0",
        "205.5; ",
    )
    assert (first["buddies"], first["tags"]) == ("Odile Marsh; Holt, Rune", "wreck; night")
    assert first["notes"] == 'First, "quoted".\nSecond; ü'
    assert (second["site"], second["gas"], second["weights (kg)"]) == ("", "", "")


def test_the_table_reads_back_as_the_dives_that_it_holds(read, tmp_path):
    dive = full_dive()
    path = tmp_path / "dives.csv"
    write_dives_csv(path, [dive])
    outcome = read(path)
    (again,) = outcome.read
    assert again.known_as == dive.id
    assert replace(again.dive, id=dive.id, recordings=()) == dive
    assert outcome.problems == ()


def test_no_text_is_a_formula_for_a_spreadsheet_and_each_comes_back(read, tmp_path):
    dive = plain_dive(notes="=1+1", suit="-dry", conditions="'plain", purpose="'=quoted")
    path = tmp_path / "dives.csv"
    write_dives_csv(path, [dive])
    assert "'=1+1" in path.read_text(encoding="utf-8")
    again = read(path).dives[0]
    assert (again.notes, again.suit, again.conditions) == ("=1+1", "-dry", "'plain")


# The samples of a dive


@st.composite
def recorded(draw: st.DrawFn) -> tuple[Dive, Profile]:
    """A dive with samples as a recorder writes them, on up to three different gases."""
    n = draw(st.integers(2, 12))
    gas_list = draw(st.lists(gases(), max_size=3, unique=True))
    cylinders = tuple(Cylinder(gas, draw(st.none() | st.integers(1, 24).map(float))) for gas in gas_list)
    thousandths = draw(st.lists(st.integers(0, 10_000_000), min_size=n, max_size=n, unique=True))
    times_s = [value / 1000 for value in sorted(thousandths)]
    places = sorted(draw(st.lists(st.integers(0, n - 1), unique=True, max_size=3))) if gas_list else []
    switches = [GasSwitch(times_s[at], order % len(gas_list)) for order, at in enumerate(places)]
    if len(gas_list) == 1:
        switches = switches[:1]
    names = ["temperature_c", *(f"pressure_bar_{place}" for place in range(len(gas_list)))]
    hundredths = st.integers(-500, 4000).map(lambda value: value / 100)
    value = st.integers(0, 5000).map(lambda value: value / 100) | st.just(float("nan"))
    channels = {name: draw(st.lists(value, min_size=n, max_size=n)) for name in names if draw(st.booleans())}
    channels = {name: values for name, values in channels.items() if any(v == v for v in values)}
    depths = draw(st.lists(hundredths.filter(lambda depth: depth > -19), min_size=n, max_size=n))
    depths[0] = round(1.0 + abs(depths[0]), 2)
    profile = Profile(times_s, depths, channels, tuple(switches))
    recording = Recording("f", digest(profile))
    return plain_dive(cylinders=cylinders, recordings=(recording,), number=7), profile


@pytest.mark.law
@_fresh_folder
@given(told=recorded())
def test_samples_come_back_to_the_last_digit_with_their_gases(tmp_path_factory, read, told):
    dive, profile = told
    folder = tmp_path_factory.mktemp("samples")
    assert write_samples_csv(folder, [dive], lambda _dive: profile) == 1
    (path,) = folder.iterdir()
    (again,) = read(path).read
    assert again.profile == profile
    assert [(c.gas, c.volume_l) for c in again.dive.cylinders] == [
        (c.gas, c.volume_l) for c in dive.cylinders
    ]
    assert (again.dive.began_at, again.dive.number, again.known_as) == (dive.began_at, 7, dive.id)


def test_each_dive_with_samples_is_a_file_named_by_its_start(tmp_path):
    profile = Profile([0.0, 10.0], [0.0, 5.0])
    first, second = plain_dive(number=7), plain_dive(number=7)
    with_samples = {first.id, second.id}
    dives = [first, second, plain_dive(number=8)]
    count = write_samples_csv(
        tmp_path / "new", dives, lambda dive: profile if dive.id in with_samples else None
    )
    assert count == 2
    names = sorted(path.name for path in (tmp_path / "new").iterdir())
    assert names == ["2031-05-04 0930 #7 (2).csv", "2031-05-04 0930 #7.csv"]


def test_the_lines_before_the_table_tell_the_dive_and_what_is_not_known_stays_unknown(read, tmp_path):
    profile = Profile([0.0, 10.0], [0.0, 5.0])
    dive = replace(full_dive(), cylinders=(Cylinder(None, 12.0), Cylinder(AIR)), buddies=("Odile",))
    write_samples_csv(tmp_path / "a", [dive], lambda _dive: profile)
    outcome = read(next((tmp_path / "a").iterdir()))
    again = outcome.dives[0]
    assert outcome.problems == ()
    assert (again.site.name, again.site.elevation_m) == ("Gull Steps", 12.5)
    assert (again.surface_bar, again.weights_kg, again.buddies) == (1.0105, 8.5, ("Odile",))
    assert [(c.gas, c.volume_l) for c in again.cylinders] == [(None, 12.0), (AIR, None)]
    assert again.notes == dive.notes


def test_a_folder_that_cannot_be_made_is_told(tmp_path):
    taken = tmp_path / "taken"
    taken.write_text("a file", encoding="utf-8")
    with pytest.raises(LogbookError, match="is no folder"):
        write_samples_csv(taken, [], lambda _dive: None)
    assert Path(taken).read_text(encoding="utf-8") == "a file"
