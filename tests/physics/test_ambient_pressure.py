"""Depth and pressure: worked cases and laws."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook_app.physics import ambient_pressure as ambient
from logbook_app.physics.constants import DENSITY_EN13319_KG_M3
from logbook_app.physics.units import metres_from_feet

# p = p_surface + rho * 9.80665 * d, by hand.
WORKED = [
    # 101325 + 300000 Pa
    pytest.param(30.0, 1.01325, DENSITY_EN13319_KG_M3, 4.01325, id="30 m on a dial"),
    # 85400 + 1000 * 9.80665 * 20
    pytest.param(20.0, 0.854, 1000.0, 2.81533, id="20 m in a mountain lake"),
    # 101300 + 1028 * 9.80665 * 30
    pytest.param(30.0, 1.013, 1028.0, 4.037371, id="30 m in salt water"),
    # 80000 + 998.2 * 9.80665 * 12
    pytest.param(12.0, 0.8, 998.2, 1.974680, id="12 m in a high lake"),
]


@pytest.mark.derived
@pytest.mark.parametrize(("depth_m", "surface_bar", "density", "expected_bar"), WORKED)
def test_worked_pressure(depth_m, surface_bar, density, expected_bar):
    assert ambient.ambient_bar(depth_m, surface_bar, density) == pytest.approx(expected_bar, abs=1e-6)


@pytest.mark.derived
@pytest.mark.parametrize(
    ("density", "true_m", "shown_m"),
    # The dial divides the pressure by 10 kPa: 1000 * 9.80665 * 20 / 1e4 and so on.
    [(1000.0, 20.0, 19.6133), (1028.0, 30.0, 30.2437), (1019.716, 47.0, 47.0), (998.2, 12.0, 11.7468)],
)
def test_what_a_dial_shows_at_a_true_depth(density, true_m, shown_m):
    pressure_bar = ambient.ambient_bar(true_m, 1.0, density)
    assert ambient.depth_m(pressure_bar, 1.0) == pytest.approx(shown_m, abs=1e-3)


@pytest.mark.law
@given(
    st.floats(0, 300),
    st.floats(0.4, 1.1),
    st.sampled_from([DENSITY_EN13319_KG_M3, 1000.0, 1025.0]),
)
def test_depth_and_pressure_are_inverse(depth_m, surface_bar, density):
    pressure_bar = ambient.ambient_bar(depth_m, surface_bar, density)
    assert ambient.depth_m(pressure_bar, surface_bar, density) == pytest.approx(depth_m, abs=1e-11)


@pytest.mark.law
@given(st.floats(-500, 11_000))
def test_elevation_and_pressure_are_inverse(elevation_m):
    assert ambient.elevation_m(ambient.surface_pressure_bar(elevation_m)) == pytest.approx(
        elevation_m, abs=1e-8
    )


@pytest.mark.law
def test_arrays_come_back_as_arrays():
    assert ambient.ambient_bar(np.array([0.0, 10.0]), 1.0).tolist() == pytest.approx([1.0, 2.0])


@pytest.mark.law
@pytest.mark.parametrize("elevation_m", [-501.0, 11_001.0, float("nan")])
def test_refuses_an_elevation_out_of_range(elevation_m):
    with pytest.raises(ValueError, match="check the number and its unit"):
        ambient.surface_pressure_bar(elevation_m)


@pytest.mark.law
@pytest.mark.parametrize("pressure_bar", [0.2, 1.2, 1013.25, float("nan")])
def test_refuses_an_air_pressure_out_of_range(pressure_bar):
    with pytest.raises(ValueError, match="check the number and its unit"):
        ambient.elevation_m(pressure_bar)


@pytest.mark.derived
def test_sea_water_feet_are_pressures_of_two_kinds():
    # 1 fsw is 0.030643 bar in the U.S. Navy's definition; 33 fsw to the atmosphere is a rule of thumb.
    assert pytest.approx(3.0643, abs=1e-4) == 100 * 0.030643
    assert ambient.depth_m(1.01325 + 100 * 0.030643, 1.01325) == pytest.approx(30.643, abs=1e-3)
    assert ambient.depth_m(1.01325 + 60 / 33.08 * 1.01325, 1.01325) == pytest.approx(18.378, abs=1e-3)


@pytest.mark.derived
def test_cabin_altitude_of_8000_feet():
    # 101325 * (1 - 0.0065 * 2438.4 / 288.15) ** 5.255876 = 75262 Pa = 0.7428 of the standard atmosphere
    cabin_bar = ambient.surface_pressure_bar(metres_from_feet(8000.0))
    assert cabin_bar == pytest.approx(0.752624, abs=1e-6)
    assert cabin_bar / 1.01325 == pytest.approx(0.7428, abs=5e-5)
