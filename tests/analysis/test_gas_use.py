"""Gas breathed: split at switches, by band of depth, and never a rate without what it takes."""

from __future__ import annotations

import pytest
from dives_by_hand import EASY, dive_of, profile

from logbook_app.analysis.gas_use import gas_use
from logbook_app.dive.cylinder import Cylinder
from logbook_app.physics.breathing_gas import AIR, BreathingGas
from logbook_app.physics.minute_volume import free_gas_l

NAN = float("nan")
TWELVE = Cylinder(AIR, volume_l=12, start_bar=200, end_bar=70)


@pytest.mark.derived
def test_each_cylinder_answers_for_the_time_it_was_breathed():
    """V dp / (minutes * mean ambient), the ideal figure; worked by hand for each leg.

    To 30 m in 3 min by way of 20 m at 2, until 25; to 21 m at 28, where the gas changes; to 6 m at 31, until
    36; up at 37. Surface 1.013 bar. First leg: (20*1 + 25*1 + 30*22 + 25.5*3)/28 = 27.91 m. Second:
    (13.5*3 + 6*5 + 3*1)/9 = 8.1667 m.
    """
    samples = profile(
        (0, 0), (2, 20), (3, 30), (25, 30), (28, 21), (31, 6), (36, 6), (37, 0), switches=((28, 1),)
    )
    back = Cylinder(BreathingGas(0.32), volume_l=12, start_bar=210, end_bar=95)
    stage = Cylinder(BreathingGas(0.5), volume_l=7, start_bar=200, end_bar=170)
    found = gas_use(dive_of(samples, cylinders=(back, stage), surface_bar=1.013), samples)
    assert [use.minutes for use in found.cylinders] == pytest.approx([28, 9])
    by_hand = [12 * 115 / (28 * (1.013 + 2.7910714)), 7 * 30 / (9 * (1.013 + 0.8166667))]
    ideal = [use.ideal_used_l * 1.01325 / use.minutes / use.mean_ambient_bar for use in found.cylinders]
    assert ideal == pytest.approx(by_hand, abs=1e-3)
    assert found.ideal_minute_volume_l_min == pytest.approx(
        (12 * 115 + 7 * 30) / (28 * 3.8040714 + 9 * 1.8296667), abs=1e-3
    )


@pytest.mark.law
def test_real_air_gives_less_than_the_ideal_gas_between_high_pressures():
    high = Cylinder(AIR, volume_l=12, start_bar=300, end_bar=60)
    found = gas_use(dive_of(EASY, cylinders=(high,)), EASY)
    assert found.used_l < 0.92 * found.cylinders[0].ideal_used_l


def test_gas_by_depth_adds_up_and_keeps_to_its_band():
    samples = profile(
        (0, 0),
        (1, 18),
        (11, 18),
        (12, 6),
        (22, 6),
        (23, 0),
        pressure_bar_0=[NAN, 190, 140, 136, 112, NAN],
    )
    found = gas_use(dive_of(samples, cylinders=(TWELVE,)), samples)
    assert [(use.from_m, use.to_m) for use in found.by_depth] == [(0, 10), (10, 20)]
    shallow, deep = found.by_depth
    assert (shallow.minutes, deep.minutes) == pytest.approx((10, 11))
    used_l = free_gas_l(12, 190, AIR) - free_gas_l(12, 136, AIR)
    mean_bar = 1.01325 + (10 * 18 + 1 * 12) / 11 / 10
    assert deep.minute_volume_l_min == pytest.approx(used_l * 1.01325 / 11 / mean_bar)


@pytest.mark.parametrize(
    ("cylinder", "words"),
    [
        (Cylinder(AIR, start_bar=200, end_bar=60), "No cylinder volume"),
        (Cylinder(AIR, volume_l=12, start_bar=200), "pressure is missing"),
        (Cylinder(AIR, volume_l=12, start_bar=100, end_bar=100), "not below the start pressure"),
        (Cylinder(AIR, volume_l=12, start_bar=450, end_bar=100), "450"),
    ],
)
def test_without_what_it_takes_there_is_a_reason_and_no_rate(cylinder, words):
    found = gas_use(dive_of(EASY, cylinders=(cylinder,)), EASY)
    assert found.minute_volume_l_min is None
    assert words in found.reason


def test_on_a_closed_circuit_there_is_no_minute_volume():
    loop = profile(
        (0, 0), (2, 18), (30, 18), (35, 0), on_loop=[1, NAN, NAN, NAN], set_ppo2_bar=[1.2] + [NAN] * 3
    )
    assert "closed circuit" in gas_use(dive_of(loop, cylinders=(TWELVE,)), loop).reason


def test_pressures_that_were_only_sampled_serve_too():
    sampled = profile((0, 0), (2, 18), (30, 18), (35, 0), pressure_bar_0=[200, NAN, NAN, 80])
    found = gas_use(dive_of(sampled, cylinders=(Cylinder(AIR, volume_l=12),)), sampled)
    assert found.end_bar == 80
    assert found.minute_volume_l_min > 0


def test_without_samples_a_mean_depth_serves():
    fifteen = Cylinder(AIR, volume_l=15, start_bar=112, end_bar=60)
    told = {"duration_min": 25, "max_depth_m": 11, "cylinders": (fifteen,)}
    found = gas_use(dive_of(None, mean_depth_m=7.0, surface_bar=0.84, **told), None)
    ideal = found.cylinders[0].ideal_used_l * 1.01325 / 25 / (0.84 + 0.7)
    assert ideal == pytest.approx(15 * 52 / (25 * 1.54), abs=1e-6)
    assert gas_use(dive_of(None, **told), None).reason.startswith("No samples and no mean depth")


@pytest.mark.law
@pytest.mark.parametrize("nonsense_bar", [449.5, 2000.0, -3.0])
@pytest.mark.parametrize("place", [0, 1, 3])
def test_a_pressure_that_no_gauge_gives_is_no_reading(nonsense_bar, place):
    whole = [200.0, 190.0, 80.0, 70.0]
    spoiled = [*whole[:place], nonsense_bar, *whole[place + 1 :]]
    for cylinder in (TWELVE, Cylinder(AIR, volume_l=12)):
        silent, told = (
            gas_use(dive_of(samples, cylinders=(cylinder,)), samples)
            for samples in (
                profile((0, 0), (2, 20), (30, 20), (33, 0), pressure_bar_0=values)
                for values in ([*whole[:place], NAN, *whole[place + 1 :]], spoiled)
            )
        )
        assert told == silent
