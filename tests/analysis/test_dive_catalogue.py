"""Filtering, sorting and parting all dives: against a plain look at each of them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook_app.analysis.dive_catalogue import DiveCatalogue
from logbook_app.analysis.dive_filter import (
    DiveFilter,
    DiveOrder,
    Grouping,
    Named,
    Whose,
    depth_words,
    filter_words,
)
from logbook_app.analysis.dive_row import dive_row
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.record import Dive, Site
from logbook_app.dive.search_words import same_name
from logbook_app.physics.breathing_gas import AIR, BreathingGas

pytestmark = pytest.mark.law

names = st.sampled_from(["Imke", "imke", "Tom", "Ünal"])
dives = st.builds(
    Dive,
    id=st.uuids().map(str),
    began_at=st.datetimes(datetime(2029, 12, 30), datetime(2031, 1, 3), timezones=st.just(UTC)),
    utc_offset_min=st.sampled_from([-600, 0, 600]),
    duration_min=st.integers(1, 60).map(float),
    max_depth_m=st.integers(1, 40).map(float),
    number=st.none() | st.integers(1, 9),
    diver=st.sampled_from(["", "Odile"]),
    site=st.none() | st.sampled_from(["Ledge", "ledge", "Älv", "Zinnia"]).map(Site.named),
    buddies=st.lists(names, max_size=2).map(tuple),
    tags=st.lists(st.sampled_from(["wreck", "night"]), max_size=2).map(tuple),
    trip=st.sampled_from(["", "Sorvane", "sorvane", "Gannock"]),
    suit=st.sampled_from(["", "dry"]),
    cylinders=st.lists(st.sampled_from([AIR, BreathingGas(0.32)]).map(Cylinder), max_size=2).map(tuple),
)  # fmt: skip
logbooks = st.lists(dives, max_size=12).map(lambda some: sorted(some, key=lambda dive: dive.began_at))
days = st.none() | st.dates(date(2029, 12, 29), date(2031, 1, 4))
depths = st.none() | st.integers(5, 35).map(float)
filters = st.builds(
    DiveFilter,
    first_day=days, last_day=days, least_m=depths, most_m=depths,
    buddies=st.lists(names, max_size=2).map(tuple),
    sites=st.lists(st.sampled_from(["LEDGE", "Nowhere"]), max_size=1).map(tuple),
    gases=st.sampled_from([(), ("air",), ("air", "nitrox 32")]),
    kit=st.sampled_from([(), ("Dry",)]),
    tags=st.sampled_from([(), ("wreck",)]),
    trips=st.sampled_from([(), ("Sorvane",)]),
    whose=st.sampled_from(Whose),
)  # fmt: skip


def catalogue_of(logbook: list[Dive]) -> DiveCatalogue:
    return DiveCatalogue(
        logbook,
        [dive_row(dive, b"") for dive in logbook],
        {dive.id: at + 1 for at, dive in enumerate(logbook)},
    )


def holds(dive: Dive, wanted: DiveFilter) -> bool:
    """Look at one dive plainly."""
    day = dive.began_local.date()
    of_dive = {
        Named.SITE: [dive.site.name] if dive.site else [],
        Named.BUDDY: dive.buddies,
        Named.GAS: [cylinder.gas.name for cylinder in dive.cylinders if cylinder.gas],
        Named.KIT: [dive.suit],
        Named.TAG: dive.tags,
        Named.TRIP: [dive.trip],
    }
    return (
        (wanted.first_day is None or day >= wanted.first_day)
        and (wanted.last_day is None or day <= wanted.last_day)
        and (wanted.least_m is None or dive.max_depth_m >= wanted.least_m)
        and (wanted.most_m is None or dive.max_depth_m <= wanted.most_m)
        and (wanted.whose is Whose.ALL or dive.own == (wanted.whose is Whose.OWN))
        and all(
            not wanted.names(kind)
            or set(map(same_name, wanted.names(kind))) & set(map(same_name, of_dive[kind]))
            for kind in Named
        )
    )


@given(
    logbooks,
    filters,
    st.sampled_from(DiveOrder),
    st.sampled_from(Grouping),
    st.none() | st.sets(st.integers(0, 14)),
)
def test_found_are_those_and_only_those_for_which_all_holds(
    logbook: list[Dive], wanted: DiveFilter, order: DiveOrder, grouping: Grouping, words: set[int] | None
) -> None:
    found = catalogue_of(logbook).find(wanted, order, grouping, None if words is None else sorted(words))
    expected = [
        dive for at, dive in enumerate(logbook) if holds(dive, wanted) and (words is None or at + 1 in words)
    ]
    assert sorted(found.ids()) == sorted(dive.id for dive in expected)
    own = [dive for dive in expected if dive.own]
    assert (found.sums.dives, found.sums.others) == (len(own), len(expected) - len(own))
    assert found.sums.minutes == pytest.approx(sum(dive.duration_min for dive in own))
    assert found.sums.deepest_m == max((dive.max_depth_m for dive in own), default=0)


KEYS: dict[DiveOrder, Callable[[Dive], Any]] = {
    DiveOrder.NEWEST: lambda dive: -dive.began_at.timestamp(),
    DiveOrder.OLDEST: lambda dive: dive.began_at.timestamp(),
    DiveOrder.DEEPEST: lambda dive: -dive.max_depth_m,
    DiveOrder.LONGEST: lambda dive: -dive.duration_min,
    DiveOrder.NUMBER: lambda dive: dive.number or 99,
    DiveOrder.SITE: lambda dive: (
        {"älv": 0, "ledge": 1, "zinnia": 2}[dive.site.name.casefold()] if dive.site else 9
    ),
}


@given(logbooks, st.sampled_from(DiveOrder), st.sampled_from(Grouping))
def test_they_stand_in_order_within_their_groups(
    logbook: list[Dive], order: DiveOrder, grouping: Grouping
) -> None:
    """Groups part the list without a rest, the newest first unless the oldest dives are wanted first."""
    by_id = {dive.id: dive for dive in logbook}
    found = catalogue_of(logbook).find(DiveFilter(), order, grouping)
    listed = [by_id[dive_id] for dive_id in found.ids()]
    if grouping is Grouping.NONE:
        assert list(found.groups) == []
        assert listed == sorted(listed, key=KEYS[order])
        return
    assert sum(group.count for group in found.groups) == len(listed)
    for group in found.groups:
        part = listed[group.start : group.start + group.count]
        assert part == sorted(part, key=KEYS[order])
        assert group.sums.dives == sum(dive.own for dive in part)
        names = {
            dive.trip.casefold() if grouping is Grouping.TRIP else str(dive.began_local.year) for dive in part
        }
        assert names == {group.name.casefold()}
    if grouping is Grouping.YEAR:
        years = [group.name for group in found.groups]
        assert years == sorted(years, reverse=order is not DiveOrder.OLDEST)
    named = [group.name for group in found.groups]
    assert "" not in named[:-1]  # what is of no trip comes last


def test_where_dives_stand_equal_the_newer_is_first() -> None:
    began = datetime(2030, 5, 4, 9, tzinfo=UTC)
    dive = Dive(id="a", began_at=began, duration_min=40, max_depth_m=20)
    later = replace(dive, id="b", began_at=began + timedelta(hours=3))
    assert catalogue_of([dive, later]).find(DiveFilter(), DiveOrder.DEEPEST).ids() == ["b", "a"]


def test_names_are_told_once_with_their_dives_and_the_last_of_them() -> None:
    began = datetime(2030, 5, 4, 9, tzinfo=UTC)
    dive = Dive(id="a", began_at=began, duration_min=40, max_depth_m=20, buddies=("Zora", "imke"))
    later = replace(dive, id="b", began_at=began + timedelta(days=3), buddies=("Imke", "Ämilia"))
    catalogue = catalogue_of([dive, later])
    assert [(each.name, each.dives, each.last_day.day) for each in catalogue.names(Named.BUDDY)] == [
        ("Ämilia", 1, 7), ("Imke", 2, 7), ("Zora", 1, 4)
    ]  # fmt: skip
    assert catalogue.names_like(Named.BUDDY, "am") == ("Ämilia",)
    assert catalogue.names_like(Named.BUDDY, "") == ()


def test_a_place_from_after_the_catalogue_was_made_is_passed_over() -> None:
    """The file may have grown since: its new dives come with the next catalogue."""
    dive = Dive(id="a", began_at=datetime(2030, 5, 4, tzinfo=UTC), duration_min=40, max_depth_m=20)
    assert catalogue_of([dive]).find(DiveFilter(text="x"), with_words=[1, 9999]).ids() == ["a"]
    assert catalogue_of([]).find(DiveFilter(text="x"), with_words=[1]).ids() == []


@pytest.mark.parametrize(
    ("wanted", "words"),
    [
        (DiveFilter(), ""),
        (DiveFilter(text="  big  ray "), "with “big ray” in them"),
        (DiveFilter(first_day=date(2026, 1, 1), last_day=date(2026, 12, 31)), "in 2026"),
        (DiveFilter(first_day=date(2026, 5, 3)), "from 3 May 2026"),
        (DiveFilter(last_day=date(2026, 5, 3)), "until 3 May 2026"),
        (DiveFilter(first_day=date(2026, 5, 3), last_day=date(2026, 5, 3)), "on 3 May 2026"),
        (DiveFilter(first_day=date(2026, 5, 3), last_day=date(2026, 6, 1)), "from 3 May 2026 to 1 Jun 2026"),
        (DiveFilter(least_m=20, sites=("Ledge",), whose=Whose.OWN), "20 m or deeper, at Ledge, your own"),
        (DiveFilter(most_m=12.5, buddies=("A", "B", "C", "D")), "12.5 m or shallower, with A, B or 2 more"),
        (DiveFilter(least_m=12, most_m=20, tags=("wreck", "night")),
         "12 m to 20 m deep, tagged wreck or night"),
        (DiveFilter(gases=("air",), kit=("dry",), trips=("Sorvane",)),
         "on air, dived with dry, of the trip Sorvane"),
    ],
)  # fmt: skip
def test_what_is_filtered_is_said(wanted: DiveFilter, words: str) -> None:
    assert filter_words(wanted, SpokenUnits()) == words
    assert wanted.wants_all == (not words)


def test_depths_are_said_in_the_divers_units() -> None:
    assert depth_words(30.48, None, SpokenUnits("imperial")) == "100 ft or deeper"
