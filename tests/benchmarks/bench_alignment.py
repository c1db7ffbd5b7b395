"""How fast two recordings of one dive are laid on each other.

    pytest tests/benchmarks/bench_alignment.py -o python_files='bench_*.py' -s -q

The baseline is one bare cross-correlation of the same two lines by scipy, without the rest: bringing both to
one step, refining below a sample, telling one dive from another.
"""

from __future__ import annotations

import numpy as np
from scipy.signal import correlate
from side_by_side import median_ratio, report, say

from logbook_app.analysis.clock_alignment import Likeness, aligned
from logbook_app.dive.profile import Profile

SAMPLES = 3_600
SHIFT_S = 137.0
STEP_S = 1.0
MOST_MS = 20.0
MOST_TIMES_BARE = 10.0


def _two() -> tuple[Profile, Profile]:
    """Return an invented dive of an hour at a sample a second, twice: the second later and with noise."""
    chance = np.random.default_rng(8)
    time_s = np.arange(SAMPLES) * STEP_S
    walk_m = np.cumsum(chance.normal(0, 0.05, SAMPLES))
    shape_m = np.interp(time_s, [0, 120, 900, 2400, 3300, 3599], [0, 24, 18, 12, 5, 0])
    depth_m = np.maximum(shape_m + walk_m - walk_m.mean(), 0.0)
    other_m = np.maximum(
        np.interp(time_s, time_s + SHIFT_S, depth_m, left=0.0) + chance.normal(0, 0.1, SAMPLES), 0
    )
    return Profile(time_s, depth_m), Profile(time_s, other_m)


def test_aligning_two_dives() -> None:
    one, other = _two()
    found = aligned(one, other)
    assert found is not None
    assert found.likeness is Likeness.SAME
    bare = [profile.depth_m - profile.depth_m.mean() for profile in (one, other)]
    ratio, seconds = median_ratio(
        lambda: aligned(one, other), lambda: correlate(*bare, mode="full", method="fft"), rounds=51
    )
    say(f"two dives of {SAMPLES:,} samples are aligned in {seconds * 1000:.1f} ms (at most {MOST_MS:g})")
    report("aligning, beside one bare cross-correlation", ratio, MOST_TIMES_BARE)
    assert seconds * 1000 <= MOST_MS
