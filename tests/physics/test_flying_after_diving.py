"""Flying after diving: the model against a search in plain Python."""

import numpy as np
import pytest
from plain_simulation import allowed, last_minute_over
from profiles import SURFACE_BAR

from logbook_app.physics.ambient_pressure import surface_pressure_bar
from logbook_app.physics.breathing_gas import AIR, BreathingGas
from logbook_app.physics.flying_after_diving import (
    CABIN_ALTITUDE_M,
    flying_rule,
    model_minutes_until,
)
from logbook_app.physics.tissue_loading import Tensions, after_constant, saturated_on_air

RESTED = saturated_on_air(SURFACE_BAR)
CABIN_BAR = surface_pressure_bar(CABIN_ALTITUDE_M)
AFTER = [
    pytest.param(after_constant(RESTED, 2.8, AIR, 55.0), id="air, 18 m"),
    pytest.param(after_constant(RESTED, 5.0, AIR, 20.0), id="air, 40 m"),
    pytest.param(after_constant(RESTED, 4.0, BreathingGas(0.21, 0.35), 25.0), id="trimix"),
    pytest.param(after_constant(RESTED, 2.0, BreathingGas(0.2, 0.8), 600.0), id="heliox, long"),
    pytest.param(after_constant(RESTED, 7.0, BreathingGas(0.18, 0.45), 40.0), id="trimix, deep"),
]


@pytest.mark.derived
@pytest.mark.parametrize("start", AFTER)
@pytest.mark.parametrize("elevation_m", [800.0, 1500.0, CABIN_ALTITUDE_M])
@pytest.mark.parametrize("low", [0.4, 1.0])
def test_when_a_search_says_so(start, elevation_m, low):
    upper_bar = surface_pressure_bar(elevation_m)
    expected = last_minute_over(
        list(start.n2_bar),
        list(start.he_bar),
        SURFACE_BAR,
        lambda i, n2, he: allowed(i, n2, he, upper_bar, low),
        horizon_min=6000.0,
    )
    assert model_minutes_until(start, SURFACE_BAR, upper_bar, low) == pytest.approx(expected, abs=1e-7)


@pytest.mark.derived
@pytest.mark.parametrize(("factor", "minutes"), [(1.0, 19.0), (0.7, 52.0)])
def test_a_no_stop_dive_by_the_bare_model(factor, minutes):
    # 18 m for 55 min, instant descent and ascent, whole minutes. This is why the model alone is no advice.
    start = after_constant(RESTED, 2.81325, AIR, 55.0)
    assert np.floor(model_minutes_until(start, SURFACE_BAR, 0.7526, factor)) == minutes
    assert minutes < flying_rule(1, required_stops=False).hours * 60


@pytest.mark.law
def test_a_rested_diver_may_go_up_at_once():
    assert model_minutes_until(RESTED, SURFACE_BAR, CABIN_BAR, 0.4) == 0.0


@pytest.mark.law
def test_some_heights_are_never_tolerated_from_here():
    # At 9,000 m equilibrium with the shore alone is more than the slowest compartment tolerates at 40 %.
    assert model_minutes_until(RESTED, SURFACE_BAR, surface_pressure_bar(9000.0), 0.4) is None
    with_helium = Tensions(RESTED.n2_bar, np.full(16, 0.1))
    assert model_minutes_until(with_helium, SURFACE_BAR, surface_pressure_bar(9000.0), 0.4) is None


@pytest.mark.law
@pytest.mark.parametrize("start", AFTER)
def test_higher_never_sooner(start):
    waits = [
        model_minutes_until(start, SURFACE_BAR, surface_pressure_bar(h), 0.4) for h in (500, 1000, 2000, 2438)
    ]
    assert waits == sorted(waits)
