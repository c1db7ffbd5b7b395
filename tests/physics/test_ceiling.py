"""Ceilings: worked cases by hand, and laws that must hold for any dive."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from profiles import HARD_DIVES, on_one_gas

from logbook_app.physics import ceiling as ceilings
from logbook_app.physics import gradient_factors
from logbook_app.physics.compartments import ZHL16C, Compartments
from logbook_app.physics.gradient_factors import GradientFactors, limit_bar
from logbook_app.physics.tissue_loading import load_along, saturated_on_air

EN = 10_000 / 9.80665


def _loaded(dive):
    return load_along(
        saturated_on_air(dive.surface_bar), dive.time_min, dive.ambient_bar, dive.nitrogen, dive.helium
    )


@pytest.mark.derived
def test_tolerated_pressure_of_compartment_8():
    # (2.0 - 0.4) * 0.8910 = 1.42560 bar, that is 4.12 m
    tension, none = np.full(16, 2.0), np.zeros(16)
    assert ceilings.tolerated_ambient_bar(tension, none, 1.0)[7] == pytest.approx(1.42560, abs=1e-9)
    assert pytest.approx(4.12, abs=0.005) == (1.42560 - 1.01325) * 10


@pytest.mark.derived
@pytest.mark.parametrize(
    ("factor", "expected_bar"),
    # (2.0 - 0.4 g) / (g / 0.8910 - g + 1) for set C; g = 0 leaves the tension itself.
    [(1.0, 1.42560), (0.8, 1.530239), (0.3, 1.813446), (0.0, 2.0)],
)
def test_tolerated_pressure_with_a_factor(factor, expected_bar):
    tension, none = np.full(16, 2.0), np.zeros(16)
    assert ceilings.tolerated_ambient_bar(tension, none, factor)[7] == pytest.approx(expected_bar, abs=1e-5)


@pytest.mark.derived
@pytest.mark.parametrize(("factor", "ceiling_m"), [(1.0, 1.79), (0.70, 5.37)])
def test_down_to_30_m_and_25_minutes(factor, ceiling_m):
    # Descend at 20 m/min, leave at run time 25 min: compartment 2 leads with 2.8308 bar;
    # (2.8308 - g) / (g / 0.6514 - g + 1) - 1.01325 bar, 10 m each.
    n2_bar, he_bar = _loaded(on_one_gas([0, 1.5, 25], [0, 30, 30]))
    assert n2_bar[-1, 1] == pytest.approx(2.8308, abs=5e-5)
    found_m = ceilings.signed_ceiling_m(n2_bar, he_bar, 1.01325, factor)
    assert found_m[-1] == pytest.approx(ceiling_m, abs=0.005)
    assert np.argmax(ceilings.tolerated_ambient_bar(n2_bar, he_bar, factor)[-1]) == 1


@pytest.mark.law
def test_equal_factors_give_the_plain_ceiling():
    n2_bar, he_bar = _loaded(on_one_gas([0, 2, 30], [0, 40, 40]))
    plain_m = ceilings.signed_ceiling_m(n2_bar, he_bar, 1.01325, 0.7)
    both_m = ceilings.ceiling_m(n2_bar, he_bar, 1.01325, EN, GradientFactors(0.7, 0.7))
    np.testing.assert_allclose(both_m, np.maximum(plain_m, 0.0), atol=1e-9)


@pytest.mark.law
def test_a_no_stop_dive_has_no_ceiling():
    # 20 minutes at 18 m: the low factor alone would hold the diver at depth, the surface tolerates the diver.
    time_min = np.arange(0.0, 24.5, 0.5)
    depth_m = np.interp(time_min, [0, 1, 21, 23, 24], [0, 18, 18, 5, 0])
    n2_bar, he_bar = _loaded(on_one_gas(time_min, depth_m))
    assert np.max(ceilings.signed_ceiling_m(n2_bar, he_bar, 1.01325, 0.40)) > 0.5
    assert not ceilings.ceiling_m(n2_bar, he_bar, 1.01325).any()


@pytest.mark.law
def test_the_anchor_never_comes_up_again():
    n2_bar, he_bar = _loaded(on_one_gas([0, 2, 30, 33, 60], [0, 40, 40, 6, 6]))
    low_m = ceilings.signed_ceiling_m(n2_bar, he_bar, 1.01325, 0.4)
    anchor_m = ceilings.anchor_m(low_m)
    assert np.all(np.diff(anchor_m) >= 0)
    assert anchor_m[-1] == max(low_m) > low_m[-1]


@pytest.mark.law
def test_an_anchor_that_is_too_shallow_never_lets_anybody_up():
    # Asked with an anchor above the present ceiling at the low factor, the answer is that anchor.
    tension, none = np.full((1, 16), 3.0), np.zeros((1, 16))
    found_m = ceilings.interpolated_ceiling_m(tension, none, 1.01325, EN, GradientFactors(0.1, 1.0), 0.5)
    assert found_m == pytest.approx(0.5)


@pytest.mark.law
@pytest.mark.parametrize("make", HARD_DIVES, ids=lambda make: make.__name__)
@pytest.mark.parametrize("pair", [(0.4, 0.85), (0.1, 1.0), (0.99, 1.0), (0.7, 0.7)])
def test_the_ceiling_is_tolerated_and_nothing_above_it_is(make, pair):
    dive, factors = make(), GradientFactors(*pair)
    n2_bar, he_bar = _loaded(dive)
    found_m = ceilings.ceiling_m(n2_bar, he_bar, dive.surface_bar, EN, factors)
    low_m = ceilings.signed_ceiling_m(n2_bar, he_bar, dive.surface_bar, factors.low)
    anchor_m = ceilings.anchor_m(low_m)
    assert np.all((found_m >= 0) & (found_m <= anchor_m + 1e-12))
    for i in np.flatnonzero(found_m > 0):
        for depth_m, slack_bar, tolerated in [(found_m[i], 1e-9, True), (found_m[i] - 1e-3, 0.0, False)]:
            factor = factors.at_depth(max(depth_m, 0.0), anchor_m[i])
            limit = limit_bar(n2_bar[i], he_bar[i], dive.surface_bar + depth_m * 0.1, factor)
            assert np.all(n2_bar[i] + he_bar[i] <= limit + slack_bar) == tolerated


@pytest.mark.law
@settings(max_examples=50, deadline=None)
@given(
    st.lists(st.floats(0.5, 6.0), min_size=16, max_size=16),
    st.lists(st.floats(0.0, 3.0), min_size=16, max_size=16),
    st.floats(0.1, 0.9),
    st.floats(0.0, 0.1),
    st.floats(0.0, 0.1),
)
def test_lower_factors_never_give_a_shallower_ceiling(n2, he, low, more_low, more_high):
    n2_bar, he_bar = np.array([n2]), np.array([he])
    cautious = GradientFactors(low, 0.9)
    bolder = GradientFactors(min(low + more_low, 0.9 + more_high), 0.9 + more_high)
    cautious_m = ceilings.ceiling_m(n2_bar, he_bar, 1.01325, EN, cautious)
    bolder_m = ceilings.ceiling_m(n2_bar, he_bar, 1.01325, EN, bolder)
    assert cautious_m[0] >= bolder_m[0] - 1e-9


@pytest.mark.law
def test_the_order_of_the_compartments_does_not_matter(monkeypatch):
    dive = HARD_DIVES[3]()
    n2_bar, he_bar = _loaded(dive)
    expected_m = ceilings.ceiling_m(n2_bar, he_bar, dive.surface_bar)
    order = np.random.default_rng(1).permutation(16)
    shuffled = Compartments(**{name: column[order] for name, column in vars(ZHL16C).items()})
    monkeypatch.setattr(gradient_factors, "ZHL16C", shuffled)
    again_m = ceilings.ceiling_m(n2_bar[:, order], he_bar[:, order], dive.surface_bar)
    np.testing.assert_array_equal(again_m, expected_m)
