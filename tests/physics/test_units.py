"""Units against the definitions that tie them to the SI."""

import math

import numpy as np
import pytest
from printed import rows

from logbook_app.physics import units
from logbook_app.physics.constants import GRAVITY_M_S2

PAIRS = [
    (units.metres_from_feet, units.feet_from_metres),
    (units.bar_from_psi, units.psi_from_bar),
    (units.bar_from_pascals, units.pascals_from_bar),
    (units.celsius_from_fahrenheit, units.fahrenheit_from_celsius),
    (units.celsius_from_kelvin, units.kelvin_from_celsius),
    (units.litres_from_cubic_feet, units.cubic_feet_from_litres),
    (units.kilograms_from_pounds, units.pounds_from_kilograms),
]


@pytest.mark.published
@pytest.mark.parametrize("row", rows("nist_sp_811_factors"))
def test_printed_factor(row):
    found = getattr(units, row["convert"])(row["given"])
    assert abs(found - row["expected"]) <= row["half_digit"]


@pytest.mark.law
@pytest.mark.parametrize(("there", "back"), PAIRS, ids=lambda pair: getattr(pair, "__name__", ""))
def test_there_and_back(there, back):
    values = np.array([-40.0, 0.0, 0.1, 32.0, 3000.0])
    np.testing.assert_allclose(back(there(values)), values, rtol=1e-14, atol=1e-12)


@pytest.mark.derived
def test_psi_is_a_pound_force_on_a_square_inch():
    assert math.isclose(units.BAR_PER_PSI, 0.45359237 * GRAVITY_M_S2 / 0.0254**2 / 1e5, rel_tol=1e-15)
