"""What is carried from dive to dive, and what the time between them leaves of it."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest
from dives_by_hand import EASY, NOON, dive_of, profile

from logbook_app.analysis.dive_analysis import Rules, analyse, nothing_carried
from logbook_app.analysis.repetitive_dives import (
    FORGOTTEN_AFTER,
    at_surface,
    carried_into,
    end_state,
    end_state_from_bytes,
    end_state_to_bytes,
    one_chain,
)


def left_by(dive, samples, carried=None):
    return end_state(dive, analyse(dive, samples, carried or nothing_carried(dive), Rules()))


def test_two_dives_are_one_recording_with_the_surface_between():
    """The chain must equal one long series in which the diver breathes air at the surface."""
    whole = profile((0, 0), (2, 18), (30, 18), (32, 0), (92, 0), (94, 18), (120, 18), (122, 0))
    first, second = (
        profile((0, 0), (2, 18), (30, 18), (32, 0)),
        profile((0, 0), (2, 18), (28, 18), (30, 0)),
    )
    after_first = left_by(dive_of(first), first)
    later = dive_of(second, NOON + timedelta(minutes=92))
    after_second = left_by(later, second, carried_into(later, after_first))
    at_once = left_by(dive_of(whole), whole)
    assert np.allclose(after_second.tensions.n2_bar, at_once.tensions.n2_bar, rtol=0, atol=1e-12)


def test_the_interval_runs_at_the_surface_pressure_of_the_dive_before():
    sea = left_by(dive_of(EASY), EASY)
    lake = dive_of(EASY, NOON + timedelta(days=3), surface_bar=0.8)
    equilibrium_bar = (1.01325 - 0.0627) * 0.79
    assert carried_into(lake, sea).tensions.n2_bar[0] == pytest.approx(equilibrium_bar, abs=1e-9)


@pytest.mark.law
def test_nobody_begins_a_lower_dive_under_equilibrium():
    lake = left_by(dive_of(EASY, surface_bar=0.8), EASY)
    below = dive_of(EASY, NOON + timedelta(days=3))
    rest_bar = nothing_carried(below).tensions.n2_bar
    carried_bar = carried_into(below, lake).tensions.n2_bar
    assert (carried_bar >= rest_bar).all()
    soon = carried_into(dive_of(EASY, NOON + timedelta(hours=1)), lake).tensions.n2_bar
    assert (soon >= rest_bar).all()
    assert soon.max() > rest_bar[0]


def test_the_weather_is_no_move_to_a_lower_place():
    before = left_by(dive_of(EASY, surface_bar=0.985), EASY)
    after = dive_of(EASY, NOON + timedelta(days=1), surface_bar=1.025)
    assert (
        carried_into(after, before).tensions.n2_bar == at_surface(before, after.began_at).tensions.n2_bar
    ).all()


@pytest.mark.published
def test_the_oxygen_clock_halves_in_ninety_minutes_at_the_surface():
    """Source: the 90-minute convention, see physics/oxygen_exposure."""
    after = left_by(dive_of(EASY), EASY)
    half = at_surface(after, after.state_at + timedelta(minutes=90))
    assert half.cns_fraction == pytest.approx(after.cns_fraction / 2, rel=1e-12)


def test_after_twenty_days_the_chain_begins_anew():
    after = left_by(dive_of(EASY, surface_bar=0.8), EASY)
    later = dive_of(EASY, NOON + FORGOTTEN_AFTER + timedelta(hours=2))
    fresh = nothing_carried(later)
    assert (carried_into(later, after).tensions.n2_bar == fresh.tensions.n2_bar).all()


@pytest.mark.law
def test_what_twenty_days_leave_is_nothing_that_counts():
    deep = profile((0, 0), (2, 60), (300, 60), (310, 0))
    after = left_by(dive_of(deep), deep)
    left = at_surface(after, after.state_at + FORGOTTEN_AFTER)
    rest = nothing_carried(dive_of(EASY)).tensions
    assert np.abs(left.tensions.n2_bar - rest.n2_bar).max() < 1e-12


def test_a_dive_that_overlaps_counts_as_if_it_followed_at_once():
    after = left_by(dive_of(EASY), EASY)
    during = dive_of(EASY, NOON + timedelta(minutes=10))
    assert (carried_into(during, after).tensions.n2_bar == after.tensions.n2_bar).all()


def test_a_chain_is_the_last_dives_without_a_gap_of_twenty_days():
    days = [0, 1, 40, 41, 45]
    dives = [dive_of(EASY, NOON + timedelta(days=day)) for day in days]
    assert one_chain(dives) == dives[2:]
    assert one_chain(dives[:1]) == dives[:1]
    assert one_chain([]) == []


def test_an_end_state_comes_back_to_the_last_bit():
    kept = left_by(dive_of(EASY), EASY)
    back = end_state_from_bytes(end_state_to_bytes(kept))
    assert (back.tensions.n2_bar == kept.tensions.n2_bar).all()
    assert (back.ended_at, back.state_at, back.otu) == (kept.ended_at, kept.state_at, kept.otu)
