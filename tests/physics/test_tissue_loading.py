"""Tissue loading: worked cases by hand, and laws that must hold for any dive."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from printed import rows

from logbook_app.physics.breathing_gas import AIR, BreathingGas
from logbook_app.physics.tissue_loading import (
    Tensions,
    after_constant,
    haldane_bar,
    load_along,
    saturated_on_air,
    schreiner_bar,
)

SURFACE_BAR = 1.01325
AT_SURFACE_BAR = (SURFACE_BAR - 0.0627) * 0.79  # 0.75093
AT_30_M_BAR = (4.01325 - 0.0627) * 0.79  # 3.12093


@pytest.mark.published
@pytest.mark.parametrize("row", rows("haldane_1908_uptake"))
def test_uptake_by_half_times(row):
    found = haldane_bar(0.0, 100.0, 8.0, 8.0 * row["half_times"]).item()
    assert found == pytest.approx(row["percent"], abs=1e-12)


@pytest.mark.derived
@pytest.mark.parametrize(("minutes", "expected_bar"), [(4.0, 1.93593), (12.0, 2.82468)])
def test_four_minute_tissue_at_30_m(minutes, expected_bar):
    # 0.75093 + (3.12093 - 0.75093) * (1 - 2 ** (-t / 4))
    assert haldane_bar(AT_SURFACE_BAR, AT_30_M_BAR, 4.0, minutes).item() == pytest.approx(
        expected_bar, abs=1e-5
    )


@pytest.mark.derived
def test_five_minute_tissue_on_the_way_down():
    # 0 to 30 m at 20 m/min; R = 0.79 * 2 bar/min, k = ln 2 / 5:
    # 0.75093 + 1.58 * (1.5 - 1/k) + 1.58/k * exp(-1.5 k) = 0.98112
    assert schreiner_bar(AT_SURFACE_BAR, AT_SURFACE_BAR, AT_30_M_BAR, 5.0, 1.5).item() == pytest.approx(
        0.98112, abs=1e-5
    )


@pytest.mark.derived
def test_level_schreiner_is_haldane():
    level = schreiner_bar(AT_SURFACE_BAR, AT_30_M_BAR, AT_30_M_BAR, 8.0, 10.0).item()
    assert level == pytest.approx(haldane_bar(AT_SURFACE_BAR, AT_30_M_BAR, 8.0, 10.0).item(), abs=1e-15)
    assert level == pytest.approx(2.12447, abs=1e-5)


@pytest.mark.derived
def test_slow_tissue_after_half_a_day_at_the_surface():
    # 0.75093 + (1.2 - 0.75093) * 2 ** (-720 / 635)
    start = Tensions(np.full(16, 1.2), np.zeros(16))
    assert after_constant(start, SURFACE_BAR, AIR, 720.0).n2_bar[15] == pytest.approx(0.95557, abs=1e-5)


@pytest.mark.law
def test_somebody_at_rest_stays_at_rest():
    rested = saturated_on_air(0.9)
    n2_bar, he_bar = load_along(rested, [0.0, 1.0, 5000.0], [0.9, 0.9, 0.9], 0.79, 0.0)
    np.testing.assert_allclose(n2_bar, np.broadcast_to(rested.n2_bar, n2_bar.shape), atol=1e-15)
    assert not he_bar.any()


@pytest.mark.law
def test_one_sample_is_the_start():
    start = Tensions(np.linspace(0.5, 2.0, 16), np.linspace(0.0, 1.0, 16))
    n2_bar, he_bar = load_along(start, [3.0], [2.0], 0.5, 0.3)
    assert n2_bar.shape == he_bar.shape == (1, 16)
    np.testing.assert_array_equal(n2_bar[0], start.n2_bar)
    np.testing.assert_array_equal(he_bar[0], start.he_bar)


@pytest.mark.law
def test_samples_at_one_instant_change_nothing_but_the_gas():
    n2_bar, _ = load_along(
        saturated_on_air(1.0), [0, 2, 2, 2, 9], [1, 3, 3, 3, 3], [0.79, 0, 0, 0.79, 0.79], 0.0
    )
    once, _ = load_along(saturated_on_air(1.0), [0, 2, 9], [1, 3, 3], 0.79, 0.0)
    np.testing.assert_array_equal(n2_bar[1], n2_bar[3])
    np.testing.assert_allclose(n2_bar[[0, 1, 4]], once, atol=1e-15)


@pytest.mark.law
def test_the_gas_of_a_sample_is_breathed_from_that_sample_on():
    # Oxygen from the second sample on, constant depth: two Haldane steps.
    n2_bar, _ = load_along(saturated_on_air(1.0), [0, 5, 8], [2, 2, 2], [0.79, 0.0, 0.5], 0.0)
    first = after_constant(saturated_on_air(1.0), 2.0, AIR, 5.0)
    second = after_constant(first, 2.0, BreathingGas(1.0), 3.0)
    np.testing.assert_allclose(n2_bar[1], first.n2_bar, atol=1e-15)
    np.testing.assert_allclose(n2_bar[2], second.n2_bar, atol=1e-15)


@pytest.mark.law
@pytest.mark.parametrize(
    ("time_min", "ambient_bar", "says"),
    [
        ([0, 2, 1], [1, 1, 1], "Time runs backwards at sample 2"),
        ([0, 1], [1, 1, 1], "same one row of samples"),
        ([], [], "same one row of samples"),
        ([[0, 1]], [[1, 1]], "same one row of samples"),
        ([0, float("nan")], [1, 1], "Time runs backwards at sample 1"),
    ],
)
def test_refuses_what_is_no_recording(time_min, ambient_bar, says):
    with pytest.raises(ValueError, match=says):
        load_along(saturated_on_air(1.0), time_min, ambient_bar, 0.79, 0.0)


@pytest.mark.law
@pytest.mark.parametrize("n2_bar", [np.ones(15), np.full(16, -0.1), np.full(16, np.nan), np.ones((2, 16))])
def test_tensions_are_complete_when_they_exist(n2_bar):
    with pytest.raises(ValueError, match="16 pressures of 0 bar or more in n2_bar"):
        Tensions(n2_bar, np.zeros(16))


@pytest.mark.law
def test_tensions_do_not_change_behind_their_back():
    mine = np.ones(16)
    tensions = Tensions(mine, np.zeros(16))
    mine[0] = 9.0
    assert tensions.n2_bar[0] == 1.0
    with pytest.raises(ValueError, match="read-only"):
        tensions.n2_bar[0] = 9.0


segments = st.lists(
    st.tuples(
        st.floats(0.01, 300), st.floats(0.0, 80.0), st.sampled_from([(0.79, 0.0), (0.5, 0.2), (0.0, 0.0)])
    ),
    min_size=1,
    max_size=8,
)


def _dive(steps):
    time_min = np.concatenate([[0.0], np.cumsum([step[0] for step in steps])])
    depth_m = np.array([0.0, *(step[1] for step in steps)])
    gases = np.array([*(step[2] for step in steps), (0.79, 0.0)])
    return time_min, SURFACE_BAR + depth_m * 0.1, gases[:, 0], gases[:, 1]


@pytest.mark.law
@settings(max_examples=60, deadline=None)
@given(segments, st.integers(2, 40))
def test_splitting_a_segment_changes_nothing(steps, parts):
    time_min, ambient_bar, n2, he = _dive(steps)
    whole = load_along(saturated_on_air(SURFACE_BAR), time_min, ambient_bar, n2, he)
    finer = np.concatenate(
        [np.linspace(a, b, parts, endpoint=False) for a, b in itertools.pairwise(time_min)] + [time_min[-1:]]
    )
    which = np.searchsorted(time_min, finer, side="right") - 1
    split = load_along(
        saturated_on_air(SURFACE_BAR), finer, np.interp(finer, time_min, ambient_bar), n2[which], he[which]
    )
    at = np.searchsorted(finer, time_min)
    for one, other in zip(whole, split, strict=True):
        np.testing.assert_allclose(other[at], one, atol=1e-11)


@pytest.mark.law
@settings(max_examples=60, deadline=None)
@given(segments)
def test_no_tension_overshoots_what_was_breathed(steps):
    time_min, ambient_bar, n2, he = _dive(steps)
    for tension_bar, fraction, rest in zip(
        load_along(saturated_on_air(SURFACE_BAR), time_min, ambient_bar, n2, he),
        (n2, he),
        (AT_SURFACE_BAR, 0.0),
        strict=True,
    ):
        starts, ends = (ambient_bar[:-1] - 0.0627) * fraction[:-1], (ambient_bar[1:] - 0.0627) * fraction[:-1]
        assert np.all(tension_bar <= max(rest, starts.max(), ends.max()) + 1e-12)
        assert np.all(tension_bar >= min(rest, starts.min(), ends.min()) - 1e-12)


@pytest.mark.law
@settings(max_examples=40, deadline=None)
@given(segments, st.floats(0.1, 20.0))
def test_deeper_never_holds_less_nitrogen(steps, deeper_m):
    time_min, ambient_bar, n2, he = _dive(steps)
    shallow, _ = load_along(saturated_on_air(SURFACE_BAR), time_min, ambient_bar, n2, he)
    deep, _ = load_along(saturated_on_air(SURFACE_BAR), time_min, ambient_bar + deeper_m * 0.1, n2, he)
    assert np.all(deep >= shallow - 1e-12)
