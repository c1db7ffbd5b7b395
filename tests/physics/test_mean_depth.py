"""The mean depth, weighted by time."""

import numpy as np
import pytest

from logbook_app.physics.mean_depth import mean_depth_m


@pytest.mark.derived
def test_a_nitrox_dive():
    # 10*120 + 25*60 + 30*720 + 30*600 + 25.5*180 + 13.5*180 + 6*300 + 3*60 = 51 300 m s
    time_s = [0, 120, 180, 900, 1500, 1680, 1860, 2160, 2220]
    depth_m = [0, 20, 30, 30, 30, 21, 6, 6, 0]
    assert mean_depth_m(time_s, depth_m) == pytest.approx(51_300 / 2220, abs=1e-12)
    assert mean_depth_m(time_s, depth_m) == pytest.approx(23.11, abs=0.005)
    assert np.mean(depth_m) == pytest.approx(15.89, abs=0.005), "the plain mean would be far off"


@pytest.mark.law
def test_sampling_and_the_unit_of_time_do_not_matter():
    time = np.array([0.0, 3.0, 20.0, 31.0])
    depth_m = np.array([0.0, 18.0, 11.0, 0.0])
    finer = np.union1d(np.linspace(0.0, 31.0, 500), time)
    expected = mean_depth_m(time, depth_m)
    assert mean_depth_m(finer, np.interp(finer, time, depth_m)) == pytest.approx(expected, abs=1e-12)
    assert mean_depth_m(time * 60, depth_m) == pytest.approx(expected, abs=1e-12)


@pytest.mark.law
def test_one_sample_and_none():
    assert mean_depth_m([5.0], [7.0]) == 7.0
    assert mean_depth_m([5.0, 5.0], [6.0, 8.0]) == 7.0
    with pytest.raises(ValueError, match="same one row of samples"):
        mean_depth_m([], [])
