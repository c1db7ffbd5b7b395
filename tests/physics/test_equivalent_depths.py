"""Operating depths, best mixes and equivalent depths: printed examples and worked cases.

The short forms of the trade take the surface as 1 bar and 10 m to the bar, or 33 ft to the atmosphere.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from printed import rows

from logbook_app.physics.ambient_pressure import ambient_bar
from logbook_app.physics.breathing_gas import AIR, BreathingGas
from logbook_app.physics.equivalent_depths import (
    best_oxygen_fraction,
    equivalent_air_depth_m,
    equivalent_narcotic_depth_m,
    maximum_operating_depth_m,
)


@pytest.mark.derived
@pytest.mark.parametrize(
    ("oxygen", "limit_bar", "depth_m"),
    # (limit / fO2 - 1) * 10
    [
        (0.32, 1.4, 33.75),
        (0.36, 1.4, 28.89),
        (0.50, 1.6, 22.00),
        (1.00, 1.6, 6.00),
        (0.28, 1.4, 40.00),
        (0.40, 1.4, 25.00),
        (0.36, 1.6, 34.44),
        (0.21, 1.4, 56.67),
        (0.21, 1.6, 66.19),
    ],
)
def test_operating_depth_short_form(oxygen, limit_bar, depth_m):
    assert maximum_operating_depth_m(BreathingGas(oxygen), limit_bar, 1.0) == pytest.approx(
        depth_m, abs=0.006
    )


@pytest.mark.derived
def test_operating_depth_in_full():
    # (1.4 / 0.32 - 1.01325) / 0.1; (1.4 / 0.32 - 0.854) / 0.0980665; 33 ft short form: 3.375 * 33
    nitrox = BreathingGas(0.32)
    assert maximum_operating_depth_m(nitrox, 1.4, 1.01325) == pytest.approx(33.62, abs=0.006)
    assert maximum_operating_depth_m(nitrox, 1.4, 0.854, 1000.0) == pytest.approx(35.90, abs=0.01)
    assert maximum_operating_depth_m(nitrox, 1.4, 1.0) * 3.3 == pytest.approx(111.38, abs=0.006)


@pytest.mark.law
def test_a_gas_too_rich_for_the_surface():
    assert maximum_operating_depth_m(BreathingGas(1.0), 0.9, 1.0) == 0.0


@pytest.mark.derived
@pytest.mark.parametrize(("depth_m", "share"), [(30.0, 0.35), (27.0, 0.37), (0.0, 1.0)])
def test_best_mix_short_form(depth_m, share):
    # 1.4 / 4.0 exactly; 1.4 / 3.7 = 0.3784, rounded down; never more than the whole
    assert best_oxygen_fraction(depth_m, 1.4, 1.0) == share


@pytest.mark.published
@pytest.mark.parametrize("row", rows("nitrox_training_texts"))
def test_printed_equivalent_air_depth(row):
    found_m = equivalent_air_depth_m(BreathingGas(row["oxygen"]), row["depth_m"], 1.0)
    # The half digit, and a hair for a value that is rounded down in print.
    assert abs(found_m - row["ead_m"]) <= row["half_digit_m"] + 0.005


@pytest.mark.derived
@pytest.mark.parametrize(
    ("oxygen", "depth_m", "ead_m"),
    # (depth + 10) * fN2 / 0.79 - 10
    [
        (0.36, 25, 18.35),
        (0.32, 33, 27.01),
        (0.40, 18, 11.27),
        (0.50, 21, 9.62),
        (0.34, 27, 20.91),
        (0.28, 40, 35.57),
    ],
)
def test_equivalent_air_depth_in_metres(oxygen, depth_m, ead_m):
    assert equivalent_air_depth_m(BreathingGas(oxygen), depth_m, 1.0) == pytest.approx(ead_m, abs=0.006)


@pytest.mark.derived
@pytest.mark.parametrize(
    ("oxygen", "depth_ft", "ead_ft"),
    # (depth + 33) * fN2 / 0.79 - 33, a foot of sea water being a 33rd of the surface
    [
        (0.32, 60, 47.05),
        (0.32, 63, 49.63),
        (0.32, 90, 72.87),
        (0.32, 110, 90.09),
        (0.32, 130, 107.30),
        (0.36, 70, 50.44),
        (0.36, 90, 66.65),
        (0.36, 110, 82.85),
    ],
)
def test_equivalent_air_depth_in_feet(oxygen, depth_ft, ead_ft):
    found_m = equivalent_air_depth_m(BreathingGas(oxygen), depth_ft / 3.3, 1.0)
    assert found_m * 3.3 == pytest.approx(ead_ft, abs=0.01)


@pytest.mark.law
def test_shallower_than_the_surface_is_the_surface():
    assert equivalent_air_depth_m(BreathingGas(0.8), 5.0, 1.0) == 0.0
    assert equivalent_narcotic_depth_m(BreathingGas(0.1, 0.8), 5.0, 1.0) == 0.0


@pytest.mark.law
@given(st.floats(0, 100), st.floats(0.6, 1.05))
def test_air_is_as_deep_as_it_is(depth_m, surface_bar):
    assert equivalent_air_depth_m(AIR, depth_m, surface_bar) == pytest.approx(depth_m, abs=1e-9)
    assert equivalent_narcotic_depth_m(AIR, depth_m, surface_bar) == pytest.approx(depth_m, abs=1e-9)


@pytest.mark.law
@given(st.floats(0.1, 1.0), st.floats(0.5, 1.6), st.floats(0.6, 1.05))
def test_the_limit_is_met_at_the_operating_depth(oxygen, limit_bar, surface_bar):
    depth_m = maximum_operating_depth_m(BreathingGas(oxygen), limit_bar, surface_bar)
    if depth_m > 0.0:
        assert ambient_bar(depth_m, surface_bar) * oxygen == pytest.approx(limit_bar, rel=1e-12)


@pytest.mark.derived
def test_narcotic_depth_of_trimix():
    # (60 + 10) * (1 - 0.45) - 10
    assert equivalent_narcotic_depth_m(BreathingGas(0.18, 0.45), 60.0, 1.0) == pytest.approx(28.5, abs=1e-9)
