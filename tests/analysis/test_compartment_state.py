"""One compartment at a time: its figures agree with each other and with the state they belong to."""

from __future__ import annotations

from datetime import timedelta

import pytest
from dives_by_hand import EASY, NOON, dive_of, profile

from logbook_app.analysis.compartment_state import compartment_states
from logbook_app.analysis.dive_analysis import Rules, analyse, nothing_carried
from logbook_app.analysis.repetitive_dives import end_state
from logbook_app.analysis.surface_state import surface_state
from logbook_app.physics.breathing_gas import BreathingGas
from logbook_app.physics.residual_load import CLEAR_LOAD

TRIMIX = BreathingGas(0.18, 0.45)
DEEP = profile((0, 0), (3, 50), (20, 50), (26, 6), (50, 6), (52, 0))


def _after(samples, gas=None):
    dive = dive_of(samples, gases=(gas,)) if gas else dive_of(samples)
    return [end_state(dive, analyse(dive, samples, nothing_carried(dive), Rules()))]


@pytest.mark.law
@pytest.mark.parametrize(("samples", "gas"), [(EASY, None), (DEEP, TRIMIX)])
def test_the_load_is_the_share_of_the_limit(samples, gas):
    """load = (tension - q) / (limit - q), with q = (1.01325 - 0.0627) * 0.79 bar on air at the surface."""
    finished = _after(samples, gas)
    state = surface_state(finished, finished[-1].ended_at + timedelta(minutes=90), Rules())
    equilibrium_bar = (1.01325 - 0.0627) * 0.79
    for each in compartment_states(state, Rules()):
        share = (each.n2_bar + each.he_bar - equilibrium_bar) / (each.limit_bar - equilibrium_bar)
        assert share == pytest.approx(each.load, abs=1e-9)


@pytest.mark.law
@pytest.mark.parametrize(("samples", "gas"), [(EASY, None), (DEEP, TRIMIX)])
def test_the_last_compartment_that_is_clear_clears_the_diver(samples, gas):
    """Each clear time is where that compartment's own load is 5 %; the latest is the diver's."""
    finished = _after(samples, gas)
    state = surface_state(finished, finished[-1].ended_at, Rules())
    compartments = compartment_states(state, Rules())
    assert max(each.clear_at for each in compartments) == state.clear_at
    for index, each in enumerate(compartments):
        if each.clear_at > finished[-1].state_at:
            then = surface_state(finished, each.clear_at, Rules())
            assert then.load[index] == pytest.approx(CLEAR_LOAD, abs=1e-3)


def test_before_any_dive_nothing_is_waited_for():
    assert all(
        each.clear_at is None for each in compartment_states(surface_state([], NOON, Rules()), Rules())
    )
