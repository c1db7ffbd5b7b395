"""Compressibility against reference equations of state, computed with a general library of fluids."""

import numpy as np
import pytest
from printed import rows, table

from logbook_app.physics.breathing_gas import AIR, BreathingGas
from logbook_app.physics.compressibility import compressibility_factor

NAME = "reference_equations_compressibility"

# The library's air holds argon, ours counts it as nitrogen. Its trimix rests on the same mixing rules.
TOLERANCE = {"trimix": 0.0035}


@pytest.mark.published
@pytest.mark.parametrize("row", rows(NAME))
def test_computed_table(row):
    gas = BreathingGas(row["oxygen"], row["helium"])
    tolerance = TOLERANCE.get(gas.name.split()[0], 0.002)
    for pressure_bar, expected in zip(table(NAME)["pressures_bar"], row["z"], strict=True):
        found = compressibility_factor(gas, pressure_bar, row["celsius"])
        # and half of the last printed digit
        assert found == pytest.approx(expected, abs=tolerance * expected + 5e-5), f"{pressure_bar} bar"


@pytest.mark.published
@pytest.mark.parametrize(
    ("pressure_bar", "celsius", "expected"),
    # Air, from the same library, between the rows of the table.
    [(75, 15, 0.9833), (125, 25, 0.9971), (180, 5, 0.9989), (207, 20, 1.0304), (275, 15, 1.0782)],
)
def test_air_between_the_rows(pressure_bar, celsius, expected):
    assert compressibility_factor(AIR, pressure_bar, celsius) == pytest.approx(expected, rel=0.0025)


@pytest.mark.published
@pytest.mark.parametrize(
    ("fluid", "gas", "tolerance"),
    [
        ("Nitrogen", BreathingGas(1e-9), 1e-4),
        ("Oxygen", BreathingGas(1.0), 0.002),
        ("Air", AIR, 0.0022),
    ],
)
def test_the_library_itself(fluid, gas, tolerance):
    props = pytest.importorskip("CoolProp.CoolProp")
    for celsius in (0.0, 10.0, 25.0, 45.0):
        for pressure_bar in (1.0, 40.0, 120.0, 200.0, 232.0, 300.0):
            expected = props.PropsSI("Z", "T", celsius + 273.15, "P", pressure_bar * 1e5, fluid)
            found = compressibility_factor(gas, pressure_bar, celsius)
            assert found == pytest.approx(expected, rel=tolerance), f"{pressure_bar} bar, {celsius} C"


@pytest.mark.derived
def test_a_cylinder_cooled_from_35_to_8_degrees():
    # Closed, so p / (Z T) stays: 220 bar on the gauge at 35 C become 192.6 bar with the library's air.
    def amount(gauge_bar, celsius):
        pressure_bar = gauge_bar + 1.01325
        return pressure_bar / compressibility_factor(AIR, pressure_bar, celsius) / (celsius + 273.15)

    gauges = np.linspace(180.0, 210.0, 3001)
    amounts = np.array([amount(gauge, 8.0) for gauge in gauges])
    assert gauges[np.searchsorted(amounts, amount(220.0, 35.0))] == pytest.approx(192.6, abs=0.5)


@pytest.mark.law
@pytest.mark.parametrize("gas", [AIR, BreathingGas(1.0), BreathingGas(0.18, 0.45), BreathingGas(0.2, 0.8)])
def test_a_thin_gas_is_ideal_and_a_dense_one_smooth(gas):
    assert compressibility_factor(gas, 1e-6) == pytest.approx(1.0, abs=1e-8)
    pressures_bar = np.linspace(1.0, 450.0, 200)
    density = pressures_bar / np.array([compressibility_factor(gas, p) for p in pressures_bar])
    assert np.all(np.diff(density) > 0), "more pressure, more gas"
    assert np.all(np.abs(np.diff(density, 2)) < 0.05), "no jumps"


@pytest.mark.law
@pytest.mark.parametrize(
    ("pressure_bar", "celsius"), [(0.0, 20.0), (-5.0, 20.0), (451.0, 20.0), (200.0, 81.0), (200.0, -41.0)]
)
def test_refuses_what_no_cylinder_holds(pressure_bar, celsius):
    with pytest.raises(ValueError, match="check the number and its unit"):
        compressibility_factor(AIR, pressure_bar, celsius)
