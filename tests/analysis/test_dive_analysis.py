"""One dive through the physics: what is added to the samples, and what the sums are made of."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from dives_by_hand import EASY, NITROX_50, NOON, dive_of, profile
from hypothesis import given
from hypothesis import strategies as st

from logbook_app.analysis.breathed_samples import breathed_samples
from logbook_app.analysis.dive_analysis import Rules, analyse, nothing_carried
from logbook_app.dive.record import Site, Water
from logbook_app.physics.breathing_gas import AIR
from logbook_app.physics.gradient_factors import GradientFactors

DEFAULT = Rules()


def analysed(dive, samples, rules=DEFAULT):
    return analyse(dive, samples, nothing_carried(dive), rules)


def test_surface_point_is_put_before_a_first_sample_that_comes_later():
    late = profile((1, 10), (20, 10), (22, 0))
    breathed = breathed_samples(dive_of(late), late)
    assert breathed.time_s[0] == 0
    assert breathed.depth_m[0] == 0
    assert breathed.recorded.tolist() == [False, True, True, True]


def test_the_gas_of_a_sample_is_breathed_from_that_instant_on():
    samples = profile((0, 0), (2, 20), (20, 20), (22, 6), (30, 6), (31, 0), switches=((22, 1),))
    breathed = breathed_samples(dive_of(samples, gases=(AIR, NITROX_50)), samples)
    assert breathed.oxygen.tolist() == [0.21, 0.21, 0.21, 0.5, 0.5, 0.5]
    series = analysed(dive_of(samples, gases=(AIR, NITROX_50)), samples).series
    assert series.ppo2_bar[3] == pytest.approx(0.5 * (1.01325 + 0.6))


def test_a_switch_between_two_samples_splits_the_segment_at_its_instant():
    samples = profile((0, 0), (2, 20), (20, 20), (31, 0), switches=((21, 1),))
    breathed = breathed_samples(dive_of(samples, gases=(AIR, NITROX_50)), samples)
    assert breathed.time_s[3] == 21 * 60
    assert breathed.depth_m[3] == pytest.approx(20 - 20 / 11)
    assert breathed.oxygen.tolist() == [0.21, 0.21, 0.21, 0.5, 0.5]
    assert not breathed.recorded[3]


def test_a_dive_without_samples_is_a_square_at_its_greatest_depth():
    dive = dive_of(None, duration_min=30, max_depth_m=18)
    result = analysed(dive, None)
    assert result.estimate
    assert result.series.depth_m.tolist() == [18, 18]
    shorter = profile((0, 0), (2, 18), (27, 18), (30, 0))
    assert (result.tensions_end.n2_bar > analysed(dive_of(shorter), shorter).tensions_end.n2_bar).all()
    assert result.fast_ascents == ()


def test_gas_nobody_wrote_down_is_taken_as_air_and_said_so():
    unknown = dive_of(EASY, gases=(None,))
    assert analysed(unknown, EASY).gas_assumed
    assert not analysed(dive_of(EASY), EASY).gas_assumed
    same = analysed(unknown, EASY).tensions_end.n2_bar == analysed(dive_of(EASY), EASY).tensions_end.n2_bar
    assert same.all()


@pytest.mark.published
def test_surface_pressure_is_recorded_else_by_elevation_else_sea_level():
    """ISO 2533 gives 898.75 hPa at 1,000 m."""
    assert breathed_samples(dive_of(EASY, surface_bar=0.95), EASY).surface_bar == 0.95
    lake = Site("lake", "Some lake", elevation_m=1000)
    assert breathed_samples(dive_of(EASY, site=lake), EASY).surface_bar == pytest.approx(0.89875, abs=5e-6)
    overridden = dive_of(EASY, site=lake, elevation_m=0.0)
    assert breathed_samples(overridden, EASY).surface_bar == pytest.approx(1.01325)
    assert breathed_samples(dive_of(EASY), EASY).surface_bar == 1.01325


@pytest.mark.published
def test_a_recorded_metre_is_a_tenth_of_a_bar_and_other_water_weighs_its_density():
    """EN 13319: 1 bar reads 10 m."""
    at_depth = {water: breathed_samples(dive_of(EASY, water=water), EASY).ambient_bar[1] for water in Water}
    assert at_depth[Water.RECORDER] == pytest.approx(1.01325 + 1.8, abs=1e-12)
    assert at_depth[Water.FRESH] == pytest.approx(1.01325 + 18 * 1000 * 9.80665e-5)
    assert at_depth[Water.SEA] == pytest.approx(1.01325 + 18 * 1025 * 9.80665e-5)


def test_a_surface_tail_is_not_dive_time_but_still_counts_in_the_load():
    tail = profile((0, 0), (2, 18), (30, 18), (32, 0), (50, 0))
    result = analysed(dive_of(tail), tail)
    assert result.duration_min == 32
    assert result.ended_at == NOON + timedelta(minutes=32)
    assert result.state_at == NOON + timedelta(minutes=50)
    assert result.mean_depth_m == pytest.approx((2 * 9 + 28 * 18 + 2 * 9) / 32)


def test_required_stops_show_as_a_ceiling_and_no_margin():
    deep = profile((0, 0), (2, 40), (25, 40), (29, 6), (60, 6), (62, 0))
    result = analysed(dive_of(deep), deep)
    assert result.required_stops
    assert result.no_stop_least_min == 0
    easy = analysed(dive_of(EASY), EASY)
    assert not easy.required_stops
    assert easy.no_stop_least_min > 0


def test_time_above_the_ceiling_is_measured():
    rushed = profile((0, 0), (2, 45), (30, 45), (34, 1), (44, 1), (45, 0))
    assert analysed(dive_of(rushed), rushed).above_ceiling_min >= 10
    assert analysed(dive_of(EASY), EASY).above_ceiling_min == 0


def test_temperature_comes_from_the_samples_else_from_the_record():
    sampled = profile((0, 0), (2, 18), (30, 18), (33, 0), temperature_c=[14, np.nan, 9, 12])
    assert analysed(dive_of(sampled, lowest_temperature_c=4.0), sampled).lowest_temperature_c == 9
    assert analysed(dive_of(EASY, lowest_temperature_c=4.0), EASY).lowest_temperature_c == 4


def test_channels_keep_their_place_beside_samples_that_were_added():
    late = profile((1, 10), (20, 10), (22, 0), temperature_c=[14, 9, 12])
    series = analysed(dive_of(late), late).series
    assert np.isnan(series.temperature_c[0])
    assert series.temperature_c[1:].tolist() == [14, 9, 12]


def record_of(samples):
    """A record needs a depth above 0, however shallow the samples are."""
    return replace(dive_of(EASY), max_depth_m=max(0.1, float(samples.depth_m.max())))


depths = st.lists(st.floats(0, 60), min_size=2, max_size=40)


@pytest.mark.law
@given(depths, st.floats(0.3, 0.9))
def test_lower_factors_never_lengthen_a_no_stop_time_or_raise_a_ceiling(depth_m, low):
    samples = profile(*enumerate([0.0, *depth_m, 0.0]))
    dive = record_of(samples)
    strict = analysed(dive, samples, Rules(GradientFactors(low * 0.7, 0.7)))
    loose = analysed(dive, samples, Rules(GradientFactors(low, 0.95)))
    assert (strict.series.ceiling_m >= loose.series.ceiling_m - 1e-9).all()
    limit = np.nan_to_num(loose.series.no_stop_min, nan=1e9)
    assert (np.nan_to_num(strict.series.no_stop_min, nan=1e9) <= limit + 1e-9).all()


@pytest.mark.law
@given(depths)
def test_cutting_a_recording_finer_changes_nothing(depth_m):
    samples = profile(*enumerate([0.0, *depth_m, 0.0]))
    finer_s = np.union1d(samples.time_s, samples.time_s[:-1] + 17)
    finer = type(samples)(finer_s, np.interp(finer_s, samples.time_s, samples.depth_m))
    dive = record_of(samples)
    one, other = analysed(dive, samples), analysed(dive, finer)
    assert np.allclose(one.tensions_end.n2_bar, other.tensions_end.n2_bar, rtol=0, atol=1e-12)
    assert one.cns_fraction == pytest.approx(other.cns_fraction, abs=1e-9)
    assert one.otu == pytest.approx(other.otu, abs=1e-9)
