"""The closed-form ceiling against a search from the surface down, in plain Python."""

import numpy as np
import pytest
from plain_simulation import ceiling_at_one_factor_m, ceilings_m, tensions_along
from profiles import irregular, multilevel, nitrox_with_switch, on_one_gas, sawtooth, trimix

from logbook_app.physics.ceiling import ceiling_m, signed_ceiling_m
from logbook_app.physics.gradient_factors import GradientFactors
from logbook_app.physics.tissue_loading import saturated_on_air


def over_the_limit():
    return on_one_gas([0, 2, 15, 30, 35, 38, 50, 60], [0, 40, 40, 42, 15, 9, 6, 3])


def just_over_the_limit():
    """The anchor is shallow, where the line of factors is steep."""
    return on_one_gas(np.arange(0.0, 26.0), np.minimum(np.arange(0.0, 26.0) * 15, 30.0))


DIVES = [multilevel, sawtooth, nitrox_with_switch, trimix, irregular, over_the_limit, just_over_the_limit]


@pytest.mark.derived
@pytest.mark.parametrize("make", DIVES, ids=lambda make: make.__name__)
@pytest.mark.parametrize("pair", [(0.4, 0.85), (0.2, 0.7), (0.9, 1.0)], ids=str)
def test_interpolated_ceiling(make, pair):
    dive = make()
    rested = saturated_on_air(dive.surface_bar)
    path = tensions_along(
        rested.n2_bar, rested.he_bar, dive.time_min, dive.ambient_bar, dive.nitrogen, dive.helium
    )
    n2_bar, he_bar = (np.array(tensions) for tensions in zip(*path, strict=True))
    found_m = ceiling_m(n2_bar, he_bar, dive.surface_bar, factors=GradientFactors(*pair))
    # 1e-6 m: where the curve only just touches its limit the search is that coarse, the root is not.
    np.testing.assert_allclose(found_m, ceilings_m(path, dive.surface_bar, 0.1, *pair), atol=1e-6, rtol=0)


@pytest.mark.derived
@pytest.mark.parametrize("make", DIVES, ids=lambda make: make.__name__)
def test_signed_ceiling_at_one_factor(make):
    dive = make()
    rested = saturated_on_air(dive.surface_bar)
    path = tensions_along(
        rested.n2_bar, rested.he_bar, dive.time_min, dive.ambient_bar, dive.nitrogen, dive.helium
    )
    n2_bar, he_bar = (np.array(tensions) for tensions in zip(*path, strict=True))
    expected_m = [ceiling_at_one_factor_m(n2, he, dive.surface_bar, 0.1, 0.4) for n2, he in path]
    found_m = signed_ceiling_m(n2_bar, he_bar, dive.surface_bar, 0.4)
    np.testing.assert_allclose(found_m, expected_m, atol=1e-9, rtol=0)
