"""Oxygen, or any gas, breathed at the surface after a dive: the solution for constant pressure serves."""

import numpy as np
import pytest
from plain_simulation import HE, N2, WATER_BAR
from scipy.integrate import solve_ivp

from logbook_app.physics.breathing_gas import AIR, OXYGEN, BreathingGas
from logbook_app.physics.surface_interval import tensions_at
from logbook_app.physics.tissue_loading import after_constant, saturated_on_air

AFTER_DIVE = after_constant(saturated_on_air(1.01325), 5.0, BreathingGas(0.2, 0.3), 25.0)


@pytest.mark.derived
@pytest.mark.parametrize("surface_bar", [1.01325, 0.8])
@pytest.mark.parametrize("gas", [OXYGEN, BreathingGas(0.5), AIR], ids=lambda gas: gas.name)
def test_against_integration(gas, surface_bar):
    rates = np.log(2) / np.array([row[0] for row in N2] + [row[0] for row in HE])
    dry_bar = surface_bar - WATER_BAR
    inspired = np.concatenate([np.full(16, dry_bar * gas.nitrogen), np.zeros(16)])
    start = np.concatenate([AFTER_DIVE.n2_bar, AFTER_DIVE.he_bar])
    found = solve_ivp(
        lambda _, p: rates * (inspired - p), (0, 90), start, method="DOP853", rtol=1e-12, atol=1e-13
    )
    later = after_constant(AFTER_DIVE, surface_bar, gas, 90.0)
    np.testing.assert_allclose(np.concatenate([later.n2_bar, later.he_bar]), found.y[:, -1], atol=1e-10)


@pytest.mark.law
def test_oxygen_rids_faster_than_air_and_on_air_it_is_the_surface_interval():
    on_oxygen = after_constant(AFTER_DIVE, 1.01325, OXYGEN, 30.0)
    on_air = after_constant(AFTER_DIVE, 1.01325, AIR, 30.0)
    assert np.all(on_oxygen.n2_bar < on_air.n2_bar)
    np.testing.assert_array_equal(on_oxygen.he_bar, on_air.he_bar)
    n2_bar, _ = tensions_at(AFTER_DIVE, 1.01325, 30.0)
    np.testing.assert_allclose(on_air.n2_bar, n2_bar, rtol=1e-14)
