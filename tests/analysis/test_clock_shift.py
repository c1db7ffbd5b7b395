"""A recorder whose clock was wrong is found by the shape of its dives, and by nothing less.

The profiles are invented; what is checked is that the shift that was put in comes out.
"""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from dives_by_hand import NOON, dive_of
from hypothesis import given
from hypothesis import strategies as st

from logbook_app.analysis.clock_shift import (
    lag_and_gap,
    shapes_agree,
    shift_offers,
    spoken_shift,
)
from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Account, Dive, Recording
from logbook_app.dive.shifted_dive import shifted


def wandering(seed: int, minutes: int = 45, every_s: float = 10.0) -> Profile:
    """Return a dive along a slope that nobody dives twice."""
    chance = random.Random(seed)
    turns_min = [0, 3, *sorted(chance.uniform(4, minutes - 6) for _ in range(6)), minutes - 5, minutes]
    turns_m = [0, chance.uniform(12, 24), *(chance.uniform(6, 24) for _ in range(6)), 5, 0]
    time_s = np.arange(0, minutes * 60 + 1, every_s)
    return Profile(time_s, np.round(np.interp(time_s / 60, turns_min, turns_m), 1))


def second_gauge(profile: Profile, late_s: float = 40.0) -> Profile:
    """Return what another recorder wrote: begun later, every 20 s, reading a little deeper."""
    time_s = np.arange(0, profile.time_s[-1] - late_s + 1, 20.0)
    depth_m = np.interp(time_s + late_s, profile.time_s, profile.depth_m)
    return Profile(time_s, np.round(depth_m * 1.01 + 0.1, 1))


class Recorders:
    """Dives of one diver by two recorders; `wrong_min` is what the second one's clock is behind."""

    def __init__(self, starts_h: list[float], wrong_min: float, alike: bool = False) -> None:
        self.samples: dict[str, Profile] = {}
        self.first, self.second = [], []
        for place, start_h in enumerate(starts_h):
            began = NOON + timedelta(hours=start_h)
            one = wandering(0 if alike else place)
            two = second_gauge(one)
            self.first.append(self._dive(one, began, "first.uddf"))
            self.second.append(
                self._dive(two, began + timedelta(seconds=40) - timedelta(minutes=wrong_min), "second.uddf")
            )

    def _dive(self, samples: Profile, began, file_name: str) -> Dive:
        dive = replace(dive_of(samples, began), recordings=(Recording(f"{began}", file_name=file_name),))
        self.samples[dive.id] = samples
        return dive

    def offers(self, new=None, others=None):
        new, others = new or self.second, others or [*self.first, *self.second]
        return shift_offers(new, others, lambda dive: self.samples.get(dive.id))


DAY = [0.0, 2.5, 21.0]


@pytest.mark.parametrize(
    "wrong_min", [60, -60, 120, 90, 720, 24 * 60, -24 * 60, 5 * 60 + 45, 30 * 60, 47], ids=spoken_shift
)
def test_a_clock_that_was_wrong_is_offered_to_be_moved_for_the_whole_batch(wrong_min):
    recorders = Recorders(DAY, wrong_min)
    (offer,) = recorders.offers()
    assert offer.minutes == wrong_min
    assert offer.dive_ids == tuple(dive.id for dive in recorders.second)
    assert spoken_shift(wrong_min) in offer.words
    assert "Nothing was moved" in offer.words


@pytest.mark.parametrize("drift_min", [3, -4])
def test_two_clocks_may_drift_apart_besides(drift_min):
    (offer,) = Recorders(DAY, 60 + drift_min).offers()
    assert offer.minutes == 60 + drift_min


def test_one_dive_is_enough_for_an_hour_but_not_for_an_odd_time():
    assert [offer.minutes for offer in Recorders([0.0], 60).offers()] == [60]
    assert Recorders([0.0], 67.5).offers() == []


def test_a_batch_is_moved_though_only_some_of_its_dives_are_known():
    recorders = Recorders([0, 2, 4, 21], 60)
    (offer,) = recorders.offers(others=[*recorders.first[:2], *recorders.second])
    assert (offer.minutes, len(offer.dive_ids)) == (60, 4)
    assert "3 more of its file" in offer.words


def test_nothing_is_offered_where_the_clock_is_right_or_the_dives_are_others():
    right = Recorders(DAY, 0)
    assert right.offers() == []
    strangers = Recorders(DAY, 60)
    others = [replace(dive, diver="Imke") for dive in strangers.first]
    for other, dive in zip(others, strangers.first, strict=True):
        strangers.samples[other.id] = strangers.samples[dive.id]
    assert strangers.offers(others=others) == []


def test_nothing_is_offered_further_than_a_day_and_a_half():
    assert Recorders([0.0], 36 * 60 + 15).offers() == []


def test_dives_that_all_look_alike_say_nothing_of_the_clock():
    """The same training dive three times a day fits itself at every interval."""
    recorders = Recorders([0.0, 3.0, 6.0], 90, alike=True)
    assert recorders.offers() == []


def test_a_batch_of_which_one_dive_was_joined_has_a_right_clock():
    recorders = Recorders(DAY, 60)
    joined = replace(
        recorders.first[0],
        recordings=(*recorders.first[0].recordings, Recording("x", file_name="second.uddf")),
    )
    assert recorders.offers(others=[joined, *recorders.first[1:]]) == []


def stated(dive: Dive, minutes: float) -> Dive:
    return replace(dive, extra={"uddf:surfaceintervalbeforedive": f"{minutes * 60:.0f}"})


def one_file(*starts_min: float) -> list[Dive]:
    recording = (Recording("r", file_name="one.uddf"),)
    return [
        replace(dive_of(wandering(place), NOON + timedelta(minutes=start)), recordings=recording)
        for place, start in enumerate(starts_min)
    ]


def test_a_stated_surface_interval_tells_that_the_clock_was_changed_between_two_dives():
    first, second, third = one_file(0, 75, 300)  # 45 min each: 30 min by the clock, 90 min stated
    new = [first, stated(second, 90), third]
    (offer,) = shift_offers(new, new, lambda _dive: None)
    assert offer.minutes == 60
    assert offer.dive_ids == (second.id, third.id)
    assert "surface interval" in offer.words


@pytest.mark.parametrize("minutes", [30, 33, 38, float("inf")])
def test_an_interval_that_agrees_or_is_off_by_no_whole_quarter_says_nothing(minutes):
    first, second = one_file(0, 75)
    new = [first, stated(second, minutes)]
    assert shift_offers(new, new, lambda _dive: None) == []


@pytest.mark.law
@given(st.integers(0, 40), st.integers(0, 6))
def test_the_lag_that_was_put_in_comes_out(seed, late_steps):
    profile = wandering(seed)
    late = second_gauge(profile, late_steps * 10.0)
    lag_s, gap_m = lag_and_gap(profile, late)
    assert lag_s == pytest.approx(-late_steps * 10.0, abs=10.0)
    assert gap_m < 1.0
    back_s, same_m = lag_and_gap(late, profile)
    assert back_s == pytest.approx(-lag_s, abs=10.0)
    assert same_m == pytest.approx(gap_m, abs=0.05)


def test_the_shape_tells_one_dive_from_another_of_the_same_depth():
    assert shapes_agree(wandering(1), second_gauge(wandering(1)))
    coarse = Profile(wandering(1).time_s[::6], wandering(1).depth_m[::6])
    assert shapes_agree(wandering(1), coarse)
    assert not shapes_agree(wandering(1), wandering(2))


@pytest.mark.law
@given(st.integers(-3000, 3000))
def test_a_shift_moves_every_recorder_and_comes_back(minutes):
    account = Account(NOON, 40.0, 18.0)
    dive = replace(dive_of(wandering(1)), recordings=(Recording("a"), Recording("b", account=account)))
    moved = shifted(dive, minutes)
    assert moved.began_at - dive.began_at == timedelta(minutes=minutes)
    assert moved.recordings[1].account.began_at - NOON == timedelta(minutes=minutes)
    assert moved.utc_offset_min == dive.utc_offset_min
    assert shifted(moved, -minutes) == dive
