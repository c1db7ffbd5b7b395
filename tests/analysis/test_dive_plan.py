"""Plans against a diver who comes up in plain Python, and gas against Boyle's law worked by hand."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest
from plain_ascent import Diver, second_by_second

from logbook_app.analysis.dive_analysis import Rules, nothing_carried
from logbook_app.analysis.dive_plan import CylinderPlan, DivePlan, Doing, Leg, PlanConditions, planned
from logbook_app.analysis.plan_words import beyond_training, cylinder_words
from logbook_app.analysis.spoken_units import SpokenUnits
from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.problems import RefusedRecord
from logbook_app.physics.breathing_gas import AIR, BreathingGas
from logbook_app.physics.gradient_factors import GradientFactors

AT = datetime(2026, 6, 14, 9, tzinfo=UTC)
SURFACE_BAR = 1.01325
NITROX_50 = BreathingGas(0.5)
NITROX_32 = BreathingGas(0.32)
TRIMIX = BreathingGas(0.18, 0.45)
DESCENT_M_MIN, ASCENT_M_MIN = 20.0, 10.0


def plan(
    legs: list[Leg],
    cylinders: tuple[Cylinder, ...] = (Cylinder(AIR, 12.0, 200.0),),
    factors: tuple[float, float] = (0.4, 0.85),
    minute_volume: float | None = 20.0,
) -> DivePlan:
    dive = PlanConditions(cylinders=cylinders).dive(AT, SURFACE_BAR)
    rules = Rules(GradientFactors(*factors))
    return planned(legs, dive, nothing_carried(dive), rules, minute_volume)


def swum(legs: list[Leg], gas: BreathingGas, factors: tuple[float, float]) -> Diver:
    """Return the plain diver at the end of the legs; looked at every 10 s, as the plan's samples are."""
    diver = Diver(SURFACE_BAR, *factors, law=second_by_second)
    at_m = 0.0
    for leg in legs:
        rate = DESCENT_M_MIN if leg.depth_m > at_m else ASCENT_M_MIN
        travel_min = abs(leg.depth_m - at_m) / rate
        diver.swim(leg.depth_m, travel_min, (gas.oxygen, gas.helium))
        diver.swim(leg.depth_m, leg.minutes - travel_min, (gas.oxygen, gas.helium))
        at_m = leg.depth_m
    return diver


@pytest.mark.derived
@pytest.mark.parametrize("factors", [(0.4, 0.85), (0.3, 0.7)], ids=str)
@pytest.mark.parametrize(
    ("legs", "gases"),
    [
        ([Leg(18.0, 40.0)], [AIR]),
        ([Leg(40.0, 25.0)], [AIR]),
        ([Leg(45.0, 20.0)], [AIR, NITROX_50]),
        ([Leg(33.0, 25.0), Leg(21.0, 20.0)], [NITROX_32]),
        ([Leg(55.0, 22.0)], [TRIMIX, NITROX_50]),
    ],
    ids=["no stop", "air", "two gases", "two legs", "trimix"],
)
def test_stops_to_the_minute(
    legs: list[Leg], gases: list[BreathingGas], factors: tuple[float, float]
) -> None:
    """The plain diver uses no solution of anybody's: the differential equation in steps of a second."""
    made = plan(legs, tuple(Cylinder(gas) for gas in gases), factors, None)
    gas = gases[0]
    switches = [((other.oxygen, other.helium), 22.0 if other is NITROX_50 else 0.0) for other in gases[1:]]
    stops, to_surface_min = swum(legs, gas, factors).go_up((gas.oxygen, gas.helium), switches)
    assert [(s.depth_m, s.minutes, (s.gas.oxygen, s.gas.helium)) for s in made.stops.stops] == stops
    assert made.stops.time_to_surface_min == pytest.approx(to_surface_min, abs=1e-6)
    safety_min = made.safety_stop.minutes if made.safety_stop else 0
    assert made.run_time_min == pytest.approx(sum(leg.minutes for leg in legs) + to_surface_min + safety_min)
    kept = [step for step in made.steps if step.doing is Doing.STOP]
    assert [(step.to_m, step.minutes) for step in kept] == [
        (depth_m, minutes) for depth_m, minutes, _ in stops
    ]


@pytest.mark.derived
def test_the_no_stop_limit_is_where_the_plan_begins_to_need_stops() -> None:
    """A tenth of a minute less than the limit needs none; a tenth more needs one."""
    longest_min = next(
        minutes for minutes in np.arange(5.0, 40.0, 0.1) if plan([Leg(30.0, minutes)]).stops.stops
    )
    at_limit = plan([Leg(30.0, longest_min - 0.1)], minute_volume=None)
    assert at_limit.analysis.no_stop_least_min == pytest.approx(0.0, abs=0.5)
    assert not at_limit.stops.stops
    assert plan([Leg(30.0, longest_min + 0.1)]).stops.stops


@pytest.mark.derived
def test_gas_by_hand() -> None:
    """20 L/min for 30 min to 20 m, by Boyle's law step by step.

    Down: 1 min at a mean of 10 m, 2.01325 bar. Level: 29 min at 3.01325 bar. Up to 5 m: 1.5 min at a mean
    of 12.5 m, 2.26325 bar. Stop: 3 min at 1.51325 bar. Up: 0.5 min at a mean of 2.5 m, 1.26325 bar.
    """
    made = plan([Leg(20.0, 30.0)])
    bar_minutes = [1 * 2.01325, 29 * 3.01325, 1.5 * 2.26325, 3 * 1.51325, 0.5 * 1.26325]
    assert [step.gas_l for step in made.steps] == pytest.approx([20 * bm / 1.01325 for bm in bar_minutes])
    (cylinder,) = made.cylinders
    assert cylinder.needed_l == pytest.approx(20 * sum(bar_minutes) / 1.01325)


@pytest.mark.derived
def test_the_shared_reserve_by_hand() -> None:
    """Two divers at 30 L/min each: 1 min at 20 m, 1.5 min up to 5 m, 3 min there, 0.5 min up."""
    made = plan([Leg(20.0, 30.0)])
    bar_minutes = 1 * 3.01325 + 1.5 * 2.26325 + 3 * 1.51325 + 0.5 * 1.26325
    (cylinder,) = made.cylinders
    assert cylinder.reserve_l == pytest.approx(60 * bar_minutes / 1.01325)


@pytest.mark.law
def test_pressures_follow_from_litres() -> None:
    """A larger reserve is a higher pressure; the turn lies between it and the start."""
    (small,) = plan([Leg(15.0, 30.0)]).cylinders
    (large,) = plan([Leg(30.0, 12.0)]).cylinders
    for cylinder in (small, large):
        assert cylinder.reserve_bar is not None
        assert cylinder.turn_bar is not None
        assert 0 < cylinder.reserve_bar < cylinder.turn_bar < 200.0
        assert cylinder.enough
    assert (large.reserve_bar or 0) > (small.reserve_bar or 0)


@pytest.mark.law
def test_what_is_not_enough_is_said() -> None:
    def only(cylinder: Cylinder) -> CylinderPlan:
        return plan([Leg(30.0, 15.0)], (cylinder,)).cylinders[0]

    assert only(Cylinder(AIR, 12.0, 200.0)).enough
    assert only(Cylinder(AIR, 12.0, 80.0)).enough is False
    assert only(Cylinder(AIR, 3.0, 200.0)).end_bar is None
    assert only(Cylinder(AIR)).enough is None


@pytest.mark.law
def test_two_cylinders_of_one_gas_are_two() -> None:
    made = plan(
        [Leg(20.0, 20.0), Leg(12.0, 10.0, 1)], (Cylinder(AIR, 12.0, 200.0), Cylinder(AIR, 7.0, 200.0))
    )
    first, second = made.cylinders
    assert first.needed_l > 0
    assert second.needed_l > 0
    assert sum(step.gas_l or 0 for step in made.steps) == pytest.approx(first.needed_l + second.needed_l)


@pytest.mark.law
def test_without_a_minute_volume_nothing_is_said_of_gas() -> None:
    made = plan([Leg(20.0, 20.0)], minute_volume=None)
    assert made.cylinders == ()
    assert {step.gas_l for step in made.steps} == {None}


@pytest.mark.law
def test_the_steps_join_and_end_at_the_surface() -> None:
    made = plan([Leg(40.0, 20.0), Leg(25.0, 10.0), Leg(28.0, 5.0)])
    for before, step in zip(made.steps, made.steps[1:], strict=False):
        assert step.began_min == pytest.approx(before.ended_min)
        assert step.from_m == before.to_m
    assert made.steps[-1].to_m == 0.0
    assert made.profile.depth_m[-1] == 0.0
    assert made.profile.time_s[-1] == pytest.approx(made.run_time_min * 60)


@pytest.mark.law
def test_the_plan_surfaces_within_the_limit() -> None:
    """Stops in whole minutes bring every compartment under the surfacing limit."""
    for legs in ([Leg(40.0, 25.0)], [Leg(50.0, 20.0)], [Leg(30.0, 40.0), Leg(15.0, 30.0)]):
        assert plan(legs).analysis.load_end <= 1.0 + 1e-9


@pytest.mark.parametrize(
    ("legs", "words"),
    [
        ([], "one to 10 legs"),
        ([Leg(20.0, 5.0)] * 11, "one to 10 legs"),
        ([Leg(0.0, 5.0)], "no depth"),
        ([Leg(20.0, 0.0)], "no time"),
        ([Leg(40.0, 1.0)], "takes 2.0 min"),
        ([Leg(20.0, 20.0), Leg(10.0, 0.5)], "takes 1.0 min"),
        ([Leg(20.0, 20.0, 3)], "cylinder that the plan has not"),
        ([Leg(50.0, 40.0), Leg(5.0, 10.0)], "above the ceiling"),
    ],
)
def test_legs_that_cannot_be(legs: list[Leg], words: str) -> None:
    with pytest.raises(RefusedRecord, match=words):
        plan(legs)


def test_what_goes_beyond_training_is_said_plainly() -> None:
    assert beyond_training(plan([Leg(18.0, 30.0)])) == []
    deep = beyond_training(plan([Leg(45.0, 20.0)]))
    assert deep[0] == "It goes beyond 40 m."
    assert deep[1] == "The model requires stops on the way up."
    assert "training" in deep[-1]
    rich = beyond_training(plan([Leg(35.0, 8.0)], (Cylinder(NITROX_32, 12.0, 200.0),)))
    assert rich[0] == "The oxygen pressure goes above 1.4 bar."


@pytest.mark.parametrize(
    ("gas", "depth_m", "words"),
    [
        (BreathingGas(0.4), 30.0, "above 1.6 bar, beyond every published limit"),
        (BreathingGas(0.32), 36.0, "above 1.4 bar."),
        (BreathingGas(0.10, 0.5), 60.0, "too little oxygen to be breathed"),
    ],
)
def test_a_gas_that_is_not_for_the_depth_is_named(gas: BreathingGas, depth_m: float, words: str) -> None:
    """1.6 bar is the last row of NOAA's limits; 0.18 bar the least that is breathed (no source)."""
    made = plan([Leg(depth_m, 8.0)], (Cylinder(gas),))
    assert any(words in sentence for sentence in beyond_training(made))


def test_a_cylinder_that_is_not_breathed_says_so() -> None:
    made = plan([Leg(12.0, 20.0)], (Cylinder(AIR, 12.0, 200.0), Cylinder(TRIMIX, 12.0, 200.0)))
    assert list(cylinder_words(made.cylinders[1], SpokenUnits("metric"))) == [
        "trimix 18/45: not breathed in this plan"
    ]
