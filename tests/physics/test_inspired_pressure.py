"""The inert gas in the lung."""

import numpy as np
import pytest

from logbook_app.physics.constants import WATER_VAPOUR_37C_BAR
from logbook_app.physics.inspired_pressure import inspired_inert_bar


@pytest.mark.derived
def test_air_at_the_surface():
    # (1.01325 - 0.0627) * 0.79
    assert inspired_inert_bar(1.01325, 0.79) == pytest.approx(0.7509345, abs=1e-9)


@pytest.mark.derived
@pytest.mark.parametrize(("quotient", "expected_bar"), [(1.0, 0.0627), (0.9, 0.05677), (0.8, 0.04935)])
def test_vapour_term_for_other_respiratory_quotients(quotient, expected_bar):
    # The alveolar equation takes p_H2O - p_CO2 * (1 - RQ) / RQ with p_CO2 = 0.0534 bar; ours is RQ = 1.
    assert WATER_VAPOUR_37C_BAR - 0.0534 * (1 - quotient) / quotient == pytest.approx(expected_bar, abs=5e-6)


@pytest.mark.published
def test_vapour_is_the_saturation_pressure_of_water_at_body_temperature():
    # 47 mmHg in textbooks of physiology (recalled from memory); 1 mmHg = 1.33322 mbar, to half a mmHg.
    assert pytest.approx(47 * 1.33322e-3, abs=0.5 * 1.33322e-3) == WATER_VAPOUR_37C_BAR


@pytest.mark.law
def test_arrays():
    np.testing.assert_allclose(
        inspired_inert_bar(np.array([1.0627, 2.0627]), np.array([0.5, 0.25])), [0.5, 0.5], atol=1e-15
    )
