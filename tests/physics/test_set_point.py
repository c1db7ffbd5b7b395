"""Closed circuit: tensions against a numerical integration of what the loop holds at every instant."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plain_simulation import HE, N2, WATER_BAR
from scipy.integrate import solve_ivp

from logbook_app.physics.breathing_gas import AIR, OXYGEN, BreathingGas
from logbook_app.physics.set_point import (
    equivalent_samples,
    load_along_on_loop,
    loop_fractions,
    loop_inert_bar,
)
from logbook_app.physics.tissue_loading import after_constant, load_along, saturated_on_air

SURFACE_BAR = 1.01325
RESTED = saturated_on_air(SURFACE_BAR)
AIR_DILUENT, TRIMIX_DILUENT = (0.79, 0.0), (0.35, 0.50)


def _integrated(time_min, ambient_bar, diluents, ppo2_start_bar, ppo2_end_bar):
    """Every segment through scipy's own stepping; on the open circuit (NaN) the gas's own fractions."""
    n2_min, he_min = (np.array([row[0] for row in rows]) for rows in (N2, HE))
    tension, path = np.concatenate([RESTED.n2_bar, np.zeros(16)]), []
    path.append(tension)
    for j in range(len(time_min) - 1):
        minutes = time_min[j + 1] - time_min[j]
        n2, he = diluents[j]

        def slope(t, p, j=j, minutes=minutes, n2=n2, he=he):
            along = t / minutes
            dry = ambient_bar[j] + along * (ambient_bar[j + 1] - ambient_bar[j]) - WATER_BAR
            oxygen = ppo2_start_bar[j] + along * (ppo2_end_bar[j] - ppo2_start_bar[j])
            if np.isnan(oxygen):
                n2_in, he_in = dry * n2, dry * he
            else:
                n2_in, he_in = (max(0.0, dry - oxygen) * share / (n2 + he) for share in (n2, he))
            rates = np.log(2) / np.concatenate([n2_min, he_min])
            return rates * (np.concatenate([np.full(16, n2_in), np.full(16, he_in)]) - p)

        # Short steps, because the integrator cannot know that its line may have a corner.
        found = solve_ivp(
            slope, (0, minutes), tension, method="DOP853", rtol=1e-11, atol=1e-12, max_step=0.01
        )
        tension = found.y[:, -1]
        path.append(tension)
    return np.array(path)


NAN = float("nan")
DIVES = [
    pytest.param([0, 3, 30, 34, 40], [0, 45, 42, 12, 0], [AIR_DILUENT] * 5, [1.3] * 4, [1.3] * 4, id="held"),
    pytest.param(
        [0, 2, 4, 30, 33, 45, 46],
        [0, 12, 60, 60, 21, 6, 0],
        [TRIMIX_DILUENT] * 7,
        [0.7, 0.7, 1.3, 1.3, 1.3, 1.6],
        [0.7, 0.7, 1.3, 1.3, 1.3, 1.6],
        id="set point raised at depth, pure oxygen near the surface",
    ),
    pytest.param(
        [0, 3, 9, 20, 26],
        [0, 30, 33, 15, 3],
        [AIR_DILUENT] * 5,
        [0.7, 1.31, 1.22, 1.35],
        [1.31, 1.22, 1.35, 1.25],
        id="measured",
    ),
    pytest.param(
        [0, 3, 20, 25, 29, 40],
        [0, 50, 50, 21, 21, 6],
        [TRIMIX_DILUENT, TRIMIX_DILUENT, (0.5, 0.18), (0.5, 0.0), AIR_DILUENT, AIR_DILUENT],
        [1.2, 1.2, NAN, NAN, 1.3],
        [1.2, 1.2, NAN, NAN, 1.3],
        id="off the loop and back on another diluent",
    ),
]


@pytest.mark.derived
@pytest.mark.parametrize(("time_min", "depth_m", "diluents", "start_bar", "end_bar"), DIVES)
def test_tensions_against_integration(time_min, depth_m, diluents, start_bar, end_bar):
    ambient_bar = SURFACE_BAR + np.array(depth_m) * 0.1
    n2, he = np.array(diluents).T
    expected = _integrated(time_min, ambient_bar, diluents, start_bar, end_bar)
    n2_bar, he_bar = load_along_on_loop(RESTED, time_min, ambient_bar, n2, he, start_bar, end_bar)
    # 1e-9 bar is what the integrator holds across a corner, with steps as short as these.
    np.testing.assert_allclose(np.hstack([n2_bar, he_bar]), expected, atol=1e-9, rtol=0)


@pytest.mark.law
@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.floats(0.0, 5.0), st.floats(0.0, 60.0)), min_size=1, max_size=12),
    st.sampled_from([AIR, BreathingGas(0.32), BreathingGas(0.18, 0.45), OXYGEN]),
)
def test_open_circuit_is_the_ordinary_loading(samples, gas):
    time_min = np.cumsum([step for step, _ in samples])
    ambient_bar = SURFACE_BAR + 0.1 * np.array([depth for _, depth in samples])
    nothing = np.full(time_min.size - 1, np.nan)
    found = load_along_on_loop(RESTED, time_min, ambient_bar, gas.nitrogen, gas.helium, nothing, nothing)
    ordinary = load_along(RESTED, time_min, ambient_bar, gas.nitrogen, gas.helium)
    np.testing.assert_allclose(np.array(found), np.array(ordinary), atol=1e-13, rtol=0)


@pytest.mark.law
@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.floats(0.1, 5.0), st.floats(0.0, 60.0)), min_size=2, max_size=8),
    st.floats(0.4, 1.6),
    st.integers(2, 5),
)
def test_more_samples_on_the_same_lines_change_nothing(samples, held_bar, times):
    time_min = np.cumsum([step for step, _ in samples])
    depth_m = np.array([depth for _, depth in samples])
    fine_min = np.interp(
        np.arange(times * (time_min.size - 1) + 1) / times, np.arange(time_min.size), time_min
    )
    fine_m = np.interp(fine_min, time_min, depth_m)
    coarse, fine = (
        load_along_on_loop(
            RESTED, t, SURFACE_BAR + 0.1 * d, *TRIMIX_DILUENT, *[np.full(t.size - 1, held_bar)] * 2
        )
        for t, d in ((time_min, depth_m), (fine_min, fine_m))
    )
    np.testing.assert_allclose(np.array(fine)[:, ::times], np.array(coarse), atol=1e-11, rtol=0)


@pytest.mark.law
@given(st.floats(0.6, 12.0), st.floats(0.1, 2.0), st.floats(0.0, 0.9), st.floats(0.01, 0.9))
def test_the_loop_adds_up_to_the_dry_pressure(ambient_bar, ppo2_bar, n2, he):
    n2, he = n2 / (n2 + he), he / (n2 + he)
    n2_fraction, he_fraction = loop_fractions(ambient_bar, ppo2_bar, 0.8 * n2, 0.8 * he)
    dry_bar = ambient_bar - WATER_BAR
    inert_bar = (n2_fraction + he_fraction) * dry_bar
    assert inert_bar + min(ppo2_bar, dry_bar) == pytest.approx(dry_bar, abs=1e-12)
    assert inert_bar == pytest.approx(float(loop_inert_bar(ambient_bar, ppo2_bar)), abs=1e-12)
    assert n2_fraction * he == pytest.approx(he_fraction * n2, abs=1e-12)


@pytest.mark.derived
def test_a_set_point_over_the_pressure_is_pure_oxygen():
    n2_bar, he_bar = load_along_on_loop(RESTED, [0, 20], [1.2, 1.2], 0.79, 0.0, [1.3], [1.3])
    expected = after_constant(RESTED, 1.2, OXYGEN, 20.0)
    np.testing.assert_allclose(n2_bar[1], expected.n2_bar, rtol=1e-14)
    assert not he_bar.any()
    assert loop_fractions(1.2, 1.3, 0.79, 0.0)[0] == 0.0


@pytest.mark.derived
def test_a_diluent_of_pure_oxygen_leaves_no_inert_gas():
    n2_fraction, he_fraction = loop_fractions(4.0, 1.3, 0.0, 0.0)
    assert (float(n2_fraction), float(he_fraction)) == (0.0, 0.0)


@pytest.mark.derived
def test_the_fractions_hold_for_a_stay_at_depth():
    n2, he = loop_fractions(5.0, 1.3, *TRIMIX_DILUENT)
    n2_bar, he_bar = load_along_on_loop(RESTED, [0, 20], [5.0, 5.0], *TRIMIX_DILUENT, [1.3], [1.3])
    expected = after_constant(RESTED, 5.0, BreathingGas(1 - float(n2) - float(he), float(he)), 20.0)
    np.testing.assert_allclose(n2_bar[1], expected.n2_bar, rtol=1e-13)
    np.testing.assert_allclose(he_bar[1], expected.he_bar, rtol=1e-13)


@pytest.mark.derived
def test_odd_recordings():
    alone = equivalent_samples([4.0], [2.0], 0.79, 0.0, [], [])
    assert alone.row.tolist() == [0]
    assert load_along_on_loop(RESTED, [4.0], [2.0], 0.79, 0.0, [], [])[0].shape == (1, 16)
    with pytest.raises(ValueError, match="do not belong to one recording"):
        equivalent_samples([0.0, 1.0], [2.0, 2.0], 0.79, 0.0, [1.3, 1.3], [1.3, 1.3])
