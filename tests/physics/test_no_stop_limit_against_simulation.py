"""No-stop times against stepping through time in plain Python, and a printed table as a band."""

import numpy as np
import pytest
from plain_simulation import no_stop_min as stepped_min
from plain_simulation import tensions_along
from printed import rows
from profiles import irregular, multilevel, nitrox_with_switch, sawtooth, trimix, twenty_hours

from logbook_app.physics.breathing_gas import AIR
from logbook_app.physics.no_stop_limit import no_stop_at_depths, no_stop_min
from logbook_app.physics.tissue_loading import saturated_on_air

DIVES = [multilevel, sawtooth, nitrox_with_switch, trimix, irregular, twenty_hours]


@pytest.mark.derived
@pytest.mark.parametrize("make", DIVES, ids=lambda make: make.__name__)
def test_every_sample(make):
    dive = make()
    rested = saturated_on_air(dive.surface_bar)
    path = tensions_along(
        rested.n2_bar, rested.he_bar, dive.time_min, dive.ambient_bar, dive.nitrogen, dive.helium
    )
    chosen = range(0, len(path), max(1, len(path) // 12))
    n2_bar, he_bar = (np.array(tensions) for tensions in zip(*path, strict=True))
    found = no_stop_min(n2_bar, he_bar, dive.ambient_bar, dive.surface_bar, dive.nitrogen, dive.helium, 0.85)
    for i in chosen:
        expected = stepped_min(
            *path[i], dive.ambient_bar[i], dive.surface_bar, dive.nitrogen[i], dive.helium[i], 0.85
        )
        assert found[i] == pytest.approx(np.nan if expected is None else expected, abs=1e-6, nan_ok=True)


@pytest.mark.published
@pytest.mark.parametrize("row", rows("buehlmann_1986_air_table"))
def test_within_two_minutes_of_the_air_table(row):
    found = no_stop_at_depths(saturated_on_air(1.01325), [row["depth_m"]], AIR, 1.01325, gf_high=1.0)
    assert abs(found[0] - row["limit_min"]) <= 2.0
