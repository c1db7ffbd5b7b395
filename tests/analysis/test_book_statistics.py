"""What a logbook adds up to, held against the same sums by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook_app.analysis.book_statistics import BookStatistics, Period
from logbook_app.analysis.gas_use import gas_use
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.analysis.statistics_words import (
    depth_bars,
    mark_words,
    minute_volume_bars,
    month_bars,
    sum_words,
    water_bars,
)
from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.problems import Cancelled
from logbook_app.dive.record import Dive, Site
from logbook_app.logbook import Logbook
from logbook_app.physics.breathing_gas import AIR
from tests.dive.strategies import dives

NOW = datetime(2026, 11, 14, 14, 7, tzinfo=UTC)
QUARRY = Site.named("Quarry", latitude_deg=46.5, longitude_deg=-33.25)


def dive(began: str, minutes: float = 45, depth_m: float = 18.3, **known: object) -> Dive:
    return Dive(began_at=datetime.fromisoformat(began), duration_min=minutes, max_depth_m=depth_m, **known)


def statistics(
    tmp_path: Path, *several: Dive, period: Period = Period.ALL, feet: bool = False
) -> BookStatistics:
    logbook = Logbook.open(tmp_path / "a.leadline", now=lambda: NOW)
    logbook.keep_dives(several)
    found = logbook.book.statistics(period, feet=feet)
    logbook.close()
    return found


@pytest.mark.law
@settings(deadline=None, max_examples=25)
@given(several=st.lists(dives(), max_size=8, unique_by=lambda each: each.id))
def test_sums_are_those_of_the_owners_dives(
    tmp_path_factory: pytest.TempPathFactory, several: list[Dive]
) -> None:
    found = statistics(tmp_path_factory.mktemp("book"), *several)
    own = [each for each in several if each.own]
    assert found.dives == len(own)
    assert found.hours == pytest.approx(sum(each.duration_min for each in own) / 60)
    for parts in (found.by_year, found.by_month, found.by_depth):
        assert sum(part.dives for part in parts) == len(own)
        assert sorted(key for part in parts for key in part.dive_ids) == sorted(each.id for each in own)
    assert sum(place.dives for place in found.places) == sum(1 for each in own if each.site)
    if own:
        marks = {mark.kind: mark for mark in found.marks}
        assert marks["longest"].value == max(each.duration_min for each in own)
        assert marks["deepest"].value == max(each.max_depth_m for each in own)
        assert marks["first"].on == min(own, key=lambda each: each.began_at).began_local.date()


def test_an_empty_book_adds_up_to_nothing(tmp_path: Path) -> None:
    found = statistics(tmp_path)
    assert (found.dives, found.hours, found.marks, found.by_year, found.places) == (0, 0.0, (), (), ())
    assert sum_words(found) == "none"


def test_a_day_and_a_year_are_those_of_the_clock_on_the_dock(tmp_path: Path) -> None:
    late = dive("2025-12-31T23:30:00+00:00", utc_offset_min=60)
    found = statistics(tmp_path, late)
    assert [(part.first, part.dives) for part in found.by_year] == [(2026, 1)]
    assert found.marks[0].on == date(2026, 1, 1)


def test_years_without_a_dive_stand_between_the_others(tmp_path: Path) -> None:
    found = statistics(tmp_path, dive("2023-05-01T10:00Z"), dive("2026-05-01T10:00Z"))
    assert [(part.first, part.dives) for part in found.by_year] == [
        (2023, 1),
        (2024, 0),
        (2025, 0),
        (2026, 1),
    ]


@pytest.mark.parametrize(
    ("period", "expected"),
    [(Period.ALL, 4), (Period.THIS_YEAR, 2), (Period.LAST_12_MONTHS, 3)],
)
def test_a_period_ends_now(tmp_path: Path, period: Period, expected: int) -> None:
    days = ("2025-11-14T10:00Z", "2025-11-15T10:00Z", "2026-01-01T10:00Z", "2026-11-14T10:00Z")
    assert statistics(tmp_path, *map(dive, days), period=period).dives == expected


def test_a_leap_day_has_a_year_behind_it(tmp_path: Path) -> None:
    logbook = Logbook.open(tmp_path / "a.leadline", now=lambda: datetime(2024, 2, 29, 12, tzinfo=UTC))
    logbook.keep_dives([dive("2023-02-28T10:00Z"), dive("2023-03-01T10:00Z")])
    assert logbook.book.statistics(Period.LAST_12_MONTHS).dives == 1
    logbook.close()


def test_a_depth_on_a_bound_belongs_to_the_band_above_it(tmp_path: Path) -> None:
    found = statistics(
        tmp_path, *(dive("2026-05-01T10:00Z", depth_m=each) for each in (0.5, 10.0, 10.1, 30.0))
    )
    assert [(part.last, part.dives) for part in found.by_depth] == [(10, 2), (20, 1), (30, 1)]
    assert [bar.label for bar in depth_bars(found, SpokenUnits())] == ["to 10 m", "to 20 m", "to 30 m"]


def test_bands_of_thirty_feet_for_who_reads_feet(tmp_path: Path) -> None:
    found = statistics(tmp_path, dive("2026-05-01T10:00Z", depth_m=18.0), feet=True)
    labels = [bar.label for bar in depth_bars(found, SpokenUnits("imperial"))]
    assert labels == ["to 30 ft", "to 60 ft"]
    assert [part.dives for part in found.by_depth] == [0, 1]


def test_minute_volume_is_that_of_each_dive(tmp_path: Path) -> None:
    several = [
        dive(
            f"2026-{month:02d}-01T10:00Z",
            mean_depth_m=10.0,
            cylinders=(Cylinder(AIR, 12.0, 200.0, end_bar),),
        )
        for month, end_bar in ((1, 80.0), (2, 100.0), (3, 90.0), (7, 60.0))
    ]
    found = statistics(tmp_path, *several)
    rates = [gas_use(each, None).minute_volume_l_min for each in several]
    assert [(spread.month, spread.median) for spread in found.minute_volume] == [
        (1, pytest.approx(rates[2])),
        (7, pytest.approx(rates[3])),
    ]
    labels = [bar.label for bar in minute_volume_bars(found, SpokenUnits())]
    assert labels == ["Jan to Mar 2026", "Jul to Sep 2026"]


def test_many_quarters_are_told_by_years(tmp_path: Path) -> None:
    cylinder = (Cylinder(AIR, 12.0, 200.0, 100.0),)
    several = [
        dive(f"{year}-05-01T10:00Z", mean_depth_m=10.0, cylinders=cylinder) for year in range(2020, 2026)
    ]
    found = statistics(tmp_path, *several)
    assert [(spread.year, spread.month) for spread in found.minute_volume] == [
        (y, 0) for y in range(2020, 2026)
    ]


def test_water_is_told_by_months_of_any_year(tmp_path: Path) -> None:
    several = [
        dive(began, lowest_temperature_c=degrees)
        for began, degrees in (
            ("2025-01-05T10:00Z", 4.0),
            ("2026-01-09T10:00Z", 6.0),
            ("2026-08-01T10:00Z", 19.0),
        )
    ]
    found = statistics(tmp_path, *several, dive("2026-09-01T10:00Z"))
    assert [(spread.month, spread.median) for spread in found.water] == [(1, 5.0), (8, 19.0)]
    assert [bar.words for bar in water_bars(found, SpokenUnits())] == ["5 °C", "19 °C"]
    coldest = next(mark for mark in found.marks if mark.kind == "coldest")
    assert mark_words(coldest, SpokenUnits()) == "4 °C · Sun 5 Jan 2025"


def test_the_most_dives_in_a_day_name_them_all(tmp_path: Path) -> None:
    day = [dive(f"2026-05-01T{hour:02d}:00Z") for hour in (8, 11, 15)]
    found = statistics(tmp_path, *day, dive("2026-05-02T08:00Z"))
    most = next(mark for mark in found.marks if mark.kind == "most in a day")
    assert (most.value, most.on) == (3, date(2026, 5, 1))
    assert most.dive_ids == tuple(each.id for each in day)
    assert mark_words(most, SpokenUnits()) == "3 dives · Fri 1 May 2026"


def test_a_site_lies_where_its_latest_position_says(tmp_path: Path) -> None:
    moved = replace(QUARRY, latitude_deg=46.6)
    unknown = replace(QUARRY, latitude_deg=None, longitude_deg=None)
    several = [
        dive("2026-05-01T10:00Z", site=QUARRY),
        dive("2026-05-02T10:00Z", site=moved),
        dive("2026-05-03T10:00Z", site=unknown),
        dive("2026-05-04T10:00Z", site=Site.named("Pier")),
    ]
    first, second = statistics(tmp_path, *several).places
    assert (first.name, first.latitude_deg, first.dives) == ("Quarry", 46.6, 3)
    assert (second.name, second.latitude_deg, second.dives) == ("Pier", None, 1)


def test_each_month_is_labelled_with_what_it_holds(tmp_path: Path) -> None:
    found = statistics(
        tmp_path, dive("2026-05-01T10:00Z"), dive("2026-05-02T10:00Z"), dive("2026-06-02T10:00Z")
    )
    bars = month_bars(found)
    assert [(bar.label, bar.end, bar.words) for bar in bars[4:7]] == [
        ("May", 1.0, "2 dives, 1.5 h"),
        ("Jun", 0.5, "1 dive, 0.8 h"),
        ("Jul", 0.0, "none"),
    ]


def test_work_that_is_cancelled_says_so_and_is_finished_later(tmp_path: Path) -> None:
    logbook = Logbook.open(tmp_path / "a.leadline", now=lambda: NOW)
    logbook.keep_dives([dive("2026-05-01T10:00Z")])
    with pytest.raises(Cancelled):
        logbook.book.statistics(cancelled=lambda: True)
    assert logbook.book.statistics().dives == 1
    logbook.close()


def test_a_changed_dive_changes_the_figures(tmp_path: Path) -> None:
    logbook = Logbook.open(tmp_path / "a.leadline", now=lambda: NOW)
    one = dive("2026-05-01T10:00Z", lowest_temperature_c=9.0)
    logbook.keep_dives([one])
    assert logbook.book.statistics().marks[2].value == 9.0
    logbook.change_dive(one.id, lowest_temperature_c=7.0)
    assert logbook.book.statistics().marks[2].value == 7.0
    logbook.delete_dive(one.id)
    assert logbook.book.statistics().dives == 0
    logbook.close()


def test_now_may_be_in_any_zone(tmp_path: Path) -> None:
    begun = (NOW - timedelta(hours=2)).isoformat()
    assert statistics(tmp_path, dive(begun), period=Period.LAST_12_MONTHS).dives == 1
