"""Ascent rates: recorder noise never makes a fast stretch, a real one is always found."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook_app.physics.ascent_rate import fast_stretches, fastest_ascent


def _recorded(corners, every_s, resolution_m=0.0, noise_m=0.0, seed=0):
    """Sample a dive given by (minute, depth) corners, as a recorder of some resolution and noise would."""
    minutes, depths = zip(*corners, strict=True)
    time_s = np.arange(0.0, minutes[-1] * 60.0 + 1e-9, every_s)
    depth_m = np.interp(time_s / 60.0, minutes, depths)
    depth_m += np.random.default_rng(seed).uniform(-noise_m, noise_m, time_s.size)
    if resolution_m:
        depth_m = np.round(depth_m / resolution_m) * resolution_m
    return time_s, np.maximum(depth_m, 0.0)


CALM = [(0, 0), (2, 25), (20, 25), (22, 7), (22.5, 5), (26, 5), (27, 0)]  # 9 m/min at most


@pytest.mark.derived
@pytest.mark.parametrize(
    ("seconds", "rate_m_min", "warned"),
    # 18 m to 9 m against a limit of 9 m/min
    [(60, 9.0, False), (45, 12.0, True)],
)
def test_nine_metres_in_a_minute_and_in_less(seconds, rate_m_min, warned):
    time_s, depth_m = [0, 60, 60 + seconds, 300], [18, 18, 9, 9]
    assert fastest_ascent(time_s, depth_m)[0] == pytest.approx(rate_m_min, abs=0.01)
    assert bool(fast_stretches(time_s, depth_m, limit_m_min=9.0)) == warned


@pytest.mark.law
@pytest.mark.parametrize("every_s", [1, 2, 5, 10, 20, 30])
@pytest.mark.parametrize("resolution_m", [0.1, 0.3])
@pytest.mark.parametrize("seed", range(3))
def test_noise_on_a_calm_dive_makes_no_fast_stretch(every_s, resolution_m, seed):
    time_s, depth_m = _recorded(CALM, every_s, resolution_m, 0.3, seed)
    assert fast_stretches(time_s, depth_m) == []


@pytest.mark.law
@pytest.mark.parametrize("every_s", [1, 2, 5, 10, 20, 30])
@pytest.mark.parametrize("resolution_m", [0.1, 0.3])
def test_an_ascent_at_the_limit_is_not_reported_for_its_rounding(every_s, resolution_m):
    time_s, depth_m = _recorded([(0, 0), (2, 30), (10, 30), (13, 0)], every_s, resolution_m)
    assert fast_stretches(time_s, depth_m) == []


@pytest.mark.law
@pytest.mark.parametrize("every_s", [1, 2, 5, 10, 20, 30])
@pytest.mark.parametrize(("seconds", "rise_m"), [(30, 8), (60, 15), (60, 12), (20, 7)])
def test_a_real_burst_is_found(every_s, seconds, rise_m):
    corners = [(0, 0), (2, 25), (10, 25), (10 + seconds / 60, 25 - rise_m), (15, 25 - rise_m)]
    time_s, depth_m = _recorded(corners, every_s, 0.1)
    found = fast_stretches(time_s, depth_m)
    if every_s <= seconds:
        assert len(found) == 1
        assert found[0].from_m == pytest.approx(25, abs=0.2)
        assert found[0].to_m == pytest.approx(25 - rise_m, abs=0.2)
        assert found[0].began_s >= 600 - every_s
        assert found[0].ended_s <= 600 + seconds + every_s


@pytest.mark.law
def test_two_bursts_are_two_stretches():
    corners = [(0, 0), (2, 30), (10, 30), (10.5, 20), (14, 20), (14.5, 10), (20, 10), (21, 3)]
    found = fast_stretches(*_recorded(corners, 5))
    assert [(round(s.from_m), round(s.to_m)) for s in found] == [(30, 20), (20, 10)]
    assert [s.rate_m_min for s in found] == pytest.approx([20.0, 20.0])
    assert found[0].ended_s <= found[1].began_s


@pytest.mark.law
def test_one_ascent_between_coarse_samples_is_one_stretch():
    found = fast_stretches([0, 120, 900, 1020, 1200], [0, 30, 30, 4, 4])
    assert [(s.began_s, s.ended_s, s.from_m, s.to_m) for s in found] == [(900.0, 1020.0, 30.0, 4.0)]
    assert found[0].rate_m_min == pytest.approx(13.0)


@pytest.mark.law
def test_the_rate_of_a_stretch_is_over_the_limit_it_was_found_with():
    time_s, depth_m = _recorded([(0, 0), (3, 40), (10, 40), (12, 10), (15, 10)], 3, 0.1, 0.2, seed=4)
    for limit in (6.0, 10.0, 14.0):
        found = fast_stretches(time_s, depth_m, limit_m_min=limit)
        assert found
        assert all(stretch.rate_m_min > limit for stretch in found)
        assert max(s.rate_m_min for s in found) == pytest.approx(fastest_ascent(time_s, depth_m)[0])


@pytest.mark.law
@settings(max_examples=60, deadline=None)
@given(st.lists(st.floats(0, 40), min_size=3, max_size=20), st.integers(5, 60))
def test_the_largest_rate_is_the_largest_of_all_windows(depths_m, every_s):
    time_s = np.arange(len(depths_m)) * float(every_s)
    length_s = min(30.0, time_s[-1])
    begins = np.linspace(0.0, time_s[-1] - length_s, 2000)
    rise_m = np.interp(begins, time_s, depths_m) - np.interp(begins + length_s, time_s, depths_m)
    found = fastest_ascent(time_s, depths_m)[0]
    assert found >= max(0.0, rise_m.max() / length_s * 60) - 1e-9
    # The slope of the rise is at most the steepest segment; the samples of it are that close.
    steepest = np.abs(np.diff(depths_m)).max() / every_s
    spacing = (begins[1] - begins[0]) if length_s < time_s[-1] else 0.0
    assert found <= max(0.0, (rise_m.max() + 2 * steepest * spacing) / length_s * 60) + 1e-9


@pytest.mark.law
def test_going_down_and_short_recordings():
    assert fastest_ascent([0, 60], [0, 20])[0] == 0.0
    assert fastest_ascent([0], [12])[0] == 0.0
    assert fastest_ascent([0, 10], [5, 0])[0] == pytest.approx(30.0)
    assert fast_stretches([0, 10], [5, 0]) == []
    with pytest.raises(ValueError, match="same one row of samples"):
        fast_stretches([], [])
