"""What must hold of repetitive groups whatever the numbers, and what is said where the tables end."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from logbook_app.physics.ascent_to_altitude import (
    Surfacing,
    is_altitude_dive,
    wait_after_dives_min,
    wait_before_ascent_min,
)
from logbook_app.physics.navy_tables import GROUPS
from logbook_app.physics.repetitive_group import (
    OutsideTables,
    group_after_dive,
    group_after_interval,
    no_stop_limit_min,
    rank,
    residual_nitrogen,
)
from logbook_app.physics.repetitive_series import AFTER_UNKNOWN, AirDive, work_dive, work_series

depths_fsw = st.floats(0.1, 200.0)
times_min = st.floats(0.0, 1500.0)
intervals_min = st.floats(0.0, 1000.0)
groups = st.sampled_from(GROUPS)
air_dives = st.builds(AirDive, st.floats(1.0, 190.0), st.integers(1, 60))


def height(group):
    """Return a rank that also orders no group below A and outside above Z."""
    if group is None:
        return -1
    return len(GROUPS) if isinstance(group, OutsideTables) else rank(group)


@pytest.mark.law
@given(depths_fsw, depths_fsw, times_min, times_min)
def test_deeper_or_longer_is_never_a_lower_group(depth, other_depth, time, other_time):
    shallow, deep = sorted((depth, other_depth))
    short, long = sorted((time, other_time))
    assert height(group_after_dive(deep, long)) >= height(group_after_dive(shallow, short))


@pytest.mark.law
@given(depths_fsw, depths_fsw)
def test_deeper_is_never_a_longer_limit(depth, other_depth):
    shallow, deep = (no_stop_limit_min(d) for d in sorted((depth, other_depth)))
    assume(not isinstance(deep, OutsideTables))
    assert deep <= shallow


@pytest.mark.law
@given(depths_fsw)
def test_the_limit_itself_is_inside_and_a_minute_more_is_not(depth):
    limit = no_stop_limit_min(depth)
    assume(not isinstance(limit, OutsideTables) and limit < 1e6)
    assert not isinstance(group_after_dive(depth, limit), OutsideTables)
    assert isinstance(group_after_dive(depth, limit + 1), OutsideTables)


@pytest.mark.law
@given(groups, intervals_min, intervals_min)
def test_a_longer_interval_is_never_a_higher_group(group, interval, other):
    short, long = sorted((interval, other))
    assert height(group_after_interval(group, long)) <= height(group_after_interval(group, short))


@pytest.mark.law
@given(groups, groups, intervals_min)
def test_a_higher_group_stays_at_least_as_high(group, other, interval):
    low, high = sorted((group, other), key=rank)
    assert height(group_after_interval(high, interval)) >= height(group_after_interval(low, interval))


@pytest.mark.law
@given(groups, groups, depths_fsw)
def test_a_higher_group_never_has_less_residual_time(group, other, depth):
    low, high = (residual_nitrogen(g, depth) for g in sorted((group, other), key=rank))
    assume(not isinstance(low, OutsideTables) and not isinstance(high, OutsideTables))
    assume(low.schedule_fsw == high.schedule_fsw)  # at 25 fsw the dagger leads to another row
    assert high.minutes >= low.minutes > 0


@pytest.mark.law
@given(groups, groups, st.floats(0, 10_000), st.floats(0, 10_000))
def test_a_higher_group_or_climb_never_has_a_shorter_wait(group, other, feet, other_feet):
    low, high = sorted((group, other), key=rank)
    less, more = sorted((feet, other_feet))
    assert wait_before_ascent_min(high, more) >= wait_before_ascent_min(low, less)


@pytest.mark.law
@given(air_dives, air_dives, st.floats(0, 1000))
def test_a_dive_before_never_lowers_the_group(first, second, interval):
    alone = work_dive(second)
    after = work_dive(second, interval, work_dive(first))
    assert height(after.group_after) >= height(alone.group_after)


@pytest.mark.law
@given(air_dives, air_dives, air_dives, st.floats(10, 300), st.floats(10, 300))
def test_a_series_is_never_worse_than_all_its_time_at_its_greatest_depth(first, second, third, one, two):
    """The exception sees to it when the last dive is the deepest."""
    last = AirDive(max(first.depth_fsw, second.depth_fsw, third.depth_fsw), third.bottom_time_min)
    worked = work_dive(last, two, work_dive(second, one, work_dive(first)))
    assume(not isinstance(worked.group_after, OutsideTables))
    whole_min = first.bottom_time_min + second.bottom_time_min + last.bottom_time_min
    assert height(worked.group_after) <= height(group_after_dive(last.depth_fsw, whole_min))


@pytest.mark.law
def test_a_printed_step_that_came_through_another_unit_stays_in_its_row():
    assert no_stop_limit_min(60.0 + 1e-9) == 63
    assert group_after_dive(60.0, 63.0 + 1e-9) == "K"
    assert no_stop_limit_min(60.01) == 48


@pytest.mark.law
def test_between_two_printed_minutes_the_diver_is_still_in_the_higher_group():
    assert group_after_interval("K", 52.99) == "K"
    assert group_after_interval("K", 53.0) == "J"


class TestOutside:
    def test_deeper_than_the_last_row(self):
        assert group_after_dive(190.5, 1).reason == "The dive was deeper than the last row, 190 fsw."
        assert isinstance(no_stop_limit_min(191), OutsideTables)
        assert isinstance(residual_nitrogen("A", 191), OutsideTables)

    def test_a_dive_that_is_none_for_the_tables_is_passed_on_with_its_reason(self):
        nitrox = OutsideTables("The gas was not air.")
        assert work_dive(nitrox).group_after == nitrox

    def test_for_24_hours_after_it_nothing_is_known(self):
        unknown = work_dive(OutsideTables("The gas was not air."))
        assert work_dive(AirDive(40, 20), 23.9 * 60, unknown).group_after == AFTER_UNKNOWN
        assert work_dive(AirDive(40, 20), 24 * 60, unknown).group_after == group_after_dive(40, 20)

    def test_no_wait_can_be_told_for_48_hours_after_it(self):
        unknown = OutsideTables("The gas was not air.")
        recent = [Surfacing(unknown, 47 * 60), Surfacing("A", 0)]
        assert isinstance(wait_after_dives_min(recent, 8_000), OutsideTables)
        assert wait_after_dives_min([Surfacing(unknown, 48 * 60), Surfacing("A", 0)], 8_000) == 0

    def test_an_asterisked_cell_leaves_the_series_outside(self):
        first = work_dive(AirDive(60, 63))
        second = work_dive(AirDive(15, 30), 30, first)
        assert second.group_before == "K"
        assert "no residual nitrogen time for group K at 15 fsw" in second.group_after.reason


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: group_after_dive(0, 10), "is no dive"),
        (lambda: group_after_dive(float("nan"), 10), "is no dive"),
        (lambda: group_after_dive(60, -1), "bottom time of -1 min"),
        (lambda: group_after_interval("K", -1), "surface interval of -1 min"),
        (lambda: group_after_interval("P", 60), '"P" is not a repetitive group'),
        (lambda: residual_nitrogen("", 60), "is not a repetitive group"),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence(call, words):
    with pytest.raises(ValueError, match=words):
        call()


def test_a_group_of_more_than_24_hours_ago_does_not_count():
    assert wait_after_dives_min([Surfacing("K", 24 * 60 + 1), Surfacing("A", 0)], 8_000) == 0
    assert wait_after_dives_min([Surfacing("K", 24 * 60), Surfacing("A", 0)], 8_000) > 0


def test_overlapping_dives_count_as_one():
    assert work_dive(AirDive(40, 20), -5, work_dive(AirDive(50, 10))).entered == AirDive(50, 30)


def test_three_dives_within_10_minutes_of_each_other_are_one():
    series = work_series([(30, 10, 0), (40, 10, 5), (35, 10, 9)])
    assert series.dives[-1].entered == AirDive(40, 30)
    assert series.dives[-1].residual_nitrogen_min == 0


def test_an_empty_series_waits_for_nothing():
    assert work_series([]).wait_before_flight_min == 0


@pytest.mark.parametrize(
    ("elevation_ft", "depth_fsw", "corrected"),
    [
        (0, 190, False),
        (300, 190, False),
        (301, 144, False),
        (301, 145, True),
        (1000, 60, False),
        (1001, 20, True),
    ],
)
def test_which_dives_are_altitude_dives(elevation_ft, depth_fsw, corrected):
    assert is_altitude_dive(elevation_ft, depth_fsw) == corrected
