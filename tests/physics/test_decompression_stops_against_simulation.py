"""Stops to the minute, against one diver at a time in plain Python."""

import numpy as np
import pytest
from plain_ascent import Diver, second_by_second
from profiles import SURFACE_BAR, multilevel, on_one_gas, trimix

from logbook_app.physics.ascent_steps import Ascent, CarriedGas
from logbook_app.physics.breathing_gas import BreathingGas
from logbook_app.physics.ceiling import anchor_m, signed_ceiling_m
from logbook_app.physics.decompression_stops import time_to_surface_min, watched_samples, way_up
from logbook_app.physics.gradient_factors import GradientFactors
from logbook_app.physics.tissue_loading import Tensions, load_along, saturated_on_air

AIR = (0.21, 0.0)
NITROX_32, NITROX_50, OXYGEN = (0.32, 0.0), (0.50, 0.0), (1.0, 0.0)
TRIMIX_18_45, TRIMIX_35_25 = (0.18, 0.45), (0.35, 0.25)
FACTORS = [(0.40, 0.85), (0.20, 0.70), (0.30, 0.30), (1.0, 1.0)]


def square(diver, gas=AIR, depth=40.0, minutes=25.0):
    return diver.swim(depth, depth / 20, gas).swim(depth, minutes, gas)


def down_and_along(diver):
    for depth, minutes in [(48, 3), (46, 14), (30, 2), (27, 20), (35, 2), (33, 9), (18, 2), (19, 25)]:
        diver.swim(float(depth), minutes, NITROX_32 if depth > 40 else AIR)
    return diver


def trimix_60(diver):
    return square(diver, TRIMIX_18_45, 60.0, 25.0)


def trimix_90_with_travel_gas(diver):
    return diver.swim(30.0, 2, TRIMIX_35_25).swim(90.0, 4, (0.12, 0.6)).swim(87.0, 16, (0.12, 0.6))


def third_dive_of_the_day(diver):
    square(diver, AIR, 38.0, 18.0).swim(6.0, 4, AIR).swim(6.0, 6, AIR).swim(0.0, 1, AIR).rest(55)
    square(diver, NITROX_32, 27.0, 35.0).swim(5.0, 3, NITROX_32).swim(0.0, 1, NITROX_32).rest(70)
    return square(diver, AIR, 33.0, 22.0)


def already_above_the_stop(diver):
    return square(diver, AIR, 45.0, 25.0).swim(7.3, 2, AIR)


def odd_depth(diver):
    return square(diver, AIR, 31.7, 33.0)


def hardly_any_stop(diver):
    return square(diver, AIR, 30.0, 17.0)


def none(diver):
    return square(diver, AIR, 18.0, 20.0)


TWO_GASES = [(NITROX_50, 21.0), (OXYGEN, 6.0)]
PROFILES = [
    pytest.param(square, AIR, [], id="air"),
    pytest.param(square, AIR, TWO_GASES, id="air with two gases"),
    pytest.param(down_and_along, AIR, [], id="multilevel"),
    pytest.param(down_and_along, AIR, [(OXYGEN, 6.0)], id="multilevel with oxygen"),
    pytest.param(trimix_60, TRIMIX_18_45, [], id="trimix alone"),
    pytest.param(trimix_60, TRIMIX_18_45, TWO_GASES, id="trimix with two gases"),
    pytest.param(trimix_60, TRIMIX_18_45, [(OXYGEN, 4.5), (NITROX_50, 22.5)], id="switches between stops"),
    pytest.param(
        trimix_90_with_travel_gas, (0.12, 0.6), [(TRIMIX_35_25, 30.0), *TWO_GASES], id="deep, three gases"
    ),
    pytest.param(third_dive_of_the_day, AIR, [], id="repetitive"),
    pytest.param(third_dive_of_the_day, AIR, [(NITROX_50, 21.0)], id="repetitive with a gas"),
    pytest.param(already_above_the_stop, AIR, [], id="above the stop"),
    pytest.param(odd_depth, AIR, [], id="odd depth"),
    pytest.param(hardly_any_stop, AIR, [], id="hardly any stop"),
    pytest.param(none, AIR, [], id="no stop"),
]


def _product(diver, gas, carried):
    return way_up(
        Tensions(np.array(diver.n2), np.array(diver.he)),
        diver.depth,
        diver.anchor,
        BreathingGas(*gas),
        Ascent(
            diver.surface_bar,
            diver.bar_per_m * 1e5 / 9.80665,
            GradientFactors(diver.low, diver.high),
            _carried_gases(carried),
        ),
    )


def _carried_gases(carried):
    return tuple(CarriedGas(BreathingGas(*other), switch_m) for other, switch_m in carried)


def _agree(diver, gas, carried):
    stops, time_to_surface = diver.go_up(gas, carried)
    found = _product(diver, gas, carried)
    assert [(s.depth_m, s.minutes, (s.gas.oxygen, s.gas.helium)) for s in found.stops] == stops
    assert found.time_to_surface_min == pytest.approx(time_to_surface, abs=1e-9)
    assert found.stop_min == sum(minutes for _, minutes, _ in stops)
    return stops


@pytest.mark.derived
@pytest.mark.parametrize(("swim", "gas", "carried"), PROFILES)
@pytest.mark.parametrize("pair", FACTORS, ids=str)
def test_stops_to_the_minute(swim, gas, carried, pair):
    _agree(swim(Diver(SURFACE_BAR, *pair)), gas, carried)


@pytest.mark.derived
@pytest.mark.parametrize("elevation", [(0.85, 0.1), (0.62, 0.0980665)], ids=["1400 m", "4000 m, fresh water"])
@pytest.mark.parametrize(("swim", "gas", "carried"), PROFILES)
def test_stops_at_altitude(swim, gas, carried, elevation):
    surface_bar, bar_per_m = elevation
    _agree(swim(Diver(surface_bar, 0.35, 0.75, bar_per_m=bar_per_m)), gas, carried)


@pytest.mark.derived
def test_the_profiles_are_hard():
    """The comparison above would say little if no profile had stops at many depths, on many gases."""
    deep = trimix_90_with_travel_gas(Diver(SURFACE_BAR))
    stops, _ = deep.go_up((0.12, 0.6), [(TRIMIX_35_25, 30.0), *TWO_GASES])
    assert len({depth for depth, _, _ in stops}) >= 8
    assert len({gas for _, _, gas in stops}) == 4


@pytest.mark.derived
@pytest.mark.parametrize(
    ("swim", "gas", "carried"),
    [
        pytest.param(square, AIR, TWO_GASES, id="air with two gases"),
        pytest.param(trimix_60, TRIMIX_18_45, TWO_GASES, id="trimix with two gases"),
        pytest.param(already_above_the_stop, AIR, [], id="above the stop"),
    ],
)
def test_stops_from_the_differential_equation(swim, gas, carried):
    assert _agree(swim(Diver(SURFACE_BAR, law=second_by_second)), gas, carried)


def long_dive():
    return on_one_gas([0, 3, 20, 30, 33, 55, 60, 63, 70, 95, 96], [0, 50, 47, 44, 21, 24, 9, 6, 6, 4, 0])


def long_trimix():
    """Swum without its gases for decompression: a long way up from everywhere."""
    dive = trimix()
    return on_one_gas(dive.time_min, dive.depth_m, 0.18, 0.45)


@pytest.mark.derived
@pytest.mark.parametrize("carried", [[], TWO_GASES], ids=["gas in use", "two gases carried"])
@pytest.mark.parametrize("make", [multilevel, long_dive, trimix, long_trimix], ids=lambda make: make.__name__)
def test_time_to_surface_of_every_sample(make, carried):
    dive = make()
    time_s = np.arange(0.0, dive.time_min[-1] * 60 + 1, 10.0)
    dense_m = np.interp(time_s / 60, dive.time_min, dive.depth_m)
    gas = np.searchsorted(dive.time_min * 60, time_s, side="right") - 1
    oxygen, helium = dive.oxygen[gas], dive.helium[gas]
    n2_bar, he_bar = load_along(
        saturated_on_air(SURFACE_BAR), time_s / 60, SURFACE_BAR + 0.1 * dense_m, 1 - oxygen - helium, helium
    )
    anchors_m = anchor_m(signed_ceiling_m(n2_bar, he_bar, SURFACE_BAR, 0.4))
    watched = watched_samples(time_s, 30.0)
    found = time_to_surface_min(
        n2_bar[watched],
        he_bar[watched],
        dense_m[watched],
        anchors_m[watched],
        1 - oxygen[watched] - helium[watched],
        helium[watched],
        Ascent(SURFACE_BAR, carried=_carried_gases(carried)),
    )
    expected = [
        _one_sample(n2_bar[i], he_bar[i], dense_m[i], anchors_m[i], (oxygen[i], helium[i]), carried)
        for i in watched
    ]
    assert watched.size > 140
    np.testing.assert_allclose(found, expected, atol=1e-9, rtol=0)


def _one_sample(n2_bar, he_bar, depth_m, anchor, gas, carried):
    diver = Diver(SURFACE_BAR)
    diver.n2, diver.he = [float(p) for p in n2_bar], [float(p) for p in he_bar]
    diver.depth, diver.anchor = float(depth_m), float(anchor)
    found = diver.go_up(gas, carried)
    return np.nan if found is None else found[1]
