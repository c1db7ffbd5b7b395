"""Gas in a cylinder and the minute volume: worked cases of the trade and computed reference values."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from printed import rows

from logbook_app.physics.breathing_gas import AIR, BreathingGas
from logbook_app.physics.minute_volume import free_gas_l, ideal_free_gas_l, minute_volume_l_min
from logbook_app.physics.units import bar_from_psi, cubic_feet_from_litres, litres_from_cubic_feet


@pytest.mark.derived
@pytest.mark.parametrize(
    ("water_l", "from_bar", "to_bar", "minutes", "mean_bar", "expected"),
    # Short form of the trade: water volume * pressure drop / (minutes * mean ambient pressure)
    [
        pytest.param(12.0, 200, 80, 45, 1.0 + 1.2, 14.55, id="12 m mean, surface 1 bar"),
        pytest.param(11.1, 205, 62, 38, 1.01325 + 1.5, 16.62, id="15 m mean"),
        pytest.param(15.0, 220, 95, 50, 0.9 + 9.5 * 0.0980665, 20.47, id="9.5 m mean in a mountain lake"),
        pytest.param(10.0, 195, 60, 41, 1.0 + 1.62, 12.57, id="16.2 m mean"),
        pytest.param(12.0, 210, 95, 28, 1.01325 + 2.791, 12.96, id="bottom leg on nitrox 32"),
        pytest.param(7.0, 200, 170, 9, 1.01325 + 0.817, 12.75, id="top leg on nitrox 50"),
        pytest.param(15.0, 112, 60, 25, 1.540, 20.26, id="no samples, stated mean depth"),
    ],
)
def test_short_form(water_l, from_bar, to_bar, minutes, mean_bar, expected):
    used_l = ideal_free_gas_l(water_l, from_bar) - ideal_free_gas_l(water_l, to_bar)
    assert minute_volume_l_min(used_l, minutes, mean_bar) == pytest.approx(expected, abs=0.011)


@pytest.mark.derived
@pytest.mark.parametrize(
    ("cubic_feet", "used_psi", "minutes", "depth_ft", "expected"),
    # capacity * used / rated 3000 psi / minutes / ((depth + 33) / 33)
    [(77.4, 2400, 40, 45, 0.655), (80.0, 2000, 50, 20, 0.664)],
)
def test_cubic_feet(cubic_feet, used_psi, minutes, depth_ft, expected):
    used_l = litres_from_cubic_feet(cubic_feet) * used_psi / 3000
    found = minute_volume_l_min(used_l, minutes, 1.01325 * (depth_ft + 33) / 33)
    assert cubic_feet_from_litres(found) == pytest.approx(expected, rel=1e-3)


@pytest.mark.published
@pytest.mark.parametrize("row", rows("reference_equations_cylinders"))
def test_gas_let_out_of_a_cylinder(row):
    gas = BreathingGas(row["oxygen"])
    real_l = free_gas_l(row["water_l"], row["from_bar"], gas) - free_gas_l(row["water_l"], row["to_bar"], gas)
    ideal_l = ideal_free_gas_l(row["water_l"], row["from_bar"]) - ideal_free_gas_l(
        row["water_l"], row["to_bar"]
    )
    assert real_l == pytest.approx(row["real_l"], rel=0.005)
    assert ideal_l == pytest.approx(row["ideal_l"], abs=0.06)


@pytest.mark.published
def test_the_cylinder_called_80():
    # 11.1 L at 3000 psi: the label is the ideal figure, 80 ft3 by V p / p0; the real content is 77.4 ft3
    # (recalled from memory), and 2208 L = 77.9 ft3 at 20 C by the reference equation of air.
    gauge_bar = bar_from_psi(3000.0)
    assert ideal_free_gas_l(11.1, gauge_bar) == pytest.approx(2277, abs=0.5)
    assert free_gas_l(11.1, gauge_bar, AIR) == pytest.approx(2208, rel=0.003)
    let_out_l = free_gas_l(11.1, gauge_bar, AIR) - 11.1
    assert cubic_feet_from_litres(let_out_l) == pytest.approx(77.4, rel=0.004)


@pytest.mark.law
@given(
    st.floats(1, 30), st.floats(0, 300), st.sampled_from([AIR, BreathingGas(0.32), BreathingGas(0.18, 0.45)])
)
def test_an_empty_cylinder_holds_its_own_volume(water_l, gauge_bar, gas):
    assert free_gas_l(water_l, 0.0, gas) == pytest.approx(water_l, rel=1e-12)
    assert ideal_free_gas_l(water_l, 0.0) == pytest.approx(water_l, rel=1e-12)
    assert free_gas_l(water_l, gauge_bar, gas) <= free_gas_l(water_l, gauge_bar + 1.0, gas)


@pytest.mark.law
@pytest.mark.parametrize(
    ("used_l", "minutes", "mean_bar", "says"),
    [
        (-10.0, 30.0, 2.0, "end pressure has to be below"),
        (0.0, 30.0, 2.0, "end pressure has to be below"),
        (500.0, 0.0, 2.0, "a time above 0"),
        (500.0, -3.0, 2.0, "a time above 0"),
        (500.0, 30.0, 0.0, "mean pressure"),
        (float("nan"), 30.0, 2.0, "end pressure has to be below"),
    ],
)
def test_no_rate_without_a_reason(used_l, minutes, mean_bar, says):
    with pytest.raises(ValueError, match=says):
        minute_volume_l_min(used_l, minutes, mean_bar)
