"""Time to the surface along a dive, and the stops at its worst moment."""

from __future__ import annotations

import numpy as np
import pytest
from dives_by_hand import EASY, NITROX_50, dive_of, profile

from logbook_app.analysis.dive_analysis import Rules, analyse, nothing_carried
from logbook_app.analysis.way_up_series import way_up_series
from logbook_app.physics.breathing_gas import AIR

DEEP = profile(*((minute, min(40, minute * 20)) for minute in range(26)), (29, 6), (60, 6), (62, 0))


def way_up_of(samples, **fields):
    dive = dive_of(samples, **fields)
    return way_up_series(dive, samples, analyse(dive, samples, nothing_carried(dive), Rules()), Rules())


@pytest.mark.derived
def test_without_required_stops_the_way_up_is_travel_alone():
    """10 m/min is the rate used for ascent times (design of the model, common practice)."""
    found = way_up_of(EASY)
    depths_m = np.interp(found.time_s, EASY.time_s, EASY.depth_m)
    assert found.time_to_surface_min == pytest.approx(depths_m / 10, abs=1e-9)
    assert found.longest.stops == ()
    assert (found.safety_stop.depth_m, found.safety_stop.minutes) == (5.0, 3)


def test_required_stops_are_named_at_the_longest_way_up():
    found = way_up_of(DEEP)
    assert found.longest_at_s == 25 * 60
    assert [stop.depth_m for stop in found.longest.stops] == sorted(
        (stop.depth_m for stop in found.longest.stops), reverse=True
    )
    assert found.longest.time_to_surface_min == pytest.approx(found.time_to_surface_min.max())


@pytest.mark.law
def test_a_richer_gas_along_never_lengthens_the_way_up():
    alone, with_stage = way_up_of(DEEP), way_up_of(DEEP, gases=(AIR, NITROX_50))
    assert (with_stage.time_to_surface_min <= alone.time_to_surface_min + 1e-9).all()
    assert any(stop.gas == NITROX_50 for stop in with_stage.longest.stops)


def test_a_dive_without_samples_has_a_way_up_too():
    found = way_up_of(None, duration_min=30, max_depth_m=18)
    assert found.time_to_surface_min.tolist() == pytest.approx([1.8, 1.8])
