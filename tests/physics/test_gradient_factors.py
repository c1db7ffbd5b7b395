"""Gradient factors and limits: worked cases by hand, and what may be chosen."""

import numpy as np
import pytest

from logbook_app.physics.gradient_factors import (
    GradientFactors,
    combined_a_b,
    limit_bar,
    surfacing_limit_bar,
)

NO_HELIUM = np.zeros(16)


@pytest.mark.derived
@pytest.mark.parametrize(("factor", "expected_bar"), [(1.0, 1.86692), (0.85, 1.73887)])
def test_surfacing_limit_of_compartment_5(factor, expected_bar):
    # 1.01325 + g * (0.62 + 1.01325 / 0.8126 - 1.01325)
    assert surfacing_limit_bar(np.ones(16), NO_HELIUM, 1.01325, factor)[4] == pytest.approx(
        expected_bar, abs=1e-5
    )


@pytest.mark.derived
def test_nitrogen_and_helium_half_and_half():
    # Compartment 1b: (1.1696 + 1.6189) / 2 and (0.5578 + 0.4770) / 2
    a_bar, b = combined_a_b(np.ones(16), np.ones(16))
    assert a_bar[0] == pytest.approx(1.39425, abs=1e-12)
    assert b[0] == pytest.approx(0.5174, abs=1e-12)


@pytest.mark.law
def test_limits_of_a_factor():
    tension = np.full(16, 1.5)
    np.testing.assert_array_equal(limit_bar(tension, NO_HELIUM, 2.0, 0.0), np.full(16, 2.0))
    a_bar, b = combined_a_b(tension, NO_HELIUM)
    np.testing.assert_allclose(limit_bar(tension, NO_HELIUM, 2.0, 1.0), a_bar + 2.0 / b, atol=1e-14)


@pytest.mark.law
def test_a_trace_of_helium_hardly_moves_the_limit():
    plain = limit_bar(np.ones(16), NO_HELIUM, 1.0, 0.8)
    np.testing.assert_allclose(limit_bar(np.ones(16), np.full(16, 1e-9), 1.0, 0.8), plain, atol=1e-8)


@pytest.mark.law
def test_an_empty_compartment_has_a_limit():
    empty = np.zeros((2, 16))
    empty_but_one = empty.copy()
    empty_but_one[1, 3] = 0.1
    assert np.all(np.isfinite(limit_bar(empty, empty_but_one, 1.0, 0.8)))


@pytest.mark.law
def test_one_pressure_for_each_sample():
    tension = np.ones((3, 16))
    assert limit_bar(tension, np.zeros((3, 16)), np.array([1.0, 2.0, 3.0]), 0.8).shape == (3, 16)


@pytest.mark.derived
def test_factor_at_the_9_m_stop():
    # 30/85 from a first stop at 21 m: 0.85 - 0.55 * 9 / 21
    assert GradientFactors(0.30, 0.85).at_depth(9.0, 21.0) == pytest.approx(0.6143, abs=5e-5)
    assert GradientFactors(0.30, 0.85).at_depth(0.0, 21.0) == 0.85
    assert GradientFactors(0.30, 0.85).at_depth(30.0, 21.0) == pytest.approx(0.30)
    assert GradientFactors(0.30, 0.85).at_depth(5.0, 0.0) == 0.85


@pytest.mark.law
def test_the_usual_pair():
    assert (GradientFactors().low, GradientFactors().high, GradientFactors().name) == (0.40, 0.85, "40/85")


@pytest.mark.law
@pytest.mark.parametrize("pair", [(0.1, 0.1), (0.1, 1.0), (1.0, 1.0)])
def test_may_be_chosen(pair):
    assert GradientFactors(*pair).high == pair[1]


@pytest.mark.law
@pytest.mark.parametrize(
    ("pair", "says"),
    [
        ((0.09, 0.85), "low gradient factor of 9 % is outside"),
        ((0.4, 1.01), "high gradient factor of 101 % is outside"),
        ((40, 85), "outside 10 to 100 %"),
        ((0.9, 0.8), "90 %, is above the high one, 80 %"),
        ((float("nan"), 0.8), "outside 10 to 100 %"),
    ],
)
def test_may_not_be_chosen(pair, says):
    with pytest.raises(ValueError, match=says):
        GradientFactors(*pair)
