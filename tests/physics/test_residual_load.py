"""The residual load, and when a diver is clear, against a search in plain Python."""

import numpy as np
import pytest
from plain_simulation import AIR_N2, WATER_BAR, allowed, last_minute_over
from profiles import SURFACE_BAR

from logbook_app.physics.breathing_gas import AIR, BreathingGas
from logbook_app.physics.residual_load import (
    CLEAR_LOAD,
    load_by_compartment,
    minutes_until_load,
)
from logbook_app.physics.surface_interval import tensions_at
from logbook_app.physics.tissue_loading import Tensions, after_constant, saturated_on_air

RESTED = saturated_on_air(SURFACE_BAR)
AFTER = [
    pytest.param(after_constant(RESTED, 2.8, AIR, 45.0), id="air, 18 m"),
    pytest.param(after_constant(RESTED, 5.0, BreathingGas(0.32), 4.0), id="nitrox, short and deep"),
    pytest.param(after_constant(RESTED, 4.0, BreathingGas(0.21, 0.35), 25.0), id="trimix"),
    pytest.param(after_constant(RESTED, 2.0, BreathingGas(0.2, 0.8), 600.0), id="heliox, long"),
]


@pytest.mark.derived
def test_load_by_hand():
    # Compartment 5 at 1.5 bar: (1.5 - 0.75093) / (1.73887 - 0.75093) = 0.75821
    load = load_by_compartment(np.full(16, 1.5), np.zeros(16), SURFACE_BAR, 0.85)
    assert load[4] == pytest.approx(0.75821, abs=2e-5)


@pytest.mark.law
def test_ends_of_the_scale():
    load = load_by_compartment(RESTED.n2_bar, RESTED.he_bar, SURFACE_BAR, 0.85)
    np.testing.assert_allclose(load, 0.0, atol=1e-15)
    series = load_by_compartment(np.ones((5, 16)), np.zeros((5, 16)), SURFACE_BAR, 0.85)
    assert series.shape == (5, 16)
    assert series.argmax(axis=-1).tolist() == [15] * 5


@pytest.mark.derived
@pytest.mark.parametrize("start", AFTER)
def test_clear_when_a_search_says_so(start):
    equilibrium_bar = (SURFACE_BAR - WATER_BAR) * AIR_N2

    def limit(i, n2, he):
        return equilibrium_bar + 0.05 * (allowed(i, n2, he, SURFACE_BAR, 0.85) - equilibrium_bar)

    expected = last_minute_over(
        list(start.n2_bar), list(start.he_bar), SURFACE_BAR, limit, horizon_min=5000.0, step=1.0
    )
    assert minutes_until_load(start, SURFACE_BAR, 0.85) == pytest.approx(expected, abs=1e-7)


@pytest.mark.law
@pytest.mark.parametrize("start", AFTER)
@pytest.mark.parametrize("threshold", [0.01, 0.05, 0.5])
def test_load_at_that_time_is_the_threshold(start, threshold):
    minutes = minutes_until_load(start, SURFACE_BAR, 0.85, threshold)
    n2_bar, he_bar = tensions_at(start, SURFACE_BAR, [minutes, minutes + 60.0])
    load = load_by_compartment(n2_bar, he_bar, SURFACE_BAR, 0.85).max(axis=1)
    if minutes > 0:
        assert load[0] == pytest.approx(threshold, abs=1e-9)
    assert load[1] <= threshold


@pytest.mark.law
def test_a_rested_diver_is_clear():
    assert minutes_until_load(RESTED, SURFACE_BAR, 0.85, CLEAR_LOAD) == 0.0
    assert minutes_until_load(Tensions(RESTED.n2_bar, np.full(16, 1e-9)), SURFACE_BAR, 0.85) == 0.0
