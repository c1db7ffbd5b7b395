"""A simple plan: legs of depth and time, the way up that the model asks for, and the gas it all takes.

A plan is worked out as a dive that has not been made: its legs become a profile, the profile goes through the
same analysis as any recording, after what the diver still carries. It knows nothing of cold, work,
current or the diver, and it is no advice for under water; training and local rules decide.

The rules, common practice, no source, all of them:

* A leg's time counts from the moment the diver leaves the depth before it: down at 20 m/min, up at 10.
* The way up follows `decompression_stops`; a safety stop of 3 min at 5 m is added where one is usual and no
  required stop takes its place.
* On the way up the richest gas along is breathed from the depth on where its oxygen is within 1.6 bar.
* The shared reserve brings two divers up from the deepest point, at the end of the last time there: a minute
  there to begin with, then the way up with its stops, each breathing half as much again as the diver
  usually does. It belongs to the cylinders that this way up is breathed from.
* Divers who come back the way they went turn at half of what is above the reserve.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import StrEnum
from itertools import pairwise
from math import ceil
from typing import Final

import numpy as np

from logbook_app.analysis.breathed_samples import surface_pressure_of
from logbook_app.analysis.dive_analysis import Carried, DiveAnalysis, Rules, analyse
from logbook_app.analysis.repetitive_dives import EndState, end_state
from logbook_app.analysis.surface_state import FlyTime, fly_time
from logbook_app.analysis.way_up_series import WayUpSeries, ascent_of, way_up_series
from logbook_app.dive.cylinder import Cylinder
from logbook_app.dive.problems import RefusedRecord
from logbook_app.dive.profile import GasSwitch, Profile
from logbook_app.dive.record import GREATEST_DEPTH_M, Dive, Water
from logbook_app.language import _, number
from logbook_app.physics.ambient_pressure import ambient_bar
from logbook_app.physics.ascent_rate import USUAL_LIMIT_M_MIN
from logbook_app.physics.ascent_steps import STOP_SPACING_M, Ascent
from logbook_app.physics.breathing_gas import AIR, BreathingGas
from logbook_app.physics.ceiling import anchor_m, signed_ceiling_m
from logbook_app.physics.decompression_stops import SuggestedStop, WayUp, suggested_safety_stop, way_up
from logbook_app.physics.minute_volume import free_gas_l, gas_breathed_l, gauge_bar_holding
from logbook_app.physics.tissue_loading import Tensions

DESCENT_M_MIN: Final = 20.0
MOST_LEGS: Final = 10
DIVES_FOR_USUAL_GAS: Final = 10
LONGEST_LEG_MIN: Final = 300.0
SAMPLE_EVERY_S: Final = 10.0
SHARING_DIVERS: Final = 2
UNDER_STRAIN: Final = 1.5
BEFORE_GOING_UP_MIN: Final = 1.0
_CEILING_SLACK_M: Final = 0.05


@dataclass(frozen=True, slots=True)
class Leg:
    """A part of the dive at one depth.

    minutes    with the way there [min]
    cylinder   what is breathed, its place in the list
    """

    depth_m: float
    minutes: float
    cylinder: int = 0


@dataclass(frozen=True, slots=True)
class PlanConditions:
    """What a plan is made for besides its legs.

    at                    when it begins; None is now
    cylinders             gases with their cylinders where those are known; none is air
    minute_volume_l_min   None is what the diver's last dives show [L/min]
    elevation_m           of the water's surface; None is where the diver is [m]
    """

    at: datetime | None = None
    cylinders: tuple[Cylinder, ...] = ()
    minute_volume_l_min: float | None = None
    elevation_m: float | None = None
    water: Water = Water.RECORDER

    def dive(self, at: datetime, surface_bar: float) -> Dive:
        """Return the dive that is planned, before its legs are known; surface_bar is where the diver is."""
        return Dive(
            began_at=at,
            utc_offset_min=round((at.utcoffset() or timedelta()).total_seconds() / 60),
            duration_min=1.0,
            max_depth_m=1.0,
            surface_bar=surface_bar if self.elevation_m is None else None,
            elevation_m=self.elevation_m,
            water=self.water,
            cylinders=self.cylinders or (Cylinder(AIR),),
        )


class Doing(StrEnum):
    """What the diver does in a step."""

    DOWN = "down"
    LEVEL = "level"
    UP = "up"
    STOP = "stop"
    SAFETY_STOP = "safety stop"


@dataclass(frozen=True, slots=True)
class Step:
    """One line of the plan; `gas_l` is None where nobody said how much the diver breathes. [min], [m], [L]"""

    doing: Doing
    began_min: float
    minutes: float
    from_m: float
    to_m: float
    cylinder: int
    gas_l: float | None = None

    @property
    def ended_min(self) -> float:
        """Run time at its end [min]."""
        return self.began_min + self.minutes


@dataclass(frozen=True, slots=True)
class CylinderPlan:
    """What one cylinder has to give; figures are None where its volume or pressure is not known.

    needed_l      gas of the whole plan from it, one diver [L]
    reserve_l     shared reserve in it [L]
    reserve_bar   the pressure at which that is all that is left: the way up begins by then [bar]
    turn_bar      half of what is above the reserve is used; None for a gas of the way up alone [bar]
    end_bar       left after the plan, below 0 never: None where it does not reach [bar]
    enough        whether plan and reserve are both in it
    """

    cylinder: int
    gas: BreathingGas
    needed_l: float
    reserve_l: float
    held_l: float | None = None
    reserve_bar: float | None = None
    turn_bar: float | None = None
    end_bar: float | None = None
    enough: bool | None = None


@dataclass(frozen=True, eq=False)
class DivePlan:
    """A plan, worked out.

    dive, profile   as if it had been made
    safety_stop     None where none is usual
    along           time to the surface at points of the plan
    cylinders       empty where the diver's minute volume is not known
    fly             when the diver may fly after it
    """

    dive: Dive
    profile: Profile
    analysis: DiveAnalysis
    steps: tuple[Step, ...]
    stops: WayUp
    safety_stop: SuggestedStop | None
    along: WayUpSeries
    cylinders: tuple[CylinderPlan, ...]
    fly: FlyTime
    rules: Rules

    @property
    def run_time_min(self) -> float:
        """From leaving the surface to reaching it again [min]."""
        return self.steps[-1].ended_min


def planned(
    legs: Sequence[Leg],
    dive: Dive,
    carried: Carried,
    rules: Rules,
    minute_volume_l_min: float | None = None,
    finished: Sequence[EndState] = (),
) -> DivePlan:
    """Return the plan of a dive.

    legs       in order, the first from the surface
    dive       start, surface, water and cylinders of the dive; its depth and time are those of the legs
    carried    what the diver brings into it
    finished   what the dives before it left, for the time to fly

    Raises RefusedRecord with a sentence for legs that cannot be dived as they stand.
    """
    _refuse_impossible_legs(legs, len(dive.cylinders))
    bottom = _steps_of(legs)
    dive = replace(
        dive,
        max_depth_m=max(leg.depth_m for leg in legs),
        duration_min=bottom[-1].ended_min,
    )
    until = analyse(dive, _profile_of(bottom), carried, rules)
    _refuse_what_breaks_a_ceiling(until)
    ascent = ascent_of(dive, rules)
    stops = _way_up(until, len(until.series.time_s) - 1, dive, bottom[-1].cylinder, ascent, rules)
    safety = suggested_safety_stop(stops, dive.max_depth_m)
    steps = [*bottom, *_steps_up(bottom[-1], stops, safety, dive, ascent)]
    dive = replace(dive, duration_min=steps[-1].ended_min)
    profile = _profile_of(steps)
    analysis = analyse(dive, profile, carried, rules)
    with_gas = _with_gas(steps, dive, minute_volume_l_min)
    deepest = next(step for step in reversed(bottom) if step.to_m == dive.max_depth_m)
    reserve = _reserve(until, deepest, dive, ascent, rules, minute_volume_l_min)
    return DivePlan(
        dive=dive,
        profile=profile,
        analysis=analysis,
        steps=with_gas,
        stops=stops,
        safety_stop=safety,
        along=way_up_series(dive, profile, analysis, rules),
        cylinders=_cylinder_plans(with_gas, reserve, deepest.ended_min, dive) if reserve else (),
        fly=fly_time([*finished, end_state(dive, analysis)], rules),
        rules=rules,
    )


def _refuse_impossible_legs(legs: Sequence[Leg], cylinders: int) -> None:
    if not 1 <= len(legs) <= MOST_LEGS:
        raise RefusedRecord(
            _("A plan has one to {most} legs, not {count}.").format(most=MOST_LEGS, count=len(legs))
        )
    from_m = 0.0
    for place, leg in enumerate(legs, start=1):
        if not 0.0 < leg.depth_m <= GREATEST_DEPTH_M:
            raise RefusedRecord(
                _("Leg {place}: {depth_m} m is no depth for a dive.").format(
                    place=place, depth_m=number(leg.depth_m, "g")
                )
            )
        if not 0.0 < leg.minutes <= LONGEST_LEG_MIN:
            raise RefusedRecord(
                _("Leg {place}: {minutes} min is no time for a leg; give up to {longest} min.").format(
                    place=place,
                    minutes=number(leg.minutes, "g"),
                    longest=number(LONGEST_LEG_MIN, "g"),
                )
            )
        there_min = _travel_min(from_m, leg.depth_m)
        if leg.minutes < there_min:
            raise RefusedRecord(
                _(
                    "Leg {place}: from {from_m} m to {depth_m} m takes {there_min} min at {descent} "
                    "m/min down and {ascent} m/min up; give it more time."
                ).format(
                    place=place,
                    from_m=number(from_m, "g"),
                    depth_m=number(leg.depth_m, "g"),
                    there_min=number(there_min, ".1f"),
                    descent=number(DESCENT_M_MIN, "g"),
                    ascent=number(USUAL_LIMIT_M_MIN, "g"),
                )
            )
        if not 0 <= leg.cylinder < cylinders:
            raise RefusedRecord(
                _("Leg {place} is breathed from a cylinder that the plan has not.").format(place=place)
            )
        from_m = leg.depth_m


def _refuse_what_breaks_a_ceiling(until: DiveAnalysis) -> None:
    series = until.series
    above = np.flatnonzero(series.depth_m < series.ceiling_m - _CEILING_SLACK_M)
    if above.size:
        at = int(above[0])
        raise RefusedRecord(
            _(
                "At {time_s} min the plan is at {depth_m} m, above the ceiling of {ceiling_m} m that "
                "its deeper part leaves; make that part shorter or stay deeper."
            ).format(
                time_s=f"{series.time_s[at] / 60:.0f}",
                depth_m=f"{series.depth_m[at]:.0f}",
                ceiling_m=number(series.ceiling_m[at], ".1f"),
            )
        )


def _travel_min(from_m: float, to_m: float) -> float:
    rate = DESCENT_M_MIN if to_m > from_m else USUAL_LIMIT_M_MIN
    return abs(to_m - from_m) / rate


def _steps_of(legs: Sequence[Leg]) -> list[Step]:
    steps: list[Step] = []
    at_min, at_m = 0.0, 0.0
    for leg in legs:
        travel_min = _travel_min(at_m, leg.depth_m)
        if travel_min > 0:
            doing = Doing.DOWN if leg.depth_m > at_m else Doing.UP
            steps.append(Step(doing, at_min, travel_min, at_m, leg.depth_m, leg.cylinder))
        stay_min = leg.minutes - travel_min
        if stay_min > 0:
            began_min = at_min + travel_min
            steps.append(Step(Doing.LEVEL, began_min, stay_min, leg.depth_m, leg.depth_m, leg.cylinder))
        at_min, at_m = at_min + leg.minutes, leg.depth_m
    return steps


def _steps_up(
    last: Step, stops: WayUp, safety: SuggestedStop | None, dive: Dive, ascent: Ascent
) -> list[Step]:
    """Return the way up as steps, a line for each stop and each stretch on one gas."""
    waits = {round(stop.depth_m, 6): float(stop.minutes) for stop in stops.stops}
    steps: list[Step] = []
    at_min, at_m, cylinder = last.ended_min, last.to_m, last.cylinder

    def add(doing: Doing, minutes: float, to_m: float) -> None:
        nonlocal at_min
        before = steps[-1] if steps else None
        if doing is Doing.UP and before and before.doing is Doing.UP and before.cylinder == cylinder:
            steps[-1] = replace(before, minutes=before.minutes + minutes, to_m=to_m)
        else:
            steps.append(Step(doing, at_min, minutes, at_m, to_m, cylinder))
        at_min += minutes

    while at_m > 0.0:
        cylinder = _richest(cylinder, at_m, dive, ascent)
        if wait_min := waits.get(round(at_m, 6)):
            add(Doing.STOP, wait_min, at_m)
        next_m = STOP_SPACING_M * max(ceil(at_m / STOP_SPACING_M - 1e-9) - 1.0, 0.0)
        if safety is not None and next_m < safety.depth_m <= at_m:
            if at_m > safety.depth_m:
                add(Doing.UP, (at_m - safety.depth_m) / USUAL_LIMIT_M_MIN, safety.depth_m)
                at_m = safety.depth_m
            add(Doing.SAFETY_STOP, safety.minutes, at_m)
        add(Doing.UP, (at_m - next_m) / USUAL_LIMIT_M_MIN, next_m)
        at_m = next_m
    return steps


def _richest(cylinder: int, depth_m: float, dive: Dive, ascent: Ascent) -> int:
    """Return the cylinder breathed from a depth on: the one in use, or a richer one that may be."""
    gases = [held.gas or AIR for held in dive.cylinders]
    switch_m = {carried.gas: carried.switch_depth_m for carried in ascent.carried}
    best = cylinder
    for place, gas in enumerate(gases):
        if switch_m[gas] >= depth_m - 1e-9 and gas.oxygen > gases[best].oxygen:
            best = place
    return best


def _profile_of(steps: Sequence[Step]) -> Profile:
    """Return the steps as a recorder would write them, with a sample at every corner."""
    corners_s = np.array([0.0, *(step.ended_min * 60 for step in steps)])
    corners_m = np.array([0.0, *(step.to_m for step in steps)])
    between_s = np.arange(0.0, corners_s[-1], SAMPLE_EVERY_S)
    time_s = np.unique(np.concatenate([between_s, corners_s]).round(6))
    switches = [GasSwitch(0.0, steps[0].cylinder)] if steps[0].cylinder else []
    for before, step in pairwise(steps):
        if step.cylinder != before.cylinder:
            switches.append(GasSwitch(round(step.began_min * 60, 6), step.cylinder))
    return Profile(time_s, np.interp(time_s, corners_s, corners_m), switches=tuple(switches))


def _way_up(
    analysis: DiveAnalysis, sample: int, dive: Dive, cylinder: int, ascent: Ascent, rules: Rules
) -> WayUp:
    """Return the way up from one sample of the plan. Raises RefusedRecord where it takes more than a day."""
    series = analysis.series
    so_far = slice(sample + 1)
    low_m = signed_ceiling_m(
        series.n2_bar[so_far],
        series.he_bar[so_far],
        analysis.surface_bar,
        rules.factors.low,
        dive.water.density_kg_m3,
    )
    gas = dive.cylinders[cylinder].gas or AIR
    try:
        return way_up(
            Tensions(series.n2_bar[sample], series.he_bar[sample]),
            float(series.depth_m[sample]),
            float(anchor_m(low_m)[-1]),
            gas,
            ascent,
        )
    except ValueError as error:
        raise RefusedRecord(str(error)) from error


def _with_gas(steps: Sequence[Step], dive: Dive, minute_volume_l_min: float | None) -> tuple[Step, ...]:
    if minute_volume_l_min is None:
        return tuple(steps)
    return tuple(
        replace(step, gas_l=gas_breathed_l(minute_volume_l_min, step.minutes, _mean_bar(step, dive)))
        for step in steps
    )


def _mean_bar(step: Step, dive: Dive) -> float:
    """Return the mean pressure of a step; depth changes on a straight line in it. [bar]"""
    mean_m = (step.from_m + step.to_m) / 2
    return float(ambient_bar(mean_m, surface_pressure_of(dive), dive.water.density_kg_m3))


def _reserve(
    until: DiveAnalysis,
    deepest: Step,
    dive: Dive,
    ascent: Ascent,
    rules: Rules,
    minute_volume_l_min: float | None,
) -> dict[int, float]:
    """Return the shared reserve by cylinder. [L]"""
    if minute_volume_l_min is None:
        return {}
    sample = int(np.searchsorted(until.series.time_s, deepest.ended_min * 60 - 1e-3))
    stops = _way_up(until, sample, dive, deepest.cylinder, ascent, rules)
    safety = suggested_safety_stop(stops, dive.max_depth_m)
    pause = replace(deepest, doing=Doing.LEVEL, from_m=deepest.to_m, minutes=BEFORE_GOING_UP_MIN)
    both_l_min = SHARING_DIVERS * UNDER_STRAIN * minute_volume_l_min
    needed: dict[int, float] = {}
    for step in (pause, *_steps_up(deepest, stops, safety, dive, ascent)):
        gas_l = gas_breathed_l(both_l_min, step.minutes, _mean_bar(step, dive))
        needed[step.cylinder] = needed.get(step.cylinder, 0.0) + gas_l
    return needed


def _cylinder_plans(
    steps: Sequence[Step], reserve: dict[int, float], deepest_until_min: float, dive: Dive
) -> tuple[CylinderPlan, ...]:
    """Return what each cylinder has to give, in the order they are breathed; those that are not come last."""
    plans, breathed_from = [], {}
    for place, cylinder in enumerate(dive.cylinders):
        from_it = [step for step in steps if step.cylinder == place]
        needed_l = sum(step.gas_l or 0.0 for step in from_it)
        before_l = sum(step.gas_l or 0.0 for step in from_it if step.began_min < deepest_until_min)
        plan = CylinderPlan(place, cylinder.gas or AIR, needed_l, reserve.get(place, 0.0))
        plans.append(_as_held(plan, cylinder, before_l))
        breathed_from[place] = min((step.began_min for step in from_it), default=math.inf)
    return tuple(sorted(plans, key=lambda plan: breathed_from[plan.cylinder]))


def _as_held(plan: CylinderPlan, cylinder: Cylinder, before_l: float) -> CylinderPlan:
    """Return the plan of a cylinder against what is in it, where that is known.

    before_l   what is used of it until the last time at the deepest point, when the reserve must be left
    """
    if cylinder.volume_l is None or cylinder.start_bar is None:
        return plan
    volume_l = cylinder.volume_l
    held_l = free_gas_l(volume_l, cylinder.start_bar, plan.gas)
    above_l = held_l - plan.reserve_l

    def gauge_bar(free_l: float) -> float | None:
        return gauge_bar_holding(volume_l, free_l, plan.gas) if 0.0 <= free_l <= held_l else None

    return replace(
        plan,
        held_l=held_l,
        reserve_bar=gauge_bar(plan.reserve_l),
        turn_bar=gauge_bar(held_l - above_l / 2) if above_l > 0 and before_l > 0 else None,
        end_bar=gauge_bar(held_l - plan.needed_l),
        enough=plan.needed_l <= held_l and before_l <= above_l,
    )
