"""The load of every compartment, column by column. No window."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook_app.analysis.load_map import greatest_by_column, runs_of


@pytest.mark.law
@given(st.integers(2, 400), st.integers(1, 60), st.floats(0.0, 0.8), st.floats(0.05, 1.2), st.integers(0, 99))
def test_no_peak_is_lost_in_any_column(
    samples: int, columns: int, start: float, length: float, seed: int
) -> None:
    """Against a plain loop over the same samples, however many fall into a column."""
    numbers = np.random.default_rng(seed)
    time_s = np.cumsum(numbers.uniform(0.5, 20, samples))
    loads = numbers.uniform(-0.2, 1.4, (samples, 16))
    whole_s = time_s[-1] - time_s[0]
    from_s, to_s = time_s[0] + start * whole_s, time_s[0] + (start + length) * whole_s
    found = greatest_by_column(time_s, loads, from_s, to_s, columns)
    edges_s = np.linspace(from_s, to_s, columns + 1)
    for column, (left_s, right_s) in enumerate(pairwise(edges_s)):
        if left_s > time_s[-1]:
            assert np.isnan(found[:, column]).all()
            continue
        ends_s = np.clip((left_s, right_s), time_s[0], time_s[-1])
        at_ends = np.array([np.interp(ends_s, time_s, loads[:, place]) for place in range(16)])
        inside = loads[(time_s >= left_s) & (time_s < right_s)]
        expected = np.concatenate((at_ends.T, inside)).max(axis=0)
        assert found[:, column] == pytest.approx(expected, abs=1e-9)


@given(st.lists(st.booleans(), max_size=40))
def test_runs_are_exactly_what_is_there(there: list[bool]) -> None:
    """Painted back, the runs give what they came from, and no two of them touch."""
    runs = runs_of(np.array(there, dtype=bool))
    painted = [False] * len(there)
    for first, after in runs:
        painted[first:after] = [True] * (after - first)
    assert painted == there
    assert all(after < first for (_, after), (first, _) in pairwise(runs))
