"""The safety stop; what counts is common practice, no source."""

import numpy as np
import pytest

from logbook_app.physics.safety_stop import safety_stop, safety_stop_wanted


@pytest.mark.derived
def test_crossings_between_samples():
    # 20 m to 5 m in 60 s crosses 6 m 4 s before the end; 5 m to 0 in 60 s crosses 3 m after 24 s.
    stop = safety_stop([0, 60, 120, 180, 360, 420], [0, 20, 20, 5, 5, 0])
    assert (stop.began_s, stop.ended_s) == (176.0, 384.0)
    assert stop.minutes == pytest.approx((4 + 180 + 24) / 60)


@pytest.mark.law
@pytest.mark.parametrize("every_s", [1.0, 7.0, 10.0])
def test_sampling_does_not_matter(every_s):
    corners_s, corners_m = [0, 120, 1200, 1320, 1500, 1560], [0, 22, 18, 5, 5, 0]
    time_s = np.union1d(np.arange(0.0, 1560.0, every_s), corners_s)
    fine = safety_stop(time_s, np.interp(time_s, corners_s, corners_m))
    assert fine.minutes == pytest.approx(safety_stop(corners_s, corners_m).minutes, abs=1e-9)


@pytest.mark.derived
@pytest.mark.parametrize("depth_m", [3.0, 4.5, 6.0])
def test_both_edges_belong_to_the_stop(depth_m):
    held = safety_stop([0, 60, 61, 241, 242], [0, 12, depth_m, depth_m, 0])
    assert 3.0 <= held.minutes < 3.0 + 2 / 60


@pytest.mark.derived
def test_a_dip_pauses_the_stop():
    # Two minutes at 5 m, two at 8 m, one at 5 m, with steps of no length between.
    time_s = [0, 60, 60, 180, 180, 300, 300, 360]
    assert safety_stop(time_s, [12, 12, 5, 5, 8, 8, 5, 5]).minutes == pytest.approx(3.0)


@pytest.mark.derived
def test_going_deep_again_starts_the_stop_anew():
    time_s = [0, 60, 60, 240, 240, 300, 300, 360]
    assert safety_stop(time_s, [12, 12, 5, 5, 11, 11, 5, 5]).minutes == pytest.approx(1.0)


@pytest.mark.derived
def test_the_way_down_does_not_count():
    assert safety_stop([0, 300, 600, 601], [4, 4, 20, 20]) is None


@pytest.mark.derived
@pytest.mark.parametrize(("deepest_m", "wanted"), [(9.0, False), (10.0, False), (10.1, True)])
def test_only_dives_beyond_ten_metres(deepest_m, wanted):
    depth_m = [0, deepest_m, 5, 5, 0]
    assert safety_stop_wanted(depth_m) == wanted
    assert (safety_stop([0, 60, 120, 300, 330], depth_m) is not None) == wanted
