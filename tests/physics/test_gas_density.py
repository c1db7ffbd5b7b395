"""Gas density against reference equations of state, published molar masses and published guidance."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from printed import rows, table

from logbook_app.physics.breathing_gas import AIR, OXYGEN, BreathingGas
from logbook_app.physics.gas_density import (
    HIGHEST_DENSITY_G_L,
    RECOMMENDED_DENSITY_G_L,
    gas_density_along_g_l,
    gas_density_g_l,
    pressure_at_density_bar,
)

REAL = "reference_equations_gas_density"


@pytest.mark.published
@pytest.mark.parametrize("row", rows(REAL))
def test_computed_table(row):
    gas = BreathingGas(row["oxygen"], row["helium"])
    for pressure_bar, real_g_l in zip(table(REAL)["pressures_bar"], row["g_l"], strict=True):
        error = gas_density_g_l(pressure_bar, gas, row["celsius"]) / real_g_l - 1
        if pressure_bar < 0.1:
            # So thin a gas is ideal to 1e-5: what is left is molar mass and gas constant.
            assert abs(error) < 5e-5
        else:
            stated = 0.01 if gas == OXYGEN else 0.007
            assert 0 < error < stated if gas.helium else -stated < error < 0, f"{pressure_bar} bar"


@pytest.mark.published
@pytest.mark.parametrize("row", rows(REAL))
def test_the_library_itself(row):
    """Notices an edition of the library whose numbers have moved away from the ones kept here."""
    props = pytest.importorskip("CoolProp.CoolProp")
    shares = {"Oxygen": row["oxygen"], "Helium": row["helium"]}
    shares["Nitrogen"] = round(1 - sum(shares.values()), 12)
    fluid = "&".join(f"{name}[{share}]" for name, share in shares.items() if share > 0)
    for pressure_bar, real_g_l in zip(table(REAL)["pressures_bar"], row["g_l"], strict=True):
        found = props.PropsSI("D", "T", 273.15 + row["celsius"], "P", pressure_bar * 1e5, f"HEOS::{fluid}")
        assert found == pytest.approx(real_g_l, rel=1e-5)


@pytest.mark.published
def test_real_air_with_its_argon():
    error = gas_density_g_l(1.01325, AIR) / table(REAL)["air_with_argon_0_c_g_l"] - 1
    assert error == pytest.approx(-0.0045, abs=0.0005)


@pytest.mark.published
@pytest.mark.parametrize("row", rows("iupac_2021_atomic_weights"))
def test_molar_masses(row):
    gas_constant = table("iupac_2021_atomic_weights")["molar_gas_constant_j_mol_k"]
    expected = 101325 * row["molar_mass_g_mol"] / (gas_constant * 273.15) / 1000
    assert gas_density_g_l(1.01325, BreathingGas(row["oxygen"], row["helium"])) == pytest.approx(
        expected, rel=1e-7
    )


@pytest.mark.published
@pytest.mark.parametrize("row", rows("anthony_mitchell_2016_gas_density"))
def test_guidance_is_air_at_its_printed_depth(row):
    limits = {"recommended": RECOMMENDED_DENSITY_G_L, "highest": HIGHEST_DENSITY_G_L}
    assert limits[row["id"]] == row["density_g_l"]
    # Half a metre of the printed depth, and as much again for the surface pressure and the sea's density.
    depth_m = (pressure_at_density_bar(AIR, row["density_g_l"]) - 1.01325) * 10
    assert depth_m == pytest.approx(row["air_depth_m"], abs=1.0)


@pytest.mark.law
@given(st.floats(0.05, 1.0), st.floats(0.0, 0.95), st.floats(0.5, 15.0), st.floats(-2.0, 37.0))
def test_pressure_is_the_inverse(oxygen, helium, pressure_bar, temperature_c):
    gas = BreathingGas(oxygen, helium * (1 - oxygen))
    density = gas_density_g_l(pressure_bar, gas, temperature_c)
    assert pressure_at_density_bar(gas, density, temperature_c) == pytest.approx(pressure_bar, rel=1e-12)
    assert gas_density_g_l(pressure_bar, BreathingGas(oxygen), temperature_c) >= density
    assert gas_density_g_l(pressure_bar, gas, temperature_c + 1) < density


@pytest.mark.law
def test_samples_with_changing_gas():
    pressure_bar = np.array([1.0, 7.0, 3.1, 1.6])
    breathed = [AIR, BreathingGas(0.18, 0.45), BreathingGas(0.5), OXYGEN]
    found = gas_density_along_g_l(pressure_bar, [g.nitrogen for g in breathed], [g.helium for g in breathed])
    expected = [gas_density_g_l(p, gas) for p, gas in zip(pressure_bar, breathed, strict=True)]
    np.testing.assert_allclose(found, expected, rtol=1e-14)
