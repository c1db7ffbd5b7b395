"""What a dive shows, in words: the right thing is said, with its limit, and nothing is said without cause."""

from __future__ import annotations

from dataclasses import replace

import pytest
from dives_by_hand import EASY, NITROX_50, dive_of, profile

from logbook_app.analysis.dive_analysis import Rules, analyse, nothing_carried
from logbook_app.analysis.findings import findings
from logbook_app.analysis.gas_use import gas_use
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.cylinder import Cylinder
from logbook_app.physics.breathing_gas import AIR

RULES = Rules()


def shown(samples, units="metric", before=None, **fields):
    dive = dive_of(samples, **fields)
    analysis = analyse(dive, samples, nothing_carried(dive), RULES)
    return findings(dive, analysis, gas_use(dive, samples), RULES, SpokenUnits(units), before=before)


def leads(samples, **fields):
    return [finding.lead for finding in shown(samples, **fields)]


def words_of(found, lead):
    return next(finding.words for finding in found if finding.lead == lead)


def test_a_quiet_dive_has_nothing_to_look_at():
    assert not any(finding.look_here for finding in shown(EASY))
    assert {"Ascent rate kept.", "No stop required.", "Safety stop held."} <= set(leads(EASY))


def test_what_to_look_at_comes_first():
    rushed = profile((0, 0), (2, 18), (30, 18), (30.8, 4), (35, 4), (36, 0))
    found = shown(rushed)
    assert found[0].look_here
    assert [finding.look_here for finding in found] == sorted(
        (finding.look_here for finding in found), reverse=True
    )


def test_a_fast_ascent_is_told_with_its_rate_depths_time_and_limit():
    rushed = profile((0, 0), (2, 18), (30, 18), (31, 4), (35, 4), (36, 0))
    words = words_of(shown(rushed), "One fast stretch.")
    assert words == "14 m/min from 18 m to 4 m at 30:00; usual limit 10 m/min."
    assert words_of(shown(rushed, units="imperial"), "One fast stretch.").startswith("46 ft/min from 59 ft")


def test_a_short_stop_is_told_with_common_practice():
    straight_up = profile((0, 0), (2, 18), (30, 18), (32.5, 0))
    assert "common practice is 3 min" in words_of(shown(straight_up), "Short safety stop.")


def test_required_stops_take_the_place_of_a_safety_stop():
    deep = profile((0, 0), (2, 40), (25, 40), (29, 6), (60, 6), (62, 0))
    told = leads(deep)
    assert "Stops were required." in told
    assert not {"Safety stop held.", "Short safety stop.", "No stop required."} & set(told)


def test_stops_that_were_left_out_are_told():
    left_out = profile((0, 0), (2, 45), (30, 45), (35, 0))
    assert {"Above the ceiling.", "Stops were left out."} <= set(leads(left_out))


def test_going_up_and_down_again_is_told():
    saw = profile((0, 0), (2, 20), (10, 20), (12, 5), (14, 20), (20, 20), (23, 5), (27, 5), (28, 0))
    assert words_of(shown(saw), "Up and down again.").startswith("Up from 20 m to 5 m at 10:00")


def test_a_dive_deeper_than_the_one_before_is_told_and_marked_beyond_the_workshops_difference():
    earlier, much_shallower = (
        dive_of(profile((0, 0), (2, depth), (20, depth), (25, 0))) for depth in (14, 5)
    )
    found = {finding.lead: finding for finding in shown(EASY, before=earlier)}
    assert found["Deeper than the dive before."].words.startswith("By 4.0 m.")
    assert not found["Deeper than the dive before."].look_here
    assert shown(EASY, before=much_shallower)[0].lead == "Deeper than the dive before."
    assert "Deeper than the dive before." not in [f.lead for f in shown(EASY, before=dive_of(EASY))]


@pytest.mark.published
def test_dense_gas_is_told_against_the_published_guidance():
    """Anthony and Mitchell 2016, recalled from memory: 5.2 g/L recommended, 6.2 g/L the most."""
    at_32 = profile((0, 0), (2, 32), (5, 32), (9, 0))
    at_45 = profile((0, 0), (3, 45), (5, 45), (10, 0))
    assert "recommends 5.2 g/L" in words_of(shown(at_32), "Dense gas.")
    assert "names 6.2 g/L as the most" in words_of(shown(at_45), "Dense gas.")
    assert "Dense gas." not in leads(EASY)


def test_oxygen_over_the_divers_limit_and_outside_the_table():
    assert "Oxygen pressure over your limit." in leads(EASY, gases=(replace(NITROX_50, oxygen=0.52),))
    assert "Outside the oxygen table." in leads(EASY, gases=(replace(NITROX_50, oxygen=0.6),))


def test_a_dive_beyond_the_models_range_is_marked():
    deep = profile((0, 0), (10, 110), (12, 110), (60, 6), (120, 6), (125, 0))
    assert "Outside the model's range." in leads(deep)
    assert "Outside the model's range." not in leads(EASY)


def test_of_a_dive_without_samples_nobody_knows_whether_the_ceiling_was_kept():
    told = leads(None, duration_min=40, max_depth_m=40)
    assert "Stops were required." in told
    assert not {"Ceiling kept.", "Above the ceiling.", "Stops were left out."} & set(told)


def test_a_recording_that_ends_under_a_ceiling_did_not_keep_it():
    told = leads(profile((0, 0), (2, 40), (40, 40), (43, 12)))
    assert "Stops were left out." in told
    assert "Ceiling kept." not in told


def test_an_estimate_and_an_assumed_gas_are_told():
    told = leads(None, duration_min=30, max_depth_m=18, gases=(None,))
    assert {"An estimate.", "Gas assumed."} <= set(told)
    assert "Ascent rate kept." not in told


def test_little_gas_is_told_with_common_practice():
    nearly_empty = Cylinder(AIR, volume_l=12, start_bar=200, end_bar=30)
    assert "50 bar" in words_of(shown(EASY, cylinders=(nearly_empty,)), "Little gas left.")


def test_no_minute_volume_gives_its_reason():
    no_volume = Cylinder(AIR, start_bar=200, end_bar=60)
    assert "No cylinder volume" in words_of(shown(EASY, cylinders=(no_volume,)), "Minute volume.")


def test_a_loop_without_oxygen_pressure_is_told_and_not_taken_as_sound():
    unknown = profile(
        (0, 0), (2, 18), (30, 18), (35, 0), on_loop=[1, float("nan"), float("nan"), float("nan")]
    )
    assert "Oxygen of the loop unknown." in leads(unknown)
