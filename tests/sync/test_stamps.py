"""Stamps: later than what was seen, whatever the clock says, and never far into the future for long."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook_app.sync.stamps import PATIENCE_MS, STAMP, StampClock, settled, stamp_ms

pytestmark = pytest.mark.law

# From before 1970 to the year 10000, which no phone shows but a number may.
times_ms = st.integers(-(10**13), 3 * 10**14)
clocks = st.builds(StampClock, st.integers(0, 10**13), st.integers(0, 0xFFFF))
NOW_MS = 1_950_000_000_000


@given(clocks, st.lists(times_ms, min_size=2, max_size=20))
def test_each_stamp_is_later_than_the_one_before(clock, readings):
    stamps = []
    for now_ms in readings:
        clock = clock.ticked(now_ms)
        stamps.append(clock.stamp)
    assert stamps == sorted(set(stamps))
    assert all(STAMP.fullmatch(stamp) for stamp in stamps)


@given(clocks, clocks)
def test_stamps_sort_as_their_clocks_do(one, other):
    assert (one.stamp < other.stamp) == (one < other)


@given(clocks, clocks, times_ms)
def test_an_edit_after_reading_is_stamped_after_what_was_read(clock, read, now_ms):
    near = stamp_ms(read.stamp) <= now_ms + PATIENCE_MS
    seen = clock.observing(read.stamp, now_ms)
    assert seen >= clock
    assert not near or seen.ticked(now_ms).stamp > read.stamp
    assert near or seen == clock


def test_a_full_count_goes_on_in_the_next_millisecond():
    assert StampClock(5, 0xFFFF).ticked(5) == StampClock(6)


def test_an_honest_stamp_is_left_alone():
    stamp = StampClock(NOW_MS + PATIENCE_MS).stamp
    assert settled(stamp, StampClock(), NOW_MS)[0] == stamp


def test_stamps_from_the_future_are_given_again_in_the_order_of_arrival():
    far = StampClock(NOW_MS + 10**12)
    first, clock = settled(far.ticked(0).stamp, StampClock(), NOW_MS)
    second, _ = settled(far.stamp, clock, NOW_MS)
    assert stamp_ms(first) == NOW_MS
    assert first < second


def test_a_device_that_hears_the_time_comes_back_to_it():
    assert StampClock(NOW_MS + 10**12, 7).brought_back(NOW_MS) == StampClock(NOW_MS)
    assert StampClock(NOW_MS - 1, 7).brought_back(NOW_MS) == StampClock(NOW_MS - 1, 7)
