"""Required stops: laws that must hold for any diver, and what is refused.

The laws are for nitrogen. With helium on board the tolerance moves with the mix of the two gases, and more of
one gas can be the lesser load. All of them rest on one argument: travel takes equal times and waits are whole
minutes, so of two divers the one with less dissolved is never deeper at any instant, and never takes up more.
"""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook_app.physics.ascent_steps import Ascent, CarriedGas
from logbook_app.physics.breathing_gas import AIR, OXYGEN, BreathingGas
from logbook_app.physics.ceiling import signed_ceiling_m
from logbook_app.physics.decompression_stops import (
    Stop,
    SuggestedStop,
    WayUp,
    suggested_safety_stop,
    time_to_surface_min,
    watched_samples,
    way_up,
)
from logbook_app.physics.gradient_factors import GradientFactors
from logbook_app.physics.tissue_loading import Tensions, after_constant, saturated_on_air

SURFACE_BAR = 1.01325
RESTED = saturated_on_air(SURFACE_BAR)
NITROX_50 = CarriedGas(BreathingGas(0.5), 21.0)
OXYGEN_AT_6 = CarriedGas(OXYGEN, 6.0)

depths = st.floats(1.0, 55.0)
stays = st.floats(0.0, 45.0)
pairs = st.tuples(st.floats(0.1, 1.0), st.floats(0.1, 1.0)).map(sorted)
carried_gases = st.sampled_from([(), (OXYGEN_AT_6,), (NITROX_50, OXYGEN_AT_6)])


def _loaded(depth_m, minutes):
    return after_constant(RESTED, SURFACE_BAR + depth_m * 0.1, AIR, minutes)


def _anchor_m(tensions, low=0.4):
    return max(0.0, signed_ceiling_m(tensions.n2_bar, tensions.he_bar, SURFACE_BAR, low).item())


def _way_up(tensions, depth_m, anchor_m, pair=(0.4, 0.85), carried=()):
    ascent = Ascent(SURFACE_BAR, factors=GradientFactors(*pair), carried=tuple(carried))
    return way_up(tensions, depth_m, anchor_m, AIR, ascent)


@pytest.mark.law
@settings(max_examples=80, deadline=None)
@given(depths, stays, st.lists(st.floats(0.0, 0.3), min_size=16, max_size=16), carried_gases)
def test_more_dissolved_never_means_fewer_minutes(depth_m, minutes, more_bar, carried):
    less = _loaded(depth_m, minutes)
    more = Tensions(less.n2_bar + np.array(more_bar), less.he_bar)
    anchor_m = _anchor_m(more)
    one, other = (_way_up(load, depth_m, anchor_m, carried=carried) for load in (less, more))
    assert one.stop_min <= other.stop_min
    assert one.time_to_surface_min <= other.time_to_surface_min + 1e-9


@pytest.mark.law
@settings(max_examples=80, deadline=None)
@given(depths, stays, pairs, pairs, carried_gases)
def test_lower_factors_are_never_shorter(depth_m, minutes, pair, other_pair, carried):
    # At one anchor. A lower low factor alone also moves the anchor down and with it flattens the line, which
    # can shorten the last stops: a property of gradient factors, not a fault.
    tensions = _loaded(depth_m, minutes)
    lower = tuple(min(both) for both in zip(pair, other_pair, strict=True))
    higher = tuple(max(both) for both in zip(pair, other_pair, strict=True))
    anchor_m = _anchor_m(tensions, lower[0])
    slow, fast = (_way_up(tensions, depth_m, anchor_m, factors, carried) for factors in (lower, higher))
    assert slow.stop_min >= fast.stop_min


@pytest.mark.law
@settings(max_examples=80, deadline=None)
@given(st.integers(1, 12), stays, st.sampled_from([10.0, 20.0]), carried_gases)
def test_leaving_deeper_is_never_sooner(stops_down, minutes, deeper_m, carried):
    # 10 m deeper is a whole minute of travel more, so both divers count their minutes at the same instants.
    depth_m = 3.0 * stops_down
    tensions = _loaded(depth_m, minutes)
    anchor_m = _anchor_m(tensions)
    shallow, deep = (_way_up(tensions, d, anchor_m, carried=carried) for d in (depth_m, depth_m + deeper_m))
    assert deep.time_to_surface_min >= shallow.time_to_surface_min + deeper_m / 10.0 - 1e-9


@pytest.mark.law
@settings(max_examples=80, deadline=None)
@given(depths, stays, pairs, carried_gases)
def test_what_a_way_up_is_made_of(depth_m, minutes, pair, carried):
    tensions = _loaded(depth_m, minutes)
    found = _way_up(tensions, depth_m, _anchor_m(tensions, pair[0]), pair, carried)
    assert found.time_to_surface_min == pytest.approx(depth_m / 10.0 + found.stop_min, abs=1e-9)
    at_m = [stop.depth_m for stop in found.stops]
    assert at_m == sorted(set(at_m), reverse=True)
    assert all(stop_m % 3.0 == 0.0 for stop_m in at_m if stop_m != depth_m)
    assert all(stop.minutes >= 1 for stop in found.stops)
    for stop in found.stops:
        allowed = [AIR, *(gas.gas for gas in carried if gas.switch_depth_m >= stop.depth_m)]
        assert stop.gas == max(allowed, key=lambda gas: gas.oxygen)


@pytest.mark.law
@settings(max_examples=40, deadline=None)
@given(depths, stays, pairs, carried_gases)
def test_one_sample_and_many_agree(depth_m, minutes, pair, carried):
    tensions, factors = _loaded(depth_m, minutes), GradientFactors(*pair)
    anchor_m = _anchor_m(tensions, pair[0])
    depths_m = np.array([depth_m, 0.0, depth_m / 2.0, depth_m + 7.0])
    found_min = time_to_surface_min(
        np.tile(tensions.n2_bar, (4, 1)),
        np.zeros((4, 16)),
        depths_m,
        anchor_m,
        0.79,
        0.0,
        Ascent(SURFACE_BAR, factors=factors, carried=carried),
    )
    alone = [_way_up(tensions, d, anchor_m, pair, carried).time_to_surface_min for d in depths_m]
    np.testing.assert_array_equal(found_min, alone)


@pytest.mark.derived
def test_a_gas_in_use_that_is_richer_stays_in_use():
    tensions = _loaded(40.0, 25.0)
    leaner = CarriedGas(BreathingGas(0.16), 60.0)
    assert _way_up(tensions, 40.0, _anchor_m(tensions), carried=[leaner]) == _way_up(
        tensions, 40.0, _anchor_m(tensions)
    )


@pytest.mark.derived
def test_a_decimal_that_missed_its_multiple_of_three_is_the_stop():
    tensions = _loaded(40.0, 25.0)
    just_off, exact = (_way_up(tensions, depth_m, 13.0) for depth_m in (0.1 + 0.2 + 8.7 + 3e-15, 9.0))
    assert [stop.minutes for stop in just_off.stops] == [stop.minutes for stop in exact.stops]


@pytest.mark.derived
@pytest.mark.parametrize("depth_m", [0.0, -0.3, 1e-310])
def test_at_the_surface_there_is_no_way_up(depth_m):
    assert _way_up(_loaded(40.0, 25.0), depth_m, 12.0) == WayUp((), 0.0)


@pytest.mark.derived
def test_a_way_up_over_a_day_is_refused():
    saturated = saturated_on_air(SURFACE_BAR + 4.0)
    with pytest.raises(ValueError, match="From 40 m on air the way up takes more than 24 hours"):
        _way_up(saturated, 40.0, _anchor_m(saturated))
    found = time_to_surface_min(
        np.array([saturated.n2_bar, RESTED.n2_bar]),
        np.zeros((2, 16)),
        [40.0, 40.0],
        [30.0, 0.0],
        0.79,
        0.0,
        Ascent(SURFACE_BAR),
    )
    assert np.isnan(found[0])
    assert found[1] == pytest.approx(4.0)


@pytest.mark.derived
@pytest.mark.parametrize("missing", [math.nan, math.inf])
def test_what_is_no_number_is_refused(missing):
    with pytest.raises(ValueError, match="a number for every depth"):
        _way_up(RESTED, missing, 0.0)
    with pytest.raises(ValueError, match="is not a depth"):
        CarriedGas(OXYGEN, missing)


@pytest.mark.derived
@pytest.mark.parametrize(
    ("stops", "deepest_m", "expected"),
    [
        pytest.param((), 30.0, SuggestedStop(5.0, 3), id="none required"),
        pytest.param((), 10.0, None, id="a shallow dive"),
        pytest.param((Stop(6.0, 1, AIR), Stop(3.0, 2, AIR)), 30.0, None, id="required stops take it"),
        pytest.param(
            (Stop(9.0, 5, AIR), Stop(3.0, 2, AIR)), 30.0, SuggestedStop(5.0, 3), id="required stops too short"
        ),
    ],
)
def test_suggested_safety_stop(stops, deepest_m, expected):
    """Common practice, no source."""
    assert suggested_safety_stop(WayUp(stops, 10.0), deepest_m) == expected


@pytest.mark.law
@given(st.lists(st.floats(0.5, 90.0), min_size=1, max_size=60), st.floats(5.0, 60.0))
def test_watched_samples_leave_no_wide_gap(steps_s, every_s):
    time_s = 100.0 + np.concatenate([[0.0], np.cumsum(steps_s)])
    watched = watched_samples(time_s, every_s)
    assert watched[0] == 0
    assert watched[-1] == time_s.size - 1
    assert np.all(np.diff(watched) > 0)
    assert watched.size <= (time_s[-1] - time_s[0]) / every_s + 2
    gaps = np.diff(time_s[watched])
    assert np.all(gaps <= 2 * every_s + max(steps_s))
