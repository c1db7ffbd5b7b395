"""Where dives begin and end; common practice, no source."""

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook_app.physics.dive_bounds import dive_bounds

CASES = [
    pytest.param([0, 60, 120], [0, 0.9, 0.2], [], id="never passed 1 m"),
    pytest.param([0, 60, 120], [0, 1.0, 0], [], id="1 m is not past 1 m"),
    pytest.param([0, 60, 120, 180], [0, 12, 12, 0], [(0, 3)], id="one dive"),
    pytest.param([0, 60, 120], [5, 12, 4], [(0, 2)], id="recorded only under water"),
    pytest.param(
        [0, 10, 20, 80, 140, 150, 900], [0, 0, 0, 9, 0, 0, 0], [(2, 4)], id="surface before and after"
    ),
    pytest.param([0, 60, 120, 299, 360, 420], [0, 9, 0, 0, 9, 0], [(0, 5)], id="179 s up is the same dive"),
    pytest.param(
        [0, 60, 120, 300, 360, 420], [0, 9, 0, 0, 9, 0], [(0, 2), (3, 5)], id="180 s up are two dives"
    ),
    pytest.param([0, 60, 120, 180, 240], [0, 9, 0.5, 9, 0], [(0, 4)], id="one sample up"),
    pytest.param([0, 60, 120, 9000, 9060], [0, 9, 0, 0, 9], [(0, 2), (3, 4)], id="ends under water"),
    pytest.param([0], [0], [], id="one sample"),
    pytest.param([0], [3], [(0, 0)], id="one sample under water"),
    pytest.param([], [], [], id="nothing"),
]


@pytest.mark.derived
@pytest.mark.parametrize(("time_s", "depth_m", "expected"), CASES)
def test_bounds(time_s, depth_m, expected):
    assert dive_bounds(time_s, depth_m) == expected


@pytest.mark.derived
def test_a_day_long_recording():
    time_s = np.arange(0, 8 * 3600, 10.0)
    depth_m = np.zeros(time_s.size)
    for begin_h, minutes in [(1, 45), (3.5, 50), (6, 30)]:
        inside = (time_s > begin_h * 3600) & (time_s < begin_h * 3600 + minutes * 60)
        depth_m[inside] = 14.0
    found = dive_bounds(time_s, depth_m)
    assert [(time_s[a] / 3600, (time_s[b] - time_s[a]) / 60) for a, b in found] == [
        (1, 45),
        (3.5, 50),
        (6, 30),
    ]


@pytest.mark.law
@given(st.lists(st.floats(0, 5), min_size=1, max_size=60), st.integers(10, 120))
def test_every_sample_under_water_is_in_exactly_one_dive(depths_m, every_s):
    time_s = np.arange(len(depths_m)) * every_s
    found = dive_bounds(time_s, depths_m)
    for index, depth in enumerate(depths_m):
        assert sum(a <= index <= b for a, b in found) >= (depth > 1.0)
    for (_, end), (begin, _) in itertools.pairwise(found):
        assert end <= begin
        assert time_s[begin] - time_s[end] >= 180
    for begin, end in found:
        assert begin == 0 or depths_m[begin] <= 1.0
        assert end == len(depths_m) - 1 or depths_m[end] <= 1.0
