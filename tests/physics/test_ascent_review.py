"""Depth by parts, repeated ascents, reverse profiles. Where lines are drawn: common practice."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from printed import rows

from logbook_app.physics.ascent_review import (
    Rise,
    large_rises,
    mean_depth_by_part_m,
    reverse_profiles,
)
from logbook_app.physics.mean_depth import mean_depth_m

recordings = st.lists(st.tuples(st.floats(1.0, 60.0), st.floats(0.0, 45.0)), min_size=2, max_size=30).map(
    lambda rows: (np.cumsum([step for step, _ in rows]), np.array([depth for _, depth in rows]))
)


@pytest.mark.law
@given(recordings, st.integers(1, 6))
def test_the_parts_make_the_whole(recording, parts):
    means = mean_depth_by_part_m(*recording, parts)
    assert len(means) == parts
    assert np.mean(means) == pytest.approx(mean_depth_m(*recording), abs=1e-9)


@pytest.mark.derived
def test_parts_by_hand():
    # 0 to 30 m in 60 s, 30 to 10 in 60 s, 10 to 0 in 60 s; halves meet at 20 m after 90 s.
    assert mean_depth_by_part_m([0, 60, 120, 180], [0, 30, 10, 0]) == pytest.approx((15, 20, 5))
    # (60 x 15 + 30 x 25) / 90 and (30 x 15 + 60 x 5) / 90
    assert mean_depth_by_part_m([0, 60, 120, 180], [0, 30, 10, 0], 2) == pytest.approx((1650 / 90, 750 / 90))
    assert mean_depth_by_part_m([5.0], [12.0]) == (12.0, 12.0, 12.0)


def _found(depth_m):
    rises = large_rises(np.arange(len(depth_m)) * 60.0, depth_m)
    return [(rise.from_m, rise.to_m, rise.down_again) for rise in rises]


@pytest.mark.derived
@pytest.mark.parametrize(
    ("depth_m", "expected"),
    [
        pytest.param([0, 30, 30, 0], [(30, 0, False)], id="one dive, one ascent"),
        pytest.param([0, 30, 18, 22, 12, 14, 5, 0], [(30, 0, False)], id="dips on the way up"),
        pytest.param(
            [0, 30, 12, 30, 12, 30, 0], [(30, 12, True), (30, 12, True), (30, 0, False)], id="saw-tooth"
        ),
        pytest.param([0, 12, 0, 9, 0], [(12, 0, True)], id="up to the surface and down once more"),
        pytest.param([0, 20, 11, 20, 11, 20, 11], [], id="rises of 9 m"),
        pytest.param([0, 20, 10, 20, 10], [(20, 10, True), (20, 10, False)], id="rises of just 10 m"),
        pytest.param([0, 20, 10, 14.9, 3, 0], [(20, 0, False)], id="a dip of less than 5 m"),
        pytest.param([0, 20, 10, 15, 3, 0], [(20, 10, True), (15, 0, False)], id="a dip of 5 m"),
        pytest.param([0, 20, 15, 25, 40], [], id="only down"),
        pytest.param([25, 10, 24], [(25, 10, True)], id="a recording that ends at depth"),
        pytest.param([9, 9, 9], [], id="level"),
        pytest.param([30], [], id="one sample"),
    ],
)
def test_rises(depth_m, expected):
    assert _found(depth_m) == expected


@pytest.mark.derived
def test_a_rise_has_its_instants():
    # At 30 m until 120 s, at the surface from 240 s on.
    (rise,) = large_rises([0, 60, 120, 180, 240, 300], [0, 30, 30, 8, 0, 0])
    assert rise == Rise(120.0, 240.0, 30.0, 0.0, False)
    assert rise.to_surface
    assert not large_rises([0, 60, 120], [0, 30, 5])[0].to_surface


@pytest.mark.law
@settings(max_examples=100, deadline=None)
@given(recordings)
def test_what_a_rise_is_made_of(recording):
    time_s, depth_m = recording
    rises = large_rises(time_s, depth_m)
    for rise in rises:
        inside = depth_m[(time_s >= rise.began_s) & (time_s <= rise.ended_s)]
        assert rise.from_m == inside.max()
        assert rise.to_m == inside.min()
        assert rise.from_m - rise.to_m >= 10.0
    for rise, following in pairwise(rises):
        assert rise.down_again
        assert following.began_s > rise.ended_s
        assert following.from_m - rise.to_m >= 5.0
    assert bool(rises) == _rises_ten_metres(depth_m)


def _rises_ten_metres(depth_m):
    """Whether any later sample is 10 m shallower than an earlier one."""
    return any(depth_m[i] - min(depth_m[i:]) >= 10.0 for i in range(len(depth_m)))


@pytest.mark.law
@given(recordings, st.integers(2, 5))
def test_more_samples_on_the_same_lines_change_nothing(recording, times):
    time_s, depth_m = recording
    fine_s = np.interp(np.arange(times * (time_s.size - 1) + 1) / times, np.arange(time_s.size), time_s)
    fine_m = np.interp(fine_s, time_s, depth_m)
    fine_m[::times] = depth_m
    fine = [(rise.from_m, rise.to_m, rise.down_again) for rise in large_rises(fine_s, fine_m)]
    coarse = [(rise.from_m, rise.to_m, rise.down_again) for rise in large_rises(time_s, depth_m)]
    assert [round(value, 6) for rise in coarse for value in rise] == [
        round(v, 6) for rise in fine for v in rise
    ]


@pytest.mark.derived
@pytest.mark.parametrize(
    ("deepest_m", "expected"),
    [
        pytest.param([], [], id="no dive"),
        pytest.param([40.0], [], id="one dive"),
        pytest.param([30.0, 18.0, 12.0], [], id="deepest first"),
        pytest.param([18.0, 21.0], [], id="just 3 m deeper"),
        pytest.param([18.0, 21.5], [(1, 3.5, False)], id="more than 3 m deeper"),
        pytest.param([18.0, 30.0], [(1, 12.0, True)], id="12 m deeper"),
        pytest.param([30.0, 12.0, 18.0, 36.0], [(2, 6.0, False), (3, 18.0, True)], id="a day of four"),
    ],
)
def test_reverse_profiles(deepest_m, expected):
    found = reverse_profiles(deepest_m)
    assert [(each.dive, each.deeper_by_m, each.beyond_workshop) for each in found] == expected


@pytest.mark.published
@pytest.mark.parametrize("row", rows("smithsonian_2000_reverse_profiles"))
def test_the_difference_of_the_workshop(row):
    (found,) = reverse_profiles([20.0, 20.0 + row["deeper_by_m"]])
    assert found.beyond_workshop == row["beyond"]


@pytest.mark.derived
def test_odd_recordings():
    for look in (large_rises, mean_depth_by_part_m):
        with pytest.raises(ValueError, match="the same one row"):
            look([], [])
        with pytest.raises(ValueError, match="the same one row"):
            look([0, 1], [3.0])
