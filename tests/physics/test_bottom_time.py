"""Bottom time as a recording is read for a table: never too little, and no more than need be."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from logbook_app.physics.bottom_time import bottom_time_min

RATE_FSW_MIN = 30.0


def bottom(*points):
    """Return the bottom time of (minutes, fsw)."""
    return bottom_time_min([60.0 * minutes for minutes, _ in points], [depth for _, depth in points])


@pytest.mark.derived
def test_the_tables_own_dive_gives_back_its_bottom_time():
    # 30 minutes at 90 fsw, then 30 fsw/min: 3 minutes up.
    assert bottom((0, 0), (1, 90), (30, 90), (33, 0)) == 30


@pytest.mark.derived
@pytest.mark.parametrize(("stop_min", "expected_min"), [(3, 30), (5, 30), (8, 33)])
def test_a_stop_of_up_to_5_minutes_is_no_bottom_time(stop_min, expected_min):
    # From 90 to 15 fsw in 2.5 min, the stop, 15 fsw in 0.5 min.
    surfaced = 33 + stop_min
    assert bottom((0, 0), (1, 90), (30, 90), (32.5, 15), (32.5 + stop_min, 15), (surfaced, 0)) == expected_min


@pytest.mark.derived
def test_a_delay_below_the_stop_is_bottom_time():
    # The ascent of 70 fsw to 20 fsw takes 7 min in place of 2 min 20 s: 4 min 40 s more, rounded up.
    assert bottom((0, 0), (1, 90), (30, 90), (37, 20), (40, 18), (41, 0)) == 35


@pytest.mark.derived
def test_a_second_level_is_bottom_time():
    # At 40 fsw until 50 min; the table dive would have left 100 fsw two minutes before.
    assert bottom((0, 0), (2, 100), (10, 100), (13, 40), (50, 40), (51 + 1 / 3, 0)) == 48


@pytest.mark.derived
def test_a_shallow_dive_has_no_stop_left_out():
    assert bottom((0, 0), (1, 15), (40, 15), (40.5, 0)) == 40


@pytest.mark.derived
def test_a_square_without_ascent_counts_whole():
    assert bottom((0, 60), (25.2, 60)) == 26


@pytest.mark.derived
def test_two_points_of_an_ascent_are_read_along_the_line_between_them():
    # 60 fsw to the surface in 12 min: through 20 fsw after 8 min, the table dive after 1 min 20 s.
    assert bottom((0, 0), (1, 60), (20, 60), (32, 0)) == 27


profiles = st.lists(st.tuples(st.floats(0.1, 20.0), st.floats(0.0, 180.0)), min_size=1, max_size=12)


@pytest.mark.law
@given(profiles, st.floats(0.0, 180.0))
def test_the_table_dive_is_nowhere_shallower_than_the_recording(steps, first):
    minutes = np.concatenate([[0.0], np.cumsum([step for step, _ in steps]), [sum(s for s, _ in steps) + 1]])
    depth = np.array([first, *(depth for _, depth in steps), 0.0])
    assume(depth.max() > 1.0)
    leaves = bottom_time_min(minutes * 60.0, depth)
    fine = np.union1d(minutes, np.linspace(0.0, minutes[-1], 2000))
    recorded, deepest = np.interp(fine, minutes, depth), depth.max()
    going_up = deepest - RATE_FSW_MIN * np.maximum(fine - leaves, 0.0)
    after_stop = deepest - RATE_FSW_MIN * np.maximum(fine - leaves - 5.0, 0.0)
    table_dive = np.maximum(going_up, np.minimum(after_stop, 20.0)) if deepest > 20.0 else going_up
    assert (table_dive >= recorded - 1e-6).all()


@pytest.mark.law
@given(profiles)
def test_bottom_time_is_no_longer_than_the_dive(steps):
    minutes = np.concatenate([[0.0], np.cumsum([step for step, _ in steps])])
    depth = np.array([0.0, *(depth for _, depth in steps)])
    assert 1 <= bottom_time_min(minutes * 60.0, depth) <= np.ceil(minutes[-1]) + 1
