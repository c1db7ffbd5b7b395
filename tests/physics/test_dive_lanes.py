"""What the lanes alone must hold: cutting a dive up loses nothing, and each half of the scan is right."""

import numpy as np
import pytest
from invented_logbook import joined, wandering, with_switches

from logbook_app.physics.dive_lanes import cut_into_lanes, step_weights
from logbook_app.physics.gradient_factors import GradientFactors
from logbook_app.physics.lane_oxygen import oxygen_along_lanes
from logbook_app.physics.lane_scan import scan_tissues
from logbook_app.physics.many_dives import square_dive
from logbook_app.physics.tissue_loading import Tensions, load_along

REST_BAR = 0.75093


def three_dives():
    random = np.random.default_rng(5)
    book = [wandering(random, 10.0, samples, interval_min=60.0) for samples in (2, 77, 64)]
    return joined([book[0], with_switches(book[1], (31, 0.5), (32, 0.36), (76, 0.21)), book[2]])


@pytest.mark.law
@pytest.mark.parametrize("slots", [1, 7, 16, 32, 100])
def test_every_sample_stands_in_its_slot_and_the_first_fills_the_free_ones(slots):
    dives = three_dives()
    lanes = cut_into_lanes(dives, np.arange(3), slots)
    laid = np.split(lanes.rows_bar.ravel(), lanes.first_lane[1:] * slots)
    for dive, in_lanes_bar in enumerate(laid):
        recorded_bar, held = dives.ambient_bar[dives.samples(dive)], lanes.held[dive]
        assert (in_lanes_bar[held:] == recorded_bar).all()
        assert (in_lanes_bar[:held] == recorded_bar[0]).all()


@pytest.mark.law
@pytest.mark.parametrize("slots", [1, 7, 16, 32, 100])
def test_a_lane_starts_where_the_exact_way_is_at_the_sample_before(slots):
    dives = three_dives()
    lanes = cut_into_lanes(dives, np.arange(3), slots)
    starts_bar = lanes.starts_bar(np.full((3, 16), REST_BAR))
    start = Tensions(np.full(16, REST_BAR), np.zeros(16))
    for dive in range(3):
        at = dives.samples(dive)
        n2_bar, _ = load_along(start, dives.time_min[at], dives.ambient_bar[at], dives.n2_fraction[at], 0.0)
        assert np.allclose(lanes.uptake.end_bar(start.n2_bar)[dive], n2_bar[-1], rtol=0, atol=1e-12)
        for later in range(1, len(n2_bar)):
            slot = later + lanes.held[dive]
            if slot % slots == 0:
                lane = lanes.first_lane[dive] + slot // slots
                assert np.allclose(starts_bar[lane], n2_bar[later - 1], rtol=0, atol=1e-12)


@pytest.mark.derived
def test_the_weights_of_a_step_are_schreiner_worked_by_hand():
    # T = 5 min, t = 5 min: E = 1/2, w1 = 1 - (1/2)/ln 2 = 0.27865, w0 = 1/2 - w1 = 0.22135
    kept, at_start, at_end = (weight[0] for weight in step_weights(5.0))
    assert (kept, at_start, at_end) == pytest.approx((0.5, 0.22135, 0.27865), abs=5e-6)


@pytest.mark.derived
def test_the_ceiling_of_a_saturated_diver_worked_by_hand():
    """A diver saturated at 3 bar, at the low factor 0.4; compartment 16 leads in the end.

    p = (3 - 0.0627) 0.79 = 2.32047; (p - 0.4 a) / (0.4 / b - 0.4 + 1) is largest for compartment 16,
    a = 0.2327, b = 0.9653: 2.22739 / 1.014379 = 2.19582 bar, 11.826 m over 1.01325 bar.
    """
    lanes = cut_into_lanes(square_dive(3.0, minutes=2.0), np.array([0]), 13)
    start_bar = lanes.starts_bar(np.full((1, 16), (3.0 - 0.0627) * 0.79))
    found = scan_tissues(lanes, lanes.turned_bar(), start_bar, GradientFactors())
    assert found.ceiling_m.ravel() == pytest.approx(np.full(13, 11.826), abs=1e-3)


@pytest.mark.published
def test_an_hour_at_one_bar_of_oxygen():
    """Source: one unit a minute at 1 bar by definition; 300 min at 1.0, NOAA Diving Manual, see sources."""
    lanes = cut_into_lanes(square_dive(1.0 / 0.21, minutes=60.0), np.array([0]), 32)
    found = oxygen_along_lanes(lanes, lanes.turned_bar())
    assert found.otu[-1, -1] == pytest.approx(60.0, abs=0.01)
    assert found.cns_fraction[-1, -1] == pytest.approx(60.0 / 300.0, abs=1e-4)
    assert found.ppo2_bar[-1, -1] == pytest.approx(1.0, abs=1e-6)
