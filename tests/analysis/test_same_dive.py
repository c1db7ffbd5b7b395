"""When two records are one dive, when they are offered as one, and when they are left alone.

The limits are the module's own, common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from dives_by_hand import EASY, NOON, dive_of

from logbook_app.analysis.same_dive import (
    JoinOffer,
    join_offers,
    overlapping,
    same_dive,
    same_dive_by_hand,
)
from logbook_app.dive.record import Dive, Recording


def recorded(later_min: float = 0, **fields) -> Dive:
    return replace(dive_of(EASY, NOON + timedelta(minutes=later_min)), **fields)


def by_hand(later_min: float = 0, **fields) -> Dive:
    told = {"duration_min": 40.0, "max_depth_m": 18.0}
    return replace(dive_of(None, NOON + timedelta(minutes=later_min), **told), **fields)


@pytest.mark.parametrize(
    ("later_min", "deeper_m", "same"),
    [(0, 0, True), (10, 1.9, True), (18, 0, True), (20, 0, False), (40, 0, False), (0, 2.5, False)],
)
def test_two_recordings_are_one_dive_when_they_share_half_the_time_and_the_depth(later_min, deeper_m, same):
    other = recorded(later_min, max_depth_m=18.0 + deeper_m)
    assert same_dive(recorded(), other) is same


def test_another_divers_dive_is_never_the_same():
    assert not same_dive(recorded(), recorded(diver="Imke"))
    assert not same_dive_by_hand(recorded(), by_hand(diver="Imke"))


def test_of_two_overlapping_dives_the_same_one_is_found_first():
    deep, same = recorded(0, max_depth_m=30.0), recorded(10)
    assert overlapping(recorded(), [deep, same]) == same
    assert overlapping(recorded(), [recorded(90)]) is None


@pytest.mark.parametrize(
    ("hand", "offered"),
    [
        (by_hand(), True),
        (by_hand(60), True),
        (by_hand(95), False),
        (by_hand(duration_min=50.0), False),
        (by_hand(max_depth_m=25.0), False),
        (recorded(5), True),
    ],
)
def test_a_hand_entry_about_then_about_as_long_and_as_deep_is_offered(hand, offered):
    dive = recorded()
    offers = join_offers([dive], [dive, hand])
    assert [(offer.keep_id, offer.other_id) for offer in offers] == [(dive.id, hand.id)] * offered


def test_two_dives_that_one_file_tells_apart_are_two():
    told = {"recordings": (Recording("a", file_name="season.uddf"),)}
    first, second = by_hand(0, **told), by_hand(60, recordings=(Recording("b", file_name="season.uddf"),))
    assert join_offers([first], [second]) == []
    other_file = replace(second, recordings=(Recording("b", file_name="other.uddf"),))
    assert len(join_offers([first], [other_file])) == 1


def test_the_recording_is_kept_and_the_sentence_says_what_both_are():
    dive, hand = recorded(number=12), by_hand(7, number=3)
    for offers in (join_offers([dive], [hand]), join_offers([hand], [dive])):
        assert offers == [JoinOffer(dive.id, hand.id, offers[0].words)]
        assert offers[0].words.startswith(
            "Dive 12 (2026-06-01 12:00) and dive 3 (2026-06-01 12:07), 18.0 m for 40"
        )
        assert "without samples" in offers[0].words
        assert "count in the load" in offers[0].words


def test_the_nearest_starts_are_paired_and_each_record_is_offered_once():
    dives = [recorded(0), recorded(80)]
    hands = [by_hand(30), by_hand(75)]
    offers = join_offers(dives, [*dives, *hands])
    pairs = {(offer.keep_id, offer.other_id) for offer in offers}
    assert pairs == {(dives[1].id, hands[1].id), (dives[0].id, hands[0].id)}


def test_a_dive_is_not_offered_with_itself_or_with_a_later_dive_of_the_day():
    dives = [recorded(0), recorded(100)]
    assert join_offers(dives, dives) == []
