"""Worked cases written for compartment 1 or for set A or B, run on the product with those constants.

Each expected value follows by hand from the formula beside it and the printed coefficients. Unless said
otherwise: surface 1.01325 bar, 10 m to the bar, air with 0.79 inert, water vapour 0.0627 bar.
"""

import numpy as np
import pytest

from logbook_app.physics.breathing_gas import AIR
from logbook_app.physics.ceiling import tolerated_ambient_bar
from logbook_app.physics.gradient_factors import combined_a_b, surfacing_limit_bar
from logbook_app.physics.no_stop_limit import no_stop_at_depths
from logbook_app.physics.tissue_loading import after_constant, saturated_on_air

TWO_BAR, NO_HELIUM = np.full(16, 2.0), np.zeros(16)
SURFACE_BAR = 1.01325


@pytest.mark.derived
@pytest.mark.parametrize(
    ("nitrogen_set", "tolerated_bar", "ceiling_m"),
    # (2.0 - a) * 0.8910 with a = 0.4701, 0.4500, 0.4000
    [("a", 1.36314, 3.50), ("b", 1.38105, 3.68), ("c", 1.42560, 4.12)],
)
def test_compartment_8_in_the_three_sets(with_other_constants, nitrogen_set, tolerated_bar, ceiling_m):
    with_other_constants(nitrogen_set)
    found_bar = tolerated_ambient_bar(TWO_BAR, NO_HELIUM, 1.0)[7]
    assert found_bar == pytest.approx(tolerated_bar, abs=1e-5)
    assert (found_bar - SURFACE_BAR) * 10 == pytest.approx(ceiling_m, abs=0.01)


@pytest.mark.derived
@pytest.mark.parametrize(
    ("factor", "tolerated_bar"),
    # (2.0 - 0.45 g) / (g / 0.8910 - g + 1)
    [(1.0, 1.38105), (0.8, 1.49380), (0.3, 1.79898), (0.0, 2.0)],
)
def test_compartment_8_of_set_b_with_gradient_factors(with_other_constants, factor, tolerated_bar):
    with_other_constants("b")
    assert tolerated_ambient_bar(TWO_BAR, NO_HELIUM, factor)[7] == pytest.approx(tolerated_bar, abs=1e-5)


@pytest.mark.derived
def test_surfacing_limit_of_compartment_1(with_other_constants):
    # 1.2599 + 1.01325 / 0.5050
    with_other_constants(first="1")
    assert surfacing_limit_bar(TWO_BAR, NO_HELIUM, SURFACE_BAR, 1.0)[0] == pytest.approx(3.26634, abs=1e-5)


@pytest.mark.derived
def test_compartment_1_with_as_much_helium_as_nitrogen(with_other_constants):
    # (1.2599 + 1.7424) / 2 and (0.5050 + 0.4245) / 2
    with_other_constants(first="1")
    a_bar, b = combined_a_b(np.ones(16), np.ones(16))
    assert (a_bar[0], b[0]) == pytest.approx((1.50115, 0.46475), abs=1e-5)


@pytest.mark.published
def test_compartment_1_with_nitrogen_to_helium_as_32_to_50(with_other_constants):
    # A worked example of the weighted means, read in a transcription (an intermediate of it is misprinted).
    with_other_constants(first="1")
    a_bar, b = combined_a_b(np.full(16, 0.32), np.full(16, 0.50))
    assert (a_bar[0], b[0]) == pytest.approx((1.5541, 0.4559), abs=1e-4)


@pytest.mark.derived
@pytest.mark.parametrize(("minutes", "expected_bar"), [(4.0, 1.93593), (12.0, 2.82468)])
def test_compartment_1_at_30_m(with_other_constants, minutes, expected_bar):
    # 0.75093 + 2.37 * (1 - 2 ** (-t / 4))
    with_other_constants(first="1")
    loaded = after_constant(saturated_on_air(SURFACE_BAR), 4.01325, AIR, minutes)
    assert loaded.n2_bar[0] == pytest.approx(expected_bar, abs=1e-5)


@pytest.mark.derived
@pytest.mark.parametrize(
    ("first", "depth_m", "minutes"),
    # -T / ln 2 * ln((q - M) / (q - p)); led by compartment 5, 2, 1 and 1b
    [("1", 18.0, 59.84), ("1", 30.0, 16.54), ("1", 40.0, 9.17), ("1b", 40.0, 8.86), ("1b", 18.0, 59.84)],
)
def test_no_stop_time_with_instant_descent(with_other_constants, first, depth_m, minutes):
    with_other_constants(first=first)
    found = no_stop_at_depths(saturated_on_air(SURFACE_BAR), [depth_m], AIR, SURFACE_BAR, gf_high=1.0)
    assert found[0] == pytest.approx(minutes, abs=0.006)
