"""The live load must be what the slow way gives at the same instant."""

import numpy as np
import pytest

from logbook_app.physics.breathing_gas import AIR
from logbook_app.physics.live_load import live_load
from logbook_app.physics.residual_load import load_by_compartment
from logbook_app.physics.tissue_loading import Tensions, after_constant


@pytest.mark.law
@pytest.mark.parametrize("minutes", [0.0, 0.5, 30.0, 600.0, 20_000.0])
@pytest.mark.parametrize("surface_bar", [1.01325, 0.8])
def test_live_load_is_the_load_of_the_tensions_then(minutes, surface_bar):
    n2_bar = np.linspace(0.5, 2.5, 16)  # some compartments under equilibrium, some over it
    then = after_constant(Tensions(n2_bar, np.zeros(16)), surface_bar, AIR, minutes)
    load = load_by_compartment(then.n2_bar, then.he_bar, surface_bar, 0.85)
    assert np.allclose(live_load(n2_bar, surface_bar, 0.85).after(minutes), load, rtol=0, atol=1e-14)
