"""No-stop times: laws that must hold for any diver."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook_app.physics.breathing_gas import AIR, BreathingGas
from logbook_app.physics.compartments import ZHL16C
from logbook_app.physics.gradient_factors import surfacing_limit_bar
from logbook_app.physics.no_stop_limit import LONGEST_MIN, no_stop_at_depths, no_stop_min
from logbook_app.physics.tissue_loading import Tensions, after_constant, haldane_bar, saturated_on_air

SURFACE_BAR = 1.01325
RESTED = saturated_on_air(SURFACE_BAR)
GASES = [AIR, BreathingGas(0.32), BreathingGas(0.18, 0.45), BreathingGas(0.21, 0.35)]

gases = st.sampled_from(GASES)
rests = st.floats(0.0, 40.0).map(lambda m: after_constant(RESTED, 3.0, BreathingGas(0.3, 0.2), m))


def _limit(tensions, depth_m, gas, high=0.85):
    """Minutes with inf for none, so that they can be compared."""
    found = no_stop_at_depths(tensions, [depth_m], gas, SURFACE_BAR, gf_high=high)[0]
    return np.inf if np.isnan(found) else found


@pytest.mark.law
@settings(max_examples=60, deadline=None)
@given(rests, st.floats(0, 60), st.floats(0.0, 10.0), gases)
def test_deeper_never_allows_more(tensions, depth_m, deeper_m, gas):
    assert _limit(tensions, depth_m + deeper_m, gas) <= _limit(tensions, depth_m, gas) + 1e-6


@pytest.mark.law
@settings(max_examples=60, deadline=None)
@given(rests, st.floats(0, 60), gases, st.floats(0.1, 0.9), st.floats(0.0, 0.1))
def test_a_lower_factor_never_allows_more(tensions, depth_m, gas, high, more):
    assert _limit(tensions, depth_m, gas, high) <= _limit(tensions, depth_m, gas, high + more) + 1e-6


@pytest.mark.law
@settings(max_examples=60, deadline=None)
@given(rests, st.floats(0, 60), gases)
def test_the_limit_is_where_the_limit_is(tensions, depth_m, gas):
    minutes = _limit(tensions, depth_m, gas)
    watched = np.linspace(0.0, min(minutes, LONGEST_MIN), 50)
    for stayed in watched[watched < minutes - 1e-6]:
        assert not _over(tensions, depth_m, gas, stayed)
    if np.isfinite(minutes):
        assert _over(tensions, depth_m, gas, minutes + 1e-6)


def _over(tensions, depth_m, gas, minutes):
    then = after_constant(tensions, SURFACE_BAR + depth_m * 0.1, gas, minutes)
    allowed_bar = surfacing_limit_bar(then.n2_bar, then.he_bar, SURFACE_BAR, 0.85)
    return bool(np.any(then.n2_bar + then.he_bar > allowed_bar))


@pytest.mark.law
@pytest.mark.parametrize("gas", GASES, ids=lambda gas: gas.name)
def test_a_minute_stayed_is_a_minute_less(gas):
    whole = _limit(RESTED, 30.0, gas)
    later = after_constant(RESTED, 4.01325, gas, 3.0)
    assert _limit(later, 30.0, gas) == pytest.approx(whole - 3.0, abs=1e-7)


@pytest.mark.law
def test_nothing_is_left_once_a_limit_is_passed():
    over = after_constant(RESTED, 5.0, AIR, 60.0)
    for gas in GASES:
        assert _limit(over, 3.0, gas) == 0.0
        assert _limit(over, 40.0, gas) == 0.0


@pytest.mark.law
def test_shallow_water_has_no_limit_within_a_day():
    assert np.isnan(no_stop_at_depths(RESTED, [0.0, 3.0, 6.0], AIR, SURFACE_BAR)).all()
    assert np.isnan(no_stop_at_depths(RESTED, [60.0], BreathingGas(1.0), SURFACE_BAR)).all()


@pytest.mark.law
def test_helium_and_nitrogen_rows_in_one_call():
    n2_bar = np.broadcast_to(RESTED.n2_bar, (4, 16))
    he_bar = np.zeros((4, 16))
    he_bar[2] = 0.2
    mixed = no_stop_min(
        n2_bar, he_bar, [4.0, 4.0, 4.0, 1.2], SURFACE_BAR, [0.79, 0.4, 0.4, 0.79], [0, 0.4, 0, 0], 0.85
    )
    alone = [
        no_stop_min(n2_bar[[i]], he_bar[[i]], p, SURFACE_BAR, n2, he, 0.85)[0]
        for i, (p, n2, he) in enumerate([(4.0, 0.79, 0), (4.0, 0.4, 0.4), (4.0, 0.4, 0), (1.2, 0.79, 0)])
    ]
    np.testing.assert_array_equal(mixed, alone)


@pytest.mark.law
def test_a_trace_of_helium_hardly_moves_the_limit():
    traced = Tensions(RESTED.n2_bar, np.full(16, 1e-12))
    for depth_m in (15.0, 30.0, 45.0):
        assert _limit(traced, depth_m, AIR) == pytest.approx(_limit(RESTED, depth_m, AIR), abs=1e-6)


@pytest.mark.law
@pytest.mark.parametrize("hair_bar", [-1e-6, 1e-6])
def test_a_limit_passed_by_a_hair_and_come_back_from(hair_bar):
    # Saturated on air under pressure, then heliox: helium enters faster than nitrogen leaves, the total of
    # each compartment rises above both and falls again. The pressure is set so that the peak is a hair over
    # or under its limit.
    gas, minutes = BreathingGas(0.21, 0.79 - 1e-12), np.linspace(0.0, 1440.0, 28_801)[:, None]

    def peak_bar(ambient_bar):
        return _excess_along(saturated_on_air(ambient_bar), ambient_bar, gas, minutes).max()

    under_bar, over_bar = 1.02, 2.0
    for _ in range(40):
        middle_bar = 0.5 * (under_bar + over_bar)
        under_bar, over_bar = (under_bar, middle_bar) if peak_bar(middle_bar) > 0 else (middle_bar, over_bar)
    ambient_bar = over_bar + hair_bar
    tensions = saturated_on_air(ambient_bar)
    excess_bar = _excess_along(tensions, ambient_bar, gas, minutes).max(axis=1)
    assert excess_bar[0] < 0.0 > excess_bar[-1]
    depth_m = (ambient_bar - SURFACE_BAR) * 10
    found = _limit(tensions, depth_m, gas)
    if hair_bar < 0:
        assert found == np.inf
    else:
        assert found == pytest.approx(minutes[np.argmax(excess_bar > 0), 0], abs=0.051)


def _excess_along(tensions, ambient_bar, gas, minutes):
    n2_inspired, he_inspired = (ambient_bar - 0.0627) * gas.nitrogen, (ambient_bar - 0.0627) * gas.helium
    n2_bar = haldane_bar(tensions.n2_bar, n2_inspired, ZHL16C.n2_half_time_min, minutes)
    he_bar = haldane_bar(tensions.he_bar, he_inspired, ZHL16C.he_half_time_min, minutes)
    return n2_bar + he_bar - surfacing_limit_bar(n2_bar, he_bar, SURFACE_BAR, 0.85)
