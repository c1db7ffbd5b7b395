"""The time between dives: the guideline's cases, and what governs."""

from __future__ import annotations

from datetime import timedelta, timezone

import numpy as np
import pytest
from dives_by_hand import EASY, NOON, dive_of, profile

from logbook_app.analysis.chart_series import tide_curve
from logbook_app.analysis.dive_analysis import Rules, analyse, nothing_carried
from logbook_app.analysis.repetitive_dives import at_surface, carried_into, end_state
from logbook_app.analysis.surface_state import fly_time, surface_state
from logbook_app.physics.compartments import ZHL16C
from logbook_app.physics.flying_after_diving import FlyingRule

DECOMPRESSION = profile((0, 0), (2, 40), (25, 40), (29, 6), (60, 6), (62, 0))


def states(*dives_and_samples):
    kept = []
    for dive, samples in dives_and_samples:
        carried = carried_into(dive, kept[-1]) if kept else nothing_carried(dive)
        kept.append(end_state(dive, analyse(dive, samples, carried, Rules())))
    return kept


def easy(hours: float = 0.0):
    return dive_of(EASY, NOON + timedelta(hours=hours)), EASY


def fly_after(*dives_and_samples):
    finished = states(*dives_and_samples)
    return finished[-1], surface_state(finished, finished[-1].ended_at + timedelta(hours=1), Rules()).fly


@pytest.mark.published
class TestGuideline:
    """Flying After Recreational Diving Workshop, consensus of 2002 (Sheffield and Vann, eds., 2004)."""

    def test_12_h_after_one_dive_without_required_stops(self):
        last, fly = fly_after(easy())
        assert fly.guideline_at - last.ended_at == timedelta(hours=12)

    def test_18_h_after_two_dives_on_one_day(self):
        last, fly = fly_after(easy(), easy(3))
        assert fly.guideline_at - last.ended_at == timedelta(hours=18)

    def test_18_h_after_dives_on_two_days(self):
        last, fly = fly_after(easy(), easy(26))
        assert fly.guideline_at - last.ended_at == timedelta(hours=18)

    def test_24_h_after_required_stops_where_the_guideline_names_no_length(self):
        last, fly = fly_after((dive_of(DECOMPRESSION), DECOMPRESSION))
        assert last.required_stops
        assert fly.guideline_rule is FlyingRule.REQUIRED_STOPS
        assert fly.guideline_at - last.ended_at == timedelta(hours=24)

    def test_the_longest_that_any_recent_dive_asks_for(self):
        stops = dive_of(DECOMPRESSION), DECOMPRESSION
        last, fly = fly_after(stops, easy(4))
        first_ended = NOON + timedelta(minutes=62)
        assert fly.guideline_at == max(first_ended + timedelta(hours=24), last.ended_at + timedelta(hours=18))

    def test_12_h_again_after_days_without_a_dive(self):
        last, fly = fly_after(easy(), easy(24 * 6))
        assert fly.guideline_at - last.ended_at == timedelta(hours=12)


@pytest.mark.published
def test_above_8000_ft_the_faa_asks_24_h_after_any_dive():
    """Federal Aviation Administration, Aeronautical Information Manual 8-1-2 d, read in quotations."""
    finished = states(easy())
    over = fly_time(finished, Rules(), 3000.0)
    assert over.guideline_at - finished[-1].ended_at == timedelta(hours=24)


@pytest.mark.derived
def test_the_compartment_that_makes_the_model_wait_is_at_its_limit_when_the_wait_is_over():
    """limit = P + gf (a + P/b - P) at the cabin's pressure by the formula of ISO 2533."""
    finished = states(easy(), easy(3))
    fly = fly_time(finished, Rules())
    n2_bar = at_surface(finished[-1], fly.model_at).tensions.n2_bar
    cabin_bar = 1.01325 * (1 - 0.0065 * 2438.4 / 288.15) ** (9.80665 / (287.05287 * 0.0065))
    limit_bar = cabin_bar + 0.4 * (ZHL16C.n2_a_bar + cabin_bar / ZHL16C.n2_b - cabin_bar)
    assert n2_bar[fly.model_compartment] == pytest.approx(limit_bar[fly.model_compartment], abs=1e-9)
    assert (n2_bar <= limit_bar + 1e-9).all()


@pytest.mark.law
def test_a_higher_pass_is_never_allowed_sooner():
    finished = states(easy(), easy(3))
    instants = [fly_time(finished, Rules(), height).at for height in (300, 609, 611, 1500, 2438, 2439, 2900)]
    assert instants == sorted(instants)


@pytest.mark.parametrize("hours_ahead", [0, 2, -9, 12])
def test_today_is_the_same_day_for_the_same_instant(hours_ahead):
    """A dive at noon UTC looked at in the evening, whatever zone the asker's clock has."""
    finished = states(easy())
    at = (NOON + timedelta(hours=9)).astimezone(timezone(timedelta(hours=hours_ahead)))
    state = surface_state(finished, at, Rules())
    assert state.dives_today == 1
    assert state.otu_today == finished[0].otu


@pytest.mark.law
def test_the_model_never_shortens_the_guideline():
    last, fly = fly_after(easy(), easy(3))
    assert fly.at == max(fly.guideline_at, fly.model_at)
    assert fly.governed_by == "guideline"
    assert last.ended_at < fly.model_at < fly.guideline_at


def test_an_instant_before_any_dive_is_rest():
    state = surface_state(states(easy()), NOON - timedelta(hours=1), Rules())
    assert state.after is None
    assert state.fly is None
    assert state.load_now == 0
    assert state.clear


def test_only_dives_that_are_over_count():
    finished = states(easy(), easy(5))
    state = surface_state(finished, NOON + timedelta(hours=2), Rules())
    assert state.last_dive_id == finished[0].dive_id
    assert state.dives_today == 1


def test_loads_are_5_percent_at_the_clear_time_and_over_it_before():
    finished = states(easy(), easy(3))
    clear_at = surface_state(finished, NOON + timedelta(hours=5), Rules()).clear_at
    assert surface_state(finished, clear_at, Rules()).load_now == pytest.approx(0.05, abs=1e-9)
    at_clear = surface_state(finished, clear_at, Rules())
    assert at_clear.leading_compartment == at_clear.clear_compartment
    before = surface_state(finished, clear_at - timedelta(minutes=1), Rules())
    assert before.load_now > 0.05
    assert not before.clear


def test_otu_of_today_leave_out_yesterday():
    finished = states(easy(), easy(20))
    today = surface_state(finished, NOON + timedelta(hours=24), Rules())
    assert today.otu_today == pytest.approx(finished[1].otu)


@pytest.mark.law
def test_tide_curve_falls_from_the_load_at_surfacing_past_every_mark():
    finished = states(easy(), easy(3))
    state = surface_state(finished, NOON + timedelta(hours=5), Rules())
    curve = tide_curve(state, Rules())
    assert curve.minutes[0] == 0
    assert curve.load[0] == pytest.approx(state.load_at_surfacing.max())
    assert (np.diff(curve.load) < 0).all()
    last_mark_min = (max(state.clear_at, state.fly.at) - finished[-1].ended_at).total_seconds() / 60
    assert curve.minutes[-1] > last_mark_min


@pytest.mark.law
@pytest.mark.parametrize("minutes", [0.0, 1.0, 45.0])
def test_the_load_a_little_later_is_what_is_worked_out_then(minutes):
    finished = states(easy())
    at = finished[-1].ended_at + timedelta(minutes=5)
    later = at + timedelta(minutes=minutes)
    now, then = (surface_state(finished, instant, Rules()) for instant in (at, later))
    assert now.load_at(later) == pytest.approx(then.load_now, abs=1e-12)
    assert now.load_at(at - timedelta(minutes=1)) == now.load_now
