"""Time above the ceiling, against counting every tenth of a second."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from profiles import SURFACE_BAR, on_one_gas

from logbook_app.physics.ceiling import ceiling_m
from logbook_app.physics.missed_stops import MissedStop, MissedStops, missed_stops
from logbook_app.physics.tissue_loading import load_along, saturated_on_air


def _counted(time_s, depth_m, ceiling, every_s=0.1):
    """Minutes and metres by stop, one instant after the other."""
    found = {}
    for index in range(int((time_s[-1] - time_s[0]) / every_s)):
        at_s = time_s[0] + (index + 0.5) * every_s
        depth, due = np.interp(at_s, time_s, depth_m), np.interp(at_s, time_s, ceiling)
        if due > depth + 1e-9:
            stop_m = 3 * math.ceil(due / 3)
            minutes, most_m = found.get(stop_m, (0.0, 0.0))
            found[stop_m] = minutes + every_s / 60, max(most_m, due - depth)
    return found


@pytest.mark.derived
def test_by_hand():
    # Ceiling falls from 6 to 0 m in 120 s, depth 4 to 1 m: above by 2 m at first, level at 4 - 3x = 6 - 6x,
    # x = 2/3. Until x = 1/2, 60 s, the stop due is 6 m; from there to 2/3, 20 s, it is 3 m.
    found = missed_stops([0, 120], [4.0, 1.0], [6.0, 0.0])
    assert [stop.stop_depth_m for stop in found.stops] == [6.0, 3.0]
    assert [stop.minutes for stop in found.stops] == pytest.approx([1.0, 1 / 3])
    assert [stop.most_above_m for stop in found.stops] == pytest.approx([2.0, 0.5])
    assert found.minutes == pytest.approx(4 / 3)
    assert (found.most_above_m, found.most_above_at_s, found.ceiling_left_m) == (2.0, 0.0, 0.0)


@pytest.mark.derived
def test_a_ceiling_of_just_three_metres_is_the_three_metre_stop():
    assert missed_stops([0, 60], [2.0, 2.0], [3.0, 3.0]).stops == (MissedStop(3.0, 1.0, 1.0),)


@pytest.mark.derived
@pytest.mark.parametrize("depth_m", [3.0, 3.1, 30.0])
def test_nothing_is_missed_at_the_ceiling_or_below_it(depth_m):
    assert missed_stops([0, 60], [depth_m, depth_m], [3.0, 3.0]) == MissedStops((), None, 3.0)


@pytest.mark.derived
def test_surfacing_with_a_ceiling_is_told():
    assert missed_stops([0, 60], [9.0, 0.0], [4.5, 4.2]).ceiling_left_m == 4.2


@pytest.mark.derived
def test_odd_recordings():
    assert missed_stops([0], [0.0], [3.0]) == MissedStops((), None, 3.0)
    with pytest.raises(ValueError, match="the same one row"):
        missed_stops([0, 1], [0.0], [3.0])
    with pytest.raises(ValueError, match="the same one row"):
        missed_stops([], [], [])


def millimetres(deepest_m):
    return st.integers(0, deepest_m * 1000).map(lambda depth_mm: depth_mm / 1000)


@pytest.mark.law
@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.floats(5.0, 40.0), millimetres(12), millimetres(11)), min_size=2, max_size=8),
)
def test_against_counting(samples):
    time_s = np.cumsum([step for step, _, _ in samples])
    depth_m, ceiling = np.array([d for _, d, _ in samples]), np.array([c for _, _, c in samples])
    found = {stop.stop_depth_m: stop for stop in missed_stops(time_s, depth_m, ceiling).stops}
    counted = _counted(time_s, depth_m, ceiling)
    # Counting may miss a tenth of a second at each crossing, up to three to a stop and segment, and in that
    # time depth and ceiling part by up to 23 m in 5 s.
    slack_min = 3 * len(samples) * 0.1 / 60
    for stop_m in {*found, *counted}:
        minutes, most_m = counted.get(stop_m, (0.0, 0.0))
        assert (found[stop_m].minutes if stop_m in found else 0.0) == pytest.approx(minutes, abs=slack_min)
        if minutes > 0.0 and stop_m in found:
            assert found[stop_m].most_above_m == pytest.approx(most_m, abs=0.5)


@pytest.mark.law
def test_a_real_dive_that_left_its_stops():
    dive = on_one_gas([0, 2, 27, 30, 34, 36], [0, 40, 40, 12, 2, 0])
    time_s = np.arange(0.0, 36 * 60 + 1, 10.0)
    depth_m = np.interp(time_s / 60, dive.time_min, dive.depth_m)
    n2_bar, he_bar = load_along(
        saturated_on_air(SURFACE_BAR), time_s / 60, SURFACE_BAR + depth_m / 10, 0.79, 0.0
    )
    ceiling = ceiling_m(n2_bar, he_bar, SURFACE_BAR)
    found, counted = missed_stops(time_s, depth_m, ceiling), _counted(time_s, depth_m, ceiling)
    assert [stop.stop_depth_m for stop in found.stops] == sorted(counted, reverse=True)
    assert len(counted) > 1
    for stop in found.stops:
        minutes, most_m = counted[stop.stop_depth_m]
        assert stop.minutes == pytest.approx(minutes, abs=0.01)
        assert stop.most_above_m == pytest.approx(most_m, abs=0.01)
    assert found.most_above_m == pytest.approx(float(np.max(ceiling - depth_m)))
    assert found.ceiling_left_m == ceiling[-1] > 0
