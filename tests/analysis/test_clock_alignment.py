"""One dive from two recorders is found to be one, and laid right, whatever their clocks and gauges say.

The pairs are cut from a real recording that nobody here made (see seal_recording.py), one of each pair
shifted by a known time, begun later, sampled at other steps with samples missing, made noisy and put
beside zero. What is known of a pair is known because the test did it.
"""

from __future__ import annotations

import numpy as np
import pytest
from seal_recording import OFFSET_M, STEP_S, seal_depth_m

from logbook_app.analysis.clock_alignment import Alignment, Likeness, aligned
from logbook_app.dive.profile import Profile

PAIRS = 100
LONG_ROWS = 480  # 40 min
LEAST_UNDER_WATER = 0.15
UNDER_M = 6.0
WITHIN_S = 1.0
MOST_MISSED = 1

pytestmark = pytest.mark.law


class Pairs:
    """Cuts of the real recording in which the animal dived."""

    def __init__(self, seed: int) -> None:
        self.chance = np.random.default_rng(seed)
        self.depth_m = np.maximum(np.nan_to_num(seal_depth_m(), nan=OFFSET_M) - OFFSET_M, 0.0)
        rows = range(0, len(self.depth_m) - LONG_ROWS, LONG_ROWS // 8)
        self.starts = [row for row in rows if self._dived(row)]

    def some_start(self) -> int:
        return int(self.chance.choice(self.starts))

    def another_start(self, start: int) -> int:
        """Return a cut that shares no row with one."""
        others = [other for other in self.starts if abs(other - start) >= LONG_ROWS]
        return int(self.chance.choice(others))

    def as_recorded(self, start: int) -> Profile:
        """Return a cut on a clock that begins with it, a little noise on its whole metres."""
        depth_m = self.depth_m[start : start + LONG_ROWS]
        return Profile(np.arange(LONG_ROWS) * STEP_S, depth_m + self.chance.normal(0, 0.3, LONG_ROWS))

    def by_another(self, start: int, shift_s: float) -> Profile:
        """Return the same cut by another recorder whose clock is ahead by `shift_s`."""
        clock_s, depth_m = np.arange(LONG_ROWS) * STEP_S, self.depth_m[start : start + LONG_ROWS]
        step_s = self.chance.choice([2.0, 4.0, 5.0, 10.0])
        later_s = self.chance.uniform(0, 0.3 * clock_s[-1])
        at_s = np.arange(later_s, clock_s[-1], step_s)
        at_s = at_s[self.chance.random(len(at_s)) > 0.02]
        seen_m = np.interp(at_s, clock_s, depth_m) + self.chance.normal(0, 0.3, len(at_s))
        return Profile(at_s + shift_s, seen_m + self.chance.uniform(-1.5, 1.5))

    def _dived(self, row: int) -> bool:
        under = self.depth_m[row : row + LONG_ROWS] > UNDER_M
        return bool(under.mean() >= LEAST_UNDER_WATER)


@pytest.fixture(scope="module", params=[1, 2])
def pairs(request: pytest.FixtureRequest) -> Pairs:
    return Pairs(request.param)


def test_the_shift_of_a_clock_is_found_within_a_second(pairs: Pairs) -> None:
    missed, not_known = [], []
    for _ in range(PAIRS):
        start, shift_s = pairs.some_start(), float(pairs.chance.uniform(-30_000, 30_000))
        found = aligned(pairs.as_recorded(start), pairs.by_another(start, shift_s))
        assert found is not None
        missed += [] if abs(found.lag_s + shift_s) <= WITHIN_S else [(start, found.lag_s + shift_s)]
        not_known += [] if found.likeness is Likeness.SAME else [(start, found)]
    assert len(missed) <= MOST_MISSED, missed
    assert len(not_known) <= MOST_MISSED, not_known


def test_two_dives_are_never_called_one(pairs: Pairs) -> None:
    for _ in range(PAIRS):
        start = pairs.some_start()
        other = pairs.by_another(pairs.another_start(start), 0.0)
        found = aligned(pairs.as_recorded(start), other)
        assert found is None or found.likeness is not Likeness.SAME, (start, found)


def down_and_up(began_s: float, step_s: float, deeper_m: float = 0.0) -> Profile:
    """Return 10 min down to 20 m, 5 min up to 10 m, 15 min to the surface."""
    at_s = np.arange(0.0, 1800.1, step_s)
    depth_m = np.interp(at_s, [0, 600, 900, 1800], [0, 20, 10, 0])
    return Profile(at_s + began_s, depth_m + deeper_m)


def test_the_lag_is_what_the_second_clock_lacks() -> None:
    """Worked by hand: 37.5 s and 1.2 m were put in, 37.5 s and 1.2 m come out, both signs."""
    found = aligned(down_and_up(0.0, 1.0), down_and_up(37.5, 1.0, deeper_m=1.2))
    assert found is not None
    assert found.lag_s == pytest.approx(-37.5, abs=0.05)
    assert found.offset_m == pytest.approx(1.2, abs=0.05)
    back = aligned(down_and_up(37.5, 1.0, deeper_m=1.2), down_and_up(0.0, 1.0))
    assert back is not None
    assert back.lag_s == pytest.approx(37.5, abs=0.05)
    assert back.offset_m == pytest.approx(-1.2, abs=0.05)


@pytest.mark.parametrize("step_s", [2.0, 7.0, 30.0])
def test_other_steps_do_not_move_it(step_s: float) -> None:
    """The corners are cut a little by coarse steps, never by as much as a step."""
    found = aligned(down_and_up(0.0, 1.0), down_and_up(-100.0, step_s))
    assert found is not None
    assert found.lag_s == pytest.approx(100.0, abs=1.0)
    assert found.likeness is Likeness.SAME


def test_what_stays_at_one_depth_cannot_be_laid_anywhere() -> None:
    flat = Profile(np.arange(0.0, 600.0, 10.0), np.full(60, 12.0))
    assert aligned(flat, down_and_up(0.0, 10.0)) is None
    assert aligned(down_and_up(0.0, 10.0), flat) is None


def test_one_sample_is_no_shape() -> None:
    assert aligned(Profile([0.0], [10.0]), down_and_up(0.0, 10.0)) is None


def test_the_limits_of_likeness() -> None:
    def likeness(depths: float, speeds: float, gap_m: float = 1.5) -> Likeness:
        return Alignment(0.0, 0.0, gap_m, 1800.0, depths, speeds).likeness

    assert likeness(0.90, 0.85) is Likeness.SAME
    assert likeness(0.90, 0.84) is Likeness.PERHAPS
    assert likeness(0.89, 0.85) is Likeness.PERHAPS
    assert likeness(1.00, 1.00, gap_m=1.6) is Likeness.PERHAPS
    assert likeness(0.80, 0.50, gap_m=9.0) is Likeness.PERHAPS
    assert likeness(0.79, 1.00) is Likeness.OTHER
    assert likeness(1.00, 0.49) is Likeness.OTHER
